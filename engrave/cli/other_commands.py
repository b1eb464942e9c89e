"""The commands that print nothing: export, log, plan, studies, survey."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from engrave.cli import asking, files, writing
from engrave.cli.asking import asked_for
from engrave.cli.delivering import no_input
from engrave.cli.options import (
    FILE,
    complete,
    days_option,
    depth_option,
    json_option,
    one_passage,
    only_option,
    passage_options,
)
from engrave.cli.saying import busy, heed, say, tell
from engrave.model import FORMATS, LEVELS, PICTURES, Fault, Place, PlanError

if TYPE_CHECKING:
    from engrave.model import Notice

WRITTEN = re.compile(r"\d{2,4}-[a-z0-9-]+\.(?:musicxml|mxl|mid)\Z")
"""names that `export` gives its files"""

_WRITTEN_AS = {".mid": "midi", ".midi": "midi", ".mxl": "mxl", ".musicxml": "musicxml", ".xml": "musicxml"}
"""ending of a file → the format of an export that is meant"""


@click.command()
@one_passage
@depth_option
@only_option
@click.option(
    "-o", "--output", default="", metavar="FOLDER", type=FILE, help="Folder to write into; it is made if need be."
)
@click.option(
    "--format", "form", type=click.Choice([*FORMATS, *PICTURES]), default="musicxml",
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
        writing.check_writable(folder)
    else:
        writing.check_folder(folder)
    with busy(folder):
        music, plan = asked_for(passage, options)
        made = (
            pictured(music, plan, form=form)
            if form in PICTURES
            else written(music, plan, form=form, tempo=steps, **sounding)
        )
    for target in [folder] if packed else [str(Path(folder) / name) for name in made]:
        no_input(target, passage, options["plan_file"])
    if packed:
        writing.write_bytes(folder, writing.zipped(made))
    else:
        writing.check_left(folder, made, WRITTEN)
        writing.write_folder(folder, made)
    heed(music.notices)
    tell(folder, f"{len(made)} files")


@click.command()
@one_passage
@json_option
def studies(passage: str | None, as_json: bool, **options: Any) -> None:
    """List every setting of every axis; with PASSAGE, what applies to it and why the rest does not."""
    from engrave import report
    from engrave.line import line_of

    line = None
    notices: tuple[Notice, ...] = ()
    if passage:
        with busy("the list"):
            music, plan = asked_for(passage, options)
            line, notices = line_of(music, plan), music.notices
        heed(notices)
    rows = report.catalogue(line)
    told = {"notices": [str(one) for one in notices], "axes": rows}
    say(_as_json(told) if as_json else report.catalogue_text(rows))


@click.command()
@one_passage
@json_option
def survey(passage: str | None, as_json: bool, **options: Any) -> None:
    """Compare the best fingerings of PASSAGE, and say why each note takes its finger."""
    from engrave import report
    from engrave.line import surveyed

    with busy("the survey"):
        music, plan = asked_for(passage, options, long=True)
        found = surveyed(music, plan)
    rows = report.survey_rows(found, music, plan)
    heed(music.notices)
    say(_as_json(rows) if as_json else report.survey_text(rows, found))


def _as_json(values: dict[str, Any]) -> str:
    import json

    return json.dumps(values, ensure_ascii=False, indent=1)


@click.command()
@click.option(
    "-o",
    "--output",
    default=files.STANDARD,
    metavar="PLAN.toml",
    type=FILE,
    help="File to write; - is standard output.",
)
@click.option(
    "--for",
    "weak",
    multiple=True,
    metavar="TERM",
    shell_complete=complete("regimen.terms", "known_terms"),
    help="What does not go well yet: m-a, finger 4, slurs …; several times, or with commas.",
)
@click.option(
    "--goal",
    "goals",
    multiple=True,
    metavar="TERM",
    shell_complete=complete("regimen.terms", "known_terms"),
    help="What the practice is for.",
)
@click.option("--minutes", type=click.IntRange(1, 600), help="Minutes there are on a practice day.")
@click.option("--name", default="", metavar="NAME", help="Who practises.")
@click.option("--level", type=click.Choice(LEVELS), help="How far the player is.")
@days_option
def plan(output: str, **said: Any) -> None:
    """Write a plan: a finished one for what is said, else a starter that explains every key."""
    from engrave.model import Player
    from engrave.regimen import finished_plan, terms_asked, write_plan

    given = {key: value for key, value in said.items() if value not in (None, "", ())}
    for key, option in (("weak", "--for"), ("goals", "--goal")):
        if key in given:
            given[key] = terms_asked(given[key], option)
    writing.write_bytes(output, (finished_plan(Player(**given)) if given else write_plan()).encode())


@click.command()
@click.argument("passage", metavar="BOOK.pdf", type=FILE)
@passage_options
@click.option("-o", "--output", default=files.STANDARD, metavar="LOG.csv", help="File to write; - is standard output.")
def log(passage: str, output: str, **options: Any) -> None:
    """Write an empty log for BOOK.pdf, or for a passage: the table `week --log` reads, with the names filled in."""
    from engrave.editions import opened
    from engrave.line import line_of
    from engrave.regimen import choose, log_table

    if passage.lower().endswith(".pdf"):
        limits = asking.user_limits()
        old = opened(files.read_bytes(passage, limits.file_bytes), passage, limits)
        music, plan = old.passage, old.chosen
    else:
        music, plan = asked_for(passage, options)
    regimen = choose(line_of(music, plan), plan)
    no_input(output, passage)
    writing.write_bytes(output, log_table(regimen, language=plan.marks.language).encode())
