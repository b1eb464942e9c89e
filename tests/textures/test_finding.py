"""Textures: what short passages are made of, whatever voices the file puts them in, and what a plan says of them."""

from __future__ import annotations

from itertools import pairwise

import pytest

from engrave.axes import vary
from engrave.model import AskedTexture, Declined, PlanError, Study, Variation
from engrave.textures import found, kind_of, leading, share, textured
from tests.axes.lines import line

PIMA = "C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8"
RUN = "C4/8 D4/8 E4/8 F4/8 G4/8 F4/8 E4/8 D4/8"
TREMOLO = "A2/16 E4/16 E4/16 E4/16 E3/16 E4/16 E4/16 E4/16 A3/16 E4/16 E4/16 E4/16 E3/16 F4/16 F4/16 F4/16"
MIXED = f"{RUN} | {RUN} | {PIMA} | {PIMA} | {TREMOLO} | C3+G3+C4+E4/2 B2+G3+D4+F4/2 | C3+G3+C4+E4/1"
L, B, T, C, M, R = "line", "broken chord", "tremolo", "block chord", "melody and bass", "rest"
SPANS: list[tuple[str, tuple[str, ...], str, list[str]]] = [
    # name, voices, metre, textures; what each is called is common practice, the passages are our own
    ("scale", ("C3/8 D3/8 E3/8 F3/8 G3/8 A3/8 B3/8 C4/8",), "4/4", [L]),
    ("chromatic", ("E4/8 F4/8 F#4/8 G4/8 G#4/8 A4/8 A#4/8 B4/8",), "4/4", [L]),
    ("low line", ("E2/8 F2/8 G2/8 A2/8 B2/8 C3/8 D3/8 E3/8",), "4/4", [L]),
    ("turns over an open string", ("F4/8 E4/8 G4/8 E4/8 A4/8 E4/8 G4/8 E4/8",), "4/4", [L]),
    ("thirds in turn", ("C4/8 E4/8 D4/8 F4/8 E4/8 G4/8 F4/8 A4/8",), "4/4", [L]),
    ("one note", ("E4/1",), "4/4", [L]),
    ("repeated notes", ("E4/8 E4/8 E4/8 E4/8 F4/8 F4/8 F4/8 F4/8",), "4/4", [L]),
    ("a leap of a chord in a line", ("C4/8 D4/8 E4/8 C4/8 E4/8 G4/8 F4/8 D4/8 | C4/4 E4/4 D4/4 C4/4",), "4/4", [L]),
    ("p i m a", ("C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8",), "4/4", [B]),
    ("p i m i", ("A2/8 A3/8 C4/8 A3/8 A2/8 A3/8 C4/8 A3/8",), "4/4", [B]),
    ("p i m a m i", ("C3/8 G3/8 C4/8 E4/8 C4/8 G3/8 | C3/8 G3/8 C4/8 E4/8 C4/8 G3/8",), "6/8", [B]),
    ("i m a m without a bass", ("A3/8 C4/8 E4/8 C4/8 A3/8 C4/8 E4/8 C4/8",), "4/4", [B]),
    ("six strings", ("E2/8 B2/8 E3/8 G#3/8 B3/8 E4/8 B3/8 G#3/8",), "4/4", [B]),
    ("bass and top together", ("C3+E4/8 G3/8 C4/8 G3/8 B2+F4/8 G3/8 D4/8 G3/8",), "4/4", [B]),
    ("a melody on top", (f"{PIMA} | C3/8 G3/8 C4/8 F4/8 B2/8 G3/8 D4/8 G4/8",), "4/4", [B]),
    ("tremolo", (TREMOLO,), "4/4", [T]),
    ("tremolo in fives", (" ".join(["5(A2/16 E4/16 E4/16 E4/16 E4/16)"] * 4),), "4/4", [T]),
    ("tremolo with an upbeat", (f"r/2. r/16 E4/16 E4/16 E4/16 | {TREMOLO}",), "4/4", [R, T]),
    ("chords", ("C3+G3+C4+E4/2 B2+G3+D4+F4/2 | C3+G3+C4+E4/1",), "4/4", [C]),
    ("six notes at once", ("E2+B2+E3+G#3+B3+E4/2 A2+E3+A3+C#4+E4/2",), "4/4", [C]),
    ("thirds", ("E4+G4/4 D4+F4/4 C4+E4/4 B3+D4/4",), "4/4", [C]),
    ("bass, chord, chord", ("A2/4 A3+C4+E4/4 A3+C4+E4/4 | E2/4 G#3+B3+E4/4 G#3+B3+E4/4",), "3/4", [C]),
    ("melody over a slow bass", ("C3+E4/4 F4/4 G4/4 F4/4 | G2+D4/4 E4/4 F4/4 D4/4",), "4/4", [M]),
    ("melody over alternating bass", ("C3+E4/8 F4/8 G3+G4/8 A4/8 C3+G4/8 E4/8 G3+E4/8 D4/8",), "4/4", [M]),
    ("bass and melody in turn", ("A2/8 E4/8 E3/8 F4/8 A2/8 G4/8 E3/8 E4/8",), "4/4", [M]),
    ("moving bass", ("A2+E4/8 B2/8 C3/8 A2/8 B2+D4/8 C3/8 D3/8 B2/8",), "4/4", [M]),
    ("chords with a melody between", ("C3+G3+E4/4 F4/4 B2+G3+D4/4 E4/4 | A2+E3+C4/4 D4/4 G2+D3+B3/2",), "4/4", [M]),
    ("a line that ends in a chord", (f"{RUN} | {RUN} | C3+G3+C4+E4/1",), "4/4", [L, C]),
    ("a broken chord that ends in a chord", (f"{PIMA} | C3+G3+C4+E4/1",), "4/4", [B, C]),
    ("a rest between", ("E4/4 F4/4 r/2 | G4/4 F4/4 E4/2",), "4/4", [L, R, L]),
    ("all is silent", ("r/1",), "4/4", [R]),
    ("four textures", (MIXED,), "4/4", [L, B, T, C]),
]  # fmt: skip
BOTH_WAYS = [
    # the same music in one voice and in two; the first of two voices may rest while the bass begins
    ("tremolo",
     ("A2/16 E4/16 E4/16 E4/16 E3/16 E4/16 E4/16 E4/16 A3/16 E4/16 E4/16 E4/16 E3/16 F4/16 F4/16 F4/16",),
     ("r/16 E4/16 E4/16 E4/16 r/16 E4/16 E4/16 E4/16 r/16 E4/16 E4/16 E4/16 r/16 F4/16 F4/16 F4/16",
      "A2/4 E3/4 A3/4 E3/4"), [T], "p a m i p a m i p a m i p a m i"),
    ("p i m a",
     ("C3/8 G3/8 C4/8 E4/8 B2/8 G3/8 D4/8 F4/8",),
     ("r/8 G3/8 C4/8 E4/8 r/8 G3/8 D4/8 F4/8", "C3/2 B2/2"), [B], "p i m a p i m a"),
    ("p i m a m i",
     ("C3/8 G3/8 C4/8 E4/8 C4/8 G3/8 C3/8 G3/8 C4/8 E4/8 C4/8 G3/8",),
     ("r/8 G3/8 C4/8 E4/8 C4/8 G3/8 r/8 G3/8 C4/8 E4/8 C4/8 G3/8", "C3/2. C3/2."), [B], "p i m a m i p i m a m i"),
    ("p i m i",
     ("A2/8 A3/8 C4/8 A3/8 E2/8 G#3/8 B3/8 G#3/8",),
     ("r/8 A3/8 C4/8 A3/8 r/8 G#3/8 B3/8 G#3/8", "A2/2 E2/2"), [B], "p i m i p i m i"),
    ("two-octave scale",
     ("C3/8 D3/8 E3/8 F3/8 G3/8 A3/8 B3/8 C4/8 | D4/8 E4/8 F4/8 G4/8 A4/8 B4/8 C5/4",),
     ("s/1 | D4/8 E4/8 F4/8 G4/8 A4/8 B4/8 C5/4", "C3/8 D3/8 E3/8 F3/8 G3/8 A3/8 B3/8 C4/8 | s/1"),
     [L], "i m i m i m i m i m i m i m i"),
    ("four-note chords",
     ("C3+G3+C4+E4/2 B2+G3+D4+F4/2",), ("G3+C4+E4/2 G3+D4+F4/2", "C3/2 B2/2"), [C], "pima pima"),
    ("six-note chords",
     ("E2+B2+E3+G#3+B3+E4/2 E2+B2+E3+G#3+B3+E4/2",), ("E3+G#3+B3+E4/2 E3+G#3+B3+E4/2", "E2+B2/2 E2+B2/2"), [C],
     "pppima pppima"),
    ("melody over alternating bass",
     ("C3+E4/8 F4/8 G3+G4/8 F4/8 C3+E4/8 D4/8 G2+C4/4",),
     ("E4/8 F4/8 G4/8 F4/8 E4/8 D4/8 C4/4", "C3/4 G3/4 C3/4 G2/4"), [M], "pm i pm i pm i pm"),
]  # fmt: skip


