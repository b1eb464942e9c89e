"""MusicXML becomes a Passage; `reader` is the way in."""
