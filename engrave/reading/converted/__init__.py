"""MEI, Humdrum kern and MIDI become MusicXML, and go on through the same reader as MusicXML does."""
