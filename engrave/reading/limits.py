"""How much a file may ask of us, in one place. Nothing else in this room sets a bound of its own.

A file is held against these before the parser proper sees it, so that a small file cannot ask for hours or gigabytes.
`read` takes a Limits of your own where these do not fit; on the command line the user's environment sets them
(`limits_from`), never a file or a plan, which may come from strangers.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass, replace

from engrave.model import Fault, Passage, Place, PlanError


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Bounds of what is read. The defaults leave room for any score an engraver would print."""

    file_bytes: int = 64_000_000
    """size of any file as handed over"""
    archive_bytes: int = 16_000_000
    """size of a compressed MusicXML file as handed over"""
    unpacked_bytes: int = 64_000_000
    """size of what is unpacked from it"""
    archive_files: int = 500
    """files in it"""
    text_bytes: int = 2_000_000
    """size of a text tablature or an ABC tune"""
    depth: int = 40
    """XML elements inside one another; MusicXML itself needs about twelve"""
    elements: int = 1_000_000
    """XML elements in a file"""
    names: int = 1_000
    """different names of XML elements; MusicXML knows about four hundred"""
    attributes: int = 60
    """attributes of one XML element"""
    text: int = 20_000
    """characters of text in one XML element"""
    token_bytes: int = 1_000_000
    """size of a single tag or comment"""
    note_elements: int = 200
    """XML elements inside one note"""
    parts: int = 200
    """parts in a score"""
    bars: int = 400
    """bars that become one passage"""
    notes: int = 6_000
    """notes and rests that become one passage"""
    bar_notes: int = 1_000
    """notes, rests and jumps back and forward in one bar"""
    study_bars: int = 64
    """bars that become studies: a page of music for each variation, not a pamphlet"""
    study_notes: int = 1_000
    """notes that become studies"""
    directions: int = 2_000
    """words and other directions that become one passage"""
    voices: int = 8
    """voices of one passage"""
    bar_quarters: int = 128
    """length of one bar in quarters"""
    divisions: int = 1_000_000
    """parts a quarter may be divided into by the file"""
    tuplet: int = 64
    """notes of a tuplet"""
    tuplet_depth: int = 5
    """tuplets inside one another"""
    faults: int = 20
    """faults told of one file"""
    words: int = 300
    """characters of a title or of printed words"""
    inside_bytes: int = 16_000_000
    """size of a file inside a book's PDF, unpacked"""
    inside_files: int = 400
    """files inside a book's PDF"""


LIMITS = Limits()
"""the bounds in force where nothing else is said"""
VARIABLE = "ENGRAVE_LIMITS"
"""the environment variable that changes them, such as ENGRAVE_LIMITS="bars=800,notes=20000\""""
SETTABLE = (
    *("file_bytes", "archive_bytes", "unpacked_bytes", "text_bytes", "elements"),
    *("parts", "voices", "bars", "notes", "bar_notes", "directions", "study_bars", "study_notes"),
)
"""the bounds a user may move; the others are far beyond what a score can need"""
_MOST = 1_000_000_000


def limits_from(text: str) -> Limits:
    """The bounds that `text` asks for: `name=number` with commas between; the others as usual.

    Raises PlanError with every fault: a name that is not in SETTABLE, a number that is not one from 1 to 10^9.
    """
    faults: list[Fault] = []
    found: dict[str, int] = {}
    for part in filter(None, (part.strip() for part in text.split(","))):
        name, _, number = (side.strip() for side in part.partition("="))
        if name not in SETTABLE:
            near = difflib.get_close_matches(name[:40], SETTABLE, n=1)
            hint = f"did you mean {near[0]}?" if near else f"limits: {', '.join(SETTABLE)}"
            faults.append(Fault(place=Place(file=VARIABLE), fact=f"{name[:40]!r} is not a limit", hint=hint))
        elif not (number.isascii() and number.isdigit() and len(number) <= 10 and 1 <= int(number) <= _MOST):
            fact = f"{name} {number[:40]!r} is not a whole number from 1 to {_MOST:,}"
            faults.append(Fault(place=Place(file=VARIABLE), fact=fact, hint=f"such as {name}={getattr(LIMITS, name)}"))
        else:
            found[name] = int(number)
    if faults:
        raise PlanError(*faults)
    return replace(LIMITS, **found)


def allow(name: str, number: int) -> str:
    """How a user moves a bound, for the hint of a message."""
    return f"{VARIABLE}={name}={number} allows more"


def hold_to_studies(passage: Passage, limits: Limits) -> None:
    """Refuse a passage too long to be practised in many ways, before hours go into its pages.

    Raises PlanError naming the bars there are.
    """
    bars, notes = len(passage.bars), sum(1 for _ in passage.notes)
    if bars > limits.study_bars:
        fact, allowed = f"{bars} bars, the limit for studies is {limits.study_bars}", allow("study_bars", bars)
    elif notes > limits.study_notes:
        fact, allowed = f"{notes:,} notes, the limit for studies is {limits.study_notes:,}", allow("study_notes", notes)
    else:
        return
    first, last = passage.bars[0].label, passage.bars[min(16, limits.study_bars, bars) - 1].label
    some = first if first == last else f"{first}-{last}"
    raise PlanError.at(passage.source, fact, f"choose the bars to practise, e.g. --bars {some}; {allowed}")
