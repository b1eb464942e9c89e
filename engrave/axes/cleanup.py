"""Putting right what a change of place, finger or time leaves behind: slurs the hand can no longer play."""

from __future__ import annotations

from dataclasses import replace

from engrave.axes.setting import noted, unfit
from engrave.fretting import can_slide, can_slur
from engrave.model import Given, Note, Placement, Variation, replace_unchecked, with_notes
from engrave.model.said import say, say_count
from engrave.textures.onsets import onset_groups, sounding_end


def note_at(note: Note, placement: Placement) -> Note:
    """`note` at a place its study asks for.

    What the source printed for the fretting hand no longer holds; the new string and fret do, so that other fingers may
    be worked out for the same place later.
    """
    given = Given(string=placement.string, fret=placement.fret, pluck=note.given.pluck, stroke=note.given.stroke)
    return replace_unchecked(note, placement=placement, given=given)


def without_unplayable_slurs(variation: Variation) -> Variation:
    """`variation` without the slurs that its placements and times no longer allow; those notes are plucked again."""
    notes = {note.id: note for note in variation.passage.notes}
    ends = sounding_end(variation.passage)
    starts = {note.id: event.onset for event in variation.passage.events for note in event.notes}
    changed = {}
    for note in notes.values():
        if not note.slurred_from:
            continue
        before = notes.get(note.slurred_from)
        if before is None or ends[before.id] < starts[note.id] or not playable(variation, before, note):
            changed[note.id] = replace_unchecked(note, slurred_from="", slide=False)
    if not changed:
        return variation
    made = replace(variation, passage=with_notes(variation.passage, changed))
    return noted(
        made,
        say_count(
            "{n} slur of the line cannot be played so and is left out",
            "{n} slurs of the line cannot be played so and are left out",
            len(changed),
        ),
    )


def without_position_words(variation: Variation) -> Variation:
    """`variation` without the source's words on positions and barres, where the hand no longer lies as they say."""
    kept = tuple(d for d in variation.passage.directions if d.kind not in ("position", "barre"))
    if len(kept) == len(variation.passage.directions):
        return variation
    made = replace(variation, passage=replace_unchecked(variation.passage, directions=kept))
    return noted(made, say("position and barre words of the source are left out: the hand lies elsewhere"))


def refuse_unison(variation: Variation) -> None:
    """Refuses it where one pitch is written twice at once and the search, which sees one, put both on one string."""
    for group in onset_groups(variation.passage):
        strings = [s.placement.string for s in group.sounds]
        for sound in group.sounds:
            if strings.count(sound.placement.string) > 1:
                reason = say(
                    "{pitch} sounds on two strings at once: it cannot be fingered anew", pitch=sound.note.pitch
                )
                raise unfit(reason, variation.passage.place(sound.event))


def playable(variation: Variation, before: Note, note: Note) -> bool:
    """Whether the hand can still sound `note` from `before`."""
    a, b = before.placement, note.placement
    if a is None or b is None:
        return False
    if note.slide:
        return can_slide(a, b)
    return can_slur(a, b, instrument=variation.instrument, hand=variation.hand)
