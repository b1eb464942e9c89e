"""Fits the weights of the fretting engine to files of printed fingerings.

    python tests/benchmarks/fingering_fit.py FILE...            # leave groups of pieces out in turn, print agreement
    python tests/benchmarks/fingering_fit.py FILE... --write    # fit on all of it, write shared/weights.toml

Agreement is printed twice, single lines and whole staves apart: as the program fingers by itself, and for a player of
the taste that the other works choose, for where on the neck to play is an edition's style (see `tasted`). Groups are
left out in --folds folds (each its own by default: hours). Of each work no more than DIGITS printed digits of each file
are learnt from, so that a long one does not set the weights. The fit is a maximum of likelihood held near values set by
hand ([start] of shared/weights.toml), of which the weights go SHARE of the way: each weight may move by about its
spread. First scales, chords and broken chords as methods print them (fingering_textbook.py) are learnt from beside the
editions and never counted. Pieces that are related (one work in two arrangements, one author) are left out together.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import json
import sys
import tomllib
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from engrave import resources
from engrave.fretting.building import BlockMaker
from engrave.fretting.chances import settled_on
from engrave.fretting.costs import TABLES, TERMS
from engrave.fretting.pricing import Costs
from engrave.fretting.shapes import Floats
from engrave.fretting.taste import NEUTRAL, Taste
from engrave.fretting.weights import Weights, flavoured, weights_from
from engrave.instruments import find_hand
from engrave.model import UnplayableError
from tests.benchmarks import fingering_textbook
from tests.benchmarks.fingering_crf import (
    SIZE,
    TABLE,
    TERM,
    Model,
    Sample,
    fitted,
    sample,
    theta_of,
    weighed,
    weights_of,
)
from tests.benchmarks.fingering_pruned import pruned
from tests.benchmarks.fingering_rows import Choice, Row, agree, lattice_of_row, load

WEIGHTS = resources.folder("shared") / "weights.toml"
SPREAD = {"slot": 0.2, "spot": 0.5, "pair": 0.7}
"""prior deviation of each cell of a table"""
SPREAD_TERM = 0.7
FIRM = (
    "stretch",
    "stacked",
    "reversed",
    "small_barre",
    "half_barre",
    "full_barre",
    "bass_high",
    "string_1",
    "string_2",
    "string_3",
)
"""terms these data say little about: kept near the hand-set value"""
EFFORTS = (
    "off",
    "stretch",
    "reversed",
    "small_barre",
    "half_barre",
    "full_barre",
    "bass_high",
    "shift",
    "shift_dm",
    "shift_off_beat",
    "hop_near",
    "hop_far",
    "jump",
    "change_finger",
    "cross",
    "reach_on",
    "extend",
    "refinger",
)
"""terms that cost effort: never a gain, whatever a few digits say"""
CLIMB = {"high_climb": 0.15, "open_climb": 0.3}
"""prior deviation of what changes where the music climbs"""
HELD = (
    "unlike",
    "unlikely",
    "let_go",
    "over_open",
    "bridged",
    "open_inside",
    "hop_alone",
    "hop_1",
    "reuse_fret",
    "reuse",
)
"""set by hand: what the lattice does not hold (unlike, unlikely), what editions other than the fit's have taught
(let_go), what no hand does well (over_open, bridged, open_inside), and what methods teach against (hop_alone,
hop_1, reuse_fret, reuse)"""
SHARE = 0.88
"""how much of the way from the hand-set to the fitted weights is gone: with nine tenths, first scales and chords lose
their textbook fingers to the habits of a few works"""
DIGITS = 250
"""printed digits of one work and file from which the weights are learnt, and no more: with 120, works left out in turn
lost one digit of a hundred"""
TEXTBOOK = 2.0
"""how much a row of fingering_textbook.py counts beside one of an edition"""
STYLE = ("high", "open", "open_high")
"""where on the neck to play and how often on open strings is an edition's style: set by hand, bent by a taste"""
TASTES = (
    NEUTRAL,
    Taste(neck=0.35, open=-0.25),
    Taste(neck=0.7, open=-0.5),
    Taste(neck=0.7, open=-0.7),
    Taste(neck=1.0, open=-1.0),
)
"""tastes among which works choose one for a work left out: ever higher and on fewer open strings"""


def keys_of(row: Row) -> frozenset[str]:
    """The groups a row belongs to; the first in order is the one it is tested with."""
    words = [w for w in row["piece"].lower().replace("“", " ").replace("”", " ").split() if len(w) > 2]
    keys = {f"{row['composer']}: {' '.join(words[:3])}"}
    if row["composer"] in ("TarregaF", "CarcassiM"):
        keys.add(f"{row['composer']}: all")
    if "moonlight" in row["piece"].lower() or "luna" in row["piece"].lower():
        keys = {"moonlight", *(k for k in keys if k.endswith("all"))}
    if row["piece"].lower().startswith("ah vous"):
        keys = {"ah vous"}
    return frozenset(keys)


