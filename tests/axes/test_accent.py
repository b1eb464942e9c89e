"""Accents and strokes: what each setting marks, and what it leaves alone."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from engrave.axes import vary
from engrave.axes.stroke import STROKE
from engrave.model import Declined, Event, Study, Variation
from engrave.textures.onsets import onset_groups
from tests.axes.laws import check
from tests.axes.lines import line, refusal
from tests.axes.passages import own

TURN = "F4/8 E4/8 G4/8 E4/8 A4/8 E4/8 G4/8 E4/8"
ACCENTS = [
    ("fretted notes", TURN, "4/4", ">F4 E4 >G4 E4 >A4 E4 >G4 E4"),
    ("open notes", TURN, "4/4", "F4 >E4 G4 >E4 A4 >E4 G4 >E4"),
    ("beats", TURN, "4/4", ">F4 E4 >G4 E4 >A4 E4 >G4 E4"),
    ("beats", "F4/8 E4/8 G4/8 A4/8 E4/8 G4/8", "6/8", ">F4 E4 G4 >A4 E4 G4"),
    ("against the metre", TURN, "4/4", "F4 >E4 G4 >E4 A4 >E4 G4 >E4"),
    ("against the metre", "F4/8 E4/8 G4/8 A4/8 E4/8 G4/8", "6/8", "F4 E4 >G4 A4 E4 >G4"),
    ("every 2", TURN, "4/4", ">F4 E4 >G4 E4 >A4 E4 >G4 E4"),
    ("every 3", TURN, "4/4", ">F4 E4 G4 >E4 A4 E4 >G4 E4"),
    ("every 3 from 2", TURN, "4/4", "F4 >E4 G4 E4 >A4 E4 G4 >E4"),
    ("none", "F4/4> E4/4 G4/4> E4/4", "4/4", "F4 E4 G4 E4"),
    ("as written", "F4/4> E4/4 G4/4> E4/4", "4/4", ">F4 E4 >G4 E4"),
    ("beats", "F4/8> E4/8> G4/8 E4/8", "2/4", ">F4 E4 >G4 E4"),
]
NO_ACCENTS = [
    ("fretted notes", "E4/4 E4/4 B3/4 B3/4", "no plucked note of the line is fretted: there is nothing to bring out"),
    ("fretted notes", "F4/4 G4/4 A4/4 F4/4", "it would accent every note, which is the same as none"),
    ("open notes", "F4/4 G4/4 A4/4 F4/4", "no plucked note of the line is open: there is nothing to bring out"),
    ("against the metre", "F4/4 E4/4 G4/4 E4/4", "no plucked note of the line falls between the beats"),
    ("first finger", "F4/4 E4/4 G4/4 E4/4", "the plucking fingers follow no cycle: there is no first finger to accent"),
    ("every 4 from 3", "F4/2 E4/2", "the line has fewer than 3 plucked notes"),
    ("beats", "r/1", "no note is plucked: nothing to accent"),
]
STROKES = [
    ("rest", "E4/4 F4/4 G4/4 E4/4", "i-m", "I M I M"),
    ("free", "E4/4 F4/4 G4/4 E4/4", "i-m", "i m i m"),
    ("rest, then free", "E4/8 F4/8 G4/8 E4/8 F4/8 G4/8 E4/8 F4/8", "i-m", "I M i m I M i m"),
    ("free, then rest", "E4/8 F4/8 G4/8 E4/8 F4/8 G4/8 E4/8 F4/8", "i-m", "i m I M i m I M"),
    ("rest", "E2/4 F2/4 A2/4 E2/4", "i-m", "i m I m"),
    ("rest", "E4/4 F4/4 G4/4 E4/4", "p-i", "p I p I"),
    ("rest on top", "C3+E4/4 D3+F4/4 C3+E4/2", "i-m", "pI pM pI"),
    ("rest on top", "C3+E4/4 F4/4 G4/4 E4/4", "i-m", "pI M I M"),
    ("rest on bass", "A2:5.0.0+C4:2.1.1/2 E2:6.0.0+B3:2.0.0/2", "i-m", "Pi Pm"),
]
NO_STROKES = [
    ("rest", "E2/4 F2/4 G2/4 E2/4", "i-m",
     "no note can be a rest stroke: the string to come to rest on is missing, or needed for a note"),
    ("rest on top", "B3+E4/2 B3+E4/2", "as given", "it is for melodies over a bass, and the passage has none"),
    ("rest on top", "E4/4 F4/4 G4/4 E4/4", "i", "it is for melodies over a bass, and the passage has none"),
    ("rest", "C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8", "as given", "it is for lines, and the passage has none"),
    ("rest", "E2/4 F2/4 G2/4 F2/4 | E2/4 F2/4 G2/4 A2/4", "i-m",
     "only 1 of 8 notes can be rest strokes: the strings beside the others ring on"),
]  # fmt: skip


def shown(variation: Variation) -> str:
    """Pitches, > before an accented one."""
    return " ".join(
        (">" if "accent" in e.marks else "") + "+".join(str(n.pitch) for n in e.notes)
        for e in variation.passage.events
        if e.notes
    )


def bass_line() -> Variation:
    """A broken chord whose thumb has the next string free, then not, then again."""
    free = "A2/8 A3/8 C4/8 E4/8 A2/8 A3/8 C4/8 E4/8"
    busy = "D3:4.0.0/8 A3/8 D4/8 F4/8 D3:4.0.0/8 A3/8 D4/8 F4/8"
    return line(" | ".join([free, busy, *[free] * 5]))


def struck(variation: Variation) -> str:
    """Letters, capital where the stroke is a rest stroke."""
    return " ".join(_strokes(e) for e in variation.passage.events if e.notes)


def _strokes(event: Event) -> str:
    strokes = [n.stroke for n in event.notes if n.stroke]
    return "".join(s.finger.upper() if s.kind == "rest" else s.finger for s in strokes)


@pytest.mark.parametrize(("setting", "music", "metre", "after"), ACCENTS)
def test_what_each_accent_setting_marks(setting: str, music: str, metre: str, after: str) -> None:
    """Accents of the source give way to those asked for."""
    made = vary(line(music, metre=metre), Study(accent=setting))
    assert isinstance(made, Variation)
    assert shown(made) == after


@pytest.mark.parametrize(("setting", "music", "reason"), NO_ACCENTS)
def test_what_each_accent_setting_leaves_alone(setting: str, music: str, reason: str) -> None:
    """An accent on every note, or on none, is refused with its reason."""
    assert refusal(line(music), accent=setting) == reason


def test_accents_see_what_was_slurred_and_which_finger_leads() -> None:
    """Later axes see earlier ones: slurred notes count no more, the cycle's first finger takes the accents."""
    made = vary(line(TURN), Study(slurs="to open", pluck="a-m-i", accent="first finger"))
    assert isinstance(made, Variation)
    assert shown(made) == ">F4 E4 G4 E4 A4 E4 >G4 E4"
    assert made.figures.accents == (("a", 2),)


