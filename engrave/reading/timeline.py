"""The walk through the bars of a part, which gives every note its exact time.

Rules: a note is as long as its type, dots and tuplet say where its `duration` only rounds that, else as long as
`duration` says; `backup` and `forward` lead back to places already visited where rounding would miss them; what no note
can write is told; every fault is gathered.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from engrave.model import Fault, Pitch, Place, Value
from engrave.model.errors import one_line
from engrave.reading.attributes import Attributes
from engrave.reading.figures import decimal, whole
from engrave.reading.items import TYPES, Head, Item, Walked
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.metre import beat_length, full_length
from engrave.reading.tally import Tally
from engrave.reading.values import written

_SAVE = "save the score again"
_SIGNS = {"sharp": 1, "flat": -1, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2}
_GRID = Fraction(1, 16)
_UNHEARD = {"harmony": "left out: chord symbols", "figured-bass": "left out: figured bass"}


class Walk:
    """Reads the bars of one part in order; `bars` and `faults` hold what came of it."""

    def __init__(self, name: str, tally: Tally, limits: Limits = LIMITS) -> None:
        self.name = name
        self.tally = tally
        self.limits = limits
        self.now = Attributes(limits)
        self.bars: list[Walked] = []
        self.faults: list[Fault] = []
        self.carried: list[Element] = []
        """directions of the bars before the first one read"""
        self.late = (True, True)
        """whether a metre and a key wait for the next bar"""
        self.ids = 0

    def skip(self, measure: Element) -> None:
        """Takes only what stays in force from a bar that is not read."""
        for child in measure:
            if child.tag == "attributes":
                self.now.take(child)
                self.now.complaints.clear()
            elif child.tag in ("direction", "sound"):
                self.carried.append(child)

    def read(self, measure: Element, label: str) -> None:
        """Reads one bar."""
        if not self.bars:
            for clefs in self.now.clefs.values():
                del clefs[:-1]
        bar = Walked(label=label, element=measure)
        self.bars.append(bar)
        _BarWalk(self, bar).run()

    def new_id(self) -> str:
        """An id for the next head or rest."""
        self.ids += 1
        return f"n{self.ids}"

    def fault(self, fact: str, hint: str, bar: str, beat: Fraction | None = None) -> None:
        """One thing wrong."""
        self.faults.append(Fault(fact=fact, hint=hint, place=Place(file=self.name, bar=bar, beat=beat)))


class _BarWalk:
    """The walk through one bar."""

    def __init__(self, walk: Walk, bar: Walked) -> None:
        self.walk = walk
        self.bar = bar
        self.now = walk.now
        self.tally = walk.tally
        self.limits = walk.limits
        self.at = Fraction(0)
        """exact place in the bar, in quarters"""
        self.raw = Fraction(0)
        """the place by the file's own rounded figures"""
        self.drift = Fraction(0)
        """how far the two have come apart"""
        self.visited: dict[Fraction, Fraction] = {Fraction(0): Fraction(0)}
        """places by the file's figures → exact places"""
        self.last: Item | None = None
        self.count = 0

    def run(self) -> None:
        """Every child of the bar in order."""
        self._signatures(metre=self.walk.late[0], key=self.walk.late[1])
        self.walk.late = (False, False)
        for child in self.bar.element:
            if child.tag in ("note", "backup", "forward"):
                self.count += 1
                if self.count > self.limits.bar_notes:
                    self._fault(f"more than {self.limits.bar_notes:,} notes in one bar", "split the bar")
                    break
            match child.tag:
                case "note":
                    self._note(child)
                case "backup":
                    self._jump(child, -1)
                case "forward":
                    self._jump(child, 1)
                case "attributes":
                    self._attributes(child)
                case "direction" | "sound":
                    self._direction(child)
                case "harmony" | "figured-bass":
                    self.tally.add(_UNHEARD[child.tag], self.bar.label)
        self._settle_rests()

    def _fault(self, fact: str, hint: str) -> None:
        self.walk.fault(fact, hint, self.bar.label, self.at / beat_length(self.now.metre) + 1)

    # what is in force

    def _attributes(self, found: Element) -> None:
        metre, key = self.now.take(found)
        for style in found.findall("measure-style"):
            if any(style.find(tag) is not None for tag in ("measure-repeat", "beat-repeat", "slash")):
                self.tally.add("left out: signs that stand for a repeated bar or beat", self.bar.label)
        for fact, hint in self.now.complaints:
            self._fault(fact, hint)
        self.now.complaints.clear()
        if self.at == 0:
            self._signatures(metre=metre, key=key)
            return
        late = self.walk.late
        self.walk.late = (late[0] or metre, late[1] or key)
        if metre:
            self.tally.add("a metre that changes inside a bar is printed from the next bar on", self.bar.label)
        if key:
            self.tally.add("a key that changes inside a bar is printed from the next bar on", self.bar.label)

    def _signatures(self, *, metre: bool, key: bool) -> None:
        now, bar = self.now, self.bar
        if metre:
            bar.metre = now.metre
        bar.unmetred = now.unmetred
        if key:
            bar.key = (now.move(1).key(now.fifths)[0], now.mode)
            if now.odd_key:
                self.tally.add("a key signature that is not a plain one is printed as no signs", bar.label)

    def _direction(self, found: Element) -> None:
        shift = decimal(found.findtext("offset")) or Fraction(0)
        place = max(Fraction(0), self.at + shift / (self.now.divisions or 1))
        self.bar.directions.append((place, found))

    # time

    def _jump(self, found: Element, sign: int) -> None:
        ticks = decimal(found.findtext("duration"))
        if ticks is None or ticks < 0:
            said = one_line(found.findtext("duration") or "", 30)
            self._fault(f"<{found.tag}> has a duration of {said!r}, not a number from 0 up", _SAVE)
            return
        self.raw += sign * ticks / (self.now.divisions or 1)
        if self.raw < 0:
            if self.raw < -self.drift:
                said = "a voice that leads back beyond the start of its bar begins with it"
                self.tally.add(said, self.bar.label)
            self.raw = Fraction(0)
        self._bounded(self.raw)
        self.at = self._place(self.raw)

    def _bounded(self, place: Fraction) -> None:
        if place > self.limits.bar_quarters:
            self._fault(f"a bar longer than {self.limits.bar_quarters} quarters", "check its durations")
            self.at = self.raw = Fraction(0)

    def _place(self, raw: Fraction) -> Fraction:
        """The exact place the file means by its own rounded one."""
        if raw in self.visited:
            return self.visited[raw]
        near = min(self.visited, key=lambda known: abs(known - raw))
        if abs(near - raw) <= self.drift:
            return self.visited[near]
        base = max(known for known in self.visited if known <= raw)
        place = self.visited[base] + (raw - base)
        if written(place) is None:
            place = round(place / _GRID) * _GRID
            self.tally.add("a place between all notes is moved to the nearest 64th", self.bar.label)
        return place

    def _length(self, found: Element, notated: Fraction | None) -> tuple[Fraction, Fraction] | None:
        """Exact length and the file's own, both in quarters; None where the note is left out (told)."""
        text = found.findtext("duration")
        if text is None and notated is not None:
            return notated, notated
        ticks = decimal(text)
        if ticks is None or ticks < 0:
            said = "neither a duration nor a type" if text is None else f"a duration of {one_line(text, 30)!r}"
            self._fault(f"a note has {said}" + ("" if text is None else ", not a number from 0 up"), _SAVE)
            return None
        if self.now.divisions is None:
            self.now.divisions = ticks / notated if notated and ticks else Fraction(1)
            self.tally.add("the file names no divisions; they are taken from its first note", self.bar.label)
        if notated is not None and _rounds(notated * self.now.divisions, ticks):
            return notated, ticks / self.now.divisions
        return self._uneven(found, ticks / self.now.divisions, notated)

    def _uneven(self, found: Element, raw: Fraction, notated: Fraction | None) -> tuple[Fraction, Fraction] | None:
        """The length of a note whose type does not tell it."""
        rest = found.find("rest") is not None
        if raw == 0:
            self.tally.add("left out: notes of no length", self.bar.label)
            return None
        if notated is not None and abs(raw - notated) * 8 <= notated:
            return notated, raw
        if written(raw) is None:
            if notated is not None:
                return notated, raw
            if rest:
                full = full_length(self.now.metre)
                over = full is not None and self.at >= full
                what = (
                    "left out: a rest behind the end of a full bar" if over else "a rest of an odd length is shortened"
                )
                self.tally.add(what, self.bar.label)
                return Fraction(0) if over else raw // _GRID * _GRID, raw
            self._fault(f"a note lasts {raw} quarters, which no value can write", "check its <duration>")
            return None
        if notated is not None and not rest:
            self.tally.add("a note's written value and its length differ; read as long as it lasts", self.bar.label)
        return raw, raw

    # notes

    def _note(self, found: Element) -> None:
        if sum(1 for _ in found.iter()) > self.limits.note_elements:
            self._fault(f"a note of more than {self.limits.note_elements} elements", _SAVE)
            return
        staff = whole(found.findtext("staff"), 1, 99) or 1
        head = self._head(found, staff)
        if found.find("chord") is not None and self.last is not None:
            if head is not None and (self.last.heads or self.last.hidden):
                heads = (*self.last.heads, head)
                self.last = self.bar.items[-1] = replace(self.last, id=heads[0].id, heads=heads, hidden=False)
            return
        grace = found.find("grace") is not None
        value, ratio = self._written(found)
        notated = value.quarters * ratio[1] / ratio[0] if value else None
        times = (Fraction(0), Fraction(0)) if grace else self._length(found, notated)
        if times is None or (not grace and times[0] == 0):
            self.last = None
            self.raw += times[1] if times else 0
            return
        rest = found.find("rest")
        unprinted = head is None and (rest is None or found.get("print-object") == "no")
        item = Item(
            id=head.id if head else self.walk.new_id(),
            onset=self.at,
            length=times[0],
            value=value,
            ratio=(1, 1) if grace else ratio,
            voice=one_line(found.findtext("voice") or "1", 20),
            staff=staff,
            heads=(head,) if head else (),
            element=found,
            grace=grace,
            bar_rest=rest is not None and not unprinted and not grace and self._fills(found, rest, times[0]),
            hidden=unprinted,
        )
        if not (grace and head is None):
            self.bar.items.append(item)
            self.last = item
        self.at += times[0]
        self.raw += times[1]
        self.drift = max(self.drift, abs(self.at - self.raw))
        self.visited[self.raw] = self.at
        self._bounded(self.at)

    def _fills(self, found: Element, rest: Element, length: Fraction) -> bool:
        """Whether a rest is one for the whole bar, whatever the bar's length."""
        kind = (found.findtext("type") or "").strip()
        full = full_length(self.now.metre)
        implicit = self.bar.element.get("implicit") == "yes"
        if self.at != 0 or found.find("dot") is not None or (implicit and full is not None and length < full):
            return False
        if rest.get("measure") == "yes":
            return kind in ("", "whole", "breve")
        return kind in ("", "whole") and length == full

    def _settle_rests(self) -> None:
        """A rest for the whole bar is one only where its voice has nothing else."""
        items = self.bar.items
        counts = Counter((item.staff, item.voice) for item in items if not item.grace)
        self.bar.items = [
            replace(item, bar_rest=False) if item.bar_rest and counts[item.staff, item.voice] > 1 else item
            for item in items
        ]

    def _head(self, found: Element, staff: int) -> Head | None:
        """The sounding pitch; None for a rest and for what is left out (told)."""
        label = self.bar.label
        pitch = found.find("pitch")
        if pitch is None:
            if found.find("unpitched") is not None:
                self.tally.add("left out: percussion notes without a pitch", label)
            return None
        if found.find("cue") is not None:
            self.tally.add("left out: cue notes", label)
            return None
        if found.get("print-object") == "no":
            self.tally.add("left out: notes the source hides", label)
            return None
        sounding = self._pitch(found, pitch, staff)
        return Head(id=self.walk.new_id(), pitch=sounding, element=found) if sounding else None

    def _pitch(self, found: Element, pitch: Element, staff: int) -> Pitch | None:
        step = (pitch.findtext("step") or "").strip()
        octave = whole(pitch.findtext("octave"), -2, 12)
        sign = (found.findtext("accidental") or "").strip()
        alter = decimal(pitch.findtext("alter") or "0")
        if pitch.find("alter") is None and sign in _SIGNS:
            alter = Fraction(_SIGNS[sign])
            self.tally.add("a sign that the source does not count into its pitch is taken at its word", self.bar.label)
        if step not in tuple("ABCDEFG") or octave is None or alter is None:
            said = " ".join(one_line(part.text or "", 20) for part in pitch)
            self._fault(f"a pitch of {said!r} is not a step A to G with an octave", _SAVE)
            return None
        if alter.denominator != 1:
            said = f"{step}{octave} is altered by {float(alter):g} semitones, which no fret plays"
            self._fault(said, "write whole semitones")
            return None
        if abs(alter) > 3:
            self._fault(f"{step}{octave} is altered by {alter} semitones, the limit is 3", "check its <alter>")
            return None
        move = self.now.move(staff)
        sounding = move.pitch(step, int(alter), octave, move.key(self.now.fifths)[1])
        if not 0 <= sounding.midi <= 127:
            self._fault(f"the pitch {sounding} is outside what MIDI counts (0 to 127)", "check its <octave>")
            return None
        return sounding

    def _written(self, found: Element) -> tuple[Value | None, tuple[int, int]]:
        """The written value and the tuplet's ratio of a <note>."""
        kind = TYPES.get((found.findtext("type") or "").strip())
        dots = len(found.findall("dot"))
        value = Value(kind=kind, dots=dots) if kind is not None and dots <= 4 else None
        changed = found.find("time-modification")
        if changed is None:
            return value, (1, 1)
        figures = [changed.findtext(tag) for tag in ("actual-notes", "normal-notes")]
        actual, normal = (whole(figure, 1, self.limits.tuplet) for figure in figures)
        if actual is None or normal is None:
            said = ":".join(one_line(figure or "", 12) for figure in figures)
            self._fault(f"a tuplet of {said} is outside 1 to {self.limits.tuplet}", "write the tuplet anew")
            return value, (1, 1)
        return value, (actual, normal) if actual != normal else (1, 1)


def _rounds(meant: Fraction, ticks: Fraction) -> bool:
    """Whether `ticks` is what rounding makes of `meant`, or as good as that (within a hundredth)."""
    if meant == ticks:
        return True
    return abs(meant - ticks) < 1 and (meant.denominator != 1 or abs(meant - ticks) * 100 < meant)
