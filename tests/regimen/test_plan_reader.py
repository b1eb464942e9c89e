from __future__ import annotations

import re
import string
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave import axes, resources
from engrave.instruments import hand_names, instrument_names
from engrave.model import (
    AXES,
    DEPTHS,
    WEEKDAYS,
    LeaveOut,
    Marks,
    Plan,
    PlanError,
    Player,
    Study,
    Week,
)
from engrave.regimen import dump_plan, read_plan, write_plan
from engrave.regimen.keys import LONGEST, TABLES, all_keys
from engrave.regimen.terms import known_terms, parse_term

TEXT = st.text(alphabet=string.ascii_letters + string.digits + " '\"\\#=[]{}äß♯②é—日", max_size=LONGEST)
TEMPO = st.integers(20, 320)
TEMPI = st.lists(TEMPO, max_size=12).map(tuple)
TIMES = st.none() | st.integers(1, 100)
TERMS = st.lists(st.sampled_from([t for t in known_terms() if parse_term(t)]), max_size=4, unique=True)


def _setting(axis: str) -> st.SearchStrategy[str]:
    return st.sampled_from([setting.name for setting in axes.axis(axis).settings])


@st.composite
def studies_asked(draw: st.DrawFn) -> Study:
    """Any study the catalogue can name."""
    named = {axis: draw(_setting(axis)) for axis in AXES}
    return replace(Study(), **named, tempo=draw(TEMPI), times=draw(TIMES), must=draw(st.booleans()))


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """Any plan a plan file can hold."""
    weak = draw(TERMS)
    tempo, goal = sorted(draw(st.tuples(TEMPO, TEMPO)))
    rest = tuple(day for day in WEEKDAYS if draw(st.booleans()))[:6]
    studies = tuple(replace(draw(studies_asked()), name=f"study {n}") for n in range(draw(st.integers(0, 3))))
    outs = draw(st.lists(st.lists(st.sampled_from(AXES), min_size=1, unique=True), max_size=2))
    return Plan(
        player=Player(
            name=draw(TEXT),
            weak=tuple(weak),
            strong=tuple(t for t in draw(TERMS) if t not in weak),
            goals=tuple(draw(TERMS)),
            minutes=draw(st.none() | st.integers(1, 600)),
            days=draw(st.none() | st.integers(1, 7 - len(rest))),
            tempo=draw(st.sampled_from([None, tempo])),
            goal=draw(st.sampled_from([None, goal])),
        ),
        week=Week(start=draw(st.sampled_from(WEEKDAYS)), rest=rest),
        instrument=draw(st.sampled_from(["", *instrument_names()])),
        scale=draw(st.none() | st.floats(200, 1200)),
        capo=draw(st.none() | st.integers(0, 12)),
        hand=draw(st.sampled_from(hand_names())),
        depth=draw(st.sampled_from(DEPTHS)),
        pages=draw(st.none() | st.integers(1, 500)),
        paper=draw(st.sampled_from(["A4", "Letter"])),
        sides=draw(st.sampled_from(["single", "double"])),
        tab=draw(st.booleans()),
        staff=draw(st.floats(5, 12)),
        marks=Marks(
            digits=draw(st.sampled_from(["all", "moves", "none"])),
            strings=draw(st.sampled_from(["changes", "always", "never"])),
            letters=draw(st.sampled_from(["all", "first", "none"])),
            positions=draw(st.booleans()),
            little=draw(st.sampled_from(["c", "e", "x", "q", "o", "s", "ch"])),
        ),
        title=draw(TEXT),
        teacher=draw(TEXT),
        tempo=draw(TEMPI),
        times=draw(TIMES),
        studies=studies,
        leave_out=tuple(
            LeaveOut(settings=tuple((a, draw(_setting(a))) for a in AXES if a in out), why=draw(TEXT)) for out in outs
        ),
    )


@settings(max_examples=80, deadline=None)
@given(plans())
def test_a_plan_written_and_read_is_the_same_plan(plan: Plan) -> None:
    """Every plan survives its text, whatever characters its words hold."""
    assert read_plan(dump_plan(plan)) == plan


def test_a_plan_of_defaults_is_an_empty_text() -> None:
    """Defaults are not written, and an empty plan file is a plan of defaults."""
    assert dump_plan(Plan()) == ""
    assert read_plan("") == Plan()


def test_the_starter_plan_reads_as_it_stands() -> None:
    """The starter plan is a plan of defaults."""
    assert read_plan(write_plan(), "starter.toml") == Plan()


