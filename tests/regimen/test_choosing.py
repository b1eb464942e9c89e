from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.model import LeaveOut, Load, Plan, PlanError, Player, Study, Variation
from engrave.regimen import choose
from engrave.regimen.candidate import Candidate
from engrave.regimen.candidate_pool import pool
from engrave.regimen.choosing import A_LITTLE, MORE, PAGE, coverage, fewest, most_valuable
from engrave.regimen.practice import depth_pages, figure
from engrave.regimen.sittings import ladder
from engrave.regimen.skills import Skill
from engrave.regimen.studies import canonical, left_out
from engrave.regimen.targets import Target, standing, targets
from engrave.textures import textured
from tests.regimen.greedy import greedy
from tests.regimen.lines import OPEN_AND_STOPPED, SCALE, TWO_BARS, line, varied

MUSIC = line(SCALE)


def page(skills: dict[int, int], minutes: float = 1.0) -> Candidate:
    """A page that trains so much of each numbered skill."""
    return Candidate(
        study=Study(),
        variation=MUSIC,
        kinds=("cycle",),
        times=1,
        tempo=(60,),
        beat=Fraction(1),
        house=True,
        skills={skill(n): count for n, count in skills.items()},
        held={skill(n): 1 for n in skills},
        load=Load(minutes=minutes),
        serves={},
    )


def skill(number: int) -> Skill:
    """A skill that stands for itself."""
    return Skill("string", (str(number),))


@st.composite
def choices(draw: st.DrawFn) -> tuple[list[Candidate], list[Target]]:
    """A few pages over a few skills, of which no more is wanted than there is."""
    pages = [
        page({n: draw(st.integers(1, 5)) for n in range(5) if draw(st.booleans())}, float(draw(st.integers(1, 5))))
        for _ in range(draw(st.integers(1, 7)))
    ]
    found = []
    for n in range(5):
        most = sum(p.skills.get(skill(n), 0) for p in pages)
        if most:
            often = draw(st.integers(1, most))
            found.append(Target(skill=skill(n), often=often, worth=float(draw(st.integers(1, 4)))))
    return pages, found


def covers(pages: list[Candidate], chosen: tuple[int, ...], found: list[Target]) -> bool:
    """Whether everything wanted is there as often as wanted."""
    return all(sum(pages[i].skills.get(w.skill, 0) for i in chosen) >= w.often for w in found)


def value(pages: list[Candidate], chosen: tuple[int, ...], found: list[Target]) -> float:
    """What a choice is worth: a little a page, full worth up to what is wanted, a little up to three times that."""
    total = PAGE * len(chosen) - 1e-4 * sum(pages[i].load.minutes for i in chosen)
    for target in found:
        share = sum(min(pages[i].skills.get(target.skill, 0) / target.often, MORE) for i in chosen)
        total += target.worth * min(1.0, share)
        total += A_LITTLE * target.worth * min(max(0.0, share - 1), MORE - 1) / (MORE - 1)
    return total


@settings(max_examples=80, deadline=None)
@given(choices())
def test_no_fewer_pages_would_do(problem: tuple[list[Candidate], list[Target]]) -> None:
    """The fewest pages agree with trying every set, and the plain way never needs fewer."""
    pages, found = problem
    made = fewest(pages, found)
    assert covers(pages, made.chosen, found)
    sets = [c for r in range(len(pages) + 1) for c in itertools.combinations(range(len(pages)), r)]
    best = min(len(chosen) for chosen in sets if covers(pages, chosen, found))
    assert len(made.chosen) == best
    plain = greedy(pages, found)
    assert covers(pages, plain.chosen, found)
    assert len(plain.chosen) >= best
    minutes = min(sum(pages[i].load.minutes for i in c) for c in sets if len(c) == best and covers(pages, c, found))
    assert sum(pages[i].load.minutes for i in made.chosen) == minutes


@settings(max_examples=80, deadline=None)
@given(choices(), st.integers(1, 5))
def test_no_choice_of_as_many_pages_is_worth_more(problem: tuple[list[Candidate], list[Target]], most: int) -> None:
    """The most valuable pages agree with trying every set of that size, up to the gap that is allowed."""
    pages, found = problem
    made = most_valuable(pages, found, pages=most)
    assert len(made.chosen) <= most
    best = max(
        value(pages, chosen, found)
        for r in range(min(most, len(pages)) + 1)
        for chosen in itertools.combinations(range(len(pages)), r)
    )
    assert value(pages, made.chosen, found) >= best * 0.998 - 0.01


