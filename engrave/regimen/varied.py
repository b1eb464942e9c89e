"""The line under a study, made once; and where a study lies on the wrong strings, the strings on which it works."""

from __future__ import annotations

from dataclasses import replace

from engrave import axes
from engrave.model import Declined, Study, Variation

_LINES = 3
_varied_before: list[tuple[Variation, dict[Study, Variation | Declined]]] = []
"""the last few lines that were varied, with every study of each: a class, and a week after a book, ask for the same"""
_OTHERS = ("shape on 2", "shape on 3", "shape on 4", "shape on 1", "shape on 5", "shape on 6")
"""where else a line may lie, the most usual first; common practice"""
_HIGHER = ("up 2", "up 3")
"""where fingers in turn have room that have none at the nut; house choice"""


def varied(line: Variation, study: Study) -> Variation | Declined:
    """`line` under `study`, as engrave.axes.vary makes it; under other tempi than the source's, without its marks."""
    known = next((found for held, found in _varied_before if held is line), None)
    if known is None:
        # a passage that was read and fretted again is another value, but the same line
        at = next((at for at, (held, _) in enumerate(_varied_before) if held == line), None)
        known = {} if at is None else _varied_before.pop(at)[1]
        _varied_before.append((line, known))
        del _varied_before[:-_LINES]
    if study not in known:
        made = axes.vary(line, study)
        known[study] = untimed(made) if isinstance(made, Variation) and axes.kinds(study) else made
    return known[study]


def untimed(variation: Variation) -> Variation:
    """`variation` without the source's own tempo marks, which would stand over other tempi."""
    passage = variation.passage
    if not any(d.kind == "tempo" for d in passage.directions):
        return variation
    kept = tuple(d for d in passage.directions if d.kind != "tempo")
    return replace(variation, passage=replace(passage, directions=kept))


def elsewhere(line: Variation, study: Study) -> Study | None:
    """A declined study with the line on other strings, where it applies; None where the strings are not in its way."""
    answer = varied(line, study)
    if not isinstance(answer, Declined) or not answer.lies or study.strings != Study().strings:
        return None
    places = _HIGHER if answer.axis == "fret" else _OTHERS
    tried = (replace(study, strings=strings) for strings in places)
    return next((other for other in tried if isinstance(varied(line, other), Variation)), None)
