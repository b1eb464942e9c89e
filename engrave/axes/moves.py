"""Moving a line over the neck, across the strings and along them.

Across the neck a line keeps its frets and fingers, and its pitches follow the tuning; or it keeps its intervals, and
its frets give way where neighbouring strings are not a fourth apart. Along the neck it keeps its shape. What would
leave the instrument declines.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from math import ceil

from engrave.axes.chord_shapes import shape_fault
from engrave.axes.cleanup import note_at, refuse_unison, without_position_words, without_unplayable_slurs
from engrave.axes.setting import noted, unfit
from engrave.axes.transposing import resound
from engrave.model import Event, Given, Note, Passage, Placement, UnplayableError, Variation, with_notes
from engrave.model.said import say, say_count
from engrave.model.texture import BROKEN, TREMOLO
from engrave.model.wording import bars_text
from engrave.textures import stretches
from engrave.textures.onsets import Sound, held, onset_groups

CIRCLED = "①②③④⑤⑥⑦⑧⑨⑩"

Place = Callable[[Event, Note, Placement], Placement]
"""where a note goes; raises UnfitError where it cannot"""


def relocated(variation: Variation, where: Place) -> Variation:
    """`variation` with every note put where `where` says, sounding what it then sounds."""
    passage = variation.passage
    changed: dict[str, Note] = {}
    midis: dict[str, int] = {}
    for event, note, old in _placed(passage):
        place = where(event, note, old)
        changed[note.id] = note_at(note, place)
        midis[note.id] = variation.instrument.midi(place.string, place.fret)
    made = replace(variation, passage=resound(with_notes(passage, changed), midis))
    for group, ringing in held(made.passage):
        fault = shape_fault([s.placement for s in (*group.sounds, *ringing)], made.instrument, made.hand)
        if fault:
            sound = group.sounds[0]
            reason = say("at {pitch} the hand cannot hold it there: {fault}", pitch=sound.note.pitch, fault=fault)
            raise unfit(reason, passage.place(sound.event))
    return without_unplayable_slurs(made)


def _string(variation: Variation, event: Event, note: Note, by: int) -> int:
    """The string `by` strings lower than a note's own. Raises UnfitError where there is none."""
    lies = note.placement.string if note.placement else 1
    there = len(variation.instrument.strings)
    if 1 <= lies + by <= there:
        return lies + by
    reason = say(
        "{pitch} on {lies} would need a string {string}, the instrument has {strings}",
        pitch=note.pitch,
        lies=CIRCLED[lies - 1],
        string=lies + by,
        strings=there,
    )
    raise unfit(reason, variation.passage.place(event))


def _distance(variation: Variation, number: int) -> int:
    """How many strings lower the line lies whose highest string is `number`. Raises UnfitError where it lies there."""
    used = [note.placement.string for note in variation.passage.notes if note.placement]
    if not used:
        raise unfit(say("the line has no notes to move"))
    if number == min(used):
        raise unfit(say("the line lies there already: its highest string is {string}", string=CIRCLED[number - 1]))
    return number - min(used)


def _across(variation: Variation, by: Callable[[Event], int]) -> Variation:
    return relocated(variation, lambda e, note, place: replace(place, string=_string(variation, e, note, by(e))))


def shape_on(variation: Variation, number: int) -> Variation:
    """Moves the line across so that its highest string becomes `number`, frets and fingers as they are."""
    by = _distance(variation, number)
    moved = _across(variation, lambda _: by)
    _refuse_other_chords(variation, moved)
    return moved


MOST_OTHER = Fraction(1, 4)
"""part of the chords that may sound otherwise on other strings (house figure)"""


def _refuse_other_chords(before: Variation, after: Variation) -> None:
    """Refuses it where other chords come out: a third over ③ and ② is a fourth on other strings."""
    was, now = (
        [[s.note.pitch.midi - g.sounds[0].note.pitch.midi for s in g.sounds] for g in onset_groups(one.passage)]
        for one in (before, after)
    )
    chords = [(a, b) for a, b in zip(was, now, strict=True) if len(a) > 1]
    other = sum(a != b for a, b in chords)
    if other > MOST_OTHER * len(chords):
        reason = say(
            "chords that sound otherwise on other strings: {n} of {chords}; with the same frets other chords come out",
            n=other,
            chords=len(chords),
        )
        raise unfit(reason)