def test_pages_that_must_be_in_are_in() -> None:
    """A page that trains nothing is taken where it must be."""
    pages = [page({}), page({1: 3}), page({1: 3, 2: 3})]
    found = [Target(skill=skill(n), often=2, worth=1.0) for n in (1, 2)]
    assert fewest(pages, found, must=frozenset({0})).chosen == (0, 2)
    assert most_valuable(pages, found, pages=2, must=frozenset({0})).chosen == (0, 2)


def test_what_falls_short_says_why() -> None:
    """The table of what is trained names how many pages could train what is missing."""
    pages = [page({1: 3}), page({2: 1}), page({2: 1})]
    found = [Target(skill=skill(n), often=2, worth=1.0) for n in (1, 2)]
    one, two = coverage(pages[:1], pages, found, ("the book holds 1 page",))
    assert (one.found, one.steps, one.why) == (3, (0,), "")
    assert (two.found, two.steps, two.why) == (0, (), "2 pages could train it; the book holds 1 page")


def test_a_pair_of_the_line_in_another_place_is_told_with_the_place() -> None:
    """The letters of the line on other strings are no more of that pair than the line has: what is new is the place."""
    regimen = choose(line(SCALE), Plan(studies=(Study(), Study(strings="shape on 4"), Study(pluck="m-a"))))
    pairs = [row for row in regimen.coverage if row.label in ("m after i", "i after m") and row.steps]
    assert pairs
    moved = next(at for at, step in enumerate(regimen.steps) if step.study.strings == "shape on 4")
    assert all(row.particular == (moved,) for row in pairs if moved in row.steps)
    new = [row for row in regimen.coverage if row.label == "a after m" and row.steps]
    assert new
    assert all(row.particular == () for row in new)


def test_what_is_wanted_goes_by_the_player() -> None:
    """Weak things are wanted most, then goals, then the rest; strong things least; never more than pages give."""
    player = Player(weak=("m-a",), goals=("accents",), strong=("i-m",))
    weak, goal = Skill("asked", ("m-a",)), Skill("asked", ("accents",))
    strong, plain = Skill("pair", ("m", "i", "treble strings", "free")), Skill("finger", ("1", "treble"))
    assert [standing(one, player) for one in (weak, goal, strong, plain)] == ["weak", "goal", "strong", "plain"]
    rich = replace(page({}), skills=dict.fromkeys((weak, goal, strong, plain), 500))
    found = {target.skill: target for target in targets([rich], player)}
    assert [found[one].often for one in (weak, goal, strong, plain)] == [
        figure("wanted", name) for name in ("weak", "goal", "strong", "plain")
    ]
    assert found[weak].worth > found[goal].worth > found[plain].worth > found[strong].worth
    poor = replace(page({}), skills={weak: 3, plain: 3})
    assert {target.skill: target.often for target in targets([poor], player)} == {plain: 2, weak: 3}


@pytest.fixture(scope="module")
def music() -> Variation:
    """A line of two bars, on high strings and on low ones."""
    return line(TWO_BARS)


@pytest.mark.parametrize("depth", ["short", "standard", "complete", "fewest"])
def test_a_book_has_as_many_pages_as_its_depth(music: Variation, depth: str) -> None:
    """Each depth holds its pages, the line first and again last; steps carry their variations, with their reasons."""
    if depth in ("complete", "fewest"):
        music = line(SCALE)  # chosen from more than twice as many studies
    there = pool(music, Plan(depth=depth))
    regimen = choose(music, Plan(depth=depth))
    limit = depth_pages(depth, "intermediate") or len(there.candidates)
    assert len(regimen.steps) == min(limit, len(there.candidates)) or depth == "fewest"
    assert [step.study == Study() for step in regimen.steps] == [True, *[False] * (len(regimen.steps) - 1)]
    assert regimen.close is not None
    assert regimen.close.step == 0
    assert regimen.close.tempo[0] == regimen.steps[0].tempo[0] < regimen.close.tempo[-1]
    for step in regimen.steps[::6]:
        made = varied(music, step.study)
        assert step.variation.passage.events == made.passage.events
    for step in regimen.steps:
        assert step.minutes == step.load.minutes > 0
        assert step.reason
        assert step.tempo
        assert step.times >= 1
    short = [c for c in regimen.coverage if c.found < c.wanted]
    assert all(c.why for c in short)
    if depth in ("complete", "fewest"):
        assert not short


