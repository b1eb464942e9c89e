"""The commands that print: book, week, handout, reissue."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from engrave.cli import asking, files, writing
from engrave.cli.asking import asked_for, planned
from engrave.cli.completing import settings
from engrave.cli.delivering import deliver, folded_if, no_input, one_alone, target_of
from engrave.cli.options import (
    CLASS,
    FILE,
    chosen_pages,
    days_option,
    delivery_options,
    depth_option,
    only_option,
    page_options,
    pages_option,
    passage_options,
    start_option,
)
from engrave.cli.saying import busy, heard_of, heed, say, tell
from engrave.model import FORMS, EngraveError, Fault, Place, PlanError

if TYPE_CHECKING:
    from datetime import date

    from engrave.batch import Order, Source
    from engrave.model import Passage, Plan


@click.command()
@click.argument("passages", nargs=-1, metavar="[PASSAGE]...", type=FILE)
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
        one_alone(options, "of several passages")
        _books(passages, output, options)
        return
    passage = passages[0] if passages else None
    target = target_of(output, passage, "book", options)
    with busy(target):
        from engrave import line

        made = line.make(*asked_for(passage, options))
        pdf = line.press(made)
    deliver(target, pdf, made, f"{len(made.sheets)} variations", options)


@click.command()
@chosen_pages
@start_option
@days_option
@click.option("--weeks", type=click.IntRange(1, 12), default=1, show_default=True, help="Weeks one after another.")
@click.option("--log", default="", metavar="LOG.csv", type=FILE, help="What was practised, as a table.")
@click.pass_context
def week(
    context: click.Context, /, passage: str | None, output: str, start: date | None, log: str, **options: Any
) -> None:
    """Print a week of practice on PASSAGE: a table of its days, and the variations it needs.

    Several plans, or one with [[student]] tables, make a class: a week for each, and a summary for the teacher.
    """
    target = target_of(output, passage, "week", options, log)
    with busy(target):
        from engrave import line
        from engrave.editions import make_week
        from engrave.regimen import LOGGED, read_log

        done = read_log(asking.table_of(files.read_bytes(log), log), log) if log else None
        music, plan = asked_for(passage, options)
        if plans := asking.class_of(context.meta[CLASS], options, plan):
            one_alone(options, "of a class")
            if done:
                raise PlanError(
                    Fault(fact="a log is one player's, and this is a class", hint="give one plan with --log")
                )
            _print_class(music, plans, "week", target, start=start, weeks=options["weeks"])
            return
        made = make_week(music, plan, start=start, log=done, weeks=options["weeks"])
        pdf = line.press(made)
    for notice in made.regimen.notices:
        if done and (notice in done.notices or notice.kind == LOGGED):
            click.echo(f"engrave: {notice}", err=True)
    days = sum(bool(day.visits) for day in made.regimen.days)
    deliver(target, pdf, made, f"{days} days, {len(made.sheets)} variations", options)


@click.command()
@chosen_pages
@pages_option
@click.option(
    "--study",
    "asked",
    multiple=True,
    metavar="NAME",
    shell_complete=settings,
    help="A study to print, by its heading, its number in the book, or its setting; give it once for each.",
)
@click.pass_context
def handout(
    context: click.Context, /, passage: str | None, output: str, pages: int, asked: tuple[str, ...], **options: Any
) -> None:
    """Print one or two pages of chosen studies of PASSAGE for a student.

    Several plans, or one with [[student]] tables, make a class: a handout for each, and a summary for the teacher.
    """
    target = target_of(output, passage, "handout", options)
    with busy(target):
        from engrave.editions import make_handout

        music, plan = asked_for(passage, options)
        if asked:
            plan = replace(plan, studies=asking.studies_named(asked, music, plan))
        if plans := asking.class_of(context.meta[CLASS], options, plan):
            one_alone(options, "of a class")
            _print_class(music, plans, "handout", target, pages=pages)
            return
        made, pdf = make_handout(music, plan, pages=pages)
    deliver(target, pdf, made, f"{len(made.sheets)} {'study' if len(made.sheets) == 1 else 'studies'}", options)


@click.command()
@click.argument("old", metavar="BOOK.pdf", type=FILE)
@click.argument("passage", metavar="NEW_PASSAGE", type=FILE)
@passage_options
@page_options
@delivery_options
@pages_option
@start_option
@click.option(
    "--as",
    "form",
    type=click.Choice(FORMS),
    help="What to print, if not the same as BOOK.pdf.",
)
def reissue(old: str, passage: str, output: str, form: str | None, **options: Any) -> None:
    """Print the regimen of BOOK.pdf for NEW_PASSAGE, saying what no longer applies and what took its place."""
    files.check_memory(files.PRINTING)
    from engrave.editions import make_reissue, opened

    order = asking.order_of(options)
    book_file = asking.source_of(old, order.limits)
    new = asking.source_of(passage, order.limits)
    before = opened(book_file.data, book_file.name, order.limits)
    form = form or before.form
    target = target_of(output, passage, form, options, old)
    with busy(target):
        from engrave.batch import asked
        from engrave.reading.limits import hold_to_studies

        hold_to_studies(before.passage, order.limits)
        music, plan = asked(order, new, before.plan)
        made, pdf = make_reissue(before, music, plan, form=form, pages=options["pages"], start=options["start"])
    deliver(target, pdf, made, f"{len(made.sheets)} variations; {made.regimen.verdict}", options)


def _books(passages: tuple[str, ...], output: str, options: dict[str, Any]) -> None:
    """Print a book of each passage into the folder `output`; the faults of those that cannot be printed come last."""
    from engrave.batch import plan_of, print_books
    from engrave.model import Notice
    from engrave.reading.doors import without_music

    files.check_memory(files.PRINTING)
    names, folder = files.passages(passages), Path(output or ".")
    targets = files.targets(names, str(folder), "book")
    writing.check_folder(str(folder))
    for target in targets.values():
        no_input(str(folder / target), *names, options["plan_file"])
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
            heed([Notice(text="there is no music in it; passed over", place=Place(file=files.shown(name)))])
        else:
            own = order if options["plan_file"] or not asking.plan_beside(name) else None
            sources.append((own or asking.order_of(planned(name, options)), source))
    printed, wanted = 0, len(sources) + len(faults)
    for made in heard_of(print_books(sources, jobs=options["jobs"]), [source.name for _, source in sources]):
        if made.pdf:
            target = targets[made.name]
            writing.write_folder(str(folder), {target: folded_if(made.pdf, options)})
            tell(str(folder / target), f"{made.variations} variations")
            printed += 1
        for fault in made.faults:
            faults.append(fault if fault.place.file else replace(fault, place=Place(file=made.name)))
    say(f"{printed} of {wanted} books printed")
    if faults:
        raise EngraveError(*faults)


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
    writing.write_folder(str(path.parent), made)
    for name in made:
        tell(str(path.parent / name), "the teacher's summary" if name.endswith("-class.pdf") else f"a {form}")
