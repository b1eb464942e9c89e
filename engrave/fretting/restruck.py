"""A note or chord struck again: the hand stays as it is.

A tremolo, a repeated chord, a note that comes twice: the finger that stops it stays, and the rest of the hand with it.
Counted note by note, a tremolo would weigh how its treble lies to the bass three times and the bass once.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from engrave.fretting.lattice import Edge, LatticeStep, Node, Problem
from engrave.fretting.shapes import Bools
from engrave.fretting.tones import ToneGroup


def struck_again(problem: Problem, last: ToneGroup, group: ToneGroup) -> bool:
    """Is what was struck at the onset before struck again, with nothing new held and nothing else asked of it."""
    if problem.turn is not None or len(last.struck) != len(group.struck) or not set(group.held) <= set(last.held):
        return False
    return all(
        problem.tones[one].midi == problem.tones[other].midi and problem.stops[one] == problem.stops[other]
        for one, other in zip(last.struck, group.struck, strict=True)
    ) and not any(link.after in group.struck for link in problem.links)


def repeated(problem: Problem, number: int, before: tuple[Node, ...], living: tuple[Bools, ...]) -> LatticeStep:
    """An onset at which every shape strikes once more what it has just struck."""
    group = problem.groups[number]
    now = dict(zip(problem.groups[number - 1].struck, group.struck, strict=True))
    now |= {tone: tone for tone in group.held}
    nodes = tuple(
        replace(
            src,
            columns=tuple((now[tone], c) for tone, c in src.columns if tone in now),
            opens=tuple((now[tone], s) for tone, s in src.opens if tone in now),
            still=True,
        )
        for src in before
    )
    edges = tuple(
        Edge(
            src=index,
            dst=index,
            carries=True,
            free=0.0,
            off_beat=not group.beat,
            heir=np.arange(len(src.memory)),
        )
        for index, src in enumerate(before)
    )
    return LatticeStep(nodes=nodes, edges=edges, alive=living, struck=0, climb=problem.climbs[number])
