"""User text made ready for the page, and what had to be dropped from it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from engrave.model import Fault, Notice, PressError
from engrave.model.wording import sentence
from engrave.pages.fonts import clean
from engrave.pages.signs import missing


@dataclass(slots=True, kw_only=True)
class Typesetter:
    """Cleans texts; what no font of the book has is dropped and noted, or refused where it is the book's title."""

    notes: list[str] = field(default_factory=list)

    def title(self, text: str) -> str:
        """The book's title. Raises PressError naming the characters no font has."""
        ready = _curled(clean(text))
        if lacking := missing(ready):
            raise PressError(
                Fault(
                    fact=f"title {ready!r}: no font of the book has {code_points(lacking)}",
                    hint="give the book a title in Latin, Greek or Cyrillic letters",
                )
            )
        return ready

    def text(self, text: str, what: str) -> str:
        """Any other text; `what` names it in the note."""
        ready = _curled(clean(text))
        if lacking := missing(ready):
            note = f"{what}: no font of the book has {code_points(lacking)}; left out here"
            if note not in self.notes:
                self.notes.append(note)
            ready = " ".join("".join(c for c in ready if c not in lacking).split())
        return ready

    def notices(self, notices: Iterable[Notice], what: str = "a notice") -> tuple[str, ...]:
        """What was left out or changed, each ready to begin a line."""
        return tuple(self.text(sentence(str(notice)), what) for notice in notices)


def _curled(text: str) -> str:
    """With the apostrophe that is printed in place of the one that is typed: between letters, and after the last one.

    Where a text quotes with the same sign, one after the last letter may close a quotation, and is left.
    """
    quotes = re.search(r"(?<!\w)'(?=\w)", text)
    return re.sub(r"(?<=[^\W\d_])'" + (r"(?=\w)" if quotes else ""), "’", text)


def code_points(characters: str) -> str:
    """Characters by their Unicode numbers, since they cannot be shown: U+5C71 U+7530, at most eight of them."""
    shown = " ".join(f"U+{ord(c):04X}" for c in characters[:8])
    return shown if len(characters) <= 8 else f"{shown} and {len(characters) - 8} more"
