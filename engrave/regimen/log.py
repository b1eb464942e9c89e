"""The door for practice logs: CSV in, what was done out; and what it does to tempi and to next week's choice.

A log has a heading row and one row a sitting: `study` (the heading of its page, its number or its setting), `day`
(2027-01-04, or 4.1.2027), `tempo` (beats a minute), `clean` (how many times through were clean), and, if you like,
`times` (how many there were) and `note`.

Rules: a row that cannot be read is named with its line and left out of the reckoning; the others count. House defaults:
four clean times in five move a study up one step of a few beats, none moves it down one; what was not clean on two days
running is shortened, on three rests a day, on four gives its place to an easier relative; what hurts is left out.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import takewhile, zip_longest

from engrave.axes.defaults import FASTEST, SLOWEST
from engrave.languages import letters_plain, told
from engrave.model import Fault, Notice, Place, PlanError, Regimen
from engrave.model.errors import one_line
from engrave.model.said import Said, say, say_count
from engrave.regimen.pain import hurting, hurts
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
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """What was done."""

    entries: tuple[Entry, ...] = ()
    notices: tuple[Notice, ...] = ()
    """rows that could not be read, and why"""


GOING, LEARNT, SHORT, RESTING, REPLACED, HURTS = "", "learnt", "shortened", "resting", "replaced", "hurts"
"""where a study can stand"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a study stands after what was done."""

    tempo: int | None = None
    """to go on with, beats a minute; none: nothing was done"""
    before: int | None = field(default=None, compare=False)
    """tempo of the last day"""
    state: str = GOING
    """going, learnt (clean at its last step), shortened, resting, replaced or hurts"""
    moved: str = ""
    """what happened, in words; empty where nothing did"""
    hurting: tuple[str, ...] = ()
    """fingers that the log names where something hurts"""


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
    if text.lstrip("\ufeff \r\n\t").startswith("<"):
        raise _no_heading(name, "is a score or another XML file, not a log")
    line, heading = rows[0]
    columns = [cell.strip().lower() for cell in heading]
    missing = [column for column in _NEEDED if column not in columns]
    if missing:
        raise _no_heading(name, f"has no column {' or '.join(missing)}", line)
    if len(rows) - 1 > _MOST_ROWS:
        raise PlanError(Fault(place=Place(file=name), fact=f"has {len(rows) - 1:,} rows, the most is {_MOST_ROWS:,}"))
    entries: list[Entry] = []
    notices = [
        Notice(
            text=say("column {column} is not known and is not read", column=repr(one_line(column, 40))),
            place=Place(file=name, line=line),
        )
        for column in columns
        if column not in _KNOWN
    ]
    for at, cells in rows[1:]:
        # cells that are missing at the end of a row are empty ones
        row = dict(zip_longest(columns, map(str.strip, cells), fillvalue=""))
        found = _entry(at, row, len(cells), len(columns))
        if isinstance(found, Entry):
            entries.append(found)
        else:
            text = say("{fault}; the row does not count", fault=found)
            notices.append(Notice(text=text, place=Place(file=name, line=at)))
    return Log(entries=tuple(entries), notices=tuple(notices))


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Rows that hold anything, each with the line it ends on."""
    first = text.lstrip("\ufeff").split("\n", 1)[0]
    mark = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text.lstrip("\ufeff")), delimiter=mark)
    return [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]


def _no_heading(name: str, fact: str, line: int | None = None) -> PlanError:
    return PlanError(
        Fault(place=Place(file=name, line=line), fact=fact, hint=f"the first row names the columns: {','.join(_KNOWN)}")
    )


def _entry(line: int, row: Mapping[str, str], cells: int, columns: int) -> Entry | Said:
    """The entry a row holds, or what is wrong with it."""
    if cells > columns:
        return say("{cells} cells, but {columns} columns", cells=cells, columns=columns)
    if not row["study"]:
        return say("no study is named")
    day = day_of(row["day"])
    if day is None:
        return say("day {day} is no date like 2027-01-04 or 4.1.2027", day=repr(one_line(row["day"], 40)))
    figures: dict[str, int] = {}
    for column, low, high in (("tempo", SLOWEST, FASTEST), ("clean", 0, _MOST_TIMES), ("times", 1, _MOST_TIMES)):
        text = row.get(column, "")
        if column == "times" and not text:
            continue
        if not (text.isascii() and text.isdigit() and len(text) < 6 and low <= int(text) <= high):
            # for the translator: {column} is the name of a column of the log, such as tempo
            return say(
                "{column} {text} is no whole number from {low} to {high}",
                column=column,
                text=repr(one_line(text, 40)),
                low=low,
                high=high,
            )
        figures[column] = int(text)
    if figures["clean"] > figures.get("times", _MOST_TIMES):
        # for the translator: clean and times are names of columns of the log, and stay as they are
        return say("clean {clean} is more than times {times}", clean=figures["clean"], times=figures["times"])
    return Entry(line=line, study=row["study"], day=day, note=row.get("note", ""), **figures)


_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_LOCAL = re.compile(r"(\d{1,2})([./-])\s?(\d{1,2})\2\s?(\d{4})")


def day_of(text: str) -> date | None:
    """A date as ISO writes it, also without noughts (2027-3-1), or the day first: 4.1.2027.

    With strokes only where the day shows itself (14/1/2027). None for anything else.
    """
    try:
        iso = _ISO.fullmatch(text)
        return date(*map(int, iso.groups())) if iso else date.fromisoformat(text)
    except ValueError:
        pass
    match = _LOCAL.fullmatch(text)
    if not match:
        return None
    first, second, year = int(match[1]), int(match[3]), int(match[4])
    if match[2] == "/" and first <= 12 and second <= 12 and first != second:
        return None  # which of them is the day is written differently here and there
    if match[2] == "/" and second > 12:
        first, second = second, first
    try:
        return date(year, second, first)
    except ValueError:
        return None


def plain_name(text: str) -> str:
    """A name without case and doubled spaces, to be compared."""
    return " ".join(text.split()).casefold()


def by_study(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    """Entries by the plain name of their study, each in the order of days and lines."""
    found: dict[str, list[Entry]] = {}
    for entry in sorted(entries, key=lambda entry: (entry.day, entry.line)):
        found.setdefault(plain_name(entry.study), []).append(entry)
    return found


def standing(rows: Sequence[Entry], *, top: int, step: int, times: int, language: str = "en") -> Standing:
    """Where a study stands after `rows`, all of which are its own and in order.

    `top` is its last tempo, `step` the beats it moves by, `times` how often it is played where a row does not say,
    `language` what notes are written in, if not in English.
    Never more than one step up or down from the last day.
    """
    if not rows:
        return Standing()
    last = rows[-1]
    if hurts(last.note, language):
        moved = say("the log says {note}: left out", note=repr(one_line(last.note, 60)))
        return Standing(tempo=last.tempo, state=HURTS, moved=moved, hurting=hurting(last.note, language))
    enough = max(1, round(figure("log", "clean_share") * (last.times or times)))
    if last.clean >= enough and last.tempo >= top:
        moved = say("clean at {tempo}, its last step: learnt", tempo=last.tempo)
        return Standing(tempo=top, state=LEARNT, moved=moved)
    if last.clean >= enough:
        tempo = min(top, last.tempo + step)
        moved = say("clean at {before}: on to {tempo}", before=last.tempo, tempo=tempo)
        return Standing(tempo=tempo, before=last.tempo, moved=moved)
    if last.clean:
        moved = say("not yet clean at {tempo}: once more", tempo=last.tempo)
        return Standing(tempo=min(top, last.tempo), moved=moved)
    tempo = max(SLOWEST, min(top, last.tempo) - step)
    return _failed(rows, tempo)


def unraised(now: Standing) -> Standing:
    """Where a study stands in weeks in which nothing rises: no faster than on its last day."""
    if now.tempo is None or now.before is None or now.tempo <= now.before:
        return now
    moved = say("clean at {tempo}: once more at that, as something hurts", tempo=now.before)
    return replace(now, tempo=now.before, moved=moved)


def _failed(rows: Sequence[Entry], tempo: int) -> Standing:
    """A study that was not clean once on its last day."""
    clean: Counter[date] = Counter()
    for row in rows:
        clean[row.day] += row.clean
    running = len(list(takewhile(lambda day: not clean[day], sorted(clean, reverse=True))))
    last = rows[-1].tempo
    if running >= figure("log", "replaced_days"):
        moved = say_count("not clean on {n} day running", "not clean on {n} days running", running)
        return Standing(tempo=tempo, state=REPLACED, moved=moved)
    if running >= figure("log", "stuck_days"):
        moved = say_count(
            "not clean on {n} day running: it rests at first, then comes short, at {tempo}",
            "not clean on {n} days running: it rests at first, then comes short, at {tempo}",
            running,
            tempo=tempo,
        )
        return Standing(tempo=tempo, state=RESTING, moved=moved)
    if running > 1:
        if tempo < last:
            moved = say("not clean at {last} again: shorter, and back to {tempo}", last=last, tempo=tempo)
        else:
            moved = say("not clean at {last} again: shorter", last=last)
        return Standing(tempo=tempo, state=SHORT, moved=moved)
    if tempo >= last:
        return Standing(tempo=tempo, moved=say("not yet clean at {tempo}: once more", tempo=last))
    return Standing(tempo=tempo, moved=say("not clean at {last}: back to {tempo}", last=last, tempo=tempo))


def log_table(regimen: Regimen, language: str = "en") -> str:
    """An empty log for a book or a week, as CSV: a row for each page, or for each visit, names filled in as printed."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_KNOWN)
    titles = [letters_plain(told(step.variation.title, language)) for step in regimen.steps]
    if not regimen.days:
        steps = zip(regimen.steps, titles, strict=True)
        writer.writerows((title, "", step.tempo[0], "", step.times, "") for step, title in steps)
    writer.writerows(
        (titles[visit.step], day.date, tempo, "", visit.times, "")
        for day in regimen.days
        for visit in day.visits
        for tempo in visit.tempo
    )
    return out.getvalue()
