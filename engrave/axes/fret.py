"""The `fret` axis: which fingers stop the notes, and where. The schemes are those of engrave.fretting."""

from __future__ import annotations

from dataclasses import replace

from engrave.axes.cleanup import decline_unison, without_position_words, without_unplayable_slurs
from engrave.axes.setting import COMMON, Axis, Change, Setting, decline, origin, unchanged
from engrave.fretting import GRAMMAR, SCHEMES, Scheme, find_scheme
from engrave.model import Declined, Note, Variation, with_notes
from engrave.model.said import say
from engrave.textures.onsets import heads, held

AXIS = "fret"
BENT = ", bent"
"""suffix of a scheme that may break its rule where it cannot hold, with a notice for each note"""


def _under(scheme: str, *, bend: bool) -> Change:
    def change(variation: Variation) -> Variation | Declined:
        if not any(note.placement for note in variation.passage.notes):
            return decline(say("the line has no notes to finger"))
        # a line that was moved on purpose stays where it was put
        moved = variation.study.strings != "as written"
        forced = turned(variation, scheme)
        if forced:
            return without_position_words(forced)
        from engrave.fretting import refret  # noqa: PLC0415 (the search is loaded where there is something to search)

        made = refret(variation, scheme, bend=bend, keep_places=moved)
        if isinstance(made, Declined):
            return made
        return decline_unison(made) or without_unplayable_slurs(without_position_words(made))

    return change


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
    return Setting(
        axis=AXIS,
        name=scheme.name + (BENT if bend else ""),
        # for the translator: {fingering} is a heading, such as "fingers 1 and 3 in turn"
        label=say("{fingering} where it can be", fingering=scheme.label) if bend else scheme.label,
        purpose=scheme.purpose,
        cue=scheme.cue,
        source=origin(AXIS, scheme.name) if scheme.source == COMMON else scheme.source,
        kind=scheme.kind,
        apply=unchanged if scheme.name == "as given" else _under(scheme.name, bend=bend),
    )


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
