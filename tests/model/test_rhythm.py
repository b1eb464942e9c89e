"""How spans are written as values: exact sums, visible beats, common spellings."""

from __future__ import annotations

from fractions import Fraction as Span

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import Metre
from engrave.model.time_spelling import SHORTEST, Piece, ratio, single, split, write

METRES = ("4/4", "3/4", "2/4", "2/2", "6/8", "9/8", "12/8", "3/8", "5/4", "7/8", "3+2/8", "3+3+2/8", "6/4", "1/4")


def metre(text: str) -> Metre:
    """A metre from 4/4 or 3+2/8."""
    beats, unit = text.split("/")
    return Metre(beats=tuple(int(b) for b in beats.split("+")), unit=int(unit))


def spelled(text: str, start: str, length: str, *, rest: bool = False) -> str:
    """The values of one span as text."""
    values = split(Span(start), Span(length), metre(text), rest=rest)
    return " ".join(f"{v.kind}{'.' * v.dots}" for v in values)


def written(text: str, *lengths: str, offset: str = "0") -> str:
    """The pieces, brackets as 3(… …), ties within a span as ~."""
    out: list[str] = []
    open_id = 0
    for pieces in write([(Span(x), False) for x in lengths], metre(text), offset=Span(offset)):
        for number, piece in enumerate(pieces):
            mark = piece.tuplets[0] if piece.tuplets else None
            if open_id and (mark is None or mark.id != open_id):
                out.append(")")
                open_id = 0
            if mark is not None and mark.id != open_id:
                out.append(f"{mark.actual}:{mark.normal}(")
                open_id = mark.id
            out.append(f"{'~' if number else ''}{piece.value.kind}{'.' * piece.value.dots}")
    return " ".join(out + ([")"] if open_id else []))


# Spellings as a music copyist writes them: common practice.
@pytest.mark.parametrize(
    ("text", "start", "length", "values"),
    [
        ("4/4", "0", "4", "1"),
        ("4/4", "0", "3", "2."),
        ("4/4", "1", "3", "2."),
        ("4/4", "1", "2", "2"),
        ("4/4", "0", "5/2", "2 8"),
        ("4/4", "1/2", "1", "4"),
        ("4/4", "3/2", "1", "8 8"),
        ("4/4", "1", "3/2", "4 8"),
        ("4/4", "1/2", "7/2", "4. 2"),
        ("4/4", "1/4", "1/2", "8"),
        ("4/4", "3/4", "1/2", "16 16"),
        ("4/4", "1/4", "3/4", "8."),
        ("3/4", "0", "3", "2."),
        ("3/4", "1", "2", "2"),
        ("3/4", "0", "3/2", "4."),
        ("3/4", "3/2", "3/2", "8 4"),
        ("3/4", "1/2", "1", "4"),
        ("6/8", "0", "3", "2."),
        ("6/8", "0", "1", "4"),
        ("6/8", "1/2", "1", "4"),
        ("6/8", "1", "1", "8 8"),
        ("6/8", "0", "5/2", "4. 4"),
        ("6/8", "3/4", "3/4", "8."),
        ("9/8", "0", "9/2", "2. 4."),
        ("12/8", "0", "6", "1."),
        ("12/8", "0", "9/2", "2. 4."),
        ("12/8", "3/2", "3", "2."),
        ("5/4", "0", "5", "2. 2"),
        ("7/8", "0", "7/2", "2 4."),
        ("3+2/8", "0", "5/2", "4. 4"),
        ("3/4", "2", "3", "4 2"),
    ],
)
def test_notes_are_spelled_as_copyists_do(text: str, start: str, length: str, values: str) -> None:
    """Each span of a bar gets the tied values that common practice gives it."""
    assert spelled(text, start, length) == values


@pytest.mark.parametrize(
    ("text", "start", "length", "values"),
    [
        ("4/4", "0", "4", "1"),
        ("4/4", "1", "2", "4 4"),
        ("4/4", "2", "2", "2"),
        ("4/4", "0", "3", "2 4"),
        ("4/4", "1/2", "1", "8 8"),
        ("4/4", "0", "3/4", "8."),
        ("4/4", "1/4", "3/4", "16 8"),
        ("3/4", "0", "2", "4 4"),
        ("6/8", "0", "1", "4"),
        ("6/8", "1/2", "1", "8 8"),
        ("6/8", "3/2", "3/2", "4."),
    ],
)
def test_rests_stay_within_their_beat(text: str, start: str, length: str, values: str) -> None:
    """A rest never hides a beat or the middle of the bar, as a syncopated note may."""
    assert spelled(text, start, length, rest=True) == values


