"""The doors out: MusicXML and MIDI. Pure functions from variations to bytes; the same values give the same bytes."""

from engrave.exchange.midi import midi
from engrave.exchange.musicxml import bars_of, musicxml, mxl

__all__ = ["bars_of", "midi", "musicxml", "mxl"]
