"""What a level keeps for later: studies that a teacher would not hand out unasked.

The plucking little finger, one finger alone and wide reaches are for those who ask, by level or by plan (common
practice); the figures are the house's, in `shared/practice.toml`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from engrave.model import Notice, Player, Variation
from engrave.model.said import say, strung
from engrave.regimen.practice import figure
from engrave.regimen.strains import strains

ADVANCED, INTERMEDIATE, BEGINNER = "advanced", "intermediate", "beginner"
LITTLE = say("the plucking little finger")
MIXED = say("several new things at once")
_WORDS = {ADVANCED: say("advanced"), INTERMEDIATE: say("intermediate"), BEGINNER: say("beginner")}


def level_of(player: Player) -> str:
    """The player's level; intermediate where none is named."""
    return player.level or INTERMEDIATE


def level_word(player: Player) -> str:
    """The player's level in words."""
    return _WORDS[level_of(player)]


def limit(player: Player, name: str) -> float:
    """A figure of the player's level, e.g. "step": beats a minute."""
    return figure(f"level.{level_of(player)}", name)


def kept_back(variation: Variation, kinds: tuple[str, ...], line: Variation, player: Player) -> str:
    """What is too much for the player's level, in a word or two; empty where nothing is."""
    unasked = level_of(player) != ADVANCED
    if unasked and any(finger == "c" for finger, _ in variation.figures.strokes) and "little" in kinds:
        return LITTLE
    if unasked and "single" in kinds:
        return say("one finger alone")
    if sum(kind != "open" for kind in kinds) > limit(player, "mixtures"):
        return MIXED
    if _top(variation) > max(_top(line), limit(player, "top")):
        return say("frets high up")
    strained = strains(variation, kinds, line)
    if unasked and "reach" in strained:
        return say("a wide reach")
    if level_of(player) == BEGINNER and "slurs" in strained:
        return say("slurs in chains")
    widest = max(line.figures.reach, variation.hand.comfortable[1, 4] * limit(player, "reach"))
    if variation.figures.reach > widest + 1e-6:
        return say("a wide reach")
    if _accidentals(variation) > _accidentals(line) + limit(player, "accidentals"):
        return say("keys with many accidentals")
    return ""


def later(found: Iterable[str], player: Player) -> tuple[Notice, ...]:
    """One notice for all that is kept for later, from what was too much in each."""
    counts = Counter(found)
    if not counts:
        return ()
    rows = sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))
    things = strung((say("{thing} ({n})", thing=why, n=n) for why, n in rows), ", ")
    level = level_word(player)
    # for the translator: {things} is a list such as "a wide reach (3), frets high up (2)"; {level} is "beginner"
    named = say(
        "Kept for later, as the plan’s level is {level}: studies with {things}. A plan can ask for each by name.",
        level=level,
        things=things,
    )
    # for the translator: {things} is a list such as "a wide reach (3), frets high up (2)"; {level} is "beginner"
    unnamed = say(
        "Kept for later, as no level is named, so the book is {level}: studies with {things}. A plan can ask for each "
        "by name.",
        level=level,
        things=things,
    )
    return (Notice(text=named if player.level else unnamed),)


def _top(variation: Variation) -> int:
    return max((n.placement.fret for n in variation.passage.notes if n.placement), default=0)


def _accidentals(variation: Variation) -> int:
    """Sharps or flats of the widest signature, and the different notes that do not belong to theirs."""
    bars = variation.passage.bars
    found = {
        (note.pitch.step, note.pitch.alter)
        for event in variation.passage.events
        for note in event.notes
        if note.pitch.alter != bars[event.bar].key.alter(note.pitch.step)
    }
    return len(found) + max((abs(bar.key.fifths) for bar in bars), default=0)
