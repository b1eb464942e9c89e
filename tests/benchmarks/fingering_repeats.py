"""How often a printed figure that comes back carries the same digits, as JSON: what no rule from pitches can pass.

    python tests/benchmarks/fingering_repeats.py FILE

A figure is a note with what is struck at the onsets around it (1, 3, 5, 7 or 9 onsets, the note's in the middle) at
the very same pitches. For each width: printed digits whose figure carries another printed digit elsewhere, the share of
them that agrees with the others of its own work, and with those of other works, each digit counted once; and what the
best single rule, one digit for each figure, would meet. The best rule has seen the digits it is counted on.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.fingering_fit import group_of
from tests.benchmarks.fingering_rows import Row, load

WIDTHS = (1, 3, 5, 7, 9)
"""onsets of a figure"""


class Printed(NamedTuple):
    """One printed digit."""

    digit: int
    work: str


def figures(row: Row, width: int) -> Iterator[tuple[object, Printed]]:
    """Each printed digit of a row that has enough onsets around it, with its figure."""
    at: dict[float, list[tuple[int, int]]] = {}
    for index, note in enumerate(row["notes"]):
        at.setdefault(note["onset"], []).append((note["midi"], index))
    groups = [sorted(at[onset]) for onset in sorted(at)]
    half = width // 2
    for number in range(half, len(groups) - half):
        around = tuple(tuple(midi for midi, _ in group) for group in groups[number - half : number + half + 1])
        for place, (_, index) in enumerate(groups[number]):
            digit = row["notes"][index]["finger"]
            if digit is not None:
                yield (tuple(row["tuning"]), around, place), Printed(digit, group_of(row))


def alike(printed: list[Printed], *, same_work: bool) -> list[float]:
    """For each digit that has others of its work (or of other works) the share of those that are the same."""
    found = []
    for index, one in enumerate(printed):
        others = [o for at, o in enumerate(printed) if at != index and (o.work == one.work) == same_work]
        if others:
            found.append(sum(o.digit == one.digit for o in others) / len(others))
    return found


def share(values: list[float]) -> dict[str, float]:
    """How many digits, and their mean agreement."""
    return {"digits": len(values), "agree": round(sum(values) / len(values), 3) if values else 0.0}


def report(rows: list[Row]) -> dict[str, dict[str, object]]:
    """The figures of each width."""
    found: dict[str, dict[str, object]] = {}
    for width in WIDTHS:
        by_figure: defaultdict[object, list[Printed]] = defaultdict(list)
        for row in rows:
            for key, printed in figures(row, width):
                by_figure[key].append(printed)
        back = [printed for printed in by_figure.values() if len(printed) > 1]
        count = sum(map(len, back))
        best = sum(max(Counter(one.digit for one in printed).values()) for printed in back)
        found[f"{width} onsets"] = {
            "digits": count,
            "best rule": round(best / count, 3) if count else 0.0,
            "same work": share([x for printed in back for x in alike(printed, same_work=True)]),
            "other works": share([x for printed in back for x in alike(printed, same_work=False)]),
        }
    return found


def main() -> None:
    """Prints the report."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("file", type=Path)
    print(json.dumps(report(load(parser.parse_args().file)), indent=1))


if __name__ == "__main__":
    main()