def test_a_crescendo_is_printed_at_the_start() -> None:
    """One word over the first note; it ends where the line does."""
    made = vary(line(TURN), Study(accent="crescendo"))
    assert isinstance(made, Variation)
    assert [(d.kind, d.text, d.onset) for d in made.passage.directions] == [("words", "crescendo", Fraction(0))]


@pytest.mark.parametrize(("setting", "music", "cycle", "after"), STROKES)
def test_what_each_stroke_setting_does(setting: str, music: str, cycle: str, after: str) -> None:
    """A rest stroke needs the next string free; p rests on the next higher one."""
    made = vary(line(music), Study(pluck=cycle, stroke=setting))
    assert isinstance(made, Variation), made
    assert struck(made) == after
    assert check(made) == ()


@pytest.mark.parametrize(("setting", "music", "cycle", "reason"), NO_STROKES)
def test_what_each_stroke_setting_leaves_alone(setting: str, music: str, cycle: str, reason: str) -> None:
    """Where the next string is missing or sounds, the stroke cannot rest."""
    assert refusal(line(music), pluck=cycle, stroke=setting) == reason


def test_notes_that_stay_free_strokes_are_counted_in_a_notice() -> None:
    """Two of four cannot rest on a string below the sixth."""
    made = vary(line("E2/4 F2/4 A2/4 B2/4"), Study(pluck="i-m", stroke="rest"))
    assert isinstance(made, Variation)
    assert [str(n) for n in made.notices] == [
        "2 notes stay free strokes (bar 1): the string to come to rest on is missing, or needed for a note"
    ]


