"""The built-in selection: which studies a book holds when nobody has asked for any.

Longer than a book of its depth needs, because some studies do not apply to some passages: whoever prints takes those
that apply, in this order. The shorter selections keep the studies whose loss would leave a kind of work without a page;
the complete one ends with every setting that stands in no row, so that a new setting needs no row to be in a book.
"""

from __future__ import annotations

from engrave.model import Study

DEPTHS = ("short", "standard", "complete")

S, N, C = DEPTHS
"""short, standard (N for normal), complete: the shallowest depth at which a row is printed"""

_PLUCKED: tuple[tuple[str, Study], ...] = (
    (S, Study()),
    (S, Study(pluck="i-m")),
    (N, Study(pluck="m-i")),
    (S, Study(pluck="m-a")),
    (N, Study(pluck="a-m")),
    (N, Study(pluck="i-a")),
    (C, Study(pluck="a-i")),
    (S, Study(pluck="i-m", stroke="rest")),
    (C, Study(pluck="i-m", stroke="free")),
    (N, Study(pluck="i-m", stroke="rest, then free")),
    (C, Study(pluck="i-m", stroke="free, then rest")),
    (N, Study(pluck="p-i")),
    (C, Study(pluck="i-p")),
    (N, Study(pluck="p-m")),
    (C, Study(pluck="m-p")),
    (C, Study(pluck="p-a")),
    (C, Study(pluck="a-p")),
    (S, Study(pluck="a-c")),
    (C, Study(pluck="c-a")),
    (N, Study(pluck="m-c")),
    (C, Study(pluck="c-m")),
    (C, Study(pluck="i-c")),
    (C, Study(pluck="c-i")),
    (C, Study(pluck="p-c")),
    (C, Study(pluck="c-p")),
    (S, Study(pluck="a-m-i", accent="fretted notes")),
    (N, Study(pluck="a-m-i", accent="every 2")),
    (N, Study(pluck="i-m-a", accent="first finger")),
    (C, Study(pluck="m-i-a", accent="every 4")),
    (C, Study(pluck="i-m", accent="against the metre")),
    (N, Study(pluck="p-a-m-i")),
    (C, Study(pluck="p-i-m-a")),
    (C, Study(pluck="p-m-a-i")),
    (C, Study(pluck="p-i-m")),
    (C, Study(pluck="c-a-m-i")),
    (C, Study(pluck="p-i-m-a-c")),
    (C, Study(pluck="worst i-m")),
    (N, Study(pluck="worst a-m-i")),
    (C, Study(pluck="a-m-i, turned at crossings")),
    (N, Study(pluck="i-m, p on basses")),
    (N, Study(pluck="2 times i-m")),
    (N, Study(pluck="chords 2 times")),
    (C, Study(pluck="3 times a-m-i")),
    (C, Study(pluck="4 times p-a-m-i")),
    (N, Study(pluck="tremolo p-a-m-i")),
    (S, Study(pluck="arpeggio p-i-m-a")),
    (N, Study(pluck="arpeggio p-i-m-a-m-i")),
    (N, Study(pluck="arpeggio p-i-m")),
)

_FRETTED: tuple[tuple[str, Study], ...] = (
    (S, Study(fret="box")),
    (N, Study(fret="box on its strings")),
    (N, Study(fret="second best")),
    (C, Study(fret="third best")),
    (C, Study(fret="one position")),
    (C, Study(fret="along one string")),
    (C, Study(fret="open strings")),
    (C, Study(fret="no open strings")),
    (C, Study(fret="1")),
    (C, Study(fret="2")),
    (C, Study(fret="3")),
    (N, Study(fret="4")),
    (C, Study(fret="1-2")),
    (C, Study(fret="1-3")),
    (N, Study(fret="1-4")),
    (C, Study(fret="2-3")),
    (N, Study(fret="2-4")),
    (S, Study(fret="3-4")),
    (C, Study(fret="1-2-3")),
    (N, Study(fret="2-3-4")),
    (C, Study(fret="4-2-1")),
    (C, Study(fret="without 1")),
)

