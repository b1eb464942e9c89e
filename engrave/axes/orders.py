"""What can be done with broken chords and with a melody over a bass: other orders, block chords, one layer alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from engrave.axes.chord_shapes import shape_fault
from engrave.axes.letters import fingers_as_written
from engrave.axes.plucking import RANK, Fingers
from engrave.axes.retiming import Span, spans
from engrave.axes.rewriting import Copies, Figure, figures_of, given, lettered, replucked, rewrite
from engrave.axes.setting import noted, unfit
from engrave.model import PLUCKING, Direction, Note, Variation, replace_unchecked
from engrave.model.said import say, say_count
from engrave.model.texture import BLOCK, BROKEN
from engrave.textures import kind_of
from engrave.textures.onsets import Sound, heads, onset_groups, upper_voice, voices_sounding

Rows = dict[int, list[Span]]
"""voice → its spans"""
# for the translator: over the music, to the player: set all the fingers of the chord on their strings
PLANT = say("place")
"""printed where the fingers of a chord are all set on their strings before it is played"""


def order(variation: Variation, formula: Fingers) -> Variation:
    """Broken chords in another order of the fingers, each still bound to its string."""
    passage = variation.passage
    upper = upper_voice(passage)
    hand = fingers_as_written(variation, {})
    rows = {voice: list(spans(passage, voice)) for voice in passage.voices}
    copies = Copies(variation)
    fixed: dict[str, str] = {}
    whys: Counter[str] = Counter()
    changed = 0
    for figure in figures_of(variation, BROKEN):
        notes = _ordered(figure, formula, hand)
        if isinstance(notes, str):
            whys[notes] += 1
            continue
        size = len(figure.slots)
        now = [slot[0].placement.string for slot in figure.slots]
        same = [n.placement.string for n in notes if n.placement] == now
        stays = formula[0] == "p" and formula.count("p") == 1 and size == len(formula)
        fault = _fault(rows, figure, upper, stays=stays)
        if fault:
            whys[fault] += 1
            continue
        fixed |= _put(rows, figure, notes, upper=upper, copies=copies, formula=formula, stays=stays)
        changed += not same
    if not changed:
        raise unfit(whys.most_common(1)[0][0] if whys else say("it is the order that is written"))
    done = replucked(variation, rows, fixed, formula)
    text = say_count(
        "{n} figure played as written: the order does not fit",
        "{n} figures played as written: the order does not fit",
        sum(whys.values()),
    )
    return noted(done, text)


def _ordered(figure: Figure, formula: Fingers, hand: dict[str, str]) -> list[Note] | str:
    """A note for each slot of a figure, or why the order does not fit."""
    if any(len({s.placement.string for s in slot}) > 1 for slot in figure.slots):
        return say("bass and treble are plucked together in the figures: there is no order to change")
    if not figure.held or not figure.even:
        return say("a string changes its note within the figures, or they are not even: the order cannot be changed")
    size, need = len(figure.slots), len(formula)
    if size % need:
        return say("the figures have {n} notes, which {letters} does not fill", n=size, letters=" ".join(formula))
    owner: dict[str, list[Note]] = {}
    for slot in figure.slots:
        note = slot[0].note
        mine = owner.setdefault(hand[note.id], [])
        if all(n.placement != note.placement for n in mine):
            mine.append(note)
    if set(owner) != set(formula):
        wanted, there = (" ".join(f for f in PLUCKING if f in fingers) for fingers in (formula, owner))
        return say("the order is for {letters}, and the figures lie under {others}", letters=wanted, others=there)
    if any(len(notes) > 1 and finger != "p" for finger, notes in owner.items()):
        return say("a finger plays two strings in the figures")
    counts: Counter[str] = Counter()
    row = []
    for n in range(size):
        finger = formula[n % need]
        row.append(owner[finger][counts[finger] % len(owner[finger])])
        counts[finger] += 1
    if len({n.placement for n in row}) < sum(map(len, owner.values())):
        return say("the order leaves a string of the figures out")
    return row


def _fault(rows: Rows, figure: Figure, upper: int, *, stays: bool) -> str:
    """Why the notes of a figure cannot be written into the upper voice; `stays` where the bass keeps its own."""
    if not rows[upper][_inside(rows[upper], figure)]:
        return say("the figures do not begin and end with the notes of the upper voice")
    for voice in {s.event.voice for s in figure.sounds} - {upper}:
        here = [s for s in rows[voice] if s.start < figure.end and s.end > figure.start and s.notes]
        alone = len(here) == 1 and here[0].start == figure.start
        if not alone or (here[0].end > figure.end and not stays):
            return say("the bass is held in a voice of its own beyond its figure")
    return ""


def _inside(row: list[Span], figure: Figure) -> slice:
    """Where the spans of a figure stand in a row; nowhere if they do not begin and end with it."""
    here = [n for n, span in enumerate(row) if figure.start <= span.start < figure.end]
    whole = bool(here) and row[here[0]].start == figure.start and row[here[-1]].end <= figure.end
    return slice(here[0], here[-1] + 1) if whole else slice(0)


def _put(
    rows: Rows, figure: Figure, notes: list[Note], *, upper: int, copies: Copies, formula: Fingers, stays: bool
) -> dict[str, str]:
    """Writes a figure's notes into the upper voice; note id → finger."""
    place = _inside(rows[upper], figure)
    inside = rows[upper][place]
    step = figure.even
    lower = {s.event.voice for s in figure.sounds} - {upper}
    fixed: dict[str, str] = {}
    made: list[Span] = []
    assert step is not None
    for n, note in enumerate(notes):
        start = figure.start + n * step
        event = next((s.event for s in inside if s.start == start), inside[0].event)
        event = event if n == 0 else replace(event, marks=())
        span = Span(start=start, end=start + step, event=event)
        if lower and stays and n == 0:
            fixed |= {s.note.id: "p" for s in figure.slots[0]}
            # the bass in its own voice, and beside it whatever the upper voice has there: a rest, or the bass doubled
            made.append(replace(inside[0], end=start + step))
            continue
        copy = copies.of(note)
        fixed[copy.id] = formula[n % len(formula)]
        made.append(replace(span, notes=(copy,)))
    rows[upper][place] = made
    for voice in lower if not stays else ():
        rows[voice] = [
            replace(s, notes=(), space=True) if figure.start <= s.start < figure.end else s for s in rows[voice]
        ]
    return fixed


