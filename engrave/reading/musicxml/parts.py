"""The parts and bars of a MusicXML score, chosen before anything is read note by note.

Rules: score-timewise is turned into score-partwise; a part is known by its id, name, abbreviation or place; with no
choice it is the first part with notes that is for a guitar, else the first with notes; bars are known by the numbers
the file prints, the pickup being 0.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from engrave.model import ReadError
from engrave.model.errors import one_line
from engrave.reading.limits import LIMITS, Limits, allow

GUITAR = re.compile(
    r"guit|gitar|chitar|kitar|viol[aã]o\b|vihuela|gtr\b|git\.|ukul|\blutes?\b|laute\b|liuto|laúd|\bluth\b|theorb|tiorba"
    r"|requinto|banjo|charango|cavaquinho|гитар|лютн|κιθ[αά]ρ|ギター|기타|吉他|吉它|גיטרה|جيتار|غيتار|गिटार|กีตาร์|گیتار"
    r"|gitaar|gitár|kytar[ay]|ghitar",
    re.IGNORECASE,
)
"""names of fretted, plucked instruments in the languages of most scores; common practice"""


_NAMELESS = re.compile(
    r"(?:musicxml )?(?:part|staff|track|instrument|channel|music|score|untitled|unnamed|partie|parte|stimme|musik|noten"
    r"|m[uú]sica|musique|партия|ноты)?[\s_#-]*\d*\Z",
    re.IGNORECASE,
)
"""names that say nothing about the instrument; only under these is its MIDI program believed"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of a score."""

    id: str
    name: str
    short: str
    """abbreviation"""
    number: int
    """place in the score, from 1"""
    program: int | None
    """General MIDI program from 1, if the score says so"""
    sound: str
    """standard sound such as pluck.guitar, if the score says so"""
    element: Element

    @property
    def fretted(self) -> bool:
        """Whether the score says that a guitar or its kin plays this part."""
        if any(GUITAR.search(text) for text in (self.name, self.short)):
            return True
        if self.sound:
            return self.sound.startswith(("pluck.guitar", "pluck.lute"))
        return self.program in range(25, 33) and bool(_NAMELESS.match(self.name))

    @property
    def nameless(self) -> bool:
        """Whether the score says nothing about who plays this part; program 1 is what programs write unasked."""
        return bool(_NAMELESS.match(self.name)) and not self.sound and self.program in (None, 1, *range(25, 33))

    @property
    def label(self) -> str:
        """How messages and the book call it."""
        return self.name or self.id

    def has_notes(self) -> bool:
        """Whether there is a pitch in it."""
        return self.element.find("measure/note/pitch") is not None


def text_of(parent: Element, path: str) -> str:
    """The text of the first element at `path`, on one line, empty where there is none."""
    return one_line(parent.findtext(path) or "", LIMITS.words)


def partwise(root: Element, name: str) -> Element:
    """A score root with parts of bars. Raises ReadError where the root is not a score."""
    if root.tag == "opus":
        raise ReadError.at(name, "this is a list of scores (opus), not a score", "open one of them")
    if root.tag not in ("score-partwise", "score-timewise"):
        fact = f"the XML is not a MusicXML score: its first element is <{one_line(root.tag, 60)}>"
        raise ReadError.at(name, fact, "export the score as MusicXML")
    if root.tag == "score-partwise":
        return root
    turned = Element("score-partwise", root.attrib)
    parts: dict[str, Element] = {}
    for child in root:
        if child.tag != "measure":
            turned.append(child)
            continue
        for piece in child.findall("part"):
            part = parts.setdefault(piece.get("id", ""), Element("part", {"id": piece.get("id", "")}))
            bar = Element("measure", child.attrib)
            bar.extend(piece)
            part.append(bar)
    turned.extend(parts.values())
    return turned


def all_parts(score: Element, name: str, limits: Limits = LIMITS) -> tuple[Part, ...]:
    """The parts of a score in order. Raises ReadError where there is none."""
    elements = score.findall("part")
    if not elements:
        raise ReadError.at(name, "there is no part in the score")
    if len(elements) > limits.parts:
        hint = f"save the one you play; {allow('parts', len(elements))}"
        raise ReadError.at(name, f"{len(elements)} parts in the score, the limit is {limits.parts}", hint)
    listed = {found.get("id", ""): found for found in score.findall("part-list/score-part")}
    parts: list[Part] = []
    for number, element in enumerate(elements, start=1):
        about = listed.get(element.get("id", ""), Element("score-part"))
        program = text_of(about, "midi-instrument/midi-program")
        parts.append(
            Part(
                id=one_line(element.get("id", ""), 60),
                name=text_of(about, "part-name") or text_of(about, "score-instrument/instrument-name"),
                short=text_of(about, "part-abbreviation"),
                number=number,
                program=int(program) if program.isdecimal() and len(program) < 4 else None,
                sound=text_of(about, "score-instrument/instrument-sound"),
                element=element,
            )
        )
    return tuple(parts)


def choose_part(parts: tuple[Part, ...], asked: str, name: str) -> Part:
    """The part asked for by id, name, abbreviation or number; with nothing asked, the one a guitarist would take."""
    wanted = asked.strip().casefold()
    if not wanted:
        full = [part for part in parts if part.has_notes()]
        if not full:
            raise ReadError.at(name, "there is no note with a pitch in the score")
        plain = [part for part in full if part.element.findtext("measure/attributes/clef/sign") != "TAB"] or full
        return next((part for part in (*plain, *full) if part.fretted), plain[0])
    for names in zip(*((p.id, p.name, p.short, str(p.number)) for p in parts), strict=True):
        for part, known in zip(parts, names, strict=True):
            if known.casefold() == wanted:
                return part
    known_parts = "; ".join(f"{part.number} {part.label}" for part in parts[:30])
    raise ReadError.at(name, f"part {one_line(asked, 60)!r} is not in the score", f"parts: {known_parts}")


def labels_of(measures: Sequence[Element]) -> list[str]:
    """Bar numbers as printed: a pickup that is not counted is 0, what the file does not number is counted on."""
    labels: list[str] = []
    for index, measure in enumerate(measures):
        label = one_line(measure.get("text") or measure.get("number") or "", 20).replace(" ", "")
        if not label:
            before = labels[-1] if labels else "0"
            label = str(int(before) + 1) if before.isdecimal() else str(index + 1)
        labels.append(label)
    after = labels[1] if len(labels) > 1 else ""
    if measures[0].get("implicit") == "yes" and (not labels[0].isdecimal() or labels[0] == after == "1"):
        labels[0] = "0"
    return labels
