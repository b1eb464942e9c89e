"""What frames the notes of MusicXML: titles, the part, clefs, strings, keys, metres, bar lines."""

from __future__ import annotations

import re
from collections.abc import Sequence

from engrave.exchange.tree import Element, add, add_text, leaf
from engrave.model import Bar, Instrument, Variation
from engrave.model.said import strung

_STYLES = {"double": "light-light", "final": "light-heavy", "dashed": "dashed", "dotted": "dotted", "invisible": "none"}
_NUMBERS = re.compile(r"[1-9][0-9]*(, ?[1-9][0-9]*)*\Z")
"""what `ending number` may be (MusicXML 4.0, ending-number)"""
NYLON = 25
"""the nylon-string guitar among the programs of General MIDI System Level 1 (MMA, 1991), counted from 1"""


def part_list(root: Element, variations: Sequence[Variation]) -> None:
    """Titles, names and the one part."""
    passage = variations[0].passage
    if passage.title:
        add_text(add(root, "work"), "work-title", passage.title)
    heading = variations[0].title if len(variations) == 1 else ""
    if heading:
        add_text(root, "movement-title", heading)
    identification = Element("identification")
    if passage.composer:
        add_text(identification, "creator", passage.composer, type="composer")
    if passage.rights:
        add_text(identification, "rights", passage.rights)
    add_text(add(identification, "encoding"), "software", "engrave")
    if passage.source:
        cut = f", bars {passage.cut}" if passage.cut else ""
        add_text(identification, "source", f"{passage.source}{cut}")
    strings = variations[0].instrument.strings
    misc = add(identification, "miscellaneous")
    add_text(misc, "miscellaneous-field", " ".join(map(str, reversed(strings))), name="tuning")
    for name, text in (("purpose", strung([variations[0].purpose, variations[0].extent])), ("cue", variations[0].cue)):
        if text and len(variations) == 1:
            add_text(misc, "miscellaneous-field", text, name=name)
    root.append(identification)
    part = add(add(root, "part-list"), "score-part", id="P1")
    add_text(part, "part-name", "Guitar")
    add_text(add(part, "score-instrument", id="P1-I1"), "instrument-name", "Guitar")
    midi = add(part, "midi-instrument", id="P1-I1")
    add_text(midi, "midi-channel", 1)
    add_text(midi, "midi-program", NYLON)


def attributes(bar: Bar, before: Bar | None) -> Element:
    """Key and metre of a bar where they are not those of the bar before."""
    made = Element("attributes")
    if before is None or bar.key != before.key:
        key = add(made, "key")
        add_text(key, "fifths", bar.key.fifths)
        if bar.key.mode:
            add_text(key, "mode", bar.key.mode)
    if before is None or bar.metre != before.metre:
        time = add(made, "time", **({"symbol": bar.metre.sign} if bar.metre.sign else {}))
        add_text(time, "beats", "+".join(map(str, bar.metre.beats)))
        add_text(time, "beat-type", bar.metre.unit)
    return made


def begin(made: Element, instrument: Instrument, *, divisions: int, tab: bool, exact: bool) -> None:
    """Add what the attributes of a first bar hold besides: divisions before the key, then clef, strings and capo."""
    made.insert(0, leaf("divisions", "divisions", str(divisions)))
    clef = add(made, "clef")
    add_text(clef, "sign", "TAB" if tab else "G")
    add_text(clef, "line", 5 if tab else 2)
    if not tab:
        add_text(clef, "clef-octave-change", -1)
    if tab or exact or instrument.capo:
        _strings(made, instrument, tab=tab, tuned=tab or exact)


def _strings(made: Element, instrument: Instrument, *, tab: bool, tuned: bool) -> None:
    """Open strings (line 1 is the lowest) and capo."""
    details = add(made, "staff-details")
    if tab:
        add_text(details, "staff-lines", len(instrument.strings))
    for line, pitch in enumerate(reversed(instrument.strings) if tuned else (), start=1):
        tuning = add(details, "staff-tuning", line=line)
        add_text(tuning, "tuning-step", pitch.step)
        if pitch.alter:
            add_text(tuning, "tuning-alter", pitch.alter)
        add_text(tuning, "tuning-octave", pitch.octave)
    if instrument.capo:
        add_text(details, "capo", instrument.capo)


def _goes_on(bar: Bar | None, after: Bar | None) -> bool:
    """Whether an ending goes on from a bar to the next: with the same label, up to a repeat."""
    return bar is not None and after is not None and bar.ending == after.ending and not bar.repeat_end


def left_line(measure: Element, bar: Bar, before: Bar | None) -> None:
    """The bar line at the left, where a repeat or an ending begins."""
    begins = bool(bar.ending) and not _goes_on(before, bar)
    if not bar.repeat_start and not begins:
        return
    line = add(measure, "barline", location="left")
    if bar.repeat_start:
        add_text(line, "bar-style", "heavy-light")
    if begins:
        _ending(line, bar.ending, "start")
    if bar.repeat_start:
        add(line, "repeat", direction="forward")


def right_line(measure: Element, bar: Bar, after: Bar | None) -> None:
    """The bar line at the right, unless it is a single one."""
    ends = bool(bar.ending) and not _goes_on(bar, after)
    style = "light-heavy" if bar.repeat_end else _STYLES.get(bar.barline, "")
    if not style and not ends:
        return
    line = add(measure, "barline", location="right")
    if style:
        add_text(line, "bar-style", style)
    if ends:
        _ending(line, bar.ending, "stop" if bar.repeat_end or bar.barline == "final" else "discontinue")
    if bar.repeat_end:
        add(line, "repeat", direction="backward", **({"times": bar.repeat_end} if bar.repeat_end > 2 else {}))


def _ending(line: Element, label: str, kind: str) -> None:
    number = label if _NUMBERS.match(label) else "1"
    add_text(line, "ending", label if kind == "start" and number != label else "", number=number, type=kind)
