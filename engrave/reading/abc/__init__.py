"""ABC tunes become a Passage; `reader` is the way in."""
