"""Bars of a passage as MEI 5, plain music only: what verovio engraves and the guitar layer is laid over.

Conventions: pitches are written as they sound, under a treble clef an octave down; ids are ours: `b3` the bar with
index 3, `e7` the event with index 7 in Passage.events, `n12` the note with index 12 in Passage.notes (the passage's own
ids may hold characters XML does not allow). Slurs, endings, accents and everything a guitarist adds are drawn
elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from itertools import cycle, groupby, pairwise
from operator import itemgetter

from engrave.model import Bar, Event, Key, Metre, Note, Passage, Pitch, Tuplet

_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?><mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0">'
    "<meiHead><fileDesc><titleStmt><title/></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>"
)
_STAFF = (
    '><staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2" clef.dis="8" clef.dis.place="below"/>'
    "</staffGrp></scoreDef>"
)
_END = "</section></score></mdiv></body></music></mei>"
_ARTIC = {"staccato": "stacc", "tenuto": "ten"}
_BARLINES = {
    "single": "single",
    "double": "dbl",
    "final": "end",
    "dashed": "dashed",
    "dotted": "dotted",
    "invisible": "invis",
}
_BARE = ' num.visible="false" bracket.visible="false"'
"""tuplet figures are drawn over the digits, not by verovio"""
_FLAGGED = 8
"""values from which notes have flags"""
_ALONE = -1
"""stands for the group of an event that shares no beam"""
_ACCIDENTALS = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "x"}


def mei(passage: Passage, breaks: Sequence[int] = (), shown: Mapping[str, int] | None = None) -> str:
    """`passage` as MEI, a new system before each bar whose index is in `breaks`.

    `shown` are its accidentals, where they are known already.
    """
    writer = _Writer(passage=passage, shown=shown_accidentals(passage) if shown is None else shown)
    return writer.document(frozenset(breaks))


def accented() -> str:
    """A bar with every accent over and under a note: a drawing of it holds their shapes."""
    sides = ((kind, side) for kind in ("acc", "marc") for side in ("above", "below"))
    notes = "".join(
        f'<note pname="b" oct="4" dur="4"><artic artic="{kind}" place="{side}"/></note>' for kind, side in sides
    )
    staff = f'<measure n="1"><staff n="1"><layer n="1">{notes}</layer></staff></measure>'
    return f"{_HEAD}<scoreDef{_STAFF}<section><sb/>{staff}{_END}"


def shown_accidentals(passage: Passage) -> dict[str, int]:
    """Note id → alteration to print. A sign holds to the end of its bar on its own staff place, in every voice.

    A note tied from the one before needs none; the key signature holds where nothing else does (common practice).
    After an invisible bar line, a sign is printed wherever it would be missed by one who goes on reading the bar, or by
    one who starts a new one.
    """
    shown: dict[str, int] = {}
    state: dict[tuple[str, int], int] = {}
    before: dict[tuple[str, int], int] = {}
    bar = -1
    for event in sorted(passage.events, key=lambda e: (e.bar, e.onset, not e.grace, e.voice)):
        if event.bar != bar:
            going_on = event.bar > 0 and passage.bars[event.bar - 1].barline == "invisible"
            before = before | state if going_on else {}
            bar, state = event.bar, {}
        key = passage.bars[bar].key
        for note in event.notes:
            pitch = note.pitch
            place = (pitch.step, pitch.octave)
            if note.tied_back:
                continue
            usual = state.get(place, key.alter(pitch.step))
            if usual != pitch.alter or before.get(place, usual) != pitch.alter:
                shown[note.id] = pitch.alter
                state[place] = pitch.alter
                before.pop(place, None)
    return shown


def tied_pairs(passage: Passage) -> tuple[tuple[Note, Note], ...]:
    """Notes joined by a tie, in reading order."""
    waiting: dict[tuple[int, Fraction], Note] = {}
    pairs: list[tuple[Note, Note]] = []
    for event in sorted(passage.events, key=lambda e: (e.onset, not e.grace, e.voice)):
        for note in event.notes:
            if note.tied_back:
                before = waiting.pop((note.pitch.midi, event.onset), None)
                if before is not None:
                    pairs.append((before, note))
            if note.tied_on:
                waiting[note.pitch.midi, event.end] = note
    return tuple(pairs)


def beams(bar: Bar, events: Sequence[Event]) -> list[tuple[int, int]]:
    """Runs (first, last index) of one voice's `events` in one bar that share a beam: notes of an eighth or less.

    A beam keeps within one group of the metre and breaks at a rest; grace notes in between do not break it.
    """
    groups = cycle(_groups(bar.metre))
    group, end = 0, bar.onset - bar.offset + next(groups)
    shared: list[tuple[int, int]] = []
    for i, event in enumerate(events):
        if event.grace:
            continue
        while event.onset >= end:
            group, end = group + 1, end + next(groups)
        shared.append((i, group if event.notes and event.value.kind >= _FLAGGED else _ALONE))
    runs = [[i for i, _ in run] for group, run in groupby(shared, key=itemgetter(1)) if group != _ALONE]
    return [(run[0], run[-1]) for run in runs if len(run) > 1]


@cache
def _groups(metre: Metre) -> tuple[Fraction, ...]:
    """The groups of a metre, worked out once: a bar's beams are asked for often."""
    return metre.groups


