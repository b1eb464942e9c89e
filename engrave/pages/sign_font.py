"""A small font of our own for the signs the text font lacks: accidentals, circled digits, note values, boxes.

Being a font, they stay text: searchable, copied as Unicode, one size with the words around them.
Units: 1000 to the em, y up, baseline at 0; the digits inside the circles are the text font's own.
"""

from __future__ import annotations

from functools import cache
from io import BytesIO
from typing import Any

from engrave import typefaces
from engrave.model.outlines import Path, disc, moved, pairs, parse, polygon, rectangle
from engrave.pages.fonts import text_width

_EPOCH = 0x7C25B080
"""1 January 1970 in the seconds since 1904 that a font counts"""


def _bar(x1: float, y1: float, x2: float, y2: float, thick: float) -> Path:
    """A slanted bar with upright ends, as accidentals have: from (x1, y1) to (x2, y2), `thick` high."""
    half = thick / 2
    return polygon([(x1, y1 - half), (x2, y2 - half), (x2, y2 + half), (x1, y1 + half)])


def _oval(x: float, y: float, rx: float, ry: float, *, lean: float = 0.0, inward: bool = False) -> Path:
    """An ellipse, sheared so that it leans right by `lean` of its height; `inward` as a `disc`."""
    return tuple(
        (kind, tuple(y + ry * v + lean * rx * u if i else x + rx * u for u, v in pairs(points) for i in (0, 1)))
        for kind, points in disc(0.0, 0.0, 1.0, inward=inward)
    )


_SHARP = (
    *rectangle(140, -150, 190, 790),
    *rectangle(310, -110, 360, 830),
    *_bar(60, 400, 440, 510, 105),
    *_bar(60, 140, 440, 250, 105),
)
_FLAT = parse(
    "M60-60L110-60L110 860L60 860Z M110 330C190 470 400 470 400 270C400 110 230 20 110-60L110 40"
    "C190 90 285 150 285 270C285 390 190 370 110 240Z"
)
_NATURAL = (
    *rectangle(80, 20, 130, 830),
    *rectangle(310, -170, 360, 640),
    *_bar(80, 430, 360, 515, 105),
    *_bar(80, 145, 360, 230, 105),
)
_DOUBLE_SHARP = (
    *parse("M60 90L90 60L460 430L430 460Z M60 430L430 60L460 90L90 460Z"),
    *rectangle(40, 40, 170, 170),
    *rectangle(350, 350, 480, 480),
    *rectangle(40, 350, 170, 480),
    *rectangle(350, 40, 480, 170),
)
_HEAD = _oval(170, 90, 150, 92, lean=0.28)
_STEM = rectangle(280, 110, 318, 830)
_FLAG = parse("M318 830C330 680 560 600 440 330C500 540 380 590 318 610Z")

WHOLE, HALF, QUARTER, EIGHTH, SIXTEENTH = "\U0001d15d", "\U0001d15e", "♩", "♪", "\U0001d161"
DOUBLE_SHARP, DOUBLE_FLAT = "\U0001d12a", "\U0001d12b"
BOX = "☐"
CIRCLED = "⓪①②③④⑤⑥⑦⑧⑨⑩"

SHAPES: dict[str, tuple[int, Path]] = {
    "♯": (500, _SHARP),
    "♭": (440, _FLAT),
    "♮": (440, _NATURAL),
    DOUBLE_SHARP: (520, _DOUBLE_SHARP),
    DOUBLE_FLAT: (780, _FLAT + moved(_FLAT, dx=330)),
    WHOLE: (380, _oval(190, 90, 170, 100) + _oval(190, 90, 85, 80, lean=-0.3, inward=True)),
    HALF: (380, _HEAD + _oval(170, 90, 128, 46, lean=0.5, inward=True) + _STEM),
    QUARTER: (380, _HEAD + _STEM),
    EIGHTH: (520, _HEAD + _STEM + _FLAG),
    SIXTEENTH: (520, _HEAD + _STEM + _FLAG + moved(_FLAG, dy=-190)),
    # a box that runs the other way round cuts a hole
    typefaces.STAND_IN: (500, rectangle(60, -40, 440, 700) + rectangle(105, 655, 395, 5)),
    BOX: (820, rectangle(60, -60, 760, 640) + rectangle(100, 600, 720, -20)),
}
"""sign → width and outline"""

