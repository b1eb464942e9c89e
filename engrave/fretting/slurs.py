"""Slurs of the fretting hand: which curves of a source it does play, as `joining` says what it can."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from engrave.fretting.joining import can_slide, can_slur
from engrave.fretting.lattice import Link
from engrave.fretting.tones import Tone
from engrave.model import Event, Hand, Instrument, Note, Notice, Passage, Pitch, Place, Placement, Slur, with_notes
from engrave.model.said import say

LONGEST = 4
"""notes under a plain curve beyond which it is taken for a phrase mark"""


def curve_notes(passage: Passage, slur: Slur) -> tuple[Note, ...]:
    """The heads of one voice from a curve's first note to its last; of chords between them the top note."""
    ends = {slur.start: -1, slur.stop: -1}
    for index, event in enumerate(passage.events):
        for note in event.notes:
            if note.id in ends:
                ends[note.id] = index
    first, last = ends[slur.start], ends[slur.stop]
    if min(first, last) < 0 or first >= last or passage.events[first].voice != passage.events[last].voice:
        return ()
    voice = passage.events[first].voice
    inside = [e for e in passage.events[first : last + 1] if e.voice == voice]
    if any(not e.notes and not e.space for e in inside):
        return ()
    sounding = [e for e in inside if e.notes]
    return tuple(_head(event, slur) for event in sounding)


def _head(event: Event, slur: Slur) -> Note:
    return next((n for n in event.notes if n.id in (slur.start, slur.stop)), event.notes[-1])


def links_of(passage: Passage, tones: tuple[Tone, ...]) -> tuple[Link, ...]:
    """The slurs a fingering should try to play, between tones."""
    owner = {name: index for index, tone in enumerate(tones) for name in tone.ids}
    links: dict[tuple[int, int], Link] = {}
    for slur in passage.slurs:
        heads = curve_notes(passage, slur)
        if slur.kind == "slur" and len(heads) > LONGEST:
            continue
        for one, other in pairwise(heads):
            before, after = owner[one.id], owner[other.id]
            if before != after:
                links[before, after] = Link(before=before, after=after, kind=slur.kind)
    for note in passage.notes:
        if note.slurred_from in owner:
            before, after = owner[note.slurred_from], owner[note.id]
            links[before, after] = Link(before=before, after=after, kind="slide" if note.slide else "hammer-on")
    return tuple(links.values())


def resolved(passage: Passage, *, instrument: Instrument, hand: Hand) -> tuple[Passage, tuple[Notice, ...]]:
    """`passage` (placed) with the curves the hand plays turned into Note.slurred_from.

    Of a short curve a note that the hand cannot slur is plucked, with a notice; phrase marks stay curves.
    """
    changed: dict[str, Note] = {}
    kept: list[Slur] = []
    notices: list[Notice] = []
    for slur in passage.slurs:
        heads = curve_notes(passage, slur)
        if len(heads) < 2 or (slur.kind == "slur" and len(heads) > LONGEST) or not _sounded(heads):
            kept.append(slur)
            if slur.kind != "slur":
                notices.append(Notice(text=_DRAWN[slur.kind], place=_where(passage, slur.start)))
            continue
        for before, after in pairwise(heads):
            slide = slur.kind == "slide" and can_slide(_place(before), _place(after))
            if slide or can_slur(_place(before), _place(after), instrument=instrument, hand=hand):
                changed[after.id] = replace(after, slurred_from=before.id, slide=slide)
            else:
                text = _unslurred(slur.kind, before.pitch, after.pitch)
                notices.append(Notice(text=text, place=_where(passage, after.id)))
    return replace(with_notes(passage, changed), slurs=tuple(kept)), tuple(notices)


def _sounded(heads: tuple[Note, ...]) -> bool:
    """Is every head a placed note of its own."""
    tied = any(note.tied_back for note in heads[1:])
    return not tied and all(note.placement is not None and not note.muted for note in heads)


def _place(note: Note) -> Placement:
    assert note.placement is not None
    return note.placement


_DRAWN = {
    "slur": say("the slur cannot be played with this fingering and is printed as a curve"),
    "hammer-on": say("the hammer-on cannot be played with this fingering and is printed as a curve"),
    "pull-off": say("the pull-off cannot be played with this fingering and is printed as a curve"),
    "slide": say("the slide cannot be played with this fingering and is printed as a curve"),
}


def _unslurred(kind: str, one: Pitch, other: Pitch) -> str:
    """Tells that the second of two notes is plucked, and not slurred from the first."""
    pair = {"one": one, "other": other}
    said = {
        "slide": say(
            "the slide from {one} to {other} cannot be played on one string with this fingering: {other} is plucked",
            **pair,
        ),
        "hammer-on": say(
            "the hammer-on from {one} to {other} cannot be played on one string with this fingering: {other} is "
            "plucked",
            **pair,
        ),
        "pull-off": say(
            "the pull-off from {one} to {other} cannot be played on one string with this fingering: {other} is plucked",
            **pair,
        ),
        "slur": say(
            "the slur from {one} to {other} cannot be played on one string with this fingering: {other} is plucked",
            **pair,
        ),
    }
    return said[kind]


def _where(passage: Passage, name: str) -> Place:
    """Where the note with an id stands; where the passage begins if it has none."""
    return passage.place(next((e for e in passage.events for n in e.notes if n.id == name), passage.events[0]))


def unresolved(passage: Passage) -> Passage:
    """`passage` with the slurs of the fretting hand turned back into curves, for another fingering to play or leave."""
    owner = {note.id: note for note in passage.notes}
    slurred = [(owner[note.slurred_from], note) for note in passage.notes if note.slurred_from]

    def kind(before: Note, note: Note) -> str:
        return "slide" if note.slide else "hammer-on" if note.pitch.midi > before.pitch.midi else "pull-off"

    curves = [Slur(start=before.id, stop=note.id, kind=kind(before, note)) for before, note in slurred]
    bare = {note.id: replace(note, slurred_from="", slide=False) for _, note in slurred}
    return replace(with_notes(passage, bare), slurs=(*passage.slurs, *curves)) if curves else passage
