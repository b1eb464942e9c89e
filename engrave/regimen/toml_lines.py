"""Where each key of a TOML text stands, so that a fault can name its line. The text must already parse as TOML."""

from __future__ import annotations

from collections.abc import Mapping

Path = tuple[str | int, ...]
"""keys from the top; the tables of an array of tables are counted from 0, e.g. ("study", 2, "pluck")"""


def key_lines(text: str) -> Mapping[Path, int]:
    """Line (from 1) of every table header and every key outside an inline table.

    Conventions: `text` is valid TOML (tomllib has read it); keys inside an inline table are not listed, since they
    share the line of the key that holds the table.
    """
    return _Scan(text).run()


class _Scan:
    """One pass over the text; `at` is the index of the next character."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.found: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}
        self.table: Path = ()
        self.counted = 0
        self.line = 1

    def run(self) -> Mapping[Path, int]:
        while self._skip(" \t\r\n") and self.at < len(self.text):
            here = self._line()
            if self._peek() == "#":
                self._comment()
            elif self._peek() == "[":
                self._header(here)
            else:
                path = self.table + self._key("=")
                self.at += 1
                self.found.setdefault(path, here)
                self._value()
        return self.found

    def _line(self) -> int:
        # counted from the last place asked for, so that a long text is walked once
        self.line += self.text.count("\n", self.counted, self.at)
        self.counted = self.at
        return self.line

    def _peek(self) -> str:
        return self.text[self.at : self.at + 1]

    def _skip(self, characters: str) -> bool:
        while self.at < len(self.text) and self.text[self.at] in characters:
            self.at += 1
        return True

    def _comment(self) -> None:
        end = self.text.find("\n", self.at)
        self.at = len(self.text) if end < 0 else end

    def _header(self, here: int) -> None:
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        path = self._within(self._key("]"), many=many)
        self.at += 2 if many else 1
        self.table = path
        self.found.setdefault(path, here)

    def _within(self, keys: Path, *, many: bool) -> Path:
        """The path of a header: an array of tables met on the way means its last table."""
        path: Path = ()
        for index, key in enumerate(keys):
            path = (*path, key)
            last = index == len(keys) - 1
            if last and many:
                self.counts[path] = self.counts.get(path, 0) + 1
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def _key(self, stop: str) -> Path:
        parts: list[str] = []
        while self._skip(" \t.") and self._peek() not in (stop, ""):
            if self._peek() in "\"'":
                start = self.at
                self._string()
                parts.append(self.text[start + 1 : self.at - 1])
            else:
                start = self.at
                while self._peek() not in (stop, "", ".", " ", "\t"):
                    self.at += 1
                parts.append(self.text[start : self.at])
        return tuple(parts)

    def _value(self) -> None:
        """Skip one value: up to the end of its line, or of the brackets it opened."""
        depth = 0
        while self.at < len(self.text):
            character = self._peek()
            if character in "\"'":
                self._string()
                continue
            if character == "#":
                self._comment()
                continue
            if character == "\n" and depth == 0:
                return
            depth += (character in "[{") - (character in "]}")
            self.at += 1

    def _string(self) -> None:
        quote = self._peek()
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self.at += len(mark)
        while self.at < len(self.text) and not self.text.startswith(mark, self.at):
            self.at += 2 if self._peek() == "\\" and quote == '"' else 1
        self.at += len(mark)
        while len(mark) == 3 and self._peek() == quote:  # up to two quotes may stand before the closing three
            self.at += 1
