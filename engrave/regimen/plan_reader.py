"""The door for plan files: TOML in, Plan out, every fault at once with its line.

Rules: a key that is not in the table of keys is a fault, never ignored; a value of the wrong type or out of range names
the value and the limit; a word that is not known comes with the nearest one that is. Nothing of the file is run, looked
up or opened.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from engrave.model import (
    AXES,
    AskedTexture,
    Fault,
    Habits,
    LeaveOut,
    Marks,
    Place,
    Plan,
    PlanError,
    Player,
    Student,
    Study,
    Week,
)
from engrave.regimen.keys import MOST_STUDIES, REPEATED, TABLES, keys_of
from engrave.regimen.toml_limits import MOST_PARTS, said, too_deep
from engrave.regimen.toml_lines import Path, key_lines
from engrave.regimen.values import check, nearest

_LONGEST_FILE = 1_000_000
MOST_FAULTS = 100
"""faults that are told one by one"""
_AT_LINE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")


def read_plan(text: str, name: str = "") -> Plan:
    """The plan that `text` (TOML) writes; `name` is the file's name for messages.

    Raises PlanError with every fault found, in the order of their lines.
    """
    table = _parse(text, name)
    reader = _Reader(name, key_lines(text))
    plan = reader.plan(table)
    if reader.faults:
        faults = sorted(reader.faults, key=lambda fault: fault.place.line or 0)
        more = len(faults) - MOST_FAULTS
        if more > 0:
            faults[MOST_FAULTS:] = [Fault(place=Place(file=name), fact=f"{more} more faults of this kind and others")]
        raise PlanError(*faults)
    return plan


def _parse(text: str, name: str) -> dict[str, Any]:
    if len(text) > _LONGEST_FILE:
        fact = f"has {len(text):,} characters, the most a plan may have is {_LONGEST_FILE:,}"
        raise PlanError(Fault(place=Place(file=name), fact=fact))
    if (deep := too_deep(text)) is not None:
        fact = f"has a name of more than {MOST_PARTS} dotted parts, which no plan needs"
        raise PlanError(Fault(place=Place(file=name, line=deep), fact=fact))
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise PlanError(Fault(place=Place(file=name), fact="nests brackets too deep to be a plan")) from None
    except ValueError as problem:
        match = _AT_LINE.search(str(problem))
        # a fault at the end of the file has no line of its own
        line = int(match[1]) if match and match[1] else text.count("\n") + 1 if match else None
        fact, hint = said(_AT_LINE.sub("", str(problem)), text, line)
        raise PlanError(Fault(place=Place(file=name, line=line), fact=fact, hint=hint)) from None


class _Reader:
    """Collects faults while the tables are turned into values."""

    def __init__(self, name: str, lines: Mapping[Path, int]) -> None:
        self.name = name
        self.lines = lines
        self.faults: list[Fault] = []

    def plan(self, table: dict[str, Any]) -> Plan:
        for key, value in table.items():
            if key not in TABLES:
                nests = isinstance(value, dict | list)
                what = f"[{key}] is no heading of a plan" if nests else f"{key} stands under no heading"
                self.fault((key,), what, nearest(key, TABLES, "headings"))
        found: dict[str, Any] = {}
        for heading in TABLES:
            if heading in table and heading not in REPEATED:
                found |= self.single(heading, table[heading])
        plan = Plan(
            **{field: value for field, value in found.items() if "." not in field},
            player=Player(**_under("player", found)),
            week=Week(**_under("week", found)),
            marks=Marks(**_under("marks", found)),
            habits=Habits(**_under("habits", found)),
            textures=tuple(one for path, rows in self.repeated("texture", table) if (one := self.texture(path, rows))),
            studies=tuple(Study(**self.row(path, "study", rows)) for path, rows in self.repeated("study", table)),
            students=tuple(who for path, rows in self.repeated("student", table) if (who := self.student(path, rows))),
            leave_out=tuple(
                out for path, rows in self.repeated("leave-out", table) if (out := self.leave_out(path, rows))
            ),
        )
        self.together(plan)
        return plan

    def single(self, heading: str, rows: object) -> dict[str, Any]:
        if not isinstance(rows, dict):
            self.fault((heading,), f"{heading} is {_kind(rows)}, but is a heading: [{heading}]")
            return {}
        return self.row((heading,), heading, rows)

    def repeated(self, heading: str, table: dict[str, Any]) -> list[tuple[Path, dict[str, Any]]]:
        rows = table.get(heading, [])
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            self.fault((heading,), f"{heading} is {_kind(rows)}, but stands in double brackets: [[{heading}]]")
            return []
        if len(rows) > MOST_STUDIES:
            self.fault((heading, MOST_STUDIES), f"[[{heading}]] stands {len(rows)} times, the most is {MOST_STUDIES}")
            return []
        return [((heading, index), row) for index, row in enumerate(rows)]

    def row(self, path: Path, heading: str, rows: dict[str, Any]) -> dict[str, Any]:
        """The values of one table by field; a value at fault is left out."""
        known = {key.name: key for key in keys_of(heading)}
        found: dict[str, Any] = {}
        for name, value in rows.items():
            here = (*path, name)
            if name not in known:
                self.fault(here, f"{name} is no key of [{heading}]", nearest(name, known, "keys"))
                continue
            checked = check(known[name], value)
            if checked.fault:
                self.fault(here, f"{name} {checked.fault}", checked.hint)
            else:
                found[known[name].field] = checked.value
        return found

    def student(self, path: Path, rows: dict[str, Any]) -> Student | None:
        found = self.row(path, "student", rows)
        if not found.get("name"):
            if "name" not in rows:
                self.fault(path, "[[student]] names nobody", 'e.g. name = "Ana"')
            return None
        return Student(**found)

    def leave_out(self, path: Path, rows: dict[str, Any]) -> LeaveOut | None:
        found = self.row(path, "leave-out", rows)
        settings = tuple((axis, found[axis]) for axis in AXES if axis in found)
        if not settings:
            if not any(axis in rows for axis in AXES):
                fact = "[[leave-out]] names no setting, so there is nothing to leave out"
                self.fault(path, fact, 'e.g. pluck = "m-a"')
            return None
        return LeaveOut(settings=settings, why=found.get("why", ""))

    def texture(self, path: Path, rows: dict[str, Any]) -> AskedTexture | None:
        found = self.row(path, "texture", rows)
        for name in ("bars", "is"):
            if name not in rows:
                self.fault(path, f"[[texture]] names no {name}", 'e.g. bars = "3-4" and is = "line"')
        return AskedTexture(**found) if {"bars", "kind"} <= found.keys() else None

    def together(self, plan: Plan) -> None:
        """Faults of values that are fine alone but not together."""
        player, rest = plan.player, plan.week.rest
        if player.days is not None and player.days > 7 - len(rest):
            fact = f"days {player.days} does not fit: {len(rest)} rest days leave {7 - len(rest)} of 7"
            self.fault(("player", "days"), fact, "fewer days, or fewer rest days")
        elif len(rest) == 7:
            self.fault(("week", "rest"), "rest names all seven days, so no day is left for practising")
        if player.tempo and player.goal and player.goal < player.tempo:
            fact = f"goal {player.goal} is slower than tempo {player.tempo}"
            self.fault(("player", "goal"), fact, "tempo is where the line goes now, goal where it should get to")
        for term in sorted({*player.strong} & {*player.weak}):
            self.fault(("player", "weak"), f"weak names {term!r}, which strong names too", "keep it in one of them")
        people = [student.name for student in plan.students]
        for index, student in enumerate(plan.students):
            if student.name in people[:index]:
                fact = f"name {student.name!r} is taken by another student"
                self.fault(("student", index, "name"), fact, "each one's sheet needs a name of its own")
        seen: dict[str, int] = {}
        for index, study in enumerate(plan.studies):
            if study.name and study.name in seen:
                first = self.lines.get(("study", seen[study.name]))
                fact = f"name {study.name!r} is taken by the study on line {first}"
                self.fault(("study", index, "name"), fact, "a log and an index need names that differ")
            seen.setdefault(study.name, index)

    def fault(self, path: Path, fact: str, hint: str = "") -> None:
        if (*path, 0) in self.lines:  # double brackets where single ones belong
            path = (*path, 0)
        while path and path not in self.lines:
            path = path[:-1]
        place = Place(file=self.name, line=self.lines.get(path))
        self.faults.append(Fault(place=place, fact=fact, hint=hint))


def _under(head: str, found: Mapping[str, Any]) -> dict[str, Any]:
    return {field.partition(".")[2]: value for field, value in found.items() if field.startswith(f"{head}.")}


def _kind(value: object) -> str:
    names = {
        str: "a text",
        bool: "true or false",
        int: "a number",
        float: "a number",
        list: "a list",
        dict: "one table",
    }
    return names.get(type(value), "a date or time")
