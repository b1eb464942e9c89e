"""How high blocks of text are, as the press itself sets them: what the layout reckons with is not guessed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from engrave.model import Plan
from engrave.pages.paper import paper_of
from engrave.pages.printing import Printer
from engrave.pages.templates import render


@dataclass(frozen=True, slots=True, kw_only=True)
class TextBlock:
    """Something that stands on a page, made from a template of ours."""

    template: str
    values: Mapping[str, Any]
    kind: str = ""
    """the class it has in the style sheet"""


def measured(blocks: Sequence[TextBlock], *, plan: Plan, printer: Printer) -> tuple[float, ...]:
    """The height in mm of each block on the pages of a plan."""
    inside = [f'<div class="{block.kind}">{render(block.template, block.values, plan)}</div>' for block in blocks]
    # what is said alike is as high
    once = list(dict.fromkeys(inside))
    html = render("heights.html", {"title": "", "blocks": once, "paper": paper_of(plan)}, plan)
    found = dict(zip(once, printer.heights(html, len(once)), strict=True))
    return tuple(found[block] for block in inside)