@pytest.mark.parametrize("setting", ["melody", "bass", "top notes"])
def test_a_layer_is_brought_out_by_accents_or_by_words(setting: str) -> None:
    """Where much of a layer is struck together with others, words say so and no accent contradicts them."""
    seen = 0
    for name, plain in own().items():
        made = vary(plain, Study(accent=setting))
        if not isinstance(made, Variation):
            continue
        seen += 1
        said = [d for d in made.passage.directions if d.text.startswith("bring out")]
        accents = [e for e, was in zip(made.passage.events, plain.passage.events, strict=True) if e.marks != was.marks]
        assert bool(said) != bool(accents), name
    assert seen


def test_where_most_is_to_stand_out_words_say_so() -> None:
    """A melody that has a note at every onset is brought out by words: an accent on all of them shows nothing.

    Its low note, which is struck with the bass on one string, belongs to it.
    """
    music = line("B3/4 D4/4 G4/4 F#4/8 E4/8 | D4/4 B3/4 D3:4.0.0/2", "G2/1 | G2/2 D3:4.0.0/2", fifths=1)
    made = vary(music, Study(accent="melody"))
    assert isinstance(made, Variation)
    assert [str(d.text) for d in made.passage.directions] == ["bring out the melody"]
    assert not any("accent" in e.marks for e in made.passage.events)


@pytest.mark.parametrize("setting", ["rest on top", "rest on bass"])
def test_words_of_strokes_are_true_of_each_bar(setting: str) -> None:
    """Strokes of part of a passage are named over its first bar, once: no bar is called free in which one rests."""
    seen = 0
    for plain in (bass_line(), *own().values()):
        made = vary(plain, Study(stroke=setting))
        if not isinstance(made, Variation):
            continue
        said = {d.bar: d.text for d in made.passage.directions if d.kind == "strokes"}
        resting = {e.bar for e in made.passage.events for n in e.notes if n.stroke and n.stroke.kind == "rest"}
        assert min(said) <= min(resting)
        assert len(said) == 1 or "free stroke" in said.values()
        word = "free stroke"
        for bar in range(len(made.passage.bars)):
            word = said.get(bar, word)
            assert word != "free stroke" or bar not in resting
        # a word that is still true is not said again in others
        told = [said[bar] for bar in sorted(said)]
        assert not any("where the next" in one and other != "free stroke" for one, other in pairwise(told))
        seen += 1
    assert seen


def test_a_bar_whose_bass_stays_free_is_named() -> None:
    """The words over the music say where the thumb rests, and keep saying so; the notice names the bar."""
    made = vary(bass_line(), Study(stroke="rest on bass"))
    assert isinstance(made, Variation)
    said = [(d.bar, d.text) for d in made.passage.directions if d.kind == "strokes"]
    assert said == [(0, "bass rest stroke where the next string is free, the others free")]
    assert [str(n) for n in made.notices][-1].startswith("2 notes stay free strokes (bar 2): ")


@pytest.mark.parametrize("setting", [s.name for s in STROKE.settings])
def test_the_thumb_never_rests_where_the_next_note_is_to_sound(setting: str) -> None:
    """A thumb's rest stroke lies on the next higher string: that one is not struck in the next onset."""
    for n, music in enumerate((bass_line(), *own().values())):
        made = vary(music, Study(stroke=setting))
        if isinstance(made, Declined):
            continue
        for group, after in pairwise(onset_groups(made.passage)):
            for sound in group.plucked:
                if sound.note.stroke and (sound.note.stroke.finger, sound.note.stroke.kind) == ("p", "rest"):
                    assert sound.placement.string - 1 not in {s.placement.string for s in after.sounds}
        if not n and setting == "rest on bass":
            assert struck(made).split()[:24:4] == ["P", "P", "p", "p", "P", "P"]
