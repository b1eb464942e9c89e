"""The plain staff: verovio engraves our MEI, and its picture is read back as ink in staff spaces.

The only module that calls verovio. What it draws: staff lines, clef, key, metre, bar lines, heads, stems, flags, beams,
ledger lines, accidentals, dots, rests, ties, articulation but for accents, fermatas.
An arpeggio's line takes its room there, but is drawn with the rest of our layer.

A staff once engraved is kept for a while: most variations of a line sound its very notes, so they share one, and that
is most of what drawing them takes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET

from engrave.model import Passage
from engrave.model import outlines as paths
from engrave.plates.draft import Draft, Head, Ink, Stem
from engrave.plates.mei import accented, mei
from engrave.plates.settle import settle

UNITS = 180.0
"""verovio's drawing units in one staff space"""
PAGE = 18
"""verovio's page units in one staff space"""
KEPT = 16
"""how many staves are kept: about 1 MB each where a line has 128 notes"""

_OPTIONS: dict[str, Any] = {
    "pageHeight": 60000,
    "adjustPageHeight": True,
    "scale": 100,
    "header": "none",
    "footer": "none",
    "svgViewBox": True,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "pageMarginTop": 0,
    "pageMarginBottom": 0,
    "font": "Bravura",
    "smuflTextFont": "none",
    "svgFormatRaw": True,
    "xmlIdSeed": 1,
    "minLastJustification": 0.0,
    "spacingNonLinear": 0.55,
    "spacingLinear": 0.25,
    "leftMarginNote": 2.0,
    "leftMarginChord": 2.0,
    "leftMarginAccid": 2.0,
    "breaks": "encoded",
    "logLevel": "error",
}
_ROLES = {
    "clef": "clef",
    "keySig": "key",
    "keyAccid": "key",
    "meterSig": "metre",
    "barLine": "barline",
    "ledgerLines": "ledger",
    "notehead": "head",
    "stem": "stem",
    "flag": "flag",
    "beam": "beam",
    "accid": "accidental",
    "dots": "dot",
    "rest": "rest",
    "mRest": "rest",
    "tie": "tie",
    "artic": "articulation",
    "fermata": "fermata",
    "arpeg": "arpeggio",
    "staff": "staff",
}
_SKIP = {"mNum", "placeholder"}
STAFF_LINE = 13 / UNITS
GLYPH = 0.72 / UNITS
"""scale of a full-sized glyph"""
_PLACE = re.compile(r"translate\((-?[\d.]+), ?(-?[\d.]+)\)(?: scale\((-?[\d.]+), ?(-?[\d.]+)\))?")
_LINE = re.compile(r"M(-?[\d.]+) (-?[\d.]+) L(-?[\d.]+) (-?[\d.]+)")
_TIED = re.compile(r"tie id-t(\d+) spanning")
"""class of the rest of a tie that began on the system before"""
_XLINK = "{http://www.w3.org/1999/xlink}href"
_SVG = "{http://www.w3.org/2000/svg}"
_GROUP = f"{_SVG}g"


@dataclass(frozen=True, slots=True)
class _Named:
    """An event's names in its passage; verovio knows events and notes by their numbers."""

    event: str
    voice: int
    notes: tuple[str, ...]


def engrave(
    passage: Passage,
    *,
    breaks: Sequence[int],
    width: float,
    last: float,
    outlines: dict[str, paths.Path],
    shown: Mapping[str, int],
) -> list[Draft]:
    """The plain staff of `passage`, one draft a system `width` spaces wide, the last one's music set `last` wide.

    `shown` are its accidentals (see mei); glyphs are added to `outlines`.
    """
    names = tuple(_Named(e.id, e.voice, tuple(note.id for note in e.notes)) for e in passage.events)
    plain, glyphs = _engraved(mei(passage, breaks, shown), (*breaks, len(passage.bars)), width, last, names)
    outlines |= glyphs
    return [system.over(outlines) for system in plain]


@lru_cache(maxsize=KEPT)
def _engraved(
    data: str, ends: tuple[int, ...], width: float, last: float, names: tuple[_Named, ...]
) -> tuple[tuple[Draft, ...], Mapping[str, paths.Path]]:
    """The plain systems of some MEI, which end before the bars `ends`, and their glyphs. Nobody may change them."""
    outlines: dict[str, paths.Path] = {}
    sheets = [Draft(width=width, first=first, last=end - 1, outlines=outlines) for first, end in pairwise((0, *ends))]
    reader = _StaffReader(names, sheets)
    # Verovio sets all systems of a picture equally wide: a shorter one is taken from a picture of its own, and of
    # either picture only what is kept is read.
    count = len(sheets)
    full = count - (last < width)
    if full:
        reader.read(_pictures(data, width), range(full))
    if full < count:
        reader.read(_pictures(data, last), range(full, count))
    return tuple(sheets), outlines


