"""Practice order within a sitting: warm-up, focus, contrast, and the line as written at the end.

Rules: strong and easy things first, slowly; then what is weak, while the player is fresh, the weakest first, with other
work between two pages that would load the same small muscle; then the rest; the line as written last. Two neighbours
load the same small muscle only where no order of the pages between warm-up and close avoids it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from engrave.model import Player
from engrave.regimen.candidates import Candidate
from engrave.regimen.reasons import contrast
from engrave.regimen.wanted import standing

WARM_UP, FOCUS, CONTRAST, CLOSE = "Warm-up", "Focus", "Contrast", "The line"
_MOST_WARM_UPS = 3
_WEAK_KINDS = ("weak", "little")
_EASY_KINDS = ("strong", "plain", "stroke")
_Item = TypeVar("_Item")


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A candidate in its place."""

    index: int
    """into the candidates that were put in order"""
    section: str
    reason: str


def in_order(candidates: Sequence[Candidate], player: Player) -> tuple[Placed, ...]:
    """Every candidate, once, in practice order."""
    close = [i for i, c in enumerate(candidates) if c.plain]
    rest = [i for i in range(len(candidates)) if i not in close]
    weak = {i: words for i in rest if (words := weakness(candidates[i], player))}
    warm = _warm_ups(candidates, [i for i in rest if i not in weak], player)
    focus = sorted(weak, key=lambda i: (-_share(candidates[i], player, "weak"), i))
    contrast = [i for i in rest if i not in weak and i not in warm]
    before: Candidate | None = None
    placed: list[Placed] = []
    for indices in (warm, focus + contrast, close):
        order = apart(indices, lambda i: candidates[i].load.muscle, before.load.muscle if before else "")
        last = max((order.index(i) for i in focus if i in order), default=-1)
        for at, index in enumerate(order):
            section = CLOSE if index in close else WARM_UP if index in warm else FOCUS if at <= last else CONTRAST
            reason = _reason(section, candidates[index], player, before)
            placed.append(Placed(index=index, section=section, reason=reason))
            before = candidates[index]
    return tuple(placed)


def apart(items: Sequence[_Item], label: Callable[[_Item], Hashable], before: Hashable = "") -> tuple[_Item, ...]:
    """`items` in an order with the fewest neighbours of one label, `before` standing in front.

    An empty label never clashes.
    Of all such orders it is nearly the given one: each place takes the first item that keeps the fewest within reach.
    """
    left = list(items)
    made: list[_Item] = []
    last = before
    while left:
        least = min(_clashes(left, index, label, last) for index in _firsts(left, label))
        index = next(i for i in _firsts(left, label) if _clashes(left, i, label, last) == least)
        item = left.pop(index)
        made.append(item)
        last = label(item)
    return tuple(made)


def _firsts(left: Sequence[_Item], label: Callable[[_Item], Hashable]) -> tuple[int, ...]:
    """The first item of each label: the others are no better."""
    seen: dict[Hashable, int] = {}
    for index, item in enumerate(left):
        seen.setdefault(label(item), index)
    return tuple(sorted(seen.values()))


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


def weakness(candidate: Candidate, player: Player) -> str:
    """What makes the page weak work, in the plan's words or the trade's; empty where nothing does."""
    if player.weak:
        share = _share(candidate, player, "weak")
        if share < _WEAK_SHARE:
            return ""
        return _leading_word(candidate, player)
    if candidate.leading in _WEAK_KINDS:
        return "work for the little finger" if candidate.leading == "little" else "a weak pair"
    return ""


_WEAK_SHARE = 0.4
"""share of a page's transitions, slurs and so on that must be weak for the page to be weak work"""


def _share(candidate: Candidate, player: Player, name: str) -> float:
    """The largest share of one kind of atom that has this standing."""
    total: Counter[str] = Counter()
    found: Counter[str] = Counter()
    for atom, n in candidate.atoms.items():
        total[atom.kind] += n
        if standing(atom, player)[0] == name:
            found[atom.kind] += n
    return max((found[kind] / total[kind] for kind in total), default=0.0)


def _leading_word(candidate: Candidate, player: Player) -> str:
    words: Counter[str] = Counter()
    for atom, n in candidate.atoms.items():
        name, word = standing(atom, player)
        if name == "weak":
            words[word] += n
    return max(words, key=lambda word: (words[word], -player.weak.index(word)))


def easy(candidate: Candidate, player: Player) -> bool:
    """Whether a page is good to begin with: strong by kind of work, or by the plan."""
    return not candidate.plain and (candidate.leading in _EASY_KINDS or _share(candidate, player, "strong") > 0.5)


def _warm_ups(candidates: Sequence[Candidate], among: Sequence[int], player: Player) -> list[int]:
    """The easiest strong pages: about one in ten, three at most."""
    wanted = min(_MOST_WARM_UPS, max(1, len(candidates) // 10)) if len(candidates) > 2 else 0
    strong = [i for i in among if easy(candidates[i], player)]
    strong.sort(key=lambda i: (-_share(candidates[i], player, "strong"), candidates[i].variation.figures.difficulty, i))
    return strong[:wanted]


def _reason(section: str, candidate: Candidate, player: Player, before: Candidate | None) -> str:
    if section == CLOSE:
        return "Last, the line as written: what was practised goes back into the music."
    if section == WARM_UP:
        known = next((w for w in player.strong if _share(candidate, player, "strong") > 0.5), "")
        return (
            f"To warm up: {known} goes well, so play slowly and easily." if known else "To warm up: easy work, slowly."
        )
    if word := weakness(candidate, player):
        return f"While you are fresh: the plan calls {word} weak." if player.weak else f"While you are fresh: {word}."
    return contrast(candidate, before)
