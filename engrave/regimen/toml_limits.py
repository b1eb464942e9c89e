"""What a plan file may ask of the TOML reader, looked at before it is parsed; and what to write where it is no TOML."""

from __future__ import annotations

import re

MOST_PARTS = 8
"""dotted parts of a name; a plan needs two"""
_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_DEEP = re.compile(rf"(?<![\w-]){_PART}(?:\s*+\.\s*+{_PART}){{{MOST_PARTS}}}")
_BARE = re.compile(r"\s*([\w-]+)\s*=\s*([A-Za-z][^\"'\[{#]*?)\s*(?:#.*)?\Z")
_CURLY = str.maketrans("“”„«»‘’", '"""""\'\'')


def too_deep(text: str) -> int | None:
    """The line of the first name of more than MOST_PARTS dotted parts, each of which would be a table in a table."""
    found = _DEEP.search(text)
    return text.count("\n", 0, found.start()) + 1 if found else None


def said(problem: str, text: str, line: int | None) -> tuple[str, str]:
    """What is wrong with a text that is no TOML, and what to write; `problem` is what the reader of TOML says."""
    lines = text.splitlines()
    wrong = lines[line - 1] if line and line <= len(lines) else ""
    if wrong.translate(_CURLY) != wrong:
        return "has curly quotes, which TOML does not know", f"write  {wrong.translate(_CURLY).strip()[:80]}"
    if "overwrite a value" in problem:
        return "gives a key that stands under its heading already", "leave one of the two out"
    if "twice" in problem:
        return "gives a heading that stands in the file already", "put its keys under the first, or leave one out"
    bare = _BARE.match(wrong)
    if bare and bare[2] not in ("true", "false", "inf", "nan"):
        return f"has a text without quotes: {bare[2][:60]}", f'write  {bare[1][:40]} = "{bare[2][:60]}"'
    # Python refuses to read numbers of thousands of digits, in words meant for programmers
    why = "a number has too many digits" if "integer string conversion" in problem else problem
    hint = "a plan has lines such as  tempo = 60  under headings such as  [player]"
    return f"is not TOML: {why[:1].lower()}{why[1:]}", hint
