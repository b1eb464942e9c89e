"""How long a book takes, as JSON: the whole command, its stages, what the libraries alone need, and the plain way.

    python tests/benchmarks/speed.py                                 everything, about ten minutes
    python tests/benchmarks/speed.py --rounds 5 --pages 10,40,160    how often, and for how many variations
    python tests/benchmarks/speed.py --only cold,floor,start         some parts (see PARTS)
    python tests/benchmarks/speed.py --line eighths                  64 notes instead of 128

Every figure is the median of the rounds, each round a process of its own, all parts of a round one after another, so
that a slow minute of the machine falls on all of them. `cpu` is user and system time of the process in seconds, `wall`
the time from its start to its end, `peak` its largest resident set in MB. Python's modules are compiled before, as
those of an installed program are. All run on one core,
where the system lets a process be bound to one. Ratios against the reaches are of CPU, where not said otherwise.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

HERE = Path(__file__).absolute().parent
ROOT = HERE.parents[1]
PARTS = (
    "cold", "floor", "plain", "stages", "start", "survey", "standard", "reissue", "eighths", "tab",
)  # fmt: skip
PLAIN = (1, 6)
"""variations on which the plain way is measured; what a page takes is their difference"""
ENGRAVE = [sys.executable, "-c", "from engrave.cli import main; main()"]
MB = 1e6 / 1024
"""ru_maxrss counts KiB on Linux"""


@dataclass(frozen=True)
class Taken:
    """What one process took."""

    wall: float
    cpu: float
    peak: float


@dataclass
class Bench:
    """One run of the benchmark: where its files lie, and what has been measured so far."""

    folder: Path
    core: int | None
    taken: dict[str, list[Taken]] = field(default_factory=dict)
    facts: dict[str, Any] = field(default_factory=dict)

    def run(self, name: str, command: Sequence[object], *, cores: int = 1, output: Path | None = None) -> str:
        """Run a command and note what it took under `name`; its standard output."""
        environment = os.environ | {"PYTHONPATH": str(ROOT), "SOURCE_DATE_EPOCH": "0"}
        with (self.folder / "output").open("w+") as out, (self.folder / "errors").open("w+") as errors:
            start = time.perf_counter()
            process = subprocess.Popen(list(map(str, command)), stdout=out, stderr=errors, env=environment)
            if cores == 1 and self.core is not None:
                os.sched_setaffinity(process.pid, {self.core})
            # waited for by hand: the parent's own usage of children is a sum, and its peak that of the largest
            _, status, used = os.wait4(process.pid, 0)
            wall = time.perf_counter() - start
            process.returncode = os.waitstatus_to_exitcode(status)
            for file in (out, errors):
                file.seek(0)
            if process.returncode:
                raise RuntimeError(f"{name}: {' '.join(map(str, command))}\n{errors.read()}")
            said = out.read()
        self.taken.setdefault(name, []).append(Taken(wall, used.ru_utime + used.ru_stime, used.ru_maxrss / MB))
        if output is not None:
            self.facts.setdefault("bytes", {})[name] = output.stat().st_size
        return said

    def book(self, name: str, passage: Path, plan: Path | None, *options: str, cores: int = 1) -> Path:
        """Print a book; its file."""
        target = self.folder / f"{name.replace(' ', '-')}.pdf"
        planned = ["--plan", str(plan)] if plan else []
        self.run(name, [*ENGRAVE, "book", passage, *planned, *options, "-o", target], cores=cores, output=target)
        return target


def script(name: str, *arguments: object) -> list[str]:
    """A script beside this one."""
    return [sys.executable, str(HERE / f"{name}.py"), *map(str, arguments)]


def prepared(bench: Bench, kind: str, pages: tuple[int, ...], parts: set[str]) -> None:
    """Write passage and plans, and what the libraries are handed for them."""
    recorded = {*(pages if "floor" in parts else ()), *(PLAIN if "plain" in parts else ())}
    wanted = sorted({*pages, *recorded})
    bench.run("compile", [sys.executable, "-m", "compileall", "-q", ROOT / "engrave", ROOT / "tests" / "benchmarks"])
    made = script("speed_inputs", bench.folder, ",".join(map(str, wanted)), kind)
    bench.facts |= json.loads(bench.run("inputs", made))
    for count in sorted(recorded):
        (bench.folder / f"record-{count}").mkdir()
        record = script("speed_record", "record", *files(bench, kind, count), bench.folder / f"record-{count}")
        bench.run("record", record)
    bench.taken.clear()


def files(bench: Bench, kind: str, count: int) -> tuple[Path, Path]:
    """The passage, and the plan of `count` variations."""
    return bench.folder / f"{kind}.musicxml", bench.folder / f"plan-{count}.toml"


def one_round(bench: Bench, kind: str, pages: tuple[int, ...], parts: set[str]) -> None:
    """Every part once."""
    if "start" in parts:
        for _ in range(5):
            # a start is short: more of them
            bench.run("python", [sys.executable, "-c", ""])
            bench.run("--help", [*ENGRAVE, "--help"])
    for count in pages:
        if "cold" in parts:
            bench.book(f"cold {count}", *files(bench, kind, count))
        if "floor" in parts:
            bench.run(f"floor {count}", script("speed_floor", "floor", bench.folder / f"record-{count}"))
    if "plain" in parts:
        for count in PLAIN:
            bench.run(f"plain {count}", script("speed_floor", "plain", bench.folder / f"record-{count}"))
    middle = _middle(pages)
    passage, plan = files(bench, kind, middle)
    if "stages" in parts:
        said = bench.run("stages", script("speed_record", "stages", passage, plan, bench.folder))
        bench.facts.setdefault("stages", []).append(json.loads(said))
    others(bench, passage, middle, parts)


def others(bench: Bench, passage: Path, middle: int, parts: set[str]) -> None:
    """The other commands, and the book in other ways, once each."""
    plan = bench.folder / f"plan-{middle}.toml"
    if "survey" in parts:
        bench.run("survey", [*ENGRAVE, "survey", passage])
    if "standard" in parts:
        bench.book("standard book", passage, None)
    if "tab" in parts:
        bench.book("tab", passage, plan, "--tab")
    if "eighths" in parts:
        bench.book("eighths", bench.folder / "eighths.musicxml", plan)
    if "reissue" in parts:
        old = bench.book("to reissue", passage, plan)
        target = bench.folder / "reissued.pdf"
        again = [*ENGRAVE, "reissue", old, bench.folder / "other.musicxml", "-o", target]
        bench.run("reissue", again, output=target)


def _middle(pages: tuple[int, ...]) -> int:
    return 40 if 40 in pages else max(pages)


def median(rows: Iterable[Taken], what: str) -> float:
    """The median of wall, cpu or peak."""
    return float(statistics.median(getattr(row, what) for row in rows))


def figures(bench: Bench, pages: tuple[int, ...]) -> dict[str, Any]:
    """Everything measured, and what follows from it."""
    found: dict[str, Any] = {
        name: {what: round(median(rows, what), 3) for what in ("wall", "cpu", "peak")}
        for name, rows in bench.taken.items()
    }
    for name, size in bench.facts.get("bytes", {}).items():
        found[name]["pdf bytes"] = size
    for count in pages:
        if f"cold {count}" in found:
            found[f"cold {count}"]["pages"] = printed = pages_of(bench.folder / f"cold-{count}.pdf")
            found[f"cold {count}"]["pdf bytes a page"] = round(found[f"cold {count}"]["pdf bytes"] / printed)
    if "stages" in bench.facts:
        rows = bench.facts["stages"]
        found["stages"] = {key: round(statistics.median(row[key] for row in rows), 3) for key in rows[0]}
    few, many = PLAIN
    if f"plain {few}" in found:
        page = (found[f"plain {many}"]["cpu"] - found[f"plain {few}"]["cpu"]) / (many - few)
        found["plain way, reckoned"] = {"cpu a variation": round(page, 3)} | {
            str(n): round(found[f"plain {few}"]["cpu"] + (n - few) * page, 2) for n in pages
        }
    low, high = min(pages), max(pages)
    if low < high and f"cold {low}" in found:
        cost = {what: found[f"cold {high}"][what] - found[f"cold {low}"][what] for what in ("cpu", "peak", "pdf bytes")}
        found["growth for each variation"] = {what: round(value / (high - low), 4) for what, value in cost.items()}
    middle = _middle(pages)
    if "eighths" in found and f"cold {middle}" in found:
        notes = middle * (bench.facts["notes"]["sixteenths"] - bench.facts["notes"]["eighths"])
        found["cpu for each note"] = round((found[f"cold {middle}"]["cpu"] - found["eighths"]["cpu"]) / notes, 6)
    return found


def pages_of(pdf: Path) -> int:
    """Pages of a printed book."""
    from pypdf import PdfReader  # noqa: PLC0415 (after all is measured: the process that starts others stays small)

    return len(PdfReader(pdf).pages)


@dataclass(frozen=True)
class Reach:
    """One thing to be reached: `value` against `limit`, at most or at least."""

    what: str
    limit: float
    value: Callable[[Mapping[str, Any]], float]
    most: bool = True


def reaches(pages: tuple[int, ...]) -> tuple[Reach, ...]:
    """What is to be reached, as functions of the figures."""
    low, high = 40 if 40 in pages else min(pages), max(pages)
    cold, floor = f"cold {low}", f"floor {low}"

    def of_floor(f: Mapping[str, Any]) -> float:
        start = f["python"]["cpu"]
        return float((f[cold]["cpu"] - start) / (f[floor]["cpu"] - start))

    return (
        Reach(f"{low} variations cold less Python's start / floor", 1.6, of_floor),
        Reach(
            f"plain way / cold, {low} variations", 20,
            lambda f: f["plain way, reckoned"][str(low)] / f[cold]["cpu"], most=False,
        ),
        Reach(
            f"growth: cold {high} / cold {low}, for {high / low:g} times as many", 1.1 * high / low,
            lambda f: f[f"cold {high}"]["cpu"] / f[cold]["cpu"],
        ),
        Reach(f"peak MB for {high} variations", 320, lambda f: f[f"cold {high}"]["peak"]),
        Reach("PDF bytes a page", 15_000, lambda f: max(f[f"cold {n}"]["pdf bytes a page"] for n in pages if n >= 10)),
        Reach("--help, cpu", 0.15, lambda f: f["--help"]["cpu"]),
        Reach("--help / bare Python, cpu", 6, lambda f: f["--help"]["cpu"] / f["python"]["cpu"]),
    )  # fmt: skip


def judged(found: Mapping[str, Any], pages: tuple[int, ...]) -> list[dict[str, Any]]:
    """Each reach with what was measured; what was not measured is said to be so."""
    rows: list[dict[str, Any]] = []
    for reach in reaches(pages):
        row: dict[str, Any] = {"what": reach.what, "at most" if reach.most else "at least": round(reach.limit, 3)}
        try:
            value = reach.value(found)
        except (KeyError, ZeroDivisionError, ValueError):
            rows.append(row | {"reached": "not measured"})
            continue
        reached = value <= reach.limit if reach.most else value >= reach.limit
        rows.append(row | {"measured": round(value, 3), "reached": reached})
    return rows


def machine(core: int | None) -> dict[str, Any]:
    """Where this ran."""
    return {
        "python": platform.python_version(),
        "system": platform.system(),
        "cores": os.cpu_count(),
        "bound to one core": core is not None,
        "load before": [round(load, 2) for load in os.getloadavg()],
    }


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--pages", default="10,40,160", help="variations of each plan")
    parser.add_argument("--line", choices=["sixteenths", "eighths"], default="sixteenths")
    parser.add_argument("--folder", type=Path, help="where what is measured stays to be looked at (an empty folder)")
    parser.add_argument("--only", default=",".join(PARTS), help="parts to measure")
    asked = parser.parse_args(arguments)
    pages = tuple(sorted({int(n) for n in asked.pages.split(",")}))
    parts = set(asked.only.split(","))
    if unknown := parts - set(PARTS):
        parser.error(f"no such part: {', '.join(sorted(unknown))}; parts: {', '.join(PARTS)}")
    core = max(os.sched_getaffinity(0)) if hasattr(os, "sched_setaffinity") else None
    where = machine(core)
    with nullcontext(asked.folder) if asked.folder else tempfile.TemporaryDirectory() as folder:
        bench = Bench(folder=Path(folder), core=core)
        prepared(bench, asked.line, pages, parts)
        for _ in range(asked.rounds):
            one_round(bench, asked.line, pages, parts)
        found = figures(bench, pages)
    report = {
        "machine": where,
        "rounds": asked.rounds,
        "line": {"bars": bench.facts["bars"], "of": asked.line, "notes": bench.facts["notes"][asked.line]},
        "reaches": judged(found, pages),
        "figures": found,
    }
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main(sys.argv[1:])