def plucked(variation: Variation) -> str:
    """Letters an onset group, from the lowest note up."""
    at: dict[object, list[tuple[int, str]]] = {}
    for event in variation.passage.events:
        for note in event.notes:
            at.setdefault(event.onset, []).append((note.pitch.midi, note.stroke.finger if note.stroke else "-"))
    return " ".join("".join(letter for _, letter in sorted(notes)) for _, notes in sorted(at.items()))


@pytest.mark.parametrize(("name", "voices", "metre", "kinds"), SPANS, ids=[row[0] for row in SPANS])
def test_each_texture_is_found(name: str, voices: tuple[str, ...], metre: str, kinds: list[str]) -> None:
    """By onsets and strings, with a reason for each stretch, and with no gap between stretches."""
    music = line(*voices, metre=metre, fifths=4 if "six notes" in name or name == "six strings" else 0)
    spans = found(music)
    assert [span.kind for span in spans] == kinds
    assert all(span.why for span in spans)
    assert all(a.end == b.start for a, b in pairwise(spans))
    assert spans[-1].end == music.passage.bars[-1].end
    names = [note for span in spans for figure in span.figures for note in figure]
    assert sorted(names) == sorted(n.id for n in music.passage.notes if not n.tied_back)


def test_a_figure_keeps_its_way_back_before_a_bass_on_the_string_it_ends_on() -> None:
    """The figure p i m a m i is six notes, though the next bass stops anew the string of its last."""
    up_and_back = "A2/8 E3/8 C4/8 E4/8 C4/8 E3/8"
    music = line(f"{up_and_back} | {up_and_back} | D3/8 A3/8 D4/8 F4/8 D4/8 A3/8", metre="6/8")
    places = [n.placement for n in music.passage.notes if n.placement]
    assert places[11].string == places[12].string
    assert [[len(figure) for figure in span.figures] for span in found(music)] == [[6, 6, 6]]