_SLURRED: tuple[tuple[str, Study], ...] = (
    (S, Study(slurs="to open")),
    (N, Study(slurs="open before")),
    (S, Study(slurs="pull-offs")),
    (N, Study(slurs="hammer-ons")),
    (C, Study(slurs="twos")),
    (C, Study(slurs="threes")),
    (C, Study(slurs="up and down")),
    (N, Study(slurs="left hand alone")),
    (C, Study(slurs="by 1")),
    (C, Study(slurs="by 2")),
    (C, Study(slurs="by 3")),
    (N, Study(slurs="by 4")),
    (C, Study(slurs="2-1")),
    (C, Study(slurs="1-3")),
    (C, Study(slurs="4-2")),
)

_PLACED: tuple[tuple[str, Study], ...] = (
    (C, Study(strings="shape on 1")),
    (S, Study(strings="shape on 2")),
    (C, Study(strings="shape on 3")),
    (S, Study(strings="shape on 4")),
    (N, Study(strings="shape on 5")),
    (C, Study(strings="shape on 6")),
    (N, Study(strings="intervals on 2")),
    (N, Study(strings="intervals on 3")),
    (C, Study(strings="intervals on 4")),
    (S, Study(strings="climb")),
    (C, Study(strings="climb by 2 bars")),
    (N, Study(strings="up 2")),
    (C, Study(strings="up 5")),
    (C, Study(strings="down 1")),
    (C, Study(strings="highest")),
    (C, Study(strings="octave up")),
    (C, Study(strings="octave down")),
)

_TIMED: tuple[tuple[str, Study], ...] = (
    (S, Study(rhythm="dotted")),
    (N, Study(rhythm="dotted, short first")),
    (C, Study(rhythm="long 1 of 4")),
    (C, Study(rhythm="long 3 of 4")),
    (C, Study(rhythm="long 1 of 3")),
    (S, Study(rhythm="bursts of 4")),
    (C, Study(rhythm="bursts of 2")),
    (C, Study(rhythm="bursts of 4 from 3")),
    (N, Study(rhythm="in threes")),
    (C, Study(rhythm="in fours")),
    (C, Study(rhythm="in twos")),
    (C, Study(rhythm="off the beat")),
    (N, Study(rhythm="one note later")),
    (C, Study(rhythm="stopped")),
    (N, Study(rhythm="planting")),
)

_MIXED: tuple[tuple[str, Study], ...] = (
    (S, Study(slurs="to open", pluck="a-m-i")),
    (N, Study(slurs="to open", fret="2-4", pluck="m-a")),
    (N, Study(rhythm="dotted", pluck="m-a")),
    (N, Study(rhythm="bursts of 4", pluck="i-m", stroke="rest")),
    (N, Study(strings="shape on 4", pluck="m-a")),
    (N, Study(strings="open 2", pluck="i-m")),
    (C, Study(strings="open 5", pluck="i-m")),
    (C, Study(strings="shape on 2", pluck="tremolo p-a-m-i")),
    (C, Study(strings="climb", pluck="a-m-i")),
    (C, Study(fret="3-4", pluck="a-c")),
    (C, Study(fret="4", pluck="a-c", accent="fretted notes")),
    (C, Study(rhythm="in threes", pluck="i-m", accent="beats")),
    (C, Study(rhythm="planting", pluck="p-a-m-i")),
    (C, Study(strings="intervals on 3", slurs="pull-offs", pluck="i-m")),
    (C, Study(fret="no open strings", slurs="hammer-ons", pluck="a-m-i")),
    (C, Study(strings="up 5", pluck="a-m-i", accent="fretted notes")),
    (C, Study(pluck="i-m", accent="crescendo")),
)

