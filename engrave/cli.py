"""The commands. The only room that prints, opens the user's files or reads the clock.

Rules: an EngraveError is one line on standard error for each fault and exit 2; anything else is our bug and keeps its
traceback (exit 1). Heavy rooms are imported inside the commands, so that `--help` is quick.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from engrave import files
from engrave.model import EngraveError, Fault, PlanError

if TYPE_CHECKING:
    from engrave.model import Passage, Plan

PAPERS = ("A4", "Letter")
_Command = TypeVar("_Command", bound=Callable[..., Any])


class OneLine(click.Group):
    """A group of commands whose every error is one line: ours, and those of wrong words on the command line."""

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run the command line `args`; exits 0, 2 for wrong input, 130 when interrupted."""
        extra["standalone_mode"] = False
        try:
            code = super().main(*args, **extra)
        except EngraveError as error:
            _fail(str(error))
        except click.exceptions.NoArgsIsHelpError as error:
            click.echo(error.format_message(), err=True)
            sys.exit(2)
        except click.UsageError as error:
            path = error.ctx.command_path if error.ctx else "engrave"
            _fail(f"{error.format_message().replace(chr(10), ' ')} (see {path} --help)")
        except click.ClickException as error:
            _fail(error.format_message().replace("\n", " "))
        except (click.Abort, KeyboardInterrupt):
            click.echo("engrave: interrupted; nothing was written", err=True)
            sys.exit(130)
        except BrokenPipeError:
            _leave_pipe()
        sys.exit(code if isinstance(code, int) else 0)


def _fail(lines: str) -> None:
    for line in lines.splitlines():
        click.echo(f"engrave: {line}", err=True)
    sys.exit(2)


def _leave_pipe() -> None:
    """The reader of our output has gone: say so once, and keep Python from complaining while it closes."""
    import os

    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    _fail("standard output was closed before everything was written")


def passage_options(command: _Command) -> _Command:
    """The options that say which notes, on what instrument."""
    for option in reversed(
        (
            click.argument("passage", required=False),
            click.option("--part", default="", metavar="NAME", help="Part to read: its name, or its number from 1."),
            click.option("--voice", default="", metavar="N", help="Voice to read, numbered from 1 within the part."),
            click.option("--bars", default="", metavar="5-8", help="Bars as printed; a pickup is bar 0."),
            click.option("--plan", "plan_file", default="", metavar="PLAN.toml", help="Plan to follow."),
            click.option("--instrument", default="", metavar="NAME", help="Instrument and tuning."),
            click.option("--hand", default="", metavar="NAME", help="Reach of the fretting hand."),
        )
    ):
        command = option(command)
    return command


def page_options(command: _Command) -> _Command:
    """The options that say how it is printed."""
    for option in reversed(
        (
            click.option(
                "--paper", type=click.Choice(PAPERS, case_sensitive=False), help="Paper size; A4 unless the plan says."
            ),
            click.option("--tab/--no-tab", default=None, help="Print a tablature staff under the notes."),
            click.option("--depth", type=click.Choice(["short", "standard", "complete"]), help="How many variations."),
            click.option("-o", "--output", default="", metavar="BOOK.pdf", help="File to write; - is standard output."),
        )
    ):
        command = option(command)
    return command


@click.group(cls=OneLine, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="passage-studies", prog_name="engrave")
def main() -> None:
    """Turn one passage of guitar music into a printed book of practice.

    A passage is a MusicXML file (.musicxml, .xml, .mxl), an ABC file (.abc) or text tablature (.tab, .txt); - reads
    standard input. With no passage, the built-in line is used.
    """


@main.command()
@passage_options
@page_options
def book(passage: str | None, output: str, **options: Any) -> None:
    """Print the study book of PASSAGE."""
    from engrave import book as line

    plan = _plan(options)
    music = _read(passage, options)
    target = _target(output, passage, options["plan_file"])
    with _progress() as progress:
        made = line.make(music, plan, progress=progress)
        pdf = line.press(made, progress=progress)
    files.write_bytes(target, pdf)
    if target != files.STANDARD:
        click.echo(f"{target}: {len(made.sheets)} variations")


@main.command()
@passage_options
@click.option("--json", "as_json", is_flag=True, help="Print the same as JSON.")
def studies(passage: str | None, as_json: bool, **options: Any) -> None:
    """List every setting of every axis; with PASSAGE, what applies to it and why the rest does not."""
    from engrave import report
    from engrave.book import line_of

    plan = _plan(options)
    line = line_of(_read(passage, options), plan) if passage else None
    rows = report.catalogue(line)
    _say(json.dumps(rows, ensure_ascii=False, indent=1) if as_json else report.catalogue_text(rows))


@main.command()
@click.option(
    "-o", "--output", default=files.STANDARD, metavar="PLAN.toml", help="File to write; - is standard output."
)
def plan(output: str) -> None:
    """Write a starter plan that explains every key."""
    from engrave.regimen import write_plan

    files.write_bytes(output, write_plan().encode())


def _say(text: str) -> None:
    files.write_bytes(files.STANDARD, (text + "\n").encode())


def _plan(options: dict[str, Any]) -> Plan:
    """The plan of the plan file, with the command line's own options on top."""
    from engrave.model import Plan
    from engrave.regimen import read_plan

    name = options["plan_file"]
    plan = read_plan(_text(files.read_bytes(name), name), name) if name else Plan()
    given = {
        key: options[key]
        for key in ("instrument", "hand", "paper", "tab", "depth")
        if options.get(key) not in (None, "")
    }
    return replace(plan, **given)


def _read(name: str | None, options: dict[str, Any]) -> Passage:
    from engrave import reading
    from engrave.book import built_in

    if name is None:
        data, name = built_in()
    else:
        data = files.read_bytes(name)
    label = "standard input" if name == files.STANDARD else Path(name).name
    return reading.read(data, label, part=options["part"], voice=options["voice"], bars=options["bars"])


def _text(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        from engrave.model import Place

        fact = f"is not UTF-8 text: byte {problem.start + 1} is {data[problem.start]:#04x}"
        raise PlanError(Fault(place=Place(file=name), fact=fact, hint="save it as UTF-8")) from None


def _target(output: str, passage: str | None, *inputs: str) -> str:
    """The file to write: the one asked for, else one named after the passage. Refuses to overwrite what is read."""
    stem = "study" if passage in (None, files.STANDARD) else Path(str(passage)).stem
    target = output or f"{stem}-book.pdf"
    files.check_writable(target)
    for name in (passage, *inputs):
        if name and files.same_file(target, name):
            raise PlanError(Fault(fact=f"output {target} is also an input", hint="give another name with -o"))
    return target


@contextmanager
def _progress() -> Iterator[Callable[[str, int, int], None]]:
    """A progress bar on a terminal, nothing in a pipe; called with (what, done, of)."""
    if not sys.stderr.isatty():
        yield lambda _what, _done, _of: None
        return
    with click.progressbar(length=1000, file=sys.stderr, item_show_func=lambda text: text, show_eta=False) as bar:
        # drawing the plates is most of the time; the other stages share the rest
        share = {"reading": (0, 100), "plates": (100, 700), "pages": (700, 1000)}

        def tell(what: str, done: int, of: int) -> None:
            low, high = share.get(what, (0, 0))
            bar.update(low + (high - low) * done // max(of, 1) - bar.pos, what)

        yield tell
        bar.update(1000 - bar.pos, "")
