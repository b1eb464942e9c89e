"""The loop of a hard spot: its notes and no others, in a bar of their own that is full."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product
from pathlib import Path

import pytest

from engrave.axes import ORDER, vary
from engrave.axes.stroke import STROKE
from engrave.model import Marks, Passage, Spot, Study, Variation, with_notes
from engrave.model.hand_signs import barre_marks, position_marks
from engrave.model.strokes import stroke_words
from engrave.model.texture import BROKEN, TREMOLO
from engrave.model.wording import numeral
from engrave.plates.over_staff import position_spans
from engrave.plates.score import IndexedScore
from engrave.reading import read
from engrave.regimen.loops import loop_of
from engrave.regimen.spots import spots
from engrave.textures.lookup import kind_of, stretches
from engrave.textures.onsets import onset_groups
from tests.axes.laws import check
from tests.axes.lines import line as plain
from tests.axes.passages import barred, broken, fingered, own, under
from tests.axes.test_laws import MIXTURES
from tests.build import passage
from tests.regimen.lines import example, varied

SETTINGS = [(axis.name, setting.name) for axis in ORDER for setting in axis.settings]
EACH = 1 if MIXTURES >= 2000 else 3
"""in the default run each setting is tried on every third passage, in the long run on all"""
NAMES = ("built in", "alternating", "scale", "waltz", "compound", "pickup", "chords", "two voices", "moving bass")


def found(variation: Variation) -> tuple[Spot, ...]:
    """The hard spots at 72."""
    return spots(variation, tempo=72, beat=Fraction(1), line=[n.id for n in variation.passage.notes])


def loop_about(made: Variation, notes: Iterable[str]) -> Variation | None:
    """The loop of these notes of a page, whatever is hard there."""
    return loop_of(made, Spot(kind="shift", notes=tuple(notes)))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("study", [Study(), Study(pluck="a-m-i"), Study(rhythm="dotted")], ids=lambda s: s.asked)
def test_a_loop_is_the_spot_and_keeps_both_hands(name: str, study: Study) -> None:
    """Every note of the spot is in it, with the fingers it has on the page, in full bars that go round."""
    made = vary(own()[name], study)
    if not isinstance(made, Variation):
        return
    for spot in found(made):
        cut = loop_of(made, spot)
        assert cut is not None
        assert check(cut) == ()
        bars = cut.passage.bars
        assert len(bars) == 1 or {bar.metre for bar in bars} <= {bar.metre for bar in made.passage.bars}
        assert all(bar.length == bar.metre.length for bar in bars)
        ends = [(bar.repeat_start, bar.repeat_end) for bar in bars]
        assert (ends[0][0], ends[-1][1], sum(map(any, ends))) == (True, 2, min(2, len(bars)))
        now = {n.id: (n.pitch, n.placement, n.stroke) for n in cut.passage.notes if not n.tied_back}
        page = {n.id: (n.pitch, n.placement, n.stroke) for n in made.passage.notes}
        assert set(now) == set(spot.notes)
        assert all(page[name] == here for name, here in now.items())


@pytest.mark.parametrize("name", [*NAMES, "arpeggio", "tremolo"])
@pytest.mark.parametrize("study", [Study(), Study(rhythm="dotted"), Study(strings="up 5")], ids=lambda s: s.asked)
def test_a_loop_holds_what_it_names_and_whole_figures(name: str, study: Study) -> None:
    """Both notes of a shift, a crossing or a reach are in it; it begins and ends with a figure where there are some.

    Of a line it is three onset groups or as many as the reason needs, fewer only where its stretch of one texture has
    fewer; a change of texture is in none.
    """
    made = vary(broken()[name] if name in broken() else own()[name], study)
    if not isinstance(made, Variation):
        return
    where = kind_of(made)
    row = onset_groups(made.passage)
    figures = [f for span in stretches(made) if span.kind in (BROKEN, TREMOLO) for f in span.figures]
    for spot in found(made):
        assert spot.named
        assert set(spot.named) <= set(spot.notes)
        touched = [figure for figure in figures if set(figure) & set(spot.notes)]
        assert all(set(figure) <= set(spot.notes) for figure in touched)
        spans = {where[n] for n in spot.notes if n in where}
        whole = [m for m in row if any(where.get(s.note.id) in spans for s in m.sounds)]
        loop = [m for m in row if any(s.note.id in spot.notes for s in m.sounds)]
        assert len(spans) == 1 or len(loop) == 2
        assert len(loop) >= min(3, len(whole)) or len(spans) > 1 or touched


def test_a_shift_behind_open_strings_is_in_its_loop() -> None:
    """The hand leaves position XIV, two open strings sound, and it comes down in I: the loop begins in XIV."""
    high = "G#5:1.16.4/8 G5:1.15.2/8 B3:2.0.0/8 B3:2.0.0/8 F4:1.1.1/8 B3:2.0.0/8 G4:1.3.3/8 B3:2.0.0/8"
    line = plain(high)
    # without letters only the fretting hand has its costs
    bare = {note.id: replace(note, stroke=None) for note in line.passage.notes}
    made = replace(line, passage=with_notes(line.passage, bare))
    moves = [spot for spot in found(made) if spot.kind == "shift"]
    ids = [note.id for note in made.passage.notes]
    assert moves
    for spot in moves:
        assert {ids[1], ids[4]} <= set(spot.notes)


def test_a_closing_chord_is_in_no_loop() -> None:
    """Chords broken, then one struck to end on: loops are of broken ones, and no finger of a grip follows another."""
    file = Path(__file__).parents[2] / "examples" / "mill-race.tab"
    made = vary(fingered(read(file.read_bytes(), file.name)), Study())
    assert isinstance(made, Variation)
    last = {n.id for n in made.passage.events[-1].notes}
    assert found(made)
    for spot in found(made):
        assert not last & set(spot.notes)
        assert " follows " not in spot.reason


def test_a_loop_over_a_bar_line_is_one_bar_between_repeats() -> None:
    """Four eighths, two on each side, are a bar of 2/4 that is played round and round."""
    made = varied(plain("E4/2 E4/4 E4/8 F4/8 | G4/8 E4/8 E4/4 E4/2"), Study())
    ids = [n.id for n in made.passage.notes][2:6]
    cut = loop_about(made, ids)
    assert cut is not None
    (bar,) = cut.passage.bars
    assert (bar.metre.beats, bar.metre.unit, bar.repeat_start, bar.repeat_end) == ((2,), 4, True, 2)
    assert [e.duration for e in cut.passage.events] == [Fraction(1, 2)] * 4


def test_what_makes_no_bar_has_no_loop() -> None:
    """A slur that leads in from outside: the first note would be plucked by nobody."""
    made = varied(plain("F4/8 E4/8 G4/8 E4/8 F4/8 E4/8 G4/8 E4/8"), Study(slurs="to open"))
    slurred = [n.id for n in made.passage.notes if n.slurred_from]
    after = [n.id for n in made.passage.notes]
    at = after.index(slurred[0])
    assert loop_about(made, after[at : at + 3]) is None


def test_no_loop_leads_a_slur_out() -> None:
    """The note it leads to would be missing."""
    made = varied(plain("F4/8 E4/8 G4/8 E4/8 F4/8 E4/8 G4/8 E4/8"), Study(slurs="to open"))
    ids = [n.id for n in made.passage.notes]
    assert {ids[0], ids[2]} <= {n.slurred_from for n in made.passage.notes}
    assert [loop_about(made, ids[:n]) is None for n in (3, 4)] == [True, False]


@pytest.mark.parametrize("name", NAMES)
def test_no_loop_of_a_page_cuts_a_slur_or_asks_a_finger_twice_where_it_begins_again(name: str) -> None:
    """Fingers take turns where a loop goes round if they do within it, but in whole tuplets of an odd number of notes.

    A chain of slurs is in it or not.
    """
    for axis, setting in SETTINGS[NAMES.index(name) % EACH :: EACH]:
        made = under(name, axis, setting)
        if not isinstance(made, Variation):
            continue
        # a slur out of a tied note leaves its last piece
        slurs = [(n.slurred_from.split(".")[0], n.id) for n in made.passage.notes if n.slurred_from]
        for spot in found(made):
            inside = set(spot.notes)
            assert all((one in inside) == (other in inside) for one, other in slurs), (axis, setting)
            if len({kind_of(made).get(n) for n in inside}) > 1 or touches_figures(made, inside):
                continue
            plucked = [
                {s.note.stroke.finger for s in group.plucked if s.note.stroke}
                for group in onset_groups(made.passage)
                if any(s.note.id in inside for s in group.sounds) and group.plucked
            ]
            # none begins or ends within a tuplet, and beside one there is not always a choice
            if len(plucked) % 2 and any(event.tuplets for event in made.passage.events):
                continue
            turning = len(plucked) > 1 and all(one != other for one, other in pairwise(plucked))
            assert not (turning and plucked[0] == plucked[-1]), (axis, setting, plucked)


def touches_figures(made: Variation, notes: set[str]) -> bool:
    """Whether some of `notes` lie in a broken chord or a tremolo: their loops are whole figures."""
    figures = [f for span in stretches(made) if span.kind in (BROKEN, TREMOLO) for f in span.figures]
    return any(notes & set(figure) for figure in figures)


def test_chords_go_round_in_bars_of_their_page_and_in_plain_values() -> None:
    """Halves, and a whole at the end that is cut to one: two bars of 4/4, no tie, no ten quarters in a bar."""
    made = varied(plain("C4+E4/2 D4+F4/2 | C4+G4/2 D4+F4/2 | C4+E4/1"), Study())
    ids = [n.id for e in made.passage.events[1:] for n in e.notes]
    cut = loop_about(made, ids)
    assert cut is not None
    assert [(bar.label, bar.metre.beats, bar.repeat_start, bar.repeat_end) for bar in cut.passage.bars] == [
        ("1", (4,), True, 0),
        ("2", (4,), False, 2),
    ]
    assert [event.duration for event in cut.passage.events] == [Fraction(2)] * 4
    assert not any(note.tied_on for note in cut.passage.notes)


def test_a_long_chord_is_not_tied_in_its_loop_where_another_metre_holds_it_whole() -> None:
    """Two quarters, a chord of three, and another: six quarters in 6/4 would cut the long one, 3/2 does not."""
    made = varied(plain("C4+E4/4 D4+F4/4 C4+E4/4 | F4+A4/2. | C4+E4/4 D4+F4/4 C4+E4/4", metre="3/4"), Study())
    ids = [n.id for e in made.passage.events[1:5] for n in e.notes]
    cut = loop_about(made, ids)
    assert cut is not None
    assert [str(bar.metre) for bar in cut.passage.bars] == ["3/2"]
    assert [event.duration for event in cut.passage.events] == [1, 1, 3, 1]


GRIPS = b"""metre: 3/4
key: G major

