"""Whatever a regimen says to be printed can be said in another language."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import pytest

from engrave import axes
from engrave.axes.defaults import HABITS
from engrave.model import Plan, Player, Regimen, Student, Study
from engrave.model.said import Said
from engrave.regimen import Room, choose, class_plans, handout, read_log, reissue, summary, week
from engrave.regimen.levels import kept_back, later
from engrave.regimen.log import Entry, standing
from engrave.regimen.page_reasons import often, said
from engrave.regimen.skills import GROUPS, Skill, count
from engrave.regimen.strains import NAMES
from engrave.regimen.terms import TECHNIQUES, known_terms, parse_term, terms_of, worded
from engrave.textures import textured
from tests.regimen.lines import OPEN_AND_STOPPED, SCALE, TWO_BARS, line, varied

NOT_OURS = {
    *("study", "studies", "other", "things", "reason", "axis", "setting", "settings", "textures", "where", "unfit"),
    *("name", "number", "note", "column", "text", "day", "fault", "file"),
}
"""places that hold headings and reasons of the axes, and what a user wrote"""
PLAN = Plan(
    player=Player(weak=("m-a", "ring finger"), goals=("slur 2-1", "tremolo", "a"), strong=("i-m", "thumb"), minutes=25),
)


def _words(text: str) -> Iterator[str]:
    """Words of ours that stand in a text as plain English."""
    if not isinstance(text, Said):
        yield text
        return
    for name, value in text.places.items():
        if name in NOT_OURS:
            continue
        if isinstance(value, Said):
            yield from _words(value)
        elif isinstance(value, str) and re.search(r"[a-z]{4,}", value):
            yield value


def _texts(regimen: Regimen) -> Iterator[str]:
    """Everything a regimen says by itself."""
    for step in regimen.steps:
        yield from (step.section, step.reason, *(notice.text for notice in step.notices))
        for spot in step.spots:
            yield from (spot.stretch, spot.clause, spot.reason)
    for row in regimen.coverage:
        yield from (row.group, row.label, row.where, row.why)
    for day in regimen.days:
        yield from (day.label, day.note)
    for trouble in regimen.troubles:
        yield from (trouble.place, trouble.reason)
    yield from (notice.text for notice in regimen.notices)
    yield from (regimen.verdict, regimen.close.reason if regimen.close else "")


def _log(regimen: Regimen) -> str:
    """A log in which some studies go well, some do not, some hurt, and some rows cannot be read."""
    rows = ["study,day,tempo,clean,times,note,mood", "nothing,2027-01-04,60,1,1,,", ",2027-01-04,60,1,1,,", "a,b"]
    rows += ["x,2027-01-04,9999,1,1,,", "x,2027-01-04,60,3,1,,", "x,2027-01-04,60,3,1,,,,,"]
    for number, step in enumerate(regimen.steps):
        for day in range(4, 5 + number % 4):
            clean, note = (0, "it hurts" if number == 3 else "") if number % 2 else (9, "")
            rows.append(f'"{step.variation.title}",2027-01-0{day},{step.tempo[0]},{clean},9,{note},')
    return "\n".join(rows)


@pytest.fixture(scope="module")
def regimens() -> dict[str, Regimen]:
    """A regimen of each form."""
    music, other = textured(line(OPEN_AND_STOPPED)), textured(line(SCALE))
    book = choose(music, PLAN)
    fewest = choose(other, replace(PLAN, depth="fewest"))
    named = Plan(studies=(Study(), Study(pluck="p-a-m-i"), Study(pluck="m"), Study(slurs="twos", pluck="m-a")))
    named = replace(named, times=40)
    made = {
        "book": book,
        "fewest": fewest,
        "named": choose(music, named),
        "again": reissue(book, other, PLAN),
        "week": week(textured(line(TWO_BARS)), PLAN, start=date(2027, 1, 4)),
    }
    made["weeks"] = week(textured(line(TWO_BARS)), PLAN, log=read_log(_log(made["week"]), "log.csv"), weeks=2)
    room = Room(page=200.0)
    made["handout"] = handout(
        made["named"], named, [90.0] * len(made["named"].steps), room, pages=1, insist=False
    ).regimen
    short = Plan(player=PLAN.player, depth="short")
    chosen = choose(music, short)
    made["short handout"] = handout(chosen, short, [90.0] * len(chosen.steps), room, pages=1).regimen
    return made


def test_whatever_a_regimen_says_can_be_said_in_another_language(regimens: dict[str, Regimen]) -> None:
    """Of every form each text is said, none was joined, cut or formatted, and no English words stand in a place."""
    for form, regimen in regimens.items():
        for text in _texts(regimen):
            if text:
                assert isinstance(text, Said), (form, text)
                assert not list(_words(text)), (form, text)


def test_the_forms_bring_every_kind_of_notice(regimens: dict[str, Regimen]) -> None:
    """What is left out, kept back, moved, waiting or hurting is among what the test above has looked at."""
    said_ = " ".join(n.text for r in regimens.values() for n in (*r.notices, *(n for s in r.steps for n in s.notices)))
    for part in (
        "does not apply here: ", "Kept for later", "gets no page", "The plan calls", "were not taken",
        "takes its place", "no room for: ", "What hurts waits", "waiting for a later week", "is none of the studies",
        "row does not count", "this book gives", "clean at", "Other studies do not suit",
    ):  # fmt: skip
        assert part in said_, part


def test_a_class_is_said() -> None:
    """Level, wishes, hard places, and the name of one who has none."""
    plan = Plan(depth="short", students=(Student(name="", level="beginner"), Student(name="Bo", weak=("m-a", "ring"))))
    music = textured(line(TWO_BARS))
    found = summary([(one, choose(music, one)) for one in class_plans(plan)])
    first, second = found.rolls
    assert (first.name, first.level, second.wants) == ("Student 1", "beginner", "m-a (weak), ring (weak)")
    texts = [
        first.name,
        first.level,
        second.level,
        second.wants,
        *(t for one in found.hard for t in (one.place, one.reason)),
    ]
    assert found.hard
    assert all(isinstance(text, Said) for text in texts)


def test_every_term_is_said_as_the_plan_writes_it() -> None:
    """Its words mean the same thing, and are the plan's own but for case and doubled spaces."""
    for word in known_terms():
        assert isinstance(worded(word), Said)
        assert worded(word) == word
        assert parse_term(worded(f"  {word.upper()} ")) == parse_term(word)
        ((_, term),) = terms_of((word,))
        assert isinstance(said(word, term), Said)
    assert {str(worded(name)) for name in TECHNIQUES} == set(TECHNIQUES)


