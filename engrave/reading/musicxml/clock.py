"""The place in a bar while its notes are read one after the other, back and forward.

The file's own figures may be rounded (a third of a quarter is no whole number of its divisions): exact places are kept
beside them, and a jump leads back to the exact place of what stands there.
"""

from __future__ import annotations

from fractions import Fraction

from engrave.model.said import Said, say
from engrave.reading.note_values import written

GRID = Fraction(1, 16)
"""quarters; a 64th, to which places and rests are moved that nothing can write"""


class Clock:
    """Where a bar has come to, exactly (`at`) and by the file's figures (`raw`), in quarters."""

    def __init__(self) -> None:
        self.at = Fraction(0)
        self.raw = Fraction(0)
        self._drift = Fraction(0)
        """how far the two have come apart"""
        self._visited: dict[Fraction, Fraction] = {Fraction(0): Fraction(0)}

    def advance(self, exact: Fraction, raw: Fraction) -> None:
        """Goes on by the length of a note."""
        self.at += exact
        self.raw += raw
        self._drift = max(self._drift, abs(self.at - self.raw))
        self._visited[self.raw] = self.at

    def jump(self, raw: Fraction) -> Said | None:
        """Goes forward or, with a negative length, back; says what had to be put right."""
        said: Said | None = None
        self.raw += raw
        if self.raw < 0:
            if self.raw < -self._drift:
                said = say("a voice that leads back beyond the start of its bar begins with it")
            self.raw = Fraction(0)
        self.at = self._place()
        if self.at and written(self.at) is None:
            said = say("a place between all notes is moved to the nearest 64th")
            self.at = round(self.at / GRID) * GRID
        return said

    def restart(self) -> None:
        """Back to the start of the bar."""
        self.at = self.raw = Fraction(0)

    def _place(self) -> Fraction:
        """The exact place the file means by its own rounded one."""
        if self.raw in self._visited:
            return self._visited[self.raw]
        near = min(self._visited, key=lambda known: abs(known - self.raw))
        if abs(near - self.raw) <= self._drift:
            return self._visited[near]
        base = max(known for known in self._visited if known <= self.raw)
        return self._visited[base] + (self.raw - base)
