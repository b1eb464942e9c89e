"""What every variation keeps, whatever was asked: the laws a printed page stands on, stated once and checked apart.

Nothing here is used to make a variation; `check` only looks. The slur rules are common practice: one string; a
hammer-on rises in fret and finger; a pull-off falls in fret, and to a stopped note in finger too; a slide is one
finger; nothing sounds on the string between; the first note still sounds when the second comes.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from engrave.axes.chord_shapes import shape_fault
from engrave.model import PLUCKING, Note, Passage, Variation
from engrave.model.hand_signs import barre_marks, position_marks
from engrave.model.texture import LINE
from engrave.textures import kind_of
from engrave.textures.onsets import OnsetGroup, heads, held, onset_groups, sounding_end


def check(variation: Variation) -> tuple[str, ...]:
    """Every law broken, a line each; empty for a sound variation. Raises nothing."""
    missing = tuple(f"{n.id} {n.pitch}: has no placement" for n in variation.passage.notes if n.placement is None)
    if missing:
        return missing
    row = onset_groups(variation.passage)
    return (
        *_placements(variation),
        *_ties(variation.passage),
        *_together(variation),
        *_slurs(variation.passage, row),
        *_strokes(row),
        *_thumb(variation, row),
        *_bars(variation.passage),
        *_barres(variation.passage),
    )


def _barres(passage: Passage) -> Iterator[str]:
    """Wherever finger 1 holds two strings one sign stands over it, and agrees with the notes in name and length.

    C over five strings or more, ½C over fewer, hinge where a string between sounds open as it is laid (common
    practice); no bracket ends on an open string, and no numeral says beside it what it says itself.
    """
    marks = barre_marks(passage.events)
    begins = sorted({event.onset for event in passage.events if event.notes})
    for barre in marks:
        high, low = barre.strings
        lying = [e for e in passage.events if barre.first.onset <= e.onset <= barre.last.onset]
        places = [n.placement for e in lying for n in e.notes if n.placement]
        opened = any(not p.fret and high < p.string < low for p in places)
        if high == low:
            yield f"{barre.first.id}: a barre over string {high} alone"
        elif barre.kind != ("hinge" if opened else "full" if low - high > 3 else "half"):
            yield f"{barre.first.id}: a {barre.kind} barre over strings {high} to {low}"
        if not any(n.placement and n.placement.fret for n in barre.last.notes):
            yield f"{barre.last.id}: a bracket ends on an open string"
        for event, place in position_marks(passage.events):
            after = begins[begins.index(event.onset) + 1 :][:1]
            if place == barre.fret and (
                barre.first.onset <= event.onset <= barre.last.onset or barre.first.onset in after
            ):
                yield f"{event.id}: a numeral beside the barre at fret {place}"
    for event in passage.events:
        over = [barre for barre in marks if barre.first.onset <= event.onset <= barre.last.onset]
        signs = {(barre.kind, barre.fret) for barre in over}
        for under in (n.placement for n in event.notes):
            if under and under.barre and (under.barre, under.fret) not in signs:
                yield f"{event.id}: a {under.barre} barre without its bracket"
    for group, ringing in held(passage):
        first = {p.string: p.fret for s in (*ringing, *group.sounds) if (p := s.placement).finger == 1}
        signed = any(barre.first.onset <= group.onset < barre.last.end for barre in marks)
        if len(first) > 1 and not signed:
            yield f"{group.onset}: finger 1 lies over strings {sorted(first)} without a sign"


def _placements(variation: Variation) -> Iterator[str]:
    instrument = variation.instrument
    for note in variation.passage.notes:
        place = note.placement
        assert place is not None
        if not 1 <= place.string <= len(instrument.strings):
            yield f"{note.id}: string {place.string} of {len(instrument.strings)}"
        elif not 0 <= place.fret <= instrument.top:
            yield f"{note.id}: fret {place.fret} of {instrument.top}"
        elif instrument.midi(place.string, place.fret) != note.pitch.midi and not note.muted:
            yield f"{note.id}: written {note.pitch}, but string {place.string} fret {place.fret} sounds another pitch"


def _ties(passage: Passage) -> Iterator[str]:
    waiting: dict[int, dict[int, Note]] = {voice: {} for voice in passage.voices}
    for event in passage.events:
        if event.grace:
            continue
        due = waiting[event.voice]
        for note in event.notes:
            before = due.pop(note.pitch.midi, None)
            if note.tied_back and before is None:
                yield f"{note.id}: tied back to nothing"
            elif note.tied_back and before is not None and before.placement != note.placement:
                yield f"{note.id}: tied to another placement"
            if note.tied_back and (note.stroke or note.slurred_from):
                yield f"{note.id}: tied, yet sounded again"
        # what the source ties to nothing is the source's own: only ties into a note are checked
        waiting[event.voice] = {n.pitch.midi: n for n in event.notes if n.tied_on}


def _together(variation: Variation) -> Iterator[str]:
    for group, ringing in held(variation.passage):
        # two voices that meet on one pitch are one stopped string
        stops = {(s.placement.string, s.placement.fret) for s in group.sounds}
        strings = {string for string, _ in stops}
        if len(strings) < len(stops):
            yield f"{group.sounds[0].note.id}: two notes on one string at once"
            continue
        kept = {s.placement.string for s in ringing if (s.placement.string, s.placement.fret) not in stops}
        if strings & kept and not group.grace:
            yield f"{group.sounds[0].note.id}: cuts off a note that still lasts on its string"
            continue
        grip = [s.placement for s in (*group.sounds, *ringing)]
        fault = shape_fault(grip, variation.instrument, variation.hand)
        if fault:
            yield f"{group.sounds[0].note.id}: {fault}"


def _slurs(passage: Passage, row: tuple[OnsetGroup, ...]) -> Iterator[str]:
    at: dict[str, Fraction] = {e_n.id: event.onset for event in passage.events for e_n in event.notes}
    notes = {note.id: note for note in passage.notes}
    ends = sounding_end(passage)
    last: dict[int, str] = {}
    chains = heads(passage)
    for group in row:
        for sound in group.sounds:
            note, place = sound.note, sound.placement
            if note.slurred_from:
                before = notes.get(note.slurred_from)
                if before is None or before.placement is None:
                    yield f"{note.id}: slurred from no note"
                elif before.placement.string != place.string:
                    yield f"{note.id}: slurred from another string"
                elif chains.get(before.id, before.id) != last.get(place.string):
                    yield f"{note.id}: another note sounds on the string between"
                elif ends[before.id] < group.onset or at[before.id] > group.onset:
                    yield f"{note.id}: the note before it no longer sounds"
                elif not legal(before, note):
                    yield f"{note.id}: the hand cannot slur {before.placement} to {place}"
        for sound in group.sounds:
            last[sound.placement.string] = sound.note.id


def legal(before: Note, note: Note) -> bool:
    """Whether the fretting hand can sound `note` from `before` on their string."""
    a, b = before.placement, note.placement
    if a is None or b is None or a.string != b.string or a.fret == b.fret or before.muted or note.muted:
        return False
    if note.slide:
        return a.finger == b.finger and a.finger > 0
    if b.fret > a.fret:
        return b.finger > a.finger
    return b.fret == 0 or a.finger > b.finger


def _strokes(row: tuple[OnsetGroup, ...]) -> Iterator[str]:
    for group in row:
        struck = {sound.placement.string for sound in group.plucked if sound.note.stroke}
        for sound in group.sounds:
            # two voices on one note are one stroke
            if sound.plucked and sound.note.stroke is None and sound.placement.string not in struck:
                yield f"{sound.note.id}: plucked by no finger"
            if not sound.plucked and sound.note.stroke is not None:
                yield f"{sound.note.id}: slurred, yet plucked"
        fingers = [s.note.stroke.finger for s in group.plucked if s.note.stroke]
        doubled = {f for f in fingers if fingers.count(f) > 1}
        given = [s.note.given.pluck for s in group.plucked]
        ranks = [PLUCKING.index(f) for f in fingers]
        if ranks != sorted(ranks) and not any(given):
            yield f"{group.sounds[0].note.id}: {' '.join(fingers)} from the bass: the hand does not lie so"
        # five or six strings: the thumb takes the lower ones in one stroke (common practice)
        swept = len(fingers) >= len(PLUCKING) and doubled == {"p"}
        if doubled and not swept and fingers != given:
            yield f"{group.sounds[0].note.id}: {' '.join(fingers)} at once"
        strings = {s.placement.string for s in group.plucked}
        for sound in group.plucked:
            if sound.note.stroke and sound.note.stroke.kind == "rest":
                onto = sound.placement.string + (-1 if sound.note.stroke.finger == "p" else 1)
                if onto in strings and sound.note.given.stroke != "rest":
                    yield f"{sound.note.id}: rests on a string that is plucked with it"


def _thumb(variation: Variation, row: tuple[OnsetGroup, ...]) -> Iterator[str]:
    """Along a line, no finger of a cycle with the thumb lies nearer the bass than the thumb beside it.

    A tremolo on every note is none: its thumb lies where the line lies.
    """
    if (
        "p" not in variation.cycle
        or " times " in f" {variation.study.pluck}"
        or any(n.given.pluck for n in variation.passage.notes)
    ):
        return
    where = kind_of(variation)
    line = [
        g.plucked[0] if len(g.plucked) == 1 and where[g.plucked[0].note.id].kind == LINE else None
        for g in row
        if g.plucked
    ]
    for one, other in pairwise(line):
        if one is None or other is None:
            continue
        played = {s.note.stroke.finger: s.placement.string for s in (one, other) if s.note.stroke}
        others = [string for finger, string in played.items() if finger != "p"]
        if "p" in played and any(string > played["p"] for string in others):
            yield f"{other.note.id}: the thumb lies above a finger"


def _bars(passage: Passage) -> Iterator[str]:
    """Bars fill by the passage's own invariants; that no bar is longer than its metre is checked here."""
    for bar in passage.bars:
        if bar.length > bar.metre.length:
            yield f"bar {bar.label}: {bar.length} quarters in {bar.metre}"
    voices = {(e.bar, e.voice) for e in passage.events}
    for index, bar in enumerate(passage.bars):
        if not any((index, voice) in voices for voice in passage.voices):
            yield f"bar {bar.label}: holds nothing"