def test_a_bass_that_is_written_out_is_the_bass() -> None:
    """Of two voices the lower is the bass throughout, on a treble string too, and nothing of it is a broken chord."""
    top = "A4/16 G4/8 F4/16 r/16 F4/8 D4/16 | E4/4 r/8 G3/8 | C4/16 E4/8 G4/16 r/16 G4/8 E4/16 | E4/8 G4/8 E4/4"
    music = line(top, "F2/4 D3/4 | C3/4 G2/4 | C3/4 E3/4 | C3/4 G3/4", metre="2/4")
    (span,) = found(music)
    lower = frozenset(note.id for event in music.passage.events if event.voice == 2 for note in event.notes)
    assert (span.kind, span.basses) == (M, lower)


@pytest.mark.parametrize(("name", "one", "two", "kinds", "letters"), BOTH_WAYS, ids=[row[0] for row in BOTH_WAYS])
def test_one_voice_or_two_makes_no_difference(
    name: str, one: tuple[str, ...], two: tuple[str, ...], kinds: list[str], letters: str
) -> None:
    """The eight plain textures of any method: one texture and, to the letter, the same fingers (common practice).

    Which finger begins where two alternate is the one that crosses from ① to ② the natural way.
    """
    metre = {"p i m a m i": "12/8"}.get(name, "4/4")
    for voices in (one, two):
        music = line(*voices, metre=metre, fifths=4 if name == "six-note chords" else 0)
        made = vary(music, Study())
        assert isinstance(made, Variation)
        assert [span.kind for span in found(music)] == kinds
        assert plucked(made) == letters


