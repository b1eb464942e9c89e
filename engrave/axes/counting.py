"""What a variation asks of both hands, in numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from fractions import Fraction

from engrave.axes.plucking import crossings
from engrave.fretting import hand_figures
from engrave.model import PLUCKING, Figures, Place, Variation
from engrave.textures import leading
from engrave.textures.onsets import Sound, onset_groups

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
    hand = hand_figures(variation, tempo=quarters_a_minute(variation))
    return Figures(
        notes=len(sounds),
        strokes=_by_finger(strokes),
        accents=_by_finger(accents),
        awkward=crossed.awkward,
        natural=crossed.natural,
        repeats=crossed.repeats,
        frettings=tuple((finger, notes) for finger, notes in hand.fingers if finger),
        shifts=hand.shifts,
        travel=hand.travel,
        reach=hand.reach,
        reach_at=_at(hand.reach_at),
        slurs=_slurs(sounds),
        let_go=hand.let_go,
        let_go_at=_at(hand.let_go_at),
    )


def _at(place: Place | None) -> str:
    """Bar and beat, without the file."""
    return place.inside if place else ""


def _by_finger(fingers: Iterable[str]) -> tuple[tuple[str, int], ...]:
    found = Counter(fingers)
    return tuple((finger, found[finger]) for finger in PLUCKING if found[finger])


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
