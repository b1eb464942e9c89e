"""Notes, chords, rests, grace notes and decorations of an ABC tune.

After the ABC 2.1 standard, section 4. Accidentals hold for their letter in every octave until the bar line (section
11.3; %%propagate-accidentals may say otherwise), and on over a tie.
"""

from __future__ import annotations

import re
from fractions import Fraction

from engrave.model.said import say, strung
from engrave.reading.abc.fields import SIGNS
from engrave.reading.abc.tune import Scan, TuneHead, TuneNote, Voice, close_bar
from engrave.reading.limits import allow

NOTE = re.compile(r"(\^\^|\^|=|__|_)?([A-Ga-g])([,']*)")
_LENGTH = re.compile(r"(\d*)(/*)(\d*)", re.ASCII)
_OLD_CHORD = re.compile(r"(?:(?:\^\^|\^|=|__|_)?[A-Ga-g][,']*\d{0,3}/*\d{0,3}){1,12}", re.ASCII)
"""a chord as ABC 1.6 wrote it, +ceg+"""
_MARKS = {
    "accent": "accent",
    ">": "accent",
    "emphasis": "accent",
    "L": "accent",
    "^": "marcato",
    "marcato": "marcato",
    "fermata": "fermata",
    "H": "fermata",
    "tenuto": "tenuto",
    "arpeggio": "arpeggio",
    ".": "staccato",
    "staccato": "staccato",
}


def _length(scan: Scan, text: str, at: int, line: int) -> tuple[Fraction, int]:
    """A length such as 3/2 or //, as a factor of the unit, and the place after it."""
    match = _LENGTH.match(text, at)
    if match is None:
        return Fraction(1), at
    above, slashes, below = match[1], match[2], match[3]
    end = match.end() if slashes else match.end(1)
    bottom = (int(below[:5]) if below else 2 ** len(slashes[:9])) if slashes else 1
    top = int(above[:5]) if above else 1
    if not 0 < top <= 999 or not 0 < bottom <= 512 or len(slashes) > 8:
        scan.fault(f"column {at + 1}: the length {match[0][:12]} cannot be written", "1/512 to 999 is the range", line)
        return Fraction(1), end
    return Fraction(top, bottom), end


def _head(scan: Scan, voice: Voice, match: re.Match[str]) -> TuneHead:
    """A head from accidental, letter and octave marks."""
    letter = match[2]
    octave = (5 if letter.islower() else 4) - match[3].count(",") + match[3].count("'")
    octave = max(-1, min(9, octave))
    step, sign = letter.upper(), SIGNS.get(match[1] or "")
    key = (step, octave if scan.propagate == "octave" else 0)
    if sign is not None:
        if scan.propagate != "not":
            voice.held[key] = sign
        alter = sign
    else:
        tied = voice.tied.get((step, octave))
        alter = voice.held.get(key, tied if tied is not None else dict(voice.signature.alters).get(step, 0))
    return TuneHead(step=step, octave=octave, alter=alter)


def note(scan: Scan, voice: Voice, text: str, at: int, line: int, *, grace: bool = False) -> int:
    """A note or chord with its length."""
    heads: list[TuneHead] = []
    factor = Fraction(1)
    start = at
    if text[at] == "[":
        close = text.find("]", at)
        if close < 0:
            scan.fault(f"column {at + 1}: a chord that does not end", "close it with ]", line)
            return len(text)
        at += 1
        first, before, voice.wanted = True, voice.wanted, []
        while at < close:
            match = NOTE.match(text, at)
            if match:
                heads.append(_head(scan, voice, match))
                inner, at = _length(scan, text, match.end(), line)
                factor, first = (inner, False) if first else (factor, False)
                _fingers(scan, voice, heads[-1:])
            elif text[at] in '!+"':
                at = quoted(scan, voice, text, at, line)
            elif text[at] == "-" and heads:
                heads[-1].tie = True
                at += 1
            else:
                if not text[at].isspace():
                    scan.fault(f"column {at + 1}: {text[at]!r} inside a chord", "a chord holds notes only", line)
                at += 1
        voice.wanted = before + voice.wanted
        outer, at = _length(scan, text, close + 1, line)
        factor *= outer
    else:
        match = NOTE.match(text, at)
        if match is None:
            scan.fault(f"column {at + 1}: an accidental or [ without a note", "write ^c, _B or [ceg]", line)
            return at + 1
        heads.append(_head(scan, voice, match))
        factor, at = _length(scan, text, match.end(), line)
    if not heads:
        scan.fault(f"column {start + 1}: an empty chord", "write [ceg]", line)
        return at
    _add(scan, voice, TuneNote(heads=heads, length=voice.unit * factor, grace=grace), line)
    return at