def intervals_on(variation: Variation, number: int) -> Variation:
    """Moves the line across likewise, but keeps its intervals; the fretting hand is worked out anew."""
    by, instrument = _distance(variation, number), variation.instrument
    if number > len(instrument.strings):
        raise unfit(say("the instrument has {n} strings", n=len(instrument.strings)))
    shift = instrument.midi(number, 0) - instrument.midi(number - by, 0)
    wanted: list[tuple[Event, Note, int, int]] = []
    for event, note, place in _placed(variation.passage):
        string = _string(variation, event, note, by)
        midi = instrument.midi(place.string, place.fret) + shift
        wanted.append((event, note, string, midi - instrument.midi(string, 0)))
    # where a note would lie below its open string the whole tune goes up by as many frets as it needs
    lift = max(0, -min(fret for *_, fret in wanted))
    changed, midis = {}, {}
    for event, note, string, bare in wanted:
        at = bare + lift
        if at > instrument.top:
            reason = say(
                "{pitch} would need fret {fret} on {string}, the neck ends at {last}",
                pitch=note.pitch,
                fret=at,
                string=CIRCLED[string - 1],
                last=instrument.top,
            )
            raise unfit(reason, variation.passage.place(event))
        given = Given(string=string, fret=at, pluck=note.given.pluck, stroke=note.given.stroke)
        changed[note.id], midis[note.id] = replace(note, given=given), instrument.midi(string, at)
    if all(note.placement and note.placement.fret == bare + lift for _, note, _, bare in wanted):
        raise unfit(say("no fret changes: it is “same frets from {string}”", string=CIRCLED[number - 1]))
    return refingered(replace(variation, passage=resound(with_notes(variation.passage, changed), midis)))


def _placed(passage: Passage) -> Iterator[tuple[Event, Note, Placement]]:
    """Every note that has its place, with its event."""
    return ((event, note, note.placement) for event in passage.events for note in event.notes if note.placement)


def refingered(variation: Variation) -> Variation:
    """`variation` with the fretting hand worked out anew from the marks on its notes."""
    from engrave.fretting.fingered import fret  # noqa: PLC0415 (the search is loaded where there is something to search)

    try:
        made = fret(variation.passage, variation.instrument, variation.hand)
    except UnplayableError as error:
        raise unfit(error.faults[0].fact, error.faults[0].place) from error
    if any(n.given.string and n.placement and n.placement.string != n.given.string for n in made.passage.notes):
        raise unfit(say("the hand cannot reach the line there"))
    notices = (*variation.notices, *made.notices)
    whole = replace(made, study=variation.study, cycle=variation.cycle, notices=notices)
    refuse_unison(made)
    _refuse_barred_high(made)
    return without_unplayable_slurs(without_position_words(whole))


def along(variation: Variation, frets: int) -> Variation:
    """Moves the fretted notes `frets` up (or down); open strings stay open."""
    stopped = [n.placement.fret for n in variation.passage.notes if n.placement and n.placement.fret]
    if not stopped:
        raise unfit(say("every note is an open string: there is nothing to move along the neck"))
    _refuse_left_behind(variation)

    def where(event: Event, note: Note, place: Placement) -> Placement:
        if not place.fret:
            return place
        new = place.fret + frets
        if not 1 <= new <= variation.instrument.top:
            reason = say(
                "{pitch} would need fret {fret}, the neck has 1 to {last}",
                pitch=note.pitch,
                fret=new,
                last=variation.instrument.top,
            )
            raise unfit(reason, variation.passage.place(event))
        return replace(place, fret=new, position=max(1, place.position + frets))

    return _moved(relocated(variation, where), frets)


MOST_OPEN = Fraction(1, 4)
"""part of the notes that may be open strings where the others move along the neck (house figure)"""


