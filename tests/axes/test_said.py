"""Every printed word of the axes can be said in another language: it is a `Said`, whole and with its places."""

from __future__ import annotations

import pytest

from engrave.axes import ORDER, find, vary
from engrave.axes.cycles import CYCLES
from engrave.languages import told
from engrave.model import Declined, Study
from engrave.model.said import Said
from tests.axes.passages import own, under
from tests.languages.untold import OPEN, bracketed

PATTERNS = {
    "strings": ("shape on 8", "intervals on 7", "open 9", "up 1", "down 4", "climb by 3 bars"),
    "rhythm": ("long 5 of 6", "bursts of 6", "bursts of 5 from 6", "in sixes", "in sevens"),
    "fret": ("1-2-4-2", "3-1-3-2", "1-3, bent", "box, bent", "without 2, bent", "along one string, bent"),
    "slurs": ("1-0", "0-4", "3-2", "1-4"),
    "pluck": (
        *("c", "p", "i", "m", "a", "c-p-c-a", "5 times p-i", "chords 3 times", "tremolo p-c", "best p-i"),
        *("worst m-a", "p-i, turned at crossings", "m-a, p on basses", "order p-c-a", "arpeggio p+c-i"),
    ),
    "accent": ("every 5", "every 16", "every 4 from 3", "every 3 from 3", "finger c"),
}
"""axis → settings its patterns make; each kind of pattern there is"""
SETTINGS = [
    (axis.name, name)
    for axis in ORDER
    for name in (*(known.name for known in axis.settings), *PATTERNS.get(axis.name, ()))
    if axis.find(name)
]
LINES = ("alternating", "graces", "full chords", "moving bass", "one note")


def test_each_axis_with_patterns_has_some_here() -> None:
    """A new axis with patterns, or a pattern that is none, does not pass unseen."""
    assert set(PATTERNS) == {axis.name for axis in ORDER if axis.grammar}
    assert all(find(axis, name) for axis, names in PATTERNS.items() for name in names if name != "finger c")


@pytest.mark.parametrize(("axis", "name"), SETTINGS)
def test_the_words_of_every_setting_can_be_told(axis: str, name: str) -> None:
    """Label, purpose and cue of the catalogue and of patterns are `Said`; only what changes nothing has none."""
    setting = find(axis, name)
    words = [setting.label, *(text for text in (setting.purpose, setting.cue) if text)]
    assert all(isinstance(text, Said) for text in words), words
    assert bool(setting.purpose and setting.cue) is (setting.name not in {a.default for a in ORDER} or len(words) > 1)


@pytest.mark.parametrize(("axis", "name"), SETTINGS)
def test_what_a_variation_says_can_be_told(axis: str, name: str) -> None:
    """Title, purpose, cue, new notices, words over the music and refusals, with nothing outside a sentence."""
    texts: list[str] = []
    named = Study(**{"name": "Monday", "pluck": "i-m", "accent": "every 2", axis: name})  # type: ignore[arg-type]
    made_of = [(own()[line], under(line, axis, name)) for line in LINES]
    for before, made in (*made_of, (own()[LINES[0]], vary(own()[LINES[0]], named))):
        if isinstance(made, Declined):
            texts += [made.reason, made.place] if made.place else [made.reason]
            continue
        said = [made.purpose, made.cue, *(n.text for n in made.notices if n not in before.notices)]
        here = [d.text for d in made.passage.directions if d not in before.passage.directions]
        texts += [*said, *(word for word in here if word not in ("crescendo", "decrescendo"))]
        texts += [made.title] if not made.study.name else []
    assert all(isinstance(text, Said) for text in texts), [t for t in texts if not isinstance(t, Said)]
    with bracketed():
        assert all(told(text, "de").startswith(OPEN) for text in texts)


def test_titles_of_axes_can_be_told() -> None:
    """What heads an axis is a `Said`."""
    assert all(isinstance(axis.title, Said) for axis in ORDER)


def test_every_pair_of_fingers_has_a_sentence_of_its_own() -> None:
    """Twenty ordered pairs, and no two of them say the same."""
    pairs = [setting for setting in CYCLES if len(setting.name) == 3]
    assert len({setting.purpose for setting in pairs}) == len(pairs) == 20
