"""The `fret` axis: which fingers stop the notes, and where. The schemes are those of engrave.fretting."""

from __future__ import annotations

from engrave.axes.mending import mended, unison, unplaced
from engrave.axes.setting import Axis, Change, Setting, decline, unchanged
from engrave.fretting import GRAMMAR, SCHEMES, Scheme, find_scheme, refret
from engrave.model import Declined, Variation

AXIS = "fret"
BENT = ", bent"
"""suffix of a scheme that may break its rule where it cannot hold, with a notice for each note"""


def _under(scheme: str, *, bend: bool) -> Change:
    def change(variation: Variation) -> Variation | Declined:
        if not any(note.placement for note in variation.passage.notes):
            return decline("the line has no notes to finger")
        # a line that was moved on purpose stays where it was put
        moved = variation.study.strings != "as written"
        made = refret(variation, scheme, bend=bend, keep_places=moved)
        return made if isinstance(made, Declined) else unison(made) or mended(unplaced(made))

    return change


def _setting(scheme: Scheme, *, bend: bool = False) -> Setting:
    return Setting(
        axis=AXIS,
        name=scheme.name + (BENT if bend else ""),
        label=scheme.label + (" where it can be" if bend else ""),
        purpose=scheme.purpose,
        cue=scheme.cue,
        source=scheme.source,
        kind=scheme.kind,
        apply=unchanged if scheme.name == "as given" else _under(scheme.name, bend=bend),
    )


def parse(text: str) -> Setting | None:
    """Fingers in turn, or a scheme that may bend."""
    bend = text.endswith(BENT)
    scheme = find_scheme(text.removesuffix(BENT))
    return _setting(scheme, bend=bend and bool(scheme.rule)) if scheme else None


FRET = Axis(
    name=AXIS,
    title="Fretting hand",
    default="as given",
    settings=tuple(_setting(scheme) for scheme in SCHEMES),
    parse=parse,
    grammar=f'{GRAMMAR}; "{BENT.lstrip(", ")}" after a comma where the rule may give way, such as "1-3{BENT}"',
)
