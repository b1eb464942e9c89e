"""Systems of text tablature: from lines of characters to bars of columns.

A column is what stands one above the other on the strings; two digits side by side are one fret, and what overlaps a
two-digit fret stands in its column. Everything knows the line and the character it was read from.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import replace

from engrave.model.said import say
from engrave.reading.limits import LIMITS
from engrave.reading.tablature.typed import Cell, Column, Findings, SystemLines, TabBar, between

LABEL = re.compile(r"\s*(?:([A-Ga-g][#b♯♭]?)(?:\s*:?\s*(?=[|-])|[\s:]+(?=[0-9xX(]))|(10|[1-9])\s*(?=\|))?")
_LINKS = {"h": "hammer-on", "p": "pull-off", "s": "slide", "/": "slide", "\\": "slide", "^": "slur"}
_VIBRATO, _HARMONICS, _DOTS = say("vibrato"), say("harmonics"), say("dots")
_SIGNS = {
    "~": _VIBRATO, "v": _VIBRATO, "<": _HARMONICS, "[": _HARMONICS, "t": say("tapping"), ".": _DOTS, "=": _DOTS,
}  # fmt: skip
_TOKEN = re.compile(r"[0-9]+|[xX]|\(|\)|[hHpPsS^/\\]|b[0-9]*(?:r[0-9]*)?|r[0-9]*|[~vV<>\[\]tT.=]+|[^-\s|:]")


def tab_like(line: str) -> tuple[str, int, str] | None:
    """(label, start of the body, body) where a line looks like a string of tablature, else None."""
    match = LABEL.match(line)
    label = (match[1] or match[2] or "") if match else ""
    start = match.end() if match and label else len(line) - len(line.lstrip())
    body = line[start:]
    if not body or body[0] not in "-|0123456789(xX" or body.count("-") < 2:
        return None
    ink = body.replace(" ", "")
    plain = sum(c in "-|0123456789:" for c in ink)
    return (label, start, body) if 2 * plain >= len(ink) else None


def read_system(system: SystemLines, top: int, findings: Findings) -> list[TabBar]:
    """The bars of a system; `top` is the highest fret. Faults and signs left out go to `findings`."""
    _trim(system, findings)
    widths = [len(body) for body in system.bodies]
    usual = max(sorted(set(widths), reverse=True), key=widths.count)
    uneven = [number for number, width in enumerate(widths) if width != usual]
    for number in uneven:
        findings.fault(
            f"string {number + 1} is {widths[number]} columns long, the others {usual}",
            "make all lines of a system equally long",
            system.first + number,
        )
    cells = [cell for number in range(len(widths)) for cell in _cells(system, number, top, findings)]
    if uneven:
        return []
    kinds = _borders(system, usual, findings)
    return _bars(system, kinds, cells)


def _trim(system: SystemLines, findings: Findings) -> None:
    """Cut comments that stand behind the last bar line, such as x2."""
    for number, body in enumerate(system.bodies):
        bare = body.rstrip()
        head, bar, tail = bare.rpartition("|")
        if bar and tail.strip() and "-" not in tail:
            what = say("{words} behind the last bar line", words=repr(tail.strip()[:40]))
            findings.leave(what, system.first + number)
            bare = head + bar
        system.bodies[number] = bare
    longest = max(len(body) for body in system.bodies)
    if not any("|" in body for body in system.bodies):
        system.closed = False
        for number, body in enumerate(system.bodies):
            if 0 < longest - len(body) <= 1:
                system.bodies[number] = body + "-"


def _cells(system: SystemLines, number: int, top: int, findings: Findings) -> list[Cell]:
    """The notes of one string; `at` counts from the start of the body."""
    line = system.first + number
    start = system.starts[number]
    cells: list[Cell] = []
    link, bracket = "", False
    body = system.bodies[number]
    for match in _TOKEN.finditer(body):
        text, at = match[0], match.start()
        where = f"column {start + at + 1}"
        sign = text[0].lower()
        if sign in "0123456789":
            fret = int(text) if len(text) <= 3 else 999
            if fret > top:
                hint = "leave a dash between two notes" if len(text) > 1 else ""
                findings.fault(f"{where}: fret {text[:12]} is beyond the neck, which ends at {top}", hint, line)
            cells.append(
                Cell(
                    string=number + 1, line=line, column=start + at + 1, at=at, width=len(text), fret=fret,
                    bracketed=bracket, link=link,
                )
            )  # fmt: skip
            link = ""
        elif sign == "x":
            cells.append(Cell(string=number + 1, line=line, column=start + at + 1, at=at, width=1, fret=None))
            link = ""
        elif text in "()":
            bracket = text == "("
        elif sign in _LINKS:
            link = _LINKS[sign]
            if not cells:
                findings.leave(say("a slur or slide into the first note of a string"), line)
                link = ""
        elif sign in "br":
            findings.leave(say("bends"), line)
        elif sign in _SIGNS or sign in ">]":
            findings.leave(_SIGNS.get(sign, _HARMONICS), line)
        elif sign in "*o" and "|" in body[max(0, at - 1) : at + 2]:
            continue
        else:
            hint = f"a fret is a number from 0 to {top}; x is a damped string"
            findings.fault(f"{where}: {text[:12]!r} is not a fret", hint, line)
    return cells


def _borders(system: SystemLines, width: int, findings: Findings) -> str:
    """For each column of the system: B a bar line, R a repeat's dots, . music."""
    kinds = ""
    count = len(system.bodies)
    for at in range(width):
        column = [body[at] for body in system.bodies]
        bars = column.count("|")
        if bars and bars < count:
            for number, sign in enumerate(column):
                where = f"column {system.starts[number] + at + 1}"
                if 2 * bars >= count and sign != "|" and sign not in ":*":
                    findings.fault(
                        f"{where}: a bar line is missing", "let bar lines cross all strings", system.first + number
                    )
                elif 2 * bars < count and sign == "|":
                    findings.fault(
                        f"{where}: a bar line on {bars} of {count} strings",
                        "let bar lines cross all strings",
                        system.first + number,
                    )
        kinds += "B" if 2 * bars >= count else "r" if set(column) & set(":*oO") else "."
    for _ in range(2):
        kinds = re.sub("(?<=[BR])r|r(?=[BR])", "R", kinds)
    for at, kind in enumerate(kinds):
        if kind == "r" and any(body[at] == ":" for body in system.bodies):
            where = f"column {system.starts[0] + at + 1}"
            findings.fault(f"{where}: a colon that stands at no bar line", "write a repeat as |: and :|", system.first)
    return kinds.replace("r", ".")


