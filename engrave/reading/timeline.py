"""The chosen part note by note with exact times: what the file means, before the parser proper sees it.

Rules: a note is as long as its type, dots and tuplet say where its `duration` only rounds that, else as long as
`duration` says; `backup` and `forward` lead back to places already visited where rounding would miss them; every
fault is gathered.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree.ElementTree import Element

from engrave.model import Fault, Pitch, Place, Value
from engrave.model.errors import one_line
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.sounding import Transposition
from engrave.reading.tally import Tally

TYPES = {
    "breve": 0,
    "whole": 1,
    "half": 2,
    "quarter": 4,
    "eighth": 8,
    "16th": 16,
    "32nd": 32,
    "64th": 64,
    "128th": 128,
    "256th": 256,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """One pitch of a note or chord."""

    id: str
    pitch: Pitch
    """as it sounds"""
    element: Element


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One note, chord or rest."""

    id: str
    """id of its first head, or its own where it is a rest"""
    bar: int
    onset: Fraction
    """quarters from the start of its bar"""
    length: Fraction
    """quarters, 0 for a grace note"""
    value: Value | None
    """as written, where the file says so"""
    ratio: tuple[int, int]
    """notes played, in the time of so many; (1, 1) outside tuplets"""
    voice: str
    staff: int
    heads: tuple[Head, ...]
    element: Element
    """its first <note>"""
    grace: bool = False
    bar_rest: bool = False
    hidden: bool = False

    @property
    def end(self) -> Fraction:
        """Quarters from the start of its bar."""
        return self.onset + self.length


@dataclass(slots=True)
class Attributes:
    """What is in force: the state that runs through a part."""

    divisions: Fraction | None = None
    metre: Element | None = None
    fifths: int = 0
    mode: str = ""
    moves: dict[int, Transposition] = field(default_factory=dict)
    """by staff; 0 for all"""
    clefs: dict[int, tuple[str, int]] = field(default_factory=dict)
    """staff → sign and octave change"""
    details: dict[int, Element] = field(default_factory=dict)
    """staff → staff-details"""
    staves: int = 1

    def move(self, staff: int) -> Transposition:
        """The transposition in force for a staff."""
        return self.moves.get(staff, self.moves.get(0, Transposition()))


@dataclass(slots=True)
class Walked:
    """One bar of the part."""

    label: str
    element: Element
    items: list[Item] = field(default_factory=list)
    directions: list[tuple[Fraction, Element]] = field(default_factory=list)
    metre: Element | None = None
    """the metre, where one begins here"""
    key: tuple[int, str] | None = None
    """fifths as they sound and mode, where a key begins here"""
    unmetred: bool = False


def number(text: str | None, low: int, high: int) -> int | None:
    """A whole number of a file between two bounds, or None."""
    stripped = (text or "").strip()
    digits = stripped.lstrip("+-")
    if not digits.isdecimal() or len(digits) > 12:
        return None
    value = int(stripped)
    return value if low <= value <= high else None


def decimal(text: str | None) -> Fraction | None:
    """A decimal number of a file, or None where it is none or absurdly long."""
    stripped = (text or "").strip()
    if not stripped or len(stripped) > 24 or "/" in stripped or "e" in stripped.casefold() or "_" in stripped:
        return None
    try:
        return Fraction(stripped)
    except ValueError:
        return None


