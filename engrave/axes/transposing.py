"""New pitches for notes that have moved: which key they imply, and how they are spelled in it.

A line moved whole takes its key along and keeps the degree of every note, unless a plainer key spares the reader signs.
So does one of which only some notes moved. A line whose notes moved by different amounts is spelled anew, in the key
that leaves the fewest notes outside it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
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
    place = _place(pitch) + new.fifths - old.fifths
    midi = pitch.midi + semitones
    return _at(place, midi) if -2 <= (place + 1) // 7 <= 2 else spell(midi, new)


def resound(passage: Passage, midis: Mapping[str, int]) -> Passage:
    """`passage` with each note sounding what `midis` says by its id, spelled with the key that now fits.

    A note that is not named keeps its sound. Tied heads must be named together.
    """
    shifts = {midis.get(n.id, n.pitch.midi) - n.pitch.midi for n in passage.notes}
    if shifts <= {0}:
        return passage
    signatures = sorted({bar.key for bar in passage.bars}, key=lambda key: (key.fifths, key.mode))
    anew = _plainest(passage, midis, {key: likely_key(_heard(passage, midis, key)) for key in signatures})
    if len(shifts - {0}) > 1:
        return anew
    # open strings that stay behind keep their names; what moves goes by its interval
    whole = (shifts - {0}).pop()
    still = frozenset(n.id for n in passage.notes if midis.get(n.id, n.pitch.midi) == n.pitch.midi)
    keys = {key: moved_key(key, whole) for key in signatures}
    sides = ({key: replace(new, fifths=side * new.fifths) for key, new in keys.items()} for side in (1, -1))
    # six sharps sound as six flats do: the side that reads more plainly
    moved = min(
        (_moved(passage, whole, side, still) for side in sides if all(abs(new.fifths) == 6 for new in side.values())),
        key=signs_read,
        default=_moved(passage, whole, keys, still),
    )
    read = _strange if any(abs(note.pitch.alter) > 1 for note in moved.notes) else signs_read
    return anew if read(anew) + SPARED <= read(moved) else moved


SPARED = 4
"""signs that a plainer key has to spare the reader before the degrees of the old one are given up; ours"""


def signs_read(passage: Passage) -> int:
    """Signs a reader meets: those of each signature once, and each note outside it, double signs counted threefold."""
    strange = [note.pitch for note, key in _with_keys(passage) if note.pitch.alter != key.alter(note.pitch.step)]
    signatures = sum(abs(key.fifths) for key in {bar.key for bar in passage.bars})
    return signatures + sum(3 if abs(pitch.alter) > 1 else 1 for pitch in strange)


MANY = 10
"""signs from which a plainer signature than that of the likely key is looked for; ours"""
ODD, DOUBLE = 1, 8
"""what a name for a natural note (B♯, E♯, C♭, F♭) and a double sign cost beyond being a sign, in signs; ours"""


def _plainest(passage: Passage, midis: Mapping[str, int], keys: Mapping[Key, Key]) -> Passage:
    """The passage named anew for its likely keys, or for signatures under which far fewer signs are read.

    Where open strings stay behind, what sounds is in no key: the likely one can ask for double sharps.
    """
    best, chosen = _respelled(passage, midis, keys), dict(keys)
    if _strange(best) < MANY:
        return best
    for old, likely in keys.items():
        for fifths in sorted(range(-5, 6), key=abs):
            tried = {**chosen, old: replace(likely, fifths=fifths)}
            made = _respelled(passage, midis, tried)
            if _strange(made) + SPARED <= _strange(best):
                best, chosen = made, tried
    return best


def _strange(passage: Passage) -> int:
    """Signs a reader meets, those at names that hide a plain note counted more."""
    alters = [(note.pitch.step, note.pitch.alter) for note in passage.notes]
    odd = sum(pair in (("B", 1), ("E", 1), ("C", -1), ("F", -1)) for pair in alters)
    return signs_read(passage) + ODD * odd + DOUBLE * sum(abs(alter) > 1 for _, alter in alters)


def _moved(passage: Passage, semitones: int, keys: Mapping[Key, Key], still: frozenset[str]) -> Passage:
    """The passage moved with its keys, every note on its degree, but for those (ids) that stand still."""
    pitches = {
        note.id: moved_pitch(note.pitch, semitones, key, keys[key])
        for note, key in _with_keys(passage)
        if note.id not in still
    }
    made = _pitched(passage, pitches, keys)
    return _one_name_each(made) if still else made


def _respelled(passage: Passage, midis: Mapping[str, int], keys: Mapping[Key, Key]) -> Passage:
    """The passage with every note named anew for its new key and the note that follows."""
    pitches: dict[str, Pitch] = {}
    following: dict[int, int] = {}
    for event in reversed(passage.events):
        key, onward = keys[passage.bars[event.bar].key], following.get(event.voice)
        for note in event.notes:
            midi = midis.get(note.id, note.pitch.midi)
            pitches[note.id] = spell(midi, key, onward)
            # of a chord the last counts
            if not event.notes[-1].tied_back:
                following[event.voice] = midi
    return _one_name_each(_pitched(passage, pitches, keys))


def _with_keys(passage: Passage) -> Iterator[tuple[Note, Key]]:
    """Every note with the signature it stands under."""
    return ((note, passage.bars[event.bar].key) for event in passage.events for note in event.notes)


def _pitched(passage: Passage, pitches: Mapping[str, Pitch], keys: Mapping[Key, Key]) -> Passage:
    """The passage with these pitches (by the note's id) under these signatures (old → new)."""

    def now(event: Event) -> Event:
        notes = (replace(note, pitch=pitches.get(note.id, note.pitch)) for note in event.notes)
        return replace(event, notes=tuple(sorted(notes, key=lambda note: note.pitch.midi)))

    bars = tuple(replace(bar, key=keys.get(bar.key, bar.key)) for bar in passage.bars)
    return replace(passage, bars=bars, events=tuple(now(event) for event in passage.events))


def _one_name_each(passage: Passage) -> Passage:
    """The passage with one name for each pitch class under a signature: the commonest, of equals what the key expects.

    Were a step raised on the way up and lowered on the way down, a line that was moved on the neck would show one fret
    under two names.
    """
    names: dict[tuple[Key, int], Counter[int]] = {}
    for note, key in _with_keys(passage):
        names.setdefault((key, note.pitch.midi % 12), Counter())[_place(note.pitch)] += 1
    doubled = {which: counts for which, counts in names.items() if len(counts) > 1}
    if not doubled:
        return passage
    one = {
        (key, pc): max(counts, key=lambda place: (counts[place], place == _place(spell(pc, key)), -abs(place)))
        for (key, pc), counts in doubled.items()
    }
    pitches = {
        note.id: _at(place, note.pitch.midi)
        for note, key in _with_keys(passage)
        if (place := one.get((key, note.pitch.midi % 12))) is not None
    }
    return _pitched(passage, pitches, {})


def _place(pitch: Pitch) -> int:
    """Where a name stands on the line of fifths; C is 0."""
    return FIFTHS.index(pitch.step) - 1 + 7 * pitch.alter


def _at(place: int, midi: int) -> Pitch:
    """The pitch at a place on the line of fifths that sounds `midi`."""
    alter, name = divmod(place + 1, 7)
    bare = Pitch(step=FIFTHS[name], alter=alter, octave=0)
    return replace(bare, octave=(midi - bare.midi) // 12)


def _heard(passage: Passage, midis: Mapping[str, int], key: Key) -> list[int]:
    """What sounds under a signature, in order."""
    return [midis.get(note.id, note.pitch.midi) for note, own in _with_keys(passage) if own == key]
