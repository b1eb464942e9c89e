"""Why a page stands where it stands, in words for a player. Nothing is said that the counts do not show."""

from __future__ import annotations

from collections.abc import Sequence

from engrave import axes
from engrave.model import Load
from engrave.regimen.candidates import Candidate
from engrave.regimen.wanted import Want

_LESS = 0.05
"""share of its hand's work by which a finger must do less, or more, for that to be said"""
_FINGERS = {
    "p": "the thumb (p)",
    "i": "the index finger (i)",
    "m": "the middle finger (m)",
    "a": "the ring finger (a)",
    "c": "the little finger (c)",
}


def finger_words(name: str) -> str:
    """A finger as a reason names it."""
    return _FINGERS.get(name, f"fretting finger {name}")


def contrast(candidate: Candidate, before: Candidate | None) -> str:
    """How the page differs from the one before: which finger has less to do and which more, else what it works on."""
    parts = []
    tired = before.load.muscle if before else ""
    if before and tired and share(candidate.load, tired) < share(before.load, tired) - _LESS:
        parts.append(f"less for {finger_words(tired)}")
    now = candidate.load.muscle
    if now and (before is None or share(candidate.load, now) > share(before.load, now) + _LESS):
        parts.append(f"more for {finger_words(now)}")
    return f"For contrast: {', '.join(parts) or _work(candidate)}."


def share(load: Load, finger: str) -> float:
    """Share of its hand's strokes or frettings that a finger has."""
    counts = {str(name): n for name, n in (*load.strokes, *load.frettings)}
    hand = load.strokes if finger.isalpha() else load.frettings
    return counts.get(finger, 0) / (sum(n for _, n in hand) or 1)


def _work(candidate: Candidate) -> str:
    """The axes a page works on, as its heading names them."""
    titles = [
        known.title.lower()
        for known, setting in zip(axes.ORDER, axes.settings(candidate.study), strict=True)
        if setting.name != known.default
    ]
    return " and ".join([", ".join(titles[:-1]), titles[-1]] if titles[1:] else titles) or "the line itself"


def gists(order: Sequence[Candidate], wanted: Sequence[Want]) -> list[str]:
    """What each page of the regimen gives more of than any other, or alone; empty where nothing stands out."""
    alone: list[list[tuple[float, str]]] = [[] for _ in order]
    most: list[list[tuple[float, str]]] = [[] for _ in order]
    for want in wanted:
        if want.atom.kind == "work":
            continue
        # the first and second of the pages that have the most of it say all there is to say of the rest
        counts = sorted(((c.atoms.get(want.atom, 0), index) for index, c in enumerate(order)), reverse=True)
        (here, index), (others, _) = counts[0], counts[1] if counts[1:] else (0, 0)
        if here > others:
            worth = want.worth * min(1.0, here / max(1, want.often))
            (most if others else alone)[index].append((worth, want.atom.label))
    said = []
    for only, more in zip(alone, most, strict=True):
        if only:
            said.append(f"No other page here has {_best(only)}.")
        else:
            said.append(f"This page has the most of: {_best(more)}." if more and len(order) > 1 else "")
    return said


def _best(found: list[tuple[float, str]]) -> str:
    """The label that is worth most, the first of equals, with its particulars in brackets."""
    what, _, particulars = max(found, key=lambda pair: pair[0])[1].partition(", ")
    return f"{what} ({particulars})" if particulars else what
