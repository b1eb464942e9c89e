"""What a plan asks for has its minutes and its pages: handouts, weeks, and what a log holds back."""

from __future__ import annotations

import pytest

from engrave.model import Plan, Player, Study, Variation
from engrave.regimen import choose
from engrave.regimen.beyond import base_of, serves
from engrave.regimen.candidate import make, written
from engrave.regimen.doses import Form
from engrave.regimen.handout_minutes import in_minutes
from engrave.regimen.holding_back import held_back
from engrave.regimen.pain import hurting, hurts
from engrave.regimen.skills import count
from engrave.regimen.study_names import in_catalogue
from engrave.regimen.terms import Term
from engrave.regimen.timetable import Item, WeekFrame, schedule
from tests.regimen.lines import TWO_BARS, line, varied


@pytest.fixture(scope="module")
def music() -> Variation:
    """A line of two bars, on high strings and on low ones."""
    return line(TWO_BARS)


def test_the_order_of_tremolo_is_work_on_tremolo(music: Variation) -> None:
    """A line in the order p a m i is a page for tremolo; one in the order i m is none."""
    base, term = base_of(written(music)), Term(kind="technique", parts=("tremolo",))
    for pluck, does in (("p-a-m-i", True), ("i-m", False)):
        page = varied(music, Study(pluck=pluck))
        assert (serves(term, count(page), page.figures.notes, base, changed=True) > 0) is does


@pytest.mark.parametrize("minutes", [4, 9, 90])
def test_a_handout_keeps_to_the_minutes_of_its_plan(music: Variation, minutes: int) -> None:
    """Times through go down where all sittings take too long, then studies nobody asked for; and up where few."""
    plan = Plan(depth="short", pages=8, player=Player(minutes=minutes, goals=("slurs",)))
    before = choose(music, plan)
    made = in_minutes(before, plan)
    total = sum(step.minutes or 0.0 for step in made.steps)
    was = sum(step.minutes or 0.0 for step in before.steps)
    assert total <= minutes
    assert (total > was) is (was < 0.6 * minutes)
    assert [s.section for s in made.steps[:2]] == ["The line", "Warm-up"]
    assert any(step.reason.startswith("For slurs") for step in made.steps)
    assert (len(made.steps) < len(before.steps)) is (minutes == 4)
    assert all(place < len(made.steps) for trouble in made.troubles for place in (*trouble.steps, *trouble.treated))


def test_studies_a_plan_names_all_stay_on_a_handout(music: Variation) -> None:
    """However short the day: then the sheet says over how many days they go."""
    plan = Plan(studies=tuple(Study(pluck=pair) for pair in ("i-m", "m-a", "p-i", "a-i")), player=Player(minutes=1))
    before = choose(music, plan)
    assert [s.study for s in in_minutes(before, plan).steps] == [s.study for s in before.steps]


def test_no_unasked_study_has_more_of_a_week_than_a_goal() -> None:
    """Minutes of the goal's pages are at least those of any other study, though other studies could use more."""
    items = [
        Item(least=2, most=8, fair=4, always=True),
        Item(least=2, most=4, fair=6, core=True, words=("slurs",)),
        Item(least=2, most=10, fair=6),
    ]
    made = schedule(items, WeekFrame(caps=(20.0,) * 6, adjacent=(True,) * 5, shares={"slurs": 0.2}))
    assert made is not None
    total = [sum(minutes for day in made.days for item, minutes in day if item == i) for i in range(3)]
    assert total[1] >= total[2] - 0.1


@pytest.mark.parametrize(
    ("note", "fingers"),
    [
        ("my little finger hurts", ("c", "4")),
        ("finger 3 aches", ("3",)),
        ("hurts a little", ()),
        ("the second time it hurts", ()),
        ("Thumb sore", ("p",)),
    ],
)
def test_a_note_of_pain_names_fingers(note: str, fingers: tuple[str, ...]) -> None:
    """A finger that a note names is that finger of either hand; other words are none."""
    assert hurting(note) == fingers


@pytest.mark.parametrize(
    ("language", "note", "pain", "fingers"),
    [
        ("de", "der kleine Finger tut weh", True, ("c", "4")),
        ("de", "noch einmal, ging gut", False, ()),
        ("de", "keine Schmerzen", False, ()),
        ("es", "me duele el dedo 3", True, ("3",)),
        ("es", "ya no duele", False, ()),
        ("fr", "j’ai mal au pouce", True, ("p",)),
        ("fr", "mal joué", False, ()),
        ("it", "l’anulare fa male", True, ("a", "3")),
        ("it", "nessun dolore", False, ()),
        ("it", "ring finger hurts", True, ("a", "3")),
    ],
)
def test_pain_is_read_in_the_language_of_the_pages(
    language: str, note: str, pain: bool, fingers: tuple[str, ...]
) -> None:
    """A note in it, or in English, is understood; words that also mean something else are not enough."""
    assert hurts(note, language) is pain
    assert hurting(note, language) == fingers


def test_kin_of_what_failed_rises_no_more_than_it(music: Variation) -> None:
    """Of two studies of one kind the harder stays at its tempo where the easier does; another kind goes on."""
    plan, base = Plan(), base_of(written(music))
    made = []
    for study in (Study(pluck="i-m"), Study(pluck="m-a"), Study(rhythm="dotted")):
        page = varied(music, study)
        made.append(make(study, page, plan, base))
    forms = [Form(variation=one.variation, beat=one.beat, steps=(50, 55, 60)) for one in made]
    low, high = sorted(made[:2], key=lambda one: one.difficulty)
    held = dict(zip((one.study for one in made), held_back(made, forms, [(low, 0)]), strict=True))
    assert held[high.study].steps == (50,)
    assert held[made[2].study].steps == (50, 55, 60)


def test_a_name_of_the_catalogue_is_told_from_an_unknown_one() -> None:
    """Headings and settings are known, in English and in another language."""
    assert in_catalogue("another fingering")
    assert in_catalogue("m-a", "de")
    assert not in_catalogue("scales in thirds")
