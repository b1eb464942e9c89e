"""How far the engine's fingerings agree with a file of printed ones, as JSON.

    python tests/benchmarks/fingering_agreement.py FILE... [--leave-out FOLDS]

Seen by the engine: pitches, onsets, durations. Reported: all digits, fretted digits, strings (printed; and known:
printed or following from a printed position), as shares of what the edition prints; by texture; by piece with an
interval over pieces; with the printed strings given; whether the digit is in one of the three that a survey
compares; the two baselines; and the count of broken rules. Shares are over all digits, and as `macro` the mean of the
shares of works. Rows may hold chords; those that no hand can play as written are left out and counted. The weights are
those of shared/weights.toml: a file they were fitted on is marked as seen, and for it the honest figures are those of
--leave-out, which fits anew without each fold of groups of related pieces (0: each group its own fold; hours).
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import tomllib
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from engrave.fretting.alternatives import alternatives
from engrave.fretting.building import BlockMaker
from engrave.fretting.chances import settled_on
from engrave.fretting.pricing import Costs
from engrave.fretting.search import Path as Way
from engrave.fretting.shapes import Stop
from engrave.fretting.weights import Weights, standard_weights
from engrave.instruments import find_hand
from engrave.model import UnplayableError
from tests.benchmarks.fingering_crf import Sample, sample
from tests.benchmarks.fingering_fit import WEIGHTS, leave_out, rates, samples_of
from tests.benchmarks.fingering_rows import (
    Choice,
    Row,
    agree,
    finger_per_fret,
    instrument_of,
    lattice_of_row,
    lowest_fret,
)
from tests.fretting.rules import fingering_faults


def spelled(one: Sample, way: Way) -> list[Choice]:
    """A way through the lattice as one choice a note."""
    made: dict[int, Choice] = {}
    for tone, placed in zip(one.lattice.problem.tones, way.placed, strict=True):
        for name in tone.ids:
            made[int(name)] = Choice(*placed.stop)
    return [made[index] for index in range(len(one.row["notes"]))]


class Player:
    """The engine with one set of weights; costs are kept for each neck."""

    def __init__(self, weights: Weights) -> None:
        self.weights = weights
        self.costs: dict[int, Costs] = {}

    def _costs(self, one: Sample) -> Costs:
        geometry = one.lattice.problem.geometry
        return self.costs.setdefault(id(geometry), Costs(self.weights, geometry))

    def best(self, one: Sample) -> list[Choice]:
        """The cheapest fingering."""
        return spelled(one, settled_on(one.lattice, self._costs(one))[1])

    def nearest_of_three(self, one: Sample) -> list[Choice]:
        """For each note the printed digit's choice, if one of the best three fingerings has it."""
        lattice, best = settled_on(one.lattice, self._costs(one))
        ways = [spelled(one, a.path) for a in alternatives(lattice, self._costs(one), best, 3)]
        return [
            next((c for c in at if c.finger == note["finger"]), at[0])
            for note, at in zip(one.row["notes"], zip(*ways, strict=True), strict=True)
        ]


def counted(rows: Sequence[tuple[Row, Sequence[Choice]]]) -> dict[str, Any]:
    """Shares over rows, by texture, and by piece with an interval over pieces."""
    total: Counter[str] = Counter()
    textures: dict[str, Counter[str]] = {}
    pieces: dict[str, Counter[str]] = {}
    for row, choices in rows:
        counts = agree(row, choices)
        total += counts
        textures.setdefault(row.get("texture") or "?", Counter()).update(counts)
        pieces.setdefault(row["piece"], Counter()).update(counts)
    known = [c["digits_ok"] / c["digits_n"] for c in pieces.values() if c["digits_n"]]
    return {
        **rates(total),
        "macro": round(sum(known) / max(len(known), 1), 3),
        "by_texture": {name: rates(counts) for name, counts in sorted(textures.items())},
        "interval_over_pieces": interval(list(pieces.values())),
        "by_piece": {name: [c["digits_ok"], c["digits_n"]] for name, c in sorted(pieces.items())},
    }


