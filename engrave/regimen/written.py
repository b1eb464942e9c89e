"""Plans as text: a commented starter plan, and the exact text of a plan there is. Both go by the table of keys."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

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
    return (
        "".join(parts)
        + "\n"
        + textwrap.fill(
            f"Terms for strong, weak and goals: {GRAMMAR}.", width=110, initial_indent="# ", subsequent_indent="# "
        )
        + "\n"
    )


def finished_plan(
    *,
    name: str = "",
    level: str = "",
    weak: tuple[str, ...] = (),
    goals: tuple[str, ...] = (),
    minutes: int | None = None,
    days: int | None = None,
) -> str:
    """A plan that can be followed as it is, for a player of whom this is said."""
    player = Player(name=name, level=level, weak=weak, goals=goals, minutes=minutes, days=days)
    return "# A practice plan; `engrave plan` without words explains every key.\n\n" + dump_plan(Plan(player=player))


def dump_plan(plan: Plan) -> str:
    """`plan` as TOML. Reading it back gives an equal plan; values that are defaults are left out."""
    parts: list[str] = []
    plain = Plan()
    for table in TABLES:
        if table not in REPEATED:
            lines = [
                f"{key.name} = {_toml(value)}\n"
                for key in keys_of(table)
                if (value := _value(plan, key)) != _value(plain, key)
            ]
            if lines:
                parts.append(f"[{table}]\n" + "".join(lines))
    parts += [_row("study", study, Study()) for study in plan.studies]
    parts += [_row("student", student, Student(name="")) for student in plan.students]
    parts += [f"[[texture]]\nbars = {_toml(one.bars)}\nis = {_toml(one.kind)}\n" for one in plan.textures]
    parts += [_leave_out(out) for out in plan.leave_out]
    return "\n".join(parts)


def _explained(key: PlanKey) -> str:
    comment = textwrap.fill(key.doc, width=110, initial_indent="# ", subsequent_indent="#   ")
    return f"\n{comment}\n# {key.name} = {_toml(key.example)}\n"


def _value(plan: Plan, key: PlanKey) -> object:
    value: object = plan
    for part in key.field.split("."):
        value = getattr(value, part)
    return value


def _row(table: str, row: object, plain: object) -> str:
    lines = [
        f"{key.name} = {_toml(value)}\n"
        for key in keys_of(table)
        if (value := getattr(row, key.field)) != getattr(plain, key.field)
    ]
    return f"[[{table}]]\n" + "".join(lines)


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