def _add(scan: Scan, voice: Voice, item: TuneNote, line: int) -> None:
    """Put an item into the bar, with all that was said before it."""
    if any(item.whole or other.whole for lane in voice.lanes for other in lane):
        scan.fault("a rest of whole bars (Z) with notes in its bar", "put a bar line beside it", line)
    scan.notes += max(1, len(item.heads))
    if not item.grace:
        if voice.broken is not None:
            item.length *= voice.broken
            voice.broken = None
        if voice.tuplet:
            number, actual, normal, left = voice.tuplet
            item.tuplet = (number, actual, normal)
            voice.tuplet = [number, actual, normal, left - 1] if left > 1 else []
        item.opens, voice.opens = voice.opens, 0
        for head in item.heads:
            voice.tied.pop((head.step, head.octave), None)
    _fingers(scan, voice, item.heads)
    for name in voice.wanted:
        if name in _MARKS and item.heads:
            item.marks.append(_MARKS[name])
        else:
            scan.leave(strung([f"!{name[:20]}!"]))
    voice.wanted = []
    for head in item.heads:
        if head.tie:
            voice.tied[head.step, head.octave] = head.alter
    voice.lanes[-1].append(item)


def _fingers(scan: Scan, voice: Voice, heads: list[TuneHead]) -> None:
    """Give the fretting digits among the decorations to their heads."""
    digits = [name for name in voice.wanted if name in ("0", "1", "2", "3", "4", "open")]
    if not digits or not heads:
        return
    bare = [head for head in heads if head.finger is None]
    if len(digits) > len(bare):
        scan.leave(say("fretting digits without a note of their own"))
    for head, digit in zip(bare, digits, strict=False):
        head.finger = 0 if digit == "open" else int(digit)
    voice.wanted = [name for name in voice.wanted if name not in digits]


def rest(scan: Scan, voice: Voice, text: str, at: int, line: int) -> int:
    """z, x (not printed), Z and X (bars)."""
    sign = text[at]
    factor, end = _length(scan, text, at + 1, line)
    if sign in "zx":
        _add(scan, voice, TuneNote(heads=[], length=voice.unit * factor, space=sign == "x"), line)
        return end
    count = int(factor) if factor.denominator == 1 else 1
    if count > scan.limits.bars:
        fact = f"column {at + 1}: {count} bars of rest, the limit is {scan.limits.bars}"
        scan.fault(fact, "write fewer" if count > 10_000 else allow("bars", count), line)
        return end
    for number in range(count):
        if number:
            close_bar(voice, line)
        _add(scan, voice, TuneNote(heads=[], length=Fraction(0), space=sign == "X", whole=True), line)
    return end


def graces(scan: Scan, voice: Voice, text: str, at: int, line: int) -> int:
    """Grace notes in braces."""
    close = text.find("}", at)
    if close < 0:
        scan.fault(f"column {at + 1}: grace notes that do not end", "close them with }", line)
        return len(text)
    at += 1
    slash = text[at : at + 1] == "/"
    first = len(voice.lanes[-1])
    while at < close:
        if NOTE.match(text, at) or text[at] == "[":
            at = note(scan, voice, text, at, line, grace=True)
        else:
            if text[at] not in "/ ()-":
                scan.fault(f"column {at + 1}: {text[at]!r} among grace notes", "braces hold notes only", line)
            at += 1
    for item in voice.lanes[-1][first:]:
        item.slash = slash
    return close + 1


def quoted(scan: Scan, voice: Voice, text: str, at: int, line: int) -> int:
    """A decoration in ! ! or + +, or words in quotes."""
    sign = text[at]
    close = text.find(sign, at + 1)
    if close < 0:
        if sign == '"':
            scan.fault(f"column {at + 1}: words that do not end", 'close them with "', line)
            return len(text)
        return at + 1
    inside = text[at + 1 : close]
    if sign == "+" and _OLD_CHORD.fullmatch(inside):
        note(scan, voice, f"[{inside}]", 0, line)
    elif sign == '"':
        above = inside[:1] in ("^", "_", "<", ">", "@")
        scan.leave(say("words above the staff") if above else say("chord symbols"))
    elif len(inside) > 30 or not inside or " " in inside:
        return at + 1
    else:
        voice.wanted.append(inside)
    return close + 1