# --- block chords -----------------------------------------------------------------------------------------------


def blocked(variation: Variation) -> Variation:
    """Broken chords struck together, each in the time of its figure."""
    return _struck(variation, figures_of(variation, BROKEN))


def block_first(variation: Variation) -> Variation:
    """Where one chord is broken twice or more, it is struck together the first time."""
    chosen = []
    for _, group in groupby(figures_of(variation, BROKEN), key=lambda f: sorted((s, *x) for s, x in f.frets.items())):
        row = list(group)
        chosen += row[:1] if len(row) > 1 else []
    if not chosen:
        raise unfit(say("no chord is broken twice running: there is none to strike first"))
    return _struck(variation, tuple(chosen))


def _struck(variation: Variation, figures: tuple[Figure, ...]) -> Variation:
    passage = variation.passage
    upper = upper_voice(passage)
    row = list(spans(passage, upper))
    struck: list[Figure] = []
    for figure in figures:
        chord = _chord(variation, figure, upper)
        place = _inside(row, figure)
        inside = row[place]
        if not chord or not inside:
            continue
        struck.append(figure)
        event = next(s.event for s in inside if s.notes)
        row[place] = [Span(start=figure.start, end=figure.end, event=event, notes=chord, graces=inside[0].graces)]
    left = len(figures) - len(struck)
    if not struck:
        raise unfit(say("no broken chord can be held as one chord"))
    # each finger stays on its string, whether the chord is broken or not
    hand = fingers_as_written(variation, given(variation))
    done = replucked(variation, {upper: row}, _together(hand, struck))
    text = say_count(
        "{n} figure left broken: no hand holds it as one chord",
        "{n} figures left broken: no hand holds them as one chord",
        left,
    )
    return noted(done, text)


