"""ABC 2.1 tunes (abcnotation.com/wiki/abc:standard:v2.1).

The text is taken apart here, since music21's reader loses fretting digits, ties of chords, invisible rests and variant
endings.

Decisions:
- Of several tunes the first is read.
- `!0!` to `!4!` and `!open!` are fretting digits; before a chord they go to its heads as they are typed.
- ABC's C is middle C. A voice on a clef with -8 or +8, or with octave= or transpose= by whole octaves, sounds as that
  says, and so does one on a bass or C clef. Where nothing says so, the tune is read as guitarists read a treble clef,
  an octave lower than written, unless that leads below the open sixth string. A notice says which.
- Voices (V:) and overlays (&) become voices. Repeats and endings are kept. Words, chord symbols, ornaments and the rest
  are left out with a notice.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from functools import partial
from typing import TypeVar

from engrave.instruments import find_instrument
from engrave.model import Notice, Passage, ReadError
from engrave.model.errors import one_line
from engrave.model.said import Said, say, say_count
from engrave.reading.abc import fields
from engrave.reading.abc.fields import Signature
from engrave.reading.abc.scanner import body_field, choose_voice, music_line
from engrave.reading.abc.to_bars import bars_of
from engrave.reading.abc.tune import Scan, Voice, close_bar
from engrave.reading.cut import REPEATS
from engrave.reading.from_bars import passage_from_bars
from engrave.reading.limits import LIMITS, Limits, allow
from engrave.reading.octave import AN_OCTAVE_LOWER, TOO_LOW
from engrave.reading.source_bars import Extras

_Value = TypeVar("_Value")
_FIELD = re.compile(r"\s{0,3}([A-Za-z+]):(?![|:])(.*)\Z")
_PROPAGATE = re.compile(r"(?:%%|I:)\s*propagate-accidentals\s+(not|octave|pitch)")
_COMMENT = re.compile(r"(?<!\\)%.*")


def read_abc(text: str, name: str, limits: Limits = LIMITS) -> Passage:
    """The first tune of an ABC file; `name` is the file's name for messages. Raises ReadError with every fault."""
    lines = [line.strip("\ufeff") for line in re.split(r"\r\n|[\n\r\x0b\x0c\x85\u2028\u2029]", text)]
    common, first, last, others = _tune(lines)
    scan = Scan(name, limits)
    _read(scan, [*((number, lines[number]) for number in common), *enumerate(lines[first:last], start=first)])
    for voice in scan.voices.values():
        if any(voice.lanes):
            close_bar(voice, last)
    _check(scan)
    if scan.faults:
        raise ReadError(*scan.faults)
    octaves, said = _octaves(scan)
    bars, slurs = bars_of(scan, octaves)
    if others:
        said.insert(
            0, Notice(text=say("the first of {tunes} tunes is read; the others are left out", tunes=others + 1))
        )
    if any(bar.repeat_start or bar.repeat_end or bar.ending for bar in bars):
        said.append(Notice(text=REPEATS))
    said += [Notice(text=_left_out(what, count)) for what, count in scan.left_out.items()]
    extras = Extras(
        slurs=tuple(slurs),
        title=scan.title,
        composer=scan.composer,
        tempo=scan.tempo,
        notices=tuple(said),
    )
    return passage_from_bars(bars, name, extras)


def _left_out(what: Said, count: int) -> Said:
    """What is left out, and how often."""
    if count == 1:
        return say("left out: {what}", what=what)
    return say_count("left out: {what}, {n} time", "left out: {what}, {n} times", count, what=what)


def _tune(lines: list[str]) -> tuple[list[int], int, int, int]:
    """(lines of the file header, first and last line of the first tune, how many tunes follow)."""
    starts = [number for number, line in enumerate(lines) if re.match(r"\s*X:", line)]
    if not starts:
        return [], 0, len(lines), 0
    first = starts[0]
    stop = starts[1] if len(starts) > 1 else len(lines)
    key = next((number for number in range(first, stop) if re.match(r"\s*K:", lines[number])), stop)
    stop = next((number for number in range(key, stop) if not lines[number].strip()), stop)
    common = [number for number in range(first) if _FIELD.match(lines[number]) and lines[number].lstrip()[0] in "CLMQI"]
    return common, first, stop, len(starts) - 1


