"""What stays in force from bar to bar of a MusicXML part: divisions, metre, key, transposition, clefs, strings."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree.ElementTree import Element

from engrave.model import Key, Metre
from engrave.model.errors import one_line
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.musicxml.metres import metre_of
from engrave.reading.musicxml.transposition import Transposition
from engrave.reading.numbers import decimal, whole

PLAIN = Transposition()


@dataclass(slots=True)
class Attributes:
    """The state that runs through a part. Staves are counted from 1."""

    limits: Limits = LIMITS
    divisions: Fraction | None = None
    metre: Metre | None = None
    fifths: int = 0
    """as written"""
    mode: str = ""
    odd_key: bool = False
    """the key signature is one we cannot print"""
    moves: dict[int, Transposition] = field(default_factory=dict)
    """by staff; 0 for all"""
    heard: list[Transposition] = field(default_factory=list)
    """every transposition met, in order"""
    clefs: dict[int, list[tuple[str, int]]] = field(default_factory=dict)
    """staff → (sign, octave change) of every clef met, in order"""
    details: dict[int, Element] = field(default_factory=dict)
    """staff → the <staff-details> that names its strings"""
    complaints: list[tuple[str, str]] = field(default_factory=list)
    """fact and hint of what was wrong since the last look"""

    def move(self, staff: int) -> Transposition:
        """The transposition in force for a staff."""
        return self.moves.get(staff, self.moves.get(0, PLAIN))

    @property
    def key(self) -> Key:
        """The key of the first staff as it sounds."""
        return Key(fifths=self.move(1).key(self.fifths)[0], mode=self.mode if self.mode in ("major", "minor") else "")

    def take(self, found: Element) -> tuple[bool, bool]:
        """Takes an <attributes>; tells whether it brought a metre and a key."""
        for divided in found.findall("divisions"):
            self._divide(divided)
        for moved in found.findall("transpose"):
            self._transpose(moved)
        for clef in found.findall("clef"):
            staff = whole(clef.get("number"), 1, 99) or 1
            change = whole(clef.findtext("clef-octave-change"), -3, 3) or 0
            self.clefs.setdefault(staff, []).append(((clef.findtext("sign") or "").strip(), change))
        for details in found.findall("staff-details"):
            if details.find("staff-tuning") is not None or details.find("capo") is not None:
                self.details[whole(details.get("number"), 1, 99) or 1] = details
        keys = [key for key in found.findall("key") if whole(key.get("number"), 2, 99) is None]
        for key in keys:
            fifths = whole(key.findtext("fifths"), -7, 7)
            self.odd_key = fifths is None
            self.fifths, self.mode = fifths or 0, (key.findtext("mode") or "").strip()
        metres = [metre for metre in found.findall("time") if whole(metre.get("number"), 2, 99) is None]
        for metre in metres:
            read = metre_of(metre) if metre.find("senza-misura") is None else None
            if read is None and metre.find("senza-misura") is None:
                figures = "/".join(one_line(part.text or "", 12) for part in metre)
                hint = "write upper figures 1 to 64 over 1 2 4 8 16 32 or 64"
                self.complaints.append((f"a metre of {figures!r} cannot be printed", hint))
                continue
            self.metre = read
        return bool(metres), bool(keys) or found.find("transpose") is not None

    def _divide(self, divided: Element) -> None:
        value = decimal(divided.text)
        if value is not None and 0 < value <= self.limits.divisions:
            self.divisions = value
            return
        fact = f"divisions {one_line(divided.text or '', 30)!r} is not a number from 1 to {self.limits.divisions:,}"
        self.complaints.append((fact, "save the score again"))

    def _transpose(self, moved: Element) -> None:
        chromatic = whole(moved.findtext("chromatic") or "0", -127, 127)
        octaves = whole(moved.findtext("octave-change") or "0", -9, 9)
        if chromatic is None or octaves is None:
            self.complaints.append(("a transposition is not a whole number of semitones and octaves", "save it again"))
            return
        given = whole(moved.findtext("diatonic"), -99, 99)
        near = round(chromatic * 7 / 12)
        diatonic = given if given is not None and abs(given - near) <= 1 else near
        staff = whole(moved.get("number"), 1, 99) or 0
        if staff == 0:
            self.moves.clear()
        self.moves[staff] = Transposition(diatonic=diatonic + 7 * octaves, chromatic=chromatic + 12 * octaves)
        self.heard.append(self.moves[staff])
