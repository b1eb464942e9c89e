"""What the fretting hand can join two notes with: a slur, a slide. Source: common practice.

Descending: one string, the fret falls, the lower finger is already down (a higher finger pulls off to a lower one, any
finger to the open string). Ascending: the fret and the finger rise. Not: a repeated pitch, one finger on two frets
(that is a slide), two strings.
"""

from __future__ import annotations

from engrave.model import Hand, Instrument, Placement


def can_slur(before: Placement, after: Placement, *, instrument: Instrument, hand: Hand) -> bool:
    """Can the fretting hand sound `after` from `before` without plucking: a hammer-on or a pull-off."""
    if before.string != after.string or before.fret == after.fret:
        return False
    if not before.fret or not after.fret:
        return True
    low, high = sorted((before, after), key=lambda p: p.fret)
    if low.finger >= high.finger:
        return False
    return instrument.mm(high.fret) - instrument.mm(low.fret) <= hand.practical[low.finger, high.finger] + 1e-9


def can_slide(before: Placement, after: Placement) -> bool:
    """Can one finger slide from `before` to `after`."""
    return before.string == after.string and before.fret != after.fret and before.finger == after.finger > 0