def group_of(row: Row) -> str:
    """The group a row is left out with."""
    keys = keys_of(row)
    return next((key for key in ("moonlight", "ah vous") if key in keys), max(keys, key=lambda k: k.endswith("all")))


def learnt(model: Model, start: Weights, spread: Floats, samples: list[Sample]) -> Weights:
    """The weights that rows teach, SHARE of the way from the hand-set ones."""
    first = theta_of(start)
    printed = counted_evenly(learnt_from(samples))
    plain = 1 + max(one.habit for one in printed)
    textbook = [replace(one, habit=plain, weight=TEXTBOOK) for one in cut_down(textbook_samples(), start)]
    theta = fitted(model, first, spread, floors(), [*printed, *textbook], plain=plain)
    return weights_of(first + SHARE * (theta - first), start)


@cache
def textbook_samples() -> list[Sample]:
    """What methods agree on."""
    hand, maker = find_hand("standard"), BlockMaker()
    return [sample(row, lattice_of_row(row, hand, maker)[0]) for row in fingering_textbook.rows()]


def floors() -> Floats:
    """The lowest value of each weight."""
    floor = np.full(SIZE, -np.inf)
    floor[[TERM[name] for name in EFFORTS]] = 0.0
    return floor


def start_and_spread() -> tuple[Weights, Floats]:
    """The hand-set weights and how far each may move."""
    row = tomllib.loads(WEIGHTS.read_text(encoding="utf-8"))
    start = weights_from({"terms": row["start"], "time": row["time"]})
    spread = np.full(SIZE, SPREAD_TERM)
    for name in FIRM:
        spread[TERM[name]] = 0.2
    for name, deviation in CLIMB.items():
        spread[TERM[name]] = deviation
    for name in (*STYLE, *HELD):
        spread[TERM[name]] = 0.0
    for name, first in TABLE.items():
        spread[first : first + TABLES[name]] = SPREAD[name]
    return start, spread


def choices(one: Sample, costs: Costs) -> list[Choice]:
    """The engine's fingering of a row under some costs."""
    _, path = settled_on(one.lattice, costs)
    made: dict[int, Choice] = {}
    for tone, placed in zip(one.lattice.problem.tones, path.placed, strict=True):
        for name in tone.ids:
            made[int(name)] = Choice(*placed.stop)
    return [made[index] for index in range(len(one.row["notes"]))]


def samples_of(*paths: Path) -> tuple[list[Sample], int]:
    """The rows of files with their lattices, all from one maker, and how many rows no hand can play."""
    hand, maker = find_hand("standard"), BlockMaker()
    made, rows = [], [row for path in paths for row in load(path)]
    for row in rows:
        with contextlib.suppress(UnplayableError):
            made.append(sample(row, lattice_of_row(row, hand, maker)[0]))
    return made, len(rows) - len(made)


def cut_down(samples: list[Sample], start: Weights) -> list[Sample]:
    """The rows with lattices of the shapes alone that matter to a fit from `start`."""
    costs: dict[int, Costs] = {}
    made = []
    for one in samples:
        geometry = one.lattice.problem.geometry
        mine = costs.setdefault(id(geometry), Costs(start, geometry))
        made.append(sample(one.row, pruned(one.row, one.lattice, mine)) if one.length else one)
    return made


def learnt_from(samples: list[Sample]) -> list[Sample]:
    """The rows up to DIGITS digits of each work, single lines and whole staves apart."""
    digits: Counter[tuple[str, bool]] = Counter()
    made = []
    for one in samples:
        work = group_of(one.row), one.row["texture"] == "poly"
        if one.length and digits[work] < DIGITS:
            digits[work] += sum(note["finger"] is not None for note in one.row["notes"])
            made.append(one)
    return made


def left_out(samples: list[Sample], groups: frozenset[str]) -> tuple[list[Sample], list[Sample]]:
    """The rows of some groups, and all rows related to none of them."""
    test = [one for one in samples if group_of(one.row) in groups]
    related = frozenset[str]().union(*(keys_of(one.row) for one in test))
    return test, [one for one in samples if not keys_of(one.row) & related]


def counted_evenly(samples: list[Sample]) -> list[Sample]:
    """The rows with a habit for each group, no group counting for more than its root."""
    return weighed(samples, [group_of(one.row) for one in samples])


