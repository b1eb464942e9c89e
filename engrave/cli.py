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

from engrave import files
from engrave.model import EngraveError, Fault, Place, PlanError
from engrave.model.errors import one_line
from engrave.stopping import Stopped, give_way, heard, stoppable, stopped_by

if TYPE_CHECKING:
    from engrave.batch import Order, Source
    from engrave.model import Notice, Passage, Plan, Study
    from engrave.reading.limits import Limits

PAPERS = ("A4", "A5", "Letter")
LARGE_PRINT = 9.0
"""mm: the staff of large print"""
WRITTEN = re.compile(r"\d{2,4}-[a-z0-9-]+\.(?:musicxml|mxl|mid)\Z")
"""names that `export` gives its files"""
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
        known = [name for param in error.ctx.command.params for name in param.opts] if error.ctx else []
        near = difflib.get_close_matches(error.option_name, known, n=1)
        said = f"No such option '{error.option_name}'."
        if not near and error.option_name.startswith("--"):
            from engrave.regimen.keys import TABLES, keys_of

            name = error.option_name[2:].replace("_", "-")
            key = next((key for table in TABLES for key in keys_of(table) if key.name == name), None)
            return f"{said} A plan sets it: {key.name} under [{key.table}]; give the plan with --plan." if key else said
        return f"{said} Did you mean '{near[0]}'?" if near else said
    if isinstance(error, click.BadParameter) and error.param and isinstance(error.param.type, click.Choice):
        wrong = said.partition(": '")[2].partition("' is not one of")[0]
        near = difflib.get_close_matches(
            wrong.lower(), [str(choice).lower() for choice in error.param.type.choices], n=1
        )
        return f"{said} Did you mean '{near[0]}'?" if near else said
    return said


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


passage_options = _options(
    click.option("--part", default="", metavar="NAME", help="Part to read: its name, or its number from 1."),
    click.option("--voice", default="", metavar="N", help="Voice to read, numbered from 1 within the part."),
    click.option("--bars", default="", metavar="5-8", help="Bars as printed; a pickup is bar 0; or: hardest."),
    click.option(
        "--plan",
        "plan_file",
        multiple=True,
        metavar="PLAN.toml",
        callback=_one_plan,
        help="Plan to follow; of a handout or a week several, or a folder of them, make a class.",
    ),
    click.option(
        "--level", type=click.Choice(LEVELS), help="How far the player is; intermediate unless the plan says."
    ),
    click.option("--instrument", default="", metavar="NAME", help="Instrument and tuning."),
    click.option(
        "--octave", type=click.IntRange(-2, 2), metavar="N", help="Octaves to move the passage by; -1 is one lower."
    ),
    click.option("--hand", default="", metavar="NAME", help="Reach of the fretting hand."),
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
    click.option("-o", "--output", default="", metavar="FILE.pdf", help="File to write; - is standard output."),
)
"""how it is printed"""