def test_the_fewest_pages_are_fewer_than_the_plain_way_takes(music: Variation) -> None:
    """On a real line the exact choice covers everything and needs no more pages than the greedy one."""
    there = pool(music, Plan())
    wanted = targets(there.candidates, Player())
    exact, plain = fewest(there.candidates, wanted), greedy(there.candidates, wanted)
    assert len(exact.chosen) <= len(plain.chosen) < len(there.candidates)
    assert exact.verdict == "the fewest pages that train everything: best by this book’s own count"


def test_a_plans_own_studies_are_all_taken(music: Variation) -> None:
    """Named studies come with their names, times and tempi; those asked for twice come once, with a notice."""
    plan = Plan(
        studies=(
            Study(pluck="m-a", name="Mine", times=7, tempo=(44, 55)),
            Study(pluck="a-m-i", accent="fretted notes"),
            Study(pluck="m-a", name="Again"),
        ),
        times=4,
    )
    regimen = choose(music, plan)
    (mine,) = [step for step in regimen.steps if step.study.name == "Mine"]
    (other,) = [step for step in regimen.steps if step.study.accent != "as written"]
    assert (mine.times, mine.tempo, mine.house) == (7, (44, 55), False)
    assert (other.times, other.house) == (4, True)
    assert [str(n) for n in regimen.notices] == ["“Again” is asked for twice; it is printed once"]


def test_a_study_that_may_be_left_is_left_where_pages_are_few(music: Variation) -> None:
    """With one page too few, it is a study the plan does not insist on that goes."""
    studies = (Study(pluck="m-a"), Study(pluck="a-m", must=False), Study(pluck="i-m"), Study(pluck="p-i"))
    regimen = choose(music, Plan(studies=studies, pages=4))
    assert {step.study.pluck for step in regimen.steps} == {"as given", "m-a", "i-m", "p-i"}
    assert [str(n) for n in regimen.notices] == ["one study that applies was not taken: “a m in turn”"]


def test_what_the_plan_leaves_out_is_left_out(music: Variation) -> None:
    """Every study with all the settings named goes, with the plan's reason; the others stay."""
    outs = (
        LeaveOut(settings=(("pluck", "m-a"),), why="not yet"),
        LeaveOut(settings=(("pluck", "i-m"), ("stroke", "rest"))),
    )
    plan = Plan(depth="short", leave_out=outs)
    regimen = choose(music, plan)
    assert not [s for s in regimen.steps if s.study.pluck == "m-a"]
    assert not [s for s in regimen.steps if (s.study.pluck, s.study.stroke) == ("i-m", "rest")]
    said = [str(n) for n in regimen.notices]
    assert "“m a in turn” is left out: not yet" in said
    assert "“i m in turn; rest stroke” is left out: the plan leaves out pluck “i-m”, stroke “rest”" in said
    assert left_out(Study(pluck="a-m"), plan) == ""


def test_a_study_that_does_not_apply_is_named_with_its_reason() -> None:
    """A decline becomes a notice; where nothing is left the plan is at fault."""
    music = line("E4:1.0.0/4 F4:1.1.1/4 G4:1.3.3/4 A4:1.5.4/4")
    studies = (Study(slurs="pull-offs", name="Pull-offs"), Study(pluck="i-m"))
    regimen = choose(music, Plan(studies=studies))
    assert [step.study.pluck for step in regimen.steps] == ["as given", "i-m"]
    assert str(regimen.notices[0]).startswith("“Pull-offs” does not apply here: “every pull-off”: ")
    with pytest.raises(PlanError) as caught:
        choose(music, Plan(studies=studies[:1]))
    assert str(caught.value).startswith(
        "none of the plan's studies applies to this passage (“Pull-offs” does not apply here: “every pull-off”: "
    )


def test_two_ways_of_asking_for_one_page_are_one_page() -> None:
    """A pattern that spells a setting of the catalogue is that setting."""
    assert canonical(Study(pluck="i-m")) == canonical(Study(pluck="i-m", name="x", times=3))
    assert canonical(Study(pluck="i-m")) != canonical(Study(pluck="m-i"))


