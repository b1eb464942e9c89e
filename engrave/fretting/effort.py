"""Figures of the fretting hand: what a fingering asks of it, in numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from engrave.fretting.tones import Tone, groups_of, tones_of
from engrave.model import Passage, Place, Placement, Variation
from engrave.model.neck import settled
from engrave.model.said import say, strung
from engrave.model.wording import numeral


@dataclass(frozen=True, slots=True, kw_only=True)
class HandFigures:
    """What one fingering asks of the fretting hand. Counts go by key in rising order."""

    shifts: int = 0
    """moves of the hand that settles elsewhere; a reach out and back is none"""
    travel: float = 0.0
    """way of the hand along the neck in mm"""
    reach: float = 0.0
    """widest reach in mm between two fingers down together or one after the other in one position"""
    reach_at: Place | None = None
    """where that is"""
    fingers: tuple[tuple[int, int], ...] = ()
    """finger (0 = open string) → notes"""
    positions: tuple[tuple[int, int], ...] = ()
    """position of the settled hand → fretted notes"""
    strings: tuple[tuple[int, int], ...] = ()
    """string → notes"""
    barres: int = 0
    """times a barre is laid"""
    stretches: int = 0
    """onsets at which two fingers stand wider than is comfortable"""
    crossings: int = 0
    """changes of string between neighbouring onsets"""
    let_go: float | None = None
    """shortest time in seconds between a fretted note and the open string that needs its finger gone"""
    let_go_at: Place | None = None

    @property
    def opens(self) -> int:
        """Notes on open strings."""
        return dict(self.fingers).get(0, 0)


@dataclass(frozen=True, slots=True)
class _Sounding:
    """The stops of one onset: those that begin and those that still sound."""

    tone: Tone
    struck: tuple[Placement, ...]
    held: tuple[Placement, ...]


def hand_figures(variation: Variation, *, tempo: Fraction | None = None) -> HandFigures:
    """The figures of a fingering. `tempo` in quarters a minute; without one, the passage's; without both, no time."""
    passage, instrument = variation.passage, variation.instrument
    tones = tones_of(passage)
    where = {note.id: note.placement for note in passage.notes if note.placement}
    soundings = _soundings(tones, where)
    struck = [p for sounding in soundings for p in sounding.struck]
    stopped = [
        tuple(p for p in sounding.struck if p.fret) for sounding in soundings if any(p.fret for p in sounding.struck)
    ]
    places = settled(stopped)
    steps = [(a, b) for a, b in pairwise(places) if a != b]
    reach, reach_at, stretches = _reach(variation, soundings)
    speed = tempo or passage.tempo
    let_go, let_go_at = _let_go(passage, tones, where, speed) if speed else (None, None)
    tops = [sounding.struck[-1].string for sounding in soundings]
    return HandFigures(
        shifts=len(steps),
        travel=round(sum(abs(instrument.mm(a) - instrument.mm(b)) for a, b in steps), 1),
        reach=round(reach, 1),
        reach_at=reach_at,
        fingers=_count(p.finger for p in struck),
        positions=_count(place for place, now in zip(places, stopped, strict=True) for _ in now),
        strings=_count(p.string for p in struck),
        barres=sum(_lays(sounding) for sounding in soundings),
        stretches=stretches,
        crossings=sum(a != b for a, b in pairwise(tops)),
        let_go=None if let_go is None else round(let_go, 3),
        let_go_at=let_go_at,
    )


def _count(values: Iterable[int]) -> tuple[tuple[int, int], ...]:
    return tuple(sorted(Counter(values).items()))


def _soundings(tones: tuple[Tone, ...], where: Mapping[str, Placement]) -> list[_Sounding]:
    placed = [where[tone.ids[0]] for tone in tones]
    return [
        _Sounding(tones[m.struck[0]], tuple(placed[i] for i in m.struck), tuple(placed[i] for i in m.held))
        for m in groups_of(tones)
    ]


def _lays(sounding: _Sounding) -> int:
    """Barres laid at an onset: fingers that stop several strings there, one of them new."""
    fingers = Counter(p.finger for p in (*sounding.struck, *sounding.held) if p.finger)
    return sum(1 for finger, n in fingers.items() if n > 1 and any(p.finger == finger for p in sounding.struck))


def _reach(variation: Variation, soundings: list[_Sounding]) -> tuple[float, Place | None, int]:
    widest, at, stretches = 0.0, None, 0
    before: tuple[Placement, ...] = ()
    for sounding in soundings:
        now = tuple(p for p in sounding.struck if p.fret)
        if not now:
            continue
        others = [p for p in sounding.held if p.fret] + [p for p in before if p.position == now[0].position]
        spans = [
            variation.reach(a, b) for a in now for b in (*now, *others) if a.finger != b.finger and a.fret != b.fret
        ]
        stretches += any(mm > comfort for mm, comfort in spans)
        most = max((mm for mm, _ in spans), default=0.0)
        if most > widest:
            widest, at = most, variation.passage.place(variation.passage.events[sounding.tone.event])
        before = now
    return widest, at, stretches


def _let_go(
    passage: Passage, tones: tuple[Tone, ...], where: Mapping[str, Placement], tempo: Fraction
) -> tuple[float | None, Place | None]:
    slurred = {note.id for note in passage.notes if note.slurred_from}
    last: dict[int, Tone] = {}
    shortest: tuple[float, Place] | None = None
    for tone in tones:
        placed = where[tone.ids[0]]
        before = last.get(placed.string)
        if placed.fret == 0 and before and where[before.ids[0]].fret and tone.ids[0] not in slurred:
            seconds = float((tone.onset - before.onset) * 60 / tempo)
            if seconds > 0 and (shortest is None or seconds < shortest[0]):
                shortest = seconds, passage.place(passage.events[tone.event])
        last[placed.string] = tone
    return shortest or (None, None)


_FELT = 5.0
"""mm by which two widest reaches must differ to be worth a word; house figure"""


def differences(one: HandFigures, other: HandFigures) -> str:
    """How `other` differs from `one`, in words: positions, shifts, reach, open strings."""
    parts: list[str] = []
    mine, theirs = _home(one), _home(other)
    if mine != theirs:
        parts.append(
            # for the translator: said of a fingering, as are the next
            say("lies mostly in position {now} instead of {before}", now=numeral(theirs), before=numeral(mine))
        )
    if one.shifts != other.shifts:
        fewer = say("shifts less often") if other.shifts else say("does not shift")
        parts.append(say("shifts more often") if other.shifts > one.shifts else fewer)
    if one.opens != other.opens:
        fewer = say("takes fewer open strings") if other.opens else say("takes no open strings")
        parts.append(say("takes more open strings") if other.opens > one.opens else fewer)
    if abs(one.reach - other.reach) >= _FELT:
        parts.append(say("reaches farther") if other.reach > one.reach else say("reaches less far"))
    if one.barres != other.barres:
        fewer = say("lays fewer barres") if other.barres else say("lays no barre")
        parts.append(say("lays more barres") if other.barres > one.barres else fewer)
    if not parts:
        parts.append(say("takes other fingers in the same positions"))
    return strung(parts, ", ")


def _home(figures: HandFigures) -> int:
    """The position with most notes; the lowest of equals."""
    return max(figures.positions, key=lambda row: (row[1], -row[0]))[0] if figures.positions else 1
