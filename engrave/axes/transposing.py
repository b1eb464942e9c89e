"""New pitches for notes that have moved: which key they imply, and how they are spelled in it.

A line moved whole takes its key along and keeps the degree of every note. A line whose notes moved by different amounts
is spelled anew, in the key that leaves the fewest notes outside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from engrave.model import Event, Key, Note, Passage, Pitch
from engrave.model.spelling import likely_key, spell

FIFTHS = "FCGDAEB"


def moved_key(key: Key, semitones: int) -> Key:
    """The signature `semitones` higher, with as few signs as can be; of six sharps and six flats, the side of `key`."""
    fifths = (key.fifths + 7 * semitones + 5) % 12 - 5
    if fifths == 6 and key.fifths < 0:
        fifths = -6
    return Key(fifths=fifths, mode=key.mode)


def moved_pitch(pitch: Pitch, semitones: int, old: Key, new: Key) -> Pitch:
    """`pitch` moved together with its key: the same degree of the new one, or plainly where that needs three signs."""
    place = FIFTHS.index(pitch.step) - 1 + 7 * pitch.alter + new.fifths - old.fifths
    alter, name = divmod(place + 1, 7)
    midi = pitch.midi + semitones
    if not -2 <= alter <= 2:
        return spell(midi, new)
    bare = Pitch(step=FIFTHS[name], alter=alter, octave=0)
    return replace(bare, octave=(midi - bare.midi) // 12)


def resound(passage: Passage, midis: Mapping[str, int]) -> Passage:
    """`passage` with each note sounding what `midis` says by its id, spelled with the key that now fits.

    A note that is not named keeps its sound. Tied heads must be named together.
    """
    shifts = {midis.get(n.id, n.pitch.midi) - n.pitch.midi for n in passage.notes}
    if shifts <= {0}:
        return passage
    signatures = sorted({bar.key for bar in passage.bars}, key=lambda key: (key.fifths, key.mode))
    whole = shifts.pop() if len(shifts) == 1 else None
    if whole is not None:
        keys = {key: moved_key(key, whole) for key in signatures}
    else:
        keys = {key: likely_key(_heard(passage, midis, key)) for key in signatures}

    def name(event: Event, note: Note, onward: int | None) -> Pitch:
        old = passage.bars[event.bar].key
        if whole is not None:
            return moved_pitch(note.pitch, whole, old, keys[old])
        return spell(midis.get(note.id, note.pitch.midi), keys[old], onward)

    bars = tuple(replace(bar, key=keys[bar.key]) for bar in passage.bars)
    events = list(passage.events)
    following: dict[int, int] = {}
    for index in range(len(events) - 1, -1, -1):
        event = events[index]
        if not event.notes:
            continue
        onward = following.get(event.voice)
        notes = tuple(replace(n, pitch=name(event, n, onward)) for n in event.notes)
        events[index] = replace(event, notes=tuple(sorted(notes, key=lambda n: n.pitch.midi)))
        if not event.notes[-1].tied_back:
            following[event.voice] = midis.get(event.notes[-1].id, event.notes[-1].pitch.midi)
    return replace(passage, bars=bars, events=tuple(events))


def _heard(passage: Passage, midis: Mapping[str, int], key: Key) -> list[int]:
    """What sounds under a signature, in order."""
    return [
        midis.get(note.id, note.pitch.midi)
        for event in passage.events
        if passage.bars[event.bar].key == key
        for note in event.notes
    ]