_BROKEN: tuple[tuple[str, Study], ...] = (
    (S, Study(pluck="block")),
    (N, Study(pluck="block first")),
    (N, Study(pluck="planted")),
    (S, Study(pluck="order p-a-m-i")),
    (S, Study(pluck="order p-m-i-a")),
    (N, Study(pluck="order p-i-a-m")),
    (N, Study(pluck="order p-m-a-i")),
    (C, Study(pluck="order p-a-i-m")),
    (C, Study(pluck="order p-i-m-a")),
    (N, Study(pluck="order i-m-a-p")),
    (C, Study(pluck="order a-m-i-p")),
    (C, Study(pluck="order i-p-m-a")),
    (S, Study(pluck="order p-m-i-m")),
    (N, Study(pluck="order p-i-m-i")),
    (S, Study(pluck="order p-a-m-i-m-a")),
    (S, Study(pluck="order p-m-i-m-a-m")),
    (N, Study(pluck="order p-m-i-a-m-i")),
    (N, Study(pluck="order p-i-m-a-m-i")),
    (C, Study(pluck="order p-i-m-a-i-m")),
    (S, Study(pluck="order p-m-i")),
    (N, Study(pluck="order p-i-m")),
    (S, Study(pluck="order a-m-i-m")),
    (N, Study(pluck="order i-m-a-m")),
    (S, Study(pluck="order a-m-i")),
    (N, Study(pluck="order i-m-a")),
    (S, Study(accent="finger a")),
    (N, Study(accent="finger m")),
    (N, Study(accent="finger i")),
    (C, Study(accent="finger p")),
    (N, Study(accent="top notes")),
    (N, Study(stroke="rest on bass")),
    (C, Study(accent="bass")),
    (C, Study(pluck="order p-a-m-i", accent="finger a")),
)

_TREMOLO: tuple[tuple[str, Study], ...] = (
    (S, Study(pluck="tremolo p-i-m-i")),
    (S, Study(pluck="tremolo p-i-m-a")),
    (N, Study(pluck="tremolo p-m-i")),
    (N, Study(pluck="tremolo p-m-i-m")),
    (C, Study(pluck="tremolo p-m-a-i")),
)

_CHORDS: tuple[tuple[str, Study], ...] = (
    (S, Study(pluck="arpeggio p-i+m+a")),
    (S, Study(pluck="arpeggio p-i+m")),
    (C, Study(pluck="arpeggio p-i-a-m")),
    (C, Study(pluck="arpeggio p-m-i-a")),
)

_LAYERS: tuple[tuple[str, Study], ...] = (
    (S, Study(pluck="melody alone")),
    (S, Study(stroke="rest on top")),
    (N, Study(pluck="bass alone")),
    (N, Study(accent="melody")),
    (N, Study(accent="bass", stroke="rest on bass")),
)

ROWS = (*_PLUCKED, *_BROKEN, *_TREMOLO, *_CHORDS, *_LAYERS, *_FRETTED, *_SLURRED, *_PLACED, *_TIMED, *_MIXED)


def selection(depth: str = "standard") -> tuple[Study, ...]:
    """Studies in the order of the catalogue. `depth` is one of DEPTHS. Raises ValueError for another."""
    if depth not in DEPTHS:
        raise ValueError(f"depth {depth!r} is not one of {', '.join(DEPTHS)}")
    named = tuple(study for least, study in ROWS if DEPTHS.index(least) <= DEPTHS.index(depth))
    return (*named, *_others()) if depth == C else named


def _others() -> tuple[Study, ...]:
    """A study for each setting that no row names."""
    from engrave.axes import ORDER, settings  # noqa: PLC0415 (the axes import nothing of the choice, nor it of them)

    rows = {(setting.axis, setting.name) for _, study in ROWS for setting in settings(study)}
    every = (setting for axis in ORDER for setting in axis.settings)
    left = (setting for setting in every if (setting.axis, setting.name) not in rows)
    return tuple(Study(**{setting.axis: setting.name}) for setting in left)  # type: ignore[arg-type]
