"""Passages worth studying in a piece that is too long for a book: its phrases, the hardest first.

Rules: a phrase ends at a double bar, a repeat or a fermata, else after eight bars; one of more than sixteen is cut into
eights (house figures). Each is fingered by itself and judged by what the survey counts: how far the hand travels, how
often it stretches and lays a barre, and how many notes there are to a quarter. What cannot be fingered is not proposed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from engrave.model import EngraveError, Fault, Passage, Place, Plan, PlanError
from engrave.model.errors import one_line
from engrave.telling import along

HARDEST = "hardest"
"""the word that takes the first of them in place of bars"""
_USUAL, _LONGEST, _SHORTEST = 8, 16, 2
_SHOWN = 5
_PART = "part read: "
"""how a reader's notice of the parts begins"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A phrase and what it asks of the fretting hand."""

    bars: str
    """as printed, for --bars"""
    weight: float
    """how hard it is, a bar; only to be compared"""
    words: str


def phrases(passage: Passage) -> list[tuple[int, int]]:
    """First and last bar of each phrase."""
    ends = {event.bar for event in passage.events if "fermata" in event.marks}
    ends |= {at for at, bar in enumerate(passage.bars) if bar.repeat_end or bar.barline in ("double", "final")}
    count = len(passage.bars)
    found: list[tuple[int, int]] = []
    start = 0
    for index in range(count):
        # where the music closes within the next bars, the phrase may last until then
        soon = range(index + 1, min(index + 1 + _LONGEST - _USUAL - 3, count))
        closes = index in ends or index == count - 1
        if closes or (index - start + 1 == _USUAL and ends.isdisjoint(soon)):
            if found and index - start + 1 < _SHORTEST:
                found[-1] = (found[-1][0], index)
            else:
                found.append((start, index))
            start = index + 1
    return found


def proposals(passage: Passage, plan: Plan) -> list[Proposal]:
    """The phrases that can be fingered, the hardest first."""
    from engrave.fretting import hand_figures  # noqa: PLC0415
    from engrave.line import line_of  # noqa: PLC0415 (loads the search, which a short passage need not)
    from engrave.reading.bar_numbers import span  # noqa: PLC0415
    from engrave.reading.cut import cut  # noqa: PLC0415

    made: list[Proposal] = []
    labels = [bar.label for bar in passage.bars]
    for start, stop in along("surveying", phrases(passage)):
        bars = span(labels[start], labels[stop])
        try:
            part = cut(passage, bars=bars)
            figures = hand_figures(line_of(part, plan), tempo=part.tempo)
        except EngraveError:
            continue
        many, quarters = len(part.bars), float(sum(bar.length for bar in part.bars))
        notes = sum(1 for _ in part.notes)
        weight = (figures.travel / 100 + 2 * figures.stretches + figures.barres) / many + notes / quarters
        words = f"{notes} notes, {figures.shifts} shifts, {figures.barres} barres, {figures.reach} mm reach"
        made.append(Proposal(bars=bars, weight=weight, words=words))
    return sorted(made, key=lambda one: -one.weight)


def told(passage: Passage, found: Sequence[Proposal], command: str) -> tuple[Fault, ...]:
    """Which part was read of several, and the first of the proposals, a line each with its command."""
    place = Place(file=one_line(passage.source, 80))
    what = [Fault(fact=n.text, hint="--part chooses", place=place) for n in passage.notices if n.text.startswith(_PART)]
    return (
        *what,
        *(
            Fault(fact=f"bars {one.bars}: {one.words}", hint=f"{command} --bars {one.bars}", place=place)
            for one in found[:_SHOWN]
        ),
    )


def hardest(passage: Passage, plan: Plan) -> Passage:
    """The hardest phrase of a passage. Raises PlanError where none can be fingered."""
    from engrave.reading.cut import cut  # noqa: PLC0415 (as above)

    found = proposals(passage, plan)
    if not found:
        fact = "no phrase of the piece can be fingered on this instrument"
        raise PlanError(Fault(fact=fact, hint="try --octave or --instrument", place=Place(file=passage.source)))
    return cut(passage, bars=found[0].bars)
