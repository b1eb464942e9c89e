"""Lengths as notes, brackets by counting, and numbers as files write them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.model.said import strung
from engrave.reading.note_values import counted, written
from engrave.reading.numbers import decimal, whole
from engrave.reading.tally import Tally, bar_list


@given(st.integers(1, 4096), st.sampled_from([1, 3, 5, 6, 7, 9, 11, 12, 24, 63]))
def test_what_is_written_lasts_as_long_as_was_asked(ticks: int, odd: int) -> None:
    """The values under their tuplet add up exactly, the longest first."""
    length = Fraction(ticks, 64 * odd)
    made = written(length)
    if made is None:
        return
    values, (actual, normal) = made
    assert sum(value.quarters for value in values) * normal / actual == length
    assert sorted((value.quarters for value in values), reverse=True) == [value.quarters for value in values]


@pytest.mark.parametrize(
    ("length", "values", "ratio"),
    [
        ("4", ["1"], (1, 1)),
        ("7/2", ["2.."], (1, 1)),
        ("5/2", ["2", "8"], (1, 1)),
        ("16", ["0", "0"], (1, 1)),
        ("1/3", ["8"], (3, 2)),
        ("2/3", ["4"], (3, 2)),
        ("1/5", ["16"], (5, 4)),
        ("1/6", ["16"], (3, 2)),
        ("1/7", ["16"], (7, 4)),
        ("1/64", ["256"], (1, 1)),
    ],
)
def test_common_lengths_are_written_as_musicians_write_them(
    length: str, values: list[str], ratio: tuple[int, int]
) -> None:
    """A table of lengths in quarters; common practice."""
    made = written(Fraction(length))
    assert made is not None
    assert ([f"{value.kind}{'.' * value.dots}" for value in made[0]], made[1]) == (values, ratio)


@pytest.mark.parametrize("length", ["0", "-1", "1/128", "1/67", "100000", "1/997"])
def test_some_lengths_cannot_be_written(length: str) -> None:
    """Nothing, less than nothing, shorter than a 256th, odd beyond any tuplet, longer than any bar."""
    assert written(Fraction(length)) is None


@pytest.mark.parametrize(
    ("run", "keys"),
    [
        ("333333", "111222"),
        ("3333 33", "111222"),
        ("-333-", "01110"),
        ("555553", "111112"),
        ("666666", "111111"),
    ],
)
def test_brackets_are_counted_where_a_file_draws_none(run: str, keys: str) -> None:
    """Triplets of eighths by threes, a quintuplet by five, a sextuplet by six, a change of ratio."""
    ratios = {"3": (3, 2), "5": (5, 4), "6": (6, 4), "-": (1, 1)}
    eighth = Fraction(1, 2)
    chain = [(eighth * ratios[c][1] / ratios[c][0], eighth, ratios[c], False) for c in run.replace(" ", "")]
    assert "".join(str(over[0][0] if over else 0) for over in counted(chain)) == keys


def test_a_quarter_and_an_eighth_make_a_triplet_and_a_beam_is_not_cut() -> None:
    """Two thirds and one third are one bracket; a beam that goes on keeps it open."""
    long, short = (Fraction(2, 3), Fraction(1)), (Fraction(1, 3), Fraction(1, 2))
    pair = [(*long, (3, 2), False), (*short, (3, 2), False)]
    assert [over[0] for over in counted(pair * 2)] == [(1, 3, 2), (1, 3, 2), (2, 3, 2), (2, 3, 2)]
    beamed = [(Fraction(1, 6), Fraction(1, 4), (3, 2), n < 5) for n in range(6)]
    assert counted(beamed) == [((1, 3, 2),)] * 6


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("7", 7),
        (" -3 ", -3),
        ("+4", 4),
        ("", None),
        (None, None),
        ("1.0", None),
        ("--5", None),
        ("9" * 13, None),
        ("١", None),
    ],
)
def test_whole_numbers_are_plain_or_nothing(text: str | None, said: int | None) -> None:
    """Digits with a sign; no other script, no exponents, no novels."""
    assert whole(text, -10, 10) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("7", "7"),
        ("0.5", "1/2"),
        (".25", "1/4"),
        ("-1.5", "-3/2"),
        ("1e9", None),
        ("nan", None),
        ("1/0", None),
        ("", None),
    ],
)
def test_decimals_are_plain_or_nothing(text: str, said: str | None) -> None:
    """Exact fractions of what is written out."""
    assert decimal(text) == (None if said is None else Fraction(said))


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        (["3"], "bar 3"),
        (["1", "2", "3", "5"], "bars 1-3, 5"),
        (["1", "1", "2"], "bars 1-2"),
        (["4", "4a", "5"], "bars 4, 4a, 5"),
        ([str(2 * n) for n in range(14)], "bars 0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, …"),
    ],
)
def test_bars_are_listed_as_a_reader_lists_them(labels: list[str], said: str) -> None:
    """Runs are joined; what is too long is cut."""
    assert bar_list(labels) == said


def test_a_tally_says_each_kind_once() -> None:
    """Count and bars behind the kind, in the order of first meeting; no bars where none is known."""
    tally = Tally()
    for kind, bar in (("b", "2"), ("a", "1"), ("b", "3"), ("c", "")):
        tally.add(strung([kind]), bar)
    assert [str(notice) for notice in tally.notices()] == ["b (2 times, bars 2-3)", "a (bar 1)", "c"]
