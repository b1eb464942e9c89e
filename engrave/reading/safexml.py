"""XML from strangers: parsed without entities, without fetching anything, inside the bounds of limits.py.

A DOCTYPE that only names an outside DTD, as MusicXML files carry, is passed over unread. One that declares an entity is
refused: no score needs it. What no passage can use (page layout, printing defaults) is not even kept.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from engrave.model import Fault, Place, ReadError
from engrave.reading.limits import LIMITS, Limits

_UNUSED = frozenset(("print", "defaults", "encoding", "miscellaneous", "play", "listen", "listening", "appearance"))


class _RefusedError(Exception):
    """Carries a fault out of a handler of the parser."""

    def __init__(self, fact: str, hint: str) -> None:
        super().__init__(fact)
        self.fact = fact
        self.hint = hint


def parse(data: bytes, name: str, limits: Limits = LIMITS) -> Element:
    """The root element of an XML file, without name spaces and without what no passage uses.

    Raises:
        ReadError: not XML, cut off, entities declared, too deep, too many elements; with the line where it is known.
    """
    if len(data) > limits.unpacked_bytes:
        raise ReadError(
            Fault(
                fact=f"the score is {len(data):,} bytes long, the limit is {limits.unpacked_bytes:,}",
                hint="save a single part or fewer bars",
                place=Place(file=name),
            )
        )
    builder = _Builder(limits)
    parser = expat.ParserCreate(namespace_separator=None)
    parser.buffer_text = True
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    parser.StartElementHandler = builder.start
    parser.EndElementHandler = builder.end
    parser.CharacterDataHandler = builder.text
    parser.EntityDeclHandler = builder.entity
    try:
        parser.Parse(data, True)
    except _RefusedError as refused:
        line = parser.CurrentLineNumber
        raise ReadError(Fault(fact=refused.fact, hint=refused.hint, place=Place(file=name, line=line))) from None
    except expat.ExpatError as error:
        raise ReadError(_broken(error, name, started=builder.depth > 0)) from None
    except (ValueError, LookupError):
        raise ReadError(
            Fault(
                fact="the encoding the file names is not known", hint="save it as UTF-8", place=Place(file=name, line=1)
            )
        ) from None
    return builder.close()


def _broken(error: expat.ExpatError, name: str, *, started: bool) -> Fault:
    said = expat.errors.messages.get(error.code, "") if error.code else ""
    message = expat.ErrorString(error.code) or said
    place = Place(file=name, line=error.lineno)
    if message in ("no element found", "unclosed token", "unclosed CDATA section") and started:
        return Fault(fact="the XML is cut off", hint="the file is not complete; save or fetch it again", place=place)
    return Fault(fact=f"the XML is broken: {message}", hint="save it again from the program it came from", place=place)


class _Builder:
    """Handlers of the parser: builds the tree and counts."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.tree = TreeBuilder()
        self.depth = 0
        self.skip = 0
        self.elements = 0
        self.characters = [0]

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        self.elements += 1
        if self.depth > self.limits.depth:
            raise _RefusedError(f"elements inside one another {self.depth} deep, the limit is {self.limits.depth}", "")
        if self.elements > self.limits.elements:
            raise _RefusedError(f"more than {self.limits.elements:,} elements", "save a single part or fewer bars")
        if len(attributes) > self.limits.attributes:
            raise _RefusedError(
                f"{len(attributes)} attributes in one element, the limit is {self.limits.attributes}", ""
            )
        self.characters.append(0)
        if self.skip or (tag in _UNUSED and self.depth > 1):
            self.skip += 1
            return
        self.tree.start(tag.rpartition(":")[2], attributes)

    def end(self, tag: str) -> None:
        self.depth -= 1
        self.characters.pop()
        if self.skip:
            self.skip -= 1
            return
        self.tree.end(tag.rpartition(":")[2])

    def text(self, text: str) -> None:
        self.characters[-1] += len(text)
        if self.skip:
            return
        if self.characters[-1] > self.limits.text and text.strip():
            raise _RefusedError(f"more than {self.limits.text:,} characters of text in one element", "")
        if not text.isspace():
            self.tree.data(text)

    def entity(self, *_declaration: object) -> None:
        raise _RefusedError("an entity is declared, which no score needs", "save it without one")

    def close(self) -> Element:
        return self.tree.close()
