"""The search against every fingering there is, and the laws of its answers."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import assume, given, settings

from engrave.fretting import Taste
from engrave.fretting.alternatives import alternatives, distance
from engrave.fretting.building import SLOW, lattice_of
from engrave.fretting.chances import chances
from engrave.fretting.engine import Task, prepared
from engrave.fretting.fingered import fret
from engrave.fretting.lattice import Lattice
from engrave.fretting.search import cheapest, forward, onward
from engrave.fretting.shapes import NONE, Block, Past, Stop, shapes, start_block
from engrave.fretting.tones import ToneGroup, tones_of
from engrave.instruments import find_hand, find_instrument
from engrave.model import Passage, Pitch, UnplayableError, Variation
from engrave.model.neck import homes
from tests.axes.laws import check
from tests.build import passage
from tests.fretting.rules import fingering_faults, shape_faults
from tests.fretting.strategies import GUITAR, HAND, SMALL, lines, short_lines, task


class Brute:
    """Every fingering of a short passage, one at a time, with the costs of single shapes.

    The charges for unlikely fingers are left out.
    """

    def __init__(self, ready: Task) -> None:
        self.problem = ready.lattice.problem
        self.costs = ready.costs
        self.blocks: dict[object, Block] = {}
        self.seen = 0
        self.best = float("inf")
        self.chances = np.zeros((len(self.problem.tones), 5))
        """for each tone and finger the sum of exp(-cost) over all fingerings with it"""
        self.played: dict[int, Stop] = {}

    def run(self) -> float:
        """The cost of the cheapest of all fingerings."""
        self._from(
            0,
            {},
            start_block(),
            Past(*NONE, rested=False),
            rested=False,
            laid=frozenset(),
            opened={},
            free=True,
            cost=0.0,
        )
        return self.best

    def _from(
        self,
        number: int,
        placed: dict[int, Stop],
        hand: Block,
        before: Past,
        *,
        rested: bool,
        laid: frozenset[int],
        opened: dict[int, int],
        free: bool,
        cost: float,
    ) -> None:
        """`laid`: the tones of the hand's last shape; `free`: none of them sounds any more.

        `opened`: the open strings struck since that sound; `rested`: one was struck, sounding or not.
        """
        if number == len(self.problem.groups):
            self.seen += 1
            self.best = min(self.best, cost)
            for tone, stop in self.played.items():
                self.chances[tone, stop.finger] += math.exp(-cost)
            return
        group, climb = self.problem.groups[number], self.problem.climbs[number]
        held = {tone: placed[tone] for tone in group.held}
        lead = hand.leads[0]
        last = self.problem.groups[number - 1]
        was, heard = (tuple(self.problem.tones[tone].midi for tone in m.struck) for m in (last, group))
        if number and was == heard and set(group.held) <= set(last.held):
            again = dict(zip(last.struck, group.struck, strict=True))
            sounding = held | {tone: placed[old] for old, tone in again.items()}
            self.played |= sounding
            laid = frozenset(again.get(tone, tone) for tone in laid if tone in again or tone in held)
            opened = {again.get(tone, tone): s for tone, s in opened.items() if tone in again or tone in held}
            self._from(
                number + 1, sounding, hand, before, rested=rested, laid=laid, opened=opened, free=not laid, cost=cost
            )
            return
        for stops in product(*(self.problem.stops[tone] for tone in group.struck)):
            sounding = held | dict(zip(group.struck, stops, strict=True))
            if shape_faults(tuple(sounding.values()), SMALL, HAND):
                continue
            self.played |= sounding
            if not any(stop.finger for stop in stops):
                here = cost + float(self.costs.opens(hand, len(stops), climb)[0])
                here += self._let_go(self._rings(lead, group) and lead.string in {stop.string for stop in stops})
                now = {tone: string for tone, string in opened.items() if tone in held}
                now |= {tone: stop.string for tone, stop in zip(group.struck, stops, strict=True)}
                none = not laid & held.keys()
                self._from(number + 1, sounding, hand, before, rested=True, laid=laid, opened=now, free=none, cost=here)
                continue
            choked = {string for tone, string in opened.items() if tone in group.ringing}
            for block in self._shapes(sounding, group.struck):
                time = group.gap if free else group.rest
                moved = self.costs.move(hand, block, time, off_beat=not group.beat, rested=rested)
                recalled = self.costs.recall((before,), block, rested=rested or group.gap >= SLOW)
                here = cost + float(self.costs.shape(block, climb)[0] + moved[0, 0] + recalled[0, 0])
                past = (lead, Stop(*before[:3]))
                gone = [self._rings(stop, group) and self._ends(stop, block, sounding) for stop in past]
                here += self._let_go(*gone, *(stop.string in choked for stop in sounding.values()))
                self._from(
                    number + 1,
                    sounding,
                    block,
                    Past(*lead, rested=rested),
                    rested=False,
                    laid=frozenset(sounding),
                    opened={},
                    free=False,
                    cost=here,
                )

    def _let_go(self, *gone: bool) -> float:
        return self.costs.weights.terms["let_go"] * sum(gone)

    def _rings(self, stop: Stop, group: ToneGroup) -> bool:
        """Is a stop a tone of the broken chord of an onset that had better ring on."""
        pitches = {self.problem.tones[tone].midi for tone in group.ringing}
        return stop.finger > 0 and SMALL.midi(stop.string, stop.fret) in pitches

    def _ends(self, old: Stop, block: Block, sounding: dict[int, Stop]) -> bool:
        """Has a finger to go where a shape is taken: the shape with it added cannot be held as one."""
        if abs(old.fret - old.finger + 1 - int(block.pos[0])) > 1:
            return True
        for stop in sounding.values():
            level = old.fret == stop.fret and stop.finger not in (0, old.finger)
            if level and (old.finger < stop.finger) != (old.string > stop.string):
                return True
            bent = stop.finger == old.finger and (old.finger != 1 or old.fret != stop.fret)
            if bent or shape_faults((old, stop), SMALL, HAND):
                return True
        return False

    def _shapes(self, sounding: dict[int, Stop], struck: tuple[int, ...]) -> list[Block]:
        """The shape of these stops in each hand position it allows."""
        order = sorted(sounding, key=lambda tone: (self.problem.tones[tone].midi, tone))
        made = []
        for position in range(1, 9):
            key = (tuple(sounding[tone] for tone in order), tuple(tone in struck for tone in order), position)
            if key not in self.blocks:
                self.blocks[key] = shapes(
                    tuple((sounding[tone],) for tone in order),
                    key[1],
                    geometry=self.problem.geometry,
                    slot=1,
                    positions=(position, position),
                )
            if self.blocks[key].size:
                made.append(self.blocks[key])
        return made


def uncharged(lattice: Lattice) -> Lattice:
    """The lattice without charges for unlikely fingers."""
    return replace(lattice, steps=tuple(replace(step, fingers=()) for step in lattice.steps))


@settings(max_examples=12, deadline=None)
@given(short_lines())
def test_the_search_finds_the_cheapest_of_all_fingerings(piece: Passage) -> None:
    """Trying out every fingering, chords and held notes included, gives the same least cost and chances of fingers."""
    ready = task(piece)
    assume(not ready.notices)
    brute, bare = Brute(ready), uncharged(ready.lattice)
    assert brute.run() == pytest.approx(cheapest(bare, ready.costs).cost, abs=1e-9)
    assert brute.seen > 0
    likely = chances(bare, ready.costs)
    assert likely is not None
    assert likely == pytest.approx(brute.chances / brute.chances.sum(axis=1)[:, None], abs=1e-9)


@pytest.mark.parametrize("names", ["G3 C4 E4 G3", "G4 B3 G3 B3", "A3 E4 C4 G4"])
def test_the_search_is_exact_where_a_broken_chord_may_stay_down(names: str) -> None:
    """Trying out every fingering, each charged for the notes of the chord it lets go, gives the same least cost."""
    piece = passage(" ".join(f"{name}/8" for name in names.split()) + " r/2")
    ready = prepared(piece, SMALL, HAND)
    problem = ready.lattice.problem
    few = tuple(tuple(stop for stop in ways if stop.finger in (0, 1, 3)) for ways in problem.stops)
    lattice = lattice_of(replace(problem, stops=few), ready.maker)
    assert isinstance(lattice, Lattice)
    ready = replace(ready, lattice=lattice)
    assert any(group.ringing for group in ready.lattice.problem.groups)
    assert Brute(ready).run() == pytest.approx(cheapest(uncharged(ready.lattice), ready.costs).cost, abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(lines())
def test_fingerings_keep_every_rule(piece: Passage) -> None:
    """Placements sound their pitches, shapes can be held, held tones keep string and finger."""
    ready = task(piece, GUITAR)
    path = cheapest(ready.lattice, ready.costs)
    problem = ready.lattice.problem
    stops = [placed.stop for placed in path.placed]
    assert fingering_faults(problem.tones, problem.groups, stops, GUITAR, HAND) == ()


@settings(max_examples=15, deadline=None)
@given(lines())
def test_the_way_there_and_the_way_on_meet_in_the_same_cost(piece: Passage) -> None:
    """At every onset the cheapest sum of what came and what follows is the cost of the whole."""
    ready = task(piece, GUITAR)
    best = cheapest(ready.lattice, ready.costs).cost
    there, on = forward(ready.lattice, ready.costs), onward(ready.lattice, ready.costs)
    for reached, rest in zip(there, on, strict=True):
        least = min(float((a + b).min()) for a, b in zip(reached, rest, strict=True))
        assert least == pytest.approx(best, abs=1e-6)


@settings(max_examples=8, deadline=None)
@given(lines())
def test_other_fingerings_really_differ_and_hang_together(piece: Passage) -> None:
    """Each differs from all before it in three notes of ten, is no cheaper, and moves hardly oftener than the best."""
    ready = task(piece, GUITAR)
    found = alternatives(ready.lattice, ready.costs, ready.best, 3)
    assert (found[0].path, found[0].extra) == (ready.best, 0)
    moves = [sum(a.position != b.position for a, b in pairwise(one.path.placed)) for one in found]
    for index, one in enumerate(found):
        assert one.extra >= -1e-6
        assert moves[index] <= moves[0] + 2
        assert all(distance(one.path, other.path) >= 0.3 for other in found[:index])


@settings(max_examples=8, deadline=None)
@given(lines())
def test_one_position_is_the_best_of_each_position_alone(piece: Passage) -> None:
    """A hand that keeps the position it takes first costs what the best of all searches of one position each costs."""
    ready = task(piece, GUITAR)
    problem = ready.lattice.problem
    apart = [replace(problem, positions=(position, position)) for position in range(1, 20)]
    alone = [lattice for one in apart if isinstance(lattice := lattice_of(one, ready.maker), Lattice)]
    still = lattice_of(replace(problem, still=True), ready.maker)
    assert isinstance(still, Lattice) == bool(alone)
    if isinstance(still, Lattice):
        best = min(cheapest(lattice, ready.costs).cost for lattice in alone)
        assert cheapest(still, ready.costs).cost == pytest.approx(best, abs=1e-9)


SCALE = "C4/8 D4/8 E4/8 F4/8 G4/8 A4/8 B4/8 C5/8 | B4/8 A4/8 G4/8 F4/8 E4/8 D4/8 C4/4"


def stops_of(variation: Variation) -> list[tuple[int, int, int]]:
    """String, fret and finger of each note."""
    return [(p.string, p.fret, p.finger) for n in variation.passage.notes if (p := n.placement)]


def test_a_capo_plays_like_strings_tuned_higher() -> None:
    """A capo at fret 3 gives the frets and fingers of strings tuned higher on a scale shorter by as much."""
    raised = [Pitch.parse(name) for name in ("G4", "D4", "A#3", "F3", "C3", "G2")]
    low = replace(GUITAR, capo=3)
    shorter = replace(GUITAR, strings=tuple(raised), frets=16, scale=650 * 2 ** (-3 / 12))
    piece = passage(SCALE)
    assert stops_of(fret(piece, low, HAND)) == stops_of(fret(piece, shorter, HAND))


def test_a_rest_after_the_end_changes_nothing() -> None:
    """Silence after the last note leaves the fingering as it was."""
    longer = passage(SCALE + " | r/1")
    assert stops_of(fret(longer, GUITAR, HAND)) == stops_of(fret(passage(SCALE), GUITAR, HAND))


def test_the_same_passage_gets_the_same_fingering_twice() -> None:
    """Two runs give equal variations."""
    assert fret(passage(SCALE), GUITAR, HAND) == fret(passage(SCALE), GUITAR, HAND)


@pytest.mark.parametrize("name", ["seven", "seven-a", "dadgbd", "lute", "drop-d"])
def test_other_tunings_and_more_strings_are_played(name: str) -> None:
    """Seven strings and other tunings sound the written pitches."""
    instrument = find_instrument(name)
    for note in fret(
        passage(SCALE, "A2/1 | D2/2 A2/2" if "d" in name else "E3/1 | A2/1"), instrument, HAND
    ).passage.notes:
        assert note.placement is not None
        assert instrument.midi(note.placement.string, note.placement.fret) == note.pitch.midi


def test_taste_changes_the_result() -> None:
    """Low, high, open and closed fingerings of one line differ as asked."""

    def mean(taste: Taste) -> tuple[float, int]:
        stops = stops_of(fret(passage(SCALE), GUITAR, HAND, taste=taste))
        return sum(f for _, f, _ in stops) / len(stops), sum(f == 0 for _, f, _ in stops)

    assert mean(Taste(neck=1))[0] > mean(Taste())[0] >= mean(Taste(neck=-1))[0]
    assert mean(Taste(open=1))[1] > mean(Taste(open=-1))[1]


def test_a_smaller_hand_is_told_what_it_cannot_reach() -> None:
    """What a middling hand stretches to, a small one refuses with place, distance and its own reach."""
    two = replace(SMALL, strings=SMALL.strings[:2], frets=12)
    piece = passage("C4+A4/1")
    assert stops_of(fret(piece, two, HAND)) == [(2, 1, 1), (1, 5, 4)]
    with pytest.raises(UnplayableError) as caught:
        fret(piece, two, find_hand("small"))
    assert str(caught.value) == (
        "test, bar 1, beat 1: C4 and A4 lie at least 127 mm apart, this hand reaches 120 mm "
        "(leave out a note, choose a hand with a wider reach, or read one voice alone with --voice)"
    )


def test_every_fault_of_range_is_named_at_once() -> None:
    """Notes below and above the instrument are all reported, each with its place, the range and a hint."""
    with pytest.raises(UnplayableError) as caught:
        fret(passage("C2/4 C4/4 D8/2"), GUITAR, HAND)
    assert str(caught.value).splitlines() == [
        "test, bar 1, beat 1: C2 lies below the range of the guitar, E2 to B5 "
        "(choose an instrument that has it: --instrument seven; or --octave 1)",
        "test, bar 1, beat 3: D8 lies above the range of the guitar, E2 to B5 "
        "(move the passage down, or choose an instrument with more frets)",
    ]


@pytest.mark.parametrize(
    ("chord", "fact"),
    [
        ("F2+F#2/1", "F2 and F♯2 lie on one string only, which sounds one note at a time"),
        ("E2+A2+D3+G3+B3+E4+A4/1", "E2 A2 D3 G3 B3 E4 A4: 7 notes at once, the guitar has 6 strings"),
    ],
)
def test_chords_that_no_hand_plays_are_refused(chord: str, fact: str) -> None:
    """A chord on too few strings is an error that says so."""
    with pytest.raises(UnplayableError) as caught:
        fret(passage(chord), GUITAR, HAND)
    assert caught.value.faults[0].fact == fact


def test_every_impossible_chord_is_named_at_once() -> None:
    """Two chords that no hand can play give two faults, each with its place."""
    with pytest.raises(UnplayableError) as caught:
        fret(passage("F2+F#2/2 C4/2 | F2+E5+G5+A5/1"), GUITAR, HAND)
    assert [str(fault.place) for fault in caught.value.faults] == ["test, bar 1, beat 1", "test, bar 2, beat 1"]


def test_given_marks_are_law() -> None:
    """String, fret and finger of the source are kept, also against the cheaper way."""
    piece = passage("E4:2..4/4 F4:..2/4 G4/4 B3:.0./4")
    stops = stops_of(fret(piece, GUITAR, HAND))
    assert stops[0] == (2, 5, 4)
    assert stops[1][2] == 2
    assert stops[3] == (2, 0, 0)


def test_marks_that_cannot_hold_are_named_and_left_out() -> None:
    """A string that cannot sound the pitch, and fingers that cannot stand together, each give a notice."""
    one = fret(passage("C4:1../1"), GUITAR, HAND)
    assert [str(n) for n in one.notices] == [
        "test, bar 1, beat 1: C4 cannot be played as marked (string 1); kept: none of it"
    ]
    two = fret(passage("C3:5.3.1+E3:4.2.3/1"), GUITAR, HAND)
    assert [str(n) for n in two.notices] == [
        "test, bar 1, beat 1: the marks given here contradict each other (C3 string 5, fret 3, finger 1; "
        "E3 string 4, fret 2, finger 3): those of C3 are left out"
    ]


def test_a_note_that_cannot_be_held_is_let_go_with_a_notice() -> None:
    """A bass under notes out of its reach ends early, and the book says where."""
    made = fret(passage("r/4 B4/4 A5/2", "F2/1"), GUITAR, HAND)
    assert [str(n) for n in made.notices] == [
        "test, bar 1, beat 2: F2 cannot be held while B4 is played: its finger lets go here"
    ]


def test_a_pitch_struck_again_by_another_voice_lasts_as_long_as_the_longer() -> None:
    """A long B under a short one sounds on after it, and no later note takes its string."""
    piece = passage("r/4 B3/8 C#4/8 D4/4", "B3/2.", metre="3/4")
    tones = [(str(tone.onset), str(tone.end)) for tone in tones_of(piece) if tone.midi == 59]
    assert tones == [("0", "1"), ("1", "3")]
    for taste in (Taste(), Taste(open=1), Taste(open=-1)):
        assert not [law for law in check(fret(piece, GUITAR, HAND, taste=taste)) if "plucked" not in law]


def test_tied_notes_share_one_placement_and_muted_notes_take_no_finger() -> None:
    """A tie keeps string and finger; a damped string is open at its given string."""
    made = fret(passage("C4~/2 C4/2"), GUITAR, HAND)
    first, second = (note.placement for note in made.passage.notes)
    assert first == second
    piece = passage("G3:3../1")
    event = piece.events[0]
    damped = replace(piece, events=(replace(event, notes=(replace(event.notes[0], muted=True),)),))
    assert stops_of(fret(damped, GUITAR, HAND)) == [(3, 0, 0)]


@pytest.mark.parametrize(
    "scale",
    [
        "C3/8 D3/8 E3/8 F3/8 G3/8 A3/8 B3/8 C4/8 | D4/8 E4/8 F4/8 G4/8 F4/8 E4/8 D4/8 C4/8",
        "G2/8 A2/8 B2/8 C3/8 D3/8 E3/8 F#3/8 G3/8 | A3/8 B3/8 C4/8 D4/8 E4/8 F#4/8 G4/4",
        "A2/8 B2/8 C3/8 D3/8 E3/8 F3/8 G3/8 A3/8 | B3/8 C4/8 D4/8 E4/8 F4/8 G4/8 A4/4",
        "A2/8 B2/8 C3/8 D3/8 E3/8 F#3/8 G#3/8 A3/8 | G3/8 F3/8 E3/8 D3/8 C3/8 B2/8 A2/4",
        "F3/8 G3/8 A3/8 Bb3/8 C4/8 D4/8 E4/8 F4/8 | E4/8 D4/8 C4/8 Bb3/8 A3/8 G3/8 F3/4",
    ],
    ids=["C", "G", "A minor", "A minor, melodic", "F"],
)
def test_low_scales_stay_in_first_position_on_open_strings(scale: str) -> None:
    """Scales of keys that lie in the first position are played there, each open string that has the pitch open."""
    made = fret(passage(scale), GUITAR, HAND)
    places = [note.placement for note in made.passage.notes if note.placement]
    assert homes(made.passage.events) == (1,)
    assert all(place.fret <= 5 for place in places)
    for note in made.passage.notes:
        assert note.placement is not None
        if any(GUITAR.midi(string, 0) == note.pitch.midi for string in range(1, 7)):
            assert note.placement.fret == 0
