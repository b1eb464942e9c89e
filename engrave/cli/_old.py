"""The commands. The only room that prints, opens the user's files or reads the clock.

Rules: an EngraveError is one line on standard error for each fault and exit 2; anything else is our bug and keeps its
traceback (exit 1). Heavy rooms are imported inside the commands, so that `--help` is quick.
"""

from __future__ import annotations

import gc
import os
import re
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from engrave import asking, files
from engrave.model import EngraveError, Fault, Place, PlanError
from engrave.model.errors import one_line
from engrave.stopping import Stopped, give_way, heard, stoppable, stopped_by

if TYPE_CHECKING:
    from datetime import date

    from engrave.batch import Order, Source
    from engrave.model import Notice, Passage, Plan
    from engrave.pages import BookContent

PAPERS = ("A4", "A5", "Letter")
PICTURES = ("svg", "png")
PREVIEW = 3
"""pages of music that a preview shows"""
LARGE_PRINT = 9.0
"""mm: the staff of large print"""
WRITTEN = re.compile(r"\d{2,4}-[a-z0-9-]+\.(?:musicxml|mxl|mid)\Z")
"""names that `export` gives its files"""
_WRITTEN_AS = {".mid": "midi", ".midi": "midi", ".mxl": "mxl", ".musicxml": "musicxml", ".xml": "musicxml"}
"""ending of a file → the format of an export that is meant"""
_Command = TypeVar("_Command", bound=Callable[..., Any])


class OneLine(click.Group):
    """A group of commands whose every error is one line: ours, and those of wrong words on the command line."""

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run the command line `args`; exits 0, 2 for wrong input, 128 and the signal's number when stopped."""
        extra |= {"standalone_mode": False, "prog_name": "engrave"}
        # a book makes many values, and hardly any in rings: a tenth of its time went into looking for those
        gc.set_threshold(60_000, 50, 50)
        with stoppable():
            self._answered(*args, **extra)

    def _answered(self, *args: Any, **extra: Any) -> None:
        try:
            with heard():
                code = self._invoked(*args, **extra)
        except EngraveError as error:
            _fail(str(error))
        except click.exceptions.NoArgsIsHelpError as error:
            click.echo(error.format_message(), err=True)
            sys.exit(2)
        except click.UsageError as error:
            path = error.ctx.command_path if error.ctx else "engrave"
            _fail(f"{_led_on(error).replace(chr(10), ' ')} (see {path} --help)")
        except click.ClickException as error:
            _fail(error.format_message().replace("\n", " "))
        except (click.Abort, KeyboardInterrupt, Stopped):
            number = stopped_by()
            what = "interrupted" if number == signal.SIGINT else "stopped"
            if sys.stderr and sys.stderr.isatty():
                click.echo(err=True)  # a terminal shows ^C, or the progress, on this line
            click.echo(f"engrave: {what}; nothing was written", err=True)
            sys.exit(128 + number)
        except OSError as problem:
            if problem.errno not in files.MACHINE:
                raise
            _fail(str(files.refused(problem)))
        except MemoryError:
            _fail(str(Fault(fact="there is not enough memory for this", hint="choose fewer bars with --bars")))
        sys.exit(code if isinstance(code, int) else 0)

    def _invoked(self, *args: Any, **extra: Any) -> Any:
        try:
            return super().main(*args, **extra)
        except Exception:
            give_way()  # a stop inside a library's own import or callback may come back as any error at all
            raise


def _led_on(error: click.UsageError) -> str:
    """The message of wrong words on the command line, with the nearest right one by spelling."""
    import difflib

    said = error.format_message()
    if isinstance(error, click.NoSuchOption):
        return _no_such_option(error)
    if word := re.match(r"No such command '(.*?)'", said):
        if Path(word[1]).exists() or Path(word[1]).suffix:
            return f"No such command '{word[1]}'. A passage goes behind a command: engrave book {word[1]}"
        return "No such command 'help'. Write engrave --help, or engrave book --help" if word[1] == "help" else said
    if isinstance(error, click.BadParameter) and error.param and isinstance(error.param.type, click.Choice):
        wrong = said.partition(": '")[2].partition("' is not one of")[0]
        near = difflib.get_close_matches(
            wrong.lower(), [str(choice).lower() for choice in error.param.type.choices], n=1
        )
        return f"{said} Did you mean '{near[0]}'?" if near else said
    return said


