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

from engrave.model import Fault, Place, Value
from engrave.model.errors import one_line
from engrave.model.said import Said, say
from engrave.reading.limits import LIMITS, Limits, allow
from engrave.reading.musicxml.attributes import Attributes
from engrave.reading.musicxml.clock import GRID, Clock
from engrave.reading.musicxml.note_heads import passed_over, ratio_of, sign_counts, sounding, value_of
from engrave.reading.musicxml.timed_notes import NoteHead, TimedNote, Walked
from engrave.reading.note_values import written
from engrave.reading.numbers import decimal, whole
from engrave.reading.tally import Tally

_SAVE = "save the score again"
_OVERHANG = say("left out: a rest behind the end of a full bar")
_UNHEARD = {"harmony": say("left out: chord symbols"), "figured-bass": say("left out: figured bass")}


class Walk:
    """Reads the bars of one part in order; `bars` and `faults` hold what came of it."""

    def __init__(self, name: str, tally: Tally, limits: Limits = LIMITS) -> None:
        self.name = name
        self.tally = tally
        self.limits = limits
        self.now = Attributes(limits)
        self.bars: list[Walked] = []
        self.faults: list[Fault] = []
        self.earlier: list[Element] = []
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
                self.earlier.append(child)

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
        self.clock = Clock()
        self.last: TimedNote | None = None
        self.count = 0

    def run(self) -> None:
        """Every child of the bar in order."""
        self._signatures(metre=self.walk.late[0], key=self.walk.late[1])
        self.walk.late = (False, False)
        for child in self.bar.element:
            if child.tag in ("note", "backup", "forward"):
                self.count += 1
                if self.count > self.limits.bar_notes:
                    self._fault(
                        f"more than {self.limits.bar_notes:,} notes in one bar",
                        f"split the bar; {allow('bar_notes', 2 * self.limits.bar_notes)}",
                    )
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
                    self._tell(_UNHEARD[child.tag])
        self._settle_rests()

    def _fault(self, fact: str, hint: str) -> None:
        beat = self.now.metre.beat if self.now.metre else 1
        self.walk.fault(fact, hint, self.bar.label, self.clock.at / beat + 1)

    def _tell(self, said: Said) -> None:
        self.tally.add(said, self.bar.label)

    # what is in force

    def _attributes(self, found: Element) -> None:
        metre, key = self.now.take(found)
        for style in found.findall("measure-style"):
            if any(style.find(tag) is not None for tag in ("measure-repeat", "beat-repeat", "slash")):
                self._tell(say("left out: signs that stand for a repeated bar or beat"))
        for fact, hint in self.now.complaints:
            self._fault(fact, hint)
        self.now.complaints.clear()
        if self.clock.at == 0:
            self._signatures(metre=metre, key=key)
            return
        late = self.walk.late
        self.walk.late = (late[0] or metre, late[1] or key)
        if metre:
            self._tell(say("a metre that changes inside a bar is printed from the next bar on"))
        if key:
            self._tell(say("a key that changes inside a bar is printed from the next bar on"))

    def _signatures(self, *, metre: bool, key: bool) -> None:
        now, bar = self.now, self.bar
        if metre:
            bar.metre = now.metre
        bar.unmetred = now.metre is None
        if key:
            bar.key = now.key
            if now.odd_key:
                self._tell(say("a key signature that is not a plain one is printed as no signs"))

    def _direction(self, found: Element) -> None:
        shift = decimal(found.findtext("offset")) or Fraction(0)
        place = max(Fraction(0), self.clock.at + shift / (self.now.divisions or 1))
        self.bar.directions.append((place, found))

    # time

    def _jump(self, found: Element, sign: int) -> None:
        ticks = decimal(found.findtext("duration"))
        if ticks is None or ticks < 0:
            said = one_line(found.findtext("duration") or "", 30)
            self._fault(f"<{found.tag}> has a duration of {said!r}, not a number from 0 up", _SAVE)
            return
        notice = self.clock.jump(sign * ticks / (self.now.divisions or 1))
        if notice is not None:
            self._tell(notice)
        self._bounded()

    def _bounded(self) -> None:
        if max(self.clock.at, self.clock.raw) > self.limits.bar_quarters:
            self.clock.restart()
            self._fault(f"a bar longer than {self.limits.bar_quarters} quarters", "check its durations")

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
            self._tell(say("the file names no divisions; they are taken from its first note"))
        if notated is not None and _rounds(notated * self.now.divisions, ticks):
            return notated, ticks / self.now.divisions
        return self._uneven(found, ticks / self.now.divisions, notated)

    def _uneven(self, found: Element, raw: Fraction, notated: Fraction | None) -> tuple[Fraction, Fraction] | None:
        """The length of a note whose type does not tell it."""
        rest = found.find("rest") is not None
        if raw == 0:
            self._tell(say("left out: notes of no length"))
            return None
        if notated is not None and abs(raw - notated) * 8 <= notated:
            return notated, raw
        if written(raw) is None:
            return notated if notated is not None else self._nearest(raw, rest=rest), raw
        if notated is not None and not rest:
            self._tell(say("a note's written value and its length differ; read as long as it lasts"))
        return raw, raw

    def _nearest(self, raw: Fraction, *, rest: bool) -> Fraction:
        """The writable length next to one that no value can write; nothing for a rest behind a full bar."""
        if rest and self.now.metre and self.clock.at >= self.now.metre.length:
            self._tell(_OVERHANG)
            return Fraction(0)
        near = round(raw / GRID) * GRID
        rounded = say("lengths that no value can write are taken to the nearest 64th")
        self._tell(rounded if near else say("left out: notes too short to write"))
        return near

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
            self.clock.raw += times[1] if times else 0
            return
        rest = found.find("rest")
        unprinted = head is None and (rest is None or found.get("print-object") == "no")
        item = TimedNote(
            id=head.id if head else self.walk.new_id(),
            onset=self.clock.at,
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
        self.clock.advance(*times)
        self._bounded()

    def _fills(self, found: Element, rest: Element, length: Fraction) -> bool:
        """Whether a rest is one for the whole bar, whatever the bar's length."""
        kind = (found.findtext("type") or "").strip()
        full = self.now.metre.length if self.now.metre else None
        implicit = self.bar.element.get("implicit") == "yes"
        if self.clock.at != 0 or found.find("dot") is not None or (implicit and full is not None and length < full):
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

    def _head(self, found: Element, staff: int) -> NoteHead | None:
        """The sounding pitch; None for a rest and for what is left out (told)."""
        passed = passed_over(found)
        if passed or found.find("pitch") is None:
            if passed:
                self._tell(passed)
            return None
        if sign_counts(found):
            self._tell(say("a sign that the source does not count into its pitch is taken at its word"))
        move = self.now.move(staff)
        pitch = sounding(found, move, move.key(self.now.fifths)[1])
        if isinstance(pitch, Fault):
            self._fault(pitch.fact, pitch.hint)
            return None
        return NoteHead(id=self.walk.new_id(), pitch=pitch, element=found)

    def _written(self, found: Element) -> tuple[Value | None, tuple[int, int]]:
        """The written value and the tuplet's ratio of a <note>."""
        ratio = ratio_of(found, self.limits)
        if isinstance(ratio, Fault):
            self._fault(ratio.fact, ratio.hint)
            ratio = (1, 1)
        return value_of(found), ratio


def _rounds(meant: Fraction, ticks: Fraction) -> bool:
    """Whether `ticks` is what rounding makes of `meant`, or as good as that (within a hundredth)."""
    if meant == ticks:
        return True
    return abs(meant - ticks) < 1 and (meant.denominator != 1 or abs(meant - ticks) * 100 < meant)
