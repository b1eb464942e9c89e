"""Which variations train what, told briefly: what begins alike stands in one row."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model.said import say, strung
from engrave.pages.content import BookContent
from engrave.pages.words import places_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Trained:
    """One thing the hands do, and where it is trained."""

    label: str
    """e.g. "m after i" """
    places: str
    """by its particulars, e.g. "treble strings: 1, 3; bass strings: 4" """


def coverage(content: BookContent) -> tuple[tuple[str, tuple[Trained, ...]], ...]:
    """Heading and rows; only variations that are printed are named."""
    number = {id(sheet.step): sheet.number for sheet in content.sheets}
    steps = content.regimen.steps
    groups: dict[str, dict[str, list[str]]] = {}
    for row in content.regimen.coverage:
        found = (number.get(id(steps[index])) for index in row.steps)
        places = places_text(tuple(n for n in found if n is not None), len(content.sheets))
        said: str = say("{places} ({why})", places=places, why=row.why) if row.why else places
        if row.where:
            said = strung([row.where, said], ": ")
        groups.setdefault(row.group, {}).setdefault(row.label, []).append(said)
    return tuple(
        (group, tuple(Trained(label=label, places=strung(places, "; ")) for label, places in rows.items()))
        for group, rows in groups.items()
    )
