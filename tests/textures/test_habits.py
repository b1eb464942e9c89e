"""How a plan's words on plucking and textures reach the letters."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engrave.axes import vary
from engrave.model import AskedTexture, Habits, PlanError, Study, Variation
from engrave.regimen import dump_plan, read_plan
from tests.axes.lines import line, say

PLAN = """\
[player]
line = "m-a"
bass_line = "p"
little_in_chords = true

[[texture]]
bars = "3-4"
is = "line"

[[texture]]
bars = "7"
is = "tremolo"
"""


def test_a_plan_says_what_bars_are_and_how_a_line_is_plucked() -> None:
    """Read, and written out the same."""
    plan = read_plan(PLAN)
    assert plan.habits == Habits(pair="m-a", bass_line="p", little=True)
    assert plan.textures == (AskedTexture(bars="3-4", kind="line"), AskedTexture(bars="7", kind="tremolo"))
    assert read_plan(dump_plan(plan)) == plan


@pytest.mark.parametrize("missing", ["bars", "is"])
def test_a_texture_without_bars_or_kind_is_refused(missing: str) -> None:
    """Both are needed, and the message shows them."""
    text = "[[texture]]\n" + ('is = "line"\n' if missing == "bars" else 'bars = "1"\n')
    with pytest.raises(PlanError, match=rf"\[\[texture\]\] names no {missing}"):
        read_plan(text)


def test_a_texture_that_there_is_not_is_refused() -> None:
    """The nearest word, as for every choice."""
    with pytest.raises(PlanError, match="is 'lines'"):
        read_plan('[[texture]]\nbars = "1"\nis = "lines"\n')


@pytest.mark.parametrize(
    ("habits", "music", "letters"),
    [
        (Habits(), "E2/4 F2/4 G2/4 F2/4", "i m i m"),
        (Habits(bass_line="p"), "E2/4 F2/4 G2/4 F2/4", "p p p p"),
        (Habits(bass_line="p"), "E4/4 F4/4 G4/4 F4/4", "i m i m"),
        (Habits(pair="m-a"), "E4/4 F4/4 G4/4 F4/4", "m a m a"),
        (Habits(little=True), "E2+B2+E3+G#3+B3/1", "p+i+m+a+c"),
        (Habits(), "E2+B2+E3+G#3+B3/1", "p+p+i+m+a"),
    ],
)
def test_habits_shape_the_letters(habits: Habits, music: str, letters: str) -> None:
    """The pair of a line, the thumb on bass lines, the little finger in chords: only where the plan asks."""
    made = vary(replace(line(music, fifths=4 if "#" in music else 0), habits=habits), Study())
    assert isinstance(made, Variation)
    assert say(made) == letters
