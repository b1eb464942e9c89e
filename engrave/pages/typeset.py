"""User text made ready for the page, and what could not be printed of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from engrave.languages import letters_plain, told
from engrave.model import Notice
from engrave.model.said import say
from engrave.model.wording import sentence
from engrave.pages.sign_font import missing
from engrave.typefaces import STAND_IN, clean

A_NOTICE = say("a notice")


@dataclass(slots=True, kw_only=True)
class Typesetter:
    """Says texts in the language of the pages, cleaned; for what no font has a stand-in is printed, and noted."""

    language: str
    notes: list[str] = field(default_factory=list)

    def text(self, text: str, what: str) -> str:
        """A text as it is printed; `what` names it in the note."""
        ready = _curled(clean(told(text, self.language)))
        if lacking := missing(letters_plain(ready)):
            what = "".join(STAND_IN if c in lacking else c for c in letters_plain(told(what, self.language)))
            note = say(
                "{what}: no font here has {letters}; {sign} stands for it",
                what=what,
                letters=code_points(lacking),
                sign=STAND_IN,
            )
            if note not in self.notes:
                self.notes.append(note)
            ready = "".join(STAND_IN if c in lacking else c for c in ready)
        return ready

    def notices(self, notices: Iterable[Notice], what: str = A_NOTICE) -> tuple[str, ...]:
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
    if len(characters) <= 8:
        return shown
    return say("{letters} and {n} more", letters=shown, n=len(characters) - 8)
