"""Limits: stated in one place and in examples/formats.md, moved by the user alone, and met in seconds."""

from __future__ import annotations

import re
from dataclasses import fields, replace
from pathlib import Path

import pytest

from engrave.model import PlanError
from engrave.reading import read
from engrave.reading.limits import LIMITS, SETTABLE, VARIABLE, hold_to_studies, limits_from
from engrave.regimen import log, plan_reader
from engrave.regimen.keys import MOST_STUDIES
from tests.reading.xml import notes, score
from tests.test_cli import run

TEXT = (Path(__file__).resolve().parents[2] / "examples/formats.md").read_text(encoding="utf-8")
_ROW = re.compile(r"^\| `([a-z_]+)` \| ([\d,]+) \| .+ \|$", re.MULTILINE)
_RUN = "E4/16 F4/16 G4/16 F4/16 " * 4


def test_the_text_lists_every_limit_a_user_can_move() -> None:
    """The table in examples/formats.md holds each of them with the value in force, and nothing else."""
    table = TEXT.split("## Limits")[1]
    said = {name: int(value.replace(",", "")) for name, value in _ROW.findall(table)}
    assert said == {name: getattr(LIMITS, name) for name in SETTABLE}
    fixed = f"{plan_reader._LONGEST_FILE:,} characters and {MOST_STUDIES} studies, a log {log._MOST_ROWS:,} rows"
    assert fixed in table


