"""The `fret` axis: which fingers stop the notes, and where. The schemes are those of engrave.fretting."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from functools import partial
from itertools import combinations, pairwise

from engrave.axes.cleanup import refuse_unison, without_position_words, without_unplayable_slurs
from engrave.axes.setting import Axis, Setting, UnfitError, unchanged, unfit
from engrave.fretting import GRAMMAR, SCHEMES, Scheme, find_scheme
from engrave.model import Declined, Note, Passage, Placement, Variation, with_notes
from engrave.model.said import say
from engrave.textures.onsets import OnsetGroup, heads, held, onset_groups

AXIS = "fret"
BENT = ", bent"
"""suffix of a scheme that may break its rule where it cannot hold, with a notice for each note"""


def _under(variation: Variation, scheme: str, *, bend: bool) -> Variation:
    if not any(note.placement for note in variation.passage.notes):
        raise unfit(say("the line has no notes to finger"))
    # a line that was moved on purpose stays where it was put
    moved = variation.study.strings != "as written"
    made = _fingered(variation, scheme, bend=bend, moved=moved)
    try:
        if not bend:
            refuse_crossed(made, scheme)
    except UnfitError as fault:
        # where the arm would suffer, the round may begin with another of its fingers
        for other in _begun_elsewhere(scheme) if fault.declined.lies or fault.declined.reason == LEAPS else ():
            with suppress(UnfitError):
                again = _fingered(variation, other, bend=bend, moved=moved)
                refuse_crossed(again, other)
                return again
        raise
    return made


def _fingered(variation: Variation, scheme: str, *, bend: bool, moved: bool) -> Variation:
    """`variation` under a scheme, whether or not a hand lies so."""
    forced = turned(variation, scheme)
    if forced:
        return without_position_words(forced)
    from engrave.fretting.refingered import refret  # noqa: PLC0415 (the search is loaded where there is something to search)

    made = refret(variation, scheme, bend=bend, keep_places=moved)
    if isinstance(made, Declined):
        raise UnfitError(made)
    refuse_unison(made)
    _refuse_lain(made, variation, scheme)
    return without_unplayable_slurs(without_position_words(made))


def _refuse_lain(made: Variation, before: Variation, scheme: str) -> None:
    """Refuses it where a finger other than 1 would lie across strings that are not neighbours and did not `before`.

    There is no sign for it, and no hand does it for a rule's sake; nor over neighbours for a finger that rests.
    """
    found = find_scheme(scheme)
    apart = 1 if found and found.without else 2
    known = {note.id: note.placement for note in before.passage.notes}
    for group in onset_groups(made.passage):
        stopped = [s for s in group.sounds if s.placement.fret and s.placement.finger > 1]
        for one, other in combinations(stopped, 2):
            same = one.placement.finger == other.placement.finger
            if not same or abs(one.placement.string - other.placement.string) < apart:
                continue
            if all(known.get(s.note.id) == s.placement for s in (one, other)):
                continue
            reason = say(
                "finger {finger} on strings {high} and {low} at once",
                finger=one.placement.finger,
                high=min(one.placement.string, other.placement.string),
                low=max(one.placement.string, other.placement.string),
            )
            raise unfit(reason, made.passage.place(one.event))


def _begun_elsewhere(scheme: str) -> tuple[str, ...]:
    """Fingers in turn, begun with each of the others."""
    found = find_scheme(scheme)
    cycle = found.cycle if found else ()
    return tuple("-".join(map(str, (*cycle[n:], *cycle[:n]))) for n in range(1, len(cycle)))


LEAPS = say("the hand would leap at most notes")
LEAP = 2
"""frets the hand is carried from one stopped note to the next that count as a leap (house figure)"""
WINDOW = 3
"""frets a hand spans without moving, from one finger to another; common practice"""


def refuse_crossed(variation: Variation, scheme: str) -> None:
    """Refuses it where fingers in strict turn would lie as no hand lies.

    That is where a finger stops a fret so low that the fingers below it have no room on the neck, and where of two
    notes that follow each other at once, within one position, the lower finger has the higher fret: over an open string
    or a rest the arm carries the hand; along one string it does so with finger 1. And where the arm has to carry it far
    between most of the stopped notes.
    """
    found = find_scheme(scheme)
    if found is None or len(set(found.cycle)) < 2:
        return
    passage = variation.passage
    before: OnsetGroup | None = None
    for group in onset_groups(passage):
        stopped = [s for s in group.sounds if s.placement.fret]
        for sound in stopped:
            place = sound.placement
            if place.finger > place.fret:
                reason = say(
                    "finger {finger} on fret {fret} leaves the fingers below it no room on the neck",
                    finger=place.finger,
                    fret=place.fret,
                )
                raise unfit(reason, passage.place(sound.event), lies=True)
            for other in before.sounds if before and stopped else ():
                if other.event.end >= sound.event.onset and _over(other.placement, place):
                    reason = say(
                        "from {one} to {other} fingers {first} and {second} would cross: the lower has the higher fret",
                        one=other.note.pitch,
                        other=sound.note.pitch,
                        first=other.placement.finger,
                        second=place.finger,
                    )
                    raise unfit(reason, passage.place(sound.event))
        before = group
    if _leaps(passage):
        raise unfit(LEAPS)


def _leaps(passage: Passage) -> bool:
    """Whether most neighbouring stopped notes lie `LEAP` positions or more apart."""
    rows = [[s.placement for s in group.sounds if s.placement.fret] for group in onset_groups(passage)]
    at = [min(place.fret - place.finger for place in row) for row in rows if row]
    far = sum(abs(b - a) >= LEAP for a, b in pairwise(at))
    return 2 * far > max(1, len(at) - 1)


def _over(one: Placement, other: Placement) -> bool:
    """Whether of two places in one position the lower finger has the higher fret."""
    apart = other.fret - one.fret
    if not one.fret or not other.fret or apart * (other.finger - one.finger) >= 0 or abs(apart) > WINDOW:
        return False
    # the usual shift along a string: up onto finger 1, or down from it
    room = all(place.fret >= place.finger for place in (one, other))
    return not (one.string == other.string and 1 in (one.finger, other.finger) and room)


def turned(variation: Variation, scheme: str) -> Variation | None:
    """`variation` under fingers in turn where the turn alone decides, so that there is nothing to search.

    That is a line without chords, held notes and slurs: places stay, and the fingers follow from the first one. None
    for any other line or scheme. The answer is the search's own (tests/axes/test_fret.py), at a fraction of its time.
    """
    found = find_scheme(scheme)
    passage = variation.passage
    if found is None or not found.cycle or passage.slurs or any(note.slurred_from for note in passage.notes):
        return None
    row = held(passage)
    if any(len(group.sounds) > 1 or ringing for group, ringing in row):
        return None
    fingers: dict[str, tuple[int, int]] = {}
    turn = 0
    for group, _ in row:
        place = group.sounds[0].placement
        if place.fret:
            finger = found.cycle[turn % len(found.cycle)]
            fingers[group.sounds[0].note.id] = (finger, max(1, place.fret - finger + 1))
            turn += 1
    position = next(iter(fingers.values()), (0, 1))[1]
    head = heads(passage)
    changed: dict[str, Note] = {}
    for note in passage.notes:
        if note.placement is None:
            continue
        finger, position = fingers.get(head[note.id], (0, position))
        changed[note.id] = replace(note, placement=replace(note.placement, finger=finger, position=position, barre=""))
    return replace(variation, passage=with_notes(passage, changed))


def _setting(scheme: Scheme, *, bend: bool = False) -> Setting:
    # for the translator: {fingering} is a heading, such as "fingers 1 and 3 in turn"
    label = say("{fingering} where it can be", fingering=scheme.label) if bend else scheme.label
    plain = scheme.name == "as given"
    change = unchanged if plain else partial(_under, scheme=scheme.name, bend=bend)
    name = scheme.name + (BENT if bend else "")
    return Setting(AXIS, name, label, scheme.purpose, scheme.cue, change=change, kind=scheme.kind)


def parse(text: str) -> Setting | None:
    """Fingers in turn, or a scheme that may bend."""
    bend = text.endswith(BENT)
    scheme = find_scheme(text.removesuffix(BENT))
    return _setting(scheme, bend=bend and bool(scheme.rule)) if scheme else None


FRET = Axis(
    name=AXIS,
    title=say("Fretting hand"),
    default="as given",
    settings=tuple(_setting(scheme) for scheme in SCHEMES),
    parse=parse,
    grammar=f'{GRAMMAR}; "{BENT.lstrip(", ")}" after a comma where the rule may give way, such as "1-3{BENT}"',
)
