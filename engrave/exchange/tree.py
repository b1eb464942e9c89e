"""Small hands for building XML: elements with text, and text that XML allows."""

from __future__ import annotations

import re
from xml.etree.ElementTree import Element, SubElement, indent, tostring

_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""characters that no XML 1.0 document may hold (W3C, Extensible Markup Language 1.0, section 2.2)"""


def allowed(text: str) -> str:
    """`text` without characters that XML forbids."""
    return _FORBIDDEN.sub("", text)


def add(parent: Element, tag: str, text: object = None, **attributes: object) -> Element:
    """A new last child; an underscore in an attribute's name stands for a hyphen, one at its end is dropped."""
    names = {name.rstrip("_").replace("_", "-"): allowed(str(value)) for name, value in attributes.items()}
    made = SubElement(parent, tag, names)
    if text is not None:
        made.text = allowed(str(text))
    return made


def written(root: Element) -> bytes:
    """The document as UTF-8, indented."""
    indent(root)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode").encode() + b"\n"
