"""Bars of tablature become a Passage: bars, events, notes, slurs, and what to say about them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction

from engrave.model import Event, Given, Metre, Note, Notice, Passage, Pitch, Slur, Value
from engrave.model.said import Said, say, say_count
from engrave.model.spelling import spell
from engrave.reading.cut import REPEATS
from engrave.reading.tablature.page import Page
from engrave.reading.tablature.timed_bars import Timed, midi_of, work_out
from engrave.reading.tablature.typed import Cell, Column, Findings, TabBar, Token


@dataclass(slots=True)
class _Pen:
    """What runs from note to note while the passage is written out."""

    page: Page
    findings: Findings
    events: list[Event] = field(default_factory=list)
    slurs: list[Slur] = field(default_factory=list)
    tied_on: set[str] = field(default_factory=set)
    sounding: list[tuple[Cell, str]] = field(default_factory=list)
    """cells and ids of the notes of the event before; empty after a rest"""
    latest: dict[int, tuple[Cell, str]] = field(default_factory=dict)
    """string → its last note"""
    count: int = 0


def assemble(page: Page, findings: Findings) -> Passage | None:
    """The passage of a page without faults so far; None where its bars do not work out."""
    if findings.untimed or not page.bars:
        return None
    timed = work_out(page, findings)
    if findings.faults:
        return None
    pen = _Pen(page, findings)
    names = _names(timed, page)
    for index, bar in enumerate(timed):
        _write_bar(pen, bar, index, names)
    header = page.header
    events = [
        replace(event, notes=tuple(replace(n, tied_on=True) if n.id in pen.tied_on else n for n in event.notes))
        for event in pen.events
    ]
    if findings.faults:
        return None
    notices = list(page.notices)
    for what, (place, times) in findings.left_out.items():
        notices.append(Notice(text=_bent(what, times), place=place))
    if any(bar.bar.repeat_start or bar.bar.repeat_end for bar in timed):
        notices.append(Notice(text=REPEATS))
    return Passage(
        title=header.words.get("title", ""),
        composer=header.words.get("composer", ""),
        rights=header.words.get("rights", ""),
        source=findings.file,
        tempo=_tempo(page, timed[0].bar.metre),
        tuning=page.instrument.strings,
        capo=header.capo,
        bars=tuple(bar.bar for bar in timed),
        events=tuple(events),
        slurs=tuple(pen.slurs),
        notices=tuple(notices),
    )


def _bent(what: Said, count: int) -> Said:
    """What is left out or read freely, and how often."""
    if count == 1:
        return say("left out or read freely: {what}", what=what)
    return say_count(
        "left out or read freely: {what}, {n} time", "left out or read freely: {what}, {n} times", count, what=what
    )


def _tempo(page: Page, metre: Metre) -> Fraction | None:
    if page.header.tempo is None:
        return None
    beats, unit = page.header.tempo
    return beats * (unit or metre.beat)


def _names(timed: list[Timed], page: Page) -> dict[int, Pitch]:
    """A spelled pitch for each cell (by its identity), named for the key and for where it leads."""
    columns = [(bar.bar.key, stroke.column) for bar in timed for stroke in bar.strokes if stroke.column is not None]
    names: dict[int, Pitch] = {}
    for index, (key, column) in enumerate(columns):
        onward = [midi_of(page, cell) for _, later in columns[index + 1 : index + 5] for cell in later.cells]
        for cell in column.cells:
            midi = midi_of(page, cell)
            names[id(cell)] = spell(midi, key, next((m for m in onward if abs(m - midi) == 1), None))
    return names


def _write_bar(pen: _Pen, timed: Timed, index: int, names: dict[int, Pitch]) -> None:
    """Write the events of one bar."""
    bar = timed.bar
    if not any(stroke.column or stroke.held for stroke in timed.strokes):
        pen.sounding = []
        whole, name = Value(kind=1), _id(pen, "e")
        pen.events.append(
            Event(id=name, bar=index, voice=1, onset=bar.onset, duration=bar.length, value=whole, bar_rest=True)
        )
        return
    marks = _hand_marks(timed.typed, pen.findings)
    onset = bar.onset
    for stroke in timed.strokes:
        for number, piece in enumerate(stroke.pieces):
            if stroke.column is not None and number == 0:
                notes = _struck(pen, stroke.column, names, marks)
            elif stroke.column is not None or stroke.held:
                if not pen.sounding:
                    pen.findings.fault(
                        "a + holds a note, but none sounds before it", "leave out the +", timed.typed.line
                    )
                notes = _held(pen)
            else:
                notes, pen.sounding = (), []
            event = Event(
                id=_id(pen, "e"), bar=index, voice=1, onset=onset, duration=piece.length, value=piece.value,
                tuplets=piece.tuplets, notes=notes, grace=stroke.grace, slash=stroke.grace,
            )  # fmt: skip
            pen.events.append(event)
            onset += piece.length


def _id(pen: _Pen, letter: str) -> str:
    pen.count += 1
    return f"{letter}{pen.count}"


def _struck(
    pen: _Pen, column: Column, names: dict[int, Pitch], marks: dict[int, tuple[int | None, str]]
) -> tuple[Note, ...]:
    """The notes of a column, tied where a bracket says that they sound on."""
    struck: list[tuple[Cell, Note]] = []
    for cell in column.cells:
        finger, letter = marks.get(id(cell), (None, ""))
        before = next((name for c, name in pen.sounding if c.string == cell.string and c.fret == cell.fret), "")
        if cell.bracketed and before:
            pen.tied_on.add(before)
        elif cell.bracketed:
            what = say("a fret in brackets that holds no note before it, played as any other")
            pen.findings.leave(what, cell.line)
        given = Given(finger=finger, string=cell.string, fret=cell.fret or 0, pluck=letter)
        note = Note(
            id=_id(pen, "n"),
            pitch=names[id(cell)],
            muted=cell.fret is None,
            tied_back=cell.bracketed and bool(before),
            given=given,
        )
        _slur(pen, cell, note)
        struck.append((cell, note))
    return _sound(pen, struck)


def _held(pen: _Pen) -> tuple[Note, ...]:
    """The notes before once more, tied."""
    before = {note.id: note for note in pen.events[-1].notes} if pen.events else {}
    pen.tied_on.update(name for _, name in pen.sounding)
    return _sound(pen, [(cell, replace(before[name], id=_id(pen, "n"), tied_back=True)) for cell, name in pen.sounding])


def _sound(pen: _Pen, notes: list[tuple[Cell, Note]]) -> tuple[Note, ...]:
    """The notes of an event, from low to high; what follows is tied and slurred to them."""
    pen.sounding = [(cell, note.id) for cell, note in notes]
    pen.latest |= {cell.string: (cell, note.id) for cell, note in notes}
    return tuple(sorted((note for _, note in notes), key=lambda n: (n.pitch.midi, -(n.given.string or 0))))


def _slur(pen: _Pen, cell: Cell, note: Note) -> None:
    """Join a note to the one before on its string as the text says."""
    if not cell.link or cell.string not in pen.latest:
        return
    before, name = pen.latest[cell.string]
    if before.fret is None or cell.fret is None or before.fret == cell.fret:
        pen.findings.leave(say("a slur between equal frets or from a damped string"), cell.line)
        return
    kind = cell.link
    if kind in ("hammer-on", "pull-off"):
        kind = "hammer-on" if cell.fret > before.fret else "pull-off"
        if kind != cell.link:
            pen.findings.leave(say("h where the fret falls or p where it rises, read as the other one"), cell.line)
    pen.slurs.append(Slur(start=name, stop=note.id, kind=kind))


def _hand_marks(typed: TabBar, findings: Findings) -> dict[int, tuple[int | None, str]]:
    """Fretting digit and plucking letter of each cell (by its identity)."""
    fingers: dict[int, int] = {}
    letters: dict[int, str] = {}
    hint = "one digit for each stopped note, the lowest string first; 0 is an open string"
    for token in (t for t in typed.fingers if t.text):
        cells = _below(token, typed, findings)
        pairs = _fitted(token, cells, [cell for cell in cells if cell.fret])
        if pairs is None or any((digit == "0") != (not cell.fret) for cell, digit in pairs):
            _misfit(token, cells, hint, findings)
        fingers |= {id(cell): int(digit) for cell, digit in pairs or ()}
    hint = "one letter for each plucked note, the lowest string first"
    for token in (t for t in typed.letters if t.text):
        cells = _below(token, typed, findings)
        pairs = _fitted(token, cells, [cell for cell in cells if not cell.link and not cell.bracketed])
        if pairs is None:
            _misfit(token, cells, hint, findings)
        letters |= {id(cell): letter for cell, letter in pairs or ()}
    return {key: (fingers.get(key), letters.get(key, "")) for key in {**fingers, **letters}}


def _fitted(token: Token, cells: list[Cell], own: list[Cell]) -> list[tuple[Cell, str]] | None:
    """Each sign of a word with its note: all notes there are, or its own kind of them; None where neither fits."""
    chosen = cells if len(token.text) == len(cells) else own
    return list(zip(chosen, token.text, strict=True)) if len(chosen) == len(token.text) else None


def _misfit(token: Token, cells: list[Cell], hint: str, findings: Findings) -> None:
    if cells:
        fact = f"column {token.column}: {token.text} does not fit the {len(cells)} notes above it"
        findings.fault(fact, hint, token.line)


def _below(token: Token, typed: TabBar, findings: Findings) -> list[Cell]:
    """The notes a word stands below, the lowest string first."""
    for column in typed.columns:
        if column.at <= token.at < column.at + column.width:
            return list(reversed(column.cells))
    findings.fault(
        f"column {token.column}: {token.text} stands below no note", "put it below the note it is for", token.line
    )
    return []
