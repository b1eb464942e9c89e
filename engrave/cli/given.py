"""The passage and the plan that the words of the command line name."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Any

import click

from engrave.cli import asking, files

if TYPE_CHECKING:
    from engrave.model import Passage, Plan


def asked_for(passage: str | None, options: dict[str, Any], *, long: bool = False) -> tuple[Passage, Plan]:
    """The passage and the plan that the words of the command line name."""
    if passage == files.STANDARD and sys.stdin is not None and sys.stdin.isatty():
        end = "Ctrl-Z and Enter" if os.name == "nt" else "Ctrl-D"
        click.echo(f"engrave: paste the passage, then press Enter and {end}", err=True)
    command = click.get_current_context().info_name or "book"
    return asking.music_and_plan(passage, planned(passage, options), command, long=long)


def planned(passage: str | None, options: dict[str, Any]) -> dict[str, Any]:
    """The options, with the plan that lies beside the passage where none is named; it is said which."""
    name = "" if options["plan_file"] else asking.plan_beside(passage)
    if not name:
        return options
    click.echo(f"engrave: note: {files.shown(name)}, beside the passage, is its plan (--plan gives another)", err=True)
    return {**options, "plan_file": name}
