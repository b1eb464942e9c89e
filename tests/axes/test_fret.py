"""The fret axis: the fretting schemes as settings."""

from __future__ import annotations

from itertools import pairwise

import pytest

from engrave.axes import find, vary
from engrave.axes.fret import FRET, turned
from engrave.fretting import SCHEMES
from engrave.fretting.refingered import refret
from engrave.model import Declined, PlanError, Study, Variation
from tests.axes.laws import check
from tests.axes.lines import line, refusal
from tests.axes.passages import own, under

TURN = "A4/8 E4/8 B4/8 E4/8 C5/8 E4/8 B4/8 E4/8"
CHANGES = [
    ("1", "1 0 1 0 1 0 1 0"),
    ("4", "4 0 4 0 4 0 4 0"),
    ("1-3", "1 0 3 0 1 0 3 0"),
    ("3-1", "3 0 1 0 3 0 1 0"),
    ("1-2-4", "1 0 2 0 4 0 1 0"),
    ("4-2-1", "4 0 2 0 1 0 4 0"),
    ("2-3-1-4", "2 0 3 0 1 0 4 0"),
    ("1-2-4-2", "1 0 2 0 4 0 2 0"),
    ("1-1-4", "1 0 1 0 4 0 1 0"),
    ("box on its strings", "1 0 3 0 4 0 3 0"),
]


@pytest.mark.parametrize(("setting", "fingers"), CHANGES)
def test_fingers_in_turn_stop_the_fretted_notes(setting: str, fingers: str) -> None:
    """Open strings take no turn; frets and strings stay. Asked to bend, a round begins as it is written."""
    before = line(TURN)
    made = vary(before, Study(fret=setting + ", bent" if "-" in setting else setting))
    assert isinstance(made, Variation)
    places = [n.placement for n in made.passage.notes if n.placement]
    assert " ".join(str(p.finger) for p in places) == fingers
    assert [(p.string, p.fret) for p in places] == [
        (n.placement.string, n.placement.fret) for n in before.passage.notes if n.placement
    ]
    assert check(made) == ()


@pytest.mark.parametrize("name", ["alternating", "scale", "ties", "graces", "rests", "high", "triplets"])
@pytest.mark.parametrize("scheme", ["1", "4", "1-2", "4-3", "2-3-4", "4-2-1", "1-2-4-2"])
def test_what_the_turn_decides_is_what_the_search_finds(name: str, scheme: str) -> None:
    """Where no search is made, its answer is the same: strings, frets and fingers, note by note."""
    before = own()[name]
    ours, theirs = turned(before, scheme), refret(before, scheme)
    assert ours is not None
    assert isinstance(theirs, Variation)
    places = [[(n.placement.string, n.placement.fret, n.placement.finger) for n in v.passage.notes if n.placement]
              for v in (ours, theirs)]  # fmt: skip
    assert places[0] == places[1]


def test_a_round_of_the_players_own_holds_where_chords_need_the_search() -> None:
    """Each onset group with a stopped note has its turn; a chord that two fingers must stop is named, or bent at."""
    music = "F4:1.1.1/4 E4/4 G4:1.3.3+C3:5.3.3/4 F4:1.1.1/4"
    strict = vary(line(music), Study(fret="1-2-4-2"))
    assert isinstance(strict, Declined)
    assert strict.place == "bar 1, beat 3"
    made = vary(line(music), Study(fret="1-2-4-2, bent"))
    assert isinstance(made, Variation)
    assert [n.placement.finger for n in made.passage.notes if n.placement][-1] == 4
    held = vary(line("G3:3.0.0+F4:1.1.1/4 G3:3.0.0+G4:1.3.3/4 A4:1.5.4/4 G4:1.3.3/4"), Study(fret="1-2-4-2"))
    assert isinstance(held, Variation)
    assert [n.placement.finger for n in held.passage.notes if n.placement and n.placement.fret] == [1, 2, 4, 2]


IN_TURN = [s.name for s in SCHEMES if len(set(s.cycle)) > 1] + ["1-2-3-4", "4-3-2-1", "1-2-4-2"]


@pytest.mark.parametrize("scheme", IN_TURN)
def test_fingers_in_strict_turn_lie_as_a_hand_lies(scheme: str) -> None:
    """A fret for each lower finger, no leaps at most notes, and no lower finger on a higher fret within a position."""
    kept = 0
    for name in own():
        made = under(name, "fret", scheme)
        if isinstance(made, Declined):
            continue
        kept += 1
        row = [(e, n.placement) for e in made.passage.events for n in e.notes if n.placement and not n.tied_back]
        assert all(p.fret >= p.finger for _, p in row if p.fret), name
        hands = {e.onset: p.position for e, p in reversed(row) if p.fret}
        far = [abs(a - b) > 1 for (_, a), (_, b) in pairwise(sorted(hands.items()))]
        assert len(row) > len(hands) or 2 * sum(far) <= max(1, len(far)), name
        for (event, one), (later, other) in pairwise(row):
            if not one.fret or not other.fret or event.end < later.onset or one.string == other.string:
                continue
            near = abs(one.fret - other.fret) <= 3
            assert not (near and (one.finger - other.finger) * (one.fret - other.fret) < 0), (name, one, other)
    assert kept


