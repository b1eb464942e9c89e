"""What exports are held against: the W3C schema, and music in a form in which two passages can be compared."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element, fromstring

from engrave.model import Event, Note, Passage, Variation


def _folder(package: str) -> Path:
    spec = find_spec(package)
    assert spec is not None
    assert spec.submodule_search_locations
    return Path(next(iter(spec.submodule_search_locations)))


@cache
def schema() -> Any:
    """The W3C's MusicXML 4.0 schema, which the `musicxml` package carries; its imports come with `xmlschema`."""
    imports = _folder("xmlschema") / "schemas"
    return import_module("xmlschema").XMLSchema(
        str(_folder("musicxml") / "generate_classes" / "musicxml_4_0.xsd"),
        locations={
            "http://www.w3.org/1999/xlink": str(imports / "XLINK" / "xlink.xsd"),
            "http://www.w3.org/XML/1998/namespace": str(imports / "XML" / "xml.xsd"),
        },
    )


def tree(data: bytes) -> Element:
    """The document of an export."""
    return fromstring(data)  # noqa: S314 - written by ourselves a moment ago


def schema_faults(data: bytes) -> list[str]:
    """What the schema says against a document."""
    return [str(error.reason) for error in schema().iter_errors(tree(data))]


def bars(passage: Passage) -> list[tuple[object, ...]]:
    """Every bar; a bar line with a repeat is the repeat's."""
    return [
        (
            bar.label,
            bar.onset,
            bar.length,
            str(bar.metre),
            bar.metre.sign,
            bar.key.fifths,
            bar.key.mode,
            bar.offset,
            bar.repeat_start,
            bar.repeat_end,
            bar.ending,
            "" if bar.repeat_end else bar.barline,
        )
        for bar in passage.bars
    ]


def music(*passages: Passage) -> list[tuple[object, ...]]:
    """Every event of passages played one after another, without ids; brackets are numbered in the order they open."""
    brackets: dict[tuple[int, int], int] = {}
    voices = sorted({voice for passage in passages for voice in passage.voices})
    order = {voice: number for number, voice in enumerate(voices)}
    made: list[tuple[object, ...]] = []
    bar, onset = 0, Fraction(0)
    for number, passage in enumerate(passages):
        for event in passage.events:
            over = tuple(
                (brackets.setdefault((number, t.id), len(brackets)), t.actual, t.normal) for t in event.tuplets
            )
            heads = tuple(
                (n.pitch.midi if n.muted else str(n.pitch), n.tied_back, n.tied_on, n.muted) for n in event.notes
            )
            value = None if event.bar_rest else (event.value.kind, event.value.dots)
            place = (event.bar + bar, order[event.voice], event.onset + onset, event.duration, value, over)
            made.append((*place, heads, event.grace, event.slash, event.space, event.bar_rest, event.marks))
        bar, onset = bar + len(passage.bars), onset + passage.bars[-1].end
    return made


def hands(*passages: Passage) -> list[tuple[object, ...]]:
    """String, fret, finger, plucking letter and rest stroke of each note; a tied note has place but no finger."""
    return [_hand(note) for passage in passages for note in passage.notes]


def _hand(note: Note) -> tuple[object, ...]:
    place, stroke = note.placement, note.stroke
    string, fret = (place.string, place.fret) if place else (note.given.string, note.given.fret)
    finger = place.finger if place else note.given.finger
    pluck = stroke.finger if stroke else note.given.pluck
    kind = stroke.kind if stroke else note.given.stroke
    if note.tied_back:
        return (string, fret)
    return (string, fret, None if note.muted else finger, pluck, kind == "rest")


def curves(*passages: Passage) -> list[tuple[str, int, int]]:
    """Slurs of every kind by the order of their notes; those of the fretting hand by their technique."""
    made: list[tuple[str, int, int]] = []
    first = 0
    for passage in passages:
        order = {note.id: number for number, note in enumerate(passage.notes, start=first)}
        notes = {note.id: note for note in passage.notes}
        made += [(slur.kind, order[slur.start], order[slur.stop]) for slur in passage.slurs]
        for note in notes.values():
            if note.slurred_from:
                before = notes[note.slurred_from]
                kind = "hammer-on" if note.pitch.midi > before.pitch.midi else "pull-off"
                made.append(("slide" if note.slide else kind, order[before.id], order[note.id]))
        first += len(notes)
    return sorted(made)


def struck(variation: Variation) -> list[tuple[Fraction, int]]:
    """(start in quarters, MIDI number) of every note that is not tied back or a grace."""
    found: list[tuple[Event, Note]] = [(e, n) for e in variation.passage.events for n in e.notes]
    return sorted((e.onset, n.pitch.midi) for e, n in found if not n.tied_back and not e.grace)