def test_the_starter_plan_shows_every_key_with_a_value_that_is_taken() -> None:
    """With every key switched on the starter plan still reads, and every example reaches its place."""
    text = re.sub(r"^# ((?:\[\[)?[a-z_-]+(?:\]\]$| = ))", r"\1", write_plan(), flags=re.MULTILINE)
    plan = read_plan(text, "starter.toml")
    for key in all_keys():
        rows = {"study": plan.studies[0], "student": plan.students[0], "texture": plan.textures[0], "leave-out": None}
        holder = rows.get(key.table, plan)
        if holder is None:
            given_here = (*plan.leave_out[0].settings, ("why", plan.leave_out[0].why))
            assert (key.name, key.example) in given_here
            continue
        value: object = holder
        for part in key.field.split("."):
            value = getattr(value, part)
        assert value == key.example, key.name


def test_every_key_and_heading_is_explained() -> None:
    """No key is without words, and no two keys of a table share a name or a place."""
    assert all(key.doc and key.table in TABLES for key in all_keys())
    assert len({(key.table, key.name) for key in all_keys()}) == len(all_keys())
    assert len({(key.table, key.field) for key in all_keys()}) == len(all_keys())


FAULTS = """\
[player]
weak = ["m-b", "shifts"]
minutes = 9000
[bok]
papr = 3
[book]
paper = "B5"
tablature = "yes"
staff = nan
tempo = [60, 9999]
title = "a\\u0001"
[[study]]
plukc = "m-a"
pluck = "m-aa"
times = true
[[leave-out]]
why = "x"
[week]
rest = ["sunday", "mondy"]
"""
SAID = """\
plan.toml, line 2: weak 'm-b' is not known (did you mean m-p?)
plan.toml, line 3: minutes 9000 is outside 1 to 600
plan.toml, line 4: [bok] is no heading of a plan (did you mean book?)
plan.toml, line 7: paper 'B5' is not known (known: A4, A5, Letter)
plan.toml, line 8: tablature is the text 'yes' (it takes true or false)
plan.toml, line 9: staff nan is outside 5 to 12
plan.toml, line 10: tempo step 9999 is outside 20 to 320 beats a minute
plan.toml, line 11: title holds the control character U+0001 (one line of plain text)
plan.toml, line 13: plukc is no key of [study] (did you mean pluck?)
plan.toml, line 15: times is true (it takes a whole number)
plan.toml, line 16: [[leave-out]] names no setting, so there is nothing to leave out (e.g. pluck = "m-a")
plan.toml, line 19: rest 'mondy' is no day of the week (did you mean monday?)"""


def test_all_faults_of_a_plan_are_told_at_once() -> None:
    """Unknown keys, wrong types and impossible values come together, each with its line and a hint."""
    with pytest.raises(PlanError) as caught:
        read_plan(FAULTS, "plan.toml")
    lines = str(caught.value).splitlines()
    setting = [line for line in lines if "line 14" in line]
    assert [line for line in lines if line not in setting] == SAID.splitlines()
    assert len(setting) == 1
    assert setting[0].startswith("plan.toml, line 14: pluck 'm-aa' is not known (did you mean 'm-a'")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("x = ", "p, line 1: is not TOML: invalid value"),
        ("[book]\ntitle = 'a'\ntitle = 'b'", "p, line 3: gives a key that stands under its heading already"),
        ("[player\n", "p, line 1: is not TOML: expected ']' at the end of a table declaration"),
        ("x = " + "[" * 5000, "p: nests brackets too deep to be a plan"),
        ("x = " + "9" * 5000, "p: is not TOML: a number has too many digits"),
        ("x" * 1_000_001, "p: has 1,000,001 characters, the most a plan may have is 1,000,000"),
        ("[[player]]\n", "p, line 1: player is a list, but is a heading: [player]"),
        ("player = 3", "p, line 1: player is a number, but is a heading: [player]"),
        ("[study]\n", "p, line 1: study is one table, but stands in double brackets: [[study]]"),
        ("tempo = 60", "p, line 1: tempo stands under no heading"),
        ("[player]\ngoal = 1e99", "p, line 2: goal is the number 1e+99 (it takes a whole number)"),
        ("[instrument]\nscale = 0", "p, line 2: scale 0 is outside 200 to 1200"),
        (f"[player]\ndays = {10**30}", "p, line 2: days of more than twelve digits is outside 1 to 7"),
        ("[player]\nweak = 1979-05-27", "p, line 2: weak is a date or time (it takes a list of terms"),
        ("[instrument]\nname = 'dropd'", "p, line 2: name 'dropd' is not known (did you mean drop-d?)"),
        (f"[book]\ntitle = '{'x' * 201}'", "p, line 2: title has 201 characters, the most is 200"),
        (
            "[player]\ndays = 6\n[week]\nrest = ['sunday', 'monday']",
            "p, line 2: days 6 does not fit: 2 rest days leave 5 of 7",
        ),
        ("[player]\ntempo = 90\ngoal = 60", "p, line 3: goal 60 is slower than tempo 90"),
        ("[player]\nweak = ['m-a']\nstrong = ['m-a']", "p, line 2: weak names 'm-a', which strong names too"),
        ("[[study]]\nname = 'x'\n[[study]]\nname = 'x'", "p, line 4: name 'x' is taken by the study on line 1"),
        ("[book]\ntempo = '96-60'", "p, line 2: tempo '96-60' is not up to 12 steps from 20 to 320 beats a minute"),
        ("[[study]]\n" * 501, "p, line 501: [[study]] stands 501 times, the most is 500"),
    ],
)
def test_a_fault_is_one_line_with_place_fact_and_limit(text: str, said: str) -> None:
    """Each kind of wrong plan gives one line that starts with the place."""
    with pytest.raises(PlanError) as caught:
        read_plan(text, "p")
    assert len(caught.value.faults) == 1
    assert str(caught.value).startswith(said)


