"""The doors in: MusicXML, ABC and text tablature become one Passage. The only room that knows music21."""
