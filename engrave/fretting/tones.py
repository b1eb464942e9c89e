"""What the fretting hand hears: tones instead of heads, and the onsets at which it has to do something.

A tone is one struck (or slurred) sound with everything tied to it. Two voices that write the same pitch at the same
onset share one tone. A tone that is struck again while it still sounds ends there, and the new one lasts for what was
left of it. An onset is where tones begin; grace notes have onsets of their own before the main note.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from engrave.model import Event, Given, Instrument, Passage


@dataclass(frozen=True, slots=True, kw_only=True)
class Tone:
    """One sound the hand has to make."""

    ids: tuple[str, ...]
    """ids of the heads it stands for, the struck one first"""
    midi: int
    onset: Fraction
    """quarters from the passage's start"""
    end: Fraction
    """quarters; equals `onset` for a grace note"""
    given: Given = Given()
    muted: bool = False
    event: int = -1
    """index of its event in Passage.events, or -1"""
    voice: int = 1
    order: int = 0
    """place among the groups of one onset: grace notes count up, the main note comes last"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneGroup:
    """Tones that begin together, and what sounds when they do: an onset group."""

    onset: Fraction
    struck: tuple[int, ...]
    """indices of the tones that begin here, low to high"""
    held: tuple[int, ...]
    """indices of the tones that began earlier and still sound"""
    gap: float
    """quarters since the onset before began; 0 for the first"""
    rest: float
    """quarters of silence before it"""
    beat: bool
    """it lies on a beat"""
    ringing: tuple[int, ...] = ()
    """indices of earlier tones of the same broken chord that are over as written but are better left down"""
    chord: int | None = None
    """index of the first onset of the broken chord it belongs to"""


_MAIN = 10_000


def tones_of(passage: Passage) -> tuple[Tone, ...]:
    """The tones of a passage, in the order in which they begin, low to high."""
    made: list[Tone] = []
    ringing: dict[tuple[int, int], int] = {}
    orders = _orders(passage.events)
    for index, event in enumerate(passage.events):
        for note in event.notes:
            key = (event.voice, note.pitch.midi)
            before = ringing.get(key) if note.tied_back else None
            if before is None and note.tied_back:
                before = next((i for (_, midi), i in ringing.items() if midi == note.pitch.midi), None)
            if before is not None and made[before].end >= event.onset:
                old = made[before]
                end = max(old.end, event.end)
                made[before] = replace(old, ids=(*old.ids, note.id), end=end, given=_merged(old.given, note.given))
                ringing[key] = before
                continue
            made.append(
                Tone(
                    ids=(note.id,),
                    midi=note.pitch.midi,
                    onset=event.onset,
                    end=event.end,
                    given=note.given,
                    muted=note.muted,
                    event=index,
                    voice=event.voice,
                    order=orders[index],
                )
            )
            ringing[key] = len(made) - 1
    return settled(made)


def settled(made: list[Tone]) -> tuple[Tone, ...]:
    """Tones in order, unisons merged, and each handed on where its pitch is struck again."""
    # a time as two whole numbers is a key for a sixth of what it is as a fraction
    merged: dict[tuple[tuple[int, int], int, int], Tone] = {}
    for tone in made:
        key = (tone.onset.as_integer_ratio(), tone.order, tone.midi)
        if key in merged:
            old = merged[key]
            tone = replace(  # noqa: PLW2901 the merged tone takes its place
                old,
                ids=(*old.ids, *tone.ids),
                end=max(old.end, tone.end),
                given=_merged(old.given, tone.given),
                muted=old.muted and tone.muted,
            )
        merged[key] = tone
    ordered = sorted(merged.values(), key=lambda t: (t.onset, t.order, t.midi))
    last: dict[int, int] = {}
    for index, tone in enumerate(ordered):
        before = last.get(tone.midi)
        if before is not None and ordered[before].end > tone.onset:
            # the string sounds on for as long as the longer of the two is written
            ordered[index] = replace(tone, end=max(tone.end, ordered[before].end))
            ordered[before] = replace(ordered[before], end=tone.onset)
        last[tone.midi] = index
    return tuple(ordered)


def beats_of(passage: Passage) -> Callable[[Fraction], bool]:
    """Whether an onset lies on a beat of its bar's metre."""
    starts = [bar.onset for bar in passage.bars]

    def on_beat(onset: Fraction) -> bool:
        bar = passage.bars[max(bisect_right(starts, onset) - 1, 0)]
        return (onset - bar.onset + bar.offset) % bar.metre.beat == 0

    return on_beat


