"""One part of a MusicXML file, bar by bar, with exact times: what the file means, before the parser proper sees it."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree.ElementTree import Element

from engrave.model import Key, Metre, Pitch, Value
from engrave.model.passage import VALUE_NAMES

TYPES = {name: kind for kind, name in VALUE_NAMES.items()}
"""names of values → `Value.kind`; longer and shorter ones no single value of ours writes"""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteHead:
    """One pitch of a note or chord."""

    id: str
    pitch: Pitch
    """as it sounds"""
    element: Element


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedNote:
    """One note, chord or rest."""

    id: str
    """id of its first head, or its own where it is a rest"""
    onset: Fraction
    """quarters from the start of its bar"""
    length: Fraction
    """quarters, 0 for a grace note"""
    value: Value | None
    """as written, where the file says so"""
    ratio: tuple[int, int]
    """notes played, in the time of so many; (1, 1) outside tuplets"""
    voice: str
    staff: int
    heads: tuple[NoteHead, ...]
    element: Element
    """its first <note>"""
    grace: bool = False
    bar_rest: bool = False
    hidden: bool = False
    """takes its time, and is not printed"""

    @property
    def end(self) -> Fraction:
        """Quarters from the start of its bar."""
        return self.onset + self.length


@dataclass(slots=True)
class Walked:
    """One bar of the part; filled while the bar is walked, read-only afterwards."""

    label: str
    """number as printed"""
    element: Element
    items: list[TimedNote] = field(default_factory=list)
    directions: list[tuple[Fraction, Element]] = field(default_factory=list)
    """quarters from the start of the bar, and the <direction> or <sound>"""
    metre: Metre | None = None
    """where one begins here"""
    key: Key | None = None
    """as it sounds, where one begins here"""
    unmetred: bool = False
    """no metre is in force"""
