"""A small font of our own for the signs the text font lacks: accidentals, circled digits, note values, boxes.

Being a font, they stay text: searchable, copied as Unicode, one size with the words around them.
Units: 1000 to the em, y up, baseline at 0; the digits inside the circles are the text font's own.
"""

from __future__ import annotations

from functools import cache
from io import BytesIO
from typing import Any

from engrave import typefaces
from engrave.pages.fonts import lacking, text_width

Contour = tuple[tuple[float, ...], ...]
"""points of a closed contour: (x, y), or (x1, y1, x2, y2, x, y) for a curve to (x, y)"""

_EPOCH = 0x7C25B080
"""1 January 1970 in the seconds since 1904 that a font counts"""
_KAPPA = 0.5523
"""control distance of a quarter circle as a share of its radius"""


def _bar(x1: float, y1: float, x2: float, y2: float, thick: float) -> Contour:
    """A slanted bar with upright ends, as accidentals have: from (x1, y1) to (x2, y2), `thick` high."""
    half = thick / 2
    return ((x1, y1 - half), (x2, y2 - half), (x2, y2 + half), (x1, y1 + half))


def _box(left: float, bottom: float, right: float, top: float) -> Contour:
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def _oval(x: float, y: float, rx: float, ry: float, *, lean: float = 0.0) -> Contour:
    """An ellipse, sheared so that it leans right by `lean` of its height."""
    k, points = _KAPPA, []
    raw = (
        (rx, 0.0),
        (rx, k * ry, k * rx, ry, 0.0, ry),
        (-k * rx, ry, -rx, k * ry, -rx, 0.0),
        (-rx, -k * ry, -k * rx, -ry, 0.0, -ry),
        (k * rx, -ry, rx, -k * ry, rx, 0.0),
    )
    for point in raw:
        moved: list[float] = []
        for dx, dy in zip(point[::2], point[1::2], strict=True):
            moved += [x + dx, y + dy + lean * dx]
        points.append(tuple(moved))
    return tuple(points)


def _hole(contour: Contour) -> Contour:
    """The contour run backwards, so that it cuts a hole."""
    corners = [point[-2:] for point in contour]
    turned: list[tuple[float, ...]] = [corners[-1]]
    for index in range(len(contour) - 1, 0, -1):
        point = contour[index]
        end = corners[index - 1]
        turned.append((*point[2:4], *point[:2], *end) if len(point) == 6 else end)
    return tuple(turned)


def _moved(contours: tuple[Contour, ...], dx: float) -> tuple[Contour, ...]:
    return tuple(
        tuple(tuple(v + dx if i % 2 == 0 else v for i, v in enumerate(point)) for point in contour)
        for contour in contours
    )


_SHARP = (
    _box(140, -150, 190, 790),
    _box(310, -110, 360, 830),
    _bar(60, 400, 440, 510, 105),
    _bar(60, 140, 440, 250, 105),
)
_FLAT = (
    _box(60, -60, 110, 860),
    ((110, 330), (190, 470, 400, 470, 400, 270), (400, 110, 230, 20, 110, -60), (110, 40),
     (190, 90, 285, 150, 285, 270), (285, 390, 190, 370, 110, 240)),
)  # fmt: skip
_NATURAL = (
    _box(80, 20, 130, 830),
    _box(310, -170, 360, 640),
    _bar(80, 430, 360, 515, 105),
    _bar(80, 145, 360, 230, 105),
)
_DOUBLE_SHARP = (
    ((60, 90), (90, 60), (460, 430), (430, 460)),
    ((60, 430), (430, 60), (460, 90), (90, 460)),
    _box(40, 40, 170, 170),
    _box(350, 350, 480, 480),
    _box(40, 350, 170, 480),
    _box(350, 40, 480, 170),
)
_HEAD = _oval(170, 90, 150, 92, lean=0.28)
_STEM = _box(280, 110, 318, 830)
_FLAG: Contour = ((318, 830), (330, 680, 560, 600, 440, 330), (500, 540, 380, 590, 318, 610))

