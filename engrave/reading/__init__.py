"""The doors in: MusicXML, ABC and text tablature become one Passage. The only room that knows music21."""

from engrave.reading.doors import read

__all__ = ["read"]
