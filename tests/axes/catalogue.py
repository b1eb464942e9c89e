"""The catalogue as a table: each family of settings, what it trains, and a few notes before and after.

`python -m tests.axes.catalogue` writes it to examples/catalogue.md. Settings stand in one row where they differ in
nothing but numbers and fingers; words and notes are then those of the first.

The notes come from small lines of our own, so that the table shows what the code does. │ is a bar line; how the notes
are written depends on the axis:

- strings, fret: string in a circle, fret, finger: ①3-4, ②0
- rhythm: E4/8. is a dotted eighth, r a rest, ~ a note tied from before, ³ a tuplet's figure
- slurs: pitches; a note that is slurred stands after ⌣
- pluck: letters under way, + within a chord
- stroke: letters, the rest strokes underlined: i̲
- accent: pitches, the accented ones after >
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

from engrave.axes import ORDER, Axis, Setting, alike, vary
from engrave.axes.moves import CIRCLED
from engrave.instruments import find_hand, find_instrument
from engrave.model import (
    Bar,
    Declined,
    Event,
    Given,
    Key,
    Metre,
    Note,
    Passage,
    Pitch,
    Placement,
    Study,
    Value,
    Variation,
)
from engrave.model.spelling import spell

PATH = Path(__file__).resolve().parents[2] / "examples" / "catalogue.md"
_FINGERS = re.compile(
    r"\b(?:(?:thumb|(?:index|middle|ring|little) finger)|[pimac](?=[-+ .,:]|\Z)|first|second|third)\b"
)
_NUMBERS = re.compile(
    r"[0-9①-⑩]+|\b(?:two|three|four|five|six|seven|eight|twos|threes|fours|fives|sixes|fourth|fifth|sixth)\b"
)
_HEAD = """# The catalogue

