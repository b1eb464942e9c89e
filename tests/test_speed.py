"""The benchmark of speed runs, and judges what it measures."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.speed import PARTS, Taken, judged, main, median
from tests.benchmarks.speed_floor import flattened, with_plain_music, without_music

ROOT = Path(__file__).resolve().parent.parent
COUNT = 3
PAGE = (
    '<p>Text.</p><img src="plate:line-1" alt="Music." style="width:1mm;height:2mm">'
    '<img src="plate:music1-1" alt="Bar 1." style="width:3mm;height:4mm"><img src="plate:music1-2" alt="" style="">'
    '<img src="plate:foot1-1" alt="" style="width:5mm">'
)
SVG = (
    '<svg viewBox="0 0 10 20" width="10px"><desc>x</desc><defs><g id="head"/></defs>'
    '<svg class="definition-scale" color="black" viewBox="0 0 1800 900"><g class="page-margin"/></svg></svg>'
)


def test_the_floor_keeps_the_room_of_the_music() -> None:
    """A page without music is as long as one with it."""
    assert without_music(PAGE) == (
        '<p>Text.</p><div style="width:1mm;height:2mm"></div><div style="width:3mm;height:4mm"></div>'
        '<div style=""></div><div style="width:5mm"></div>'
    )


def test_the_plain_way_has_one_picture_a_variation() -> None:
    """Verovio's nested picture becomes one, a mm for 100 of its units, in place of the first system."""
    first, second = SVG, SVG.replace("page-margin", "second")
    flat = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="18.00mm" height="9.00mm" viewBox="0 0 1800 900">'
        '<defs><g id="head"/></defs><g class="page-margin"/></svg>'
    )
    assert flattened(SVG) == flat
    assert [*with_plain_music([PAGE], [first, second])] == [
        f'<p>Text.</p>{flat}{flat.replace("page-margin", "second")}<div style="width:5mm"></div>'
    ]


def test_reaches_are_judged_on_both_sides() -> None:
    """At most, at least, and what was not measured is neither reached nor missed."""
    figures = {
        "python": {"cpu": 0.02},
        "--help": {"cpu": 0.14},
        "cold 10": {"cpu": 3.0, "peak": 100.0, "pdf bytes": 0, "pdf bytes a page": 12_000},
        "cold 40": {"cpu": 12.0, "peak": 150.0, "pdf bytes": 1_000_000, "pdf bytes a page": 15_001},
        "floor 40": {"cpu": 10.0},
        "plain way, reckoned": {"40": 250.0},
    }
    verdicts = [row["reached"] for row in judged(figures, (10, 40))]
    assert verdicts == [True, True, True, True, False, True, False]


def test_the_middle_of_the_rounds_counts() -> None:
    """One slow round changes nothing."""
    assert median([Taken(1, 5, 9), Taken(100, 6, 9), Taken(2, 7, 9)], "wall") == 2


LONG = pytest.mark.skipif("ENGRAVE_BENCHMARKS" not in os.environ, reason="the long run: ENGRAVE_BENCHMARKS=1")
"""a run of the benchmark is half a dozen processes: `.ci/run` makes it"""


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Any], Path]:
    """What a small run of the benchmark prints, and where its files lie."""
    folder = tmp_path_factory.mktemp("speed")
    command = [sys.executable, str(ROOT / "tests/benchmarks/speed.py"), "--rounds", "1", "--pages", str(COUNT)]
    asked = ["--line", "eighths", "--only", "cold,floor", "--folder", str(folder)]
    run = subprocess.run([*command, *asked], capture_output=True, text=True, check=True)
    return json.loads(run.stdout), folder


@LONG
def test_the_benchmark_prints_json(small: tuple[dict[str, Any], Path]) -> None:
    """A small run measures the whole command and the floor, in seconds, MB and bytes."""
    report, _ = small
    cold, floor = f"cold {COUNT}", f"floor {COUNT}"
    assert report["line"] == {"bars": 8, "of": "eighths", "notes": 64}
    assert set(report["figures"]) == {cold, floor}
    assert report["figures"][cold]["pages"] >= 3 + COUNT
    assert report["figures"][cold]["pdf bytes"] > 10_000
    assert all(figure[what] > 0 for figure in report["figures"].values() for what in ("wall", "cpu", "peak"))


@LONG
def test_the_floor_has_every_page_of_the_book(small: tuple[dict[str, Any], Path]) -> None:
    """What the libraries are measured on holds the index, each variation once and the staff of each."""
    _, folder = small
    record = json.loads((folder / f"record-{COUNT}" / "record.json").read_text(encoding="utf-8"))
    pages = "".join(record["pages"])
    headings = re.findall(r"</b>(.*?)</h3>", pages)
    assert pages.count('<section class="sheet') == len(headings) == len({*headings}) == COUNT + 1, (
        "the line comes first"
    )
    assert [pages.count(f">{heading}</h2>") for heading in ("For the teacher", "The book in practice order")] == [1, 1]
    assert len(record["plates"]) >= 1 + COUNT


def test_an_unknown_part_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """The message names the parts there are."""
    with pytest.raises(SystemExit):
        main(["--only", "cold,warp"])
    assert f"no such part: warp; parts: {', '.join(PARTS)}" in capsys.readouterr().err
