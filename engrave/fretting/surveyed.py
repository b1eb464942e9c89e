"""What a line asks of the fretting hand: the best fingerings side by side, and a reason for each finger."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from engrave.fretting.alternatives import alternatives
from engrave.fretting.engine import prepared
from engrave.fretting.figures import HandFigures, differences, hand_figures
from engrave.fretting.fingered import variation_of
from engrave.fretting.reasons import Reason, reasons
from engrave.fretting.taste import NEUTRAL, Taste
from engrave.model import Hand, Instrument, Passage, Variation


@dataclass(frozen=True, slots=True, kw_only=True)
class Fingering:
    """One fingering of several, with its figures."""

    name: str
    """best, second best, third best"""
    variation: Variation
    figures: HandFigures
    dearer: float
    """what it costs more than the best"""
    words: str
    """how it differs from the best; empty for the best"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """The fretting hand's side of a passage."""

    fingerings: tuple[Fingering, ...]
    """the best first; marks of the source are kept in all of them"""
    reasons: tuple[Reason, ...]
    """for the best fingering, one for each fretted note that another finger could stop on the same string"""


NAMES = ("best", "second best", "third best")


def survey(
    passage: Passage,
    instrument: Instrument,
    hand: Hand,
    *,
    tempo: Fraction | None = None,
    taste: Taste = NEUTRAL,
) -> Survey:
    """The best fingerings that really differ, up to three. `tempo` in quarters a minute. Raises UnplayableError."""
    task = prepared(passage, instrument, hand, taste=taste)
    made: list[Fingering] = []
    ways = alternatives(task.lattice, task.costs, len(NAMES))
    for name, way in zip(NAMES, ways, strict=False):
        variation = variation_of(task, way.path)
        figures = hand_figures(variation, tempo=tempo)
        made.append(
            Fingering(
                name=name,
                variation=variation,
                figures=figures,
                dearer=round(way.extra, 3),
                words=differences(made[0].figures, figures) if made else "",
            )
        )
    return Survey(fingerings=tuple(made), reasons=reasons(task))
