"""A running account of what is left out or changed, told as one notice a kind with its count and bars."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from engrave.model import Notice
from engrave.model.said import Said, say, say_count

_MOST = 12
"""groups of bars that are listed"""


def bar_list(labels: Iterable[str]) -> Said:
    """Bar numbers as a reader lists them: "bar 3", "bars 1, 4-6"; more than so many groups end in "…"."""
    seen = list(dict.fromkeys(labels))
    groups: list[list[str]] = []
    for label in seen:
        before = groups[-1][-1] if groups else ""
        if before.isdecimal() and label.isdecimal() and int(label) == int(before) + 1:
            groups[-1].append(label)
        else:
            groups.append([label])
    said = [group[0] if len(group) == 1 else f"{group[0]}-{group[-1]}" for group in groups]
    text = ", ".join(said[:_MOST]) + (", …" if len(said) > _MOST else "")
    return say("bar {bars}", bars=text) if len(seen) == 1 else say("bars {bars}", bars=text)


class Tally:
    """Counts by kind, in the order the kinds first occur. A bar may be empty where none is to be named."""

    def __init__(self) -> None:
        self._seen: dict[Said, list[str]] = {}

    def add(self, kind: Said, bar: str) -> None:
        """One more of `kind`, in the bar printed as `bar`."""
        self._seen.setdefault(kind, []).append(bar)

    def notices(self) -> tuple[Notice, ...]:
        """One notice a kind. A kind is a sentence head such as "left out: lyrics"; count and bars are put behind it."""
        return tuple(Notice(text=_with_bars(kind, bars)) for kind, bars in self._seen.items())


def _with_bars(what: Said, bars: Sequence[str]) -> Said:
    """What happened, with count and bars in brackets; without them where no bar is known."""
    told = [bar for bar in bars if bar]
    if not told:
        return what
    if len(bars) == 1:
        return say("{what} ({bars})", what=what, bars=bar_list(told))
    return say_count(
        "{what} ({n} time, {bars})", "{what} ({n} times, {bars})", len(bars), what=what, bars=bar_list(told)
    )
