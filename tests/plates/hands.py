"""Both hands by a rule too simple to change, so that pictures and laws of plates do not hang on the fretting engine."""

from __future__ import annotations

from dataclasses import replace

from engrave.instruments import find_hand, find_instrument
from engrave.model import Note, Passage, Placement, Stroke, Variation, with_notes

LETTERS = "pimaca"


def line_of(music: Passage, instrument: str = "standard") -> Variation:
    """Given strings, frets and fingers are kept; else each note goes to its lowest fret on a string of its own.

    Up to the fourth fret the hand lies in the first position, above it with finger 1 on the fret of the lowest note.
    Single notes are plucked i and m in turn, chords p i m a from the lowest note.
    """
    guitar = find_instrument(instrument)
    changed: dict[str, Note] = {}
    held: dict[int, Placement] = {}
    turn = 0
    for event in music.events:
        taken: set[int] = set()
        for k, note in enumerate(event.notes):
            stops = [
                s for s in guitar.stops(note.pitch.midi) if s[0] not in taken and note.given.string in (None, s[0])
            ]
            string, fret = min(stops, key=lambda s: s[1])
            taken.add(string)
            finger = note.given.finger or (0 if not fret else min(fret, 4) if fret <= 4 else 1 + k % 4)
            finger = finger if fret else 0
            place = Placement(
                string=string, fret=fret, finger=finger, position=max(1, fret - finger + 1) if fret else 1
            )
            if note.tied_back and note.pitch.midi in held:
                place = held[note.pitch.midi]
            held[note.pitch.midi] = place
            letter = LETTERS[k] if len(event.notes) > 1 else "p" if event.voice > 1 else "im"[turn % 2]
            stroke = None if note.tied_back else Stroke(finger=letter)
            changed[note.id] = replace(note, placement=place, stroke=stroke)
        turn += bool(event.notes)
    return Variation(passage=with_notes(music, changed), instrument=guitar, hand=find_hand("standard"))