r: q q q   h.      q q q   q q q
e|-3-2-0-|-3-----|-1-1-0-|-5-5-3-|
B|-0-3-1-|-0-----|-1-1-0-|-5-5-3-|
G|-0-2-0-|-0-----|-2-2-1-|-5-5-4-|
D|-0-0-2-|-0-----|-3-3-2-|-7-7-5-|
A|-2---3-|-2-----|-3-3-2-|-7-7-5-|
E|-3-----|-3-----|-1-1-0-|-5-5-3-|
"""


def test_a_barre_is_called_in_the_loop_what_the_page_calls_it() -> None:
    """The page brackets a barre from laying to lifting by one name; a loop of part of it has no other."""
    made = varied(fingered(read(GRIPS, "grips.tab")), Study())
    kinds = {(barre.kind, barre.fret) for barre in barre_marks(made.passage.events)}
    groups = [tuple(sound.note.id for sound in group.sounds) for group in onset_groups(made.passage)]
    loops = [cut for one, other in pairwise(groups) if (cut := loop_about(made, one + other))]
    laid = [{(b.kind, b.fret) for b in barre_marks(cut.passage.events)} for cut in loops]
    assert any(laid)
    assert all(here <= kinds for here in laid)


@pytest.mark.parametrize("name", ["built in", "scale", "quick scale", "high", "barres", "slow-barge.tab"])
def test_a_loop_has_the_numerals_of_its_page(name: str) -> None:
    """Those over its notes; before them only, once, the last sign of the page, if the hand still is there."""
    line = example(name) if "." in name else barred() if name == "barres" else own()[name]
    shown = 0
    for axis, setting in SETTINGS:
        made = vary(line, Study(**{axis: setting}))  # type: ignore[arg-type]
        if not isinstance(made, Variation):
            continue
        events = made.passage.events
        marks = {event.onset: place for event, place in position_marks(events)}
        signs = [*marks.items(), *((barre.first.onset, barre.fret) for barre in barre_marks(events))]
        for cut in (loop for spot in found(made) if (loop := loop_of(made, spot)) is not None):
            first = next(note.id for event in cut.passage.events for note in event.notes)
            start = next(event.onset for event in events for note in event.notes if note.id == first)
            told = position_spans(IndexedScore(cut.passage, Marks()))
            extra = [(s.start, s.text) for s in told if numeral(marks.get(start + s.start, 0)) != s.text]
            inside = {event.onset for event in cut.passage.events if event.notes}
            assert {at - start for at in marks} & inside <= {s.start for s in told}, (made.title, told)
            assert extra == [(s.start, s.text) for s in told[:1]][: len(extra)], (made.title, told)
            for at, text in extra:
                before = sorted(sign for sign in signs if sign[0] <= start + at)
                assert numeral(before[-1][1]) == text, (made.title, told, before)
            shown += len(told)
    assert shown or name in ("built in",)


@pytest.mark.parametrize("name", NAMES)
def test_a_loop_lasts_whole_beats(name: str) -> None:
    """A rest behind the notes fills the last beat."""
    made = vary(own()[name], Study(rhythm="planting"))
    if not isinstance(made, Variation):
        return
    for spot in found(made):
        cut = loop_of(made, spot)
        assert cut is not None
        first = next(e for e in made.passage.events if any(n.id in spot.notes for n in e.notes))
        beats = sum(bar.length for bar in cut.passage.bars) / made.passage.bars[first.bar].metre.beat
        assert beats.denominator == 1


def test_a_loop_counts_the_beats_of_its_page() -> None:
    """Of whole dotted beats, however they lie over a bar line: two of them are 6/8 and no 3/4; one is 3/8."""
    made = varied(plain("E4/8 F4/8 G4/8 A4/8 G4/8 F4/8 | E4/4. F4/4.", metre="6/8"), Study())
    ids = [n.id for n in made.passage.notes]
    for cut, metre in ((ids[3:7], "6/8"), (ids[:3], "3/8"), (ids[3:], "9/8")):
        loop = loop_about(made, cut)
        assert loop is not None
        assert {str(bar.metre) for bar in loop.passage.bars} == {metre}


def test_no_loop_cuts_a_tuplet() -> None:
    """A loop holds all of a tuplet or nothing of it, and where it is cut by hand it makes no bar."""
    music = fingered(passage("3(D4/8 C4/8 B3/8) A3/4 G#3/4 A3/4 | 3(C4/8 D4/8 E4/8) F4/4 3(E4/8 D4/8 C4/8) B3/4"))
    for made in (vary(music, Study()), vary(own()["alternating"], Study(rhythm="in threes"))):
        assert isinstance(made, Variation)
        events = [event for event in made.passage.events if event.notes]
        assert found(made)
        for spot in found(made):
            inside = [any(note.id in spot.notes for note in event.notes) for event in events]
            within, without = (
                {t.id for event, one in zip(events, inside, strict=True) if one is side for t in event.tuplets}
                for side in (True, False)
            )
            assert within
            assert not within & without
            assert loop_of(made, spot) is not None
        ids = [n.id for n in made.passage.notes]
        for half in (ids[1:4], ids[:2]):
            assert loop_about(made, half) is None


def words_over(passage: Passage) -> dict[str, str]:
    """Note → the word on strokes in force over it; free where none is."""
    said = stroke_words(passage)
    return {
        note.id: next((word.text for word in reversed(said) if word.onset <= event.onset), "free stroke")
        for event in passage.events
        for note in event.notes
    }


def test_over_each_note_of_a_loop_stands_the_word_on_strokes_that_its_page_has_there() -> None:
    """The word in force at its first note, wherever that lies, and each change within it; for all kinds of strokes."""
    lines = {**own(), **broken()}
    scale, chord = "C4/8 D4/8 E4/8 F4/8 G4/8 F4/8 E4/8 D4/8", "C3+E3+G3+C4/4"
    # chords are free strokes: the word changes with the second bar
    lines["mixed"] = fingered(passage(" | ".join([scale, " ".join([chord] * 4), scale, scale])))
    changed = 0
    for name, setting in product(("chords", "two voices", "scale", *broken(), "mixed"), STROKE.settings):
        made = vary(lines[name], Study(stroke=setting.name))
        if not isinstance(made, Variation):
            continue
        page = words_over(made.passage)
        groups = [[s.note.id for s in group.sounds] for group in onset_groups(made.passage)]
        for at in range(0, len(groups) - 5, 4):
            notes = tuple(note for group in groups[at : at + 6] for note in group)
            cut = loop_about(made, notes)
            if cut is not None:
                struck = {note.id for note in cut.passage.notes if not note.tied_back}
                now = {note: word for note, word in words_over(cut.passage).items() if note in struck}
                assert now == {note: page[note] for note in now}, (name, setting.name, at)
                changed += len({*now.values()}) > 1
    assert changed


@pytest.mark.parametrize("setting", ["hammer-ons", "pull-offs"])
def test_a_loop_of_a_slurred_page_holds_a_slur(setting: str) -> None:
    """What is gone round and round is what the page is for, though a plucked place may cost the hands more."""
    for name in ("scale", "built in", "alternating"):
        made = vary(own()[name], Study(slurs=setting))
        if isinstance(made, Variation):
            slurred = {note.id for note in made.passage.notes if note.slurred_from}
            assert all(slurred.intersection(spot.notes) for spot in found(made)), name


def test_a_loop_lies_where_the_study_reaches() -> None:
    """A study of the line in a passage that begins with a chord is gone round in the line."""
    before = fingered(
        passage("C3+E3+G3+C4/4 C3+E3+G3+C4/4 F3+A3+C4+F4/4 C3+E3+G3+C4/4 | C4/8 D4/8 E4/8 F4/8 G4/8 F4/8 E4/8 D4/8")
    )
    made = varied(before, Study(pluck="m-a"))
    line_bar = {note.id for event in made.passage.events if event.bar for note in event.notes}
    assert all(line_bar.intersection(spot.notes) for spot in found(made))
    assert found(made)
