"""Which staff and voices of a part are read, and what a tablature staff beside a plain one tells about it.

Rules: a plain staff comes before a tablature staff; the tablature's strings and frets go to the plain notes of the same
time and pitch (or the same pitch octaves away, where the tablature writes another octave), and nothing is doubled; a voice
is known by the file's own number; notes that overlap in one voice are parted into two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from engrave.model import Fault, Given, Place, ReadError
from engrave.model.errors import one_line
from engrave.reading.extras import HeadMarks
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.skeleton import Lane, lane
from engrave.reading.tally import Tally
from engrave.reading.timeline import Item, Walked


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The staff that is read, and the tablature staves beside it."""

    staff: int
    tabs: tuple[int, ...]
    others: tuple[int, ...]


def choose_staff(bars: Sequence[Walked], tabs: frozenset[int], asked: int | None, name: str) -> Chosen:
    """The staff asked for, else the first plain one with notes, else the first tablature staff with notes."""
    used = sorted({item.staff for bar in bars for item in bar.items if item.heads})
    if asked is not None:
        if asked not in used:
            known = ", ".join(map(str, used)) or "none"
            fault = Fault(
                fact=f"staff {asked} has no notes", hint=f"staves with notes: {known}", place=Place(file=name)
            )
            raise ReadError(fault)
        return Chosen(staff=asked, tabs=tuple(s for s in used if s in tabs and s != asked), others=())
    plain = [staff for staff in used if staff not in tabs]
    staff = (plain or used or [1])[0]
    beside = tuple(s for s in used if s in tabs and s != staff)
    return Chosen(staff=staff, tabs=beside, others=tuple(s for s in plain if s != staff))


def all_lanes(
    bars: Sequence[Walked], staff: int, asked: str, name: str, tally: Tally, limits: Limits = LIMITS
) -> tuple[list[list[Lane]], tuple[str, ...]]:
    """The voices of each bar on one staff, numbered from 1, and the file's names of the voices left out.

    Raises:
        ReadError: a voice asked for that is not there, or more voices than allowed.
    """
    names = sorted({i.voice for bar in bars for i in bar.items if i.staff == staff and i.heads}, key=_order)
    wanted = [part.strip() for part in asked.split(",") if part.strip()] or names
    missing = [voice for voice in wanted if voice not in names]
    if missing:
        known = ", ".join(names) or "none"
        facts = [f"voice {one_line(v, 30)!r} has no notes here" for v in dict.fromkeys(missing)]
        raise ReadError(*(Fault(fact=f, hint=f"voices with notes: {known}", place=Place(file=name)) for f in facts))
    slots: dict[tuple[str, int], int] = {}
    split: list[list[tuple[tuple[str, int], list[Item]]]] = []
    for bar in bars:
        row: list[tuple[tuple[str, int], list[Item]]] = []
        for voice in wanted:
            mine = [item for item in bar.items if item.staff == staff and item.voice == voice]
            for layer, items in enumerate(_layers(mine)):
                row.append(((voice, layer), items))
                if layer:
                    tally.add(f"notes that overlap in voice {voice} are parted into two voices", bar.label)
        split.append(row)
    for key in sorted({key for row in split for key, _ in row}, key=lambda key: (_order(key[0]), key[1])):
        slots[key] = len(slots) + 1
    if len(slots) > limits.voices:
        fact = f"{len(slots)} voices, the limit is {limits.voices}"
        raise ReadError(Fault(fact=fact, hint="choose one with --voice", place=Place(file=name)))
    lanes = [[lane(slots[key], items) for key, items in sorted(row, key=lambda one: slots[one[0]])] for row in split]
    return lanes, tuple(voice for voice in names if voice not in wanted)


def _order(voice: str) -> tuple[int, str]:
    return (int(voice), voice) if voice.isdecimal() and len(voice) < 9 else (10**9, voice)


def _layers(items: list[Item]) -> list[list[Item]]:
    """Items of one voice of one bar in layers in which none overlaps; whole-bar rests only where nothing else is."""
    if any(not item.bar_rest for item in items):
        items = [item for item in items if not item.bar_rest or len(items) == 1]
    layers: list[list[Item]] = []
    ends: list[Fraction] = []
    for item in sorted(items, key=lambda item: (item.onset, not item.grace)):
        place = next((k for k, end in enumerate(ends) if end <= item.onset), None)
        if place is None:
            layers.append([])
            ends.append(Fraction(0))
            place = len(layers) - 1
        layers[place].append(item)
        ends[place] = item.end
    return layers


def from_tablature(
    bars: Sequence[Walked], chosen: Chosen, marks: dict[str, HeadMarks], tally: Tally
) -> tuple[dict[str, HeadMarks], dict[str, str]]:
    """Marks of the plain heads with strings and frets of the tablature beside them, and which plain head each tablature
    head stands for.
    """
    pairs: dict[str, str] = {}
    out = dict(marks)
    for bar in bars:
        told = [(item, head) for item in bar.items if item.staff in chosen.tabs for head in item.heads]
        plain = [(item, head) for item in bar.items if item.staff == chosen.staff for head in item.heads]
        free = {head.id for _, head in plain}
        for item, head in told:
            same = [
                (abs(one.pitch.midi - head.pitch.midi), one.id)
                for other, one in plain
                if one.id in free
                and (other.onset, other.grace) == (item.onset, item.grace)
                and (one.pitch.midi - head.pitch.midi) % 12 == 0
            ]
            if not same:
                tally.add("left out: notes of the tablature staff that the plain staff has not", bar.label)
                continue
            partner = min(same)[1]
            free.discard(partner)
            pairs[head.id] = partner
            out[partner] = _joined(out[partner], marks[head.id])
    return out, pairs


def _joined(plain: HeadMarks, tab: HeadMarks) -> HeadMarks:
    mine, theirs = plain.given, tab.given
    given = Given(
        finger=mine.finger if mine.finger is not None else theirs.finger,
        string=mine.string if mine.string is not None else theirs.string,
        fret=mine.fret if mine.fret is not None else theirs.fret,
        pluck=mine.pluck or theirs.pluck,
        stroke=mine.stroke or theirs.stroke,
    )
    return replace(plain, given=given, muted=plain.muted or tab.muted)