depth_option = click.option(
    "--depth", type=click.Choice(["short", "standard", "complete", "fewest"]), help="How many variations."
)
days_option = click.option("--days", type=click.IntRange(1, 7), help="Practice days a week.")
start_option = click.option(
    "--start", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="First day, such as 2027-03-01."
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
@click.argument("passages", nargs=-1, metavar="[PASSAGE]...")
@passage_options
@page_options
@depth_option
@click.option(
    "--jobs", type=click.IntRange(1, 64), default=1, show_default=True, help="Books to print at once, of several."
)
def book(passages: tuple[str, ...], output: str, **options: Any) -> None:
    """Print the study book of PASSAGE, or print a book again from its own PDF.

    Of several passages, or a folder of them, each gets its book in the folder that -o names.
    """
    if len(passages) > 1 or any(Path(name).is_dir() for name in passages):
        _books(passages, output, options)
        return
    passage = passages[0] if passages else None
    target = _target(output, passage, "book", options["plan_file"])
    with _busy(target):
        from engrave import line

        made = line.make(*_asked(passage, options))
        pdf = line.press(made)
    _write(target, pdf, f"{len(made.sheets)} variations")


@main.command()
@click.argument("passage", required=False)
@passage_options
@page_options
@start_option
@days_option
@click.option("--weeks", type=click.IntRange(1, 12), default=1, show_default=True, help="Weeks one after another.")
@click.option("--log", default="", metavar="LOG.csv", help="What was practised, as a table.")
@click.pass_context
def week(context: click.Context, /, passage: str | None, output: str, start: Any, log: str, **options: Any) -> None:
    """Print a week of practice on PASSAGE: a table of its days, and the variations it needs.

    Several plans, or one with [[student]] tables, make a class: a week for each, and a summary for the teacher.
    """
    target = _target(output, passage, "week", options["plan_file"], log)
    with _busy(target):
        from engrave import line
        from engrave.editions import make_week
        from engrave.regimen import read_log

        done = read_log(_table(files.read_bytes(log), log), log) if log else None
        music, plan = _asked(passage, options)
        day = start.date() if start else None
        if plans := _class(context, options, plan):
            if done:
                raise PlanError(
                    Fault(fact="a log is one player's, and this is a class", hint="give one plan with --log")
                )
            _print_class(music, plans, "week", target, start=day, weeks=options["weeks"])
            return
        made = make_week(music, plan, start=day, log=done, weeks=options["weeks"])
        pdf = line.press(made)
    for notice in made.regimen.notices:
        if done and (notice in done.notices or notice.text.startswith("log: ")):
            click.echo(f"engrave: {notice}", err=True)
    _write(target, pdf, f"{sum(bool(day.visits) for day in made.regimen.days)} days, {len(made.sheets)} variations")


@main.command()
@click.argument("passage", required=False)
@passage_options
@page_options
@pages_option
@click.option(
    "--study",
    "asked",
    multiple=True,
    metavar="NAME",
    help="A study to print, by its heading, its number in the book, or its setting; give it once for each.",
)
@click.pass_context
def handout(
    context: click.Context, /, passage: str | None, output: str, pages: int, asked: tuple[str, ...], **options: Any
) -> None:
    """Print one or two pages of chosen studies of PASSAGE for a student.

    Several plans, or one with [[student]] tables, make a class: a handout for each, and a summary for the teacher.
    """
    target = _target(output, passage, "handout", options["plan_file"])
    with _busy(target):
        from engrave.editions import make_handout

        music, plan = _asked(passage, options)
        if asked:
            plan = replace(plan, studies=_named(asked, music, plan))
        if plans := _class(context, options, plan):
            _print_class(music, plans, "handout", target, pages=pages)
            return
        made, pdf = make_handout(music, plan, pages=pages)
    _write(target, pdf, f"{len(made.sheets)} {'study' if len(made.sheets) == 1 else 'studies'}")


@main.command()
@click.argument("passage", metavar="BOOK.pdf")
@passage_options
@click.option("-o", "--output", default=files.STANDARD, metavar="LOG.csv", help="File to write; - is standard output.")
def log(passage: str, output: str, **options: Any) -> None:
    """Write an empty log for BOOK.pdf, or for a passage: the table `week --log` reads, with the names filled in."""
    from engrave.editions import opened
    from engrave.line import line_of
    from engrave.regimen import choose, log_table

    if passage.lower().endswith(".pdf"):
        music, _, chosen = opened(files.read_bytes(passage, _limits().file_bytes), passage, _limits())
        regimen = choose(line_of(music, chosen), chosen)
    else:
        music, plan = _asked(passage, options)
        regimen = choose(line_of(music, plan), plan)
    _no_input(output, passage)
    files.write_bytes(output, log_table(regimen).encode())


@main.command()
@click.argument("old", metavar="BOOK.pdf")
@click.argument("passage", metavar="NEW_PASSAGE")
@passage_options
@page_options
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
    target = _target(output, passage, form, old, options["plan_file"])
    day = options["start"].date() if options["start"] else None
    with _busy(target):
        from engrave.batch import in_octave, passage_of, plan_of
        from engrave.editions import make_reissue, opened
        from engrave.reading.limits import hold_to_studies

        order = _order(options)
        book_file = _source(old, order.limits)
        new = _source(passage, order.limits)
        before = opened(book_file.data, book_file.name, order.limits)
        plan = plan_of(order, before[1])
        music, plan = in_octave(passage_of(order, new), plan)
        for piece in (before[0], music):
            hold_to_studies(piece, order.limits)
        made, pdf = make_reissue(before, music, plan, form=form, pages=options["pages"], start=day)
    _write(target, pdf, f"{len(made.sheets)} variations; {made.regimen.verdict}")


@main.command()
@click.argument("passage", required=False)
@passage_options
@depth_option
@click.option("-o", "--output", default="", metavar="FOLDER", help="Folder to write into; it is made if need be.")
@click.option(
    "--format", "form", type=click.Choice(["musicxml", "mxl", "midi"]), default="musicxml", show_default=True,
    help="What to write.",
)  # fmt: skip
@click.option("--tab/--no-tab", default=None, help="Write a tablature staff, too.")
@click.option("--zip", "packed", is_flag=True, help="Write one .zip file instead of a folder.")
@click.option("--count-in", type=click.IntRange(0, 8), default=0, help="Bars of clicks before the music, in MIDI.")
@click.option("--click", is_flag=True, help="Click on every beat, in MIDI.")
@click.option("--channels", is_flag=True, help="A MIDI channel for each string.")
def export(passage: str | None, output: str, form: str, packed: bool, **options: Any) -> None:
    """Write each variation of PASSAGE as MusicXML or MIDI."""
    from engrave.editions import written

    folder = output or f"{_stem(passage)}-variations"
    if packed:
        folder = folder if folder.endswith(".zip") else f"{folder}.zip"
        files.check_writable(folder)
    else:
        files.check_folder(folder)
    music, plan = _asked(passage, options)
    made = written(music, plan, form=form, **{key: options[key] for key in ("count_in", "click", "channels")})
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
@click.argument("passage", required=False)
@passage_options
@json_option
def studies(passage: str | None, as_json: bool, **options: Any) -> None:
    """List every setting of every axis; with PASSAGE, what applies to it and why the rest does not."""
    import json

    from engrave import report
    from engrave.line import line_of

    line = None
    if passage:
        music, plan = _asked(passage, options)
        line = line_of(music, plan)
        _heed(music.notices)
    rows = report.catalogue(line)
    _say(json.dumps(rows, ensure_ascii=False, indent=1) if as_json else report.catalogue_text(rows))


@main.command()
@click.argument("passage", required=False)
@passage_options
@json_option
def survey(passage: str | None, as_json: bool, **options: Any) -> None:
    """Compare the best fingerings of PASSAGE, and say why each note takes its finger."""
    import json

    from engrave import report
    from engrave.line import surveyed

    music, plan = _asked(passage, options, long=True)
    found = surveyed(music, plan)
    rows = report.survey_rows(found, music, plan)
    _heed(music.notices)
    _say(json.dumps(rows, ensure_ascii=False, indent=1) if as_json else report.survey_text(rows, found))


@main.command()
@click.option(
    "-o", "--output", default=files.STANDARD, metavar="PLAN.toml", help="File to write; - is standard output."
)
def plan(output: str) -> None:
    """Write a starter plan that explains every key."""
    from engrave.regimen import write_plan

    files.write_bytes(output, write_plan().encode())


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
    order = _order(options)
    plan_of(order)  # what is wrong with the plan is said once
    faults: list[Fault] = []
    sources: list[Source] = []
    for name in names:
        try:
            source = _source(name, order.limits)
        except EngraveError as error:
            faults += error.faults
            continue
        if name not in passages and without_music(source.data, source.name):
            _heed([Notice(text="there is no music in it; passed over", place=Place(file=files.shown(name)))])
        else:
            sources.append(source)
    printed, wanted = 0, len(sources) + len(faults)
    for made in print_books(order, sources, jobs=options["jobs"]):
        if made.pdf:
            target = targets[made.name]
            files.write_folder(str(folder), {target: made.pdf})
            _tell(str(folder / target), f"{made.variations} variations")
            printed += 1
        for fault in made.faults:
            faults.append(fault if fault.place.file else replace(fault, place=Place(file=made.name)))
    _say(f"{printed} of {wanted} books printed")
    if faults:
        raise EngraveError(*faults)


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


def _write(target: str, pdf: bytes, what: str) -> None:
    files.write_bytes(target, pdf)
    if target != files.STANDARD:
        _tell(target, what)


def _limits() -> Limits:
    """The bounds the user has set for everything that is read."""
    from engrave.reading.limits import VARIABLE, limits_from

    return limits_from(os.environ.get(VARIABLE, ""))


def _order(options: dict[str, Any]) -> Order:
    """What the words of the command line ask of every passage."""
    files.check_memory(files.WORKING)
    from engrave.batch import PLAN_KEYS, PLAYER_KEYS, Order

    name = options["plan_file"]
    given = {key: options[key] for key in (*PLAN_KEYS, *PLAYER_KEYS) if options.get(key) not in (None, "")}
    return Order(
        plan=_text(files.read_bytes(name), name) if name else None,
        plan_name=name,
        settings=tuple(given.items()),
        limits=_limits(),
        **{key: options[key] for key in ("part", "voice", "bars")},
    )


def _source(name: str | None, limits: Limits) -> Source:
    """What is in a file, or on standard input, or the built-in passage."""
    from engrave.batch import Source

    if name is None:
        from engrave.line import built_in

        data, name = built_in()
    else:
        data = files.read_bytes(name, limits.file_bytes)
    return Source(name="standard input" if name == files.STANDARD else files.shown(Path(name).name), data=data)


def _asked(passage: str | None, options: dict[str, Any], *, long: bool = False) -> tuple[Passage, Plan]:
    """The passage and the plan that the words of the command line name; a book of ours brings both.

    Only where `long` is set may the passage be longer than what is worth studies.
    """
    from engrave.batch import asked
    from engrave.proposing import HARDEST, hardest, proposals, told
    from engrave.reading.limits import hold_to_studies

    limits = _limits()
    source = _source(passage, limits)
    order = _order(options)
    first = order.bars.strip().lower() == HARDEST
    music, plan = asked(replace(order, bars="") if first else order, source)
    if first:
        music = hardest(music, plan)
    try:
        if not long:
            hold_to_studies(music, limits)
    except PlanError as error:
        raise PlanError(*error.faults, *told(music, proposals(music, plan))) from None
    return music, plan


def _named(asked: tuple[str, ...], music: Passage, plan: Plan) -> tuple[Study, ...]:
    """The studies that are asked for by number, heading or setting; numbers and headings are those of the book."""
    from engrave.line import line_of
    from engrave.regimen import choose
    from engrave.regimen.study_names import study_from

    spelled = all("=" in text for text in asked)
    steps = () if spelled else choose(line_of(music, plan), plan).steps
    return tuple(study_from(text, steps) for text in asked)


def _class(context: click.Context, options: dict[str, Any], plan: Plan) -> tuple[tuple[str, Plan], ...]:
    """(name, plan) of each of a class; empty where there is one player."""
    from engrave.batch import plan_of
    from engrave.regimen import class_plans

    names = context.meta[CLASS]
    if len(names) < 2:
        return tuple((one.player.name, one) for one in class_plans(plan)) if plan.students else ()
    made: list[tuple[str, Plan]] = []
    for name in names:
        for one in class_plans(plan_of(_order({**options, "plan_file": name}))):
            who = one.player.name or files.short(Path(name).stem)
            made.append((who, replace(one, player=replace(one.player, name=who))))
    return tuple(made)


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


def _table(data: bytes, name: str) -> str:
    """The text of a table; programs for tables may write it as UTF-16."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            raise PlanError(Fault(place=Place(file=name), fact="is not UTF-16 text to its end")) from None
    return _text(data, name)


def _text(data: bytes, name: str) -> str:
    if data.startswith(b"%PDF"):
        hint = "a book brings its own plan: give it as the PASSAGE"
        raise PlanError(Fault(place=Place(file=name), fact="is a PDF, not a text", hint=hint))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        fact = f"is not UTF-8 text: byte {problem.start + 1} is {data[problem.start]:#04x}"
        raise PlanError(Fault(place=Place(file=name), fact=fact, hint="save it as UTF-8")) from None


def _stem(passage: str | None) -> str:
    return "study" if passage in (None, files.STANDARD) else files.short(Path(str(passage)).stem)


def _target(output: str, passage: str | None, form: str, *inputs: str) -> str:
    """The file to write: the one asked for, else one named after the passage. Refuses to overwrite what is read."""
    files.check_memory(files.PRINTING)
    target = output or f"{_stem(passage)}-{form}.pdf"
    _no_input(target, passage, *inputs)
    if Path(target).suffix.lower() not in (".pdf", ""):
        fact = f"a {form} is printed as PDF, not as {Path(target).suffix}"
        hint = f"write -o {Path(target).with_suffix('.pdf')}"
        raise PlanError(Fault(place=Place(file=target), fact=fact, hint=hint))
    files.check_writable(target)
    return target


def _no_input(target: str, *inputs: str | None) -> None:
    """Refuses to overwrite what is read, by whatever name."""
    for name in inputs:
        if name and files.same_file(target, name):
            raise PlanError(Fault(fact=f"output {target} is also an input", hint="give another name with -o"))


@contextmanager
def _busy(target: str) -> Iterator[None]:
    """On a terminal, a line that says what is being made, gone when it is there."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield
        return
    said = one_line(f"printing {files.shown(target)} …", 70)
    click.echo(said, err=True, nl=False)
    try:
        yield
    finally:
        click.echo(f"\r{' ' * len(said)}\r", err=True, nl=False)
