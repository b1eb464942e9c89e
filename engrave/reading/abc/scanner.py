"""The body of an ABC tune, taken apart sign by sign; after the ABC 2.1 standard, section 4."""

from __future__ import annotations

import re
from fractions import Fraction

from engrave.model.said import say
from engrave.reading.abc import fields
from engrave.reading.abc.fields import Sounding
from engrave.reading.abc.notation import NOTE, graces, note, quoted, rest
from engrave.reading.abc.tune import MOST_FAULTS, Scan, Voice, close_bar

_TUPLET = re.compile(r"\((\d)(?::(\d*))?(?::(\d*))?", re.ASCII)
_BAR = re.compile(r"\[\|\]|[:.]*\|+[\]:|]*|\[\|+:*|::+|\|\]")
_ENDING = re.compile(r'\[?\s*((?:\d{1,2}[,-]?)+|"[^"]{0,40}")', re.ASCII)
_FIELD = re.compile(r"\[([A-Za-z]):([^\]\n]*)\]")
_LETTERS = {
    "T": "trill",
    "M": "mordent",
    "P": "mordent",
    "O": "coda",
    "S": "segno",
    "u": "upbow",
    "v": "downbow",
    "~": "roll",
    "H": "H",
    "L": "L",
    ".": ".",
}
_SILENT = {
    "w": say("words"),
    "W": say("words"),
    "s": say("lines of symbols (s:)"),
    "Q": say("changes of tempo"),
    "P": say("part names"),
    "m": say("macros (m:)"),
}


def music_line(scan: Scan, text: str, line: int) -> None:
    """Read one line of music into the current voice."""
    at = 0
    while at < len(text):
        if len(scan.faults) >= MOST_FAULTS or scan.notes > scan.limits.notes:
            return
        at = _step(scan, text, at, line)


def _step(scan: Scan, text: str, at: int, line: int) -> int:
    """Read what stands at `at`; the place after it."""
    voice = scan.current
    if voice is None:
        return len(text)
    sign = text[at]
    inline = _FIELD.match(text, at)
    if inline:
        body_field(scan, inline[1], inline[2].strip(), line)
        return inline.end()
    bar = _BAR.match(text, at)
    if bar:
        return _bar(voice, text, bar, line)
    if sign == "[" and (ending := _ENDING.match(text, at)) and not NOTE.match(text, at + 1):
        voice.ending = ending[1].strip('",-')
        return ending.end()
    if sign in "[^=_ABCDEFGabcdefg":
        return note(scan, voice, text, at, line)
    if sign in "zxZX":
        return rest(scan, voice, text, at, line)
    if sign == "{":
        return graces(scan, voice, text, at, line)
    if sign in '!+"':
        return quoted(scan, voice, text, at, line)
    return _sign(scan, voice, text, at, line)


def _sign(scan: Scan, voice: Voice, text: str, at: int, line: int) -> int:
    """Slurs, tuplets, ties, broken rhythms and single-letter decorations."""
    sign = text[at]
    last = voice.lanes[-1][-1] if voice.lanes[-1] else None
    tuplet = _TUPLET.match(text, at)
    if tuplet:
        _tuplet(scan, voice, tuplet, line)
        return tuplet.end()
    if sign in "<>":
        return _broken(scan, voice, text, at, line)
    if sign == "(":
        voice.opens += 1
    elif sign == ")" and last is not None:
        last.closes += 1
    elif sign == "-" and last is not None:
        for head in last.heads:
            head.tie = True
            voice.tied[head.step, head.octave] = head.alter
    elif sign == ":" and not any(voice.lanes):
        voice.repeat_start = True
    elif sign == "&":
        voice.lanes.append([])
        voice.held = {}
    elif sign == "." and text[at + 1 : at + 2] in ("(", "-"):
        scan.leave(say("the dots of a dotted slur or tie"))
    elif sign in _LETTERS:
        voice.wanted.append(_LETTERS[sign])
    elif sign.isascii() and sign.isalpha() and sign != "y":
        scan.leave(say("the sign {sign}", sign=sign))
    elif not sign.isspace() and sign not in "y)-`*;?@$\\":
        scan.fault(f"column {at + 1}: {sign!r} is not a sign of ABC music", "see ABC 2.1, section 4", line)
    return at + 1