def test_a_plan_overrules_what_is_found() -> None:
    """Bars a plan names are what it says, and keep it when the line moves to other strings."""
    music = line("C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8 | C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8")
    asked = textured(music, [AskedTexture(bars="2", kind="line")])
    assert [(span.kind, span.asked) for span in asked.textures] == [("broken chord", False), ("line", True)]
    made = vary(asked, Study())
    assert isinstance(made, Variation)
    assert plucked(made) == "p i m a p i m a i m i m i m i m"
    assert [span.kind for span in found(asked)] == ["broken chord", "line"]


@pytest.mark.parametrize(
    ("bars", "kind", "said"),
    [
        ("9", "line", "bars '9' are not in the passage (it has bars 1 to 1)"),
        ("1", "mush", "texture 'mush' is not known "
         "(known: line, broken chord, tremolo, block chord, melody and bass)"),
    ],
)  # fmt: skip
def test_a_plan_that_names_what_there_is_not_is_refused(bars: str, kind: str, said: str) -> None:
    """The value, what there is, and nothing else."""
    with pytest.raises(PlanError) as caught:
        textured(line("E4/1"), [AskedTexture(bars=bars, kind=kind)])
    assert str(caught.value) == said


def test_the_leading_notes_leave_a_bass_alone_out() -> None:
    """Of a melody over a bass the melody; of broken chords every note."""
    melody = line("E4/4 F4/4 G4/4 r/4", "C3/2 A2/4 C3/4")
    assert [str(s.note.pitch) for s in leading(melody)] == ["E4", "F4", "G4"]
    chords = line("C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8")
    assert len(leading(chords)) == 8
    assert share(chords, ("broken chord",)) == 1
    assert {span.kind for span in kind_of(chords).values()} == {"broken chord"}


def test_the_melody_of_broken_chords_keeps_a_finger_on_each_string() -> None:
    """Each string one finger while the chord lasts: no finger plays two strings in a figure."""
    for strings in ("C3/8 G3/8 C4/8 E4/8 C3/8 G3/8 C4/8 E4/8", "A3/8 C4/8 E4/8 C4/8 A3/8 C4/8 E4/8 C4/8"):
        made = vary(line(strings), Study())
        assert isinstance(made, Variation)
        owners: dict[int, set[str]] = {}
        for note in made.passage.notes:
            assert note.stroke is not None
            assert note.placement is not None
            owners.setdefault(note.placement.string, set()).add(note.stroke.finger)
        assert all(len(fingers) == 1 for fingers in owners.values())
        assert len({f for fingers in owners.values() for f in fingers}) == len(owners)


@pytest.mark.parametrize("setting", ["i-m", "a-m-i", "p-a-m-i", "order p-a-m-i", "tremolo p-i-m-i", "melody alone"])
def test_in_a_mixed_passage_a_study_keeps_its_idea_where_it_fits(setting: str) -> None:
    """What it is not for keeps its letters, note by note; it declines where too little fits."""
    voices = (MIXED,)
    before = vary(line(*voices), Study())
    made = vary(line(*voices), Study(pluck=setting))
    assert isinstance(before, Variation)
    if isinstance(made, Declined):
        assert setting == "melody alone"
        return
    kinds = {"i-m": "line", "a-m-i": "line", "p-a-m-i": "line", "order p-a-m-i": "broken chord"}
    touched = kinds.get(setting, "tremolo")
    where = kind_of(line(*voices))
    letters = {n.id: n.stroke for n in before.passage.notes}
    kept = [n for n in made.passage.notes if n.id in where and where[n.id].kind != touched]
    assert kept
    assert all(n.stroke == letters[n.id] for n in kept)
