"""Names for pitches of which only the sound is known, as the key makes a reader expect them.

Conventions: names stand on the line of fifths, … B♭ = -2, F = -1, C = 0, G = 1 … F♯ = 6 …; a key signature of k fifths
covers k - 1 to k + 5. Common practice for the rest: a note that climbs a semitone to a note of the key is a raised
step, one that falls a semitone to it a lowered one; else flats down to the lowered third and sharps up to the raised
fifth; the raised sixth and seventh of minor are raised whichever way they go.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from engrave.model.pitch import SEMITONES, Key, Pitch, on_line


def spell(midi: int, key: Key, onward: int | None = None) -> Pitch:
    """The pitch that sounds `midi` (60 = middle C), named for `key` and for the sounding pitch that follows."""
    fifths = key.fifths
    best = next(f for f in range(fifths - 3, fifths + 9) if 7 * f % 12 == midi % 12)
    chromatic = not fifths - 1 <= best <= fifths + 5
    fixed = best == fifths + 6 or (key.mode == "minor" and best == fifths + 8)
    if chromatic and onward is not None and not fixed and _diatonic(onward, fifths):
        if onward == midi + 1:
            best = next(f for f in range(fifths + 6, fifths + 11) if 7 * f % 12 == midi % 12)
        elif onward == midi - 1:
            best = next(f for f in range(fifths - 6, fifths - 1) if 7 * f % 12 == midi % 12)
    return _named(best, midi)


def likely_key(midis: Iterable[int]) -> Key:
    """The signature under which the fewest notes need an accidental; of several, the one with the fewest signs.

    The mode is told by the last note where it is the tonic of one of the two, else left open.
    """
    heard = list(midis)
    counts = Counter(midi % 12 for midi in heard)

    def accidentals(fifths: int) -> int:
        return sum(count for pc, count in counts.items() if not _diatonic(pc, fifths))

    fifths = min(range(-5, 7), key=lambda f: (accidentals(f), abs(f), -f))
    last = heard[-1] % 12 if heard else -1
    mode = {7 * fifths % 12: "major", 7 * (fifths + 3) % 12: "minor"}.get(last, "")
    return Key(fifths=fifths, mode=mode)


def _diatonic(midi: int, fifths: int) -> bool:
    return any(7 * f % 12 == midi % 12 for f in range(fifths - 1, fifths + 6))


def _named(place: int, midi: int) -> Pitch:
    """The pitch at `place` on the line of fifths that sounds `midi`; beyond double signs, the plainer neighbour."""
    while not -2 <= (place + 1) // 7 <= 2:
        place += 12 if place < 0 else -12
    note = on_line(place)
    return Pitch(step=note.step, alter=note.alter, octave=(midi - SEMITONES[note.step] - note.alter) // 12 - 1)