def body_field(scan: Scan, name: str, value: str, line: int) -> None:
    """A field inside the tune: K, M, L and V change what follows."""
    try:
        if name == "V":
            choose_voice(scan, value)
        elif scan.current is None:
            return
        elif name == "K":
            scan.current.signature = fields.signature(value)
            scan.current.held = {}
        elif name == "M":
            scan.current.metre = fields.metre(value)
        elif name == "L":
            scan.current.unit = fields.unit(value)
        elif name in _SILENT:
            scan.leave(_SILENT[name])
    except ValueError as error:
        scan.fault(f"{name}:{value[:40]} is not {error}", "", line)


def choose_voice(scan: Scan, value: str) -> None:
    """Go on with the voice a V: field names, which may be new."""
    name = (value.split() or ["1"])[0]
    first = next(iter(scan.voices.values()))
    if name not in scan.voices:
        if not first.name and (name == "1" or not (first.bars or any(first.lanes))):
            first.name = name
            scan.voices = {name: first}
        elif len(scan.voices) >= scan.limits.voices:
            raise ValueError(f"read: {scan.limits.voices} voices are the limit")
        else:
            scan.voices[name] = Voice(name, first.sound, first.unit, first.metre, first.signature)
    voice = scan.voices[name]
    told = fields.sound(value.partition(" ")[2])
    if told != Sounding():
        voice.sound = told
    scan.current = voice


def _bar(voice: Voice, text: str, match: re.Match[str], line: int) -> int:
    """A bar line closes the bar, if there is anything in it."""
    sign = match[0]
    end = match.end()
    ends = sign.startswith(":") and sign != ":"
    starts = sign.endswith(":")
    filled = any(voice.lanes)
    line_kind = "final" if "|]" in sign else "double" if "||" in sign and not ends else "single"
    line_kind = "invisible" if sign == "[|]" else "dotted" if sign == ".|" else line_kind
    if filled:
        close_bar(voice, line)
        voice.bars[-1].barline = line_kind
        voice.bars[-1].repeat_end = ends
    elif voice.bars and ends:
        voice.bars[-1].repeat_end = True
    if ends or starts or line_kind in ("double", "final"):
        voice.ending = ""
    voice.repeat_start = voice.repeat_start or starts
    ending = _ENDING.match(text, end)
    if ending and (text[end] == "[" or text[end].isdigit()) and not (text[end] == "[" and NOTE.match(text, end + 1)):
        voice.ending = ending[1].strip('",-')
        end = ending.end()
    return end


def _broken(scan: Scan, voice: Voice, text: str, at: int, line: int) -> int:
    """> and <: the note before is lengthened by what the next one loses, or the other way round."""
    end = at
    while end < len(text) and text[end] == text[at]:
        end += 1
    last = next((item for item in reversed(voice.lanes[-1]) if not item.grace), None)
    if last is None or end - at > 3:
        scan.fault(f"column {at + 1}: {text[at:end][:8]!r} stands between no two notes", "write it as in a>b", line)
        return end
    short = Fraction(1, 2 ** (end - at))
    long = 2 - short
    before, after = (long, short) if text[at] == ">" else (short, long)
    last.length *= before
    voice.broken = after
    return end


def _tuplet(scan: Scan, voice: Voice, match: re.Match[str], line: int) -> None:
    """(p:q:r as in section 4.13: p notes in the time of q, for the next r notes."""
    actual = int(match[1])
    time = voice.metre
    compound = time is not None and time.beat != Fraction(4, time.unit)
    usual = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}.get(actual, 3 if compound else 2)
    normal = int(match[2][:4]) if match[2] else usual
    count = int(match[3][:4]) if match[3] else actual
    if actual < 2 or not 0 < normal <= scan.limits.tuplet or not 0 < count <= scan.limits.bar_notes:
        scan.fault(f"{match[0][:20]} is not a tuplet", "such as (3abc, or (5:4:5abcde", line)
        return
    voice.tuplets += 1
    voice.tuplet = [voice.tuplets, actual, normal, count]
