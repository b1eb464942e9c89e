"""The machine's fonts, as Fontconfig knows them: WeasyPrint brings that library, and Pango asks it the same way.

By its public C interface (fontconfig.org, "Fontconfig Developers Reference"); where it is missing, there are no fonts.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from functools import cache
from typing import Any

_NAMES = ("libfontconfig.so.1", "libfontconfig.1.dylib", "libfontconfig-1.dll")
_MATCH_PATTERN = 0


class _FontSet(ctypes.Structure):
    """FcFontSet."""

    _fields_ = (
        ("count", ctypes.c_int),
        ("room", ctypes.c_int),
        ("fonts", ctypes.POINTER(ctypes.c_void_p)),
    )


@cache
def fonts_with(character: str) -> tuple[tuple[str, int], ...]:
    """File and index of the machine's scalable fonts that have a character, the likest to a serif face first."""
    library = _library()
    return tuple(_found(library, ord(character))) if library is not None else ()


@cache
def _library() -> Any:
    for name in _NAMES:
        try:
            library = ctypes.CDLL(name)
        except OSError:
            continue
        pointers = ("FcInitLoadConfigAndFonts", "FcPatternCreate", "FcCharSetCreate")
        for function in pointers:
            getattr(library, function).restype = ctypes.c_void_p
        library.FcFontSort.restype = ctypes.POINTER(_FontSet)
        return library
    return None


@cache
def _configuration(library: Any) -> ctypes.c_void_p:
    return ctypes.c_void_p(library.FcInitLoadConfigAndFonts())


def _found(library: Any, number: int) -> Iterator[tuple[str, int]]:
    config = _configuration(library)
    pattern, wanted = ctypes.c_void_p(library.FcPatternCreate()), ctypes.c_void_p(library.FcCharSetCreate())
    library.FcCharSetAddChar(wanted, ctypes.c_uint32(number))
    library.FcPatternAddCharSet(pattern, b"charset", wanted)
    library.FcPatternAddString(pattern, b"family", b"serif")
    library.FcPatternAddBool(pattern, b"scalable", 1)
    library.FcConfigSubstitute(config, pattern, _MATCH_PATTERN)
    library.FcDefaultSubstitute(pattern)
    fonts = library.FcFontSort(config, pattern, 0, None, ctypes.byref(ctypes.c_int()))
    try:
        for index in range(fonts.contents.count if fonts else 0):
            font = ctypes.c_void_p(fonts.contents.fonts[index])
            if _has(library, font, number) and not _number(library.FcPatternGetBool, font, b"color"):
                file = ctypes.c_char_p()
                library.FcPatternGetString(font, b"file", 0, ctypes.byref(file))
                yield (
                    (file.value or b"").decode(errors="surrogateescape"),
                    _number(library.FcPatternGetInteger, font, b"index") & 0xFFFF,
                )
    finally:
        if fonts:
            library.FcFontSetDestroy(fonts)
        library.FcCharSetDestroy(wanted)
        library.FcPatternDestroy(pattern)


def _has(library: Any, font: ctypes.c_void_p, number: int) -> bool:
    letters = ctypes.c_void_p()
    library.FcPatternGetCharSet(font, b"charset", 0, ctypes.byref(letters))
    return bool(letters) and bool(library.FcCharSetHasChar(letters, ctypes.c_uint32(number)))


def _number(get: Any, font: ctypes.c_void_p, key: bytes) -> int:
    """An integer or a truth of a pattern; 0 where it has none."""
    value = ctypes.c_int(0)
    get(font, key, 0, ctypes.byref(value))
    return value.value