def _together(hand: dict[str, str], figures: Sequence[Figure]) -> dict[str, str]:
    """`hand` (note id → finger) without the figures whose fingers cannot play at once: a finger plays twice in them."""
    kept = dict(hand)
    for figure in figures:
        own: dict[int, str] = {}
        for sound in figure.sounds:
            own.setdefault(sound.placement.string, hand.get(sound.note.id, "p"))
        above = [RANK[own[string]] for string in sorted(own, reverse=True) if own[string] != "p"]
        if above != sorted(set(above)):
            for sound in figure.sounds:
                kept.pop(sound.note.id, None)
    return kept


def _chord(variation: Variation, figure: Figure, upper: int) -> tuple[Note, ...]:
    """The upper voice's notes of a figure as one chord, low to high; none where the hand cannot hold it."""
    if not figure.held:
        return ()
    sounds: dict[int, Sound] = {}
    for sound in figure.sounds:
        if sound.placement.string not in sounds or sound.event.voice != upper:
            sounds[sound.placement.string] = sound
    if shape_fault([s.placement for s in sounds.values()], variation.instrument, variation.hand):
        return ()
    own = [s.note for s in sounds.values() if s.event.voice == upper]
    if any(n.tied_back or n.tied_on for n in own):
        return ()
    bare = (replace(n, stroke=None, slurred_from="", slide=False) for n in own)
    return tuple(sorted(bare, key=lambda n: n.pitch.midi))


# --- prepared fingers, and layers alone -------------------------------------------------------------------------


def planted(variation: Variation) -> Variation:
    """The word to set all fingers on their strings, at each chord that differs from the one before.

    A finger that plays two strings of a broken chord cannot be set on both: there stands no word.
    """
    where = kind_of(variation)
    hand = fingers_as_written(variation, given(variation))
    places = []
    before: object = None
    spread = False
    for figure in figures_of(variation, BROKEN):
        shape = sorted(figure.frets.items())
        if shape != before and len(figure.frets) > 2:
            settable = _settable(figure, hand)
            spread = spread or not settable
            places += [figure.slots[0][0].event] if settable else []
        before = shape
    shapes: list[tuple[int, ...]] = []
    for event in variation.passage.events:
        if event.notes and where.get(event.notes[0].id) and where[event.notes[0].id].kind == BLOCK and not event.grace:
            shape_now = tuple(n.pitch.midi for n in event.notes)
            if len(event.notes) > 2 and (not shapes or shapes[-1] != shape_now):
                places.append(event)
            shapes.append(shape_now)
    if not places and spread:
        raise unfit(say("a finger plays two strings in the figures"))
    if not places:
        raise unfit(say("no chord of three strings or more: there is nothing to prepare"))
    words = tuple(
        Direction(kind="words", text=PLANT, bar=event.bar, onset=event.onset)
        for event in sorted(places, key=lambda e: e.onset)
    )
    passage = variation.passage
    done = replace(
        variation, passage=replace_unchecked(passage, directions=(*passage.directions, *dict.fromkeys(words)))
    )
    return lettered(done, {})


def _settable(figure: Figure, hand: dict[str, str]) -> bool:
    """Whether each finger (`hand`: note id → finger) has one string; the thumb sweeps several at once."""
    strings: dict[str, set[int]] = {}
    thumbed = set()
    for number, slot in enumerate(figure.slots):
        for sound in slot:
            finger, string = hand.get(sound.note.id, ""), sound.placement.string
            if finger == "p":
                thumbed.add((number, string))
            else:
                strings.setdefault(finger, set()).add(string)
    together = len({number for number, _ in thumbed}) < 2 or len({string for _, string in thumbed}) < 2
    return together and all(len(own) == 1 for own in strings.values())


