"""What is struck together, for those who still ask for it here."""

from engrave.textures.onsets import (
    Moment,
    Sound,
    commonest,
    heads,
    held,
    melody,
    moments,
    remembered,
    sounding_end,
    steady,
    stream,
    upper_voice,
)

__all__ = [
    "Moment",
    "Sound",
    "commonest",
    "heads",
    "held",
    "melody",
    "moments",
    "remembered",
    "sounding_end",
    "steady",
    "stream",
    "upper_voice",
]
