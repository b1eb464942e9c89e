"""What the pages say of a variation, held against it: every setting over passages of several textures."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from engrave.axes import ORDER
from engrave.model import AXES, Variation
from tests.axes.passages import under

LINES = ("built in", "triplets", "compound", "chords", "two voices", "thirds", "scale")


def _strokes(made: Variation) -> set[tuple[str, str]]:
    return {(n.stroke.finger, n.stroke.kind) for n in made.passage.notes if n.stroke}


def _fingers(made: Variation) -> set[int]:
    return {n.placement.finger for n in made.passage.notes if n.placement}


def _marks(made: Variation) -> set[str]:
    return {mark for event in made.passage.events for mark in event.marks}


def _opens(made: Variation) -> bool:
    return any(n.placement and not n.placement.fret for n in made.passage.notes)


CLAIMS: tuple[tuple[str, Callable[[Variation, re.Match[str]], bool]], ...] = (
    (r"Every note is stopped", lambda made, _: not _opens(made)),
    (
        r"The whole line on one string",
        lambda made, _: len({n.placement.string for n in made.passage.notes if n.placement}) == 1,
    ),
    (r"Finger (\d) alone stops every fretted note", lambda made, said: _fingers(made) <= {0, int(said[1])}),
    (r"The same places without finger (\d)", lambda made, said: int(said[1]) not in _fingers(made)),
    (r"^Rest stroke", lambda made, _: any(kind == "rest" for _, kind in _strokes(made))),
    (r"^Free stroke throughout", lambda made, _: all(kind != "rest" for _, kind in _strokes(made))),
    (r"^(?:An|A light) accent", lambda made, _: "accent" in _marks(made)),
    (r"without an accent", lambda made, _: "accent" not in _marks(made)),
    (r"^(?:Thumb and|The thumb)", lambda made, _: any(finger == "p" for finger, _ in _strokes(made))),
    (
        r"One finger alone, the (thumb|index|middle|ring|little)",
        lambda made, said: (
            {"thumb": "p", "index": "i", "middle": "m", "ring": "a", "little": "c"}[said[1]]
            in {finger for finger, _ in _strokes(made)}
        ),
    ),
    (r"pulled off", lambda made, _: any(n.slurred_from for n in made.passage.notes)),
    (r"can be slurred is|pulled off to is slurred", lambda made, _: any(n.slurred_from for n in made.passage.notes)),
)
"""what a sentence says, and whether the variation it stands on is so"""

NEVER = re.compile(
    r"\d ?(?:mm|cm|s)\b|slowly|twos and fours|\b1 (?:notes|bars|frets|studies)\b|next best|\blower finger\b"
)
"""figures that belong to a survey, and words that some passage makes untrue"""


@pytest.mark.parametrize("name", LINES)
def test_no_setting_says_of_a_variation_what_is_not_so(name: str) -> None:
    """Each checkable sentence is true of the variation it stands on, and none speaks of what pages do not know."""
    checked = 0
    for axis in ORDER:
        for setting in axis.settings:
            made = under(name, axis.name, setting.name)
            if not isinstance(made, Variation):
                continue
            said = f"{made.title}. {made.purpose} {made.cue}"
            assert not NEVER.search(said), (setting.name, said)
            for claim, holds in CLAIMS:
                if found := re.search(claim, made.purpose):
                    assert holds(made, found), (setting.name, made.purpose)
                    checked += 1
    assert checked >= 3, name


def test_the_axes_are_walked_whole() -> None:
    """The sentences of every axis are among those that are checked."""
    assert {axis.name for axis in ORDER} == set(AXES)