def alone(variation: Variation, *, bass: bool) -> Variation:
    """The bass of a melody with bass by itself, or the melody, one note at a time."""
    low = _bass_layer(variation)
    all_ = {note.id for note in variation.passage.notes if not note.tied_back}
    under = set() if bass else _under_melody(variation, low)
    away = all_ - low if bass else low | under
    if not low or not away or away == all_:
        raise unfit(say("the passage has no melody over a bass"))
    head = heads(variation.passage)
    rows = {}
    for voice in variation.passage.voices:
        whole = spans(variation.passage, voice)
        row = [_without(span, away, head) for span in whole]
        row = _lasting(row, [span for span in whole if span.notes]) if bass else row
        # a voice of which nothing is left is none: no rests stand for it
        rows[voice] = row if any(span.notes for span in row) else []
    done = rewrite(variation, rows, slurs=True)
    kept = dict.fromkeys(low, "p") if bass else {}
    done = lettered(replace(done, textures=()), kept)
    if bass:
        return noted(done, say_count("{n} note over the bass left out", "{n} notes over the bass left out", len(away)))
    done = noted(done, say_count("{n} note of the bass left out", "{n} notes of the bass left out", len(low)))
    inner = say_count(
        "{n} note of a chord under the melody left out", "{n} notes of chords under the melody left out", len(under)
    )
    return noted(done, inner)


def _under_melody(variation: Variation, low: set[str]) -> set[str]:
    """Ids of the notes struck together with the melody and under it, but for the bass (`low`)."""
    found: set[str] = set()
    for group in onset_groups(variation.passage):
        own = sorted((s.note for s in group.sounds if s.note.id not in low), key=lambda note: note.pitch.midi)
        found |= {note.id for note in own[:-1]}
    return found


def _bass_layer(variation: Variation) -> set[str]:
    """Ids of the notes that are the bass: the lowest voice where two are written, else the bass of each texture."""
    passage = variation.passage
    where = kind_of(variation)
    sounding = voices_sounding(passage)
    lowest = max(passage.voices)
    low: set[str] = set()
    for group in onset_groups(passage):
        for sound in group.sounds:
            span, voices = where.get(sound.note.id), sounding[group.bar]
            if len(voices) > 1 and lowest in voices:
                mine = sound.event.voice == lowest
            elif span is not None and span.kind == BLOCK:
                mine = sound is group.sounds[0] and len(group.sounds) > 1
            else:
                mine = span is not None and sound.note.id in span.basses
            if mine:
                low.add(sound.note.id)
    # grace notes go with what they lead to
    for voice in passage.voices:
        for led in spans(passage, voice):
            ids = {note.id for grace in led.graces for note in grace.notes}
            low = low | ids if all(note.id in low for note in led.notes) else low - ids
    return low


def _lasting(row: list[Span], sounded: list[Span]) -> list[Span]:
    """A bass by itself: each note lasts to the next one in its bar, over what was `sounded` by the melody."""
    covered = {span.event.id for span in sounded}
    made: list[Span] = []
    for span in row:
        last = made[-1] if made and made[-1].notes else None
        over = not span.notes and span.event.id in covered and not (last and any(n.tied_on for n in last.notes))
        if last and over and last.end == span.start and last.event.bar == span.event.bar:
            made[-1] = replace(last, end=span.end)
        else:
            made.append(span)
    return made


def _without(span: Span, away: set[str], head: dict[str, str]) -> Span:
    notes = tuple(n for n in span.notes if head[n.id] not in away)
    graces = tuple(g for g in span.graces if not any(n.id in away for n in g.notes))
    return span if notes == span.notes else replace(span, notes=notes, graces=graces)