def _bars(system: SystemLines, kinds: str, cells: list[Cell]) -> list[TabBar]:
    """Cut the system at its bar lines."""
    cells = sorted(cells, key=lambda cell: cell.at)
    bars: list[TabBar] = []
    for match in re.finditer(r"([BR]*)(\.+)(?=([BR]*))", kinds):
        left, right = match[1], match[3]
        first, last = match.span(2)
        if not any(body[first:last].strip() for body in system.bodies) or len(bars) > LIMITS.bars:
            continue
        low = bisect_left(cells, first, key=lambda cell: cell.at)
        high = bisect_left(cells, last, key=lambda cell: cell.at)
        rows = {row.kind: between(row.tokens, first, last) for row in system.rows}
        inside = [replace(cell, at=cell.at - first) for cell in cells[low:high]]
        bars.append(
            TabBar(
                line=system.first,
                column=system.starts[0] + first + 1,
                width=last - first,
                columns=_columns(inside),
                values=rows.get("values"),
                fingers=rows.get("fingers", ()),
                letters=rows.get("letters", ()),
                repeat_start=left.endswith("R"),
                repeat_end=right.startswith("R"),
                double="BB" in right,
                terms=system.terms,
            )
        )
    return bars


def _columns(cells: list[Cell]) -> tuple[Column, ...]:
    """Cells that overlap, put together; of one string only the first stays in a column."""
    groups: list[list[Cell]] = []
    end = -1
    for cell in sorted(cells, key=lambda cell: (cell.at, cell.string)):
        if groups and cell.at < end and all(other.string != cell.string for other in groups[-1]):
            groups[-1].append(cell)
        else:
            groups.append([cell])
            end = cell.at + cell.width
        end = max(end, cell.at + cell.width) if cell.at == groups[-1][0].at else end
    return tuple(
        Column(
            at=group[0].at,
            width=max(cell.at + cell.width for cell in group) - group[0].at,
            cells=tuple(sorted(group, key=lambda cell: cell.string)),
        )
        for group in groups
    )
