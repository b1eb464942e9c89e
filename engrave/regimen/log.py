"""The door for practice logs: CSV in, what was done out; and what it does to tempi and to next week's choice.

A log has a heading row and one row a sitting: `study` (the heading of its page), `day` (2027-01-04), `tempo` (beats a
minute), `clean` (how many times through were clean), and, if you like, `times` (how many there were) and `note`.

Rules: a row that cannot be read is named with its line and left out of the reckoning; the others count. House defaults:
four clean times in five move a study up a step, none moves it down one; three days without a clean time make it work
for every day; clean at its last step, it comes once a week.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from engrave.axes.defaults import FASTEST, SLOWEST
from engrave.model import Fault, Notice, Place, PlanError
from engrave.model.errors import one_line
from engrave.regimen.practice import figure

_NEEDED = ("study", "day", "tempo", "clean")
_KNOWN = (*_NEEDED, "times", "note")
_MOST_ROWS = 20_000
_MOST_TIMES = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One sitting with one study."""

    line: int
    """of the log, from 1"""
    study: str
    """heading of the page"""
    day: date
    tempo: int
    """beats a minute"""
    clean: int
    """times through that were clean"""
    times: int | None = None
    """times through there were"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """What was done."""

    name: str = ""
    entries: tuple[Entry, ...] = ()
    notices: tuple[Notice, ...] = ()
    """rows that could not be read, and why"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a study stands after what was done."""

    tempo: tuple[int, ...]
    """the steps that are left, from the one to start with"""
    state: str = ""
    """settled (clean at its last step), stuck (three days without a clean time), or empty"""
    moved: str = ""
    """what happened to the tempo, in words; empty where nothing did"""


def read_log(text: str, name: str = "") -> Log:
    """The log that `text` (CSV, with commas or semicolons) writes; `name` is the file's name for messages.

    Raises PlanError where there is no heading row to read the columns by.
    """
    try:
        rows = _rows(text)
    except csv.Error as problem:
        raise PlanError(Fault(place=Place(file=name), fact=f"is not a table of commas: {problem}")) from None
    if not rows:
        raise _no_heading(name, "is empty")
    line, heading = rows[0]
    columns = [cell.strip().lower() for cell in heading]
    missing = [column for column in _NEEDED if column not in columns]
    if missing:
        raise _no_heading(name, f"has no column {' or '.join(missing)}", line)
    if len(rows) - 1 > _MOST_ROWS:
        raise PlanError(Fault(place=Place(file=name), fact=f"has {len(rows) - 1:,} rows, the most is {_MOST_ROWS:,}"))
    entries: list[Entry] = []
    notices = [
        Notice(text=f"column {one_line(column, 40)!r} is not known and is not read", place=Place(file=name, line=line))
        for column in columns
        if column not in _KNOWN
    ]
    for at, cells in rows[1:]:
        # cells that are missing at the end of a row are empty ones
        padded = [cell.strip() for cell in cells] + [""] * (len(columns) - len(cells))
        found = _entry(at, dict(zip(columns, padded, strict=False)), len(cells), len(columns))
        if isinstance(found, Entry):
            entries.append(found)
        else:
            notices.append(Notice(text=f"{found}; the row does not count", place=Place(file=name, line=at)))
    return Log(name=name, entries=tuple(entries), notices=tuple(notices))


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Rows that hold anything, each with the line it ends on."""
    first = text.lstrip("\ufeff").split("\n", 1)[0]
    mark = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text.lstrip("\ufeff")), delimiter=mark)
    return [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]


def _no_heading(name: str, fact: str, line: int | None = None) -> PlanError:
    return PlanError(
        Fault(place=Place(file=name, line=line), fact=fact, hint=f"the first row names the columns: {','.join(_KNOWN)}")
    )


def _entry(line: int, row: Mapping[str, str], cells: int, columns: int) -> Entry | str:
    """The entry a row holds, or what is wrong with it."""
    if cells > columns:
        return f"{cells} cells, but {columns} columns"
    if not row["study"]:
        return "no study is named"
    try:
        day = date.fromisoformat(row["day"])
    except ValueError:
        return f"day {one_line(row['day'], 40)!r} is no date like 2027-01-04"
    figures: dict[str, int | None] = {"times": None}
    for column, low, high in (("tempo", SLOWEST, FASTEST), ("clean", 0, _MOST_TIMES), ("times", 1, _MOST_TIMES)):
        text = row.get(column, "")
        if column == "times" and not text:
            continue
        if not (text.isascii() and text.isdigit() and len(text) < 6 and low <= int(text) <= high):
            return f"{column} {one_line(text, 40)!r} is no whole number from {low} to {high}"
        figures[column] = int(text)
    tempo, clean, times = figures["tempo"], figures["clean"], figures["times"]
    assert tempo is not None
    assert clean is not None
    if times is not None and clean > times:
        return f"clean {clean} is more than times {times}"
    return Entry(line=line, study=row["study"], day=day, tempo=tempo, clean=clean, times=times)


def same_heading(one: str, other: str) -> bool:
    """Whether two headings are the same but for case and spaces."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def standing(entries: Iterable[Entry], steps: Sequence[int], times: int) -> Standing:
    """Where a study with these tempo steps stands after `entries`, all of which are its own."""
    rows = sorted(entries, key=lambda entry: (entry.day, entry.line))
    if not rows:
        return Standing(tempo=tuple(steps))
    last = rows[-1]
    ladder = sorted(set(steps))
    below = [step for step in ladder if step <= last.tempo]
    now = below[-1] if below else ladder[0]
    at = ladder.index(now)
    enough = max(1, round(figure("log", "clean_share") * (last.times or times)))
    days = sorted({row.day for row in rows})[-int(figure("log", "stuck_days")) :]
    stuck = len(days) == figure("log", "stuck_days") and not any(row.clean for row in rows if row.day in days)
    if last.clean >= enough and last.tempo >= ladder[-1]:
        return Standing(tempo=(ladder[-1],), state="settled", moved=f"clean at {last.tempo}, its last step")
    if last.clean >= enough and at + 1 < len(ladder):
        after = Standing(tempo=tuple(ladder[at + 1 :]), moved=f"clean at {last.tempo}: on to {ladder[at + 1]}")
    elif last.clean == 0 and at:
        after = Standing(tempo=tuple(ladder[at - 1 :]), moved=f"not clean at {last.tempo}: back to {ladder[at - 1]}")
    else:
        after = Standing(tempo=tuple(ladder[at:]))
    return replace(after, state="stuck") if stuck else after
