"""The options that several commands take, and how the shell completes them."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any, TypeVar

import click

from engrave.cli import files
from engrave.cli.completing import parts
from engrave.model import DEPTHS, LANGUAGES, LEVELS
from engrave.model.errors import one_line

if TYPE_CHECKING:
    from datetime import date

PAPERS = ("A4", "A5", "Letter")

LARGE_PRINT = 9.0
"""mm: the staff of large print"""


CLASS = "engrave.class"
"""where a command that can print a class finds the names of its plans"""

_Command = TypeVar("_Command", bound=Callable[..., Any])


def _options(*options: Callable[[_Command], _Command]) -> Callable[[_Command], _Command]:
    """Several options as one decorator, listed in help in the order given."""

    def decorate(command: _Command) -> _Command:
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


def _one_plan(context: click.Context, _parameter: click.Parameter, names: tuple[str, ...]) -> str:
    """The one plan that is named; of several, or a folder, only the first, and all of them go to the context."""
    found = tuple(name for given in names for name in files.plans(given))
    context.meta[CLASS] = found
    if len(found) > 1 and context.info_name not in ("handout", "week"):
        raise click.UsageError(
            "one plan at a time here; several make a class, for which there are handout and week", context
        )
    return found[0] if found else ""


def complete(module: str, names: str) -> Callable[..., list[str]]:
    """Completion of the shell by the names a function of ours gives, of those that go on as what is typed begins."""

    def found(_context: click.Context, _parameter: click.Parameter, start: str) -> list[str]:
        return [name for name in getattr(import_module(f"engrave.{module}"), names)() if name.startswith(start)]

    return found


FILE = click.Path(readable=False)
"""any name, told apart by us; the shell completes files"""

passage_options = _options(
    click.option(
        "--part",
        default="",
        metavar="NAME",
        shell_complete=parts,
        help="Part to read: its name, or its number from 1.",
    ),
    click.option("--voice", default="", metavar="N", help="Voice to read, numbered from 1 within the part."),
    click.option("--bars", default="", metavar="5-8", help="Bars as printed; a pickup is bar 0; or: hardest."),
    click.option(
        "--plan",
        "plan_file",
        multiple=True,
        metavar="PLAN.toml",
        type=FILE,
        callback=_one_plan,
        help="Plan to follow; of a handout or a week several, or a folder of them, make a class.",
    ),
    click.option(
        "--level", type=click.Choice(LEVELS), help="How far the player is; intermediate unless the plan says."
    ),
    click.option(
        "--instrument",
        default="",
        metavar="NAME",
        shell_complete=complete("instruments", "instrument_names"),
        help="Instrument and tuning: standard, drop-d, drop-d-g, lute, dadgbd, seven, seven-a.",
    ),
    click.option(
        "--octave", type=click.IntRange(-2, 2), metavar="N", help="Octaves to move the passage by; -1 is one lower."
    ),
    click.option(
        "--hand",
        default="",
        metavar="NAME",
        shell_complete=complete("instruments", "hand_names"),
        help="Reach of the fretting hand: standard, small, large.",
    ),
)
"""which notes, on what instrument"""

one_passage = _options(click.argument("passage", required=False, type=FILE), passage_options)
"""a passage, the built-in one where none is named"""

page_options = _options(
    click.option(
        "--paper", type=click.Choice(PAPERS, case_sensitive=False), help="Paper size; A4 unless the plan says."
    ),
    click.option(
        "--large", "staff", flag_value=LARGE_PRINT, type=float, help="Large print: staff 9 mm, text 14 point."
    ),
    click.option("--tab/--no-tab", default=None, help="Print a tablature staff under the notes."),
    click.option("--language", type=click.Choice(LANGUAGES), help="Language of the pages; en unless the plan says."),
    click.option("--title", default="", metavar="TEXT", help="Title to print; the passage's, unless the plan says."),
    click.option(
        "-o", "--output", default="", metavar="FILE.pdf", type=FILE, help="File to write; - is standard output."
    ),
)
"""how it is printed"""

only_option = click.option(
    "--only", multiple=True, metavar="TERM", shell_complete=complete("regimen.terms", "known_terms"),
    help="Only studies that train this: bass strings, slurs, m-a, finger 4 …; several times, or with commas.",
)  # fmt: skip

delivery_options = _options(
    click.option("--page", default="", metavar="N", help="Write one page alone, by its number; as PNG to a .png."),
    click.option("--preview", is_flag=True, help="Write the first pages as pictures (PNG) instead."),
    click.option("--booklet", is_flag=True, help="Two pages to a side, to be folded: A5 on A4."),
    click.option("--dry-run", is_flag=True, help="Say what would be printed, on how many pages, and write nothing."),
    click.option("--open", "show", is_flag=True, help="Open what was written."),
)
"""what becomes of the pages"""

chosen_pages = _options(one_passage, page_options, only_option, delivery_options)
"""some studies of a passage, printed"""

depth_option = click.option("--depth", type=click.Choice(DEPTHS), help="How many variations.")

days_option = click.option("--days", type=click.IntRange(1, 7), help="Practice days a week.")


def _first_day(_context: click.Context, _parameter: click.Parameter, text: str) -> date | None:
    """The date that is written, as a log takes it, too."""
    from engrave.regimen import day_of

    day = day_of(text.strip()) if text.strip() else None
    if text.strip() and day is None:
        raise click.UsageError(f"--start {one_line(text, 40)!r} is no date: write it as 2027-03-01, or 1.3.2027")
    return day


start_option = click.option(
    "--start", default="", callback=_first_day, metavar="DATE", help="First day, such as 2027-03-01."
)

pages_option = click.option("--pages", type=click.IntRange(1, 20), default=2, show_default=True, help="Pages to fill.")

json_option = click.option("--json", "as_json", is_flag=True, help="Print the same as JSON.")