SIGNS = frozenset("".join(SHAPES) + CIRCLED)
"""characters the font has"""


def missing(text: str) -> str:
    """The characters of a cleaned text that no font of the book has, each once, in order."""
    return "".join(c for c in dict.fromkeys(text) if c not in SIGNS and typefaces.face_of(c) is None)


@cache
def sign_font() -> bytes:
    """The font as an OpenType file, the same bytes each time."""
    from fontTools.fontBuilder import FontBuilder  # type: ignore[import-untyped] # noqa: PLC0415 (loaded only when a page is printed)

    order = [".notdef", "space", *(f"u{ord(sign):X}" for sign in sorted(SIGNS))]
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder(order)
    # a space between two signs is set in their own font
    builder.setupCharacterMap({ord(" "): "space"} | {ord(sign): f"u{ord(sign):X}" for sign in SIGNS})
    drawn = {
        ".notdef": _drawn(500, ()),
        "space": _drawn(250, ()),
        **{f"u{ord(sign):X}": _glyph(sign) for sign in SIGNS},
    }
    # an empty private dictionary is lost when HarfBuzz 10 cuts a font twice, as WeasyPrint does
    builder.setupCFF("EngraveSigns", {"FullName": "Engrave Signs"}, drawn, {"StdHW": 50})
    builder.setupHorizontalMetrics({name: (charstring.width, 0) for name, charstring in drawn.items()})
    builder.setupHorizontalHeader(ascent=860, descent=-260)
    builder.setupNameTable({"familyName": "Engrave Signs", "styleName": "Regular", "psName": "EngraveSigns"})
    builder.setupOS2(sTypoAscender=860, sTypoDescender=-260, usWinAscent=860, usWinDescent=260)
    builder.setupPost()
    builder.font["head"].created = builder.font["head"].modified = _EPOCH
    builder.font.recalcTimestamp = False
    out = BytesIO()
    builder.save(out)
    return out.getvalue()


def _glyph(sign: str) -> Any:
    if sign in SHAPES:
        return _drawn(*SHAPES[sign])
    middle = 500, 320
    ring = disc(*middle, 430) + disc(*middle, 385, inward=True)
    return _drawn(1000, ring, digits=str(CIRCLED.index(sign)), middle=middle)


def _drawn(width: int, path: Path, *, digits: str = "", middle: tuple[int, int] = (0, 0)) -> Any:
    from fontTools.pens.t2CharStringPen import T2CharStringPen  # type: ignore[import-untyped] # noqa: PLC0415 (loaded only when a page is printed)

    pen = T2CharStringPen(width, None)
    steps = {"M": pen.moveTo, "L": pen.lineTo, "C": pen.curveTo, "Z": pen.closePath}
    for kind, points in path:
        steps[kind](*pairs(points))
    if digits:
        _digits(pen, digits, middle)
    charstring = pen.getCharString()
    charstring.width = width
    return charstring


def _digits(pen: Any, digits: str, middle: tuple[int, int]) -> None:
    """Draw `digits` of the text font centred on `middle`."""
    from fontTools.pens.transformPen import TransformPen  # type: ignore[import-untyped] # noqa: PLC0415 (loaded only when a page is printed)

    scale = 0.8 if len(digits) == 1 else 0.6
    advance, height = text_width(digits, 1000) * scale, 640 * scale
    x, y = middle[0] - advance / 2, middle[1] - height / 2
    for digit in digits:
        typefaces.draw(digit, TransformPen(pen, (scale, 0, 0, scale, x, y)))
        x += text_width(digit, 1000) * scale
