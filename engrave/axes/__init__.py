"""The ways a line can be practised, one axis a file, applied in a fixed order."""
