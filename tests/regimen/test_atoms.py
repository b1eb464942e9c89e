from __future__ import annotations

from dataclasses import replace

import pytest

from engrave import axes
from engrave.model import Study, Variation, with_notes
from engrave.regimen.atoms import GROUPS, Atom, count, fits
from engrave.regimen.terms import TECHNIQUES, known_terms, parse_term
from tests.regimen.lines import OPEN_AND_STOPPED, SCALE, line


def varied(music: Variation, study: Study) -> Variation:
    """The variation, which must not decline."""
    made = axes.vary(music, study)
    assert isinstance(made, Variation), made
    return made


def test_each_atom_of_a_short_line_is_counted() -> None:
    """A bar on two strings, i and m in turn: reckoned by hand, note by note.

    C(②1,1) D(②3,3) E(①0) F(①1,1) G(①3,3) A(①5,4) G(①3,2) F(①1,1); plucked i m i m i m i m. The one crossing is from m
    on ② to i on ①: the finger falls while the string rises, so it is awkward.
    """
    found = count(varied(line(SCALE), Study(pluck="i-m")))
    expected = {
        Atom("pair", ("i", "m", "treble strings", "free")): 4,
        Atom("pair", ("m", "i", "treble strings", "free")): 3,
        Atom("crossing", ("awkward", "treble", "next string")): 1,
        Atom("string", ("1",)): 6,
        Atom("string", ("2",)): 2,
        Atom("finger", ("1", "treble")): 3,
        Atom("finger", ("2", "treble")): 1,
        Atom("finger", ("3", "treble")): 2,
        Atom("finger", ("4", "treble")): 1,
        Atom("fingers", ("1", "3")): 2,
        Atom("fingers", ("3", "1")): 1,
        Atom("fingers", ("3", "4")): 1,
        Atom("fingers", ("4", "2")): 1,
        Atom("fingers", ("2", "1")): 1,
        Atom("reach", ("between 1 and 3, within comfort",)): 3,
        Atom("reach", ("between 2 and 4, within comfort",)): 1,
        Atom("shift", ("step", "higher")): 1,
        Atom("shift", ("step", "lower")): 1,
        Atom("place", ("frets 1 to 4",)): 6,
        Atom("place", ("frets 5 to 8",)): 1,
        Atom("rhythm", ("even notes",)): 7,
    }
    assert found == expected


def test_slurs_and_letting_go_are_counted_apart() -> None:
    """A fretted note pulled off to the open string is a slur; one followed by it plucked is a letting go."""
    music = varied(line("G4:1.3.3/4 E4:1.0.0/4 F4:1.1.1/4 E4:1.0.0/4"), Study(pluck="i-m"))
    notes = list(music.passage.notes)
    slurred = replace(notes[1], slurred_from=notes[0].id, stroke=None)
    found = count(replace(music, passage=with_notes(music.passage, {slurred.id: slurred})))
    assert found[Atom("slur", ("3", "0"))] == 1
    assert found[Atom("let go", ("1",))] == 1
    assert Atom("let go", ("3",)) not in found


def test_chords_and_held_fingers_are_counted() -> None:
    """Two notes together are a chord of strokes; fingers 3 and 1 reach once in the chord and once from note to note."""
    found = count(varied(line("C3:5.3.3+E4:1.0.0/2 F3:4.3.3+C4:2.1.1/2"), Study()))
    assert sum(n for atom, n in found.items() if atom.kind == "chord" and atom.parts[0].startswith("p ")) == 2
    assert found[Atom("reach", ("between 1 and 3, within comfort",))] == 2


def test_every_atom_has_words_and_a_heading() -> None:
    """Each kind that can be counted has a heading and a label without holes."""
    for study in (Study(), Study(pluck="p-a-m-i"), Study(pluck="i-m", accent="fretted notes", stroke="rest")):
        for atom in count(varied(line(OPEN_AND_STOPPED), study)):
            assert GROUPS[atom.kind]
            assert atom.label
            assert "{" not in atom.label


@pytest.mark.parametrize(
    ("word", "atom", "fit"),
    [
        ("m-a", Atom("pair", ("a", "m", "treble strings", "free")), True),
        ("m-a", Atom("pair", ("a", "i", "treble strings", "free")), False),
        ("thumb", Atom("pair", ("p", "i", "bass strings", "free")), True),
        ("a", Atom("accent", ("a",)), True),
        ("finger 4", Atom("finger", ("4", "bass")), True),
        ("finger 4", Atom("slur", ("4", "2")), True),
        ("finger 4", Atom("finger", ("3", "bass")), False),
        ("fingers 3-4", Atom("fingers", ("4", "3")), True),
        ("slur 2-0", Atom("slur", ("2", "0")), True),
        ("slur 2-0", Atom("slur", ("0", "2")), False),
        ("string 5", Atom("string", ("5",)), True),
        ("pull-offs", Atom("slur", ("2", "0")), True),
        ("hammer-ons", Atom("slur", ("2", "0")), False),
        ("rest stroke", Atom("pair", ("i", "m", "treble strings", "rest")), True),
        ("bass strings", Atom("finger", ("1", "bass")), True),
        ("stretches", Atom("reach", ("between 1 and 3, beyond comfort",)), True),
        ("stretches", Atom("reach", ("between 1 and 3, within comfort",)), False),
        ("awkward crossings", Atom("crossing", ("awkward", "bass", "next string")), True),
    ],
)
def test_a_term_means_the_atoms_it_names(word: str, atom: Atom, fit: bool) -> None:
    """What a player calls weak is found among the atoms."""
    term = parse_term(word)
    assert term is not None
    assert fits(term, atom) == fit


def test_every_known_term_is_a_term_and_can_be_asked_about_any_atom() -> None:
    """All the words offered as the nearest are understood, and none stumbles over an atom."""
    atoms = count(varied(line(OPEN_AND_STOPPED), Study(pluck="p-i-m-a-c", accent="fretted notes")))
    for word in known_terms():
        term = parse_term(word)
        assert term is not None, word
        assert all(isinstance(fits(term, atom), bool) for atom in atoms)
    assert set(TECHNIQUES) <= set(known_terms())


@pytest.mark.parametrize(
    "word", ["", "m-m", "finger 5", "slur 1-1", "string 0", "string 11", "slur", "x", "mi", "finger"]
)
def test_other_words_are_no_terms(word: str) -> None:
    """A pair of one finger, a fifth fretting finger and the like name nothing."""
    assert parse_term(word) is None
