"""Lines for the tests of the axes: small passages with a placement on every note."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from engrave.axes import vary
from engrave.instruments import find_hand, find_instrument
from engrave.model import Declined, Event, Note, Passage, Placement, Study, Variation, with_notes
from tests.build import passage


def place(music: Passage, instrument: str = "standard") -> Variation:
    """`music` in the hands: the string and fret its notes name, else the lowest fret, one finger per fret."""
    guitar = find_instrument(instrument)
    changed: dict[str, Note] = {}
    for event in music.events:
        taken: set[int] = set()
        for note in event.notes:
            given = note.given
            stops = [s for s in guitar.stops(note.pitch.midi) if s[0] not in taken]
            if given.string:
                stops = [s for s in stops if s[0] == given.string]
            string, fret = stops[0]
            taken.add(string)
            position = max(1, fret - (given.finger or 1) + 1) if fret > 4 else 1
            finger = given.finger if given.finger is not None else fret - position + 1 if fret else 0
            changed[note.id] = replace(
                note, placement=Placement(string=string, fret=fret, finger=finger if fret else 0, position=position)
            )
    return Variation(passage=with_notes(music, changed), instrument=guitar, hand=find_hand("standard"))


@cache
def line(
    *voices: str, metre: str = "4/4", pickup: bool = False, instrument: str = "standard", fifths: int = 0
) -> Variation:
    """A line from the text notation of tests/build.py."""
    return place(passage(*voices, metre=metre, pickup=pickup, fifths=fifths), instrument)


def refusal(variation: Variation, **settings: str) -> str:
    """Why a line cannot be played under some settings."""
    made = vary(variation, Study(**settings))  # type: ignore[arg-type]
    assert isinstance(made, Declined), made
    return made.reason


def say(variation: Variation | Declined) -> str:
    """Plucking letters in playing order: one a note, + within a chord from the bass, - for a note not plucked."""
    assert isinstance(variation, Variation), variation
    return " ".join(_letters(event) for event in variation.passage.events if event.notes)


def _letters(event: Event) -> str:
    return "+".join(note.stroke.finger if note.stroke else "-" for note in event.notes)


def pluck(variation: Variation, setting: str) -> str:
    """What `say` says under a setting of the pluck axis."""
    return say(vary(variation, Study(pluck=setting)))


TREBLES = "E4/8 F4/8 E4/8 G4/8 B3/8 C4/8 B3/8 D4/8 | G3/8 A3/8 G3/8 B3/8 E4/4 E4/4"