class Walk:
    """Reads the bars of one part in order; `bars` and `faults` hold what came of it."""

    def __init__(self, name: str, tally: Tally, limits: Limits = LIMITS) -> None:
        self.name = name
        self.tally = tally
        self.limits = limits
        self.now = Attributes()
        self.bars: list[Walked] = []
        self.faults: list[Fault] = []
        self.ids = 0
        self.fresh_metre = self.fresh_key = True

    def skip(self, measure: Element) -> None:
        """Takes only what stays in force from a bar that is not read."""
        for found in measure.iter("attributes"):
            self._attributes(found, None)

    def read(self, measure: Element, label: str) -> None:
        """Reads one bar."""
        bar = Walked(label=label, element=measure)
        self.bars.append(bar)
        if len(self.bars) == 1:
            self.fresh_metre = self.fresh_key = True
        _Bar(self, bar).walk()

    def fault(self, fact: str, hint: str = "") -> None:
        """One thing wrong in the bar being read."""
        label = self.bars[-1].label if self.bars else ""
        self.faults.append(Fault(fact=fact, hint=hint, place=Place(file=self.name, bar=label)))

    def attributes(self, found: Element, bar: Walked, *, inside: bool) -> None:
        """Takes an <attributes> of the bar being read; `inside` when notes stand before it."""
        self._attributes(found, bar)
        if inside and found.find("time") is not None:
            self.tally.add("a metre that changes inside a bar is printed from the next bar on", bar.label)
        if inside and found.find("key") is not None:
            self.tally.add("a key that changes inside a bar is printed from the next bar on", bar.label)

    def _attributes(self, found: Element, bar: Walked | None) -> None:
        now = self.now
        for divided in found.findall("divisions"):
            value = decimal(divided.text)
            if value is None or not 0 < value <= self.limits.divisions:
                said = one_line(divided.text or "", 30)
                self.fault(
                    f"divisions {said!r} is not a number from 1 to {self.limits.divisions:,}", "save the score again"
                )
            else:
                now.divisions = value
        for key in found.findall("key"):
            if number(key.get("number"), 2, 99):
                continue
            fifths = number(key.findtext("fifths"), -7, 7)
            if fifths is None:
                if bar is not None:
                    self.tally.add("a key signature that is not a plain one is printed as no signs", bar.label)
                fifths = 0
            now.fifths, now.mode = fifths, (key.findtext("mode") or "").strip()
            self.fresh_key = True
        for metre in found.findall("time"):
            if not number(metre.get("number"), 2, 99):
                now.metre = metre
                self.fresh_metre = True
        for clef in found.findall("clef"):
            staff = number(clef.get("number"), 1, 99) or 1
            change = number(clef.findtext("clef-octave-change"), -3, 3) or 0
            now.clefs[staff] = ((clef.findtext("sign") or "").strip(), change)
        for details in found.findall("staff-details"):
            staff = number(details.get("number"), 1, 99) or 1
            if details.find("staff-tuning") is not None or details.find("capo") is not None:
                now.details[staff] = details
        for moved in found.findall("transpose"):
            self._transpose(moved)
        now.staves = number(found.findtext("staves"), 1, 99) or now.staves

    def _transpose(self, moved: Element) -> None:
        chromatic = number(moved.findtext("chromatic") or "0", -127, 127)
        octaves = number(moved.findtext("octave-change") or "0", -9, 9)
        if chromatic is None or octaves is None:
            self.fault("a transposition is not a whole number of semitones and octaves", "save the score again")
            return
        given = number(moved.findtext("diatonic"), -99, 99)
        near = round(chromatic * 7 / 12)
        diatonic = given if given is not None and abs(given - near) <= 1 else near
        staff = number(moved.get("number"), 1, 99) or 0
        if staff == 0:
            self.now.moves.clear()
        self.now.moves[staff] = Transposition(diatonic=diatonic + 7 * octaves, chromatic=chromatic + 12 * octaves)