def _no_such_option(error: click.NoSuchOption) -> str:
    """What to write for an option that this command has not: the nearest, whose it is, or the key of a plan."""
    import difflib

    name, context = error.option_name, error.ctx
    said = f"No such option '{name}'."
    known = [option for param in context.command.params for option in param.opts] if context else []
    if near := difflib.get_close_matches(name, known, n=1, cutoff=0.75):
        return f"{said} Did you mean '{near[0]}'?"
    if not name.startswith("--"):
        return said
    from engrave.regimen.keys import TABLES, keys_of

    others = [other for other, command in main.commands.items() if any(name in param.opts for param in command.params)]
    plain = name[2:].replace("-", "_")
    key = next((key for table in ("book", *TABLES) for key in keys_of(table) if key.name == plain), None)
    if key and others in ([], ["plan"], ["export"]):
        where = f"{key.name} under [{key.table}]"
        return f"{said} A plan sets it: {where}; give the plan with --plan (engrave plan writes one)."
    return f"{said} It is an option of engrave {', '.join(others)}." if others else said


def _fail(lines: str) -> None:
    for line in lines.splitlines():
        click.echo(f"engrave: {line}", err=True)
    sys.exit(2)


def _options(*options: Callable[[_Command], _Command]) -> Callable[[_Command], _Command]:
    """Several options as one decorator, listed in help in the order given."""

    def decorate(command: _Command) -> _Command:
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


LEVELS = ("beginner", "intermediate", "advanced")
CLASS = "engrave.class"
"""where a command that can print a class finds the names of its plans"""


def _one_plan(context: click.Context, _parameter: click.Parameter, names: tuple[str, ...]) -> str:
    """The one plan that is named; of several, or a folder, only the first, and all of them go to the context."""
    found = tuple(name for given in names for name in files.plans(given))
    context.meta[CLASS] = found
    if len(found) > 1 and context.info_name not in ("handout", "week"):
        raise click.UsageError(
            "one plan at a time here; several make a class, for which there are handout and week", context
        )
    return found[0] if found else ""


def _complete(what: str) -> Callable[..., list[str]]:
    """Completion of the shell by names of `engrave.completing` that go on as what is typed begins."""

    def found(_context: click.Context, _parameter: click.Parameter, start: str) -> list[str]:
        from engrave import completing

        return [name for name in getattr(completing, what)(start) if name.startswith(start)]

    return found


def _complete_part(_context: click.Context, _parameter: click.Parameter, start: str) -> list[str]:
    from engrave import completing

    names = completing.parts(os.environ.get("COMP_WORDS", ""))
    return [name for name in names if name.lower().startswith(start.lower())]


_FILE = click.Path(readable=False)
"""any name, told apart by us; the shell completes files"""

passage_options = _options(
    click.option(
        "--part",
        default="",
        metavar="NAME",
        shell_complete=_complete_part,
        help="Part to read: its name, or its number from 1.",
    ),
    click.option("--voice", default="", metavar="N", help="Voice to read, numbered from 1 within the part."),
    click.option("--bars", default="", metavar="5-8", help="Bars as printed; a pickup is bar 0; or: hardest."),
    click.option(
        "--plan",
        "plan_file",
        multiple=True,
        metavar="PLAN.toml",
        type=_FILE,
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
        shell_complete=_complete("instruments"),
        help="Instrument and tuning: standard, drop-d, drop-d-g, lute, dadgbd, seven, seven-a.",
    ),
    click.option(
        "--octave", type=click.IntRange(-2, 2), metavar="N", help="Octaves to move the passage by; -1 is one lower."
    ),
    click.option(
        "--hand",
        default="",
        metavar="NAME",
        shell_complete=_complete("hands"),
        help="Reach of the fretting hand: standard, small, large.",
    ),
)
"""which notes, on what instrument"""

