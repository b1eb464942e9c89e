"""Which variations train what, told briefly: what the hands do stands in one row, whatever its particulars."""

from __future__ import annotations

from engrave.model.said import say
from engrave.pages.content import BookContent
from engrave.pages.words import places_text


def coverage(content: BookContent) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Headings, each with rows of what is trained and where: "m after i", "1, 3 and 5–8" or a dash.

    Only variations that are printed are named, and not the line itself, which all come out of.
    """
    number = {id(sheet.step): sheet.number for sheet in content.sheets if sheet.step.study.asked}
    steps = content.regimen.steps
    groups: dict[str, dict[str, set[int]]] = {}
    short: dict[tuple[str, str], str] = {}
    for row in content.regimen.coverage:
        found = {number[id(steps[index])] for index in row.steps if id(steps[index]) in number}
        if row.steps and not found:
            continue
        rows = groups.setdefault(row.group, {})
        # where the thing itself is no news, what is new is said with it
        other = {number[id(steps[index])] for index in row.particular if id(steps[index]) in number}
        if found - other or not found:
            rows.setdefault(row.label, set()).update(found - other)
        if other:
            rows.setdefault(say("{what} ({where})", what=row.label, where=row.where), set()).update(other)
        if row.why:
            short.setdefault((row.group, row.label), row.why)
    return tuple(
        (group, tuple(_row(label, found, short.get((group, label), ""), content) for label, found in rows.items()))
        for group, rows in groups.items()
    )


def _row(label: str, found: set[int], why: str, content: BookContent) -> tuple[str, str]:
    places = places_text(tuple(sorted(found)), len(content.sheets))
    # what no page trains says why
    return label, say("{places} ({why})", places=places, why=why) if why and not found else places