def leave_out(samples: list[Sample], folds: int) -> list[tuple[str, list[Sample], Weights]]:
    """For each fold of groups its rows and the weights fitted without them or anything related to them."""
    start, spread = start_and_spread()
    model = Model(start)
    found = []
    fit = {id(one): small for one, small in zip(samples, cut_down(samples, start), strict=True)}
    groups = sorted({group_of(one.row) for one in samples})
    for fold in range(min(folds or len(groups), len(groups))):
        away = frozenset(groups[fold :: folds or len(groups)])
        test, rest = left_out(samples, away)
        weights = learnt(model, start, spread, [fit[id(one)] for one in rest])
        name = ", ".join(sorted(away))
        found.append((name, test, weights))
        counts = agreement(test, weights)
        print(f"{name}: {counts['digits_ok']} of {counts['digits_n']} digits", file=sys.stderr, flush=True)
    return found


def agreement(samples: list[Sample], weights: Weights) -> Counter[str]:
    """Counts over rows under given weights."""
    counts: Counter[str] = Counter()
    costs: dict[int, Costs] = {}
    for one in samples:
        geometry = one.lattice.problem.geometry
        mine = costs.setdefault(id(geometry), Costs(weights, geometry))
        counts += agree(one.row, choices(one, mine))
    return counts


def tasted(folds: Sequence[tuple[str, list[Sample], Weights]]) -> dict[str, Counter[str]]:
    """Counts over rows left out, of single lines and of whole staves: neutral, and each fold in one taste of TASTES.

    For each fold it is the taste in which all others, left out in their turn, meet most digits: no digit of a fold is
    counted for its own taste, though the weights under which the others count have seen them.
    """
    kinds = {"single lines": False, "whole staves": True}
    met: dict[tuple[str, int, Taste], Counter[str]] = {}
    for number, (_, test, weights) in enumerate(folds):
        for kind, poly in kinds.items():
            rows = [one for one in test if (one.row["texture"] == "poly") == poly]
            for taste in TASTES:
                met[kind, number, taste] = agreement(rows, flavoured(weights, taste))
    totals = {f"{kind}{how}": Counter[str]() for kind in kinds for how in ("", " in the taste of other works")}
    for number in range(len(folds)):
        others = dict.fromkeys(TASTES, 0)
        for (_, other, taste), counts in met.items():
            others[taste] += counts["digits_ok"] if other != number else 0
        chosen = max(TASTES, key=others.__getitem__)
        for kind in kinds:
            totals[kind] += met[kind, number, NEUTRAL]
            totals[f"{kind} in the taste of other works"] += met[kind, number, chosen]
    return totals


def rates(counts: Counter[str]) -> dict[str, float]:
    """Shares from counts."""
    names = [key[:-2] for key in counts if key.endswith("_n")]
    return {name: round(counts[f"{name}_ok"] / counts[f"{name}_n"], 3) for name in sorted(names)}


def _editions(samples: list[Sample]) -> str:
    """The editions the rows name, without quote marks."""
    named = sorted({str(one.row["edition"]).replace('"', "").rstrip(".") for one in samples if one.row.get("edition")})
    return "; ".join(named)


def written(weights: Weights, paths: Sequence[Path], samples: list[Sample]) -> str:
    """The text of shared/weights.toml with fitted weights and where they come from."""
    old = WEIGHTS.read_text(encoding="utf-8")
    head = old[: old.index("\n[provenance]\n") + 1]
    digits = sum(note["finger"] is not None for one in samples for note in one.row["notes"])
    lines = [
        "[provenance]",
        f'data = "{len(samples)} passages, {digits} printed fretting digits: {_editions(samples)}"',
        f"sha256 = {[hashlib.sha256(path.read_bytes()).hexdigest() for path in paths]!r}".replace("'", '"'),
        'method = "maximum likelihood on the lattice, with first scales and chords as methods print them, held near '
        '[start], then 88 hundredths of the way there; tests/benchmarks/fingering_fit.py"',
        "",
        "[terms]",
        *(f"{name} = {weights.terms[name]:.3f}" for name in TERMS),
    ]
    for name in TABLES:
        lines += ["", f"[tables.{name}]"]
        lines += [f"{cell} = {cost:.3f}" for cell, cost in enumerate(weights.tables[name][:-1]) if abs(cost) >= 0.005]
    return head + "\n".join(lines) + "\n"


def main() -> None:
    """Fits, and prints or writes."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", type=Path, nargs="+")
    parser.add_argument("--write", action="store_true", help="fit on all of it and write shared/weights.toml")
    parser.add_argument("--folds", type=int, default=0, help="folds in which groups are left out; 0: one a group")
    options = parser.parse_args()
    samples, _ = samples_of(*options.files)
    if options.write:
        start, spread = start_and_spread()
        weights = learnt(Model(start), start, spread, cut_down(samples, start))
        WEIGHTS.write_text(written(weights, options.files, learnt_from(samples)), encoding="utf-8")
        print(json.dumps(rates(agreement(samples, weights))))
        return
    totals = tasted(leave_out(samples, options.folds))
    print(json.dumps({name: rates(counts) for name, counts in totals.items()}, indent=1))


if __name__ == "__main__":
    main()
