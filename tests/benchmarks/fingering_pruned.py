"""A lattice cut down to the shapes that matter to a fit: a tenth of the time, and the same weights to what is printed.

A shape stays where some fingering through it costs at most MARGIN more than the cheapest, under the costs as they are,
or under the same costs with a charge for each note that goes against a printed digit; all others are less likely than
exp(-MARGIN). The fit alone uses this: what a fingering agrees with is counted on whole lattices.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from engrave.fretting.building import BlockMaker, lattice_of
from engrave.fretting.lattice import Dead, Lattice, Problem
from engrave.fretting.likeness import Models, charged
from engrave.fretting.pricing import Costs
from engrave.fretting.search import forward, onward
from engrave.fretting.shapes import Block, Bools, Stop, block_of
from engrave.fretting.tones import ToneGroup
from tests.benchmarks.fingering_rows import Row, instrument_of, printed_string

MARGIN = 9.0
"""cost beyond the cheapest fingering up to which a shape stays"""
CHARGES = (3.0, 8.0)
"""charges for a note that is not fingered as printed"""


@dataclass(slots=True)
class _Pruner(BlockMaker):
    """Makes the blocks of a lattice again, with some of their shapes."""

    whole: dict[ToneGroup, Block] = field(default_factory=dict)
    stays: dict[int, Bools] = field(default_factory=dict)
    """serial of a whole block → which shapes stay"""
    made: dict[int, Block] = field(default_factory=dict)

    def block(self, problem: Problem, group: ToneGroup) -> Block:  # noqa: ARG002 as in the class above it
        """The block of an onset's sounding tones, cut down; an empty one where the hand does nothing."""
        block = self.whole.get(group)
        if block is None:
            return block_of(self.start.placed[:0], self.start.pos[:0], self.start.struck)
        if block.serial not in self.made:
            stays = self.stays[block.serial]
            self.made[block.serial] = block_of(block.placed[stays], block.pos[stays], block.struck)
        return self.made[block.serial]


def pruned(row: Row, lattice: Lattice, costs: Costs) -> Lattice:
    """The lattice of a row, cut down under `costs`."""
    stays: dict[int, Bools] = {}
    printed = _printed(row, lattice)
    for one in (lattice, *(charged(lattice, printed, charge) for charge in CHARGES)):
        _mark(one, costs, stays)
    whole = {
        group: node.block
        for step, group in zip(lattice.steps, lattice.problem.groups, strict=True)
        for node in step.nodes
        if not node.still
    }
    found = lattice_of(lattice.problem, _Pruner(whole=whole, stays=stays))
    if isinstance(found, Dead):
        raise AssertionError("the cheapest fingering stays")
    return found


def _mark(lattice: Lattice, costs: Costs, stays: dict[int, Bools]) -> None:
    """Adds the shapes through which a fingering costs little more than the cheapest."""
    reached, rest = forward(lattice, costs), onward(lattice, costs)
    least = min(float(values.min()) for values in reached[-1])
    for step, there, after in zip(lattice.steps, reached, rest, strict=True):
        for node, cost, more in zip(step.nodes, there, after, strict=True):
            near = (cost + more).min(axis=0) <= least + MARGIN
            serial = node.block.serial
            stays[serial] = stays[serial] | near if serial in stays else near


def _printed(row: Row, lattice: Lattice) -> Models:
    """Tone and printed finger, with the place where the string is printed too."""
    made: list[tuple[int, Stop]] = []
    instrument = instrument_of(row)
    for index, tone in enumerate(lattice.problem.tones):
        notes = [row["notes"][int(name)] for name in tone.ids]
        finger = next((note["finger"] for note in notes if note["finger"] is not None), None)
        if finger is None:
            continue
        string = next((s for s in map(printed_string, notes) if s), 0)
        fret = dict(instrument.stops(tone.midi)).get(string)
        if fret is None or (fret > 0) != (finger > 0):
            made.append((index, Stop(0, 0, finger)))
        else:
            made.append((index, Stop(string, fret, finger)))
    return tuple(made)
