"""Finding the textures of a line: figures first, then what is left, and rests between them."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise
from operator import itemgetter

from engrave.model import AskedTexture, Fault, PlanError, Texture, Variation
from engrave.model.said import Said, say
from engrave.model.texture import BLOCK, BROKEN, LAYERS, LINE, REST, TEXTURES, TREMOLO
from engrave.textures import layers
from engrave.textures.row import Onset, row_of, silences
from engrave.textures.string_patterns import Cuts, broken_chords, tremolos

_FEW = 3
"""single notes beside a figure that belong to it rather than making a line of their own"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """Onsets of one texture, those of a figure together."""

    kind: str
    figures: tuple[tuple[Onset, ...], ...]
    asked: bool = False

    @property
    def onsets(self) -> tuple[Onset, ...]:
        return tuple(onset for figure in self.figures for onset in figure)


def textured(variation: Variation, asked: Sequence[AskedTexture] = ()) -> Variation:
    """`variation` with its textures found. Raises PlanError for bars or a texture there are not."""
    return replace(variation, textures=found(variation, asked))


def found(variation: Variation, asked: Sequence[AskedTexture] = ()) -> tuple[Texture, ...]:
    """The textures of a line with placements on its notes, in order; none where nothing sounds.

    What a plan asks for (`asked`), and what the variation's own textures say a plan asked for, stands.
    """
    row = row_of(variation)
    wanted = _said(variation) | _wanted(variation, asked)
    gaps = silences(variation, row)
    parts: list[_Part] = []
    for stretch in _between(row, gaps):
        for kind, onsets in _runs(stretch, [wanted.get(onset.sounds[0].note.id, "") for onset in stretch]):
            parts += _as_asked(kind, onsets, variation) if kind else _own(onsets)
    return _written(variation, parts, gaps)


def _said(variation: Variation) -> dict[str, str]:
    return {name: t.kind for t in variation.textures if t.asked for figure in t.figures for name in figure}


def _wanted(variation: Variation, asked: Sequence[AskedTexture]) -> dict[str, str]:
    """Note id → the texture a plan says it belongs to."""
    labels = [bar.label for bar in variation.passage.bars]
    said: dict[str, str] = {}
    for one in asked:
        first, _, last = one.bars.partition("-")
        ends = [first.strip(), (last or first).strip()]
        if one.kind not in TEXTURES:
            raise PlanError(Fault(fact=f"texture {one.kind!r} is not known", hint=f"known: {', '.join(TEXTURES)}"))
        if any(end not in labels for end in ends):
            fact = f"bars {one.bars!r} are not in the passage"
            raise PlanError(Fault(fact=fact, hint=f"it has bars {labels[0]} to {labels[-1]}"))
        inside = range(labels.index(ends[0]), labels.index(ends[1]) + 1)
        said |= {note.id: one.kind for event in variation.passage.events if event.bar in inside for note in event.notes}
    return said


def _between(row: Sequence[Onset], gaps: Sequence[tuple[Fraction, Fraction]]) -> list[tuple[Onset, ...]]:
    """The row cut at silences."""
    starts = [end for _, end in gaps]
    return [tuple(stretch) for _, stretch in groupby(row, key=lambda onset: bisect_right(starts, onset.at))]


def _runs(row: Sequence[Onset], kinds: Sequence[str]) -> list[tuple[str, tuple[Onset, ...]]]:
    """Neighbouring onsets of one kind together."""
    pairs = groupby(zip(kinds, row, strict=True), key=itemgetter(0))
    return [(kind, tuple(onset for _, onset in run)) for kind, run in pairs]


def _as_asked(kind: str, row: tuple[Onset, ...], variation: Variation) -> list[_Part]:
    """A stretch that a plan names; its figures are those that show, else a beat each."""
    if kind not in (TREMOLO, BROKEN):
        return [_Part(kind=kind, figures=(row,), asked=True)]
    runs = tremolos(row) if kind == TREMOLO else broken_chords(row, 1)
    cuts = sorted({0, len(row), *(cut for run in runs for cut in run)})
    if not runs:
        beats = [_beat(variation, onset) for onset in row]
        cuts = [0, *(n for n in range(1, len(row)) if beats[n] != beats[n - 1]), len(row)]
    return [_Part(kind=kind, figures=_figures(row, cuts), asked=True)]


def _beat(variation: Variation, onset: Onset) -> tuple[int, int]:
    bar = variation.passage.bars[onset.bar]
    return onset.bar, int((onset.at - bar.onset + bar.offset) // bar.metre.beat)


def _figures(row: Sequence[Onset], cuts: Sequence[int]) -> tuple[tuple[Onset, ...], ...]:
    return tuple(tuple(row[a:b]) for a, b in pairwise(cuts))


def _own(row: tuple[Onset, ...]) -> list[_Part]:
    """The parts of a stretch: tremolo, then broken chords in what is left, then the rest."""
    return _joined(_with_runs(TREMOLO, row, tremolos(row), _not_tremolo))


def _with_runs(
    kind: str, row: tuple[Onset, ...], runs: Sequence[Cuts], other: Callable[[tuple[Onset, ...]], list[_Part]]
) -> list[_Part]:
    """The runs as parts of one kind, and between them what `other` makes of what is left."""
    parts: list[_Part] = []
    at = 0
    for cuts in runs:
        parts += [*other(row[at : cuts[0]]), _Part(kind=kind, figures=_figures(row, cuts))]
        at = cuts[-1]
    return parts + other(row[at:])


def _not_tremolo(row: tuple[Onset, ...]) -> list[_Part]:
    fullest = max(Counter(onset.bar for onset in row).values(), default=0)
    return _with_runs(BROKEN, row, broken_chords(row, fullest), _left)


def _left(row: tuple[Onset, ...]) -> list[_Part]:
    return [_Part(kind=kind, figures=(onsets,)) for kind, onsets in _runs(row, layers.sorted_out(row))]


def _joined(parts: list[_Part]) -> list[_Part]:
    """A few single notes between or behind figures of one kind belong to them."""
    made: list[_Part] = []
    for part in parts:
        few = part.kind == LINE and len(part.onsets) <= _FEW and len(parts) > 1
        if few and made and made[-1].kind in (TREMOLO, BROKEN):
            made[-1] = replace(made[-1], figures=(*made[-1].figures, part.onsets))
        elif made and made[-1].kind == part.kind:
            made[-1] = replace(made[-1], figures=(*made[-1].figures, *part.figures))
        else:
            made.append(part)
    if len(made) > 1 and made[0].kind == LINE and len(made[0].onsets) <= _FEW and made[1].kind == BROKEN:
        made[:2] = [replace(made[1], figures=(*made[0].figures, *made[1].figures))]
    return made


def _written(
    variation: Variation, parts: Sequence[_Part], gaps: Sequence[tuple[Fraction, Fraction]]
) -> tuple[Texture, ...]:
    """The parts as values, with the silences between them."""
    if not variation.passage.bars:
        return ()
    spans = [
        Texture(kind=REST, start=start, end=end, why=say("nothing sounds for a beat or longer")) for start, end in gaps
    ]
    starts = sorted([*(part.onsets[0].at for part in parts), *(start for start, _ in gaps)])
    starts.append(variation.passage.bars[-1].end)
    for part in parts:
        start = part.onsets[0].at
        whole = part.kind not in (TREMOLO, BROKEN)
        figures = (part.onsets,) if whole else part.figures
        spans.append(
            Texture(
                kind=part.kind,
                start=start,
                end=next(at for at in starts if at > start),
                figures=tuple(tuple(name for onset in figure for name in onset.ids) for figure in figures),
                basses=_basses(part),
                why=say("the plan says so") if part.asked else _why(part),
                asked=part.asked,
            )
        )
    return tuple(sorted(spans, key=lambda span: span.start))


def _basses(part: _Part) -> frozenset[str]:
    if part.kind == LAYERS:
        return layers.basses(part.onsets)
    if part.kind in (TREMOLO, BROKEN):
        return frozenset(
            s.note.id
            for figure in part.figures
            for onset in figure
            for s in onset.sounds
            if s.placement.string == max(o.low.placement.string for o in figure) and len(figure) > 1
        )
    return frozenset()


def _why(part: _Part) -> Said:
    onsets = part.onsets
    strings = {string for onset in onsets for string in onset.places}
    if part.kind == TREMOLO:
        return say("after each bass one note is struck three times or more on one string")
    if part.kind == BROKEN:
        return say(
            "neighbouring notes lie on different strings, {strings} in all, and each keeps its fret",
            strings=len(strings),
        )
    if part.kind == LAYERS:
        return say("low notes under a melody: some together with it, some between its notes")
    if part.kind == BLOCK:
        return say("up to {notes} notes are struck together", notes=max(len(onset.places) for onset in onsets))
    return say("one note at a time, all on one string") if len(strings) == 1 else say("one note at a time")
