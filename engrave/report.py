"""What the commands that print words print: plain text for people, plain values for `--json`. Pure."""

from __future__ import annotations

import textwrap
from typing import Any

from engrave.axes import ORDER, vary
from engrave.axes.setting import Axis, Setting
from engrave.model import Declined, Study, Variation

WIDTH = 100
"""columns of the plain text"""


def catalogue(line: Variation | None) -> list[dict[str, Any]]:
    """Every axis with its settings: what each trains, its cue and source; with a line, whether it applies or why not."""
    return [
        {
            "axis": axis.name,
            "title": axis.title,
            "default": axis.default,
            "patterns": axis.grammar,
            "settings": [_setting(axis, setting, line) for setting in axis.settings],
        }
        for axis in ORDER
    ]


def _setting(axis: Axis, setting: Setting, line: Variation | None) -> dict[str, Any]:
    row: dict[str, Any] = {
        "name": setting.name,
        "label": setting.label,
        "trains": setting.purpose,
        "cue": setting.cue,
        "source": setting.source,
    }
    if line is not None:
        asked: dict[str, Any] = {axis.name: setting.name}
        made = vary(line, Study(**asked))
        row["applies"] = not isinstance(made, Declined)
        if isinstance(made, Declined):
            row["why"] = made.reason
            if made.place:
                row["place"] = made.place
    return row


def catalogue_text(rows: list[dict[str, Any]]) -> str:
    """`catalogue` as text: an axis a block, a setting a paragraph; "-" before what does not apply, with the reason."""
    blocks = []
    for axis in rows:
        lines = [f"{axis['axis']}: {axis['title']} (left alone: {axis['default']})"]
        if axis["patterns"]:
            lines.append(f"  patterns: {axis['patterns']}")
        for row in axis["settings"]:
            said = row["trains"]
            if row.get("applies") is False:
                where = f"{row['place']}: " if row.get("place") else ""
                said = f"does not apply: {where}{row['why']}"
            sign = "-" if row.get("applies") is False else " "
            head = f"{sign} {row['name']}"
            lines += textwrap.wrap(said, WIDTH, initial_indent=f"{head:<26} ", subsequent_indent=" " * 27)
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks)
