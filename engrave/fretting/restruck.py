"""A note or chord struck again: the hand stays as it is.

A tremolo, a repeated chord, a note that comes twice: the finger that stops it stays, and the rest of the hand with it.
Counted note by note, a tremolo would weigh how its treble lies to the bass three times and the bass once.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from engrave.fretting.lattice import Edge, LatticeStep, Node, Problem
from engrave.fretting.shapes import Bools
from engrave.fretting.tones import Moment


def struck_again(problem: Problem, last: Moment, moment: Moment) -> bool:
    """Is what was struck at the moment before struck again, with nothing new held and nothing else asked of it."""
    if problem.turn is not None or len(last.struck) != len(moment.struck) or not set(moment.held) <= set(last.held):
        return False
    return all(
        problem.tones[one].midi == problem.tones[other].midi and problem.stops[one] == problem.stops[other]
        for one, other in zip(last.struck, moment.struck, strict=True)
    ) and not any(link.after in moment.struck for link in problem.links)


def repeated(problem: Problem, number: int, before: tuple[Node, ...], living: tuple[Bools, ...]) -> LatticeStep:
    """A moment at which every shape strikes once more what it has just struck."""
    moment = problem.moments[number]
    now = dict(zip(problem.moments[number - 1].struck, moment.struck, strict=True))
    now |= {tone: tone for tone in moment.held}
    nodes = tuple(
        replace(
            src,
            columns=tuple((now[tone], c) for tone, c in src.columns if tone in now),
            opens=tuple((now[tone], s) for tone, s in src.opens if tone in now),
            carried=True,
        )
        for src in before
    )
    edges = tuple(
        Edge(
            src=index,
            dst=index,
            carries=True,
            free=0.0,
            off_beat=not moment.beat,
            heir=np.arange(len(src.memory)),
        )
        for index, src in enumerate(before)
    )
    return LatticeStep(nodes=nodes, edges=edges, alive=living, struck=0, climb=problem.climbs[number])
