"""Writes the catalogues anew: `python -m tests.languages.catalogue`.

`messages.pot` is every sentence of ours, found by Babel in the calls of `say` and `say_count` and in templates; each
language's file keeps what is translated, loses what is gone, and lists what is new with an empty translation.
"""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from engrave import resources
from engrave.languages import LOCALES
from engrave.model import LANGUAGES

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "shared" / "languages"
KEYWORDS: dict[str, tuple[int, ...] | None] = {
    "say": None,
    "say_count": (1, 2),
    "_": None,
    "gettext": None,
    "ngettext": (1, 2),
}
TEMPLATES = "jinja2.ext:babel_extract"
OPTIONS = {"trimmed": "true", "trim_blocks": "true", "lstrip_blocks": "true"}
COMMENT = "for the translator:"
"""begins a comment in the code that goes to the catalogues"""


def messages() -> Catalog:
    """Every sentence of ours, in the order of the files it stands in."""
    found = Catalog(project="passage-studies", charset="utf-8", header_comment="# Sentences of the pages.")
    for folder, methods, options in (
        # the command line has a `say` of its own, which prints
        ("engrave", [("cli/**", "ignore"), ("**.py", "python")], {}),
        ("templates", [("**.html", TEMPLATES), ("**.txt", TEMPLATES), ("**.css", TEMPLATES)], {"**": OPTIONS}),
    ):
        rows = extract_from_dir(
            ROOT / folder,
            method_map=methods,
            options_map=options,
            keywords=KEYWORDS,
            comment_tags=(COMMENT,),
            strip_comment_tags=True,
        )
        for name, line, message, comments, context in sorted(rows, key=lambda row: (row[0], row[1])):
            found.add(message, None, [(f"{folder}/{name}", line)], auto_comments=comments, context=context)
    for row in resources.table("shared/instruments.toml").values():
        found.add(row["label"], None, [("shared/instruments.toml", 0)], auto_comments=["what the passage is played on"])
    return found


def template_text(found: Catalog) -> str:
    """`messages.pot`: no dates and no line numbers, so that it changes only with the sentences."""
    return _text(found)


def catalogue(language: str) -> Catalog:
    """What is translated into a language so far."""
    path = FOLDER / f"{language}.po"
    data = path.read_bytes() if path.exists() else b""
    return read_po(BytesIO(data), locale=LOCALES[language])


def updated(language: str, found: Catalog) -> str:
    """A language's file with the sentences there are now."""
    made = catalogue(language)
    made.update(found, no_fuzzy_matching=True, update_header_comment=True)
    made.obsolete.clear()
    return _text(made)


def _text(made: Catalog) -> str:
    out = BytesIO()
    write_po(out, made, width=110, omit_header=False, include_lineno=False)
    kept = [
        line
        for line in out.getvalue().decode().splitlines()
        if not line.startswith(
            ('"POT-Creation-Date', '"PO-Revision-Date', '"Generated-By', '"Last-Translator', '"Report')
        )
    ]
    return "\n".join(kept).rstrip() + "\n"


def main() -> None:
    """Write the files."""
    found = messages()
    FOLDER.mkdir(exist_ok=True)
    (FOLDER / "messages.pot").write_text(template_text(found), encoding="utf-8")
    for language in LANGUAGES:
        if language != "en":
            (FOLDER / f"{language}.po").write_text(updated(language, found), encoding="utf-8")


if __name__ == "__main__":
    main()
