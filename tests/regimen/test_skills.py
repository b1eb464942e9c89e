from __future__ import annotations

from dataclasses import replace

import pytest

from engrave.model import Study, with_notes
from engrave.regimen.skills import GROUPS, Skill, count, fits
from engrave.regimen.terms import TECHNIQUES, known_terms, parse_term
from engrave.textures import textured
from tests.regimen.lines import OPEN_AND_STOPPED, SCALE, line, varied


def test_each_skill_of_a_short_line_is_counted() -> None:
    """A bar on two strings, i and m in turn: reckoned by hand, note by note.

    C(②1,1) D(②3,3) E(①0) F(①1,1) G(①3,3) A(①5,4) G(①3,2) F(①1,1); plucked i m i m i m i m. The one crossing is from m
    on ② to i on ①: the finger falls while the string rises, so it is awkward.
    """
    found = count(varied(line(SCALE), Study(pluck="i-m")))
    expected = {
        Skill("pair", ("i", "m", "treble strings", "free")): 4,
        Skill("pair", ("m", "i", "treble strings", "free")): 3,
        Skill("crossing", ("awkward", "treble", "next string")): 1,
        Skill("string", ("1",)): 6,
        Skill("string", ("2",)): 2,
        Skill("finger", ("1", "treble")): 3,
        Skill("finger", ("2", "treble")): 1,
        Skill("finger", ("3", "treble")): 2,
        Skill("finger", ("4", "treble")): 1,
        Skill("fingers", ("1", "3")): 2,
        Skill("fingers", ("3", "1")): 1,
        Skill("fingers", ("3", "4")): 1,
        Skill("fingers", ("4", "2")): 1,
        Skill("fingers", ("2", "1")): 1,
        Skill("reach", ("1", "3", "within comfort")): 3,
        Skill("reach", ("2", "4", "within comfort")): 1,
        Skill("shift", ("step", "higher")): 1,
        Skill("shift", ("step", "lower")): 1,
        Skill("place", ("frets 1 to 4",)): 6,
        Skill("place", ("frets 5 to 8",)): 1,
        Skill("rhythm", ("even notes",)): 7,
    }
    assert found == expected


def test_no_finger_follows_another_into_a_chord() -> None:
    """In a chord every finger plucks: from i of a broken chord to the chord's a is no a after i."""
    figure = "A2:5.0.0/8 A3:3.2.2/8 C4:2.1.1/8 E4:1.0.0/8"
    music = line(f"{figure} {figure} | {figure} {figure} | A2:5.0.0+A3:3.2.2+C4:2.1.1+E4:1.0.0/1")
    found = count(varied(textured(music), Study(pluck="order p-m-a-i")))
    assert ("a", "i") in {skill.parts[:2] for skill in found if skill.kind == "pair"}
    assert ("i", "a") not in {skill.parts[:2] for skill in found if skill.kind == "pair"}


def test_slurs_and_letting_go_are_counted_apart() -> None:
    """A fretted note pulled off to the open string is a slur; one followed by it plucked is a letting go."""
    music = varied(line("G4:1.3.3/4 E4:1.0.0/4 F4:1.1.1/4 E4:1.0.0/4"), Study(pluck="i-m"))
    notes = list(music.passage.notes)
    slurred = replace(notes[1], slurred_from=notes[0].id, stroke=None)
    found = count(replace(music, passage=with_notes(music.passage, {slurred.id: slurred})))
    assert found[Skill("slur", ("3", "0"))] == 1
    assert found[Skill("let go", ("1",))] == 1
    assert Skill("let go", ("3",)) not in found


def test_chords_and_held_fingers_are_counted() -> None:
    """Two notes together are a chord of strokes; fingers 3 and 1 reach once in the chord and once from note to note."""
    found = count(varied(line("C3:5.3.3+E4:1.0.0/2 F3:4.3.3+C4:2.1.1/2"), Study()))
    assert sum(n for skill, n in found.items() if skill.kind == "chord" and skill.parts[0].startswith("p ")) == 2
    assert found[Skill("reach", ("1", "3", "within comfort"))] == 2


def test_every_skill_has_words_and_a_heading() -> None:
    """Each kind that can be counted has a heading and a label without holes."""
    for study in (Study(), Study(pluck="p-a-m-i"), Study(pluck="i-m", accent="fretted notes", stroke="rest")):
        for skill in count(varied(line(OPEN_AND_STOPPED), study)):
            assert GROUPS[skill.kind]
            assert skill.label
            assert "{" not in skill.label


@pytest.mark.parametrize(
    ("word", "skill", "fit"),
    [
        ("m-a", Skill("pair", ("a", "m", "treble strings", "free")), True),
        ("m-a", Skill("pair", ("a", "i", "treble strings", "free")), False),
        ("thumb", Skill("pair", ("p", "i", "bass strings", "free")), True),
        ("a", Skill("accent", ("a",)), True),
        ("finger 4", Skill("finger", ("4", "bass")), True),
        ("finger 4", Skill("slur", ("4", "2")), True),
        ("finger 4", Skill("finger", ("3", "bass")), False),
        ("fingers 3-4", Skill("fingers", ("4", "3")), True),
        ("slur 2-0", Skill("slur", ("2", "0")), True),
        ("slur 2-0", Skill("slur", ("0", "2")), False),
        ("string 5", Skill("string", ("5",)), True),
        ("pull-offs", Skill("slur", ("2", "0")), True),
        ("hammer-ons", Skill("slur", ("2", "0")), False),
        ("rest stroke", Skill("pair", ("i", "m", "treble strings", "rest")), True),
        ("bass strings", Skill("finger", ("1", "bass")), True),
        ("bass strings", Skill("again", ("p", "bass strings", "free")), True),
        ("bass strings", Skill("again", ("i", "treble strings", "free")), False),
        ("stretches", Skill("reach", ("1", "3", "beyond comfort")), True),
        ("stretches", Skill("reach", ("1", "3", "within comfort")), False),
        ("awkward crossings", Skill("crossing", ("awkward", "bass", "next string")), True),
    ],
)
def test_a_term_means_the_skills_it_names(word: str, skill: Skill, fit: bool) -> None:
    """What a player calls weak is found among the skills."""
    term = parse_term(word)
    assert term is not None
    assert fits(term, skill) == fit


def test_every_known_term_is_a_term_and_can_be_asked_about_any_skill() -> None:
    """All the words offered as the nearest are understood, and none stumbles over a skill."""
    skills = count(varied(line(OPEN_AND_STOPPED), Study(pluck="p-i-m-a-c", accent="fretted notes")))
    for word in known_terms():
        term = parse_term(word)
        assert term is not None, word
        assert all(isinstance(fits(term, skill), bool) for skill in skills)
    assert set(TECHNIQUES) <= set(known_terms())


@pytest.mark.parametrize(
    "word", ["", "m-m", "finger 5", "slur 1-1", "string 0", "string 11", "slur", "x", "mi", "finger"]
)
def test_other_words_are_no_terms(word: str) -> None:
    """A pair of one finger, a fifth fretting finger and the like name nothing."""
    assert parse_term(word) is None


def test_a_rest_is_a_silence() -> None:
    """A rest over a bass that sounds on is none; where nothing sounds between two notes there is one."""
    upper = "E4:1.0.0/8 r/8 E4:1.0.0/8 r/8 E4:1.0.0/4 E4:1.0.0/4"
    rest = Skill("rhythm", ("a rest between notes",))
    assert count(line(upper))[rest] == 2
    assert rest not in count(line(upper, "E2:6.0.0/1"))
