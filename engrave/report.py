"""What the commands that print words print: plain text for people, plain values for `--json`. Pure."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from engrave.axes import ORDER, heading, vary
from engrave.axes.letters import letters
from engrave.axes.rewriting import given
from engrave.axes.setting import Axis, Setting
from engrave.model import Declined, Passage, Place, Plan, Study, Texture, Variation
from engrave.model.errors import beat_text
from engrave.textures import textured

if TYPE_CHECKING:
    from engrave.fretting.surveyed import Fingering, Survey
    from engrave.pages import BookContent

WIDTH = 100
"""columns of the plain text"""


def catalogue(line: Variation | None) -> list[dict[str, Any]]:
    """Every axis with its settings: what each trains, heading, cue, source; with a line, whether it applies."""
    return [
        {
            "axis": axis.name,
            "title": axis.title,
            "default": axis.default,
            "patterns": axis.grammar,
            "settings": [_setting(axis, setting, line) for setting in axis.settings],
        }
        for axis in ORDER
    ]


def _setting(axis: Axis, setting: Setting, line: Variation | None) -> dict[str, Any]:
    asked: dict[str, Any] = {axis.name: setting.name}
    study = Study(**asked)
    row: dict[str, Any] = {
        "name": setting.name,
        "label": setting.label,
        "heading": heading(study),
        "trains": setting.purpose,
        "cue": setting.cue,
        "source": setting.source,
    }
    if line is not None:
        made = vary(line, study)
        row["applies"] = not isinstance(made, Declined)
        if isinstance(made, Declined):
            row["why"] = made.reason
            if made.place:
                row["place"] = made.place
    return row


def catalogue_text(rows: list[dict[str, Any]]) -> str:
    """`catalogue` as text: an axis a block, a setting a paragraph, with the heading that its page carries.

    "-" stands before what does not apply, with the reason.
    """
    blocks = []
    for axis in rows:
        lines = [f"{axis['axis']}: {axis['title']} (left alone: {axis['default']})"]
        if axis["patterns"]:
            lines.append(f"  patterns: {axis['patterns']}")
        for row in axis["settings"]:
            said = f"“{row['heading']}”. {row['trains']}".strip()
            if row.get("applies") is False:
                where = f"{row['place']}: " if row.get("place") else ""
                said = f"“{row['heading']}” does not apply: {where}{row['why']}"
            sign = "-" if row.get("applies") is False else " "
            head = f"{sign} {row['name']}"
            lines += textwrap.wrap(said, WIDTH, initial_indent=f"{head:<26} ", subsequent_indent=" " * 27)
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks)


def outline(content: BookContent) -> str:
    """What a book, a handout or a week holds, a line each: number, heading, minutes of one sitting; and their sum."""
    steps = [sheet.step for sheet in content.sheets]
    lines = [
        f"{sheet.number:3}  {sheet.variation.title}: {_minutes(step.load.minutes)}, {_steps(step.tempo)}"
        for sheet, step in zip(content.sheets, steps, strict=True)
    ]
    days = [f"     {day.label}: {_minutes(day.minutes)}" for day in content.regimen.days if day.visits]
    if not days:
        lines.append(f"     all once: {_minutes(sum(step.load.minutes for step in steps))}")
    return "\n".join([*lines, *days])


def _minutes(minutes: float) -> str:
    return f"{max(1, round(minutes))} min"


def _steps(tempo: Sequence[int]) -> str:
    return "at " + ", ".join(map(str, tempo))


def survey_rows(found: Survey, passage: Passage, plan: Plan) -> dict[str, Any]:
    """A survey as plain values: textures, fingerings with their figures and placements, and reasons for both hands.

    Raises PlanError for textures of the plan that do not fit the passage.
    """
    where = {
        note.id: {"bar": passage.bars[event.bar].label, "beat": _beat(passage.place(event)), "pitch": str(note.pitch)}
        for event in passage.events
        for note in event.notes
    }
    line = textured(replace(found.fingerings[0].variation, habits=plan.habits), plan.textures)
    return {
        "textures": [_texture(span, passage) for span in line.textures],
        "letters": [
            {**where[name], "finger": letter.finger, "why": letter.why}
            for name, letter in letters(line, given(line)).items()
        ],
        "fingerings": [_fingering(one) for one in found.fingerings],
        "notices": [str(notice) for notice in passage.notices],
        "reasons": [
            {
                **where[reason.note],
                "string": reason.string,
                "finger": reason.finger,
                "instead": reason.instead,
                "dearer": round(reason.dearer, 3),
                "why": reason.words,
            }
            for reason in found.reasons
        ],
    }


def _texture(span: Texture, passage: Passage) -> dict[str, Any]:
    inside = [bar.label for bar in passage.bars if bar.onset < span.end and bar.end > span.start]
    return {
        "where": f"bar {inside[0]}" if len(inside) == 1 else f"bars {inside[0]}-{inside[-1]}",
        "bars": inside[0] if len(inside) == 1 else f"{inside[0]}-{inside[-1]}",
        "from_quarter": str(span.start),
        "to_quarter": str(span.end),
        "texture": span.kind,
        "why": span.why,
    }


def _fingering(one: Fingering) -> dict[str, Any]:
    figures = one.figures
    return {
        "name": one.name,
        "dearer": one.dearer,
        "words": one.words,
        "shifts": figures.shifts,
        "travel_mm": figures.travel,
        "reach_mm": figures.reach,
        "reach_at": _within(figures.reach_at),
        "stretches": figures.stretches,
        "barres": figures.barres,
        "crossings": figures.crossings,
        "open": figures.opens,
        "let_go_s": figures.let_go,
        "let_go_at": _within(figures.let_go_at),
        "fingers": {str(finger): count for finger, count in figures.fingers},
        "positions": {str(position): count for position, count in figures.positions},
        "strings": {str(string): count for string, count in figures.strings},
        "placements": [
            {
                "note": note.id,
                "string": note.placement.string,
                "fret": note.placement.fret,
                "finger": note.placement.finger,
            }
            for note in one.variation.passage.notes
            if note.placement
        ],
    }


def _within(place: Place | None) -> str:
    """Where in the passage; the file is known."""
    return place.inside if place else ""


def _beat(place: Place) -> str:
    return beat_text(place.beat) if place.beat is not None else ""


_FIGURES = (
    ("changes of position", "shifts"), ("way of the hand, mm", "travel_mm"), ("widest reach, mm", "reach_mm"),
    ("  there", "reach_at"), ("stretches beyond comfort", "stretches"), ("barres laid", "barres"),
    ("changes of string", "crossings"), ("open notes", "open"), ("shortest letting go, s", "let_go_s"),
    ("  there", "let_go_at"), ("notes for each finger", "fingers"), ("notes in each position", "positions"),
    ("notes on each string", "strings"),
)  # fmt: skip
"""what the text prints, a row each: words, key"""


def survey_text(rows: dict[str, Any], found: Survey) -> str:
    """`survey_rows` as text: figures side by side, how the fingerings differ, a neck for the best, and the reasons."""
    made = rows["fingerings"]
    table = [["", *(one["name"] for one in made)]]
    table += [[words, *(_cell(one[key]) for one in made)] for words, key in _FIGURES]
    widths = [max(len(row[column]) for row in table) for column in range(len(table[0]))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in table]
    lines += ["", *(f"{one['name']}: {one['words']}" for one in made if one["words"])]
    lines += ["", "The best fingering on the neck (finger digits; o is an open string):", *_neck(found.fingerings[0])]
    lines += ["", "What the passage is made of:"]
    lines += [f"  {row['where']}: {row['texture']}: {row['why']}" for row in rows["textures"]]
    lines += ["", "Why each note takes its plucking finger:"]
    lines += [f"  {_at(row)}: {row['finger']}, {row['why']}" for row in rows["letters"]]
    lines += ["", "Why each note takes its fretting finger:"]
    lines += [f"  {_at(row)}: {row['why']}" for row in rows["reasons"]]
    return "\n".join(lines)


def _at(row: dict[str, Any]) -> str:
    return f"bar {row['bar']}, beat {row['beat']}, {row['pitch']}"


def _cell(value: Any) -> str:
    if isinstance(value, dict):
        return " ".join(f"{key}:{count}" for key, count in value.items())
    return "-" if value in (None, "") else str(value)


def _neck(one: Fingering) -> list[str]:
    """The neck, the first string on top: under each fret that is used the fingers that stop it."""
    placed: dict[tuple[int, int], set[int]] = {}
    for note in one.variation.passage.notes:
        if note.placement:
            placed.setdefault((note.placement.string, note.placement.fret), set()).add(note.placement.finger)
    frets = range(1, max((fret for _, fret in placed), default=1) + 1)
    rows = []
    for number, string in enumerate(one.variation.instrument.strings, start=1):
        cells = ("".join(map(str, sorted(placed.get((number, fret), ())))).center(4, "-") for fret in frets)
        rows.append(f"  {string.name:<2} {'o' if (number, 0) in placed else ' '} ||{'|'.join(cells)}|")
    return [*rows, "         " + " ".join(str(fret).center(4) for fret in frets)]
