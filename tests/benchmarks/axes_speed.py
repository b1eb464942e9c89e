"""How long every setting of every axis takes on a line of 64 notes, as JSON.

    python tests/benchmarks/axes_speed.py

Seconds are of one core (process time), the median of three rounds; reading, fingering and start-up are not counted.
"""

from __future__ import annotations

import json
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from engrave.axes import ORDER, Axis, vary
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument
from engrave.model import Declined, Study, Variation
from tests.build import passage

BARS = (
    "F4/8 E4/8 G4/8 E4/8 A4/8 E4/8 G4/8 E4/8",
    "C4/8 B3/8 D4/8 B3/8 E4/8 B3/8 D4/8 B3/8",
    "G3/8 A3/8 B3/8 C4/8 D4/8 E4/8 F4/8 G4/8",
    "A4/8 G4/8 F4/8 E4/8 D4/8 C4/8 B3/8 A3/8",
)
ROUNDS = 3


def seconds(line: Variation, axis: Axis) -> tuple[float, int, int]:
    """Time for every setting of an axis, how many apply, how many decline."""
    start = time.process_time()
    made = [vary(line, Study(**{axis.name: setting.name})) for setting in axis.settings]  # type: ignore[arg-type]
    taken = time.process_time() - start
    declined = sum(isinstance(m, Declined) for m in made)
    return taken, len(made) - declined, declined


def main() -> None:
    """Print the figures."""
    line = fret(passage(" | ".join(BARS * 2)), find_instrument("standard"), find_hand("standard"))
    report: dict[str, object] = {"notes": sum(1 for _ in line.passage.notes)}
    total = 0.0
    for axis in ORDER:
        rounds = [seconds(line, axis) for _ in range(ROUNDS)]
        middle = statistics.median(r[0] for r in rounds)
        total += middle
        report[axis.name] = {"seconds": round(middle, 3), "apply": rounds[0][1], "decline": rounds[0][2]}
    report["total seconds"] = round(total, 3)
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
