"""Purposes of plucking with one finger, with two, and in orders of broken chords.

A sentence for each: a finger's name has its case and article.
"""

from __future__ import annotations

from engrave.model import PLUCKING
from engrave.model.said import say

SINGLES = {
    "p": say("One finger alone, the thumb: its sound, and how it empties between two strokes."),
    "i": say("One finger alone, the index finger: its sound, and how it empties between two strokes."),
    "m": say("One finger alone, the middle finger: its sound, and how it empties between two strokes."),
    "a": say("One finger alone, the ring finger: its sound, and how it empties between two strokes."),
    "c": say("One finger alone, the little finger: its sound, and how it empties between two strokes."),
}
"""finger → what it trains by itself"""

PAIRS = {
    "im": say("The pair that most lines are played with, made even, starting with the index finger."),
    "mi": say("The pair that most lines are played with, made even, starting with the middle finger."),
    "ma": say(
        "Evens a pair that is weak in many hands, middle finger and ring finger, starting with the middle finger."
    ),
    "am": say("Evens a pair that is weak in many hands, ring finger and middle finger, starting with the ring finger."),
    "ia": say("Evens a pair that is weak in many hands, index finger and ring finger, starting with the index finger."),
    "ai": say("Evens a pair that is weak in many hands, ring finger and index finger, starting with the ring finger."),
    "pi": say("Thumb and index finger in turn on one line, each as clear as the other, starting with the thumb."),
    "ip": say(
        "Thumb and index finger in turn on one line, each as clear as the other, starting with the index finger."
    ),
    "pm": say("Thumb and middle finger in turn on one line, each as clear as the other, starting with the thumb."),
    "mp": say(
        "Thumb and middle finger in turn on one line, each as clear as the other, starting with the middle finger."
    ),
    "pa": say("Thumb and ring finger in turn on one line, each as clear as the other, starting with the thumb."),
    "ap": say("Thumb and ring finger in turn on one line, each as clear as the other, starting with the ring finger."),
    "ac": say(
        "Gives the neglected little finger its share, in turn with the ring finger, starting with the ring finger."
    ),
    "ca": say(
        "Gives the neglected little finger its share, in turn with the ring finger, starting with the little finger."
    ),
    "mc": say(
        "Gives the neglected little finger its share, in turn with the middle finger, starting with the middle finger."
    ),
    "cm": say(
        "Gives the neglected little finger its share, in turn with the middle finger, starting with the little finger."
    ),
    "ic": say(
        "Gives the neglected little finger its share, in turn with the index finger, starting with the index finger."
    ),
    "ci": say(
        "Gives the neglected little finger its share, in turn with the index finger, starting with the little finger."
    ),
    "pc": say("Gives the neglected little finger its share, in turn with the thumb, starting with the thumb."),
    "cp": say("Gives the neglected little finger its share, in turn with the thumb, starting with the little finger."),
}
"""two fingers, the one that starts first → what they train in turn"""


def order_words(fingers: tuple[str, ...]) -> tuple[str, str]:
    """Purpose and cue of broken chords in an order of the fingers: which one leads, and how the order runs."""
    letters, rest = " ".join(fingers), fingers[1:]
    over = say("The fingers stay over their strings; only the order in which they close is new.")
    if "p" not in fingers:
        return say(
            "The chord begins: the same chords plucked {letters}, each finger still on its own string.", letters=letters
        ), over
    if fingers[0] != "p":
        return say(
            "The bass does not begin: the same chords plucked {letters}, each finger still on its own string.",
            letters=letters,
        ), over
    if "p" in rest:
        return say(
            "The bass begins: the same chords plucked {letters}, each finger still on its own string.", letters=letters
        ), over
    names = {"letters": letters, "finger": rest[0]}
    lying = sorted(set(rest), key=PLUCKING.index)
    half = sorted(set(rest[: len(rest) // 2 + 1]), key=PLUCKING.index)
    if list(rest) == lying:
        return say(
            "The order {letters}: after the thumb {finger} leads; the fingers close as the hand lies, towards the "
            "treble.",
            **names,
        ), say("Each finger closes after its neighbour; the highest note is no louder for coming last.")
    if list(rest) == lying[::-1]:
        return say(
            "The order {letters}: after the thumb {finger} leads; the fingers close one by one, back towards the bass.",
            **names,
        ), say("The note after the bass is the highest: it neither hurries nor drowns the others.")
    if len(set(rest)) == len(rest):
        return say(
            "The order {letters}: after the thumb {finger} leads; the fingers do not follow each other as the hand "
            "lies.",
            **names,
        ), say("Think of each finger before it plays; where the order turns round it stays as even as elsewhere.")
    if rest == rest[::-1] and list(rest[: len(half)]) in (half, half[::-1]):
        return say(
            "The order {letters}: after the thumb {finger} leads and ends the figure, over the strings and back.",
            **names,
        ), say("What a finger plays on the way there and on the way back sounds alike.")
    return say(
        "The order {letters}: after the thumb {finger} leads; some fingers play more than once in each figure.",
        **names,
    ), say("All the notes of one finger sound alike, wherever in the figure they fall.")
