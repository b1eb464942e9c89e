"""Whether one value of a plan file is what its key takes: a table of checks by kind of key."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from engrave import axes
from engrave.axes.defaults import FASTEST, MOST_STEPS, SLOWEST, ladder
from engrave.model import Fault, PlanError
from engrave.regimen.keys import LONGEST, PlanKey, all_keys
from engrave.regimen.terms import GRAMMAR, known_terms, parse_term

_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A value ready for the plan, or what is wrong with it (to be said after the key's name)."""

    value: object = None
    fault: str = ""
    hint: str = ""


def check(key: PlanKey, value: object) -> Checked:
    """`value`, as tomllib gives it, held against what `key` takes."""
    return _CHECKS[key.kind](key, value)


def _text(_: PlanKey, value: object) -> Checked:
    if not isinstance(value, str):
        return _wrong(value, 'a text such as "…"')
    if len(value) > LONGEST:
        return Checked(fault=f"has {len(value)} characters, the most is {LONGEST}")
    if found := _CONTROL.search(value):
        return Checked(fault=f"holds the control character U+{ord(found[0]):04X}", hint="one line of plain text")
    return Checked(value=value)


def _choice(key: PlanKey, value: object) -> Checked:
    if not isinstance(value, str):
        return _wrong(value, "one of " + ", ".join(key.choices))
    for choice in key.choices:
        if value.casefold() == choice.casefold():
            return Checked(value=choice)
    return Checked(fault=f"{value!r} is not known", hint=nearest(value, key.choices))


def _flag(_: PlanKey, value: object) -> Checked:
    return Checked(value=value) if isinstance(value, bool) else _wrong(value, "true or false")


def _whole(key: PlanKey, value: object) -> Checked:
    if isinstance(value, bool) or not isinstance(value, int):
        return _wrong(value, "a whole number")
    return _outside(key, value) or Checked(value=value)


def _number(key: PlanKey, value: object) -> Checked:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return _wrong(value, "a number")
    return _outside(key, value) or Checked(value=float(value))


def _outside(key: PlanKey, number: float) -> Checked | None:
    # a comparison with what is no number is false, so this also keeps out nan
    if key.low <= number <= key.high:
        return None
    return Checked(fault=f"{_figure(number)} is outside {key.low:g} to {key.high:g}")


def _tempi(_: PlanKey, value: object) -> Checked:
    if isinstance(value, str):
        try:
            return Checked(value=ladder(value))
        except PlanError as error:
            return Checked(fault=error.faults[0].fact.removeprefix("tempo "), hint=error.faults[0].hint)
    steps: list[Any] = value if isinstance(value, list) else [value]
    if any(isinstance(step, bool) or not isinstance(step, int) for step in steps):
        return _wrong(value, 'a list of whole numbers such as [60, 66, 72], or "60-96 by 12"')
    if not 1 <= len(steps) <= MOST_STEPS:
        return Checked(fault=f"has {len(steps)} steps, it takes 1 to {MOST_STEPS}")
    for step in steps:
        if not SLOWEST <= step <= FASTEST:
            return Checked(fault=f"step {_figure(step)} is outside {SLOWEST} to {FASTEST} beats a minute")
    return Checked(value=tuple(steps))


def _terms(_: PlanKey, value: object) -> Checked:
    words = _words(value)
    if words is None:
        return _wrong(value, 'a list of terms such as ["m-a", "finger 4"]')
    if len(words) > LONGEST:
        return Checked(fault=f"has {len(words)} terms, the most is {LONGEST}")
    for word in words:
        if parse_term(word) is None:
            near = difflib.get_close_matches(word[:100].lower(), known_terms(), n=1)
            return Checked(
                fault=f"{word!r} is not known", hint=f"did you mean {near[0]}?" if near else f"it takes {GRAMMAR}"
            )
    return Checked(value=tuple(dict.fromkeys(" ".join(word.lower().split()) for word in words)))


def terms_asked(words: Iterable[str], option: str) -> tuple[str, ...]:
    """Terms of a command line, each with commas between if need be. Raises PlanError for what is no term."""
    listed = [part.strip() for word in words for part in word.split(",") if part.strip()]
    if not listed:
        raise PlanError(Fault(fact=f"{option} names nothing", hint=f"it takes {GRAMMAR}"))
    return tuple(_asked("terms", listed, option))


def text_asked(text: str, option: str) -> str:
    """A text of a command line. Raises PlanError for one that is too long for a plan, or no plain line."""
    return str(_asked("text", text, option))


def tempi_asked(text: str, option: str) -> tuple[int, ...]:
    """Tempo steps of a command line: "72" or "60-84 by 12". Raises PlanError for what is none."""
    return tuple(_asked("tempi", text, option))


def _asked(kind: str, value: object, option: str) -> Any:
    """A value of a command line as the first key of its kind takes it. Raises PlanError."""
    checked = check(next(key for key in all_keys() if key.kind == kind), value)
    if checked.fault:
        raise PlanError(Fault(fact=f"{option} {checked.fault}", hint=checked.hint))
    return checked.value


def _days(key: PlanKey, value: object) -> Checked:
    words = _words(value)
    if words is None:
        return _wrong(value, 'a list of days such as ["sunday"]')
    for word in words:
        if word.lower() not in key.choices:
            return Checked(fault=f"{word!r} is no day of the week", hint=nearest(word, key.choices))
    return Checked(value=tuple(day for day in key.choices if day in [word.lower() for word in words]))


def _setting(key: PlanKey, value: object) -> Checked:
    if not isinstance(value, str):
        return _wrong(value, "the name of a setting")
    if len(value) > LONGEST:
        return Checked(fault=f"has {len(value)} characters, the most is {LONGEST}")
    try:
        axes.find(key.name, value)
    except PlanError as error:
        return Checked(fault=f"{value!r} is not known", hint=error.faults[0].hint)
    return Checked(value=value)


_CHECKS: dict[str, Callable[[PlanKey, object], Checked]] = {
    "text": _text,
    "choice": _choice,
    "flag": _flag,
    "whole": _whole,
    "number": _number,
    "tempi": _tempi,
    "terms": _terms,
    "days": _days,
    "setting": _setting,
}


def _words(value: object) -> list[str] | None:
    words = [value] if isinstance(value, str) else value
    if not isinstance(words, list) or not all(isinstance(word, str) for word in words):
        return None
    return words


def _wrong(value: object, wanted: str) -> Checked:
    hint = f"it takes {wanted}"
    if isinstance(value, bool):
        return Checked(fault=f"is {'true' if value else 'false'}", hint=hint)
    shown = {str: "the text", int: "the number", float: "the number", list: "a list", dict: "a table"}
    kind = shown.get(type(value), "a date or time")
    return Checked(fault=f"is {kind} {_figure(value)}".rstrip(), hint=hint)


def _figure(value: object) -> str:
    """A number or text short enough for a message; nothing for what is long by nature."""
    if isinstance(value, int) and abs(value) >= 10**12:
        return "of more than twelve digits"
    if isinstance(value, int | float):
        return f"{value}"
    return repr(value if len(value) <= 40 else value[:39] + "…") if isinstance(value, str) else ""


def nearest(word: str, known: Iterable[str], what: str = "known") -> str:
    """The name that `word` may stand for, else all there are, called `what`."""
    names = {name.lower(): name for name in known}
    near = difflib.get_close_matches(word[:100].lower(), names, n=1)
    return f"did you mean {names[near[0]]}?" if near else f"{what}: {', '.join(names.values())}"
