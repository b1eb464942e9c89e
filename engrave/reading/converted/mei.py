"""MEI (music-encoding.org, versions 3 to 5, common Western notation), in the same bounds as all other XML."""

from __future__ import annotations

from functools import partial
from typing import Any

from engrave.reading.converted.by_music21 import as_musicxml, music21
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.safe_xml import parse


def mei_as_musicxml(data: bytes, text: str, name: str, limits: Limits = LIMITS) -> bytes:
    """The MusicXML of an MEI file, `text` being its `data` decoded. Raises ReadError."""
    parse(data, name, limits)
    return as_musicxml(partial(_score, text), "MEI", name)


def _score(text: str) -> Any:
    return music21("mei").MeiToM21Converter(text).run()