@dataclass(slots=True)
class _Span:
    """A beam or a tuplet over events first to last of one voice in one bar."""

    first: int
    last: int
    tuplet: Tuplet | None = None


@dataclass(slots=True)
class _Writer:
    passage: Passage
    shown: Mapping[str, int]
    numbers: dict[str, int] = field(init=False)
    several: dict[int, bool] = field(init=False)

    def __post_init__(self) -> None:
        self.numbers = {note.id: i for i, note in enumerate(self.passage.notes)}
        voices: dict[int, set[int]] = {}
        for event in self.passage.events:
            if not event.space:
                voices.setdefault(event.bar, set()).add(event.voice)
        self.several = {bar: len(found) > 1 or max(found) > 1 for bar, found in voices.items()}

    def document(self, breaks: frozenset[int]) -> str:
        bars = self.passage.bars
        by_bar: dict[int, list[tuple[int, Event]]] = {}
        for i, event in enumerate(self.passage.events):
            by_bar.setdefault(event.bar, []).append((i, event))
        ties: dict[str, list[str]] = {}
        for before, after in tied_pairs(self.passage):
            start, end = self.numbers[before.id], self.numbers[after.id]
            line = f'<tie xml:id="t{start}" startid="#n{start}" endid="#n{end}"/>'
            ties.setdefault(before.id, []).append(line)
        signs = [(_key(bar.key), _metre(bar.metre)) for bar in bars]
        out = [_HEAD, "<scoreDef", *signs[0], _STAFF]
        # one break at the start: without any, verovio breaks lines of its own accord
        out.append("<section><sb/>")
        for i, bar in enumerate(bars):
            if i in breaks:
                out.append("<sb/>")
            changed = [new for new, old in zip(signs[i], signs[max(i - 1, 0)], strict=True) if new != old]
            if changed:
                out += ["<scoreDef", *changed, "/>"]
            out.append(self.measure(i, bar, by_bar.get(i, []), ties))
        out.append(_END)
        return "".join(out)

    def measure(self, index: int, bar: Bar, events: list[tuple[int, Event]], ties: dict[str, list[str]]) -> str:
        left = ' left="rptstart"' if bar.repeat_start else ""
        right = "rptend" if bar.repeat_end else _BARLINES[bar.barline]
        odd = ' metcon="false"' if bar.length != bar.metre.length else ""
        out = [f'<measure xml:id="b{index}" n="{index + 1}"{left} right="{right}"{odd}><staff n="1">']
        for voice in sorted({event.voice for _, event in events}):
            mine = [(i, event) for i, event in events if event.voice == voice]
            out += [f'<layer n="{voice}">', self.layer(bar, mine), "</layer>"]
        out.append("</staff>")
        for i, event in events:
            if "fermata" in event.marks:
                place = "below" if self.several[index] and event.voice > 1 else "above"
                out.append(f'<fermata startid="#{self.anchor(i, event)}" place="{place}"/>')
            if "arpeggio" in event.marks and len(event.notes) > 1:
                out.append(f'<arpeg startid="#e{i}"/>')
            for note in event.notes:
                out += ties.get(note.id, ())
        out.append("</measure>")
        return "".join(out)

    def layer(self, bar: Bar, events: list[tuple[int, Event]]) -> str:
        plain = [event for _, event in events]
        tuplets = _tuplets(plain)
        spans = [_Span(a, b) for a, b in _within(beams(bar, plain), tuplets, plain)] + tuplets + _grace_beams(plain)
        spans.sort(key=lambda s: (s.first, -s.last, s.tuplet is None))
        return self.nest(events, spans, 0, len(events))

    def nest(self, events: list[tuple[int, Event]], spans: list[_Span], lo: int, hi: int) -> str:
        """Events lo to hi as elements, each span wrapped round its own; spans are sorted outermost first."""
        out: list[str] = []
        i = lo
        while i < hi:
            outer = next((s for s in spans if s.first == i and s.last < hi), None)
            if outer is None:
                out.append(self.event(*events[i]))
                i += 1
                continue
            rest = [s for s in spans if s is not outer and s.first >= outer.first and s.last <= outer.last]
            inside = self.nest(events, rest, i, outer.last + 1)
            if outer.tuplet is None:
                out += ["<beam>", inside, "</beam>"]
            else:
                t = outer.tuplet
                out += [f'<tuplet num="{t.actual}" numbase="{t.normal}"{_BARE}>', inside, "</tuplet>"]
            i = outer.last + 1
            spans = [s for s in spans if s.first >= i]
        return "".join(out)

    def event(self, number: int, event: Event) -> str:
        value = "breve" if event.value.kind == 0 else str(event.value.kind)
        length = f' dur="{value}"' + (f' dots="{event.value.dots}"' if event.value.dots else "")
        name = f' xml:id="e{number}"'
        if event.space:
            return f"<space{name}{length}/>"
        if event.bar_rest:
            return f"<mRest{name}/>"
        if not event.notes:
            return f"<rest{name}{length}/>"
        if event.grace:
            length += f' grace="unacc" stem.mod="{"1slash" if event.slash else "none"}"'
        if self.several[event.bar]:
            length += f' stem.dir="{"down" if event.voice > 1 else "up"}"'
        elif event.grace:
            length += ' stem.dir="up"'
        artic = " ".join(_ARTIC[mark] for mark in event.marks if mark in _ARTIC)
        if artic:
            length += f' artic="{artic}"'
        if len(event.notes) == 1:
            return self.head(event.notes[0], length)
        heads = "".join(self.head(note) for note in event.notes)
        return f"<chord{name}{length}>{heads}</chord>"

    def anchor(self, number: int, event: Event) -> str:
        """The id a sign over the whole event hangs on: a single note is no chord."""
        return f"n{self.numbers[event.notes[0].id]}" if len(event.notes) == 1 else f"e{number}"

    def head(self, note: Note, length: str = "") -> str:
        pitch = note.pitch
        sign = f' accid="{_ACCIDENTALS[pitch.alter]}"' if note.id in self.shown else _sounds(pitch)
        cross = ' head.shape="x"' if note.muted else ""
        name = f'xml:id="n{self.numbers[note.id]}"'
        return f'<note {name} pname="{pitch.step.lower()}" oct="{pitch.octave}"{sign}{cross}{length}/>'


