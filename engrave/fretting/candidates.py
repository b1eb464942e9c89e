"""The ways each tone may be sounded: the instrument's range and the source's marks."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import Any

from engrave.fretting.shapes import Stop
from engrave.fretting.tones import Tone
from engrave.instruments import find_instrument, instrument_names
from engrave.model import Fault, Given, Instrument, Notice, Passage, Pitch, Place, UnplayableError
from engrave.model.said import say, strung


def stops_for(tone: Tone, instrument: Instrument) -> tuple[Stop, ...]:
    """The ways `tone` may be sounded, the source's marks kept."""
    if tone.muted:
        return _muted(tone, instrument)
    given = tone.given
    return tuple(
        Stop(string, fret, finger)
        for string, fret in instrument.stops(tone.midi)
        if given.string in (None, string) and given.fret in (None, fret)
        for finger in (range(1, 5) if fret else (0,))
        if given.finger in (None, finger)
    )


def _muted(tone: Tone, instrument: Instrument) -> tuple[Stop, ...]:
    """A damped string: the one given, else the one whose open pitch is written, else any."""
    every = range(1, len(instrument.strings) + 1)
    if tone.given.string in every:
        return (Stop(int(tone.given.string or 1), 0, 0),)
    named = [s for s in every if instrument.midi(s, 0) == tone.midi]
    return tuple(Stop(s, 0, 0) for s in named or every)


def in_range(passage: Passage, tones: tuple[Tone, ...], instrument: Instrument) -> None:
    """Raises UnplayableError naming every tone outside the instrument's range."""
    faults = [
        _outside(passage, tone, instrument) for tone in tones if not tone.muted and not instrument.stops(tone.midi)
    ]
    if faults:
        raise UnplayableError(*faults)


def _outside(passage: Passage, tone: Tone, instrument: Instrument) -> Fault:
    low = min(instrument.midi(s, 0) for s in range(1, len(instrument.strings) + 1))
    high = max(instrument.midi(s, instrument.top) for s in range(1, len(instrument.strings) + 1))
    side = "below" if tone.midi < low else "above" if tone.midi > high else "not on"
    capo = f" with capo {instrument.capo}" if instrument.capo else ""
    lowest = min(note.pitch.midi for note in passage.notes)
    hint = {
        "below": _tuned_lower(lowest, instrument.capo),
        "above": "move the passage an octave lower with --octave -1, or choose an instrument with more frets"
        if lowest - 12 >= low
        else "move the passage down, or choose an instrument with more frets",
        "not on": "choose another tuning",
    }[side]
    return Fault(
        fact=f"{pitch_of(passage, tone)} lies {side} the range of the {instrument.label}{capo}, "
        f"{name_of(low)} to {name_of(high)}",
        hint=hint,
        place=place_of(passage, tone),
    )


def _tuned_lower(lowest: int, capo: int) -> str:
    """Which instrument has a note so low; of several the one whose lowest string is nearest."""
    known = [find_instrument(name) for name in instrument_names()]
    enough = [one for one in known if min(pitch.midi for pitch in one.strings) + capo <= lowest]
    if not enough:
        return "move the passage an octave higher with --octave 1"
    best = max(enough, key=lambda one: min(pitch.midi for pitch in one.strings))
    return f"choose an instrument that has it: --instrument {best.name}; or --octave 1"


def own_marks(
    passage: Passage, tones: tuple[Tone, ...], instrument: Instrument
) -> tuple[tuple[Tone, ...], tuple[Notice, ...]]:
    """Tones whose own marks can hold, with a notice for each mark that had to go."""
    made: list[Tone] = []
    notices: list[Notice] = []
    for tone in tones:
        kept = _most(tone, instrument)
        made.append(kept)
        if kept.given != tone.given:
            text = say(
                "{pitch} cannot be played as marked ({marks}); kept: {kept}",
                pitch=pitch_of(passage, tone),
                marks=marks_text(tone.given),
                # for the translator: after "kept:", of the marks on a note
                kept=marks_text(kept.given) or say("none of it"),
            )
            notices.append(Notice(text=text, place=place_of(passage, tone)))
    return tuple(made), tuple(notices)


def _most(tone: Tone, instrument: Instrument) -> Tone:
    """The tone with as many of its marks as can hold, the finger first to stay."""
    names = [name for name in ("fret", "string", "finger") if getattr(tone.given, name) is not None]
    for count in range(len(names) + 1):
        for gone in combinations(names, count):
            bare: dict[str, Any] = dict.fromkeys(gone)
            trial = replace(tone, given=replace(tone.given, **bare))
            if stops_for(trial, instrument):
                return trial
    return replace(tone, given=Given())


def marks_text(given: Given) -> str:
    """A source's marks in words."""
    parts = [say("string {string}", string=given.string)] if given.string is not None else []
    parts += [say("fret {fret}", fret=given.fret)] if given.fret is not None else []
    if given.finger is not None:
        # for the translator: of a note: on the open string
        parts += [say("open") if given.finger == 0 else say("finger {finger}", finger=given.finger)]
    return strung(parts, ", ") if parts else ""


def place_of(passage: Passage, tone: Tone) -> Place:
    """Where a tone begins."""
    return passage.place(passage.events[tone.event]) if tone.event >= 0 else Place(file=passage.source)


def pitch_of(passage: Passage, tone: Tone) -> str:
    """A tone's pitch as the source spells it."""
    if tone.event >= 0:
        for note in passage.events[tone.event].notes:
            if note.id == tone.ids[0]:
                return str(note.pitch)
    return name_of(tone.midi)


def name_of(midi: int) -> str:
    """A pitch name for a MIDI number, sharps where a sign is needed."""
    names = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
    return str(Pitch.parse(f"{names[midi % 12]}{midi // 12 - 1}"))
