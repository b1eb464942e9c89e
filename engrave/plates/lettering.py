"""Lettering: text as outlines, so that a plate needs no font when printed; with signs of our own drawn by hand.

Units: an outline is in font units (1,000 to the em), y down, its origin on the baseline at the left.
"""

from __future__ import annotations

from functools import cache

from engrave import typefaces
from engrave.model import outlines as paths

EM = float(typefaces.EM)

DRAWN: dict[str, tuple[str, float]] = {
    "♯": (
        "M120-620L170-620L170 120L120 120Z M290-650L340-650L340 90L290 90Z"
        " M50-370L410-450L410-350L50-270Z M50-110L410-190L410-90L50-10Z",
        460.0,
    ),
    "♭": (
        "M60-760L110-760L110-330C150-375 205-400 260-400C330-400 380-350 380-280C380-150 220-70 60 60Z"
        " M110-255L110-70C200-140 285-205 285-285C285-325 262-345 230-345C185-345 140-305 110-255Z",
        420.0,
    ),
    "♮": (
        "M60-700L110-700L110-440L320-490L320 210L270 210L270-60L60-10Z M110-320L110-120L270-160L270-360Z",
        380.0,
    ),
    "♩": (
        "M290-820L335-820L335-110C335-30 245 20 165 20C95 20 50-12 50-65"
        "C50-135 135-195 220-195C248-195 270-188 290-176Z",
        400.0,
    ),
    "♪": (
        "M290-820L335-820C345-690 520-640 520-470C520-410 500-360 470-310C495-450 420-530 335-570L335-110"
        "C335-30 245 20 165 20C95 20 50-12 50-65C50-135 135-195 220-195C248-195 270-188 290-176Z",
        560.0,
    ),
    typefaces.STAND_IN: ("M60-700L440-700L440 40L60 40Z M105-655L105-5L395-5L395-655Z", 500.0),
}
"""signs drawn by hand: path in font units with y down, and width"""


def outline(text: str, face: str) -> tuple[str, paths.Path]:
    """Key and outline of `text` set in `face`; a stand-in is drawn for a letter that nothing has."""
    return f"{face}/{text}", _set(text, face)


@cache
def _set(text: str, face: str) -> paths.Path:
    return typefaces.outline(text, face, _signs())[0]


@cache
def _signs() -> dict[str, typefaces.Drawn]:
    return {sign: (paths.parse(path), width) for sign, (path, width) in DRAWN.items()}
