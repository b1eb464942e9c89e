"""How legible finished plates are, measured on their ink.

    python tests/benchmarks/legibility.py                      our examples and each texture, as written
    python tests/benchmarks/legibility.py FILE…                every plate of the books of these passages
    python tests/benchmarks/legibility.py BOOK.pdf…            plates of printed books, drawn anew from what they carry
    python tests/benchmarks/legibility.py --catalogue [FILE…]  every setting of the catalogue that applies
    python tests/benchmarks/legibility.py --corpus 20          passages of music21's corpus, as written

Further: --list prints every finding, --tab adds a tablature staff, --small and --large print 6.2 and 9 mm staves.
Exit code 1 where anything but a tight place is found.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).absolute().parents[2]))

from engrave import line as book
from engrave.axes import ORDER, vary
from engrave.editions import opened
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument
from engrave.model import AXES, EngraveError, Passage, Plan, Plate, Study, Variation
from engrave.plates import draw
from engrave.reading import read
from tests.benchmarks.clarity import KINDS, Report, measure
from tests.plates.textures import TEXTURES

Plates = Iterator[tuple[str, Plate]]
"""name of the study → its plate"""
COMPOSERS = ("haydn", "mozart", "beethoven", "corelli", "handel", "bach", "schubert", "schumann", "weber", "monteverdi")
WIDTH = 180.0
EXAMPLES = Path(__file__).absolute().parents[2] / "examples"


def as_written(passage: Passage, *, staff: float, tab: bool) -> Plates:
    """The passage alone."""
    yield "as written", _drawn(vary(book.line_of(passage, Plan()), Study()), staff=staff, tab=tab)


def catalogue(passage: Passage, *, staff: float, tab: bool) -> Plates:
    """The passage as written, then under every setting of the catalogue that applies to it."""
    yield from as_written(passage, staff=staff, tab=tab)
    line = book.line_of(passage, Plan())
    for axis in ORDER:
        for setting in axis.settings:
            if setting.name != axis.default:
                variation = vary(line, asked(axis.name, setting.name))
                if isinstance(variation, Variation):
                    yield f"{axis.name} {setting.name}", _drawn(variation, staff=staff, tab=tab)


def bound(passage: Passage, *, staff: float, tab: bool, plan: Plan | None = None) -> Plates:
    """Every plate of the passage's book."""
    content = book.make(passage, plan or Plan(staff=staff, tab=tab))
    look, _ = book.line_drawn(content.line, content.plan)
    yield "title page", book.drawn_as(look, content.line)
    for sheet in content.sheets:
        yield f"{sheet.number}", book.drawn_as(look, sheet.variation)


def asked(axis: str, setting: str) -> Study:
    """The study with one setting that is not the default."""
    given = {name: getattr(Study(), name) for name in AXES} | {axis: setting}
    return Study(**given)


def _drawn(variation: object, *, staff: float, tab: bool) -> Plate:
    assert isinstance(variation, Variation)
    return draw(variation, width=WIDTH, staff=staff, tab=tab)


def corpus(count: int) -> Iterator[tuple[str, Passage]]:
    """Passages of music21's corpus that fit a guitar: sixteen bars of one part each, composers by turns."""
    from music21 import corpus as scores  # noqa: PLC0415 (slow, and only wanted here)

    rows = [sorted(map(str, scores.getComposer(name)))[::3] for name in COMPOSERS]
    paths = [row[i] for i in range(max(map(len, rows))) for row in rows if i < len(row)]
    taken = 0
    for path in paths:
        if taken == count:
            return
        for part in ("4", "3", "2", "1") if path.endswith((".mxl", ".xml", ".musicxml")) else ():
            try:
                passage = read(Path(path).read_bytes(), Path(path).name, part=part, bars="1-16")
                fret(passage, find_instrument("standard"), find_hand("standard"))
            except EngraveError:
                continue
            taken += 1
            yield f"{Path(path).name} part {part}", passage
            break


Job = tuple[str, Callable[[], Plates]]
"""name of a piece of music, and what draws its plates"""


def jobs(files: list[str], options: set[str]) -> Iterator[Job]:
    """What to measure, by the command line."""
    staff = 6.2 if "--small" in options else 9.0 if "--large" in options else 7.2
    tab = "--tab" in options
    whole = catalogue if "--catalogue" in options else as_written
    if "--corpus" in options:
        for name, passage in corpus(int(files[0]) if files else 20):
            yield name, partial(whole, passage, staff=staff, tab=tab)
        return
    for name in files:
        data = Path(name).read_bytes()
        if name.endswith(".pdf"):
            old = opened(data, name)
            yield name, partial(bound, old.passage, staff=staff, tab=tab, plan=old.chosen)
        else:
            passage = read(data, Path(name).name)
            yield name, partial(whole if whole is catalogue else bound, passage, staff=staff, tab=tab)
    if not files:
        ours = {
            path.name: read(path.read_bytes(), path.name)
            for path in sorted(EXAMPLES.iterdir())
            if path.suffix in (".musicxml", ".tab", ".abc")
        }
        for name, passage in (TEXTURES | ours).items():
            yield name, partial(whole, passage, staff=staff, tab=tab)


def main(arguments: list[str]) -> int:
    """Measure and print; the exit code says whether anything was found."""
    options = {a for a in arguments if a.startswith("--")}
    total = Report()
    worst: tuple[int, str] = (0, "")
    plates = 0
    for name, draw_all in jobs([a for a in arguments if not a.startswith("--")], options):
        mine = Report()
        for study, plate in draw_all():
            report = measure(plate)
            plates += 1
            if "--list" in options:
                for finding in report.findings:
                    print(f"  {name}, {study}: {finding}")
            if len(report.findings) > worst[0]:
                worst = (len(report.findings), f"{name}, {study}")
            mine.add(report)
        print(f"{name}: {_figures(mine)}")
        total.add(mine)
    print(f"\n{plates} plates, {total.marks} marks of the guitar layer, {total.pairs} close pairs")
    print(_figures(total))
    print("per 1,000 marks: " + ", ".join(f"{k} {1000 * total.count(k) / max(total.marks, 1):.2f}" for k in KINDS))
    print("smallest type, mm high: " + ", ".join(f"{role} {size:.2f}" for role, size in sorted(total.smallest.items())))
    print(f"smallest staff: {total.staff:.2f} mm")
    print(f"worst plate: {worst[1]} ({worst[0]} findings)" if worst[0] else "no plate has a finding")
    return int(any(total.count(k) for k in KINDS if k != "tight"))


def _figures(report: Report) -> str:
    return ", ".join(f"{kind} {report.count(kind)}" for kind in KINDS)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