@cache
def accent_shapes() -> dict[str, paths.Path]:
    """The shapes of the accents in the music font, by SMuFL code point."""
    return dict(_glyphs(_pictures(accented(), 200.0)))


def _glyphs(pages: Iterable[ET.Element]) -> Iterator[tuple[str, paths.Path]]:
    """The glyphs that verovio's pictures use."""
    for root in pages:
        for glyph in root.iterfind(f"{_SVG}defs/{_SVG}g"):
            path = glyph.find(f"{_SVG}path")
            yield _glyph_name(glyph.get("id") or ""), _glyph(path.get("d") or "") if path is not None else ()


def _pictures(data: str, width: float) -> list[ET.Element]:
    """Verovio's drawing of some MEI, `width` spaces wide."""
    toolkit = _toolkit()
    toolkit.setOptions({"pageWidth": round(width * PAGE)})
    if not toolkit.loadData(data):
        raise AssertionError("verovio refuses our MEI")
    pages = range(1, toolkit.getPageCount() + 1)
    return [ET.fromstring(toolkit.renderToSVG(page)) for page in pages]  # noqa: S314 (verovio's own, no user's file)


@cache
def _toolkit() -> Any:
    import verovio  # noqa: PLC0415 (slow to import, and only needed once there is music to draw)

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(_OPTIONS)
    return toolkit