def _sounds(pitch: Pitch) -> str:
    return f' accid.ges="{_ACCIDENTALS[pitch.alter]}"' if pitch.alter else ""


def _key(key: Key) -> str:
    if not key.fifths:
        return ' keysig="0"'
    return f' keysig="{abs(key.fifths)}{"s" if key.fifths > 0 else "f"}"'


def _metre(metre: Metre) -> str:
    sign = f' meter.sym="{metre.sign}"' if metre.sign in ("common", "cut") else ""
    return f' meter.count="{"+".join(map(str, metre.beats))}" meter.unit="{metre.unit}"{sign}'


def _tuplets(events: Sequence[Event]) -> list[_Span]:
    """The tuplets of one voice in one bar."""
    spans: dict[int, _Span] = {}
    for i, event in enumerate(events):
        for tuplet in event.tuplets:
            if tuplet.id in spans:
                spans[tuplet.id].last = i
            else:
                spans[tuplet.id] = _Span(i, i, tuplet)
    return list(spans.values())


def _within(runs: list[tuple[int, int]], tuplets: list[_Span], events: Sequence[Event]) -> list[tuple[int, int]]:
    """`runs` of beams cut where one would cross the edge of a tuplet: XML nests, so a beam holds a tuplet whole."""
    edges = {t.first for t in tuplets} | {t.last + 1 for t in tuplets}
    made: list[tuple[int, int]] = []
    for first, last in runs:
        crossed = any(t.first < first <= t.last < last or first < t.first <= last < t.last for t in tuplets)
        cuts = [first, *sorted(e for e in edges if first < e <= last and crossed), last + 1]
        made += [(a, b - 1) for a, b in pairwise(cuts) if sum(not e.grace for e in events[a:b]) > 1]
    return made


def _grace_beams(events: Sequence[Event]) -> list[_Span]:
    """Two or more short grace notes in a row share a beam."""
    runs = groupby(range(len(events)), key=lambda i: events[i].grace and events[i].value.kind >= _FLAGGED)
    ends = ((first, max(rest, default=first)) for short, (first, *rest) in runs if short)
    return [_Span(first, last) for first, last in ends if last > first]
