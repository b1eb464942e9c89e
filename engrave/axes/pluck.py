"""The `pluck` axis: which finger plucks each note."""

from __future__ import annotations

from engrave.axes import plucking
from engrave.axes.cycles import AXIS, CYCLES, letters, named, setting
from engrave.axes.setting import Axis, Setting
from engrave.model import Declined, Variation


def as_given(variation: Variation) -> Variation | Declined:
    """The strokes there are, the source's letters, and the shortest path between them."""
    notes = {n.id: n for n in variation.passage.notes if not n.tied_back and not n.slurred_from}
    if all(n.stroke for n in notes.values()):
        return variation
    fixed = {name: n.stroke.finger if n.stroke else n.given.pluck for name, n in notes.items()}
    fingers = plucking.shortest(variation, {name: f for name, f in fixed.items() if f})
    return plucking.with_strokes(variation, fingers, variation.cycle)


def best(variation: Variation) -> Variation | Declined:
    """The shortest path, whatever the source's letters say."""
    return plucking.with_strokes(variation, plucking.shortest(variation, {}))


def parse(text: str) -> Setting | None:
    """A free cycle."""
    fingers = letters(text)
    return named(fingers) if fingers else None


SETTINGS: tuple[Setting, ...] = (
    setting("as given", "letters as given", "", "", change=as_given, kind="plain"),
    setting(
        "best",
        "the easiest letters",
        "The letters with no repeated finger, the fewest awkward string crossings and the thumb on the basses.",
        "Learn these letters by heart: the hand comes back to them when the line goes fast.",
        change=best,
        kind="plain",
        source="house default: shortest path over the plucking fingers",
    ),
    *CYCLES,
)

PLUCK = Axis(
    name=AXIS,
    title="Plucking hand",
    default="as given",
    settings=SETTINGS,
    parse=parse,
    grammar='fingers p i m a c joined by hyphens, such as "p-i-m-i"',
)
