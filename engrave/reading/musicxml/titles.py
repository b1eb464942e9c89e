"""Title, composer and rights of a MusicXML score, on one line each."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from engrave.model.errors import one_line
from engrave.reading.limits import LIMITS
from engrave.reading.musicxml.parts import text_of


def title_of(score: Element) -> str:
    """Work and movement; else the title printed on the first page."""
    work, movement = text_of(score, "work/work-title"), text_of(score, "movement-title")
    if work and movement and work.casefold() != movement.casefold():
        return one_line(f"{work}: {movement}", LIMITS.words)
    return work or movement or _credit(score, "title")


def composer_of(score: Element) -> str:
    """The composer; else the arranger, said so; else the composer printed on the first page."""
    found = [
        (c.get("type") or "", one_line(c.text or "", LIMITS.words)) for c in score.findall("identification/creator")
    ]
    for kind, before in (("composer", ""), ("", ""), ("arranger", "arr. ")):
        for given, text in found:
            if given == kind and text:
                return before + text
    return _credit(score, "composer")


def rights_of(score: Element) -> str:
    """The notice of rights; several with semicolons."""
    texts = (one_line(found.text or "", LIMITS.words) for found in score.findall("identification/rights"))
    return one_line("; ".join(text for text in texts if text), LIMITS.words)


def _credit(score: Element, kind: str) -> str:
    for credit in score.findall("credit"):
        if text_of(credit, "credit-type") == kind:
            return text_of(credit, "credit-words")
    return ""
