from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import PlanError
from engrave.regimen.log import (
    HURTS,
    LEARNT,
    REPLACED,
    RESTING,
    SHORT,
    Entry,
    Log,
    Standing,
    by_study,
    plain_name,
    read_log,
    standing,
)

GOOD = """\
study,day,tempo,clean,times,note
m a in turn,2027-01-04,29,5,5,went well
"Shape, moved",2027-01-05,40,2,,
"""


def test_a_log_is_read_row_by_row() -> None:
    """Commas, quotes, an empty cell and a note are read; nothing is said about good rows."""
    log = read_log(GOOD, "log.csv")
    assert log.notices == ()
    assert log.entries == (
        Entry(line=2, study="m a in turn", day=date(2027, 1, 4), tempo=29, clean=5, times=5, note="went well"),
        Entry(line=3, study="Shape, moved", day=date(2027, 1, 5), tempo=40, clean=2),
    )


def test_semicolons_a_byte_order_mark_and_short_rows_are_read() -> None:
    """A log from a table program with semicolons, and a row without its last cells."""
    log = read_log("\ufeffStudy;Day;Tempo;Clean;Times\nx;2027-01-04;60;3\n\n", "log.csv")
    assert log == Log(entries=(Entry(line=2, study="x", day=date(2027, 1, 4), tempo=60, clean=3),))


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("x,4/1/2027,60,3", "day '4/1/2027' is no date like 2027-01-04 or 4.1.2027"),
        ("x,2027-02-30,60,3", "day '2027-02-30' is no date like 2027-01-04 or 4.1.2027"),
        ("x,2027-01-04,fast,3", "tempo 'fast' is no whole number from 20 to 320"),
        ("x,2027-01-04,9,3", "tempo '9' is no whole number from 20 to 320"),
        ("x,2027-01-04,60,-1", "clean '-1' is no whole number from 0 to 1000"),
        ("x,2027-01-04,60,²", "clean '²' is no whole number from 0 to 1000"),
        ("x,2027-01-04,60,3,2", "clean 3 is more than times 2"),
        (",2027-01-04,60,3", "no study is named"),
        ("x,2027-01-04,60,3,4,5", "6 cells, but 5 columns"),
    ],
)
def test_a_bad_row_is_named_and_does_not_count(row: str, said: str) -> None:
    """Each bad row is a notice with its line; the row after it counts."""
    log = read_log(f"study,day,tempo,clean,times\n{row}\ny,2027-01-04,60,1\n", "log.csv")
    assert [str(notice) for notice in log.notices] == [f"log.csv, line 2: {said}; the row does not count"]
    assert [entry.study for entry in log.entries] == ["y"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "log.csv: is empty (the first row names the columns: study,day,tempo,clean,times,note)"),
        (
            "study,day\n",
            "log.csv, line 1: has no column tempo or clean (the first row names the columns: "
            "study,day,tempo,clean,times,note)",
        ),
    ],
)
def test_a_log_without_a_heading_row_is_refused(text: str, said: str) -> None:
    """Without the columns no row can be read."""
    with pytest.raises(PlanError) as caught:
        read_log(text, "log.csv")
    assert str(caught.value) == said


def test_columns_of_the_players_own_are_named() -> None:
    """A column that is not known is said to be left unread."""
    log = read_log("study,day,tempo,clean,mood\nx,2027-01-04,60,1,good\n", "log.csv")
    assert [str(n) for n in log.notices] == ["log.csv, line 1: column 'mood' is not known and is not read"]
    assert len(log.entries) == 1


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="study,day;tempo\nclean\"'0123456789-\r\x00é", max_size=120))
def test_any_text_is_a_log_or_a_plan_error(text: str) -> None:
    """Every row of whatever text is an entry or a notice, or the text is refused as a whole."""
    try:
        log = read_log(text, "log.csv")
    except PlanError:
        return
    assert all(isinstance(entry, Entry) for entry in log.entries)


HEAD = "study,day,tempo,clean\n"


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.sampled_from(["x,2027-01-04,60,1", "x,soon,60,1", "x", "x,2027-01-04,60,1,1,1", ",,,1"]), max_size=9)
)
def test_no_row_is_lost(rows: list[str]) -> None:
    """Entries and notices together are as many as the rows."""
    log = read_log(HEAD + "\n".join(rows), "log.csv")
    assert len(log.entries) + len(log.notices) == len(rows)


def sitting(day: int, tempo: int, clean: int, times: int | None = None) -> Entry:
    """An entry of January 2027."""
    return Entry(line=day, study="x", day=date(2027, 1, day), tempo=tempo, clean=clean, times=times)


