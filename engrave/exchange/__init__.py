"""The doors out: MusicXML and MIDI."""
