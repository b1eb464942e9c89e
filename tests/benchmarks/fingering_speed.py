"""Notes a second of the fretting engine, as JSON.

    python tests/benchmarks/fingering_speed.py [--long]

A line of 100 and 1,000 notes (10,000 with --long), a 200-onset passage in two voices, and the memory and time of one
fingering and of three. CPU seconds of one process, from passage to placed passage.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
import tracemalloc
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from engrave.fretting.alternatives import alternatives
from engrave.fretting.engine import prepared
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument
from engrave.model import Passage
from tests.build import passage

SCALE = ["E3", "F3", "G3", "A3", "B3", "C4", "D4", "E4", "F4", "G4", "A4", "B4", "C5", "D5", "E5", "F5", "G5"]


def line(notes: int) -> str:
    """A line that wanders up and down a scale in eighths."""
    draw, at, names = Random(1), 8, []
    for _ in range(notes):
        at = min(max(at + draw.choice((-3, -2, -1, -1, 1, 1, 2, 3)), 0), len(SCALE) - 1)
        names.append(f"{SCALE[at]}/8")
    names += ["r/8"] * (-notes % 8)
    return " | ".join(" ".join(names[at : at + 8]) for at in range(0, len(names), 8))


def two_voices(onsets: int) -> Passage:
    """Broken chords in eighths over a bass in halves: the bass rings, the upper notes move."""
    bars = ("C4 E4 G4 E4 | A2", "B3 D4 G4 D4 | G2", "A3 C4 E4 C4 | A2", "G#3 B3 E4 B3 | E2", "A3 D4 F4 D4 | D3")
    upper: list[str] = []
    lower: list[str] = []
    count = 0
    while count < onsets:
        notes, bass = bars[len(upper) % len(bars)].split(" | ")
        upper.append(" ".join(f"{name}/8" for name in notes.split() * 2))
        lower.append(f"{bass}/2 {bass}/2")
        count += 8
    return passage(" | ".join(upper), " | ".join(lower))


def timed(piece: Passage) -> float:
    """CPU seconds to finger a passage."""
    start = time.process_time()
    fret(piece, find_instrument("standard"), find_hand("standard"))
    return time.process_time() - start


def main() -> None:
    """Prints the figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--long", action="store_true", help="the line of 10,000 notes too")
    options = parser.parse_args()
    timed(passage(line(16)))
    found: dict[str, object] = {}
    for notes in (100, 1000, *((10_000,) if options.long else ())):
        seconds = timed(passage(line(notes)))
        found[f"line_{notes}"] = {"seconds": round(seconds, 3), "notes_a_second": round(notes / seconds)}
    seconds = timed(two_voices(200))
    found["two_voices_200_onsets"] = {"seconds": round(seconds, 3), "onsets_a_second": round(200 / seconds)}
    task = prepared(passage(line(200)), find_instrument("standard"), find_hand("standard"))
    for count in (1, 3):
        tracemalloc.start()
        start = time.process_time()
        made = alternatives(task.lattice, task.costs, task.best, count)
        seconds, peak = time.process_time() - start, tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        found[f"alternatives_{count}"] = {"found": len(made), "seconds": round(seconds, 3), "peak_mb": peak // 2**20}
    print(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