def _refuse_left_behind(variation: Variation) -> None:
    """Refuses it where open strings, which do not move, would make another tune of the line.

    An open string beside a stopped note of its own is a drone, over which a line may move.
    """
    for first, together in sorted(_sounding(variation), key=lambda pair: pair[0].event.onset):
        if len({bool(sound.placement.fret) for sound in together}) > 1:
            reason = say(
                "at {pitch} stopped notes sound together with an open string, which does not move: they would clash",
                pitch=first.note.pitch,
            )
            raise unfit(reason, variation.passage.place(first.event))
    row = [group.sounds[0] for group in onset_groups(variation.passage)]
    left = 0
    for number, sound in enumerate(row):
        beside = [*row[max(0, number - 1) : number], *row[number + 1 : number + 2]]
        drone = any(o.placement.string == sound.placement.string and o.placement.fret for o in beside)
        left += not sound.placement.fret and not drone
    if left > MOST_OPEN * len(row):
        reason = say(
            "open strings, which do not move: {n} of {notes} notes; with so many another tune comes out",
            n=left,
            notes=len(row),
        )
        raise unfit(reason)


def _sounding(variation: Variation) -> Iterator[tuple[Sound, list[Sound]]]:
    """What sounds together, as written and within the figures of broken chords and tremolo, with its first note."""
    for group, ringing in held(variation.passage):
        yield group.sounds[0], [*group.sounds, *ringing]
    sounds = {s.note.id: s for group in onset_groups(variation.passage) for s in group.sounds}
    for span in stretches(variation):
        for figure in span.figures if span.kind in (BROKEN, TREMOLO) else ():
            row = [sounds[name] for name in figure if name in sounds]
            if row:
                yield row[0], row


def _moved(variation: Variation, frets: int) -> Variation:
    """The end of a move along the neck: reach where frets are wider, and the source's words on positions."""
    mm, practical = variation.instrument.mm, variation.hand.practical
    before: Placement | None = None
    for event, note, now in _placed(variation.passage) if frets < 0 else ():
        if not now.fret:
            continue
        if before and before.position == now.position and before.finger != now.finger:
            low, high = sorted((before.finger, now.finger))
            apart = abs(mm(before.fret) - mm(now.fret))
            if apart > practical[low, high]:
                reason = say(
                    "{pitch} cannot be reached there: fingers {lower} and {higher} {apart} mm apart, "
                    "the hand reaches {limit}",
                    pitch=note.pitch,
                    lower=low,
                    higher=high,
                    apart=round(apart),
                    limit=round(practical[low, high]),
                )
                raise unfit(reason, variation.passage.place(event))
        before = now
    _refuse_barred_high(variation)
    return without_position_words(variation)


BODY = 12
"""fret at which the neck of a classical guitar meets the body (common practice); no page we move there lays a finger
over several strings above it (house figure)"""


def _refuse_barred_high(variation: Variation) -> None:
    """Refuses a full or a half barre that would lie where the hand has no neck behind it."""
    last = BODY - variation.instrument.capo
    for event, note, place in _placed(variation.passage):
        if place.barre in ("full", "half") and place.fret > last:
            reason = say(
                "at {pitch} a barre would lie on fret {fret}, above fret {last}, where the body begins",
                pitch=note.pitch,
                fret=place.fret,
                last=last,
            )
            raise unfit(reason, variation.passage.place(event))


def highest(variation: Variation) -> Variation:
    """Moves the fretted notes up until the highest lies on the last fret."""
    stopped = [n.placement.fret for n in variation.passage.notes if n.placement and n.placement.fret]
    room = variation.instrument.top - max(stopped, default=0)
    if stopped and not room:
        raise unfit(say("the line lies there already: it reaches fret {fret}", fret=variation.instrument.top))
    return along(variation, room)


def octave(variation: Variation, octaves: int) -> Variation:
    """The line an octave away, with the fretting hand worked out anew."""
    passage, shift = variation.passage, 12 * octaves
    free = {
        n.id: replace(n, placement=None, given=Given(pluck=n.given.pluck, stroke=n.given.stroke))
        for n in passage.notes
        if not n.muted
    }
    midis = {n.id: n.pitch.midi + shift for n in passage.notes if not n.muted}
    if not midis:
        raise unfit(say("the line has no notes to move"))
    for event in passage.events:
        for note in event.notes:
            if note.id in midis and not variation.instrument.stops(midis[note.id]):
                above = say("{pitch} would lie above the instrument", pitch=note.pitch)
                below = say("{pitch} would lie below the instrument", pitch=note.pitch)
                raise unfit(above if octaves > 0 else below, passage.place(event))
    return refingered(replace(variation, passage=resound(with_notes(passage, free), midis)))


