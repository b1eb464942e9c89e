"""Plans as text: a commented starter plan, and the exact text of a plan there is. Both go by the table of keys."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from operator import attrgetter

from engrave.model import LeaveOut, Plan, Player, Student, Study
from engrave.regimen.keys import REPEATED, TABLES, PlanKey, keys_of
from engrave.regimen.terms import GRAMMAR

_OPENING = """\
# A practice plan. It says who practises, on what, and what the book holds; the same plan works for any passage.
# Every line that starts with # is a comment. A key is switched on by taking the # and the space away in front of it.
# Keys that are left out keep their defaults.
"""


def write_plan() -> str:
    """A starter plan with every key, explained and commented out: it reads back as a plan of defaults."""
    parts = [_OPENING]
    for table, purpose in TABLES.items():
        many = table in REPEATED
        heading = f"# [[{table}]]" if many else f"[{table}]"
        parts.append(f"\n\n# {purpose}\n{heading}\n" + "".join(_explained(key) for key in keys_of(table)))
    terms = f"Terms for strong, weak and goals: {GRAMMAR}."
    parts.append("\n" + textwrap.fill(terms, width=110, initial_indent="# ", subsequent_indent="# ") + "\n")
    return "".join(parts)


def finished_plan(player: Player) -> str:
    """A plan that can be followed as it is."""
    return "# A practice plan; `engrave plan` without words explains every key.\n\n" + dump_plan(Plan(player=player))


def dump_plan(plan: Plan) -> str:
    """`plan` as TOML. Reading it back gives an equal plan; values that are defaults are left out."""
    single = [(table, _lines(table, plan, Plan())) for table in TABLES if table not in REPEATED]
    parts = [f"[{table}]\n{lines}" for table, lines in single if lines]
    parts += [f"[[study]]\n{_lines('study', study, Study())}" for study in plan.studies]
    parts += [f"[[student]]\n{_lines('student', student, Student(name=''))}" for student in plan.students]
    parts += [f"[[texture]]\nbars = {_toml(one.bars)}\nis = {_toml(one.kind)}\n" for one in plan.textures]
    parts += [_leave_out(out) for out in plan.leave_out]
    return "\n".join(parts)


def _explained(key: PlanKey) -> str:
    comment = textwrap.fill(key.doc, width=110, initial_indent="# ", subsequent_indent="#   ")
    return f"\n{comment}\n# {key.name} = {_toml(key.example)}\n"


def _lines(table: str, row: object, plain: object) -> str:
    """The keys of a table in which `row` differs from `plain`."""
    keys = [(key.name, attrgetter(key.field)) for key in keys_of(table)]
    return "".join(f"{name} = {_toml(value(row))}\n" for name, value in keys if value(row) != value(plain))


def _leave_out(out: LeaveOut) -> str:
    lines = [f"{axis} = {_toml(setting)}\n" for axis, setting in out.settings]
    return "[[leave-out]]\n" + "".join(lines) + (f"why = {_toml(out.why)}\n" if out.why else "")


def _toml(value: object) -> str:
    """A value as TOML writes it. Raises TypeError for what no key holds."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, Iterable):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    raise TypeError(f"{value!r} has no place in a plan")


def _quoted(text: str) -> str:
    plain = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(f"\\u{ord(c):04X}" if ord(c) < 32 or ord(c) == 127 else c for c in plain) + '"'
