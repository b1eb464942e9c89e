from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import PlanError
from engrave.regimen.log import Entry, Log, Standing, read_log, same_heading, standing

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
        Entry(line=2, study="m a in turn", day=date(2027, 1, 4), tempo=29, clean=5, times=5),
        Entry(line=3, study="Shape, moved", day=date(2027, 1, 5), tempo=40, clean=2),
    )


def test_semicolons_a_byte_order_mark_and_short_rows_are_read() -> None:
    """A log from a table program with semicolons, and a row without its last cells."""
    log = read_log("\ufeffStudy;Day;Tempo;Clean;Times\nx;2027-01-04;60;3\n\n", "log.csv")
    assert log == Log(name="log.csv", entries=(Entry(line=2, study="x", day=date(2027, 1, 4), tempo=60, clean=3),))


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("x,4.1.2027,60,3", "day '4.1.2027' is no date like 2027-01-04"),
        ("x,2027-02-30,60,3", "day '2027-02-30' is no date like 2027-01-04"),
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


STEPS = (50, 60, 72)


@pytest.mark.parametrize(
    ("entries", "expected"),
    [
        ([], Standing(tempo=(50, 60, 72))),
        ([sitting(1, 50, 5)], Standing(tempo=(60, 72), moved="clean at 50: on to 60")),
        ([sitting(1, 50, 4)], Standing(tempo=(60, 72), moved="clean at 50: on to 60")),
        ([sitting(1, 50, 3)], Standing(tempo=(50, 60, 72))),
        ([sitting(1, 50, 2, 2)], Standing(tempo=(60, 72), moved="clean at 50: on to 60")),
        ([sitting(1, 60, 0)], Standing(tempo=(50, 60, 72), moved="not clean at 60: back to 50")),
        ([sitting(1, 50, 0)], Standing(tempo=(50, 60, 72))),
        ([sitting(1, 72, 5)], Standing(tempo=(72,), state="settled", moved="clean at 72, its last step")),
        ([sitting(1, 90, 5)], Standing(tempo=(72,), state="settled", moved="clean at 90, its last step")),
        (
            [sitting(2, 72, 5), sitting(1, 50, 0)],
            Standing(tempo=(72,), state="settled", moved="clean at 72, its last step"),
        ),
        ([sitting(1, 50, 0), sitting(2, 50, 0), sitting(3, 50, 0)], Standing(tempo=(50, 60, 72), state="stuck")),
        ([sitting(1, 50, 0), sitting(2, 50, 1), sitting(3, 50, 0)], Standing(tempo=(50, 60, 72))),
        ([sitting(1, 40, 5)], Standing(tempo=(60, 72), moved="clean at 40: on to 60")),
    ],
)
def test_what_was_done_moves_the_tempo(entries: list[Entry], expected: Standing) -> None:
    """Four of five clean go on, none goes back, three days of none is stuck, clean at the last step is settled."""
    assert standing(entries, STEPS, 5) == expected


def test_headings_match_but_for_case_and_spaces() -> None:
    """A heading copied by hand is still found."""
    assert same_heading("M  a in TURN ", "m a in turn")
    assert not same_heading("m a", "m i")
