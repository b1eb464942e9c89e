"""The doors out: MusicXML and MIDI. Pure functions from variations to bytes; the same values give the same bytes."""

from engrave.exchange.midi import to_midi
from engrave.exchange.musicxml import to_musicxml, to_mxl

__all__ = ["to_midi", "to_musicxml", "to_mxl"]