page_options = _options(
    click.option(
        "--paper", type=click.Choice(PAPERS, case_sensitive=False), help="Paper size; A4 unless the plan says."
    ),
    click.option(
        "--large", "staff", flag_value=LARGE_PRINT, type=float, help="Large print: staff 9 mm, text 14 point."
    ),
    click.option("--tab/--no-tab", default=None, help="Print a tablature staff under the notes."),
    click.option("--title", default="", metavar="TEXT", help="Title to print; the passage's, unless the plan says."),
    click.option(
        "-o", "--output", default="", metavar="FILE.pdf", type=_FILE, help="File to write; - is standard output."
    ),
)
"""how it is printed"""

only_option = click.option(
    "--only", multiple=True, metavar="TERM", shell_complete=_complete("terms"),
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

depth_option = click.option(
    "--depth", type=click.Choice(["short", "standard", "complete", "fewest"]), help="How many variations."
)
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


@click.group(cls=OneLine, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="passage-studies", prog_name="engrave")
def main() -> None:
    """Turn one passage of guitar music into a printed book of practice.

    A passage is MusicXML (.musicxml, .xml, .mxl), MEI (.mei), Humdrum kern (.krn), MIDI (.mid), ABC (.abc) or text
    tablature (.tab, .txt); - reads standard input. With no passage, the built-in line is used.
    """


@main.command()
@click.argument("passages", nargs=-1, metavar="[PASSAGE]...", type=_FILE)
@passage_options
@page_options
@depth_option
@only_option
@delivery_options
@click.option(
    "--jobs", type=click.IntRange(1, 64), default=1, show_default=True, help="Books to print at once, of several."
)
def book(passages: tuple[str, ...], output: str, **options: Any) -> None:
    """Print the study book of PASSAGE, or print a book again from its own PDF.

    Of several passages, or a folder of them, each gets its book in the folder that -o names.
    """
    if len(passages) > 1 or any(Path(name).is_dir() for name in passages):
        _one_alone(options, "of several passages")
        _books(passages, output, options)
        return
    passage = passages[0] if passages else None
    target = _target(output, passage, "book", options)
    with _busy(target):
        from engrave import line

        made = line.make(*_asked(passage, options))
        pdf = line.press(made)
    _deliver(target, pdf, made, f"{len(made.sheets)} variations", options)


@main.command()
@click.argument("passage", required=False, type=_FILE)
@passage_options
@page_options
@only_option
@delivery_options
@start_option
@days_option
@click.option("--weeks", type=click.IntRange(1, 12), default=1, show_default=True, help="Weeks one after another.")
@click.option("--log", default="", metavar="LOG.csv", type=_FILE, help="What was practised, as a table.")
@click.pass_context
def week(
    context: click.Context, /, passage: str | None, output: str, start: date | None, log: str, **options: Any
) -> None:
    """Print a week of practice on PASSAGE: a table of its days, and the variations it needs.

    Several plans, or one with [[student]] tables, make a class: a week for each, and a summary for the teacher.
    """
    target = _target(output, passage, "week", options, log)
    with _busy(target):
        from engrave import line
        from engrave.editions import make_week
        from engrave.regimen import read_log

        done = read_log(asking.table_of(files.read_bytes(log), log), log) if log else None
        music, plan = _asked(passage, options)
        if plans := asking.class_of(context.meta[CLASS], options, plan):
            _one_alone(options, "of a class")
            if done:
                raise PlanError(
                    Fault(fact="a log is one player's, and this is a class", hint="give one plan with --log")
                )
            _print_class(music, plans, "week", target, start=start, weeks=options["weeks"])
            return
        made = make_week(music, plan, start=start, log=done, weeks=options["weeks"])
        pdf = line.press(made)
    for notice in made.regimen.notices:
        if done and (notice in done.notices or notice.text.startswith("log: ")):
            click.echo(f"engrave: {notice}", err=True)
    days = sum(bool(day.visits) for day in made.regimen.days)
    _deliver(target, pdf, made, f"{days} days, {len(made.sheets)} variations", options)


@main.command()
@click.argument("passage", required=False, type=_FILE)
@passage_options
@page_options
@only_option
@delivery_options
@pages_option
@click.option(
    "--study",
    "asked",
    multiple=True,
    metavar="NAME",
    shell_complete=_complete("settings"),
    help="A study to print, by its heading, its number in the book, or its setting; give it once for each.",
)
@click.pass_context
def handout(
    context: click.Context, /, passage: str | None, output: str, pages: int, asked: tuple[str, ...], **options: Any
) -> None:
    """Print one or two pages of chosen studies of PASSAGE for a student.

    Several plans, or one with [[student]] tables, make a class: a handout for each, and a summary for the teacher.
    """
    target = _target(output, passage, "handout", options)
    with _busy(target):
        from engrave.editions import make_handout

        music, plan = _asked(passage, options)
        if asked:
            plan = replace(plan, studies=asking.studies_named(asked, music, plan))
        if plans := asking.class_of(context.meta[CLASS], options, plan):
            _one_alone(options, "of a class")
            _print_class(music, plans, "handout", target, pages=pages)
            return
        made, pdf = make_handout(music, plan, pages=pages)
    _deliver(target, pdf, made, f"{len(made.sheets)} {'study' if len(made.sheets) == 1 else 'studies'}", options)


@main.command()
@click.argument("passage", metavar="BOOK.pdf", type=_FILE)
@passage_options
@click.option("-o", "--output", default=files.STANDARD, metavar="LOG.csv", help="File to write; - is standard output.")
def log(passage: str, output: str, **options: Any) -> None:
    """Write an empty log for BOOK.pdf, or for a passage: the table `week --log` reads, with the names filled in."""
    from engrave.editions import opened
    from engrave.line import line_of
    from engrave.regimen import choose, log_table

    if passage.lower().endswith(".pdf"):
        music, _, chosen = opened(
            files.read_bytes(passage, asking.user_limits().file_bytes), passage, asking.user_limits()
        )
        regimen = choose(line_of(music, chosen), chosen)
    else:
        music, plan = _asked(passage, options)
        regimen = choose(line_of(music, plan), plan)
    _no_input(output, passage)
    files.write_bytes(output, log_table(regimen).encode())


@main.command()
@click.argument("old", metavar="BOOK.pdf", type=_FILE)
@click.argument("passage", metavar="NEW_PASSAGE", type=_FILE)
@passage_options
@page_options
@delivery_options
@pages_option
@start_option
@click.option(
    "--as",
    "form",
    type=click.Choice(["book", "handout", "week"]),
    default="book",
    show_default=True,
    help="What to print.",
)
def reissue(old: str, passage: str, output: str, form: str, **options: Any) -> None:
    """Print the regimen of BOOK.pdf for NEW_PASSAGE, saying what no longer applies and what took its place."""
    target = _target(output, passage, form, options, old)
    with _busy(target):
        from engrave.batch import in_octave, passage_of, plan_of
        from engrave.editions import make_reissue, opened
        from engrave.reading.limits import hold_to_studies

        order = asking.order_of(options)
        book_file = asking.source_of(old, order.limits)
        new = asking.source_of(passage, order.limits)
        before = opened(book_file.data, book_file.name, order.limits)
        plan = plan_of(order, before[1])
        music, plan = in_octave(passage_of(order, new), plan)
        for piece in (before[0], music):
            hold_to_studies(piece, order.limits)
        made, pdf = make_reissue(before, music, plan, form=form, pages=options["pages"], start=options["start"])
    _deliver(target, pdf, made, f"{len(made.sheets)} variations; {made.regimen.verdict}", options)


@main.command()
@click.argument("passage", required=False, type=_FILE)
@passage_options
@depth_option
@only_option
@click.option(
    "-o", "--output", default="", metavar="FOLDER", type=_FILE, help="Folder to write into; it is made if need be."
)
@click.option(
    "--format", "form", type=click.Choice(["musicxml", "mxl", "midi", *PICTURES]), default="musicxml",
    show_default=True, help="What to write.",
)  # fmt: skip
@click.option("--tab/--no-tab", default=None, help="Write tablature, too: a file beside each; in a picture, a staff.")
@click.option("--zip", "packed", is_flag=True, help="Write one .zip file instead of a folder.")
@click.option("--count-in", type=click.IntRange(0, 8), default=0, help="Bars of clicks before the music, in MIDI.")
@click.option("--click", is_flag=True, help="Click on every beat, in MIDI.")
@click.option("--channels", is_flag=True, help="A MIDI channel for each string.")
@click.option(
    "--tempo", default="", metavar="STEPS", help="Beats a minute in MIDI: 72, or 60-84 by 12; else as printed."
)
def export(passage: str | None, output: str, form: str, packed: bool, tempo: str, **options: Any) -> None:
    """Write each variation of PASSAGE as MusicXML or MIDI, or its music as a picture, SVG or PNG."""
    from engrave.editions import pictured, written
    from engrave.regimen import tempi_asked

    sounding = {key: options[key] for key in ("count_in", "click", "channels")}
    if form != "midi" and (asked := [key for key, value in {**sounding, "tempo": tempo}.items() if value]):
        name = asked[0].replace("_", "-")
        raise click.UsageError(f"--{name} is of what is heard: add --format midi", click.get_current_context())
    if form == "midi" and options["tab"]:
        raise click.UsageError("--tab is of what is seen: MIDI has no staff", click.get_current_context())
    steps = tempi_asked(tempo, "--tempo") if tempo else ()
    if not packed and Path(output).suffix.lower() in _WRITTEN_AS and not Path(output).is_dir():
        hint = f"name a folder, with --format {_WRITTEN_AS[Path(output).suffix.lower()]}; 00-all in it holds everything"
        raise PlanError(Fault(place=Place(file=output), fact="an export is a folder of files, not one file", hint=hint))
    folder = output or f"{asking.stem_of(passage)}-variations"
    if packed:
        folder = folder if folder.endswith(".zip") else f"{folder}.zip"
        files.check_writable(folder)
    else:
        files.check_folder(folder)
    with _busy(folder):
        music, plan = _asked(passage, options)
        made = (
            pictured(music, plan, form=form)
            if form in PICTURES
            else written(music, plan, form=form, tempo=steps, **sounding)
        )
    for target in [folder] if packed else [str(Path(folder) / name) for name in made]:
        _no_input(target, passage, options["plan_file"])
    if packed:
        files.write_bytes(folder, files.zipped(made))
    else:
        files.check_left(folder, made, WRITTEN)
        files.write_folder(folder, made)
    _heed(music.notices)
    _tell(folder, f"{len(made)} files")


@main.command()
@click.argument("passage", required=False, type=_FILE)
@passage_options
@json_option
def studies(passage: str | None, as_json: bool, **options: Any) -> None:
    """List every setting of every axis; with PASSAGE, what applies to it and why the rest does not."""
    import json

    from engrave import report
    from engrave.line import line_of

    line = None
    notices: tuple[Notice, ...] = ()
    if passage:
        with _busy("the list"):
            music, plan = _asked(passage, options)
            line, notices = line_of(music, plan), music.notices
        _heed(notices)
    rows = report.catalogue(line)
    if as_json:
        _say(json.dumps({"notices": [str(one) for one in notices], "axes": rows}, ensure_ascii=False, indent=1))
        return
    _say(report.catalogue_text(rows))


@main.command()
@click.argument("passage", required=False, type=_FILE)
@passage_options
@json_option
def survey(passage: str | None, as_json: bool, **options: Any) -> None:
    """Compare the best fingerings of PASSAGE, and say why each note takes its finger."""
    import json

    from engrave import report
    from engrave.line import surveyed

    with _busy("the survey"):
        music, plan = _asked(passage, options, long=True)
        found = surveyed(music, plan)
    rows = report.survey_rows(found, music, plan)
    _heed(music.notices)
    _say(json.dumps(rows, ensure_ascii=False, indent=1) if as_json else report.survey_text(rows, found))


@main.command()
@click.option(
    "-o",
    "--output",
    default=files.STANDARD,
    metavar="PLAN.toml",
    type=_FILE,
    help="File to write; - is standard output.",
)
@click.option(
    "--for",
    "weak",
    multiple=True,
    metavar="TERM",
    shell_complete=_complete("terms"),
    help="What does not go well yet: m-a, finger 4, slurs …; several times, or with commas.",
)
@click.option(
    "--goal",
    "goals",
    multiple=True,
    metavar="TERM",
    shell_complete=_complete("terms"),
    help="What the practice is for.",
)
@click.option("--minutes", type=click.IntRange(1, 600), help="Minutes there are on a practice day.")
@click.option("--name", default="", metavar="NAME", help="Who practises.")
@click.option("--level", type=click.Choice(LEVELS), help="How far the player is.")
@days_option
def plan(output: str, **said: Any) -> None:
    """Write a plan: a finished one for what is said, else a starter that explains every key."""
    from engrave.regimen import finished_plan, terms_asked, write_plan

    given = {key: value for key, value in said.items() if value not in (None, "", ())}
    for key, option in (("weak", "--for"), ("goals", "--goal")):
        if key in given:
            given[key] = terms_asked(given[key], option)
    files.write_bytes(output, (finished_plan(**given) if given else write_plan()).encode())


def _books(passages: tuple[str, ...], output: str, options: dict[str, Any]) -> None:
    """Print a book of each passage into the folder `output`; the faults of those that cannot be printed come last."""
    from engrave.batch import plan_of, print_books
    from engrave.model import Notice
    from engrave.reading.doors import without_music

    files.check_memory(files.PRINTING)
    names, folder = files.passages(passages), Path(output or ".")
    targets = files.targets(names, str(folder), "book")
    for target in targets.values():
        _no_input(str(folder / target), *names, options["plan_file"])
    order = asking.order_of(options)
    plan_of(order)  # what is wrong with the plan is said once
    faults: list[Fault] = []
    sources: list[tuple[Order, Source]] = []
    for name in names:
        try:
            source = asking.source_of(name, order.limits)
        except EngraveError as error:
            faults += error.faults
            continue
        if name not in passages and without_music(source.data, source.name):
            _heed([Notice(text="there is no music in it; passed over", place=Place(file=files.shown(name)))])
        else:
            own = order if options["plan_file"] or not asking.plan_beside(name) else None
            sources.append((own or asking.order_of(_planned(name, options)), source))
    printed, wanted = 0, len(sources) + len(faults)
    for made in _heard(print_books(sources, jobs=options["jobs"]), [source.name for _, source in sources]):
        if made.pdf:
            target = targets[made.name]
            files.write_folder(str(folder), {target: _folded(made.pdf, options)})
            _tell(str(folder / target), f"{made.variations} variations")
            printed += 1
        for fault in made.faults:
            faults.append(fault if fault.place.file else replace(fault, place=Place(file=made.name)))
    _say(f"{printed} of {wanted} books printed")
    if faults:
        raise EngraveError(*faults)


_Made = TypeVar("_Made")


def _heard(made: Iterator[_Made], names: Sequence[str]) -> Iterator[_Made]:
    """The members of `made`, with a bar while each is waited for."""
    for at, name in enumerate(names, start=1):
        with _busy(f"{name}, {at} of {len(names)}"):
            one = next(made)
        yield one


def _planned(passage: str | None, options: dict[str, Any]) -> dict[str, Any]:
    """The options, with the plan that lies beside the passage where none is named; it is said which."""
    name = "" if options["plan_file"] else asking.plan_beside(passage)
    if not name:
        return options
    click.echo(f"engrave: note: {files.shown(name)}, beside the passage, is its plan (--plan gives another)", err=True)
    return {**options, "plan_file": name}


def _asked(passage: str | None, options: dict[str, Any], *, long: bool = False) -> tuple[Passage, Plan]:
    """The passage and the plan that the words of the command line name."""
    if passage == files.STANDARD and sys.stdin is not None and sys.stdin.isatty():
        end = "Ctrl-Z and Enter" if os.name == "nt" else "Ctrl-D"
        click.echo(f"engrave: paste the passage, then press Enter and {end}", err=True)
    command = click.get_current_context().info_name or "book"
    return asking.music_and_plan(passage, _planned(passage, options), command, long=long)


def _one_alone(options: dict[str, Any], what: str) -> None:
    """Refuses options that are for one printed file where there are several."""
    for key, name in (("page", "--page"), ("preview", "--preview"), ("dry_run", "--dry-run"), ("show", "--open")):
        if options[key]:
            raise click.UsageError(f"{name} is for one printed file, not for those {what}", click.get_current_context())


def _folded(pdf: bytes, options: dict[str, Any]) -> bytes:
    from engrave.pages import booklet

    return booklet(pdf) if options["booklet"] else pdf


def _deliver(target: str, pdf: bytes, made: BookContent, what: str, options: dict[str, Any]) -> None:
    """Write what was printed: all of it or one page, folded or flat; or say only what it would be."""
    from engrave.pages import labels_of, page_alone

    if options["dry_run"]:
        from engrave.report import outline

        labels = labels_of(pdf)
        _say(f"{files.shown(target)} would have {len(labels)} page{'s' * (len(labels) > 1)}, {what}\n{outline(made)}")
        return
    if options["preview"]:
        _preview(target, pdf)
        return
    if options["page"]:
        page = page_alone(pdf, options["page"].strip())
        if page is None:
            labels = labels_of(pdf)
            fact = f"page {one_line(options['page'], 20)!r} is not among those there are"
            raise PlanError(Fault(fact=fact, hint=f"they are numbered {labels[0]} to {labels[-1]}"))
        pdf, what = page, f"page {options['page'].strip()} alone"
        if target.lower().endswith(".png"):
            from engrave.pages import page_pictures

            (pdf,) = page_pictures(page, [0])
    files.write_bytes(target, _folded(pdf, options))
    if target != files.STANDARD:
        _tell(target, what)
    if options["show"]:
        click.launch(target)


def _preview(target: str, pdf: bytes) -> None:
    """Write the title page and the first pages of music as pictures beside `target`, each named by its number."""
    from engrave.pages import labels_of, page_pictures

    labels = labels_of(pdf)
    first = labels.index("1")
    shown = [*([0] if first else []), *range(first, min(first + PREVIEW, len(labels)))]
    path = Path(target)
    made = {
        f"{path.stem}-{'title' if first and not at else labels[at]}.png": picture
        for at, picture in zip(shown, page_pictures(pdf, shown), strict=True)
    }
    files.write_folder(str(path.parent), made)
    for name in made:
        _tell(str(path.parent / name), "a picture of that page")


def _heed(notices: Sequence[Notice]) -> None:
    """Tell on standard error what was left out or changed, where no page is printed that would say so."""
    for notice in notices:
        click.echo(f"engrave: note: {notice}", err=True)


def _say(text: str) -> None:
    files.write_bytes(files.STANDARD, (text + "\n").encode())


def _tell(name: str, what: str) -> None:
    """Say what was written, where somebody can be told."""
    if sys.stdout is not None:
        _say(one_line(f"{files.shown(name)}: {what}", 1000))


def _print_class(music: Passage, plans: tuple[tuple[str, Plan], ...], form: str, target: str, **how: Any) -> None:
    """A sheet for each of a class beside `target`, and the teacher's summary under that name."""
    from engrave.editions import make_class

    if target == files.STANDARD:
        raise PlanError(Fault(fact="a class is several files", hint="name one with -o; the others stand beside it"))
    names = [who for who, _ in plans]
    if twice := next((who for at, who in enumerate(names) if who.casefold() in map(str.casefold, names[:at])), ""):
        raise PlanError(
            Fault(fact=f"two of the class are called {twice!r}", hint="each one's sheet needs its own name")
        )
    sheets, teacher = make_class(music, plans, form=form, **how)
    path = Path(target)
    made = {f"{path.stem}-{slug}.pdf": pdf for slug, pdf in sheets.items()} | {f"{path.stem}-class.pdf": teacher}
    files.write_folder(str(path.parent), made)
    for name in made:
        _tell(str(path.parent / name), "the teacher's summary" if name.endswith("-class.pdf") else f"a {form}")


def _target(output: str, passage: str | None, form: str, options: dict[str, Any], *inputs: str) -> str:
    """The file to write: the one asked for, else one named after the passage. Refuses to overwrite what is read."""
    files.check_memory(files.PRINTING)
    page = re.sub(r"\W", "", options["page"])
    target = output or f"{asking.stem_of(passage)}-{form}{f'-page-{page}' if page else ''}.pdf"
    _no_input(target, passage, options["plan_file"], *inputs)
    alone = options["page"] and Path(target).suffix.lower() == ".png"
    if Path(target).suffix.lower() not in (".pdf", "") and not alone:
        fact = f"a {form} is printed as PDF, not as {Path(target).suffix}"
        hint = f"write -o {Path(target).with_suffix('.pdf')}"
        if Path(target).suffix.lower() in (".png", ".svg"):
            hint += "; pictures: --preview, --page 5 -o page.png, or export --format svg"
        raise PlanError(Fault(place=Place(file=target), fact=fact, hint=hint))
    if options["show"] and target == files.STANDARD:
        raise click.UsageError("--open needs a file: name one with -o", click.get_current_context())
    if options["preview"] and (options["page"] or options["booklet"] or target == files.STANDARD):
        fact = "--preview writes pictures of the first pages, beside a file that is named"
        raise click.UsageError(f"{fact}: give it alone, with -o or without", click.get_current_context())
    if options["page"] and options["booklet"]:
        raise click.UsageError("--page and --booklet are two things: give one", click.get_current_context())
    if not options["dry_run"]:
        files.check_writable(target)
    return target


def _no_input(target: str, *inputs: str | None) -> None:
    """Refuses to overwrite what is read, by whatever name."""
    for name in inputs:
        if name and files.same_file(target, name):
            raise PlanError(Fault(fact=f"output {target} is also an input", hint="give another name with -o"))


_STAGES = {"surveying": (0.0, 0.1), "choosing": (0.1, 0.45), "engraving": (0.45, 0.85)}
"""stage → the share of a bar where it begins and where it ends, as they take time; printing takes the rest"""


@contextmanager
def _wiped() -> Iterator[None]:
    """What was drawn on the line within the block is taken away: it belongs to what is said next."""
    try:
        yield
    finally:
        click.echo("\x1b[1A\r\x1b[K", err=True, nl=False)


@contextmanager
def _busy(target: str) -> Iterator[None]:
    """On a terminal, a bar of how far the work on `target` has come, gone when it is done."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield
        return
    from engrave.telling import listening

    said = one_line("the pages" if target == files.STANDARD else files.shown(target), 40)
    with (
        _wiped(),
        click.progressbar(
            length=100, label=said, file=sys.stderr, show_eta=False, bar_template="%(label)s [%(bar)s] %(info)s"
        ) as bar,
    ):

        def hear(what: str, share: float) -> None:
            begin, end = _STAGES[what]
            bar.update(max(0, round(100 * (begin + (end - begin) * share)) - bar.pos))

        bar.render_progress()
        with listening(hear):
            yield