class _Bar:
    """The walk through one bar."""

    def __init__(self, walk: Walk, bar: Walked) -> None:
        self.walk_ = walk
        self.bar = bar
        self.at = Fraction(0)
        self.raw = Fraction(0)
        """where the file's own figures have come to, in quarters"""
        self.drift = Fraction(0)
        self.visited: dict[Fraction, Fraction] = {Fraction(0): Fraction(0)}
        self.last: Item | None = None
        self.count = 0

    def walk(self) -> None:
        """Every child of the bar in order."""
        handlers = {
            "note": self._note,
            "backup": lambda e: self._jump(e, -1),
            "forward": lambda e: self._jump(e, 1),
            "direction": self._direction,
            "sound": self._direction,
        }
        walk, bar = self.walk_, self.bar
        self._signatures()
        for child in bar.element:
            if child.tag == "attributes":
                inside = self.last is not None and self.at != 0
                walk.attributes(child, bar, inside=inside)
                if not inside:
                    self._signatures()
            elif child.tag in ("harmony", "figured-bass", "grouping", "link", "bookmark"):
                if child.tag in ("harmony", "figured-bass"):
                    walk.tally.add(
                        f"left out: {'chord symbols' if child.tag == 'harmony' else 'figured bass'}", bar.label
                    )
            elif child.tag in handlers:
                handlers[child.tag](child)

    def _signatures(self) -> None:
        walk, bar = self.walk_, self.bar
        if walk.fresh_metre:
            bar.metre = walk.now.metre
            walk.fresh_metre = False
        bar.unmetred = walk.now.metre is None or walk.now.metre.find("senza-misura") is not None
        if walk.fresh_key:
            bar.key = (walk.now.move(1).key(walk.now.fifths)[0], walk.now.mode)
            walk.fresh_key = False

    def _direction(self, found: Element) -> None:
        shift = decimal(found.findtext("offset")) or Fraction(0)
        divisions = self.walk_.now.divisions or Fraction(1)
        self.bar.directions.append((max(Fraction(0), self.at + shift / divisions), found))

    def _jump(self, found: Element, sign: int) -> None:
        ticks = decimal(found.findtext("duration"))
        divisions = self.walk_.now.divisions or Fraction(1)
        if ticks is None or ticks < 0:
            said = one_line(found.findtext("duration") or "", 30)
            self.walk_.fault(
                f"<{found.tag}> has a duration of {said!r}, not a number from 0 up", "save the score again"
            )
            return
        self.raw += sign * ticks / divisions
        if self.raw < 0:
            if self.raw < -self.drift:
                self.walk_.tally.add(
                    "a voice that leads back beyond the start of its bar begins with it", self.bar.label
                )
            self.raw = Fraction(0)
        if self.raw > self.walk_.limits.bar_quarters:
            self.walk_.fault(f"a bar of more than {self.walk_.limits.bar_quarters} quarters", "check its durations")
            self.raw = Fraction(0)
        self.at = self._place(self.raw)

    def _place(self, raw: Fraction) -> Fraction:
        """The exact place the file means by its own rounded one."""
        if raw in self.visited:
            return self.visited[raw]
        near = min(self.visited, key=lambda known: abs(known - raw))
        if abs(near - raw) <= self.drift:
            return self.visited[near]
        base = max((known for known in self.visited if known < raw), default=Fraction(0))
        return self.visited[base] + (raw - base)

    def _note(self, found: Element) -> None:
        walk = self.walk_
        self.count += 1
        if self.count == walk.limits.bar_notes + 1:
            walk.fault(f"more than {walk.limits.bar_notes:,} notes in one bar", "split the bar")
        if self.count > walk.limits.bar_notes:
            return
        staff = number(found.findtext("staff"), 1, 99) or 1
        head = self._head(found, staff)
        if found.find("chord") is not None and self.last is not None:
            if head is not None and self.last.heads:
                old = self.last
                self.last = Item(
                    **{n: getattr(old, n) for n in old.__slots__ if n != "heads"}, heads=(*old.heads, head)
                )
                self.bar.items[-1] = self.last
            return
        grace = found.find("grace") is not None
        value, ratio = self._written(found)
        length, ticks = self._length(found, value, ratio, grace=grace)
        if length is None or ticks is None:
            return
        rest = found.find("rest")
        item = Item(
            id=head.id if head else self._id(),
            bar=len(walk.bars) - 1,
            onset=self.at,
            length=length,
            value=value,
            ratio=ratio,
            voice=one_line(found.findtext("voice") or "1", 20),
            staff=staff,
            heads=(head,) if head else (),
            element=found,
            grace=grace,
            bar_rest=rest is not None and self._fills(found, rest, length),
            hidden=head is None and (rest is None or found.get("print-object") == "no"),
        )
        self.bar.items.append(item)
        self.last = item
        self.at += length
        self.raw += ticks
        self.drift = max(self.drift, abs(self.at - self.raw))
        self.visited[self.raw] = self.at
        if self.at > walk.limits.bar_quarters:
            walk.fault(f"a bar of more than {walk.limits.bar_quarters} quarters", "check its durations")
            self.at = self.raw = Fraction(0)

    def _fills(self, found: Element, rest: Element, length: Fraction) -> bool:
        """Whether a rest is one for the whole bar, whatever the bar's length."""
        kind = (found.findtext("type") or "").strip()
        if rest.get("measure") == "yes":
            return kind in ("", "whole", "breve") and self.at == 0
        return (
            kind in ("", "whole")
            and self.at == 0
            and found.find("dot") is None
            and length == _full(self.walk_.now.metre)
        )

    def _id(self) -> str:
        self.walk_.ids += 1
        return f"n{self.walk_.ids}"

    def _head(self, found: Element, staff: int) -> Head | None:
        """The sounding pitch; None for a rest and for what is left out (told)."""
        walk, label = self.walk_, self.bar.label
        pitch = found.find("pitch")
        if pitch is None:
            if found.find("unpitched") is not None:
                walk.tally.add("left out: percussion notes without a pitch", label)
            return None
        if found.find("cue") is not None:
            walk.tally.add("left out: cue notes", label)
            return None
        if found.get("print-object") == "no":
            walk.tally.add("left out: notes the source hides", label)
            return None
        sounding = self._pitch(pitch, staff)
        return Head(id=self._id(), pitch=sounding, element=found) if sounding else None

    def _pitch(self, pitch: Element, staff: int) -> Pitch | None:
        walk = self.walk_
        step = (pitch.findtext("step") or "").strip()
        octave = number(pitch.findtext("octave"), -2, 12)
        alter = decimal(pitch.findtext("alter") or "0")
        if step not in tuple("ABCDEFG") or octave is None or alter is None:
            said = " ".join(one_line(part.text or "", 20) for part in pitch)
            walk.fault(f"a pitch of {said!r} is not a step A to G with an octave", "save the score again")
            return None
        if alter.denominator != 1:
            walk.fault(
                f"{step}{octave} is altered by {float(alter):g} semitones: no fret plays that", "write a half tone"
            )
            return None
        if abs(alter) > 4:
            walk.fault(f"{step}{octave} is altered by {alter} semitones, the limit is 2", "check <alter>")
            return None
        move = walk.now.move(staff)
        found = move.pitch(step, int(alter), octave, move.key(walk.now.fifths)[1])
        if found is None or not 0 <= found.midi <= 127:
            walk.fault(
                f"the pitch {found or step + str(octave)} is outside what MIDI counts (0 to 127)", "check <octave>"
            )
            return None
        return found

    def _written(self, found: Element) -> tuple[Value | None, tuple[int, int]]:
        """The written value and tuplet ratio of a <note>."""
        kind = (found.findtext("type") or "").strip()
        dots = len(found.findall("dot"))
        value = Value(kind=TYPES[kind], dots=dots) if kind in TYPES and dots <= 4 else None
        changed = found.find("time-modification")
        if changed is None:
            return value, (1, 1)
        actual = number(changed.findtext("actual-notes"), 1, self.walk_.limits.tuplet)
        normal = number(changed.findtext("normal-notes"), 1, self.walk_.limits.tuplet)
        if actual is None or normal is None:
            said = f"{one_line(changed.findtext('actual-notes') or '', 12)}:{one_line(changed.findtext('normal-notes') or '', 12)}"
            self.walk_.fault(f"a tuplet of {said} is outside 1 to {self.walk_.limits.tuplet}", "write it anew")
            return value, (1, 1)
        return value, (actual, normal)

    def _length(
        self, found: Element, value: Value | None, ratio: tuple[int, int], *, grace: bool
    ) -> tuple[Fraction | None, Fraction | None]:
        """Exact length and the file's own, both in quarters; None where it has none."""
        if grace:
            return Fraction(0), Fraction(0)
        notated = value.quarters * ratio[1] / ratio[0] if value else None
        text = found.findtext("duration")
        if text is None:
            if notated is None:
                self.walk_.fault("a note has neither a duration nor a type", "save the score again")
                return None, None
            return notated, notated
        ticks = decimal(text)
        if ticks is None or ticks < 0:
            self.walk_.fault(
                f"a note's duration of {one_line(text, 30)!r} is not a number from 0 up", "save the score again"
            )
            return None, None
        divisions = self._divisions(ticks, notated)
        raw = ticks / divisions
        if notated is not None and self._rounded(notated * divisions, ticks):
            return notated, raw
        if raw == 0:
            self.walk_.tally.add("left out: notes of no length", self.bar.label)
            return None, None
        if notated is not None and raw != notated and found.find("rest") is None:
            self.walk_.tally.add(
                "a note's written value and its length differ; read as long as it lasts", self.bar.label
            )
        return raw, raw

    @staticmethod
    def _rounded(meant: Fraction, ticks: Fraction) -> bool:
        """Whether `ticks` is what rounding makes of `meant`, or as good as that."""
        return abs(meant - ticks) < 1 and (meant.denominator != 1 or meant == ticks or abs(meant - ticks) * 100 < meant)

    def _divisions(self, ticks: Fraction, notated: Fraction | None) -> Fraction:
        """The divisions in force; where the file names none, what its first typed note implies."""
        if self.walk_.now.divisions is None:
            implied = ticks / notated if notated and ticks else Fraction(1)
            self.walk_.now.divisions = implied
            self.walk_.tally.add("the file names no divisions; taken from the first note", self.bar.label)
        return self.walk_.now.divisions


def _full(metre: Element | None) -> Fraction | None:
    """Length of a full bar in quarters, None without a metre."""
    pairs = metre_pairs(metre)
    return sum((Fraction(4 * sum(tops), unit) for tops, unit in pairs), Fraction(0)) if pairs else None


def metre_pairs(metre: Element | None) -> list[tuple[tuple[int, ...], int]]:
    """The upper figures and lower figure of each part of a <time>, empty where it is none that can be read."""
    if metre is None or metre.find("senza-misura") is not None:
        return []
    pairs: list[tuple[tuple[int, ...], int]] = []
    for top, unit in zip(metre.findall("beats"), metre.findall("beat-type"), strict=False):
        tops = [number(part, 1, 64) for part in (top.text or "").split("+")]
        below = number(unit.text, 1, 64)
        if below not in (1, 2, 4, 8, 16, 32, 64) or any(t is None for t in tops):
            return []
        pairs.append((tuple(t for t in tops if t is not None), below))
    return pairs
