"""What the speed of the whole command is measured on: a line of eight bars, and plans of as many studies as asked for.

The line is like that of the trial the reaches come from: eight bars of sixteenths, 128 notes. Its studies are mixtures
of settings that all apply to it, each another one, so that none is a copy of a page there is.

    python tests/benchmarks/speed_inputs.py FOLDER 10,40,160 sixteenths    writes passages and plans into FOLDER
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import count, islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).absolute().parents[2]))

from engrave.axes import vary
from engrave.exchange import to_musicxml
from engrave.line import line_of
from engrave.model import Passage, Plan, Study, Variation
from engrave.regimen import dump_plan
from tests.build import passage

_BARS = (
    "E3/16 B3/16 E4/16 G4/16 F#4/16 E4/16 D4/16 E4/16 C4/16 B3/16 A3/16 G3/16 F#3/16 G3/16 A3/16 B3/16",
    "C4/16 E4/16 A3/16 E4/16 B3/16 E4/16 C4/16 E4/16 D4/16 E4/16 C4/16 E4/16 B3/16 A3/16 G3/16 F#3/16",
    "G3/16 A3/16 B3/16 C4/16 D4/16 E4/16 F#4/16 G4/16 A4/16 G4/16 F#4/16 E4/16 D4/16 C4/16 B3/16 A3/16",
    "B3/16 D#4/16 F#4/16 A4/16 G4/16 F#4/16 E4/16 D#4/16 E4/16 B3/16 G3/16 E3/16 B2/16 E3/16 G3/16 B3/16",
)
BARS = 8
SIXTEENTHS = "sixteenths"
EIGHTHS = "eighths"

_PLUCK = (
    "i-m", "m-a", "a-m-i", "p-i", "i-a", "p-i-m", "p-i-m-a", "m-i", "a-m", "p-m", "i-m-a", "p-a-m-i", "a-i", "p-m-i",
    "best", "m-a-i", "p-a",
)  # fmt: skip
_RHYTHM = ("as written", "dotted", "as written", "long 1 of 4", "as written", "stopped", "in threes")
_ACCENT = ("as written", "every 2", "beats", "every 3", "fretted notes")
_STROKE = ("as given", "rest", "free")
_SLURS = ("as written", "as written", "pull-offs", "as written")


def line(kind: str = SIXTEENTHS) -> Passage:
    """Eight bars in 4/4: of sixteenths, or of eighths (128 or 64 notes)."""
    return replace(passage(" | ".join(_bars(kind)), fifths=1, title="Eight bars"), tempo=Fraction(72))


def _bars(kind: str) -> list[str]:
    if kind == SIXTEENTHS:
        return [*_BARS, *_BARS]
    notes = [bar.replace("/16", "/8").split() for bar in _BARS]
    return [" ".join(bar[half : half + 8]) for bar in notes for half in (0, 8)]


def mixtures(music: Passage) -> Iterator[Study]:
    """Studies that apply to the line, each other than all before it, without end."""
    whole = line_of(music, Plan())
    seen: set[tuple[str, ...]] = set()
    for k in count():
        pluck, rhythm, accent = _PLUCK[k % len(_PLUCK)], _RHYTHM[k % len(_RHYTHM)], _ACCENT[k % len(_ACCENT)]
        stroke, slurs = _STROKE[k % len(_STROKE)], _SLURS[k % len(_SLURS)]
        key = (pluck, rhythm, accent, stroke, slurs)
        study = Study(pluck=pluck, rhythm=rhythm, accent=accent, stroke=stroke, slurs=slurs)
        if key not in seen and isinstance(vary(whole, study), Variation):
            seen.add(key)
            yield study


def files(kind: str, pages: Sequence[int]) -> dict[str, bytes]:
    """Name → content: passages as MusicXML, and plans of so many variations, also with the last one changed."""
    studies = tuple(islice(mixtures(line(kind)), max(pages) + 1))
    plans = {f"plan-{n}": studies[:n] for n in pages}
    plans |= {f"changed-{n}": (*studies[: n - 1], studies[-1]) for n in pages}
    named = {f"{name}.toml": dump_plan(Plan(title="Eight bars", studies=row)).encode() for name, row in plans.items()}
    passages = {SIXTEENTHS: line(SIXTEENTHS), EIGHTHS: line(EIGHTHS), "other": other(kind)}
    return named | {f"{name}.musicxml": _written(music) for name, music in passages.items()}


def other(kind: str) -> Passage:
    """Another line, for a reissue: the same bars, the last first."""
    return passage(" | ".join(_bars(kind)[::-1]), fifths=1, title="Eight others")


def _written(music: Passage) -> bytes:
    """A passage as MusicXML without a mark of either hand."""
    return to_musicxml(replace(line_of(music, Plan()), passage=music), exact=True)


if __name__ == "__main__":
    _, folder, asked, of = sys.argv
    for name, content in files(of, [int(n) for n in asked.split(",")]).items():
        (Path(folder) / name).write_bytes(content)
    counted = {kind: sum(1 for _ in line(kind).notes) for kind in (SIXTEENTHS, EIGHTHS)}
    print(json.dumps({"bars": BARS, "notes": counted}))
