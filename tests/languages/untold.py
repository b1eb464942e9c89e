"""Lists what pages say that no catalogue could change: `python -m tests.languages.untold [PASSAGE [PLAN]]`.

A book, a handout and a week are described in a language whose every sentence stands in brackets; what stands outside
them was cut, joined or formatted as plain text on its way.
"""

from __future__ import annotations

import html
import re
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from gettext import NullTranslations
from pathlib import Path
from unittest.mock import patch

from engrave import languages
from engrave.editions import make_class, make_week
from engrave.line import built_in, make, press
from engrave.model import Plan
from engrave.pages import printing, templates
from engrave.reading import read
from engrave.regimen import read_plan

OPEN, CLOSE = "⟦", "⟧"
_WORD = re.compile(r"[^\W\d_]{2,}")


class Bracketed(NullTranslations):
    """A language in which each sentence is itself, in brackets."""

    def gettext(self, message: str) -> str:
        """The sentence in brackets."""
        return f"{OPEN}{message}{CLOSE}"

    def ngettext(self, one: str, many: str, number: int) -> str:
        """The sentence for the number, in brackets."""
        return f"{OPEN}{one if number == 1 else many}{CLOSE}"


@contextmanager
def bracketed() -> Iterator[list[str]]:
    """While it runs, German is the bracketed language; page descriptions are gathered in place of being printed."""
    seen: list[str] = []

    def keep(_: printing.Printer, page: str, *_args: object, **_extra: object) -> bytes:
        seen.append(page)
        return b""

    templates._environment.cache_clear()
    with (
        patch.object(languages, "translations", lambda _: Bracketed()),
        patch.object(templates, "translations", lambda _: Bracketed()),
        patch.object(printing.Printer, "pdf", keep),
    ):
        yield seen
    templates._environment.cache_clear()


def outside(page: str) -> list[str]:
    """Texts of a page description, and of its pictures' descriptions, that stand outside all brackets."""
    body = page.partition("<body>")[2]
    alts = [html.unescape(text) for text in re.findall(r'alt="([^"]*)"', body)]
    texts = [
        html.unescape(re.sub(r"<[^>]*>", "", part))
        for part in re.split(r"</?(?:p|h\d|td|th|tr|li|img|div|section)\b[^>]*>", body)
    ]
    return [left for text in (*texts, *alts) if _WORD.search(left := _left(text))]


def _left(text: str) -> str:
    """What of a text stands outside brackets."""
    depth, found = 0, []
    for sign in text:
        depth += (sign == OPEN) - (sign == CLOSE)
        if not depth and sign != CLOSE:
            found.append(sign)
    return " ".join("".join(found).split())


def described(names: Sequence[str] = (), bars: str = "") -> list[str]:
    """Page descriptions of a book, a week, a handout and a class, of a passage and by a plan given by their files."""
    data, name = (Path(names[0]).read_bytes(), names[0]) if names else built_in()
    plan = read_plan(Path(names[1]).read_text(encoding="utf-8"), names[1]) if names[1:] else Plan()
    plan = replace(plan, marks=replace(plan.marks, language="de"))
    passage = read(data, name, bars=bars)
    short = replace(plan, depth="short")
    with bracketed() as seen:
        press(make(passage, plan))
        press(make_week(passage, plan, start=date(2027, 1, 4), weeks=2))
        make_class(passage, [("Ada", short), ("Ben", short)], form="handout")
    return seen


def main(names: list[str]) -> None:
    """Print what is left, once each."""
    left = (text for page in described(names) for text in outside(page))
    # music is told much alike everywhere
    for text in {re.sub(r"[\d♯♭]+", "", text)[:40]: text for text in left}.values():
        sys.stdout.write(f"{text[:200]}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
