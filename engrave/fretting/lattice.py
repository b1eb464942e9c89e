"""The values of a lattice: what is to be fingered, and every way to finger it as nodes and edges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from engrave.fretting.shapes import NONE, Block, Bools, Floats, Geometry, Ints, Past, Stop
from engrave.fretting.tones import Tone, ToneGroup


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A slur the source asks for between two tones."""

    before: int
    after: int
    kind: str
    """slur, hammer-on, pull-off or slide"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What is to be fingered, and under which rules."""

    tones: tuple[Tone, ...]
    groups: tuple[ToneGroup, ...]
    stops: tuple[tuple[Stop, ...], ...]
    """for each tone the ways it may be sounded"""
    geometry: Geometry
    slot: int = 1
    """frets a finger may sit off its place in the hand position"""
    positions: tuple[int, int] = (1, 99)
    """lowest and highest hand position"""
    still: bool = False
    """the hand keeps the position it takes first"""
    turn: Mapping[int, frozenset[int]] | None = None
    """finger → fingers that may stop the next fretted note; 0 → fingers that may begin"""
    bend: bool = False
    """a note out of its turn is dear rather than forbidden"""
    links: tuple[Link, ...] = ()
    climbs: tuple[float, ...]
    """for each onset how far the music around it climbs beyond the first position, 0 to 1"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Node:
    """A block of shapes at one onset."""

    block: Block
    columns: tuple[tuple[int, int], ...]
    """(tone, column of the block) for the tones of the block that sound at this onset"""
    opens: tuple[tuple[int, int], ...] = ()
    """(tone, string) of open strings that sound and are not in the block"""
    still: bool = False
    """the hand did nothing at this onset"""
    rested: bool = False
    """since its last shape an open string was struck"""
    memory: tuple[Past, ...] = (Past(*NONE, rested=False),)
    """leads that may have come before the lead of the block"""

    @property
    def free(self) -> bool:
        """No tone of the hand's last shape sounds any more, not even an open string that was struck with it."""
        return self.still and not self.columns


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chord:
    """Tones of a broken chord that had better ring on over an edge."""

    leads: Bools
    """which leads of the source's block are such tones"""
    memory: Bools
    """which leads of its memory are"""
    opens: tuple[int, ...]
    """such open strings that were struck at the onset before"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edge:
    """A way from a node of the onset before to one of this onset."""

    src: int
    dst: int
    carries: bool
    """shape i leads to shape i, the hand does nothing"""
    free: float
    """quarters in which no finger was needed before this move"""
    off_beat: bool
    """the move is made off the beat"""
    rested: bool = False
    """an open string has just been struck"""
    slow: bool = False
    """the note before stood long enough for a finger that was not needed to get anywhere"""
    heir: Ints
    """where it carries: for each memory of the source its place in the memory of the target; else the same for each
    lead of the source's block"""
    struck: tuple[int, ...] = ()
    """where it carries: the open strings struck"""
    mask: Bools | None = None
    """n × m, or n where it carries: which moves are allowed; None: all"""
    bent: Bools | None = None
    """n × m: moves that break the turn, where it may bend"""
    chord: Chord | None = None
    """what had better ring on; None: nothing"""
    links: tuple[tuple[Link, int, int], ...] = ()
    """slurs into this onset: (link, column or -string before, column or -string after)"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LatticeStep:
    """One onset of the lattice."""

    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]
    alive: tuple[Bools, ...]
    """for each node which shapes can be reached"""
    struck: int
    """open strings struck by a node at which the hand is still; 0 where what was struck is struck again"""
    climb: float
    """how far the music around the onset climbs"""
    models: tuple[tuple[int, Stop], ...] = ()
    """(tone, stop): how the same note is stopped where its figure comes elsewhere; string 0: the finger alone counts"""
    charge: float = 0.0
    """cost of each tone that is not stopped like its model"""
    fingers: tuple[tuple[int, Floats], ...] = ()
    """(tone, cost of each finger, 0 to 4): how unlikely it is over all fingerings"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dead:
    """The onset at which no shape can be reached."""

    group: int
    steps: tuple[LatticeStep, ...]
    """the steps before it"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lattice:
    """All steps."""

    problem: Problem
    start: Node
    """the hand before the first note"""
    steps: tuple[LatticeStep, ...]
