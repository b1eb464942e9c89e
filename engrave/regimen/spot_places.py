"""Where a hard spot lies, in words that a player finds again on paper."""

from __future__ import annotations

from fractions import Fraction

from engrave.model import Event, Passage
from engrave.model.said import Said, say, strung


def _bar(passage: Passage, event: Event) -> Said:
    return say("bar {bar}", bar=passage.bars[event.bar].label)


def _in_bar(passage: Passage, event: Event) -> Said:
    """Where in its bar an event stands, as a teacher says it: by beats and halves of them, else by the notes of a beat.

    Counted are the places at which the beat has heads, tied ones too, as a reader finds them.
    """
    bar = passage.bars[event.bar]
    at = event.onset - bar.onset + bar.offset
    whole, rest = divmod(at / bar.metre.beat, 1)
    number = whole + 1
    if not rest:
        return say("beat {beat}", beat=number)
    if rest == Fraction(1, 2):
        return say("second half of beat {beat}", beat=number)
    begins = event.onset - rest * bar.metre.beat
    heads = {one.onset for one in passage.events if one.notes and not one.grace and begins <= one.onset <= event.onset}
    # for the translator: the notes of one beat are counted, from 1
    return say("note {n} of beat {beat}", n=len(heads), beat=number)


def place_of(passage: Passage, event: Event) -> Said:
    """The bar, and where in it."""
    return strung([_bar(passage, event), _in_bar(passage, event)], ", ")


def stretch_of(passage: Passage, start: Event, end: Event) -> Said:
    """From where to where, the bar named once: bar 3, beat 1 to beat 2."""
    first = place_of(passage, start)
    if start.onset == end.onset:
        return first
    last = _in_bar(passage, end) if start.bar == end.bar else place_of(passage, end)
    # for the translator: two places, such as "bar 3, beat 1" and "beat 2"
    return say("{start} to {end}", start=first, end=last)
