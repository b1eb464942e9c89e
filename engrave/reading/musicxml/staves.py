"""Which staff and voices of a part are read.

Rules: a plain staff comes before a tablature staff; a voice is known by the file's own number; the voices read are
numbered from 1 in the file's order; notes that overlap in one voice are parted into two.
"""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from engrave.model import ReadError
from engrave.model.said import say
from engrave.reading.cut import hold_to_voices
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.musicxml.timed_notes import TimedNote, Walked
from engrave.reading.musicxml.tuplet_brackets import chains_over
from engrave.reading.note_values import Chain
from engrave.reading.tally import Tally

_Layer = tuple[str, int]
"""a voice of the file, and which of its overlapping layers"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenStaff:
    """The staff that is read, the tablature staves beside it, and the plain staves left out."""

    number: int
    tabs: tuple[int, ...]
    others: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One voice of one bar: items in order, none over another."""

    voice: int
    items: tuple[TimedNote, ...]
    tuplets: tuple[Chain, ...]
    """of each item"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Voices:
    """The voices that are read."""

    lanes: tuple[tuple[Lane, ...], ...]
    """of each bar"""
    left_out: tuple[str, ...]
    """the file's names of voices with notes that were not asked for"""


def choose_staff(bars: Sequence[Walked], tabs: Container[int], asked: int | None, name: str) -> ChosenStaff:
    """The staff asked for, else the first plain one with notes, else the first tablature staff with notes."""
    used = sorted({item.staff for bar in bars for item in bar.items if item.heads})
    plain = [staff for staff in used if staff not in tabs]
    if asked is not None and asked not in used:
        known = ", ".join(map(str, used)) or "none"
        raise ReadError.at(name, f"staff {asked} has no notes here", f"staves with notes here: {known}")
    number = asked if asked is not None else (plain or used or [1])[0]
    return ChosenStaff(
        number=number,
        tabs=tuple(s for s in used if s in tabs and s != number),
        others=tuple(s for s in plain if s != number),
    )


def choose_voices(
    bars: Sequence[Walked], staff: int, *, asked: str, name: str, tally: Tally, limits: Limits = LIMITS
) -> Voices:
    """The voices asked for on one staff, or all of them.

    Raises:
        ReadError: a voice asked for that is not there, or more voices than allowed.
    """
    names = sorted({i.voice for bar in bars for i in bar.items if i.staff == staff and i.heads}, key=_order)
    wanted = [part.strip() for part in asked.split(",") if part.strip()] or names
    hold_to_voices(wanted, names, name)
    rows = [_layered(bar, staff, wanted, tally) for bar in bars]
    layers = sorted({layer for row in rows for layer in row}, key=lambda layer: (_order(layer[0]), layer[1]))
    if len(layers) > limits.voices:
        fact = f"{len(layers)} voices on one staff, the limit is {limits.voices}"
        raise ReadError.at(name, fact, "choose one with --voice")
    slots = {layer: slot for slot, layer in enumerate(layers, start=1)}
    lanes = tuple(
        tuple(
            Lane(voice=slots[layer], items=items, tuplets=chains_over(items))
            for layer, items in sorted(row.items(), key=lambda one: slots[one[0]])
        )
        for row in rows
    )
    return Voices(lanes=lanes, left_out=tuple(voice for voice in names if voice not in wanted))


def _order(voice: str) -> tuple[int, str]:
    return (int(voice), voice) if voice.isdecimal() and len(voice) < 9 else (10**9, voice)


def _layered(bar: Walked, staff: int, wanted: Sequence[str], tally: Tally) -> Mapping[_Layer, tuple[TimedNote, ...]]:
    """The voices of one bar that print anything, each parted into layers in which nothing overlaps."""
    row: dict[_Layer, tuple[TimedNote, ...]] = {}
    for voice in wanted:
        mine = [item for item in bar.items if item.staff == staff and item.voice == voice]
        for layer, items in enumerate(_layers(mine)):
            if layer:
                said = say("notes that overlap in voice {voice} are parted into two voices", voice=voice)
                tally.add(said, bar.label)
            if any(not item.hidden for item in items):
                row[voice, layer] = items
    return row


def _layers(items: Sequence[TimedNote]) -> list[tuple[TimedNote, ...]]:
    layers: list[list[TimedNote]] = []
    ends: list[Fraction] = []
    for item in sorted(items, key=lambda item: (item.onset, not item.grace)):
        slot = next((k for k, end in enumerate(ends) if end <= item.onset), len(layers))
        if slot == len(layers):
            layers.append([])
            ends.append(Fraction(0))
        layers[slot].append(item)
        ends[slot] = item.end
    return [tuple(layer) for layer in layers]