def test_every_way_of_working_has_words() -> None:
    """Of every axis each kind of work there is, by the axis's title, which is all a teacher wants to read."""
    for axis in axes.ORDER:
        for kind in HABITS:
            text = Skill("work", (axis.title.lower(), kind)).label
            assert text == axis.title.lower()
            assert not list(_words(text))


def test_every_skill_and_strain_is_said() -> None:
    """Headings, labels and particulars of all that a passage and its studies hold, and the names of what strains."""
    assert all(isinstance(text, Said) for text in (*GROUPS.values(), *NAMES.values()))
    music = textured(line(OPEN_AND_STOPPED))
    skills: set[Skill] = set()
    for study in (Study(), Study(pluck="p-a-m-i"), Study(stroke="rest"), Study(slurs="twos"), Study(rhythm="dotted")):
        skills |= set(count(varied(music, study)))
    for skill in skills:
        assert isinstance(skill.label, Said)
        assert not skill.where or isinstance(skill.where, Said)
        assert not list(_words(skill.label)), skill
    assert {skill.kind for skill in skills} >= {"pair", "crossing", "finger", "slur", "rhythm"}


@pytest.mark.parametrize(("clean", "tempo"), [(9, 96), (9, 60), (3, 60), (0, 60)])
@pytest.mark.parametrize("days", [1, 2, 3, 4])
def test_what_a_log_moves_is_said(clean: int, tempo: int, days: int) -> None:
    """However a study went, and for however many days."""
    rows = [
        Entry(line=n, study="x", day=date(2027, 1, n), tempo=tempo, clean=clean, times=9) for n in range(1, days + 1)
    ]
    assert isinstance(standing(rows, top=96, step=4, times=5).moved, Said)


def test_what_is_kept_for_later_is_said() -> None:
    """What is too much for a level, with the level and without one."""
    music = textured(line(OPEN_AND_STOPPED))
    made = varied(music, Study(pluck="c-a"))
    why = kept_back(made, axes.kinds(Study(pluck="c-a")), music, Player())
    assert isinstance(why, Said)
    for player in (Player(), Player(level="beginner")):
        (notice,) = later([why, why], player)
        assert isinstance(notice.text, Said)
        assert not list(_words(notice.text))


def test_every_number_of_times_is_said() -> None:
    """Never, once, twice, and figures."""
    assert all(isinstance(often(n), Said) for n in range(5))
