"""A passage moved by whole octaves, where its file leaves open in which it is meant."""

from __future__ import annotations

from dataclasses import replace

from engrave.model import Note, Notice, Passage, PlanError
from engrave.model.said import say, say_count

AN_OCTAVE_LOWER = say("read an octave lower than written, as guitar music on a plain treble clef sounds")
TOO_LOW = say("read at its written pitch: an octave lower it would lead below the lowest string")
_LOWEST, _HIGHEST = 0, 127
"""what MIDI counts"""


def moved(passage: Passage, octaves: int) -> Passage:
    """The passage so many octaves higher, or lower; without a word about it. Raises ValueError beyond MIDI's range."""
    if not octaves:
        return passage
    pitches = [note.pitch.midi + 12 * octaves for note in passage.notes]
    if pitches and not (min(pitches) >= _LOWEST and max(pitches) <= _HIGHEST):
        raise ValueError(f"{octaves} octaves lead out of what MIDI counts")

    def shifted(note: Note) -> Note:
        return replace(note, pitch=replace(note.pitch, octave=note.pitch.octave + octaves))

    events = tuple(replace(e, notes=tuple(map(shifted, e.notes))) if e.notes else e for e in passage.events)
    return replace(passage, events=events)


def as_asked(passage: Passage, octaves: int) -> Passage:
    """The passage moved as its player asks, said in a notice. Raises PlanError where it leads out of all range."""
    if not octaves:
        return passage
    try:
        made = moved(passage, octaves)
    except ValueError:
        many = f"{abs(octaves)} octaves" if abs(octaves) > 1 else "an octave"
        fact = f"{many} {'higher' if octaves > 0 else 'lower'} the passage leads out of all range"
        raise PlanError.at(passage.source, fact, "leave --octave out") from None
    if octaves > 0:
        text = say_count("moved an octave higher, as asked", "moved {n} octaves higher, as asked", octaves)
    else:
        text = say_count("moved an octave lower, as asked", "moved {n} octaves lower, as asked", -octaves)
    return replace(made, notices=(*passage.notices, Notice(text=text)))
