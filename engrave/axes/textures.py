"""Ways of plucking that change what is written: repeated notes, tremolo, broken chords, block chords.

They rewrite the upper voice in its own time; the other voices stay. Slurs within a rewritten voice are left out, with a
notice: each of its notes is plucked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from engrave.axes import plucking
from engrave.axes.cycles import picked
from engrave.axes.grips import grip_fault
from engrave.axes.moments import upper_voice
from engrave.axes.plucking import RANK, Fingers
from engrave.axes.retiming import Span, rewritten, spans
from engrave.axes.setting import Change, count, decline, noted, place_of
from engrave.axes.timing import NO_NOTES, unit
from engrave.model import Bar, Declined, Instrument, Note, Placement, Variation
from engrave.model.spelling import spell

SHORTEST = Fraction(1, 16)
"""a 64th, in quarters: shorter notes are not worth reading"""
TOO_SHORT = "some notes would be shorter than a 64th"
Formula = tuple[Fingers, ...]
"""a right-hand formula: the fingers of each step"""
DISSONANT = (1, 2, 6, 10, 11)
"""semitones within the octave that do not fit as a held note over the line"""


class Copies:
    """New ids for notes written more than once."""

    def __init__(self, variation: Variation) -> None:
        self.taken = {note.id for note in variation.passage.notes} | {e.id for e in variation.passage.events}
        self.used: set[str] = set()

    def of(self, note: Note) -> Note:
        """`note` plucked anew: with its own id the first time, a new one after that."""
        bare = replace(note, stroke=None, slurred_from="", slide=False, tied_on=False, tied_back=False)
        if note.id not in self.used:
            self.used.add(note.id)
            return bare
        number = 2
        while f"{note.id}:{number}" in self.taken:
            number += 1
        self.taken.add(f"{note.id}:{number}")
        return replace(bare, id=f"{note.id}:{number}")


def rewrite(variation: Variation, made: Sequence[Span]) -> Variation | Declined:
    """`variation` with the upper voice made of these spans."""
    passage = variation.passage
    upper = upper_voice(passage)
    voices = {voice: spans(passage, voice) for voice in passage.voices} | {upper: tuple(_plucked(s) for s in made)}
    if any(s.notes and s.end - s.start < SHORTEST for s in made):
        return decline(TOO_SHORT)
    lost = sum(1 for e in passage.events if e.voice == upper for n in e.notes if n.slurred_from)
    try:
        music = rewritten(passage, voices, passage.bars, lambda time: time)
    except ValueError:
        return decline("some notes cannot be written in such parts")
    ids = {note.id for note in music.notes}
    kept = tuple(s for s in music.slurs if s.start in ids and s.stop in ids)
    done = replace(variation, passage=replace(music, slurs=kept))
    return noted(done, f"{count(lost, 'slur')} of the line left out: each note is plucked") if lost else done


def _plucked(span: Span) -> Span:
    """A span whose notes and grace notes are slurred from none."""
    graces = tuple(replace(g, notes=tuple(_bare(n) for n in g.notes)) for g in span.graces)
    return replace(span, notes=tuple(_bare(n) for n in span.notes), graces=graces)


def _bare(note: Note) -> Note:
    return replace(note, slurred_from="", slide=False) if note.slurred_from else note


def parts(span: Span, steps: Sequence[tuple[Note, ...]]) -> list[Span]:
    """`span` cut into equal parts with these notes; its marks and grace notes stay with the first."""
    length = (span.end - span.start) / len(steps)
    made = []
    for number, notes in enumerate(steps):
        start = span.start + number * length
        event = span.event if not number else replace(span.event, marks=())
        graces = span.graces if not number else ()
        made.append(replace(span, start=start, end=start + length, event=event, notes=notes, graces=graces))
    return made


def repeated(times: int, cycle: Fingers) -> Change:
    """Each note of the line `times` times in its own time, plucked along `cycle`."""

    def change(variation: Variation) -> Variation | Declined:
        copies = Copies(variation)
        made: list[Span] = []
        for span in spans(variation.passage, upper_voice(variation.passage)):
            steps = [tuple(copies.of(n) for n in span.notes) for _ in range(times)] if span.notes else []
            made += parts(span, steps) if steps else [span]
        done = rewrite(variation, made)
        return done if isinstance(done, Declined) else picked(done, plucking.turning(cycle), cycle)

    return change


def tremolo(cycle: Fingers) -> Change:
    """Each note of the line by p, then the other fingers of `cycle` on one open string above the line."""

    def change(variation: Variation) -> Variation | Declined:
        passage = variation.passage
        if len({e.voice for e in passage.events if e.notes}) != 1:
            return decline("the passage has several voices: tremolo needs a single line under its held string")
        for event in passage.events:
            if len(event.notes) > 1:
                return decline("tremolo needs a single line, and here notes sound together", place_of(passage, event))
            if event.notes and event.notes[0].placement and event.notes[0].placement.string == 1:
                reason = f"{event.notes[0].pitch} lies on ①: no string is left above the line to hold the tremolo"
                return decline(reason, place_of(passage, event))
        length = unit(passage)
        if length is None:
            return decline(NO_NOTES)
        string = held_string(variation)
        copies = Copies(variation)
        made: list[Span] = []
        for span in spans(passage, upper_voice(passage)):
            if not span.notes:
                made.append(span)
                continue
            note = copies.of(span.notes[0])
            key = passage.bars[span.event.bar].key
            position = note.placement.position if note.placement else 1
            over = _open(copies, note, variation.instrument, string, position)
            over = replace(over, pitch=spell(variation.instrument.midi(string, 0), key))
            # a long note is struck again by p with each round, so that the tremolo keeps its speed
            rounds = max(1, int((span.end - span.start) / length)) if not (span.end - span.start) % length else 1
            steps = []
            for number in range(rounds):
                steps += [(copies.of(note) if number else note,), *((copies.of(over),) for _ in cycle[1:])]
            made += parts(span, steps)
        done = rewrite(variation, made)
        return done if isinstance(done, Declined) else picked(done, plucking.turning(cycle), cycle)

    return change


def held_string(variation: Variation) -> int:
    """The string above the line whose open note is consonant with most of its notes; of equals the highest."""
    places = [n.placement for n in variation.passage.notes if n.placement]
    instrument = variation.instrument
    line = [instrument.midi(p.string, p.fret) for p in places]
    above = range(1, min(p.string for p in places))
    return max(above, key=lambda s: (sum((instrument.midi(s, 0) - midi) % 12 not in DISSONANT for midi in line), -s))


def _open(copies: Copies, note: Note, instrument: Instrument, string: int, position: int) -> Note:
    name = f"{note.id}:held"
    while name in copies.taken:
        name += "+"
    copies.taken.add(name)
    return Note(
        id=name,
        pitch=instrument.strings[string - 1],
        placement=Placement(string=string, fret=0, finger=0, position=position),
    )


def broken(formula: Formula) -> Change:
    """Each chord of the upper voice broken under a right-hand formula, p on its lowest string."""
    fingers = sorted({f for step in formula for f in step}, key=RANK.__getitem__)

    def change(variation: Variation) -> Variation | Declined:
        copies = Copies(variation)
        fixed: dict[str, str] = {}
        made: list[Span] = []
        chords = silent = held = 0
        upper = upper_voice(variation.passage)
        basses = [
            e.onset for e in variation.passage.events if e.voice != upper and any(not n.tied_back for n in e.notes)
        ]
        for span in spans(variation.passage, upper):
            lying = sorted(span.notes, key=lambda n: -n.placement.string if n.placement else 0)
            # a thumb that plucks the bass meanwhile cannot break the chord as well
            busy = fingers[0] == "p" and any(span.start <= onset < span.end for onset in basses)
            held += busy and len(lying) >= max(2, len(fingers))
            if busy or len(lying) < max(2, len(fingers)):
                made.append(span)
                continue
            chords += 1
            silent += len(lying) - len(fingers)
            low = lying[:1] if fingers[0] == "p" else []
            chosen = [*low, *lying[len(lying) - len(fingers) + len(low) :]]
            owner = dict(zip(fingers, chosen, strict=True))
            steps = []
            for step in formula:
                notes = {finger: copies.of(owner[finger]) for finger in step}
                fixed.update({note.id: finger for finger, note in notes.items()})
                steps.append(tuple(sorted(notes.values(), key=lambda n: n.pitch.midi)))
            made += parts(span, steps)
        if not chords and held:
            return decline("the thumb plucks the bass of every chord that could be broken")
        if not chords:
            return decline(f"no chord of the upper voice has the {max(2, len(fingers))} notes the formula needs")
        done = rewrite(variation, made)
        if isinstance(done, Declined):
            return done
        cycle = tuple(step[0] for step in formula) if all(len(step) == 1 for step in formula) else ()
        done = plucking.with_strokes(done, plucking.shortest(done, fixed), cycle)
        if held:
            done = noted(done, f"{count(held, 'chord')} left whole: the thumb is on the bass")
        if silent:
            done = noted(done, f"{count(silent, 'inner chord note')} not played: the formula has fewer fingers")
        return done

    return change


def blocked(variation: Variation) -> Variation | Declined:
    """Broken chords struck together: by bars where the hand can hold the whole bar, else by beats."""
    passage = variation.passage
    row = spans(passage, upper_voice(passage))
    made: list[Span] = []
    struck = single = 0
    for index, bar in enumerate(passage.bars):
        here = [s for s in row if s.event.bar == index]
        for group in [here] if _chord(variation, here) else _beats(here, bar):
            notes = _chord(variation, group)
            struck += len(group) if notes else 0
            single += 0 if notes else sum(bool(s.notes) for s in group)
            made += [replace(group[0], end=group[-1].end, notes=notes)] if notes else group
    if not struck or struck < single:
        return decline("most beats of the line do not lie on different strings under one grip: no chords to strike")
    done = rewrite(variation, made)
    return done if isinstance(done, Declined) else plucking.with_strokes(done, plucking.shortest(done, {}))


def _beats(row: list[Span], bar: Bar) -> list[list[Span]]:
    """The spans of a bar, those of one beat together."""
    groups: dict[int, list[Span]] = {}
    for span in row:
        groups.setdefault(int((span.start - bar.onset + bar.offset) // bar.metre.beat), []).append(span)
    return list(groups.values())


def _chord(variation: Variation, group: list[Span]) -> tuple[Note, ...]:
    """The notes of a group as one chord, or none where they are no chord."""
    if len(group) < 2 or any(not s.notes or s.graces for s in group):
        return ()
    places: dict[Placement, Note] = {}
    for span in group:
        for note in span.notes:
            if note.placement is None or note.tied_back or note.tied_on:
                return ()
            places.setdefault(replace(note.placement, position=1, barre=""), note)
    strings = {place.string for place in places}
    if len(strings) < 2 or len(strings) < len(places) or len({p.position for p in _stopped(group)}) > 1:
        return ()
    if grip_fault(list(places), variation.instrument, variation.hand):
        return ()
    bare = (replace(n, stroke=None, slurred_from="", slide=False) for n in places.values())
    return tuple(sorted(bare, key=lambda n: n.pitch.midi))


def _stopped(group: list[Span]) -> list[Placement]:
    return [n.placement for s in group for n in s.notes if n.placement and n.placement.fret]
