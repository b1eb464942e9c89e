"""Textures of music that is not ours: excerpts and a whole movement of music21's corpus, judged by eye."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from engrave.textures import found, share
from tests.axes.passages import corpus, fingered

LINES = [
    # what each excerpt is was judged by eye from the score: a single voice that moves by step and small leap
    "bach/bwv66.6.mxl 1", "bach/bwv269.mxl 2", "bach/bwv248.42-4.mxl 1", "bach/bwv347.mxl 1",
    "haydn/opus1no1/movement1.mxl 1", "haydn/opus1no1/movement1.mxl 3", "beethoven/opus18no1/movement1.mxl 3",
]  # fmt: skip


@pytest.mark.parametrize("name", LINES)
def test_a_single_voice_is_a_line(name: str) -> None:
    """Chorale voices and quartet parts without double stops are lines from end to end."""
    if name not in corpus():
        pytest.fail(f"{name} is not in the corpus that is installed")
    assert {span.kind for span in found(corpus()[name])} <= {"line", "rest"}


def test_a_horn_that_opens_with_its_chord_is_told_apart_from_the_line_after_it() -> None:
    """Eight eighths over the notes of F major, then steps (judged by eye)."""
    spans = found(corpus()["bach/bwv1.6.mxl 1"])
    assert [(span.kind, span.start) for span in spans] == [("broken chord", Fraction(0)), ("line", Fraction(4))]


def test_a_part_with_double_stops_is_more_than_lines() -> None:
    """A second violin that plays two notes at a time has chords where they stand (bars 1, 3 and 7-8, judged by eye)."""
    kinds = [span.kind for span in found(corpus()["mozart/k80/movement2.mxl 2"])]
    assert "line" in kinds
    assert set(kinds) & {"block chord", "melody and bass"}


def test_a_whole_movement_is_mostly_lines() -> None:
    """The second violin of a quartet movement, 313 bars: lines, and chords where it accompanies (judged by eye)."""
    import music21  # noqa: PLC0415 only here: half a second

    from engrave.reading import read  # noqa: PLC0415

    path = Path(music21.__file__).parent / "corpus" / "beethoven/opus18no1/movement1.mxl"
    line = fingered(read(path.read_bytes(), path.name, part="2"))
    assert share(line, ("line",)) > 0.7
    assert share(line, ("tremolo",)) == 0