WHOLE, HALF, QUARTER, EIGHTH, SIXTEENTH = "\U0001d15d", "\U0001d15e", "♩", "♪", "\U0001d161"
DOUBLE_SHARP, DOUBLE_FLAT = "\U0001d12a", "\U0001d12b"
BOX = "☐"
CIRCLED = "⓪①②③④⑤⑥⑦⑧⑨⑩"

_SECOND_FLAG = tuple(tuple(v - 190 if i % 2 else v for i, v in enumerate(point)) for point in _FLAG)
SHAPES: dict[str, tuple[int, tuple[Contour, ...]]] = {
    "♯": (500, _SHARP),
    "♭": (440, _FLAT),
    "♮": (440, _NATURAL),
    DOUBLE_SHARP: (520, _DOUBLE_SHARP),
    DOUBLE_FLAT: (780, (*_FLAT, *_moved(_FLAT, 330))),
    WHOLE: (380, (_oval(190, 90, 170, 100), _hole(_oval(190, 90, 85, 80, lean=-0.3)))),
    HALF: (380, (_HEAD, _hole(_oval(170, 90, 128, 46, lean=0.5)), _STEM)),
    QUARTER: (380, (_HEAD, _STEM)),
    EIGHTH: (520, (_HEAD, _STEM, _FLAG)),
    SIXTEENTH: (520, (_HEAD, _STEM, _FLAG, _SECOND_FLAG)),
    typefaces.STAND_IN: (500, (_box(60, -40, 440, 700), _hole(_box(105, 5, 395, 655)))),
    BOX: (820, (_box(60, -60, 760, 640), _hole(_box(100, -20, 720, 600)))),
}
"""sign → width and outline"""

SIGNS = frozenset("".join(SHAPES) + CIRCLED)
"""characters the font has"""


def missing(text: str) -> str:
    """The characters of a cleaned text that no font of the book has, each once, in order."""
    return lacking(text, SIGNS)


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
        width, contours = SHAPES[sign]
        return _drawn(width, contours)
    middle, outer, inner = (500, 320), 430, 385
    ring = (_oval(*middle, outer, outer), _hole(_oval(*middle, inner, inner)))
    return _drawn(1000, ring, digits=str(CIRCLED.index(sign)), middle=middle)


def _drawn(width: int, contours: tuple[Contour, ...], *, digits: str = "", middle: tuple[int, int] = (0, 0)) -> Any:
    from fontTools.pens.t2CharStringPen import T2CharStringPen  # type: ignore[import-untyped] # noqa: PLC0415 (loaded only when a page is printed)

    pen = T2CharStringPen(width, None)
    sketch(contours, pen)
    if digits:
        _digits(pen, digits, middle)
    charstring = pen.getCharString()
    charstring.width = width
    return charstring


def sketch(contours: tuple[Contour, ...], pen: Any) -> None:
    """Draw contours with a fontTools pen."""
    for contour in contours:
        pen.moveTo(contour[0])
        for point in contour[1:]:
            if len(point) == 6:
                pen.curveTo(point[:2], point[2:4], point[4:])
            else:
                pen.lineTo(point)
        pen.closePath()


def _digits(pen: Any, digits: str, middle: tuple[int, int]) -> None:
    """Draw `digits` of the text font centred on `middle`."""
    from fontTools.pens.transformPen import TransformPen  # type: ignore[import-untyped] # noqa: PLC0415 (loaded only when a page is printed)

    scale = 0.8 if len(digits) == 1 else 0.6
    advance, height = text_width(digits, 1000) * scale, 640 * scale
    x, y = middle[0] - advance / 2, middle[1] - height / 2
    for digit in digits:
        typefaces.draw(digit, TransformPen(pen, (scale, 0, 0, scale, x, y)))
        x += text_width(digit, 1000) * scale