class _StaffReader:
    """Reads verovio's drawing, a page at a time, into the sheets it belongs to."""

    def __init__(self, names: Sequence[_Named], sheets: list[Draft]) -> None:
        self.events = [name.event for name in names]
        self.notes = [(name.event, note) for name in names for note in name.notes]
        self.voices = {name.event: name.voice for name in names}
        self.sheets = sheets
        self.draft = sheets[0]
        self.top = 0.0
        """verovio's y of the top staff line of the system being read"""
        self.lines: list[tuple[float, float, float]] = []
        """left, right and y of the staff lines of the system being read, in spaces"""
        self.found: list[Ink] = []
        """its ink, not yet on the draft"""
        self.beams = 0
        """beam groups met in it"""

    def read(self, pages: list[ET.Element], wanted: range) -> None:
        """Read those systems of verovio's drawing whose index is `wanted`."""
        self.draft.outlines |= dict(_glyphs(pages))
        systems = [group for root in pages for group in root.iter(_GROUP) if group.get("class") == "system"]
        if len(systems) != len(self.sheets):
            raise AssertionError(f"verovio drew {len(systems)} systems for {len(self.sheets)}")
        for index in wanted:
            self.system(systems[index], self.sheets[index])

    def system(self, system: ET.Element, draft: Draft) -> None:
        """Read one system into its draft."""
        self.draft = draft
        self.lines, self.found, self.beams = [], [], 0
        measures = [child for child in system if child.get("class") == "measure"]
        self.top = _staff_top(measures[0])
        for measure in measures:
            self.walk(measure, "", "", "")
            draft.bars[int((measure.get("id") or "b0")[1:])] = (self.lines[-1][0], self.lines[-1][1])
        for child in system:
            tied = _TIED.match(child.get("class") or "")
            if tied:
                self.walk(child, "tie", "", self.notes[int(tied[1])][1])
        settle(draft, self.found, self.voices)
        left, right = min(x for x, _, _ in self.lines), max(x for _, x, _ in self.lines)
        for y in range(5):
            path = paths.line(left, float(y), right, float(y))
            draft.add(Ink(role="staff", path=path, pen=STAFF_LINE, boxes=((left, y, right, y),)), solid=False)

    def walk(self, group: ET.Element, role: str, event: str, note: str, beam: int = 0) -> None:
        """Draw what `group` holds; `event` and `note` are the ids it belongs to so far."""
        for child in group:
            if child.tag != _GROUP:
                self.draw(child, Ink(role=role, owner=note or event, beam=beam), event)
                continue
            kind = _kind(child.get("class") or "")
            if kind in _SKIP:
                continue
            name = child.get("id") or ""
            owner, head = event, note
            if kind == "note":
                owner, head = self.notes[int(name[1:])]
            elif kind in ("chord", "rest", "mRest"):
                owner, head = self.events[int(name[1:])], ""
            elif kind == "tie" and name[:1] == "t" and name[1:].isdigit():
                head = self.notes[int(name[1:])][1]
            group_of = beam
            if kind == "beam" and not beam:
                self.beams += 1
                group_of = self.beams
            self.walk(child, _ROLES.get(kind, ""), owner, head, group_of)

    def draw(self, element: ET.Element, ink: Ink, event: str) -> None:
        """Take up one piece of ink."""
        tag = element.tag[len(_SVG) :]
        if tag == "use":
            ink.outline = _glyph_name(element.get(_XLINK) or "")
            place = _PLACE.match(element.get("transform") or "")
            if place is None:
                raise AssertionError(f"verovio places a glyph in a way that is not read here: {element.attrib}")
            ink.x, ink.y = self.point(float(place[1]), float(place[2]))
            ink.scale = float(place[3] or 1) / UNITS
        elif tag in ("polygon", "polyline"):
            numbers = [float(n) for n in (element.get("points") or "").replace(",", " ").split()]
            points = [self.point(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
            ink.path = paths.polygon(points)
            if tag == "polyline":
                ink.path, ink.pen = ink.path[:-1], _pen(element)
        elif tag == "path":
            data = element.get("d") or ""
            straight = _LINE.fullmatch(data)
            if straight:
                x0, y0, x1, y1 = map(float, straight.groups())
                ink.path = (("M", self.point(x0, y0)), ("L", self.point(x1, y1)))
            else:
                ink.path = paths.moved(paths.parse(data), sx=1 / UNITS, sy=1 / UNITS, dy=-self.top / UNITS)
            if ink.role == "staff":
                (x0, y), (x1, _) = ink.path[0][1], ink.path[-1][1]
                self.lines.append((x0, x1, y))
                return
            if all(kind != "C" for kind, _ in ink.path):
                ink.pen = _pen(element)
                dashes = element.get("stroke-dasharray")
                ink.dash = tuple(float(d) / UNITS for d in re.split(r"[ ,]+", dashes)) if dashes else ()
        elif tag == "ellipse":
            x, y = self.point(float(element.get("cx") or 0), float(element.get("cy") or 0))
            r = float(element.get("rx") or 0) / UNITS
            ink.path, ink.boxes = paths.disc(x, y, r), ((x - r, y - r, x + r, y + r),)
        elif tag == "rect":
            x, y, w, h = (float(element.get(k) or 0) for k in ("x", "y", "width", "height"))
            ink.path = paths.rectangle(*self.point(x, y), *self.point(x + w, y + h))
        else:
            return
        self.take(ink, event)

    def take(self, ink: Ink, event: str) -> None:
        """Keep a piece of ink, and remember heads and stems."""
        draft = self.draft
        ink.boxes = ink.boxes or draft.extent(ink)
        if ink.role == "arpeggio":
            return
        self.found.append(ink)
        if ink.role == "head":
            left, _, right, _ = ink.boxes[0]
            draft.heads[ink.owner] = Head(left=left, right=right, y=ink.y, scale=ink.scale / GLYPH)
        elif ink.role == "stem" and event not in draft.stems:
            (x, y0), (_, y1) = ink.path[0][1], ink.path[-1][1]
            draft.stems[event] = Stem(x=x, head=y0, tip=y1)
            ink.text = event

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Verovio's coordinates in spaces from the top left of the staff."""
        return x / UNITS, (y - self.top) / UNITS


@lru_cache(1_000)
def _kind(classes: str) -> str:
    """What a group of verovio's is, by its classes."""
    kinds = classes.split(" ")
    return "placeholder" if "placeholder" in kinds else kinds[0]


@lru_cache(1_000)
def _glyph_name(reference: str) -> str:
    """The SMuFL code point in the name of a glyph, or in a reference to it."""
    return reference.lstrip("#").split("-")[0]


@cache
def _glyph(data: str) -> paths.Path:
    """A glyph of the music font; it has y up."""
    return paths.parse(data, flip=True)


def _pen(element: ET.Element) -> float:
    return float(element.get("stroke-width") or 18) / UNITS


def _staff_top(measure: ET.Element) -> float:
    """Verovio's y of the top staff line: the first path of the first staff."""
    first = measure.find(f"{_GROUP}[@class='staff']/{_SVG}path")
    if first is None:
        raise AssertionError("verovio drew a bar without a staff")
    return paths.parse(first.get("d") or "")[0][1][1]