@pytest.mark.parametrize(
    ("music", "scheme", "reason"),
    [
        ("F4/4 G4/4", "4-2", "finger 4 on fret 1 leaves the fingers below it no room on the neck"),
        ("C#4:3.6.2/4 E4:2.5.1/4", "1-2", "from C♯4 to E4 fingers 1 and 2 would cross: the lower has the higher fret"),
        ("A4/4 G#4/4", "2-3", "from A4 to G♯4 fingers 2 and 3 would cross: the lower has the higher fret"),
        ("G4/4 A4/4", "2-1", ""),
        ("A4/4 G4/4", "1-3", ""),
        ("A4/8 E4/8 G4/8 E4/8", "2-3", ""),
        ("A4/4 F4/4", "4", ""),
        ("A4/4 E4/4 | C5/4 E4/4 | A4/4 E4/4 | D5/4 E4/4", "1-2", "the hand would leap at most notes"),
    ],
)
def test_which_fingers_in_turn_are_refused(music: str, scheme: str, reason: str) -> None:
    """Along one string the hand shifts onto finger 1 or from it, over an open string as it likes; one alone may all."""
    made = vary(line(music, metre="2/4"), Study(fret=scheme))
    assert (made.reason if isinstance(made, Declined) else "") == reason
    bent = vary(line(music, metre="2/4"), Study(fret=scheme + ", bent"))
    assert isinstance(bent, Variation)


def test_a_round_begins_with_the_finger_that_spares_the_arm() -> None:
    """Where 1 4 would have the hand leap at every note, 4 1 is written if the hand stays."""
    made = vary(line("C5/4 E4/4 A4/4 E4/4 | C5/4 E4/4 A4/4 E4/4", metre="4/4"), Study(fret="1-4"))
    assert isinstance(made, Variation)
    assert [n.placement.finger for n in made.passage.notes if n.placement and n.placement.fret] == [4, 1, 4, 1]


def test_the_box_on_its_strings_moves_no_note() -> None:
    """The box may take another string; this one keeps string and fret of every note, and a finger a fret."""
    before = own()["built in"]
    made, free = (vary(before, Study(fret=name)) for name in ("box on its strings", "box"))
    assert isinstance(made, Variation)
    assert isinstance(free, Variation)
    stays, written, moved = (
        [(n.placement.string, n.placement.fret) for n in v.passage.notes if n.placement] for v in (made, before, free)
    )
    assert stays == written != moved
    assert all(p.fret - p.finger + 1 == p.position for n in made.passage.notes if (p := n.placement) and p.fret)


def test_every_scheme_is_a_setting_with_the_schemes_words() -> None:
    """Names, purpose, cue and kind come from the fretting room."""
    assert [s.name for s in FRET.settings] == [s.name for s in SCHEMES]
    assert [s.purpose for s in FRET.settings] == [s.purpose for s in SCHEMES]


def test_a_rule_that_cannot_hold_declines_or_bends_as_the_plan_says() -> None:
    """Strict names the note; bent prints a notice for it."""
    chord = line("C3:5.3.3+E3:4.2.2+G3+C4:2.1.1/1")
    strict = vary(chord, Study(fret="1"))
    assert isinstance(strict, Declined)
    assert (strict.axis, strict.setting, strict.place) == ("fret", "1", "bar 1, beat 1")
    bent = vary(chord, Study(fret="1, bent"))
    assert isinstance(bent, Variation)
    assert bent.notices
    assert check(bent) == ()


def test_nothing_to_finger_is_declined_but_left_alone_by_default() -> None:
    """A line of rests."""
    assert isinstance(vary(line("r/1"), Study()), Variation)
    assert refusal(line("r/1"), fret="box") == "the line has no notes to finger"


def test_an_unknown_scheme_is_refused() -> None:
    """Five fingers there are not."""
    with pytest.raises(PlanError, match="fret setting '1-5' is not known"):
        find("fret", "1-5")


def test_no_rule_lays_a_finger_over_strings_that_are_not_neighbours() -> None:
    """One finger per fret would lay finger 3 over the sixth and the fourth string, with finger 2 below: refused."""
    figures = "D2:6.0.0+D3:4.0.0+A3:3.2.2/8 D4:2.3.3/8 E4:1.0.0/8 F2:6.3.3+F3:4.3.4+A3:3.2.2/8 D4:2.3.3/8 F4:1.1.1/8"
    made = vary(line(figures, metre="6/8", instrument="drop-d"), Study(fret="box"))
    assert isinstance(made, Declined)
    assert (made.reason, made.place) == ("finger 3 on strings 4 and 6 at once", "bar 1, beat 2")


@pytest.mark.parametrize("finger", [2, 3, 4])
def test_a_finger_that_rests_makes_no_other_lie_over_two_strings(finger: int) -> None:
    """Without a finger each of the others but the first stops one string, or the study is declined."""
    for music in (
        "A3:3.2.2+C4:2.1.1+E3:4.2.3/4 E4/4 E4/2",
        "E3:4.2.2+A3:3.2.3/4 E4/4 E4/2",
        "G3:4.5.4+C4:3.5.3/4 E4/4 E4/2",
    ):
        made = vary(line(music), Study(fret=f"without {finger}"))
        if isinstance(made, Declined):
            continue
        for event in made.passage.events:
            used = [n.placement.finger for n in event.notes if n.placement and n.placement.finger > 1]
            assert len(used) == len(set(used)), (music, used)