def interval(pieces: Sequence[Counter[str]]) -> list[float]:
    """A 95 % interval of the share of digits: pieces drawn anew 2,000 times."""
    draws = np.random.default_rng(0)
    right = np.array([c["digits_ok"] for c in pieces])
    known = np.array([c["digits_n"] for c in pieces])
    picks = draws.integers(0, len(pieces), size=(2000, len(pieces)))
    shares = right[picks].sum(axis=1) / np.maximum(known[picks].sum(axis=1), 1)
    return [round(float(x), 3) for x in np.quantile(shares, [0.025, 0.975])]


def broken_rules(rows: Sequence[tuple[Sample, Sequence[Choice]]]) -> int:
    """Rules that the fingerings break, checked without the search."""
    hand = find_hand("standard")
    faults = 0
    for one, choices in rows:
        problem = one.lattice.problem
        stops = [choices[int(tone.ids[0])] for tone in problem.tones]
        ways = [_stop(choice) for choice in stops]
        faults += len(fingering_faults(problem.tones, problem.groups, ways, instrument_of(one.row), hand))
    return faults


def _stop(choice: Choice) -> Stop:
    return Stop(*choice)


def report(paths: Sequence[Path], *, folds: int | None) -> dict[str, Any]:
    """All figures of some files; `folds`: in how many the works are left out, None: with the weights as they are."""
    hand, maker = find_hand("standard"), BlockMaker()
    provenance = tomllib.loads(WEIGHTS.read_text(encoding="utf-8"))["provenance"]
    seen = any(hashlib.sha256(path.read_bytes()).hexdigest() in provenance["sha256"] for path in paths)
    samples, unplayable = samples_of(*paths)
    rows = [one.row for one in samples]
    mended = 0
    given = []
    for row in rows:
        try:
            lattice, mends = lattice_of_row(row, hand, maker, strings=True)
        except UnplayableError:
            lattice, mends = lattice_of_row(row, hand, maker)
        mended += mends
        given.append(sample(row, lattice))
    groups = [("all", samples, standard_weights())]
    if folds is not None:
        groups = leave_out(samples, folds)
    players = [(Player(weights), test) for _, test, weights in groups]

    def all_of(play: Callable[[Player, Sample], list[Choice]], with_strings: bool = False) -> list[tuple[Sample, Any]]:
        twin = {id(s): g for s, g in zip(samples, given, strict=True)}
        return [(one, play(player, twin[id(one)] if with_strings else one)) for player, test in players for one in test]

    best = all_of(lambda player, one: player.best(one))
    return {
        "files": [path.name for path in paths],
        "passages": len(rows),
        "left_out_as_unplayable": unplayable,
        "weights": "shared/weights.toml" if folds is None else "fitted without each fold of works",
        "seen_by_the_fit": seen and folds is None,
        "engine": counted([(one.row, choices) for one, choices in best]),
        "engine_strings_given": counted(
            [(one.row, c) for one, c in all_of(lambda player, one: player.best(one), with_strings=True)]
        ),
        "in_best_three": counted([(one.row, c) for one, c in all_of(lambda player, one: player.nearest_of_three(one))]),
        "lowest_fret": counted([(row, lowest_fret(row)) for row in rows]),
        "finger_per_fret": counted([(row, finger_per_fret(row)) for row in rows]),
        "broken_rules": broken_rules(best),
        "marks_left_out_with_strings_given": mended,
    }


def main() -> None:
    """Prints the report."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", type=Path, nargs="+")
    parser.add_argument("--leave-out", type=int, metavar="FOLDS", dest="folds")
    options = parser.parse_args()
    print(json.dumps(report(options.files, folds=options.folds), ensure_ascii=False, indent=1))


if __name__ == "__main__":
    main()
