"""The instrument: strings, frets and where the frets lie."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model.pitch import Pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """A fretted, plucked instrument."""

    name: str
    """key in the data file, e.g. standard"""
    label: str
    """as printed, e.g. guitar, ⑥ = D"""
    strings: tuple[Pitch, ...]
    """open strings (sounding, without capo), the first (highest) string first"""
    frets: int = 19
    """highest fret there is, from the nut"""
    scale: float = 650.0
    """vibrating length of the open string in mm"""
    wound: frozenset[int] = frozenset({4, 5, 6, 7, 8, 9, 10})
    """wound strings"""
    capo: int = 0
    """fret the capo sits on; placements count from it"""
    source: str = ""

    def __post_init__(self) -> None:
        if not self.strings:
            raise ValueError(f"instrument {self.name} has no strings")
        if not 0 <= self.capo < self.frets <= 36:
            raise ValueError(f"instrument {self.name}: capo {self.capo} of {self.frets} frets")
        if not self.scale > 0:
            raise ValueError(f"instrument {self.name}: scale length {self.scale} mm")

    @property
    def top(self) -> int:
        """Highest fret a placement can name, counted from the capo."""
        return self.frets - self.capo

    def midi(self, string: int, fret: int) -> int:
        """MIDI note number that `string` sounds at `fret` (counted from the capo)."""
        return self.strings[string - 1].midi + self.capo + fret

    def mm(self, fret: float) -> float:
        """Distance in mm from the nut to `fret` counted from the capo: L(1 − 2^(−n/12)), equal temperament."""
        return float(self.scale * (1 - 2 ** (-(fret + self.capo) / 12)))

    def stops(self, midi: int) -> tuple[tuple[int, int], ...]:
        """Every (string, fret) that sounds `midi`, the first string first."""
        found = ((s, midi - self.midi(s, 0)) for s in range(1, len(self.strings) + 1))
        return tuple((s, f) for s, f in found if 0 <= f <= self.top)