@pytest.mark.parametrize(
    ("player", "steps"),
    [
        (Player(), (50, 61, 72)),
        (Player(goal=100), (70, 85, 100)),
        (Player(tempo=60, goal=100), (60, 80, 100)),
        (Player(tempo=60), (60, 66, 72)),
        (Player(tempo=60, goal=60), (60,)),
        (Player(level="beginner", tempo=50, goal=100), (50, 68, 85)),
    ],
)
def test_tempo_steps_lead_from_now_to_the_goal(player: Player, steps: tuple[int, ...]) -> None:
    """The line, from where it goes now (else 70 per cent of the goal) to the goal; a beginner stops before it."""
    assert ladder((), line(OPEN_AND_STOPPED), Plan(player=player)) == steps


def test_tempi_count_the_beat_of_the_passage() -> None:
    """A passage marked 90 quarters a minute in 6/8 is practised towards 60 dotted quarters."""
    music = line("E4:1.0.0/8 F4:1.1.1/8 E4:1.0.0/8 F4:1.1.1/8 E4:1.0.0/8 F4:1.1.1/8", metre="6/8")
    marked = replace(music, passage=replace(music.passage, tempo=Fraction(90)))
    (step,) = choose(marked, Plan(studies=(Study(),))).steps
    assert (step.tempo[-1], step.beat) == (60, Fraction(3, 2))


def test_the_same_book_twice_is_the_same_book(music: Variation) -> None:
    """Same input, same regimen; and the input is as it was."""
    before = replace(music)
    assert choose(music, Plan(depth="short")) == choose(music, Plan(depth="short"))
    assert music == before


@pytest.mark.parametrize(("dimension", "least"), [(2, 5), (3, 18)], ids=["9 pages", "27 pages"])
def test_the_fewest_pages_solve_published_covers(dimension: int, least: int) -> None:
    """The Steiner triple covers of 9 and 27 sets have the published least sizes, 5 and 18.

    Fulkerson, Nemhauser and Trotter, Mathematical Programming Study 2 (1974), 72-81; "stein9" and "stein27" among the
    MIPLIB instances. The triples are the lines of the affine space over three elements.
    """
    points = list(itertools.product(range(3), repeat=dimension))
    lines = {
        frozenset((one, other, tuple(-(a + b) % 3 for a, b in zip(one, other, strict=True))))
        for one, other in itertools.combinations(points, 2)
    }
    assert len(lines) == len(points) * (len(points) - 1) // 6
    numbered = list(enumerate(sorted(sorted(triple) for triple in lines)))
    pages = [page({n: 1 for n, triple in numbered if point in triple}) for point in points]
    made = fewest(pages, [Target(skill=skill(n), often=1, worth=1.0) for n, _ in numbered])
    assert len(made.chosen) == least
    assert made.verdict.endswith("best by this book’s own count")


def test_a_line_whose_trouble_is_a_crossing_has_its_letters_turned_round() -> None:
    """Who asks for nothing and stumbles over two strings is given the line's pair begun by its other finger."""
    bar = "C4:2.1.1/8 D4:2.3.3/8 E4:1.0.0/8 F4:1.1.1/8 C4:2.1.1/8 D4:2.3.3/8 E4:1.0.0/8 F4:1.1.1/8"
    regimen = choose(line(f"{bar} | {bar}"), Plan(player=Player(level="beginner")))
    assert regimen.steps[0].spots[0].kind == "crossing"
    first, second = [n.stroke.finger for n in regimen.steps[0].variation.passage.notes if n.stroke][:2]
    assert f"pluck={second}-{first}" in {step.study.asked for step in regimen.steps}


def test_broken_chords_begin_with_grips_and_placed_fingers() -> None:
    """Block chords are the warm-up, fingers are placed first, and one page at most brings a finger out."""
    figures = ("A2:5.0.0/8 A3:3.2.2/8 C4:2.1.1/8 E4:1.0.0/8", "E2:6.0.0/8 G#3:3.1.1/8 B3:2.0.0/8 E4:1.0.0/8")
    music = textured(line(" | ".join(f"{figure} {figure}" for figure in figures * 2)))
    regimen = choose(music, Plan(player=Player(level="beginner")))
    asked = {step.study.asked: step.section for step in regimen.steps}
    assert asked["pluck=block"] == "Warm-up"
    assert "pluck=planted" in asked
    assert sum(name.startswith("accent=finger ") for name in asked) <= 1


def test_beginners_take_another_fingering_halfway() -> None:
    """Other fingers for the line end at its middle tempo in a beginner's book, at the goal for others."""
    tops = [
        ladder(("fingering",), line(SCALE), Plan(player=Player(level=level, goal=100)))[-1]
        for level in ("beginner", "intermediate")
    ]
    assert tops == [round(80 * 0.85), 100]
