from __future__ import annotations

import re
from collections import Counter

import pytest

from engrave.model import Plan, Player, Regimen, Step, Study, Variation
from engrave.regimen import choose
from engrave.regimen.page_reasons import often, said
from engrave.regimen.skills import GROUPS, Skill, count
from engrave.regimen.terms import parse_term
from engrave.textures.onsets import onset_groups
from tests.regimen.lines import SCALE, TWO_BARS, line

PLAYERS = [Player(), Player(weak=("m-a", "finger 4"), strong=("i-m",)), Player(goals=("bass strings", "slurs"))]


@pytest.fixture(scope="module", params=PLAYERS, ids=lambda player: ", ".join((*player.weak, *player.goals)) or "none")
def book(request: pytest.FixtureRequest) -> Regimen:
    """A book for each of three players."""
    return choose(line(TWO_BARS), Plan(player=request.param))


def test_a_thing_is_said_as_a_player_says_it() -> None:
    """Letters become fingers, pairs two letters, and the rest stays the plan's word."""
    words = [("a", "the ring finger"), ("m-a", "m and a"), ("finger 4", "finger 4"), ("shifts", "shifts")]
    for word, expected in words:
        term = parse_term(word)
        assert term is not None
        assert said(word, term) == expected
    assert [often(n) for n in (0, 1, 2, 5)] == ["never", "once", "twice", "5 times"]


def test_no_sentence_stands_on_most_pages(book: Regimen) -> None:
    """The commonest reason stands on no more than a third of the pages, and each page has one."""
    reasons = Counter(step.reason for step in book.steps)
    assert max(reasons.values()) <= max(2, len(book.steps) // 3), reasons.most_common(1)
    assert all(step.reason for step in book.steps)
    assert max(len(step.reason) for step in book.steps) < 130


def test_the_figures_of_a_reason_are_those_of_the_page(book: Regimen) -> None:
    """A pair that is said to follow each other so many times does so in the notes of the page."""
    for step in book.steps:
        match = re.match(r"For (\w) and (\w): one follows the other (\d+) times", step.reason)
        if match and step.variation:
            found = count(step.variation)
            pairs = sum(
                n for skill, n in found.items() if skill.kind == "pair" and set(skill.parts[:2]) == {match[1], match[2]}
            )
            assert pairs == int(match[3])


def _skill(said: str, step: Step) -> Skill:
    """The skill of a page that a reason names."""
    names = {s: f"{s.label} ({s.where})" if s.where else str(s.label) for s in count(step.variation)}
    (skill,) = [s for s, name in names.items() if name == said]
    return skill


def test_what_only_one_page_has_no_other_page_has_and_nor_has_the_line(book: Regimen) -> None:
    """What is "only here" occurs on no other page; what is more than in the line is in the line, but less a note."""
    held = [count(step.variation) for step in book.steps if step.variation]
    notes = [step.variation.figures.notes for step in book.steps if step.variation]
    told = 0
    for at, step in enumerate(book.steps):
        match = re.fullmatch(r"(Only here|More than in the line): (.*)\.", step.reason)
        if match:
            skill, told = _skill(match[2], step), told + 1
            alone = not any(skill in other for i, other in enumerate(held) if i != at)
            more = held[at][skill] / notes[at] > held[0].get(skill, 0) / notes[0] > 0
            assert alone if match[1] == "Only here" else more, step.reason
    assert told


def test_a_reason_is_about_what_the_page_changes(book: Regimen) -> None:
    """A page that only frets otherwise is not there for its plucking letters, and the other way round."""
    for step in book.steps:
        match = re.fullmatch(r"(?:Only here|More than in the line|Brings):? (.*)\.", step.reason)
        axes = {part.partition("=")[0] for part in step.study.asked.split("; ")}
        if match and axes in ({"fret"}, {"slurs"}):
            assert _skill(match[1], step).kind in ("finger", "fingers", "shift", "barre", "let go", "slur")
        if match and axes <= {"pluck", "stroke", "accent"}:
            assert _skill(match[1], step).kind in ("pair", "again", "chord", "crossing", "tremolo", "accent")


def test_pages_that_are_said_to_train_a_thing_have_it(book: Regimen) -> None:
    """Each page in the table of what trains what has the thing in its notes, and more of it a note than the line."""
    written = book.steps[0].variation
    there, size = count(written), written.figures.notes
    for row in book.coverage:
        for index in row.steps:
            step = book.steps[index]
            found = count(step.variation)
            same = [s for s in found if (s.label, s.where, GROUPS[s.kind]) == (row.label, row.where, row.group)]
            if row.group not in (GROUPS["work"], GROUPS["asked"]):
                (skill,) = same
                notes = step.variation.figures.notes
                assert step.study == Study() or found[skill] / notes > there.get(skill, 0) / size, (row, step.study)


def test_a_goal_changes_the_book() -> None:
    """The bass strings as a goal come right after the warm-up, and bring more strokes on them than no plan does."""
    plain, low = (choose(line(SCALE), Plan(player=Player(goals=goals))).steps for goals in ((), ("bass strings",)))
    first = next(step for step in low if step.section not in ("The line", "Warm-up"))
    assert first.section == "Focus"
    assert first.reason.startswith("For bass strings: ")
    wound = [sum(step.times * len(step.tempo) * _wound(step.variation) for step in steps) for steps in (plain, low)]
    assert wound[1] > 1.1 * wound[0]


def _wound(variation: Variation) -> int:
    """Strokes on wound strings."""
    sounds = (sound for group in onset_groups(variation.passage) for sound in group.sounds)
    return sum(s.note.stroke is not None and s.placement.string in variation.instrument.wound for s in sounds)
