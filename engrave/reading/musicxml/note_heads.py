"""What one <note> of MusicXML writes: its pitch as it sounds, its value, its tuplet; and what is no note for us."""

from __future__ import annotations

from fractions import Fraction
from xml.etree.ElementTree import Element

from engrave.model import Fault, Pitch, Value
from engrave.model.errors import one_line
from engrave.model.said import Said, say
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.musicxml.timed_notes import TYPES
from engrave.reading.musicxml.transposition import Transposition
from engrave.reading.numbers import decimal, whole

_SIGNS = {"sharp": 1, "flat": -1, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2}
_MOST_SIGNS = 3
"""semitones a step may be altered by; a third one is respelled"""


def passed_over(found: Element) -> Said | None:
    """Why a <note> with a pitch or a percussion stroke is not read, for a notice; None where it is, or is a rest."""
    if found.find("unpitched") is not None:
        return say("left out: percussion notes without a pitch")
    if found.find("pitch") is None:
        return None
    if found.find("cue") is not None:
        return say("left out: cue notes")
    return say("left out: notes the source hides") if found.get("print-object") == "no" else None


def sign_counts(found: Element) -> bool:
    """Whether a printed sign must be counted into the pitch, since the file gives no alteration."""
    sign = (found.findtext("accidental") or "").strip()
    return sign in _SIGNS and found.find("pitch") is not None and found.find("pitch/alter") is None


def sounding(found: Element, move: Transposition, respell: int) -> Pitch | Fault:
    """The sounding pitch of a <note>, `respell` staff steps away from its written spelling."""
    step = (found.findtext("pitch/step") or "").strip()
    octave = whole(found.findtext("pitch/octave"), -2, 12)
    alter = decimal(found.findtext("pitch/alter") or "0")
    if sign_counts(found):
        alter = Fraction(_SIGNS[(found.findtext("accidental") or "").strip()])
    if step not in tuple("ABCDEFG") or octave is None or alter is None:
        said = " ".join(one_line(part.text or "", 20) for part in found.findall("pitch/*"))
        return Fault(fact=f"a pitch of {said!r} is not a step A to G with an octave", hint="save the score again")
    if alter.denominator != 1:
        fact = f"{step}{octave} is altered by {float(alter):g} semitones, which no fret plays"
        return Fault(fact=fact, hint="write whole semitones")
    if abs(alter) > _MOST_SIGNS:
        fact = f"{step}{octave} is altered by {alter} semitones, the limit is {_MOST_SIGNS}"
        return Fault(fact=fact, hint="check its <alter>")
    pitch = move.pitch(step, int(alter), octave, respell)
    if not 0 <= pitch.midi <= 127:
        return Fault(fact=f"the pitch {pitch} is outside what MIDI counts (0 to 127)", hint="check its <octave>")
    return pitch


def value_of(found: Element) -> Value | None:
    """The written value of a <note>; None where it has none or none that we can print."""
    kind = TYPES.get((found.findtext("type") or "").strip())
    dots = len(found.findall("dot"))
    return Value(kind=kind, dots=dots) if kind is not None and dots <= 4 else None


def ratio_of(found: Element, limits: Limits = LIMITS) -> tuple[int, int] | Fault:
    """Notes played, in the time of so many; (1, 1) outside tuplets."""
    changed = found.find("time-modification")
    if changed is None:
        return (1, 1)
    figures = [changed.findtext(tag) for tag in ("actual-notes", "normal-notes")]
    actual, normal = (whole(figure, 1, limits.tuplet) for figure in figures)
    if actual is None or normal is None:
        said = ":".join(one_line(figure or "", 12) for figure in figures)
        return Fault(fact=f"a tuplet of {said} is outside 1 to {limits.tuplet}", hint="write the tuplet anew")
    return (actual, normal) if actual != normal else (1, 1)
