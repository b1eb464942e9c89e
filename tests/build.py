"""Small passages for tests, written on one line.

A voice is bars divided by |, events divided by spaces: PITCH/VALUE, e.g. "E4/8 F#4/8. r/4 C3+E4/2 | s/1".
Pitches sound. r is a rest, s a space, + joins a chord, a dot after the value is a dot, ~ after a pitch ties it on.
`E4:2.5.4` gives string 2, fret 5, finger 4 as the source's marks; any of the three may be left empty, and a plucking
letter may follow: `E4:...m`.
A leading < makes a grace note; `3(` and `)` around events make a triplet,
"3(E4/8 F4/8 G4/8)"; > after the value accents.
"""

from __future__ import annotations

from fractions import Fraction

from engrave.model import Bar, Event, Given, Key, Metre, Note, Passage, Pitch, Tuplet, Value

_RATIOS = {3: 2, 5: 4, 6: 4, 7: 4, 9: 8}


def passage(
    *voices: str, metre: str = "4/4", fifths: int = 0, pickup: bool = False, title: str = "Test line"
) -> Passage:
    """A passage from one string a voice. Every bar is full, but for the first where `pickup` is set."""
    beats, unit = metre.split("/")
    time = Metre(beats=tuple(int(b) for b in beats.split("+")), unit=int(unit))
    first = [text.strip() for text in voices[0].split("|")]
    bars: list[Bar] = []
    events: list[Event] = []
    onset = Fraction(0)
    counter = [0]
    pending: dict[int, dict[int, bool]] = {voice: {} for voice in range(1, len(voices) + 1)}
    for index in range(len(first)):
        here: list[Event] = []
        length = time.length
        for voice, text in enumerate(voices, start=1):
            made = _voice(
                text.split("|")[index], bar=index, voice=voice, onset=onset, counter=counter, pending=pending[voice]
            )
            if pickup and index == 0 and voice == 1:
                length = sum((e.duration for e in made), Fraction(0))
            here += made
        number = index if pickup else index + 1
        bars.append(
            Bar(
                label=str(number),
                onset=onset,
                length=length,
                metre=time,
                key=Key(fifths=fifths),
                offset=time.length - length,
                barline="final" if index == len(first) - 1 else "single",
            )
        )
        events += sorted(here, key=lambda e: (e.onset, not e.grace, e.voice))
        onset += length
    return Passage(title=title, source="test", bars=tuple(bars), events=tuple(events))


def _voice(
    text: str, *, bar: int, voice: int, onset: Fraction, counter: list[int], pending: dict[int, bool]
) -> list[Event]:
    made: list[Event] = []
    tuplet: Tuplet | None = None
    for word in text.split():
        token = word
        if "(" in token:
            head, token = token.split("(")
            counter[0] += 1
            tuplet = Tuplet(id=counter[0], actual=int(head), normal=_RATIOS[int(head)])
        closes = token.endswith(")")
        token = token.rstrip(")")
        accent = token.endswith(">")
        token = token.rstrip(">")
        grace = token.startswith("<")
        what, _, length = token.lstrip("<").partition("/")
        value = Value(kind=int(length.rstrip(".")), dots=length.count("."))
        tuplets = (tuplet,) if tuplet else ()
        duration = Fraction(0) if grace else value.quarters
        for t in tuplets:
            duration *= Fraction(t.normal, t.actual)
        notes: list[Note] = []
        for name in () if what in ("r", "s") else what.split("+"):
            counter[0] += 1
            spelled, _, given = name.partition(":")
            ties = spelled.endswith("~")
            pitch = Pitch.parse(spelled.rstrip("~"))
            *places, letter = (given + "...").split(".")[:4]
            string, fret, finger = (int(x) if x else None for x in places)
            notes.append(
                Note(
                    id=f"n{counter[0]}",
                    pitch=pitch,
                    tied_on=ties,
                    tied_back=pending.pop(pitch.midi, False),
                    given=Given(string=string, fret=fret, finger=finger, pluck=letter),
                )
            )
            if ties:
                pending[pitch.midi] = True
        counter[0] += 1
        made.append(
            Event(
                id=f"e{counter[0]}",
                bar=bar,
                voice=voice,
                onset=onset,
                duration=duration,
                value=value,
                tuplets=tuplets,
                notes=tuple(sorted(notes, key=lambda n: n.pitch.midi)),
                grace=grace,
                space=what == "s",
                marks=("accent",) if accent else (),
            )
        )
        onset += duration
        if closes:
            tuplet = None
    return made
