"""What the words of the command line ask for: files become passages, plans and names of studies. Used there only."""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from engrave.cli import files
from engrave.model import Fault, Place, PlanError

if TYPE_CHECKING:
    from engrave.batch import Order, Source
    from engrave.model import Passage, Plan, Study
    from engrave.reading.limits import Limits

_CHOOSING = ("part", "voice", "plan_file", "instrument", "octave", "hand", "level", "depth")
"""options that go along into a command we propose"""


def user_limits() -> Limits:
    """The bounds the user has set for everything that is read."""
    from engrave.reading.limits import VARIABLE, limits_from

    return limits_from(os.environ.get(VARIABLE, ""))


def order_of(options: dict[str, Any]) -> Order:
    """What the words of the command line ask of every passage."""
    files.check_memory(files.WORKING)
    from engrave.batch import ORDER_KEYS, Order

    name, usual = options["plan_file"], files.usual()
    given = {key: options[key] for key in ORDER_KEYS if options.get(key) not in (None, "", ())}
    return Order(
        plan=text_of(files.read_bytes(name), name) if name else None,
        plan_name=name,
        usual=text_of(files.read_bytes(usual), usual) if usual else "",
        usual_name=usual,
        settings=tuple(given.items()),
        limits=user_limits(),
        **{key: options[key] for key in ("part", "voice", "bars")},
    )


def source_of(name: str | None, limits: Limits) -> Source:
    """What is in a file, or on standard input, or the built-in passage."""
    from engrave.batch import Source

    if name is None:
        from engrave.line import built_in

        data, name = built_in()
    else:
        data = files.read_bytes(name, limits.file_bytes)
    return Source(name="standard input" if name == files.STANDARD else files.shown(Path(name).name), data=data)


def plan_beside(passage: str | None) -> str:
    """The plan of the same name beside a passage, such as line.toml beside line.tab; empty where there is none.

    A book of ours brings its own.
    """
    if passage in (None, files.STANDARD) or str(passage).lower().endswith(".pdf"):
        return ""
    path = Path(str(passage)).with_suffix(".toml")
    try:
        return str(path) if path.is_file() and not files.same_file(str(path), str(passage)) else ""
    except (OSError, ValueError):
        return ""


def asked_for(passage: str | None, options: dict[str, Any], *, long: bool = False) -> tuple[Passage, Plan]:
    """The passage and the plan that the words of the command line name; a book of ours brings both.

    Only where `long` is set may the passage be longer than what is worth studies; else what is too long is refused with
    what is in it, and with passages to study, each with its command.
    """
    from engrave.batch import asked
    from engrave.proposing import HARDEST, hardest, proposals, told
    from engrave.reading.limits import hold_to_studies

    if passage == files.STANDARD and sys.stdin is not None and sys.stdin.isatty():
        end = "Ctrl-Z and Enter" if os.name == "nt" else "Ctrl-D"
        click.echo(f"engrave: paste the passage, then press Enter and {end}", err=True)
    options = planned(passage, options)
    limits, order = user_limits(), order_of(options)
    source = source_of(passage, limits)
    first = order.bars.strip().lower() == HARDEST
    music, plan = asked(replace(order, bars="") if first else order, source, long=True)
    if first:
        music = hardest(music, plan)
    try:
        if not long:
            hold_to_studies(music, limits)
    except PlanError as error:
        again = _again(passage, options)
        raise PlanError(*error.faults, *told(music, proposals(music, plan), again)) from None
    return music, plan


def planned(passage: str | None, options: dict[str, Any]) -> dict[str, Any]:
    """The options, with the plan that lies beside the passage where none is named; it is said which."""
    name = "" if options["plan_file"] else plan_beside(passage)
    if not name:
        return options
    click.echo(f"engrave: note: {files.shown(name)}, beside the passage, is its plan (--plan gives another)", err=True)
    return {**options, "plan_file": name}


def _again(passage: str | None, options: dict[str, Any]) -> str:
    """The command that asks for the same passage once more, so that bars can be put behind it."""
    words = ["engrave", click.get_current_context().info_name or "book", files.shown(passage or "")]
    for name in _CHOOSING:
        if options.get(name) not in (None, ""):
            words += [f"--{name.removesuffix('_file')}", files.shown(str(options[name]))]
    return shlex.join(word for word in words if word)


def studies_named(asked: tuple[str, ...], music: Passage, plan: Plan) -> tuple[Study, ...]:
    """The studies that are asked for by number, heading or setting; numbers and headings are those of the book."""
    from engrave.line import line_of
    from engrave.regimen import choose
    from engrave.regimen.study_names import study_from

    spelled = all("=" in text for text in asked)
    steps = () if spelled else choose(line_of(music, plan), plan).steps
    return tuple(study_from(text, steps, plan.marks.language) for text in asked)


def class_of(names: Sequence[str], options: dict[str, Any], plan: Plan) -> tuple[tuple[str, Plan], ...]:
    """(name, plan) of each of a class, of the plans `names` or of the students of one; empty for one player."""
    from engrave.batch import plan_of
    from engrave.regimen import class_plans

    if len(names) < 2:
        return tuple((one.player.name, one) for one in class_plans(plan)) if plan.students else ()
    made: list[tuple[str, Plan]] = []
    for name in names:
        for one in class_plans(plan_of(order_of({**options, "plan_file": name}))):
            who = one.player.name or files.short(Path(name).stem)
            made.append((who, replace(one, player=replace(one.player, name=who))))
    return tuple(made)


def table_of(data: bytes, name: str) -> str:
    """The text of a table; programs for tables may write it as UTF-16."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            raise PlanError(Fault(place=Place(file=name), fact="is not UTF-16 text to its end")) from None
    return text_of(data, name)


def text_of(data: bytes, name: str) -> str:
    """The text of a plan. Raises PlanError for what is none."""
    if data.startswith(b"%PDF"):
        hint = "a book brings its own plan: give it as the PASSAGE"
        raise PlanError(Fault(place=Place(file=name), fact="is a PDF, not a text", hint=hint))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        fact = f"is not UTF-8 text: byte {problem.start + 1} is {data[problem.start]:#04x}"
        raise PlanError(Fault(place=Place(file=name), fact=fact, hint="save it as UTF-8")) from None


def stem_of(passage: str | None) -> str:
    """What files made from a passage are called after."""
    return "study" if passage in (None, files.STANDARD) else files.short(Path(str(passage)).stem)
