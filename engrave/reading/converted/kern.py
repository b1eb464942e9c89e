"""Humdrum kern (humdrum.org, Humdrum Toolkit Reference Manual): spines of `**kern`, a line a moment."""

from __future__ import annotations

from functools import partial
from typing import Any

from engrave.model import ReadError
from engrave.reading.converted.by_music21 import as_musicxml, music21
from engrave.reading.limits import LIMITS, Limits, allow

MARK = "**kern"
"""what every such file has at the head of its spines"""


def kern_as_musicxml(text: str, name: str, limits: Limits = LIMITS) -> bytes:
    """The MusicXML of a kern file. Raises ReadError."""
    lines = text.splitlines()
    tokens = sum(line.count("\t") + 1 for line in lines if not line.startswith(("!", "*")))
    most = 4 * limits.notes
    if tokens > most:
        hint = f"keep the passage only; {allow('notes', -(-tokens // 4))}"
        raise ReadError.at(name, f"{tokens:,} notes, rests and empty places, the limit is {most:,}", hint)
    spines = max((line.count("\t") + 1 for line in lines), default=0)
    if spines > limits.parts:
        raise ReadError.at(name, f"{spines} spines side by side, the limit is {limits.parts}", allow("parts", spines))
    return as_musicxml(partial(_score, "\n".join(lines)), "kern", name)


def _score(text: str) -> Any:
    found = music21("humdrum.spineParser").HumdrumDataCollection(text)
    score = found.parse()
    return next(iter(score.scores), score) if "Opus" in score.classes else score
