"""Faults of legibility on the ink of one plate.

Conventions: distances in staff spaces (a quarter of the staff's height); outlines, not boxes. Staff lines are left out:
everything may lie on them. Marks that are parts of one sign may touch (see `together`). A digit belongs to the head its
ink is nearest to; a letter, a circle and a tablature number to the head they stand over or under.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from engrave.model import Mark, Plate, System
from tests.benchmarks.inkwork import Shape, distance, inked

CLEAR = 0.15
"""least clearance in spaces"""
TOUCH = 0.004
"""closer than this, in spaces, is an overlap"""
OURS = frozenset(
    {"digit", "letter", "circle", "string", "string line", "slur", "slide", "guide", "position", "barre", "words"}
    | {"ending", "tab", "tuplet", "number", "arpeggio"}
)
"""roles of the guitar layer: these must keep clear of everything"""
PLAIN = {
    "accidental": frozenset({"head", "accidental", "barline", "stem", "beam", "flag", "rest", "dot", "ledger"}),
    "rest": frozenset({"head", "stem", "beam", "flag", "rest", "accidental", "tie", "barline"}),
    "dot": frozenset({"head", "stem", "beam", "flag", "barline", "dot"}),
    "accent": frozenset({"head", "stem", "beam", "flag", "accidental", "accent", "articulation", "fermata", "tie"}),
    "articulation": frozenset({"head", "stem", "beam", "flag", "accidental", "articulation", "fermata", "tie"}),
    "fermata": frozenset({"head", "stem", "beam", "flag", "accidental", "tie"}),
    "clef": frozenset({"head", "accidental", "key", "metre"}),
}
"""pairs of the plain staff that must not overlap; close they may be, as engravers set them"""
HIT = ("slur", "tie", "beam", "stem", "barline", "ledger")
TYPE = ("digit", "letter", "string", "position", "words", "ending", "tab", "barre")
KINDS = ("overlap", "tight", "wrong head", "off row", "hit", "outside", "missing owner")


@dataclass(slots=True, kw_only=True)
class Finding:
    """One fault of one plate."""

    kind: str
    """one of KINDS"""
    system: int
    mark: Mark
    other: Mark | None = None
    amount: float = 0.0
    """in spaces"""

    def __str__(self) -> str:
        other = f" / {_named(self.other)}" if self.other else ""
        return f"{self.kind}: system {self.system + 1}, {_named(self.mark)}{other}, {self.amount:.3f}"


@dataclass(slots=True, kw_only=True)
class Report:
    """What was found on one plate or on many."""

    marks: int = 0
    """marks of the guitar layer"""
    pairs: int = 0
    """pairs looked at"""
    findings: list[Finding] = field(default_factory=list)
    smallest: dict[str, float] = field(default_factory=dict)
    """role → height in mm of the smallest type"""
    staff: float = float("inf")
    """height in mm of the smallest staff"""

    def count(self, kind: str) -> int:
        """Findings of one kind."""
        return sum(f.kind == kind for f in self.findings)

    def add(self, other: Report) -> None:
        """Take up the figures of another plate."""
        self.marks += other.marks
        self.pairs += other.pairs
        self.findings += other.findings
        self.staff = min(self.staff, other.staff)
        for role, size in other.smallest.items():
            self.smallest[role] = min(size, self.smallest.get(role, size))


def measure(plate: Plate) -> Report:
    """Every fault of one plate."""
    report = Report(staff=plate.staff)
    space = plate.staff / 4
    for index, system in enumerate(plate.systems):
        shapes = inked(plate, system)
        report.marks += sum(s.mark.role in OURS for s in shapes)
        for a, b in _close(shapes, CLEAR * space):
            report.pairs += 1
            _judge(report, index, a, b, space)
        report.findings += _wrong_heads(index, shapes, space)
        report.findings += _off_row(index, shapes, space)
        report.findings += _outside(index, system, shapes, space)
        for shape in shapes:
            if shape.mark.role in TYPE and shape.mark.text:
                height = shape.box[3] - shape.box[1]
                report.smallest[shape.mark.role] = min(height, report.smallest.get(shape.mark.role, height))
    return report


def _named(mark: Mark | None) -> str:
    if mark is None:
        return ""
    return " ".join(part for part in (mark.role, repr(mark.text) if mark.text else "", mark.owner) if part)


def _close(shapes: list[Shape], room: float) -> Iterator[tuple[Shape, Shape]]:
    """Pairs whose boxes come closer than `room`, the guitar layer against everything and plain pairs that matter."""
    order = sorted((s for s in shapes if s.mark.role not in ("staff", "tab line")), key=lambda s: s.box[0])
    for i, a in enumerate(order):
        for b in order[i + 1 :]:
            if b.box[0] > a.box[2] + room:
                break
            if b.box[1] > a.box[3] + room or b.box[3] < a.box[1] - room or together(a.mark, b.mark):
                continue
            yield a, b


def together(a: Mark, b: Mark) -> bool:
    """Whether two marks may touch: they are parts of one sign, or of the plain staff as engravers set it."""
    roles = {a.role, b.role}
    if not roles & OURS:
        return not (b.role in PLAIN.get(a.role, ()) or a.role in PLAIN.get(b.role, ()))
    if roles in ({"circle", "string"}, {"ending"}, {"barre"}, {"tuplet"}) and a.owner == b.owner:
        return True
    if roles in ({"slide", "barline"}, {"slur", "barline"}):
        return True  # from bar to bar there is no other way, least of all between the strings of a tablature
    return roles == {"circle", "string line"} and a.owner == b.owner


def _judge(report: Report, index: int, a: Shape, b: Shape, space: float) -> None:
    amount = distance(a, b) / space
    if amount < TOUCH:
        report.findings.append(Finding(kind="overlap", system=index, mark=a.mark, other=b.mark))
        if {a.mark.role, b.mark.role} & set(HIT):
            report.findings.append(Finding(kind="hit", system=index, mark=a.mark, other=b.mark))
    elif amount < CLEAR and (a.mark.role in OURS or b.mark.role in OURS):
        report.findings.append(Finding(kind="tight", system=index, mark=a.mark, other=b.mark, amount=amount))


def _wrong_heads(index: int, shapes: list[Shape], space: float) -> list[Finding]:
    """Digits nearer to another head than to their own; letters and circles nearer, sideways, to another."""
    heads = {s.mark.owner: s for s in shapes if s.mark.role == "head"}
    order = sorted(heads.values(), key=lambda s: s.box[0])
    found: list[Finding] = []
    for shape in shapes:
        role = shape.mark.role
        if role not in ("digit", "letter", "circle", "tab"):
            continue
        own = heads.get(shape.mark.owner)
        if own is None:
            found.append(Finding(kind="missing owner", system=index, mark=shape.mark))
            continue
        gap = distance(shape, own) if role == "digit" else _sideways(shape, own)
        for other in order:
            if other is own or _sideways(shape, other) > gap + 1e-6 or _same_place(own, other):
                continue
            wrong = distance(shape, other) if role == "digit" else _sideways(shape, other)
            if wrong < gap - 1e-6 and not (role != "digit" and _column(own, other)):
                amount = (gap - wrong) / space
                found.append(Finding(kind="wrong head", system=index, mark=shape.mark, other=other.mark, amount=amount))
                break
    return found


def _same_place(a: Shape, b: Shape) -> bool:
    """Two voices on one head."""
    return abs(a.box[0] - b.box[0]) < 1e-3 and abs(a.box[1] - b.box[1]) < 1e-3


def _column(a: Shape, b: Shape) -> bool:
    """Heads of one chord, seconds included: side by side they still stand at one time."""
    return a.box[0] <= b.box[2] + 0.05 and b.box[0] <= a.box[2] + 0.05


def _sideways(a: Shape, b: Shape) -> float:
    """Distance between the middles, along the line."""
    return abs((a.box[0] + a.box[2]) / 2 - (b.box[0] + b.box[2]) / 2)


def _off_row(index: int, shapes: list[Shape], space: float) -> list[Finding]:
    """Innermost letters of each side that leave the baseline most of their side share."""
    staff = [s for s in shapes if s.mark.role == "staff"]
    middle = sum(s.box[1] for s in staff) / max(len(staff), 1)
    found: list[Finding] = []
    for below in (False, True):
        inner: dict[float, Shape] = {}
        for shape in shapes:
            if shape.mark.role != "letter" or (shape.mark.y > middle) != below:
                continue
            column = round((shape.box[0] + shape.box[2]) / 2 / space, 1)
            held = inner.get(column)
            if held is None or abs(shape.mark.y - middle) < abs(held.mark.y - middle):
                inner[column] = shape
        if not inner:
            continue
        row = Counter(round(s.mark.y, 3) for s in inner.values()).most_common(1)[0][0]
        for shape in inner.values():
            off = abs(shape.mark.y - row) / space
            if off > 0.02:
                found.append(Finding(kind="off row", system=index, mark=shape.mark, amount=off))
    return found


def _outside(index: int, system: System, shapes: Iterable[Shape], space: float) -> list[Finding]:
    found: list[Finding] = []
    for shape in shapes:
        x0, y0, x1, y1 = shape.box
        beyond = max(-x0, -y0, x1 - system.width, y1 - system.height)
        if beyond > 0.05 * space:
            found.append(Finding(kind="outside", system=index, mark=shape.mark, amount=beyond / space))
    return found
