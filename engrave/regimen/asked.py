"""A study asked for in one line, as on a command line: "pluck=a-m-i; stroke=rest"."""

from __future__ import annotations

from typing import Any

from engrave import axes
from engrave.model import EngraveError, Fault, PlanError, Study


def study_from(text: str) -> Study:
    """The study that `text` asks for: axis=setting, several of them with semicolons between. Raises PlanError."""
    settings: dict[str, Any] = {}
    faults: list[Fault] = []
    for part in text.split(";"):
        axis, equals, setting = (piece.strip() for piece in part.partition("="))
        if not equals or not setting:
            faults.append(
                Fault(fact=f"study {text!r}: {part.strip()!r} is not axis=setting", hint='such as "pluck=a-m-i"')
            )
            continue
        try:
            axes.find(axis, setting)
        except EngraveError as error:
            faults += error.faults
            continue
        if axis in settings:
            faults.append(Fault(fact=f"study {text!r} names {axis} twice", hint="give one setting for each axis"))
        settings[axis] = setting
    if faults:
        raise PlanError(*faults)
    return Study(**settings)