def test_a_ladder_of_tempi_may_be_written_in_words() -> None:
    """A tempo is one number, a list, or a ladder from one to another by steps."""
    assert read_plan("[book]\ntempo = 60").tempo == (60,)
    assert read_plan("[book]\ntempo = [60, 72]").tempo == (60, 72)
    assert read_plan('[book]\ntempo = "60-96 by 12"').tempo == (60, 72, 84, 96)


def test_words_of_a_plan_do_not_mind_case_or_spaces() -> None:
    """Days, choices and terms are read whatever their case, and days come in the week's order."""
    plan = read_plan('[week]\nrest = ["Sunday", "FRIDAY"]\n[book]\npaper = "letter"\n[player]\nweak = ["Finger  4"]')
    assert plan.week.rest == ("friday", "sunday")
    assert plan.paper == "Letter"
    assert plan.player.weak == ("finger 4",)


@settings(max_examples=80, deadline=None)
@given(st.text(max_size=120))
def test_any_text_is_a_plan_or_a_plan_error(text: str) -> None:
    """Whatever the text, nothing but a plan or a PlanError comes of it."""
    try:
        plan = read_plan(text, "p")
    except PlanError as error:
        said = [str(fault) for fault in error.faults]
    else:
        said = [dump_plan(plan).splitlines()[0]] if plan != Plan() else []
    assert not any("\n" in line for line in said)


PIECES = st.sampled_from(
    [
        "[player]\n",
        "[book]\n",
        "[[study]]\n",
        "[week]\n",
        "[[leave-out]]\n",
        "weak = ",
        "tempo = ",
        "pluck = ",
        "rest = ",
        "days = ",
        '"m-a"',
        "[60, 72]",
        "true",
        "-1",
        "nan",
        "{}",
        "[[]]",
        "\n",
        "# x\n",
        "'",
        '"""',
        "title = ",
        "1e400",
        "must = ",
    ]
)


@settings(max_examples=150, deadline=None)
@given(st.lists(PIECES, max_size=30).map("".join))
def test_plans_in_pieces_are_plans_or_plan_errors(text: str) -> None:
    """Plans put together from pieces of plans never break the reader."""
    try:
        plan = read_plan(text, "p")
    except PlanError:
        return
    assert read_plan(dump_plan(plan)) == plan


def test_the_plans_among_the_examples_are_plans() -> None:
    """Every plan among the examples reads without a fault."""
    found = sorted((resources.folder("shared").parent / "examples").glob("*.toml"))
    assert found
    for path in found:
        assert read_plan(path.read_text(encoding="utf-8"), path.name) != Plan()


def test_a_plan_of_nothing_but_faults_is_told_within_reason() -> None:
    """Of thousands of faults a hundred are told, and how many more there are."""
    text = "[book]\n" + "".join(f"x{n} = 1\n" for n in range(5000)) + f"paper = '{'A' * 100_000}'\n"
    with pytest.raises(PlanError) as caught:
        read_plan(text, "p")
    lines = str(caught.value).splitlines()
    assert len(lines) == 101
    assert lines[0].startswith("p, line 2: x0 is no key of [book]")
    assert lines[-1] == "p: 4901 more faults of this kind and others"