def _read(scan: Scan, lines: list[tuple[int, str]]) -> None:
    """Read header and body."""
    head: dict[str, tuple[str, int]] = {}
    for number, line in lines:
        said = _PROPAGATE.match(line.strip())
        if said:
            scan.propagate = said[1]
        bare = _COMMENT.sub("", line).rstrip()
        match = _FIELD.match(bare)
        if not bare.strip():
            continue
        if match and scan.current is None:
            key, value = match[1], match[2].strip()
            if key not in head or key not in "TC":
                head[key] = (value, number + 1)
            if key == "K":
                _begin(scan, head)
        elif match:
            body_field(scan, match[1], match[2].strip(), number + 1)
        elif scan.current is not None:
            music_line(scan, bare, number + 1)
    if scan.current is None:
        scan.fault("no key (K:) is given, so the tune does not begin", "add a line such as K:C", 1)


def _begin(scan: Scan, head: dict[str, tuple[str, int]]) -> None:
    """The key ends the header: set up the first voice."""
    signature = _header_field(scan, head, "K", fields.signature, Signature())
    metre = _header_field(scan, head, "M", fields.metre, None)
    unit = _header_field(scan, head, "L", fields.unit, fields.default_unit(metre))
    scan.tempo = _header_field(scan, head, "Q", partial(fields.tempo, unit_length=unit), None)
    scan.title, scan.composer = (one_line(head.get(letter, ("", 0))[0], scan.limits.words) for letter in "TC")
    if not signature.exact:
        scan.leave(say("the signs of a key of its own, which stand before their notes instead"))
    scan.voices[""] = scan.current = Voice("", fields.sound(head["K"][0]), unit, metre, signature)
    _header_field(scan, head, "V", partial(choose_voice, scan), None)


def _header_field(
    scan: Scan, head: dict[str, tuple[str, int]], letter: str, read: Callable[[str], _Value], usual: _Value
) -> _Value:
    """What a field of the header says; `usual` where it is not there, or wrong, which is told."""
    value, line = head.get(letter, ("", 0))
    try:
        return read(value) if line else usual
    except ValueError as error:
        scan.fault(f"{letter}:{value[:40]} is not {error}", "", line)
        return usual


def _check(scan: Scan) -> None:
    """Hold what was read against the limits."""
    bars = max((len(voice.bars) for voice in scan.voices.values()), default=0)
    scan.voices = {name: voice for name, voice in scan.voices.items() if voice.bars}
    limits = scan.limits
    advice = "give the bars to practise in a file of their own"
    if scan.notes > limits.notes:
        allowed = allow("notes", 2 * limits.notes)
        scan.fault(f"more than {limits.notes} notes and rests", f"{advice}; {allowed}", 1)
    if bars > limits.bars:
        scan.fault(f"{bars} bars, the limit is {limits.bars}", f"{advice}; {allow('bars', bars)}", 1)
    if not any(item.heads and not item.grace for item in scan.items) and not scan.faults:
        scan.fault("the tune has no notes", "notes are letters A to G and a to g below the K: line", 1)
    for voice in scan.voices.values():
        for bar in voice.bars:
            length = sum((item.length for lane in bar.lanes for item in lane), Fraction(0))
            if length > limits.bar_quarters:
                scan.fault(
                    f"a bar lasts {length} quarters, the limit is {limits.bar_quarters}", "add bar lines", bar.line
                )


def _unmoved(odd: int, voice: str) -> Said:
    """Tells that a transposition by other than octaves is not followed, of the whole or of a voice."""
    if not voice:
        return say_count(
            "left out: a transposition by {by} semitone",
            "left out: a transposition by {by} semitones",
            abs(odd),
            by=odd,
        )
    return say_count(
        "left out: a transposition by {by} semitone of voice {voice}",
        "left out: a transposition by {by} semitones of voice {voice}",
        abs(odd),
        by=odd,
        voice=voice,
    )


def _octaves(scan: Scan) -> tuple[dict[str, int], list[Notice]]:
    """Octaves by which each voice sounds off its letters, and what to say about them."""
    told = {name: voice.sound for name, voice in scan.voices.items()}
    said: list[Notice] = []
    for name, sound in told.items():
        said += [
            Notice(text=say("left out, as it cannot be read: {word}", word=one_line(word, 40))) for word in sound.unread
        ]
        if sound.odd:
            said.append(Notice(text=_unmoved(sound.odd, name)))
    moved = {name: sound.octaves or 0 for name, sound in told.items()}
    if any(sound.octaves is not None or sound.low for sound in told.values()):
        return moved, said
    lowest = min(head.pitch.midi for item in scan.items for head in item.heads)
    if lowest - 12 >= find_instrument("standard").strings[-1].midi:
        said.append(Notice(text=AN_OCTAVE_LOWER))
        return dict.fromkeys(moved, -1), said
    said.append(Notice(text=TOO_LOW))
    return moved, said
