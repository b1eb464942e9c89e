"""The ways each tone may be sounded: the source's marks, the instrument's range and a scheme's limits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

from engrave.fretting.shapes import Stop
from engrave.fretting.tones import Tone
from engrave.instruments import find_instrument, instrument_names
from engrave.model import Fault, Given, Instrument, Notice, Passage, Pitch, Place, UnplayableError
from engrave.model.said import Said, say, strung


@dataclass(frozen=True, slots=True, kw_only=True)
class SchemeLimits:
    """What a scheme allows. The default allows everything."""

    fingers: frozenset[int] = frozenset({1, 2, 3, 4})
    """fingers that may stop a note"""
    opens: str = "allow"
    """allow, never, or always (an open string wherever the pitch has one)"""
    strings: frozenset[int] | None = None
    """strings that may be used; None: all"""
    slot: int = 1
    """frets a finger may sit off its place in the hand position"""
    positions: tuple[int, int] = (1, 99)
    """lowest and highest hand position"""
    marks: bool = True
    """keep the fingers, strings and frets the source gives"""
    keep_strings: bool = True
    """where `marks` is off: keep the strings and frets, leave out the fingers only"""

    def stops(self, tone: Tone, instrument: Instrument) -> tuple[Stop, ...]:
        """The ways `tone` may be sounded under these limits, marks included."""
        if tone.muted:
            return _muted(tone, instrument)
        ways = [
            Stop(string, fret, finger)
            for string, fret in instrument.stops(tone.midi)
            if self.strings is None or string in self.strings
            for finger in ((0,) if fret == 0 else sorted(self.fingers))
        ]
        if self.opens == "never":
            ways = [way for way in ways if way.fret]
        elif self.opens == "always" and any(not way.fret for way in ways):
            ways = [way for way in ways if not way.fret]
        return tuple(way for way in ways if self._as_given(way, tone.given))

    def _as_given(self, way: Stop, given: Given) -> bool:
        if self.marks and given.finger is not None and way.finger != given.finger:
            return False
        if not (self.marks or self.keep_strings):
            return True
        return given.string in (None, way.string) and given.fret in (None, way.fret)


FREE = SchemeLimits()


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
    passage: Passage, tones: tuple[Tone, ...], instrument: Instrument, limits: SchemeLimits
) -> tuple[tuple[Tone, ...], tuple[Notice, ...]]:
    """Tones whose own marks can hold, with a notice for each mark that had to go."""
    made: list[Tone] = []
    notices: list[Notice] = []
    for tone in tones:
        if not limits.marks or tone.muted or limits.stops(tone, instrument):
            made.append(tone)
            continue
        kept = _most(tone, instrument, limits)
        made.append(kept)
        if kept.given != tone.given:
            text = _unlike_marks(pitch_of(passage, tone), marks_text(tone.given), marks_text(kept.given))
            notices.append(Notice(text=text, place=place_of(passage, tone)))
    return tuple(made), tuple(notices)


def _unlike_marks(pitch: str, marks: Said, kept: Said) -> Said:
    """That a note cannot be played as its marks say, and what is kept of them."""
    if not kept:
        return say("{pitch} cannot be played as marked ({marks}); kept: none of it", pitch=pitch, marks=marks)
    return say("{pitch} cannot be played as marked ({marks}); kept: {kept}", pitch=pitch, marks=marks, kept=kept)


def _most(tone: Tone, instrument: Instrument, limits: SchemeLimits) -> Tone:
    """The tone with as many of its marks as can hold, the finger first to stay."""
    names = [name for name in ("finger", "string", "fret") if getattr(tone.given, name) is not None]
    for count in range(1, len(names) + 1):
        for gone in reversed(list(combinations(names, count))):
            given = replace(
                tone.given,
                finger=None if "finger" in gone else tone.given.finger,
                string=None if "string" in gone else tone.given.string,
                fret=None if "fret" in gone else tone.given.fret,
            )
            trial = replace(tone, given=given)
            if limits.stops(trial, instrument):
                return trial
    return replace(tone, given=Given())


def marks_text(given: Given) -> Said:
    """A source's marks in words."""
    parts = [say("string {string}", string=given.string)] if given.string is not None else []
    parts += [say("fret {fret}", fret=given.fret)] if given.fret is not None else []
    if given.finger is not None:
        # for the translator: a string that no finger stops
        parts.append(say("finger {finger}", finger=given.finger) if given.finger else say("open"))
    return strung(parts, ", ")


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
