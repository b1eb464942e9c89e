"""The doors out: MusicXML and MIDI. Pure functions from variations to bytes; the same values give the same bytes."""

from engrave.exchange.midi import midi
from engrave.exchange.musicxml import musicxml, mxl

__all__ = ["midi", "musicxml", "mxl"]
