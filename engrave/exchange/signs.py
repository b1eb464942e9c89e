"""Words over the staff: headings, tempo, stroke kinds, positions, barres and the words of the source."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from engrave.exchange.tree import Element, add, add_text
from engrave.instruments import find_instrument
from engrave.model import Instrument, Passage, Variation
from engrave.model.hand_signs import barre_marks, position_marks
from engrave.model.passage import VALUE_NAMES
from engrave.model.strokes import stroke_words
from engrave.model.wording import numeral

_BARRES = {"full": "C {}", "half": "½C {}", "hinge": "C {} (hinge)"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One direction of MusicXML."""

    bar: int
    onset: Fraction
    """quarters from the passage's start"""
    words: str = ""
    line: str = ""
    """start or stop of a dashed line"""
    tempo: Fraction | None = None
    """quarters a minute"""
    beat: tuple[int, int] | None = None
    """value (as in model.Value) and dots of the beat a metronome mark counts"""
    strong: bool = False


def signs(variation: Variation, *, heading: str = "", exact: bool = False) -> list[Sign]:
    """Every direction of a variation, in the order of its place; `exact` says nothing that the source does not."""
    passage = variation.passage
    made = [Sign(bar=0, onset=Fraction(0), words=heading, strong=True)] if heading else []
    tuning = "" if exact else tuning_words(variation.instrument)
    made += [Sign(bar=0, onset=Fraction(0), words=tuning)] if tuning else []
    made += _tempo(passage, exact=exact)
    made += [
        Sign(bar=d.bar, onset=d.onset, words=d.text)
        for d in passage.directions
        if d.kind == "words" and d.text.strip() and d.text != tuning
    ]
    strokes = [Sign(bar=word.bar, onset=word.onset, words=word.text) for word in stroke_words(passage)]
    made += strokes or _kept(passage, "stroke")
    if any(note.placement is not None for note in passage.notes):
        marks = position_marks(passage.events)
        made += [Sign(bar=event.bar, onset=event.onset, words=numeral(place)) for event, place in marks]
        made += _barres(passage)
    else:
        made += _kept(passage, "position") + _kept(passage, "barre")
    return sorted(made, key=lambda sign: (sign.bar, sign.onset))


def tuning_words(instrument: Instrument) -> str:
    """The strings that are not tuned as on a standard guitar, as editions print them: ⑥ = D. Empty if there is none."""
    standard = find_instrument("standard").strings
    other = [
        f"{chr(0x2460 + index)} = {pitch.name}"
        for index, pitch in enumerate(instrument.strings)
        if index >= len(standard) or pitch.midi != standard[index].midi
    ]
    return ", ".join(reversed(other))


def _kept(passage: Passage, kind: str) -> list[Sign]:
    """Directions of the source whose place no placement has taken."""
    said = {"rest": "rest stroke", "free": "free stroke"}
    return [
        Sign(bar=d.bar, onset=d.onset, words=said.get(d.text, d.text) if kind == "stroke" else d.text)
        for d in passage.directions
        if d.kind == kind and d.text.strip()
    ]


def _tempo(passage: Passage, *, exact: bool) -> list[Sign]:
    """The tempo in the words of the source, else as a metronome mark for the beat of the first bar."""
    said = [d for d in passage.directions if d.kind == "tempo" and d.text.strip()]
    made = [Sign(bar=d.bar, onset=d.onset, words=d.text, tempo=passage.tempo if not d.onset else None) for d in said]
    if passage.tempo is None or any(not d.onset for d in said):
        return made
    beat = passage.bars[0].metre.beat
    dotted = beat.numerator == 3
    unit = Fraction(4) / (beat / Fraction(3, 2) if dotted else beat)
    mark = None if exact else (int(unit), int(dotted))
    return [Sign(bar=0, onset=Fraction(0), tempo=passage.tempo, beat=mark), *made]


def _barres(passage: Passage) -> list[Sign]:
    """Each barre with a dashed line as far as it is held."""
    made: list[Sign] = []
    for barre in barre_marks(passage.events):
        words = _BARRES.get(barre.kind, "C {}").format(numeral(barre.fret))
        made.append(Sign(bar=barre.first.bar, onset=barre.first.onset, words=words, line="start"))
        made.append(Sign(bar=barre.last.bar, onset=barre.last.end, line="stop"))
    return made


def direction(measure: Element, sign: Sign, *, offset: int = 0) -> None:
    """Write a sign at the place where the measure has come to, or `offset` divisions later."""
    if not sign.words and not sign.line and sign.beat is None:
        if sign.tempo is not None:
            add(measure, "sound", tempo=decimal(sign.tempo))
        return
    made = add(measure, "direction", placement="above")
    if sign.words:
        style = {"font_weight": "bold"} if sign.strong or sign.tempo is not None else {}
        add_text(add(made, "direction-type"), "words", sign.words, **style)
    if sign.line:
        add(add(made, "direction-type"), "dashes", type=sign.line, number=1)
    if sign.beat is not None and sign.tempo is not None:
        unit, dots = sign.beat
        mark = add(add(made, "direction-type"), "metronome")
        add_text(mark, "beat-unit", VALUE_NAMES[unit])
        for _ in range(dots):
            add(mark, "beat-unit-dot")
        length = Fraction(4, unit) * (Fraction(3, 2) if dots else 1)
        add_text(mark, "per-minute", decimal(sign.tempo / length))
    if offset:
        add_text(made, "offset", offset)
    if sign.tempo is not None:
        add(made, "sound", tempo=decimal(sign.tempo))


def decimal(number: Fraction) -> str:
    """A number as MusicXML writes it: whole where it is, else to six places."""
    return str(number.numerator) if number.denominator == 1 else f"{float(number):.6f}".rstrip("0").rstrip(".")
