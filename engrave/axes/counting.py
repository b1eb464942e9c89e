"""What a variation asks of both hands, in numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from math import lcm

from engrave.axes.plucking import crossings, starts
from engrave.fretting import hand_figures
from engrave.model import PLUCKING, Figures, Place, Variation
from engrave.textures import leading
from engrave.textures.onsets import Sound, commonest, onset_groups, upper_voice

HOUSE_TEMPO = Fraction(60)
"""quarters a minute where neither study nor passage names a tempo; house default"""


def figures(variation: Variation) -> Figures:
    """All the figures of a variation. Every sounding note must have its placement."""
    row = onset_groups(variation.passage)
    line = leading(variation)
    sounds = [s for group in row for s in group.sounds]
    strokes = [s.note.stroke.finger for s in sounds if s.note.stroke]
    accents = [s.note.stroke.finger for s in sounds if s.note.stroke and "accent" in s.event.marks]
    crossed = crossings((s.note.stroke.finger, s.placement.string) for s in line if s.note.stroke)
    order, round_ = _accent_round(variation.cycle, line)
    first = starts(variation.cycle, line) if len(variation.cycle) > 1 else ()
    hand = hand_figures(variation, tempo=quarters_a_minute(variation))
    made = Figures(
        notes=len(sounds),
        strokes=_by_finger(strokes),
        accents=_by_finger(accents),
        accent_order=order,
        accent_round=round_,
        pattern_round=_pattern_round(variation),
        awkward=crossed.awkward,
        natural=crossed.natural,
        repeats=crossed.repeats,
        best_start=variation.cycle[min(first, key=lambda f: f[1])[0]] if first else "",
        worst_start=variation.cycle[max(first, key=lambda f: f[1])[0]] if first else "",
        frettings=tuple((finger, notes) for finger, notes in hand.fingers if finger),
        shifts=hand.shifts,
        travel=hand.travel,
        reach=hand.reach,
        reach_at=_at(hand.reach_at),
        slurs=_slurs(sounds),
        let_go=hand.let_go,
        let_go_at=_at(hand.let_go_at),
    )
    terms = _difficulty(variation, made)
    return replace(made, difficulty=round(sum(points for _, points in terms), 1), difficulty_terms=terms)


def _at(place: Place | None) -> str:
    """Bar and beat, without the file."""
    return place.inside if place else ""


def _by_finger(fingers: Iterable[str]) -> tuple[tuple[str, int], ...]:
    found = Counter(fingers)
    return tuple((finger, found[finger]) for finger in PLUCKING if found[finger])


def period(row: Sequence[object]) -> int | None:
    """The shortest period of a row that fits into it at least twice, None if it has none."""
    lengths = range(1, len(row) // 2 + 1)
    return next((n for n in lengths if all(a == b for a, b in zip(row, row[n:], strict=False))), None)


def _accent_round(cycle: tuple[str, ...], line: tuple[Sound, ...]) -> tuple[tuple[str, ...], int | None]:
    """Fingers that take the accents until a cycle of n and accents on every g-th note meet again: lcm(n, g) notes."""
    marked = [bool(s.note.stroke and "accent" in s.event.marks) for s in line]
    if not cycle or not any(marked) or all(marked):
        return (), None
    spacing = period(marked)
    if spacing is None:
        return (), None
    length = lcm(len(cycle), spacing)
    fingers = tuple(cycle[n % len(cycle)] for n in range(length) if marked[n % spacing])
    return fingers, length


def _pattern_round(variation: Variation) -> int | None:
    """Notes after which the cycle starts on a beat again, where the line runs in equal notes that divide the beat."""
    length = _steady(variation)
    if not variation.cycle or not length:
        return None
    beats = {bar.metre.beat for bar in variation.passage.bars}
    if len(beats) > 1:
        return None
    group = beats.pop() / length
    return lcm(len(variation.cycle), int(group)) if group.denominator == 1 and group > 1 else None


def _steady(variation: Variation) -> Fraction | None:
    """The length in quarters most notes of the upper voice have, if more than half of them have it."""
    voice = upper_voice(variation.passage)
    rows = [[s for s in group.plucked if s.event.voice == voice] for group in onset_groups(variation.passage)]
    lengths = [row[-1].event.duration for row in rows if row and not row[-1].event.grace]
    if not lengths:
        return None
    common, often = commonest(lengths)
    return common if 2 * often > len(lengths) else None


def _slurs(sounds: list[Sound]) -> tuple[tuple[str, int], ...]:
    finger = {s.note.id: s.placement.finger for s in sounds}
    pairs = Counter(
        f"{finger[s.note.slurred_from]}-{s.placement.finger}" for s in sounds if s.note.slurred_from in finger
    )
    return tuple(sorted(pairs.items()))


def quarters_a_minute(variation: Variation) -> Fraction:
    """Fastest tempo asked for: the study's last step, else the passage's tempo, else the house default."""
    beat = variation.passage.bars[0].metre.beat if variation.passage.bars else Fraction(1)
    if variation.study.tempo:
        return max(variation.study.tempo) * beat
    return variation.passage.tempo or HOUSE_TEMPO * beat


def _difficulty(variation: Variation, made: Figures) -> tuple[tuple[str, float], ...]:
    """House measure: each term is a share of the notes or mm a note, weighted so that ten is a great deal of it."""
    notes = max(1, made.notes)
    strokes, frettings = dict(made.strokes), dict(made.frettings)
    plucked, stopped = max(1, sum(strokes.values())), max(1, sum(frettings.values()))
    terms = (
        ("awkward crossings", 10 * made.awkward / plucked),
        ("repeated plucking fingers", 10 * made.repeats / plucked),
        ("ring and little finger plucking", (3 * strokes.get("a", 0) + 8 * strokes.get("c", 0)) / plucked),
        ("third and fourth finger stopping", (2 * frettings.get(3, 0) + 4 * frettings.get(4, 0)) / stopped),
        ("travel along the neck", made.travel / notes / 5),
        ("stretch beyond comfort", max(0.0, made.reach - variation.hand.comfortable[1, 4]) / 10),
        ("slurs", 5 * sum(n for _, n in made.slurs) / notes),
        ("accents", 3 * sum(n for _, n in made.accents) / plucked),
        ("time to let go", min(5.0, 0.25 / made.let_go) if made.let_go else 0.0),
    )
    return tuple((name, round(points, 1)) for name, points in terms if round(points, 1) > 0)
