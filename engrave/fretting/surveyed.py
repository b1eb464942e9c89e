"""What a line asks of the fretting hand: the best fingerings side by side, and a reason for each finger."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from engrave.fretting.alternatives import alternatives
from engrave.fretting.effort import HandFigures, differences, hand_figures
from engrave.fretting.engine import prepared
from engrave.fretting.fingered import variation_of
from engrave.fretting.reasons import CIRCLED, Reason, reasons
from engrave.fretting.taste import NEUTRAL, Taste
from engrave.model import Hand, Instrument, Passage, Variation, with_notes


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
    """for the best fingering, one for each fretted note that another finger could stop on the same string; those that
    the source fingers come last"""


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
    task = prepared(passage, instrument, hand, taste)
    made: list[Fingering] = []
    ways = alternatives(task.lattice, task.costs, task.best, len(NAMES))
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
    return Survey(fingerings=tuple(made), reasons=reasons(task) + _given(made[0].variation, instrument, hand, taste))


def _given(line: Variation, instrument: Instrument, hand: Hand, taste: Taste) -> tuple[Reason, ...]:
    """A reason for each finger that the source gives: what the hand would do on the same places, left to itself."""
    marked = {note.id: note for note in line.passage.notes if note.given.finger and note.placement}
    if not marked:
        return ()
    bare = {
        note.id: replace(
            note,
            placement=None,
            given=replace(note.given, finger=None, string=note.placement.string, fret=note.placement.fret),
        )
        for note in line.passage.notes
        if note.placement
    }
    free = prepared(with_notes(line.passage, bare), instrument, hand, taste)
    found = []
    for reason in reasons(free):
        place = marked[reason.note].placement if reason.note in marked else None
        if place is None:
            continue
        mine = f"{place.finger} on {CIRCLED[place.string]}: given by the source"
        if reason.finger == place.finger:
            words = f"{mine}, and {reason.words.partition(': ')[2]}"
            found.append(replace(reason, words=words))
            continue
        dearer = -reason.dearer if reason.instead == place.finger else 0.0
        words = f"{mine}; left to itself the hand would take {reason.finger}"
        found.append(replace(reason, finger=place.finger, instead=reason.finger, dearer=dearer, words=words))
    return tuple(found)
