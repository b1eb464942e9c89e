"""XML from strangers: parsed without entities, without fetching anything, inside the bounds of limits.py.

A DOCTYPE that only names an outside DTD, as MusicXML files carry, is passed over unread. One that declares an entity is
refused: no score needs it. What no passage can use (page layout, positions on the page) is not even kept, so that
memory stays near the size of the file.
"""

from __future__ import annotations

from sys import intern
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from engrave.model import Fault, Place, ReadError
from engrave.reading.limits import LIMITS, Limits, allow

_UNUSED = frozenset(
    (
        "print",
        "defaults",
        "encoding",
        "miscellaneous",
        "play",
        "listen",
        "listening",
        "appearance",
        "stem",
    )
)
_ATTRIBUTES = frozenset(
    [
        "alternate",
        "direction",
        "full-path",
        "id",
        "implicit",
        "line",
        "location",
        "measure",
        "media-type",
        "number",
        "print-object",
        "slash",
        "symbol",
        "tempo",
        "text",
        "times",
        "type",
    ]
)
_PIECE = 65_536
_CUT = ("no element found", "unclosed token", "unclosed CDATA section")


def parse(data: bytes, name: str, limits: Limits = LIMITS) -> Element:
    """The root element of an XML file, without name spaces and without what no passage uses.

    Raises:
        ReadError: not XML, cut off, entities declared, too deep, too many elements; with the line where it is known.
    """
    if len(data) > limits.file_bytes:
        fact = f"the score is {len(data):,} bytes long, the limit is {limits.file_bytes:,}"
        raise ReadError.at(name, fact, f"save a single part or fewer bars; {allow('file_bytes', len(data))}")
    parser = expat.ParserCreate()
    builder = _Builder(parser, name, limits)
    parser.buffer_text = True
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    parser.StartElementHandler = builder.start
    parser.EndElementHandler = builder.end
    parser.CharacterDataHandler = builder.text
    parser.EntityDeclHandler = builder.entity
    try:
        _feed(parser, data.lstrip(b" \t\r\n"), builder)
        return builder.tree.close()
    except expat.ExpatError as error:
        raise ReadError(_broken(error, name, started=builder.elements > 0)) from None
    except (ValueError, LookupError):
        raise ReadError.at(name, "the encoding the file names is not known", "save it as UTF-8", line=1) from None


def _feed(parser: expat.XMLParserType, data: bytes, builder: _Builder) -> None:
    """Hands the file over in pieces, so that a tag without an end is noticed before it has cost much."""
    for start in range(0, len(data), _PIECE):
        parser.Parse(data[start : start + _PIECE], False)
        most = builder.limits.token_bytes
        if start + _PIECE - parser.CurrentByteIndex > most:
            raise builder.refusal(f"a tag or comment of more than {most:,} bytes", "save the score again")
    parser.Parse(b"", True)


def _broken(error: expat.ExpatError, name: str, *, started: bool) -> Fault:
    message = expat.ErrorString(error.code) or "not well-formed"
    place = Place(file=name, line=error.lineno)
    if message == "unknown encoding":
        return Fault(fact="the encoding the file names is not known", hint="save it as UTF-8", place=place)
    if message in _CUT and started:
        return Fault(fact="the XML is cut off", hint="the file is not complete; save or fetch it again", place=place)
    return Fault(fact=f"the XML is broken: {message}", hint="save it again from the program it came from", place=place)


class _Builder:
    """Handlers of the parser: builds the tree and counts."""

    def __init__(self, parser: expat.XMLParserType, name: str, limits: Limits) -> None:
        self.parser = parser
        self.name = name
        self.limits = limits
        self.tree = TreeBuilder()
        self.depth = 0
        self.skip = 0
        self.elements = 0
        self.names: set[str] = set()
        self.characters = 0

    def refusal(self, fact: str, hint: str = "") -> ReadError:
        """What is wrong where the parser has come to."""
        return ReadError.at(self.name, fact, hint, line=self.parser.CurrentLineNumber)

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """An element begins."""
        limits = self.limits
        self.depth += 1
        self.elements += 1
        self.characters = 0
        if self.depth > limits.depth:
            raise self.refusal(f"elements lie more than {limits.depth} deep inside one another", "save the score again")
        if self.elements > limits.elements:
            hint = f"save a single part or fewer bars; {allow('elements', 2 * limits.elements)}"
            raise self.refusal(f"more than {limits.elements:,} elements", hint)
        self.names.add(tag)
        if len(self.names) > limits.names:
            raise self.refusal(f"more than {limits.names:,} different elements: no score has so many")
        if len(attributes) > limits.attributes:
            fact = f"{len(attributes)} attributes in one element, the limit is {limits.attributes}"
            raise self.refusal(fact, "save the score again")
        if self.skip or (tag in _UNUSED and self.depth > 1):
            self.skip += 1
            return
        kept = {key: intern(value) for key, value in attributes.items() if key in _ATTRIBUTES} if attributes else {}
        self.tree.start(intern(tag.rpartition(":")[2]), kept)

    def end(self, tag: str) -> None:
        """An element ends."""
        self.depth -= 1
        if self.skip:
            self.skip -= 1
        else:
            self.tree.end(intern(tag.rpartition(":")[2]))

    def text(self, text: str) -> None:
        """Characters inside an element, as many as the parser hands over at a time."""
        if self.skip or text.isspace():
            return
        self.characters += len(text)
        if self.characters > self.limits.text:
            raise self.refusal(f"more than {self.limits.text:,} characters of text in one element", "shorten it")
        self.tree.data(intern(text) if len(text) < 16 else text)

    def entity(self, *_declaration: object) -> None:
        """An entity is declared."""
        raise self.refusal("an entity is declared, which no score needs", "save it without one")
