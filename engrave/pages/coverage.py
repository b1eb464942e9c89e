"""Which variations train what, told briefly: what begins alike stands in one row."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.pages.content import BookContent
from engrave.pages.words import places_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Trained:
    """One thing the hands do, and where it is trained."""

    label: str
    """e.g. "m after i" """
    places: str
    """by what follows the label's first comma, e.g. "treble strings: 1, 3; bass strings: 4" """


def coverage(content: BookContent) -> tuple[tuple[str, tuple[Trained, ...]], ...]:
    """Heading and rows; only variations that are printed are named."""
    number = {id(sheet.step): sheet.number for sheet in content.sheets}
    steps = content.regimen.steps
    groups: dict[str, dict[str, list[str]]] = {}
    for row in content.regimen.coverage:
        found = (number.get(id(steps[index])) for index in row.steps)
        places = places_text(tuple(n for n in found if n is not None), len(content.sheets))
        label, _, rest = row.label.partition(", ")
        why = f" ({row.why})" if row.why else ""
        groups.setdefault(row.group, {}).setdefault(label, []).append(
            f"{rest}: {places}{why}" if rest else f"{places}{why}"
        )
    return tuple(
        (group, tuple(Trained(label=label, places="; ".join(places)) for label, places in rows.items()))
        for group, rows in groups.items()
    )
