"""Where each key of a TOML text stands, so that a fault can name its line. The text must already parse as TOML."""

from __future__ import annotations

import re
from collections.abc import Mapping

Path = tuple[str | int, ...]
"""keys from the top; the tables of an array of tables are counted from 0, e.g. ("study", 2, "pluck")"""
_TOKEN = re.compile(
    # texts of several lines, whose closing quotes may follow on one or two more
    r'"""(?:[^\\]|\\.)*?"""+'
    r"|'''.*?'''+"
    r'|"(?:[^"\\]|\\.)*"'
    r"|'[^']*'"
    r"|#[^\n]*"
    r"|[\w-]+"
    r"|\n"
    r"|\S",
    re.DOTALL,
)


def key_lines(text: str) -> Mapping[Path, int]:
    """Line (from 1) of every table header and every key outside an inline table.

    Conventions: `text` is valid TOML (tomllib has read it); keys inside an inline table are not listed, since they
    share the line of the key that holds the table.
    """
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    keys: list[str] = []
    line, header, depth, value = 1, 0, 0, False
    for match in _TOKEN.finditer(text + "\n"):
        mark = match[0]
        if mark == "\n" and not depth:
            if header:
                table = _within(keys, counts, many=header > 1)
                found.setdefault(table, line)
            keys, header, value = [], 0, False
        elif value:
            depth += (mark in ("[", "{")) - (mark in ("]", "}"))
        elif mark == "[":
            header += 1
        elif mark == "=":
            found.setdefault((*table, *keys), line)
            value = True
        elif mark[0] not in "].#":
            keys.append(mark[1:-1] if mark[0] in "\"'" else mark)
        line += mark.count("\n")
    return found


def _within(keys: list[str], counts: dict[Path, int], *, many: bool) -> Path:
    """The path of a header: an array of tables met on the way means its last table, of those in `counts`."""
    path: Path = ()
    for at, key in enumerate(keys, start=1):
        path = (*path, key)
        if many and at == len(keys):
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path
