"""Writing voices anew for ways of plucking that change what is written, and giving the letters that go with them.

They keep every voice's time. Slurs within what is rewritten are left out, with a notice: each of its notes is plucked.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from engrave.axes.letters import fingers_as_written
from engrave.axes.plucking import Fingers, with_strokes
from engrave.axes.retiming import Span, fresh, rewritten, spans
from engrave.axes.setting import noted, unfit
from engrave.model import Note, Texture, Variation
from engrave.model.said import say, say_count
from engrave.textures import stretches
from engrave.textures.onsets import Sound, onset_groups

SHORTEST = Fraction(1, 16)
"""a 64th, in quarters: shorter notes are not worth reading"""
TOO_SHORT = say("some notes would be shorter than a 64th")


class Copies:
    """New ids for notes written more than once."""

    def __init__(self, variation: Variation) -> None:
        self.taken = {note.id for note in variation.passage.notes} | {e.id for e in variation.passage.events}
        self.used: set[str] = set()
        self.origin: dict[str, str] = {}
        """id of a copy → id of the note it is a copy of"""

    def of(self, note: Note) -> Note:
        """`note` plucked anew: with its own id the first time, a new one after that."""
        bare = replace(note, stroke=None, slurred_from="", slide=False, tied_on=False, tied_back=False)
        if note.id not in self.used:
            self.used.add(note.id)
            return bare
        name = fresh(self.taken, note.id, ":")
        self.origin[name] = note.id
        return replace(bare, id=name)


def rewrite(variation: Variation, made: Mapping[int, Sequence[Span]], *, slurs: bool = False) -> Variation:
    """`variation` with these voices made of these spans; with `slurs`, notes are slurred from those that are left."""
    passage = variation.passage
    left = {n.id for row in made.values() for s in row for n in s.notes} if slurs else set()
    gone = {n.id for n in passage.notes if n.slurred_from and n.slurred_from not in left}
    anew = {voice: tuple(_plucked(span, gone) for span in row) for voice, row in made.items()}
    if any(s.notes and s.end - s.start < SHORTEST for row in anew.values() for s in row):
        raise unfit(TOO_SHORT)
    lost = sum(n.id in gone for row in anew.values() for s in row for n in s.notes)
    voices = {voice: spans(passage, voice) for voice in passage.voices} | anew
    try:
        music = rewritten(passage, voices, passage.bars, lambda time: time)
    except ValueError as fault:
        raise unfit(say("some notes cannot be written in such parts")) from fault
    ids = {note.id for note in music.notes}
    kept = tuple(s for s in music.slurs if s.start in ids and s.stop in ids)
    done = replace(variation, passage=replace(music, slurs=kept))
    text = say_count(
        "{n} slur of the line left out: each note is plucked",
        "{n} slurs of the line left out: each note is plucked",
        lost,
    )
    return noted(done, text)


def _plucked(span: Span, gone: Collection[str]) -> Span:
    """A span whose notes and grace notes with an id in `gone` are slurred from none."""

    def bare(notes: tuple[Note, ...]) -> tuple[Note, ...]:
        return tuple(replace(note, slurred_from="", slide=False) if note.id in gone else note for note in notes)

    return replace(span, notes=bare(span.notes), graces=tuple(replace(g, notes=bare(g.notes)) for g in span.graces))


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


def replucked(
    variation: Variation, made: Mapping[int, Sequence[Span]], fixed: Mapping[str, str], cycle: Fingers = ()
) -> Variation:
    """`variation` with these voices made of these spans and these fingers on them; its textures are found anew."""
    return lettered(replace(rewrite(variation, made), textures=()), fixed, cycle)


def lettered(variation: Variation, fixed: Mapping[str, str], cycle: Fingers = ()) -> Variation:
    """`variation` with these fingers (note id → finger), and all other notes plucked as written."""
    return with_strokes(variation, fingers_as_written(variation, {**given(variation), **fixed}), cycle)


def given(variation: Variation) -> dict[str, str]:
    """The letters the source prints, note id → finger."""
    return {n.id: n.given.pluck for n in variation.passage.notes if n.given.pluck}


def within(textures: Sequence[Texture], origin: Mapping[str, str]) -> tuple[Texture, ...]:
    """`textures` with copies of notes (id → id of the note they were made of) beside what they were made of."""
    copies: dict[str, list[str]] = {}
    for name, of in origin.items():
        copies.setdefault(of, []).append(name)

    def now(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(one for name in names for one in (name, *copies.get(name, ())))

    return tuple(
        replace(
            span,
            figures=tuple(now(figure) for figure in span.figures),
            basses=frozenset(now(tuple(sorted(span.basses)))),
        )
        for span in textures
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure of a broken chord or a tremolo, as it stands in time."""

    start: Fraction
    """quarters from the passage's start"""
    end: Fraction
    """where its last note ends as written, or the next figure begins if that is sooner"""
    slots: tuple[tuple[Sound, ...], ...]
    """what begins together, in order, from the lowest string up"""

    @property
    def sounds(self) -> tuple[Sound, ...]:
        """What begins in it, in order."""
        return tuple(sound for slot in self.slots for sound in slot)

    @property
    def frets(self) -> dict[int, set[int]]:
        """String → frets it is stopped at."""
        found: dict[int, set[int]] = {}
        for sound in self.sounds:
            found.setdefault(sound.placement.string, set()).add(sound.placement.fret)
        return found

    @property
    def held(self) -> bool:
        """Whether each string keeps its fret."""
        return all(len(frets) == 1 for frets in self.frets.values())

    @property
    def even(self) -> Fraction | None:
        """The time from each slot to the next, if it is the same for all."""
        at = [slot[0].event.onset for slot in self.slots]
        steps = {b - a for a, b in zip(at, [*at[1:], self.end], strict=True)}
        return steps.pop() if len(steps) == 1 else None


def figures_of(variation: Variation, kind: str) -> tuple[Figure, ...]:
    """Every figure of one texture, in order; those with grace notes or ties into them left out."""
    figures = [figure for span in stretches(variation) if span.kind == kind for figure in span.figures]
    by_note = {name: number for number, figure in enumerate(figures) for name in figure}
    slots: dict[int, list[tuple[Sound, ...]]] = {}
    broken: set[int] = set()
    for group in onset_groups(variation.passage):
        place = by_note.get(group.sounds[0].note.id)
        if place is None:
            continue
        if group.grace or len(group.plucked) < len(group.sounds):
            broken.add(place)
        else:
            slots.setdefault(place, []).append(group.sounds)
    onsets = sorted({e.onset for e in variation.passage.events if any(not n.tied_back for n in e.notes)})
    found = []
    for place, row in slots.items():
        if place in broken:
            continue
        last = row[-1]
        after = next((at for at in onsets if at > last[0].event.onset), None)
        end = min(s.event.end for s in last)
        end = end if after is None else min(end, after)
        found.append(Figure(start=row[0][0].event.onset, end=end, slots=tuple(row)))
    return tuple(found)
