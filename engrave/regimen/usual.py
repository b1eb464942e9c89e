"""What a player always uses, kept in a file of their own: it fills in what a plan does not say."""

from __future__ import annotations

from dataclasses import replace
from operator import attrgetter
from typing import Any

from engrave.model import Fault, Place, Plan, PlanError
from engrave.regimen.keys import all_keys
from engrave.regimen.plan_reader import read_plan
from engrave.regimen.toml_lines import key_lines

USUAL = (
    *(("player", name) for name in ("name", "level", "hand", "line", "bass_line")),
    *(("instrument", name) for name in ("name", "scale")),
    *(("book", name) for name in ("teacher", "paper", "sides", "tablature", "staff", "little", "language")),
    *(("week", name) for name in ("start", "rest")),
)
"""(heading, key) of what such a file may set: what stays the same from one passage to the next"""


def with_usual(plan: Plan, given: str, usual: str, name: str) -> Plan:
    """`plan`, which the text `given` wrote, with what the text `usual` of the file `name` says and it does not.

    Raises PlanError for a key that is no plan's, and for one that belongs to a passage's own plan.
    """
    kept, said, written = read_plan(usual, name), key_lines(usual), key_lines(given)
    faults = [
        Fault(
            place=Place(file=name, line=line),
            fact=f"{'.'.join(map(str, path))} is nothing that is the same for every passage",
            hint="it takes " + ", ".join(f"{table}.{key}" for table, key in USUAL),
        )
        for path, line in said.items()
        if len(path) > 1 and path not in USUAL
    ]
    if faults:
        raise PlanError(*faults)
    for key in all_keys():
        if (key.table, key.name) in said and (key.table, key.name) not in written:
            plan = _set(plan, key.field, attrgetter(key.field)(kept))
    return plan


def _set(plan: Plan, field: str, value: Any) -> Plan:
    head, _, rest = field.partition(".")
    whole = replace(getattr(plan, head), **{rest: value}) if rest else value
    changed: dict[str, Any] = {head: whole}
    return replace(plan, **changed)