A study is one setting on each axis, in any mixture; the axes apply in this order, and a later one sees what an earlier
one did. Where a row names several settings, words and notes are those of the first. │ is a bar line. Notes stand as
string, fret and finger (②3-4: third fret of the second string, finger 4), as pitch and length (E4/8. is a dotted
eighth, r a rest, ~ tied from before, ³ a tuplet), as pitches (⌣ slurred, > accented) or as plucking letters
(underlined: rest stroke). `python -m tests.axes.catalogue` writes this file from the settings themselves."""

LINES = (
    "1.1.1 1.0 1.3.4 1.0 | 2.1.1 2.0 2.3.4 2.0",
    "1.5.1 1.6.2 1.5.1 1.7.3 | 1.5.1 1.8.4 1.6.2 1.7.3 | 1.6.2 1.8.4 1.7.3 1.8.4",
    "3.2.1 3.4.3 3.2.1 4.4.3 | 4.2.1 4.4.3 3.2.1 3.2.1",
    "5.3.3+4.2.2+2.1.1+1.0:4 5.3.3+4.2.2+2.1.1+1.0:4",
    "5.3.3 4.2.2 3.0 2.1.1 | 1.0 2.1.1 3.0 4.2.2",
    "1.3.3+2.0 1.1.1 1.3.3+2.0 1.0",
    "1.10.2 1.9.1 1.11.3 1.9.1 | 1.12.4 1.9.1 1.11.3 1.10.2 | 1.12.4 1.10.2 1.12.4 1.11.3",
    "1.1.1>_ ^1.0 1.3.4>_ ^1.0 | 2.1.1>_ ^2.0 2.3.4>_ ^2.0",
    "5.3.3 3.0 2.1.1 1.0 | 5.3.3 3.0 2.1.1 1.0",
    "4.2.2 3.0 2.1.1 3.0 | 4.2.2 3.0 2.1.1 3.0",
    "3.0 2.1.1 1.0 2.1.1 | 3.0 2.1.1 1.0 2.1.1",
    "5.3.3 3.0 2.1.1 1.0 2.1.1 3.0 | 5.3.3 3.0 2.1.1 1.0 2.1.1 3.0",
    "4.2.2 3.0 2.1.1 4.2.2 3.0 2.1.1 | 4.2.2 3.0 2.1.1 4.2.2 3.0 2.1.1",
    "3.0 2.1.1 1.0 3.0 2.1.1 1.0 | 3.0 2.1.1 1.0 3.0 2.1.1 1.0",
    "5.3.3 1.0 2.1.1 3.0 | 5.3.3 1.0 2.1.1 3.0",
    "4.2.2 2.1.1 3.0 2.1.1 | 4.2.2 2.1.1 3.0 2.1.1",
    "3.0 1.0 2.1.1 1.0 | 3.0 1.0 2.1.1 1.0",
    "5.3.3 1.0 2.1.1 3.0 2.1.1 1.0 | 5.3.3 1.0 2.1.1 3.0 2.1.1 1.0",
    "4.2.2 2.1.1 3.0 4.2.2 2.1.1 3.0 | 4.2.2 2.1.1 3.0 4.2.2 2.1.1 3.0",
    "3.0 1.0 2.1.1 3.0 1.0 2.1.1 | 3.0 1.0 2.1.1 3.0 1.0 2.1.1",
    "5.0 1.0 1.0 1.0 | 4.2.2 1.0 1.0 1.0",
    "5.0+1.0 1.1.1 5.0+1.3.3 1.1.1 | 6.0+1.0 2.3.4 6.0+2.1.1 2.0",
)
"""string.fret.finger, + within a chord; ^ before a slurred note, > after an accented one, _ after a rest stroke;
eighths, and :4 after a quarter; bars of two quarters, or of six eighths"""


def catalogue_markdown() -> str:
    """The whole of examples/catalogue.md: every axis with its families of settings, in order."""
    blocks = [_HEAD]
    for axis in ORDER:
        rows = [f"## `{axis.name}`: {axis.title.lower()}", ""]
        rows.append(f"Left alone: `{axis.default}`." + (f" Patterns: {axis.grammar}." if axis.grammar else ""))
        rows += ["", "| settings | what it trains | before | after |", "|---|---|---|---|"]
        for family in families(axis):
            shown = next((one for one in family if len(set(example(axis, one))) > 1), family[0])
            names = ", ".join(f"`{one.name}`" for one in (shown, *(one for one in family if one is not shown)))
            rows.append(f"| {names} | {shown.purpose} | {' | '.join(example(axis, shown))} |")
        blocks.append("\n".join(rows))
    return "\n\n".join(blocks) + "\n"


def families(axis: Axis) -> list[list[Setting]]:
    """The settings of an axis but its default, those together that differ in nothing but numbers and fingers."""
    found: dict[tuple[str, ...], list[Setting]] = {}
    for setting in axis.settings:
        if setting.name != axis.default:
            alike_in = (setting.kind, *setting.fits, _masked(setting.name), _masked(setting.purpose))
            found.setdefault(alike_in, []).append(setting)
    return list(found.values())


def _masked(text: str) -> str:
    """A text with its numbers, strings and fingers left out."""
    text = _FINGERS.sub("#", text)
    return re.sub(r"#(?:[-+ ,]*(?:and )?#)*", "#", _NUMBERS.sub("#", text)).replace("frets", "fret")


@cache
def example(axis: Axis, setting: Setting) -> tuple[str, str]:
    """A few notes without and with a setting; two dashes where none of the small lines shows it."""
    shown = ("–", "–")
    for text in LINES:
        line = line_of(text)
        cycle = "i-m" if axis.name in ("accent", "stroke") else "as given"
        plain = vary(line, Study(pluck=cycle))
        if isinstance(plain, Declined):
            cycle = "as given"
            plain = vary(line, Study())
        made = vary(line, Study(**{"pluck": cycle, axis.name: setting.name}))  # type: ignore[arg-type]
        if isinstance(plain, Declined) or isinstance(made, Declined):
            continue
        shown = (picture(plain, axis.name), picture(made, axis.name))
        if not alike(plain, made):
            break
    return shown


def picture(variation: Variation, axis: str) -> str:
    """The upper voice in one line of text, as this axis looks at it."""
    passage = variation.passage
    bars = []
    for index in range(len(passage.bars)):
        here = [e for e in passage.events if e.bar == index]
        bars.append(" ".join(_token(e, axis) for e in here if e.notes or axis == "rhythm"))
    words = [d.text for d in passage.directions if d.kind == "words"]
    return " ".join([*words, " │ ".join(bar for bar in bars if bar)])


def _token(event: Event, axis: str) -> str:
    if axis == "rhythm":
        return _timed(event)
    if axis in ("pluck", "stroke"):
        text = "+".join(_letter(note) for note in event.notes)
    elif axis in ("strings", "fret"):
        text = "+".join(_place(note.placement) for note in event.notes if note.placement)
    else:
        text = "+".join(str(note.pitch) for note in event.notes)
    if axis == "slurs" and any(note.slurred_from for note in event.notes):
        return f"⌣{text}"
    return f">{text}" if axis == "accent" and "accent" in event.marks else text


def _timed(event: Event) -> str:
    back = "~" if any(note.tied_back for note in event.notes) else ""
    text = back + ("+".join(str(note.pitch) for note in event.notes) or "r")
    figure = "".join("²³⁴⁵⁶⁷⁸⁹"[t.actual - 2] for t in event.tuplets)
    short = "!" if "staccato" in event.marks else ""
    return f"{text}/{event.value.kind}{'.' * event.value.dots}{figure}{short}"


def _letter(note: Note) -> str:
    if note.stroke is None:
        return "·"
    return note.stroke.finger + ("\u0332" if note.stroke.kind == "rest" else "")


def _place(place: Placement) -> str:
    finger = f"-{place.finger}" if place.fret else ""
    return f"{CIRCLED[place.string - 1]}{place.fret}{finger}"


@cache
@cache
def line_of(text: str) -> Variation:
    """A small line from its text, see LINES."""
    guitar = find_instrument("standard")
    six = len(text.partition("|")[0].split()) == 6
    metre = Metre(beats=(6,), unit=8) if six else Metre(beats=(2,), unit=4)
    bars: list[Bar] = []
    events: list[Event] = []
    for index, words in enumerate(text.split("|")):
        bar = Bar(label=str(index + 1), onset=metre.length * index, length=metre.length, metre=metre)
        at = bar.onset
        for word in words.split():
            what, _, kind = word.strip("^>_").partition(":")
            value = Value(kind=int(kind or 8))
            number = len(events)
            notes = [_note(place, f"n{number}.{place}", guitar.strings) for place in what.split("+")]
            if "_" in word:
                notes = [replace(note, given=Given(stroke="rest")) for note in notes]
            if "^" in word:
                notes = [replace(note, slurred_from=events[-1].notes[0].id) for note in notes]
            events.append(
                Event(
                    id=f"e{number}",
                    bar=index,
                    voice=1,
                    onset=at,
                    duration=value.quarters,
                    value=value,
                    notes=tuple(sorted(notes, key=lambda note: note.pitch.midi)),
                    marks=("accent",) if ">" in word else (),
                )
            )
            at += value.quarters
        bars.append(replace(bar, barline="final") if index == text.count("|") else bar)
    passage = Passage(bars=tuple(bars), events=tuple(events))
    return Variation(passage=passage, instrument=guitar, hand=find_hand("standard"))


def _note(text: str, name: str, strings: tuple[Pitch, ...]) -> Note:
    string, fret, finger = ([int(x) for x in text.split(".")] + [0])[:3]
    pitch = spell(strings[string - 1].midi + fret, Key())
    position = max(1, fret - finger + 1) if fret else 1
    return Note(id=name, pitch=pitch, placement=Placement(string=string, fret=fret, finger=finger, position=position))


if __name__ == "__main__":
    PATH.write_text(catalogue_markdown(), encoding="utf-8")
