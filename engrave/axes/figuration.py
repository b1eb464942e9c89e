"""Ways of plucking that write more notes: repeated notes, tremolo, chords broken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import floor, log2

from engrave.axes import plucking
from engrave.axes.cycles import picked
from engrave.axes.defaults import GOAL, HABITS
from engrave.axes.plucking import RANK, Fingers
from engrave.axes.retiming import Span, fresh, spans
from engrave.axes.rewriting import Copies, Figure, figures_of, lettered, parts, replucked, rewrite, within
from engrave.axes.setting import noted, unfit
from engrave.axes.timing import NO_NOTES, WHOLE, unit
from engrave.model import Note, Passage, Placement, Variation
from engrave.model.said import say, say_count
from engrave.model.spelling import spell
from engrave.model.texture import BLOCK, LAYERS, LINE, TREMOLO
from engrave.textures import kind_of, stretches
from engrave.textures.onsets import commonest, upper_voice

Formula = tuple[Fingers, ...]
"""a right-hand formula: the fingers of each step"""
DISSONANT = (1, 2, 6, 10, 11)
"""semitones within the octave that do not fit as a held note over the line"""
ABOVE_THUMB = ("i", "m", "a")
"""fingers that strike again what lies over a bass"""
FASTEST_STROKES = 10
"""strokes a second that may be asked for at the lowest tempo (house figure)"""
MOST_UNEVEN = 4
"""how many times as fast as others some notes may be struck again (house figure)"""


def _kind(variation: Variation) -> dict[str, str]:
    return {name: span.kind for name, span in kind_of(variation).items()}


def repeated(variation: Variation, times: int, cycle: Fingers) -> Variation:
    """Each note of lines and melodies along `cycle`, and each chord, `times` times in its own time.

    A bass under a melody is struck once. Without a cycle the chords alone.
    """
    kinds_meant = (LINE, LAYERS, BLOCK) if cycle else (BLOCK,)
    copies = Copies(variation)
    kinds = _kind(variation)
    low = {name for stretch in stretches(variation) if stretch.kind == LAYERS for name in stretch.basses}
    upper = upper_voice(variation.passage)
    lengths: list[Fraction] = []
    made: list[Span] = []
    for span in spans(variation.passage, upper):
        fits = bool(span.notes) and kinds.get(span.notes[0].id, LINE) in kinds_meant
        above = tuple(n for n in span.notes if n.id not in low)
        # a chord that the thumb sweeps is struck again whole
        above = span.notes if len(above) > len(ABOVE_THUMB) else above
        rows = [span.notes, *[above] * (times - 1)] if fits and above else []
        steps = [tuple(copies.of(n) for n in row) for row in rows]
        made += parts(span, steps) if steps else [span]
        lengths += [span.end - span.start] if steps else []
    if not copies.used:
        raise unfit(NO_NOTES)
    done = rewrite(variation, {upper: made})
    done = replace(done, textures=within(stretches(variation), copies.origin))
    if not cycle:
        return lettered(done, {})
    whole = "p" in cycle and times % len(cycle) == 0
    fingers = plucking.steady if whole else plucking.turning
    _refuse_unsteady(variation.passage, times, lengths)
    return picked(done, lambda: fingers(cycle), cycle, steady=whole)


def _refuse_unsteady(passage: Passage, times: int, lengths: Sequence[Fraction]) -> None:
    """Refuses it where notes of these lengths (in quarters) struck so often would leap in speed, or outrun a hand.

    The last note may be long: nothing follows at another speed.
    """
    slowest = (passage.tempo or GOAL * passage.bars[0].metre.beat) * HABITS["repeat"].steps[0] / 100
    speed = times / min(lengths) * slowest / 60
    if speed > FASTEST_STROKES:
        raise unfit(say("it would ask for {n} strokes a second at the lowest tempo", n=round(speed)))
    inner = lengths[:-1] or lengths
    uneven = max(inner) / min(inner)
    if uneven > MOST_UNEVEN:
        reason = say(
            "the lengths of the notes differ too much: some would be struck {n} times as fast as others",
            n=round(uneven),
        )
        raise unfit(reason)


# --- tremolo ----------------------------------------------------------------------------------------------------


def tremolo(variation: Variation, cycle: Fingers) -> Variation:
    """Tremolo in another order on every figure; lines made into tremolo, p on the line under a held open string."""
    if figures_of(variation, TREMOLO):
        return _reordered(variation, cycle)
    return _from_line(variation, cycle)


def _reordered(variation: Variation, cycle: Fingers) -> Variation:
    """Each figure plucked by `cycle`; with fewer fingers than it has notes, as many notes in its time as fingers."""
    upper = upper_voice(variation.passage)
    row = spans(variation.passage, upper)
    copies = Copies(variation)
    fixed: dict[str, str] = {}
    made: dict[int, list[Span]] = {}
    drop: set[int] = set()
    reached = left = 0
    for figure in figures_of(variation, TREMOLO):
        notes = [slot[-1].note for slot in figure.slots]
        size = len(figure.slots)
        here = [n for n, span in enumerate(row) if figure.start <= span.start < figure.end]
        if size % len(cycle) == 0 and size > 1:
            fingers = [cycle[n % len(cycle)] for n in range(size)]
            fixed |= {note.id: f for note, f in zip(notes[1:], fingers[1:], strict=True)}
            fixed |= {s.note.id: "p" for s in figure.slots[0]}
            reached += 1
        elif size > len(cycle) and figure.even and len(here) == size and _one_voice(figure, upper):
            first = row[here[0]]
            whole = replace(first, end=figure.end)
            steps = [first.notes, *((copies.of(notes[1]),) for _ in cycle[1:])]
            fixed |= {step[0].id: f for step, f in zip(steps[1:], cycle[1:], strict=True)}
            fixed |= {s.note.id: "p" for s in figure.slots[0]}
            made[here[0]] = parts(whole, steps)
            drop |= set(here[1:])
            reached += 1
        else:
            left += 1
    if not reached:
        raise unfit(say("no figure of the tremolo has notes for {letters}", letters=" ".join(cycle)))
    if made:
        spans_now = [s for n, span in enumerate(row) if n not in drop for s in made.get(n, [span])]
        done = rewrite(variation, {upper: spans_now})
        variation = replace(done, textures=within(stretches(variation), copies.origin))
    return noted(
        lettered(variation, fixed, cycle),
        say_count(
            "{n} figure of other lengths plucked as written", "{n} figures of other lengths plucked as written", left
        ),
    )


def _one_voice(figure: Figure, upper: int) -> bool:
    """Whether what is repeated stands in the upper voice, one note at a time."""
    return all(len(slot) == 1 and slot[0].event.voice == upper for slot in figure.slots[1:])


def _from_line(variation: Variation, cycle: Fingers) -> Variation:
    passage = variation.passage
    kinds = _kind(variation)
    upper = upper_voice(passage)
    line = {name for name, kind in kinds.items() if kind == LINE}
    for event in passage.events:
        if not any(n.id in line for n in event.notes):
            continue
        if event.voice != upper or len(event.notes) > 1:
            raise unfit(say("tremolo needs a single line, and here notes sound together"), passage.place(event))
        if event.notes[0].placement and event.notes[0].placement.string == 1:
            reason = say(
                "{pitch} lies on ①: no string is left above the line to hold the tremolo", pitch=event.notes[0].pitch
            )
            raise unfit(reason, passage.place(event), lies=True)
    if any(n.id not in line and not n.tied_back for e in passage.events if e.voice != upper for n in e.notes):
        raise unfit(say("the passage has several voices: tremolo needs a single line under its held string"))
    length = unit(passage)
    if length is None or not line:
        raise unfit(NO_NOTES)
    string = held_string(variation, line)
    copies = Copies(variation)
    made: list[Span] = []
    fixed: dict[str, str] = {}
    lengths: list[Fraction] = []
    for span in spans(passage, upper):
        if not span.notes or span.notes[0].id not in line:
            made.append(span)
            continue
        note = copies.of(span.notes[0])
        key = passage.bars[span.event.bar].key
        position = note.placement.position if note.placement else 1
        over = Note(
            id=fresh(copies.taken, f"{note.id}:held"),
            pitch=spell(variation.instrument.midi(string, 0), key),
            placement=Placement(string=string, fret=0, finger=0, position=position),
        )
        # a long note is struck again by p with each round, so that the tremolo keeps its speed
        rounds = max(1, int((span.end - span.start) / length)) if not (span.end - span.start) % length else 1
        steps = []
        lengths.append((span.end - span.start) / rounds)
        for number in range(rounds):
            struck = [copies.of(note) if number else note, *(copies.of(over) for _ in cycle[1:])]
            fixed |= {n.id: f for n, f in zip(struck, cycle, strict=True)}
            steps += [(n,) for n in struck]
        made += parts(span, steps)
    _refuse_unsteady(passage, len(cycle), lengths)
    return replucked(variation, {upper: made}, fixed, cycle)


def held_string(variation: Variation, line: set[str]) -> int:
    """The string above the line (note ids) whose open note is consonant with most of it; of equals the highest."""
    places = [n.placement for n in variation.passage.notes if n.placement and n.id in line]
    instrument = variation.instrument
    midis = [instrument.midi(p.string, p.fret) for p in places]
    above = range(1, min(p.string for p in places))
    return max(above, key=lambda s: (sum((instrument.midi(s, 0) - midi) % 12 not in DISSONANT for midi in midis), -s))


# --- chords broken ----------------------------------------------------------------------------------------------


def broken(variation: Variation, formula: Formula) -> Variation:
    """Each chord broken under a right-hand formula, p on its lowest string.

    Where the bass of a chord stands in a voice of its own, it stays there, and the rest of the formula follows it.
    """
    fingers = sorted({f for step in formula for f in step}, key=RANK.__getitem__)
    once = formula[0] == ("p",) and all("p" not in step for step in formula[1:])
    copies = Copies(variation)
    kinds = _kind(variation)
    fixed: dict[str, str] = {}
    made: list[Span] = []
    chords = silent = held = 0
    upper = upper_voice(variation.passage)
    basses = {
        e.onset: [n for n in e.notes if not n.tied_back]
        for e in variation.passage.events
        if e.voice != upper and any(not n.tied_back for n in e.notes)
    }
    chords_of = [s for s in spans(variation.passage, upper) if s.notes and kinds.get(s.notes[0].id) == BLOCK]
    usual = commonest([(s.end - s.start) / len(formula) for s in chords_of] or [WHOLE])[0]
    for span in spans(variation.passage, upper):
        inside = [at for at in basses if span.start <= at < span.end]
        lying = _lying(span.notes) if span.notes and kinds.get(span.notes[0].id) == BLOCK else []
        bass = basses[span.start] if inside == [span.start] and len(basses[span.start]) == 1 and once else []
        # a thumb that plucks the bass meanwhile cannot break the chord as well
        busy = fingers[0] == "p" and bool(inside) and not bass
        above = fingers[1:] if bass else fingers
        held += busy and len(lying) >= max(2, len(above))
        if busy or len(lying) < max(2, len(above)):
            made.append(span)
            continue
        chords += 1
        silent += len(lying) - len(above)
        low = lying[:1] if above[0] == "p" else []
        chosen = [*low, *lying[len(lying) - len(above) + len(low) :]]
        owner = dict(zip(above, chosen, strict=True))
        fixed |= {note.id: "p" for note in bass}
        steps: list[tuple[Note, ...]] = [()] if bass else []
        for step in formula[1:] if bass else formula:
            notes = {finger: copies.of(owner[finger]) for finger in step}
            fixed |= {note.id: finger for finger, note in notes.items()}
            steps.append(tuple(sorted(notes.values(), key=lambda n: n.pitch.midi)))
        made += _rolled(span, steps, usual)
    if not chords and held:
        raise unfit(say("the thumb plucks the bass of every chord that could be broken"))
    if not chords:
        raise unfit(say("no chord has the {n} notes the formula needs", n=max(2, len(fingers))))
    cycle = tuple(step[0] for step in formula) if all(len(step) == 1 for step in formula) else ()
    done = replucked(variation, {upper: made}, fixed, cycle)
    text = say_count(
        "{n} chord left whole: the thumb is on the bass", "{n} chords left whole: the thumb is on the bass", held
    )
    more = say_count(
        "{n} inner chord note not played: the formula has fewer fingers",
        "{n} inner chord notes not played: the formula has fewer fingers",
        silent,
    )
    return noted(noted(done, text), more)


def _rolled(span: Span, steps: Sequence[tuple[Note, ...]], usual: Fraction) -> list[Span]:
    """`span` cut into equal parts with these notes; where such parts are dotted, into shorter ones, the last held.

    Those are as long as is `usual`, in quarters, if they can be, so that chords of all lengths are broken at one speed.
    """
    length = span.end - span.start
    part = length / len(steps)
    if _undotted(part):
        return parts(span, steps)
    plain = usual if usual < part and _undotted(usual) else Fraction(2) ** floor(log2(part))
    made = parts(replace(span, end=span.start + plain * len(steps)), steps)
    return [*made[:-1], replace(made[-1], end=span.end)]


def _undotted(length: Fraction) -> bool:
    return length.numerator & (length.numerator - 1) == 0


def _lying(notes: Sequence[Note]) -> list[Note]:
    """The notes of a chord from the lowest string up."""
    return sorted(notes, key=lambda n: -n.placement.string if n.placement else 0)