TOP, STEP = 72, 5


@pytest.mark.parametrize(
    ("entries", "expected"),
    [
        ([], Standing()),
        ([sitting(1, 50, 5)], Standing(tempo=55, moved="clean at 50: on to 55")),
        ([sitting(1, 50, 4)], Standing(tempo=55, moved="clean at 50: on to 55")),
        ([sitting(1, 50, 3)], Standing(tempo=50, moved="not yet clean at 50: once more")),
        ([sitting(1, 50, 2, 2)], Standing(tempo=55, moved="clean at 50: on to 55")),
        ([sitting(1, 57, 5)], Standing(tempo=62, moved="clean at 57: on to 62")),
        ([sitting(1, 70, 5)], Standing(tempo=72, moved="clean at 70: on to 72")),
        ([sitting(1, 60, 0)], Standing(tempo=55, moved="not clean at 60: back to 55")),
        ([sitting(1, 20, 0)], Standing(tempo=20, moved="not yet clean at 20: once more")),
        ([sitting(1, 72, 5)], Standing(tempo=72, state=LEARNT, moved="clean at 72, its last step: learnt")),
        (
            [sitting(1, 50, 0), sitting(2, 72, 5)],
            Standing(tempo=72, state=LEARNT, moved="clean at 72, its last step: learnt"),
        ),
        (
            [sitting(1, 50, 0), sitting(2, 50, 0)],
            Standing(tempo=45, state=SHORT, moved="not clean at 50 again: shorter, and back to 45"),
        ),
        (
            [sitting(day, 50, 0) for day in (1, 2, 3)],
            Standing(
                tempo=45,
                state=RESTING,
                moved="not clean on 3 days running: it rests at first, then comes short, at 45",
            ),
        ),
        (
            [sitting(day, 50, 0) for day in (1, 2, 3, 4)],
            Standing(tempo=45, state=REPLACED, moved="not clean on 4 days running"),
        ),
        (
            [sitting(1, 50, 0), sitting(2, 50, 1), sitting(3, 50, 0)],
            Standing(tempo=45, moved="not clean at 50: back to 45"),
        ),
    ],
)
def test_what_was_done_moves_the_tempo(entries: list[Entry], expected: Standing) -> None:
    """Four of five clean go on a step, none goes back one, and days running without any shorten, rest and replace."""
    assert standing(entries, top=TOP, step=STEP, times=5) == expected


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 28), st.integers(20, 200), st.integers(0, 5)), min_size=1, max_size=9))
def test_no_log_moves_a_tempo_by_more_than_a_step(rows: list[tuple[int, int, int]]) -> None:
    """Whatever is logged, the next tempo is at most a step above the last, never above the goal; failures slow."""
    entries = [sitting(*row) for row in sorted(rows)]
    now = standing(entries, top=TOP, step=STEP, times=5)
    assert now.tempo is not None
    assert now.tempo <= min(TOP, entries[-1].tempo + STEP)
    if not entries[-1].clean:
        assert now.tempo < max(21, entries[-1].tempo)


@pytest.mark.parametrize(
    ("note", "hurts"),
    [
        ("hurts at the knuckle", True),
        ("a little pain", True),
        ("fingers went numb", True),
        ("no pain today", False),
        ("fun", False),
    ],
)
def test_what_hurts_is_left_out(note: str, hurts: bool) -> None:
    """A note that speaks of pain stops the study, whatever went clean; one that says there is none does not."""
    now = standing([replace(sitting(1, 50, 5), note=note)], top=TOP, step=STEP, times=5)
    assert (now.state == HURTS) == hurts


def test_local_dates_and_tabs_are_read() -> None:
    """Day first with points, also one figure; with strokes where the day shows itself; year first without noughts."""
    log = read_log(
        "study\tday\ttempo\tclean\nx\t4.1.2027\t60\t3\nx\t14/1/2027\t60\t3\nx\t1/14/2027\t60\t3\nx\t2027-3-1\t60\t3\n"
    )
    days = [date(2027, 1, 4), date(2027, 1, 14), date(2027, 1, 14), date(2027, 3, 1)]
    assert [entry.day for entry in log.entries] == days


def test_names_match_but_for_case_and_spaces() -> None:
    """A heading copied by hand is still found, and its rows stand in the order of their days."""
    assert plain_name("M  a in TURN ") == plain_name("m a in turn") != plain_name("m i in turn")
    rows = [replace(sitting(2, 60, 1), study="A  b"), replace(sitting(1, 60, 1), study="a B")]
    assert [entry.day.day for entry in by_study(rows)["a b"]] == [1, 2]
