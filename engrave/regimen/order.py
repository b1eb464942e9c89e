"""The course of a book: the line, warm-up, focus, contrast, and the line again.

Rules: the line comes first, fingered and slow; then what is strong and easy; then what is weak or a goal, while the
player is fresh, the weakest first; then the rest, from easy to hard. Two neighbours load the same small muscle only
where no order of the focus pages avoids it, and in the contrast where the next page up is as good.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Hashable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from engrave.model import Player
from engrave.model.said import say
from engrave.regimen.beyond import Base, asked
from engrave.regimen.candidate import Candidate
from engrave.regimen.page_reasons import for_contrast, for_warm_up, for_word

OPEN, WARM_UP = say("The line"), say("Warm-up")
FOCUS, CONTRAST, CLOSE = say("Focus"), say("Contrast"), say("The line again")
BLOCK = "block"
"""what broken chords begin with: struck together"""
_MOST_WARM_UPS = 3
_EASY_KINDS = ("strong", "plain", "stroke", "open")
_ON_OPEN = ("weak", "thumb")
"""kinds that are easy as well on one open string"""
_EASY = 2.5
"""points of difficulty up to which a page can be easy; house figure"""
_UNASKED = 4.0
"""points of difficulty up to which a page is work on what the house calls a goal; house figure"""
_NEAR = 0.6
"""points of difficulty by which the contrast may step back to keep neighbours apart"""
_Item = TypeVar("_Item")
FIRST = say("The line itself, with the fingers of both hands: all the other pages come out of it.")
LAST = say("What was practised goes back into the music.")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPage:
    """A candidate in its place."""

    index: int
    """into the candidates that were put in order"""
    section: str
    reason: str


def in_order(
    candidates: Sequence[Candidate], player: Player, base: Base, *, first: Collection[int] = ()
) -> tuple[PlacedPage, ...]:
    """Every candidate, once, in practice order; `first` are those that a day begins with, where there are days."""
    plain = [i for i, c in enumerate(candidates) if c.plain]
    rest = [i for i in range(len(candidates)) if i not in plain]
    words = {i: word for i in rest if (word := purpose(candidates[i], player))}
    idle = [i for i in rest if i not in words]
    warm = [i for i in idle if i in first and easy(candidates[i], player)] or warm_ups(candidates, idle, player)
    if not warm and len(words) > 1:
        # where nothing else is easy, the easiest of what was asked for
        spare = [i for i in words if easy(candidates[i], player) and (not first or i in first)]
        warm = sorted(spare, key=lambda i: (candidates[i].difficulty, i))[:1]
        words = {i: word for i, word in words.items() if i not in warm}
    ranks = [word for _, word, _ in asked(player)]
    focus = sorted(words, key=lambda i: (ranks.index(words[i]), candidates[i].difficulty, i))
    contrast = sorted(set(rest) - {*words, *warm}, key=lambda i: (candidates[i].difficulty, i))

    def muscle(index: int) -> str:
        return candidates[index].load.muscle

    before = next(map(muscle, [*warm[::-1], *plain[::-1]]), "")
    sections: tuple[tuple[str, Sequence[int], Callable[[int], str]], ...] = (
        (OPEN, plain, lambda _: FIRST),
        (WARM_UP, warm, lambda i: for_warm_up(candidates[i], player)),
        (FOCUS, apart(focus, muscle, before), lambda i: for_word(candidates[i], words[i], base)),
        (CONTRAST, rising(contrast, candidates), lambda i: for_contrast(candidates[i], candidates)),
    )
    return tuple(
        PlacedPage(index=i, section=section, reason=reason(i)) for section, order, reason in sections for i in order
    )


def purpose(candidate: Candidate, player: Player) -> str:
    """The word of the plan, or of the house, for what the page is work on: weak things first; empty for none.

    What nobody asked for is in the focus only where it is not hard: the rest of it comes when the course has risen.
    """
    named = {*player.weak, *player.goals}
    for standing in ("weak", "goal"):
        found = [
            word
            for name, word, _ in asked(player)
            if name == standing and word in candidate.serves and (word in named or candidate.difficulty <= _UNASKED)
        ]
        if found:
            # of equals the one the plan names first
            return max(found, key=lambda word: candidate.serves[word])
    return ""


def rising(indices: Sequence[int], candidates: Sequence[Candidate]) -> list[int]:
    """`indices`, which rise in difficulty, with neighbours of one small muscle parted where that costs little."""
    left, made = list(indices), list[int]()
    while left:
        last = candidates[made[-1]].load.muscle if made else ""
        ceiling = candidates[left[0]].difficulty + _NEAR
        near = [i for i in left if candidates[i].difficulty <= ceiling]
        pick = next((i for i in near if not last or candidates[i].load.muscle != last), left[0])
        left.remove(pick)
        made.append(pick)
    return made


def apart(items: Sequence[_Item], label: Callable[[_Item], Hashable], before: Hashable = "") -> tuple[_Item, ...]:
    """`items` in an order with the fewest neighbours of one label, `before` standing in front.

    An empty label never clashes.
    Of all such orders it is nearly the given one: each place takes the first item that keeps the fewest within reach.
    """
    left = list(items)
    made: list[_Item] = []
    last = before
    while left:
        # the first item of each label: the others are no better
        firsts: dict[Hashable, int] = {}
        for index, item in enumerate(left):
            firsts.setdefault(label(item), index)
        clashes = {index: _clashes(left, index, label, last) for index in firsts.values()}
        item = left.pop(min(clashes, key=clashes.__getitem__))
        made.append(item)
        last = label(item)
    return tuple(made)


def _clashes(left: Sequence[_Item], index: int, label: Callable[[_Item], Hashable], last: Hashable) -> int:
    """Clashes if item `index` comes next: the one with `last`, and the fewest the others then force."""
    now = label(left[index])
    counts = Counter(label(item) for i, item in enumerate(left) if i != index)
    others = sum(counts.values())
    # n items of one label need n - 1 others between them, one more where the label has just been
    forced = max(
        (n - (others - n) - (0 if name == now else 1) for name, n in counts.items() if name),
        default=0,
    )
    return int(bool(now) and now == last) + max(0, forced)


def easy(candidate: Candidate, player: Player) -> bool:
    """Whether a page is good to begin with: one thing at a time, strong by kind of work or by the plan."""
    if candidate.plain or candidate.strains or len(candidate.kinds) > 2 or candidate.study.pluck.startswith("worst "):
        return False
    known = _EASY_KINDS + (_ON_OPEN if "open" in candidate.kinds else ())
    if candidate.study.rhythm == "planting":
        # each finger set down before it plays: common practice to begin with, and tremolo has little else that is easy
        known += ("rhythm",)
    if candidate.study.pluck == BLOCK:
        # whole grips before they are broken (common practice)
        known += ("chord",)
    simple = candidate.difficulty <= _EASY or "open" in candidate.kinds
    return simple and (_strong(candidate, player) > 0 or all(kind in known for kind in candidate.kinds))


def warming(candidates: Sequence[Candidate], player: Player) -> tuple[int, ...]:
    """What a choice can begin with, ascending: easy pages that are no work on anything asked for, if there are any."""
    found = [i for i, c in enumerate(candidates) if easy(c, player)]
    return tuple([i for i in found if not purpose(candidates[i], player)] or found)


def warm_ups(candidates: Sequence[Candidate], among: Sequence[int], player: Player) -> list[int]:
    """The easiest strong pages: about one in ten, three at most; what the plan calls strong first."""
    wanted = min(_MOST_WARM_UPS, max(1, len(candidates) // 10)) if len(candidates) > 2 else 0
    strong = [i for i in among if easy(candidates[i], player)]
    block = {i for i in strong if candidates[i].study.pluck == BLOCK}
    strong.sort(key=lambda i: (-_strong(candidates[i], player), i not in block, candidates[i].difficulty, i))
    return strong[:wanted]


def _strong(candidate: Candidate, player: Player) -> float:
    return max((candidate.serves.get(word, 0.0) for name, word, _ in asked(player) if name == "strong"), default=0.0)