@pytest.mark.parametrize(
    ("text", "lengths", "pieces"),
    [
        ("4/4", "1/3 1/3 1/3 2/3 1/3 2", "3:2( 8 8 8 ) 3:2( 4 8 ) 2"),
        ("4/4", "2/3 2/3 2/3 2", "3:2( 4 4 4 ) 2"),
        ("4/4", "4/3 4/3 4/3", "3:2( 2 2 2 )"),
        ("2/4", "1/5 1/5 1/5 1/5 1/5 1", "5:4( 16 16 16 16 16 ) 4"),
        ("2/4", "1/7 1/7 1/7 1/7 1/7 1/7 1/7 1", "7:4( 16 16 16 16 16 16 16 ) 4"),
        ("2/4", "1/6 1/6 1/6 1/6 1/6 1/6 1", "3:2( 16 16 16 ) 3:2( 16 16 16 ) 4"),
        ("6/8", "3/10 3/10 3/10 3/10 3/10 3/2", "5:3( 8 8 8 8 8 ) 4."),
        ("6/8", "3/4 3/4 3/2", "8. 8. 4."),
        ("4/4", "2/3 1 1 2/3 2/3", "3:2( 4 8 ) 3:2( ~4 8 ) 3:2( ~4 8 ) 3:2( ~8 4 )"),
        ("4/4", "1/3 4/3 1/3 2", "3:2( 8 4 ) 3:2( ~4 8 ) 2"),
        ("4/4", "1/3 3 2/3", "3:2( 8 4 ) ~2 3:2( ~8 4 )"),
    ],
)
def test_tuplets_are_found_and_bracketed(text: str, lengths: str, pieces: str) -> None:
    """Thirds, fifths and sevenths stand under one bracket from grid to grid."""
    assert written(text, *lengths.split()) == pieces


def test_a_pickup_is_counted_from_its_place_in_the_metre() -> None:
    """Three eighths before the bar line of 3/4 start off the beat; at the start of a bar they one dotted quarter."""
    assert written("3/4", "3/2", offset="3/2") == "8 ~4"
    assert written("3/4", "3/2") == "4."


@given(
    text=st.sampled_from(METRES),
    start=st.integers(0, 400).map(lambda n: n * SHORTEST * 2),
    length=st.integers(1, 500).map(lambda n: n * SHORTEST * 2),
    rest=st.booleans(),
)
@settings(max_examples=400, deadline=None)
def test_values_add_up_and_show_the_bar(text: str, start: Span, length: Span, rest: bool) -> None:
    """Law: values sum to their span, none crosses a bar line, one that hides two beats starts and ends on a beat."""
    time = metre(text)
    values = split(start, length, time, rest=rest)
    assert sum(v.quarters for v in values) == length
    at = start
    for value in values:
        end = at + value.quarters
        assert at // time.length == -(-end // time.length) - 1
        inside = [b * time.beat for b in range(int(at // time.beat) + 1, -(-end // time.beat))]
        if inside and rest:
            assert at % time.beat == 0 or time.beat < Span(1)
        if len(inside) > 1:
            assert at % time.beat == 0
            assert end % time.beat == 0
        at = end


@given(
    text=st.sampled_from(METRES),
    cuts=st.lists(st.sampled_from([2, 3, 4, 5, 6, 7]), min_size=1, max_size=4),
    joins=st.lists(st.booleans(), min_size=30, max_size=30),
)
@settings(max_examples=300, deadline=None)
def test_written_spans_keep_their_lengths(text: str, cuts: list[int], joins: list[bool]) -> None:
    """Law: every span comes back as pieces of its exact length, and each bracket is full."""
    time = metre(text)
    attacks: list[Span] = []
    for beat in range(int(time.length / time.beat)):
        parts = cuts[beat % len(cuts)]
        attacks += [time.beat * beat + time.beat * i / parts for i in range(parts)]
    attacks = [a for number, a in enumerate(attacks) if not number or joins[number % 30]]
    spans = [(b - a, False) for a, b in zip(attacks, [*attacks[1:], time.length], strict=True)]
    try:
        pieces = write(spans, time)
    except ValueError as error:
        assert "cannot be written" in str(error)  # noqa: PT017 - the only refusal: a mixture too fine for any value
        return
    assert [sum((p.length for p in ps), Span(0)) for ps in pieces] == [length for length, _ in spans]
    brackets: dict[int, list[Piece]] = {}
    for piece in (p for ps in pieces for p in ps):
        length = piece.value.quarters
        for t in piece.tuplets:
            length = length * t.normal / t.actual
            brackets.setdefault(t.id, []).append(piece)
        assert length == piece.length
    for members in brackets.values():
        total = sum((p.value.quarters for p in members), Span(0))
        unit = total / members[0].tuplets[0].actual
        assert single(unit) is not None


@pytest.mark.parametrize(
    ("length", "parts", "expected"),
    [("1", 3, (3, 2)), ("1", 5, (5, 4)), ("1", 6, (6, 4)), ("1", 7, (7, 4)), ("1", 9, (9, 8)), ("3", 5, (5, 3))],
)
def test_ratio_is_the_usual_one(length: str, parts: int, expected: tuple[int, int]) -> None:
    """The usual ratios of tuplets in a simple beat and over three: common practice."""
    assert ratio(Span(length), parts) == expected


@pytest.mark.parametrize("length", ["1/3", "0", "-1", "1/128"])
def test_what_cannot_be_plain_is_refused(length: str) -> None:
    """A length that is no sum of plain values is a ValueError, not a rounded answer."""
    with pytest.raises(ValueError, match="quarters"):
        split(Span(0), Span(length), metre("4/4"))


def test_an_unfinished_tuplet_is_refused() -> None:
    """A bar that ends inside a tuplet is refused."""
    with pytest.raises(ValueError, match="not complete at 4/3"):
        write([(Span(1), False), (Span(1, 3), False)], metre("4/4"))
