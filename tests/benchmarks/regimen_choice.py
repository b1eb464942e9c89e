"""How good and how quick the choice of a regimen is, beside the greedy way and the fixed catalogue.

Run: python -m tests.benchmarks.regimen_choice [PASSAGE …]

Prints JSON: for each passage the pages that the exact programme, the greedy way and the fixed catalogue (in its own
order, cut as soon as everything is covered) need to train everything as often as wanted; what a short and a standard
book are worth, and what they train of what is wanted, exact, greedy and fixed; the seconds for choosing, with and
without making the variations; and for weeks of several lengths how they use their minutes, and their seconds. Seconds
are processor time of this run on this machine, a median of the rounds.
"""

from __future__ import annotations

import json
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

from engrave import reading
from engrave.axes.selection import selection
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand
from engrave.line import built_in, instrument_for
from engrave.model import Plan, Player, Variation
from engrave.regimen import choose, week
from engrave.regimen.candidate import Candidate
from engrave.regimen.candidate_pool import pool
from engrave.regimen.choosing import A_LITTLE, MORE, PAGE, fewest, most_valuable
from engrave.regimen.practice import depth_pages
from engrave.regimen.studies import canonical
from engrave.regimen.targets import Target, targets
from tests.regimen.greedy import greedy

ROUNDS = 3
PLAYER = Player(weak=("m-a", "little finger"), strong=("i-m",))
_T = TypeVar("_T")


def timed(run: Callable[[], _T], rounds: int = ROUNDS) -> tuple[_T, float]:
    """What `run` gives, and the median of its seconds of processor time."""
    seconds = []
    for _ in range(rounds):
        start = time.process_time()
        result = run()
        seconds.append(time.process_time() - start)
    return result, round(statistics.median(seconds), 3)


def line_of(name: str) -> Variation:
    """The fingered line of a passage, or of the built-in one."""
    data, label = (Path(name).read_bytes(), Path(name).name) if name else built_in()
    passage = reading.read(data, label)
    plan = Plan()
    return fret(passage, instrument_for(passage, plan), find_hand(plan.hand))


def trained(candidates: Sequence[Candidate], wanted: Sequence[Target], chosen: Sequence[int]) -> float:
    """Share of what is wanted that a choice of pages trains as often as wanted, each thing by its worth."""
    total = sum(
        target.worth * min(1.0, sum(candidates[i].skills.get(target.skill, 0) for i in chosen) / target.often)
        for target in wanted
    )
    return round(total / sum(target.worth for target in wanted), 4)


def value(candidates: Sequence[Candidate], wanted: Sequence[Target], chosen: Sequence[int]) -> float:
    """What a choice is worth to the exact programme, but for the minutes."""
    total = sum(PAGE / max(1, len(candidates[i].kinds)) for i in chosen)
    for target in wanted:
        share = sum(candidates[i].skills.get(target.skill, 0) for i in chosen) / target.often
        total += target.worth * (min(1.0, share) + A_LITTLE * min(max(0.0, share - 1), MORE - 1) / (MORE - 1))
    return total


def greedy_worth(candidates: Sequence[Candidate], wanted: Sequence[Target], pages: int) -> list[int]:
    """So many pages, always the one that adds most worth."""
    chosen = [i for i, c in enumerate(candidates) if c.plain]
    while len(chosen) < min(pages, len(candidates)):
        left = [i for i in range(len(candidates)) if i not in chosen]
        chosen.append(max(left, key=lambda i: (value(candidates, wanted, [*chosen, i]), -i)))
    return chosen


def fixed(candidates: Sequence[Candidate], depth: str, pages: int) -> list[int]:
    """The first pages of a selection of the catalogue that apply, in its own order."""
    order = [canonical(study) for study in selection(depth)]
    by_name = {canonical(c.study): i for i, c in enumerate(candidates)}
    return [by_name[name] for name in order if name in by_name][:pages]


def book(line: Variation) -> dict[str, Any]:
    """The figures of the choice for books."""
    plan = Plan(player=PLAYER, depth="complete")
    there, making = timed(lambda: pool(line, plan))
    candidates = there.candidates
    wanted = [target for target in targets(candidates, PLAYER) if target.often]
    exact, seconds = timed(lambda: fewest(candidates, wanted))
    order = fixed(candidates, "complete", len(candidates))
    whole = next(k for k in range(1, len(order) + 1) if _covers(candidates, wanted, order[:k]))
    found: dict[str, Any] = {
        "notes": line.figures.notes or sum(1 for _ in line.passage.notes),
        "candidates": len(candidates),
        "skills": len(wanted),
        "seconds making the variations": making,
        "pages that train everything": {
            "exact": len(exact.chosen),
            "greedy": len(greedy(candidates, wanted).chosen),
            "catalogue, in its order": whole,
        },
        "seconds for the fewest": seconds,
        "verdict": exact.verdict,
        "so many pages": {},
    }
    for depth in ("short", "standard"):
        pages = depth_pages(depth, "advanced") or 0
        made, seconds = timed(lambda pages=pages: most_valuable(candidates, wanted, pages=pages))  # type: ignore[misc]
        choices = {
            "exact": made.chosen,
            "greedy": greedy_worth(candidates, wanted, pages),
            "catalogue": fixed(candidates, depth, pages),
        }
        best = value(candidates, wanted, made.chosen)
        found["so many pages"][f"{pages}"] = {
            "worth beside the exact choice": {
                name: round(value(candidates, wanted, chosen) / best, 4) for name, chosen in choices.items()
            },
            "trained of what is wanted": {name: trained(candidates, wanted, c) for name, c in choices.items()},
            "seconds": seconds,
            "verdict": made.verdict,
        }
        _, whole_seconds = timed(lambda depth=depth: choose(line, Plan(player=PLAYER, depth=depth)))  # type: ignore[misc]
        found["so many pages"][f"{pages}"]["seconds with the variations"] = whole_seconds
    return found


def _covers(candidates: Sequence[Candidate], wanted: Sequence[Target], chosen: Sequence[int]) -> bool:
    return all(sum(candidates[i].skills.get(w.skill, 0) for i in chosen) >= w.often for w in wanted)


def weeks(line: Variation) -> dict[str, Any]:
    """The figures of weeks: studies, share of the minutes used, share of what is weak, and seconds."""
    found: dict[str, Any] = {}
    for minutes in (8, 12, 20, 40, 60):
        player = Player(weak=PLAYER.weak, strong=PLAYER.strong, minutes=minutes)
        made, seconds = timed(lambda player=player: week(line, Plan(player=player)), 1)  # type: ignore[misc]
        practised = [day for day in made.days if day.visits]
        spent = sum(day.minutes for day in practised)
        weak = {step for row in made.coverage for step in row.steps}
        on_weak = sum(visit.minutes for day in practised for visit in day.visits if visit.step in weak)
        found[f"{minutes} minutes a day"] = {
            "studies": len(made.steps),
            "verdict": made.verdict,
            "minutes used": round((spent + 5 * sum(day.breaks for day in practised)) / (minutes * len(practised)), 3),
            "share of what is weak": round(on_weak / spent, 3),
            "seconds with the variations": seconds,
        }
    return found


def main(names: Sequence[str]) -> None:
    """Print the figures for each passage."""
    found = {}
    for name in names or [""]:
        line = line_of(name)
        found[name or "built-in"] = {"book": book(line), "week": weeks(line)}
    print(json.dumps(found, indent=2))


if __name__ == "__main__":
    main(sys.argv[1:])
