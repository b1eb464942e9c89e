"""The page of a text tablature: which lines are header, strings, rows or comments."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from engrave import instruments
from engrave.model import Instrument, Notice, Pitch, Place
from engrave.reading.limits import allow
from engrave.reading.tablature.durations import TOKEN
from engrave.reading.tablature.header import KEYS, STANDARD, Header, key_value, near, take
from engrave.reading.tablature.systems import read_system, tab_like
from engrave.reading.tablature.typed import Findings, Row, SystemLines, TabBar, Token
from engrave.reading.tablature.unbarred import barred

_DASHES = dict.fromkeys(map(ord, "–—‐‑‒―−─━"), "-") | dict.fromkeys(map(ord, "│┃¦‖"), "|") | {0xA0: " ", 0xFEFF: None}
_QUOTE = re.compile(r"\s*(?:>\s?)+")
_ROW = re.compile(r"\s*([rfp]):", re.IGNORECASE)
_FINGERS = re.compile(r"[0-4]{1,10}\Z")
_LETTERS = re.compile(r"[pimac]{1,10}\Z")


@dataclass(slots=True, kw_only=True)
class Page:
    """What a text holds."""

    header: Header
    instrument: Instrument
    """open strings and neck; with the capo"""
    bars: list[TabBar]
    notices: list[Notice]


def scan(text: str, findings: Findings) -> Page:
    """Header, instrument and bars of a text; faults go to `findings`."""
    lines = [_clean(line) for line in re.split(r"\r\n|[\n\r\x0b\x0c\x85\u2028\u2029]", text)]
    header, notices = Header(), list[Notice]()
    systems: list[SystemLines] = []
    number = 0
    while number < len(lines):
        skipped, group = _group(lines, number)
        if skipped:
            number += skipped
            continue
        if group:
            systems.append(_system(lines, number, group, header, findings))
            number += len(group)
            continue
        pair = key_value(lines[number])
        if pair and not _ROW.match(lines[number]):
            beside = any(_known(lines, other, header) for other in (number - 1, number + 1))
            place = Place(file=findings.file, line=number + 1)
            faults, said = take(header, *pair, place, beside=beside, below=bool(systems))
            findings.add(faults)
            findings.untimed = findings.untimed or bool(faults)
            notices += said
        number += 1
    strings = header.tuning or _labelled(systems, findings)
    instrument = replace(instruments.tuned(strings), capo=header.capo)
    bars: list[TabBar] = []
    notes = 0
    for system in _stacked(systems, strings, findings):
        read = read_system(system, instrument.top, findings)
        notes += sum(_busy(bar) for bar in read)
        if _too_much(bars, notes, system.first, findings):
            break
        pickup = None if bars else header.pickup
        bars += [part for bar in read for part in barred(bar, pickup, findings)] if not system.closed else read
    _too_much(bars, 0, None, findings)
    return Page(header=header, instrument=instrument, bars=bars, notices=notices)


def _busy(bar: TabBar) -> int:
    """How many notes a bar has, or words in a row beside them if those are more."""
    notes = sum(len(column.cells) for column in bar.columns)
    return max(notes, len(bar.values or ()), len(bar.fingers), len(bar.letters))


def _too_much(bars: list[TabBar], notes: int, line: int | None, findings: Findings) -> bool:
    """Refuse what is too much for one passage, before the time of its bars is worked out."""
    limits, advice = findings.limits, "give the bars to practise in a file of their own"
    told = len(findings.faults)
    if len(bars) > limits.bars:
        findings.fault(f"more than {limits.bars} bars", f"{advice}; {allow('bars', 2 * limits.bars)}")
    if notes > limits.notes:
        hint = f"{advice}; {allow('notes', notes)}"
        findings.fault(f"{notes} notes up to here, the limit is {limits.notes}", hint, line)
    if line is None:
        for bar in bars:
            if _busy(bar) > limits.bar_notes:
                fact = f"{_busy(bar)} notes in one bar, the limit is {limits.bar_notes}"
                findings.fault(fact, allow("bar_notes", _busy(bar)), bar.line)
    findings.untimed = findings.untimed or len(findings.faults) > told
    return len(findings.faults) > told


def string_like(line: str) -> bool:
    """Whether a line of a text looks like a string of tablature."""
    return tab_like(_clean(line)) is not None


def _clean(line: str) -> str:
    """A line with plain dashes and bar lines, without the marks of a quoted mail."""
    line = line.translate(_DASHES).expandtabs(8)
    quote = _QUOTE.match(line)
    return (line[quote.end() :] if quote else line).rstrip()


def _group(lines: list[str], number: int) -> tuple[int, list[tuple[str, int, str]]]:
    """Strings (label, start of the body, body) of the system that begins at a line, if one does.

    The first number says how many lines only look like strings, before the one with which a system may begin.
    """
    group: list[tuple[str, int, str]] = []
    while number + len(group) < len(lines):
        found = tab_like(lines[number + len(group)])
        if found is None:
            break
        group.append(found)
    if any("|" in body for _, _, body in group):
        bare = next(number for number, (_, _, body) in enumerate(group) if "|" in body)
        if bare:
            return bare, []
        while "|" not in group[-1][2]:
            group.pop()
    if len(group) <= 2 and not all("|" in body and re.search("[0-9xX]", body) for _, _, body in group):
        return 0, []
    return 0, group


def _known(lines: list[str], number: int, header: Header) -> bool:
    """Whether a line is a header line of ours, so that its neighbour is meant as one too."""
    pair = key_value(lines[number]) if 0 <= number < len(lines) else None
    return bool(pair and (pair[0] in header.seen or pair[0] in KEYS))


def _system(
    lines: list[str], number: int, group: list[tuple[str, int, str]], header: Header, findings: Findings
) -> SystemLines:
    """The lines of one system with the rows right above and below it."""
    system = SystemLines(
        first=number + 1,
        labels=[label for label, _, _ in group],
        starts=[start for _, start, _ in group],
        bodies=[body for _, _, body in group],
        rows=[],
        terms=header.terms,
    )
    above = _row(lines, number - 1, system.starts[0], findings, above=True)
    if above:
        system.rows.append(above)
    after = number + len(group)
    for index in (after, after + 1):
        row = _row(lines, index, system.starts[-1], findings, above=False)
        if row is None:
            break
        system.rows.append(row)
    return system


def _row(lines: list[str], index: int, origin: int, findings: Findings, *, above: bool) -> Row | None:
    """A row of values above a system, or of fretting digits or plucking letters below it."""
    line = lines[index] if 0 <= index < len(lines) else ""
    label = _ROW.match(line)
    kind = {"r": "values", "f": "fingers", "p": "letters"}[label[1].lower()] if label else "values"
    if not line.strip() or (kind == "values") != above:
        return None
    start = label.end() if label else 0
    words = [(m.start() + start, m[0]) for m in re.finditer(r"[^\s|]+", line[start:])]
    pattern = {"values": TOKEN, "fingers": _FINGERS, "letters": _LETTERS}[kind]
    known_words = sum(bool(pattern.fullmatch(word)) for _, word in words)
    if not label and (2 * known_words < len(words) or not known_words or max(len(word) for _, word in words) > 12):
        return None
    tokens: list[Token] = []
    for at, word in words:
        good = pattern.fullmatch(word)
        tokens.append(Token(at=at - origin, line=index + 1, column=at + 1, text=word if good else ""))
        if good:
            continue
        said = {"values": "a value", "fingers": "a fretting digit", "letters": "a plucking letter"}[kind]
        known = {"values": "w h q e s t with dots and a tuplet's digit", "fingers": "0 to 4", "letters": "p i m a c"}
        findings.fault(f"column {at + 1}: {word[:12]!r} is not {said}", f"known: {known[kind]}", index + 1)
    return Row(kind=kind, tokens=tokens)


def _labelled(systems: list[SystemLines], findings: Findings) -> tuple[Pitch, ...]:
    """Open strings as the labels of the first labelled system say, else the usual ones for so many lines."""
    system = next((s for s in systems if all(label[:1].isalpha() for label in s.labels)), None)
    if system is not None and 6 <= len(system.labels) <= 10:
        standard = [pitch.name for pitch in STANDARD]
        if len(system.labels) == 6 and [label.upper() for label in system.labels] == standard[::-1] != standard:
            findings.fault("the lowest string is on top", "type the highest string (e) on top", system.first)
        return tuple(near(label, string) for string, label in enumerate(system.labels, start=1))
    count = len(systems[0].labels) if systems else 6
    return instruments.find_instrument("seven").strings if count == 7 else STANDARD


def _stacked(systems: list[SystemLines], strings: tuple[Pitch, ...], findings: Findings) -> list[SystemLines]:
    """The systems with as many lines as there are strings; several typed without a blank line between are parted."""
    parted: list[SystemLines] = []
    count = len(strings)
    for system in systems:
        lines = len(system.bodies)
        if lines % count:
            hint = "one line for each string, a line of dashes where it is silent; the header's tuning says how many"
            findings.fault(f"a system of {lines} lines, the tuning has {count} strings", hint, system.first)
            continue
        for first in range(0, lines, count):
            part = slice(first, first + count)
            rows = [row for row in system.rows if (row.kind == "values") == (first == 0) or lines == count]
            parted.append(
                replace(
                    system,
                    first=system.first + first,
                    labels=system.labels[part],
                    starts=system.starts[part],
                    bodies=system.bodies[part],
                    rows=rows if first in (0, lines - count) else [],
                )
            )
            _compare(parted[-1], strings, findings)
    return parted


def _compare(system: SystemLines, strings: tuple[Pitch, ...], findings: Findings) -> None:
    """Hold the labels of a system against the tuning."""
    for number, (label, pitch) in enumerate(zip(system.labels, strings, strict=True)):
        if label[:1].isalpha() and near(label, number + 1).midi % 12 != pitch.midi % 12:
            hint = "make label and tuning agree"
            findings.fault(
                f"string {number + 1} is labelled {label}, its tuning is {pitch.name}", hint, system.first + number
            )
