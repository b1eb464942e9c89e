"""What is said of wrong words on the command line: the nearest right ones."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from pathlib import Path

import click

from engrave.cli.one_line import OneLine


def led_on(error: click.UsageError, group: OneLine) -> str:
    """The message of wrong words on the command line, with the nearest right one by spelling."""
    said = error.format_message()
    if isinstance(error, click.NoSuchOption):
        return _no_such_option(error, group)
    if word := re.match(r"No such command '(.*?)'", said):
        if Path(word[1]).exists() or Path(word[1]).suffix:
            return f"No such command '{word[1]}'. A passage goes behind a command: engrave book {word[1]}"
        if word[1] == "help":
            return "No such command 'help'. Write engrave --help, or engrave book --help"
        return f"No such command '{word[1]}'.{_meant(word[1], group.offered)}"
    if isinstance(error, click.BadParameter) and error.param and isinstance(error.param.type, click.Choice):
        wrong = said.partition(": '")[2].partition("' is not one of")[0]
        return said + _meant(wrong.lower(), [str(choice).lower() for choice in error.param.type.choices])
    if isinstance(error, click.BadParameter) and error.param and isinstance(error.param.type, click.IntRange):
        kind = error.param.type
        return said.replace("is not a valid integer range", f"is no whole number from {kind.min} to {kind.max}")
    return said


def _meant(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """The nearest of the words there are, as a sentence to go on with; empty where none is near."""
    near = difflib.get_close_matches(word, list(known), n=1, cutoff=cutoff)
    return f" Did you mean '{near[0]}'?" if near else ""


def _no_such_option(error: click.NoSuchOption, group: OneLine) -> str:
    """What to write for an option that this command has not: the nearest, whose it is, or the key of a plan."""
    name, context = error.option_name, error.ctx
    said = f"No such option '{name}'."
    known = [option for param in context.command.params for option in param.opts] if context else []
    if meant := _meant(name, known, cutoff=0.75):
        return said + meant
    if not name.startswith("--"):
        return said
    from engrave.regimen.keys import TABLES, keys_of

    top = click.Context(group)
    commands = {other: group.get_command(top, other) for other in group.offered}
    others = [
        other for other, command in commands.items() if command and any(name in param.opts for param in command.params)
    ]
    plain = name[2:].replace("-", "_")
    key = next((key for table in ("book", *TABLES) for key in keys_of(table) if key.name == plain), None)
    if key and others in ([], ["plan"], ["export"]):
        where = f"{key.name} under [{key.table}]"
        return f"{said} A plan sets it: {where}; give the plan with --plan (engrave plan writes one)."
    return f"{said} It is an option of engrave {', '.join(others)}." if others else said
