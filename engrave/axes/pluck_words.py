"""Purposes of plucking with one finger and with two, a sentence for each: a finger's name has its case and article."""

from __future__ import annotations

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
    "ma": say("Brings up a weaker pair, middle finger and ring finger, starting with the middle finger."),
    "am": say("Brings up a weaker pair, ring finger and middle finger, starting with the ring finger."),
    "ia": say("Brings up a weaker pair, index finger and ring finger, starting with the index finger."),
    "ai": say("Brings up a weaker pair, ring finger and index finger, starting with the ring finger."),
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
