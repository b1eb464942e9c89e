"""What the plain staff still needs before anything is laid over it: rests and beams that run into other voices.

Verovio places each rest by its voice and each beam by its notes; where several voices share a staff, a rest can land on
a head, a beam on an accidental. Here beams give way by longer stems, rests by whole spaces away from the others, and
dots by moving out from under a flag.
"""

from __future__ import annotations

from collections.abc import Mapping

from engrave.model.outlines import slices
from engrave.plates.draft import Draft, Field, Ink

BEAM_ROOM = 0.15
REST_ROOM = 0.12


def settle(draft: Draft, found: list[Ink], voices: Mapping[str, int]) -> None:
    """Put a system's plain ink on the draft; `voices` gives the voice of each event."""
    loose = {ink.owner for ink in found if ink.role == "rest"}
    beams: dict[int, list[Ink]] = {}
    for ink in found:
        if ink.beam and ink.role in ("beam", "stem"):
            beams.setdefault(ink.beam, []).append(ink)
    signs = _field(found, "accidental")
    for group in beams.values():
        _lift(draft, group, signs)
    _part_dots(draft, found)
    rests: dict[str, list[Ink]] = {}
    for ink in found:
        if ink.owner in loose and ink.role in ("rest", "dot"):
            rests.setdefault(ink.owner, []).append(ink)
        else:
            ink.text = ""
            draft.add(ink)
    several = len(set(voices.values())) > 1
    for name, parts in rests.items():
        _place_rest(draft, parts, up=voices[name] == 1, movable=several)
        draft.rests[name] = next(ink.boxes[0] for ink in parts if ink.role == "rest")


def _field(found: list[Ink], role: str) -> Field:
    """The ink of one role by itself."""
    made = Field()
    for ink in found:
        if ink.role == role:
            made.add(ink.boxes, role, ink.owner)
    return made


def _lift(draft: Draft, group: list[Ink], signs: Field) -> None:
    """Move a beam away from its heads until no accidental touches it, its stems growing with it."""
    stems = [ink for ink in group if ink.role == "stem" and ink.text]
    bars = [ink for ink in group if ink.role == "beam"]
    if not stems or not bars:
        return
    up = [draft.stems[stem.text].up for stem in stems]
    if len(set(up)) > 1:
        return
    boxes = [box for ink in bars for box in ink.boxes]
    around = (boxes[0][0], min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))
    if signs.free(around, BEAM_ROOM):
        return
    step = -0.25 if up[0] else 0.25
    for _ in range(8):
        if all(signs.free(box, BEAM_ROOM) for ink in bars for box in ink.boxes):
            break
        for ink in bars:
            draft.shift(ink, step)
        for ink in stems:
            stem = draft.stems[ink.text]
            stem.tip += step
            ink.path = (("M", (stem.x, stem.head)), ("L", (stem.x, stem.tip)))
            ink.boxes = slices(ink.path, pen=ink.pen)


def _part_dots(draft: Draft, found: list[Ink]) -> None:
    """Move dots right until they are clear of a flag that curls down to them, all dots of one owner alike."""
    flags = _field(found, "flag")
    dots: dict[str, list[Ink]] = {}
    for ink in found:
        if ink.role == "dot":
            dots.setdefault(ink.owner, []).append(ink)
    for group in dots.values():
        for _ in range(10):
            if all(flags.free(box, 0.1) for ink in group for box in ink.boxes):
                break
            for ink in group:
                draft.shift(ink, 0.0, 0.12)


def _place_rest(draft: Draft, parts: list[Ink], *, up: bool, movable: bool) -> None:
    """Put a rest and its dots down, moved by whole spaces to where they are free: its own way first, then the other."""
    boxes = [box for ink in parts for box in ink.boxes]
    ways = [k * (-1 if up else 1) for k in (0, 1, 2, 3, 4, -1, -2, 5, 6, -3)] if movable else [0]
    for dy in ways:
        if all(draft.taken.free((a, b + dy, c, d + dy), REST_ROOM) for a, b, c, d in boxes):
            break
    else:
        dy = 0
    for ink in parts:
        draft.shift(ink, dy)
        draft.add(ink)