def on_open(variation: Variation, number: int) -> Variation:
    """Plays the rhythm of a single line on the open string `number`."""
    if number > len(variation.instrument.strings):
        there = len(variation.instrument.strings)
        raise unfit(say("there is no string {string}, the instrument has {n}", string=number, n=there))
    row = onset_groups(variation.passage)
    if not row:
        raise unfit(say("the line has no notes to move"))
    for group, ringing in held(variation.passage):
        if len(group.sounds) > 1 or ringing:
            sound = group.sounds[0]
            reason = say(
                "at {pitch} several strings sound: one open string is for a line of single notes",
                pitch=sound.note.pitch,
            )
            raise unfit(reason, variation.passage.place(sound.event))
    bare = Placement(string=number, fret=0, finger=0)
    return without_position_words(relocated(variation, lambda *_: bare))


def climb(variation: Variation, bars: int) -> Variation:
    """Plays each stretch of `bars` bars on the next string, from the lowest up to the highest and back.

    Of fewer stretches than strings some strings are left out, so that the highest is reached all the same. A stretch on
    several strings lies as low or as high as its strings allow; frets and fingers stay.
    """
    passage, strings = variation.passage, len(variation.instrument.strings)
    lies = _lies(passage, bars)
    if not lies:
        raise unfit(say("the line has no notes to move"))
    wide = sum(top != low for top, low in lies.values())
    narrowest = min(low - top + 1 for top, low in lies.values())
    room = strings - narrowest + 1
    if room < 2:
        raise unfit(say("every bar needs all {n} strings: there is nowhere to climb", n=strings))
    if wide > MOST_WIDE * len(lies):
        reason = say(
            "stretches that cross strings: {n} of {stretches}; with the same frets another tune comes out",
            n=wide,
            stretches=len(lies),
        )
        raise unfit(reason)
    if tied := _tied_across(passage, bars):
        reason = say("{pitch} is tied over the bar line where the string changes", pitch=tied.notes[0].pitch)
        raise unfit(reason, passage.place(tied))
    if len(passage.bars) <= bars:
        reason = say_count(
            "the line has {n} bar: it would not leave its first string",
            "the line has {n} bars: it would not leave its first string",
            len(passage.bars),
        )
        raise unfit(reason)
    steps = _rungs(room, ceil(len(passage.bars) / bars))

    def by(event: Event) -> int:
        stretch = event.bar // bars
        top, low = lies[stretch]
        step: int = steps[stretch % len(steps)]
        return min(step, strings - (low - top)) - top

    made = _across(variation, by)
    if not wide:
        return made
    labels = [bar.label for bar in passage.bars]
    crossing = {n for n in range(len(labels)) if n // bars in lies and lies[n // bars][0] != lies[n // bars][1]}
    # for the translator: {bars} is such as "bars 4 and 8"; their notes are on two strings or more, before and after
    return noted(made, say("notes on more than one string, moved together: {bars}", bars=bars_text(labels, crossing)))


MOST_WIDE = Fraction(1, 4)
"""part of the stretches of a climb that may lie on several strings, where it changes the tune (house figure)"""


def _rungs(room: int, stretches: int) -> list[int]:
    """The highest string of each stretch: from `room` up to 1 and back, or evenly spread where there are too few."""
    if stretches >= room:
        return [*range(room, 0, -1), *range(2, room)]
    return [room - round(Fraction((room - 1) * k, stretches - 1)) for k in range(stretches)]


def _lies(passage: Passage, bars: int) -> dict[int, tuple[int, int]]:
    """Stretch of so many bars → the highest and the lowest string it uses; stretches without a note left out."""
    used: dict[int, list[int]] = {}
    for event, _, place in _placed(passage):
        used.setdefault(event.bar // bars, []).append(place.string)
    return {stretch: (min(row), max(row)) for stretch, row in used.items()}


def _tied_across(passage: Passage, bars: int) -> Event | None:
    """The first event that is tied over a bar line at which a new stretch begins."""
    for event in passage.events:
        begins = event.bar and not event.bar % bars and event.onset == passage.bars[event.bar].onset
        if begins and any(note.tied_back for note in event.notes):
            return event
    return None