def groups_of(
    tones: tuple[Tone, ...],
    let_go: frozenset[tuple[int, int]] = frozenset(),
    on_beat: Callable[[Fraction], bool] = lambda onset: onset.denominator == 1,
) -> tuple[ToneGroup, ...]:
    """The onsets of `tones` (in order). `let_go` holds (tone, onset): the tone is let go before that onset.

    Beats are whole quarters unless `on_beat` says otherwise.
    """
    together: list[list[int]] = []
    for index, tone in enumerate(tones):
        head = tones[together[-1][0]] if together else None
        if head is not None and (head.onset, head.order) == (tone.onset, tone.order):
            together[-1].append(index)
        else:
            together.append([index])
    groups: list[ToneGroup] = []
    sounding: list[int] = []
    silent_from = Fraction(0)
    for number, begun in enumerate(together):
        onset = tones[begun[0]].onset
        held = [i for i in sounding if tones[i].end > onset and (i, number) not in let_go]
        groups.append(
            ToneGroup(
                onset=onset,
                struck=tuple(begun),
                held=tuple(held),
                gap=float(onset - groups[-1].onset) if groups else 0.0,
                rest=float(max(onset - silent_from, Fraction(0))) if groups else 0.0,
                beat=on_beat(onset),
            )
        )
        silent_from = max([silent_from, *(tones[i].end for i in begun)])
        sounding = held + begun
    return tuple(groups)


AROUND = 16
"""onsets before and after one that count as the music around it"""
FIRST, LAST = 5, 12
"""frets of the top string: up to the first the first position and a stretch will do, from the last the hand lives high
up the neck"""


def climbs_of(tones: tuple[Tone, ...], groups: tuple[ToneGroup, ...], instrument: Instrument) -> tuple[float, ...]:
    """For each onset how far the music around it climbs, in quarters from 0 to 1.

    It is the fret at which the highest note around lies on the highest string, as a share of the way from fret 5 to 12.
    """
    top = max(instrument.midi(string, 0) for string in range(1, len(instrument.strings) + 1))
    highest = [max((tones[i].midi for i in group.struck if not tones[i].muted), default=0) for group in groups]
    found = []
    for number in range(len(groups)):
        fret = max(highest[max(number - AROUND, 0) : number + AROUND + 1]) - top
        found.append(round(4 * min(max((fret - FIRST) / (LAST - FIRST), 0.0), 1.0)) / 4)
    return tuple(found)


def _orders(events: tuple[Event, ...]) -> list[int]:
    """For each event its place among the groups of its onset."""
    orders: list[int] = []
    count: dict[tuple[Fraction, int], int] = {}
    for event in events:
        if event.grace:
            key = (event.onset, event.voice)
            count[key] = count.get(key, -1) + 1
            orders.append(count[key])
        else:
            orders.append(_MAIN)
    return orders


def _merged(one: Given, other: Given) -> Given:
    """The marks of two heads of one tone; the first head's win."""
    return Given(
        finger=one.finger if one.finger is not None else other.finger,
        string=one.string if one.string is not None else other.string,
        fret=one.fret if one.fret is not None else other.fret,
        pluck=one.pluck or other.pluck,
        stroke=one.stroke or other.stroke,
    )