def test_every_limit_that_can_be_moved_exists() -> None:
    """A name that can be set is a field of Limits, and the variable puts the number there and nowhere else."""
    assert set(SETTABLE) <= {field.name for field in fields(LIMITS)}
    for number, name in enumerate(SETTABLE, start=7):
        assert limits_from(f" {name} = {number} ") == replace(LIMITS, **{name: number})
    assert limits_from("") == limits_from(" , ") == LIMITS
    assert limits_from("bars=800,notes=20000") == replace(LIMITS, bars=800, notes=20_000)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("barz=3", "'barz' is not a limit (did you mean bars?)"),
        ("depth=3", f"'depth' is not a limit (limits: {', '.join(SETTABLE)})"),
        ("bars", "bars '' is not a whole number from 1 to 1,000,000,000 (such as bars=400)"),
        ("bars=0", "bars '0' is not a whole number from 1 to 1,000,000,000 (such as bars=400)"),
        ("bars=-1", "bars '-1' is not a whole number from 1 to 1,000,000,000 (such as bars=400)"),
        ("bars=1e9", "bars '1e9' is not a whole number from 1 to 1,000,000,000 (such as bars=400)"),
        ("bars=٣", "bars '٣' is not a whole number from 1 to 1,000,000,000 (such as bars=400)"),
        ("bars=9999999999", "bars '9999999999' is not a whole number from 1 to 1,000,000,000 (such as bars=400)"),
    ],
)
def test_a_wrong_limit_is_one_line(text: str, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Unknown names and values that are no numbers are told at the command line, exit 2."""
    monkeypatch.setenv(VARIABLE, text)
    done = run("survey")
    assert (done.exit_code, done.stdout, done.stderr) == (2, "", f"engrave: ENGRAVE_LIMITS: {said}\n")


def test_all_wrong_limits_are_told_at_once() -> None:
    """One line for each."""
    with pytest.raises(PlanError) as caught:
        limits_from("barz=3,notes=x,voices=4")
    assert len(caught.value.faults) == 2


@pytest.mark.parametrize("form", [["book"], ["week"], ["handout"], ["export"], ["studies"]], ids=" ".join)
def test_a_piece_of_two_thousand_bars_is_advised_at_once(form: list[str], tmp_path: Path) -> None:
    """Without --bars the advice names the bars there are; nothing is written."""
    path = tmp_path / "long.musicxml"
    path.write_bytes(score(*[notes("E4/1")] * 2_000))
    done = run(*form, str(path), *([] if form == ["studies"] else ["-o", str(tmp_path / "out.pdf")]))
    assert (done.exit_code, done.stdout, done.stderr) == (
        2,
        "",
        "engrave: long.musicxml: 2,000 bars, the limit for one passage is 400 "
        "(choose some of bars 1 to 2000, e.g. --bars 1-16; ENGRAVE_LIMITS=bars=2000 allows more)\n",
    )
    assert [file.name for file in tmp_path.iterdir()] == ["long.musicxml"]


def test_a_movement_is_not_made_a_book_of(tmp_path: Path) -> None:
    """A page for each variation of a piece of more than 64 bars is refused with advice."""
    path = tmp_path / "movement.musicxml"
    path.write_bytes(score(*[notes("E4/1")] * 65))
    said = (
        "engrave: movement.musicxml: 65 bars, the limit for studies is 64 "
        "(choose the bars to practise, e.g. --bars 1-16; ENGRAVE_LIMITS=study_bars=65 allows more)\n"
    )
    done = run("book", str(path), "-o", str(tmp_path / "out.pdf"))
    assert (done.exit_code, done.stderr[: len(said)]) == (2, said)
    # and with bars to choose from
    assert f"(engrave book {path} --bars 1-8)" in done.stderr


def test_the_advice_of_a_limit_is_what_helps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Following the hint of a refusal to the letter lets the piece through; a survey needs no advice."""
    path = tmp_path / "short.musicxml"
    path.write_bytes(score(notes("E4/4 F4/4 G4/4 F4/4"), notes("E4/1")))
    words = ["export", str(path), "--depth", "short", "-o", str(tmp_path / "out")]
    monkeypatch.setenv(VARIABLE, "study_bars=1")
    refused = run(*words)
    assert refused.exit_code == 2
    assert run("survey", str(path)).exit_code == 0
    advice = re.search(r"--bars (1); ENGRAVE_LIMITS=(study_bars=2) allows more", refused.stderr)
    assert advice is not None
    assert run(*words, "--bars", advice[1]).exit_code == 0
    monkeypatch.setenv(VARIABLE, advice[2])
    assert run(*words[:-1], str(tmp_path / "all")).exit_code == 0


def test_notes_are_bounded_apart_from_bars() -> None:
    """A short piece full of notes is as much work as a long one."""
    passage = read(score(*[notes(_RUN)] * 4), "x.xml")
    hold_to_studies(passage, replace(LIMITS, study_notes=64, study_bars=4))
    with pytest.raises(PlanError) as caught:
        hold_to_studies(passage, replace(LIMITS, study_notes=63))
    assert str(caught.value) == (
        "x.xml: 64 notes, the limit for studies is 63 "
        "(choose the bars to practise, e.g. --bars 1-4; ENGRAVE_LIMITS=study_notes=64 allows more)"
    )


def test_texts_keep_to_the_limits_too() -> None:
    """Tablature and tunes are held to the same bounds, and to those the user sets."""
    tab = b"metre: 4/4\ncolumn: 1/4\n\n" + b"".join(b"%s|%s\n" % (s, b"-0-|" * 30) for s in (b"e", b"B", b"G", b"D"))
    tab += b"A|" + b"---|" * 30 + b"\nE|" + b"---|" * 30 + b"\n"
    tune = b"X:1\nM:4/4\nL:1/4\nK:C\n" + b"cdef|" * 30
    for data, name in ((tab, "x.tab"), (tune, "x.abc")):
        for limit, advice in (("bars", "ENGRAVE_LIMITS=bars="), ("notes", "ENGRAVE_LIMITS=notes=")):
            with pytest.raises(Exception, match=advice):
                read(data, name, limits=replace(LIMITS, **{limit: 29}))
        with pytest.raises(Exception, match=r"the text is .* bytes long, the limit is 50 .*ENGRAVE_LIMITS=text_bytes="):
            read(data, name, limits=replace(LIMITS, text_bytes=50))
    assert len(read(tune, "x.abc").bars) == 30
