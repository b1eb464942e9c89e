"""Where what was printed goes: the file that is asked for, all of it or one page, folded or flat."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from engrave.cli import asking, files, writing
from engrave.cli.saying import say, tell
from engrave.model import Fault, Place, PlanError
from engrave.model.errors import one_line

if TYPE_CHECKING:
    from engrave.pages import BookContent

PREVIEW = 3
"""pages of music that a preview shows"""


def target_of(output: str, passage: str | None, form: str, options: dict[str, Any], *inputs: str) -> str:
    """The file to write: the one asked for, else one named after the passage. Refuses to overwrite what is read."""
    files.check_memory(files.PRINTING)
    page = re.sub(r"\W", "", options["page"])
    target = output or f"{asking.stem_of(passage)}-{form}{f'-page-{page}' if page else ''}.pdf"
    no_input(target, passage, options["plan_file"], *inputs)
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
        writing.check_writable(target)
    return target


def no_input(target: str, *inputs: str | None) -> None:
    """Refuses to overwrite what is read, by whatever name."""
    for name in inputs:
        if name and files.same_file(target, name):
            raise PlanError(Fault(fact=f"output {target} is also an input", hint="give another name with -o"))


def one_alone(options: dict[str, Any], what: str) -> None:
    """Refuses options that are for one printed file where there are several."""
    for key, name in (("page", "--page"), ("preview", "--preview"), ("dry_run", "--dry-run"), ("show", "--open")):
        if options[key]:
            raise click.UsageError(f"{name} is for one printed file, not for those {what}", click.get_current_context())


def folded_if(pdf: bytes, options: dict[str, Any]) -> bytes:
    """The PDF, as a booklet where one is asked for."""
    from engrave.pages import booklet

    return booklet(pdf) if options["booklet"] else pdf


def deliver(target: str, pdf: bytes, made: BookContent, what: str, options: dict[str, Any]) -> None:
    """Write what was printed: all of it or one page, folded or flat; or say only what it would be."""
    from engrave.pages import labels_of, page_alone

    if options["dry_run"]:
        from engrave.report import outline

        labels = labels_of(pdf)
        say(f"{files.shown(target)} would have {len(labels)} page{'s' * (len(labels) > 1)}, {what}\n{outline(made)}")
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
    writing.write_bytes(target, folded_if(pdf, options))
    if target != files.STANDARD:
        tell(target, what)
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
    writing.write_folder(str(path.parent), made)
    for name in made:
        tell(str(path.parent / name), "a picture of that page")
