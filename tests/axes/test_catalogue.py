"""The catalogue as a whole: names, words, selection, defaults and the printed table."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Hashable
from dataclasses import replace

import pytest

from engrave.axes import ORDER, find, kinds, printed, settings, vary
from engrave.axes.defaults import HABITS, ladder, leading, times
from engrave.axes.pluck import HOUSE
from engrave.axes.selection import DEPTHS, ROWS, selection
from engrave.axes.setting import COMMON, OURS
from engrave.model import AXES, PlanError, Study, Variation
from tests.axes.catalogue import PATH, catalogue_markdown, example, families
from tests.axes.lines import TREBLES, line
from tests.axes.passages import own

EVERY = [(axis, setting) for axis in ORDER for setting in axis.settings]


def test_the_axes_stand_in_their_order_and_their_defaults_are_the_studys() -> None:
    """The order of the model, and a default study that leaves each axis alone."""
    assert tuple(axis.name for axis in ORDER) == AXES
    assert [axis.default for axis in ORDER] == [Study().setting(name) for name in AXES]
    assert all(axis.settings[0].name == axis.default for axis in ORDER)


def test_names_are_unique_and_found_again() -> None:
    """A plan finds each setting by the name the catalogue prints, with no other in between."""
    for axis in ORDER:
        names = [setting.name for setting in axis.settings]
        assert len(set(names)) == len(names)
        for setting in axis.settings:
            assert find(axis.name, setting.name) is setting
            assert find(axis.name, f" {setting.name.replace(' ', '  ')} ") is setting


def test_every_setting_has_its_words() -> None:
    """Purpose, cue and source are sentences a student can read; the kind is one that has habits."""
    for axis, setting in EVERY:
        assert setting.axis == axis.name
        assert setting.kind in HABITS
        assert setting.label
        assert setting.source
        if setting.name == axis.default:
            continue
        for text in (setting.purpose, setting.cue):
            assert re.fullmatch(r"[A-Z][^\n]*[.?]", text), setting.name
            assert len(text) <= 130, (setting.name, len(text))
            assert "  " not in text
        assert setting.purpose.count(". ") == 0, f"{setting.name}: more than one sentence"


def test_what_is_ours_does_not_pass_for_common_practice() -> None:
    """Settings we thought of ourselves say so; what every method has is called common practice."""
    ours = {(s.axis, s.name) for _, s in EVERY if s.source == OURS}
    assert {("strings", "climb"), ("slurs", "by 4"), ("pluck", "worst i-m"), ("fret", "without 2")} <= ours
    assert not {("pluck", "i-m"), ("rhythm", "dotted"), ("strings", "shape on 3"), ("slurs", "to open")} & ours
    assert {s.source for _, s in EVERY} == {COMMON, OURS, HOUSE}
    for setting in (find("strings", "climb by 3 bars"), find("pluck", "best p-i"), find("strings", "up 4")):
        assert setting.source == OURS


def test_no_page_claims_what_nobody_has_shown() -> None:
    """Words of proof, speed of learning and health stay off the pages."""
    banned = re.compile(r"\b(prove[ns]?|always|guarantee|best way|science|studies show|injur|heal|cure)", re.I)
    for _, setting in EVERY:
        assert not banned.search(f"{setting.purpose} {setting.cue}"), setting.name


@pytest.mark.parametrize(
    ("axis", "name", "said"),
    [
        ("pluk", "i-m", "axis 'pluk' is not known (did you mean pluck? "
         "axes: strings, rhythm, fret, slurs, pluck, stroke, accent)"),
        ("accent", "every", "accent setting 'every' is not known (did you mean 'every 4' or 'every 3' or 'every 2'?; "
         'patterns: "every N" or "every N from K", such as "every 3 from 2")'),
        ("stroke", "xyz", "stroke setting 'xyz' is not known (known: as given, free, rest, "
         "rest, then free, free, then rest, rest on top, rest on bass)"),
    ],
)  # fmt: skip
def test_an_unknown_setting_is_answered_with_what_there_is(axis: str, name: str, said: str) -> None:
    """The nearest names, then the patterns, else the whole list."""
    with pytest.raises(PlanError) as caught:
        find(axis, name)
    assert str(caught.value) == said


def test_every_unknown_setting_of_a_study_is_named_at_once() -> None:
    """All faults before anything is done."""
    with pytest.raises(PlanError) as caught:
        settings(Study(pluck="i-x-y", accent="loud"))
    assert len(caught.value.faults) == 2


def test_kinds_of_a_mixture_and_the_one_that_leads() -> None:
    """The heaviest kind gives the words, the tempo and the times through."""
    mixture = Study(slurs="to open", pluck="i-m", accent="every 2")
    assert kinds(mixture) == ("slur", "strong", "accent")
    assert leading(kinds(mixture)) == "slur"
    made = vary(line("F4/8 E4/8 G4/8 E4/8 F4/8 E4/8 G4/8 E4/8"), mixture)
    assert isinstance(made, Variation)
    assert made.title == "Pull-offs to the open string; i m in turn; accent on every second note"
    assert made.purpose.startswith(find("slurs", "to open").purpose)
    assert made.purpose.endswith(". Added here: i m in turn and accent on every second note.")
    named = vary(line("F4/8 E4/8 G4/8 E4/8 F4/8 E4/8 G4/8 E4/8"), replace(mixture, name="Tuesday"))
    assert isinstance(named, Variation)
    assert named.purpose == made.purpose
    assert kinds(Study()) == ()


def test_a_name_from_the_plan_heads_the_page() -> None:
    """What the teacher calls it goes before what we would."""
    made = vary(line(TREBLES), Study(name="Monday", pluck="i-m"))
    assert isinstance(made, Variation)
    assert made.title == "Monday"


def test_habits_rise_and_stay_within_what_anybody_plays() -> None:
    """Per cents of the goal rise, times through are few; the kind with the greater weight leads a mixture."""
    assert (times(()), times(("weak", "accent"))) == (3, 5)
    for habit in HABITS.values():
        assert list(habit.steps) == sorted(habit.steps)
        assert 1 <= habit.times <= 30


@pytest.mark.parametrize(
    ("text", "steps"),
    [("72", (72,)), ("60 72 84", (60, 72, 84)), ("60-96 by 12", (60, 72, 84, 96)), ("60, 63", (60, 63)),
     ("60-90 by 20", (60, 80, 90)), ("100 100", (100, 100)), ("60 to 70 by 10", (60, 70))],
)  # fmt: skip
def test_tempo_ladders(text: str, steps: tuple[int, ...]) -> None:
    """Numbers, or a range whose two ends are both played."""
    assert ladder(text) == steps


@pytest.mark.parametrize("text", ["", "slow", "10", "400", "90-60", "60-70 by 0", "60-300 by 1", "١٢٠", "99999999"])
def test_tempi_that_cannot_be_are_refused(text: str) -> None:
    """One line with the value, the limits and the grammar."""
    with pytest.raises(PlanError) as caught:
        ladder(text)
    assert str(caught.value) == (
        f'tempo {text!r} is not up to 12 steps from 20 to 320 beats a minute (write "72", "60 72 84" or "60-96 by 12")'
    )


def test_deeper_selections_hold_the_shallower_ones() -> None:
    """Short, standard, complete: each in the order of the next, without repeats."""
    short, standard, complete = (selection(depth) for depth in DEPTHS)
    assert set(short) < set(standard) < set(complete)
    assert [s for s in complete if s in set(standard)] == list(standard)
    assert len(set(complete)) == len(complete) >= len(ROWS)
    assert (len(short) >= 12, len(standard) >= 30, len(complete) >= 60) == (True, True, True)
    with pytest.raises(ValueError, match="depth 'deep' is not one of short, standard, complete"):
        selection("deep")


def test_each_selection_covers_every_axis() -> None:
    """Whatever the depth, each axis has a page, and the little finger and each weak pair too."""
    for depth in DEPTHS:
        studies = selection(depth)
        for axis in ORDER:
            assert any(study.setting(axis.name) != axis.default for study in studies), (depth, axis.name)
        assert any("c" in study.pluck.split("-") for study in studies)
    names = Counter(study.pluck for study in selection("complete"))
    assert all(names[f"{a}-{b}"] for a, b in ("ma", "am", "ia", "ai", "pi", "pm", "pa", "ac", "mc", "ic"))


def test_the_built_in_line_fills_each_depth() -> None:
    """The built-in line yields at least 12, 25 and 60 pages that differ from each other."""
    before = own()["built in"]
    for depth, least in zip(DEPTHS, (12, 25, 60), strict=True):
        pages = set[Hashable]()
        for study in selection(depth):
            if len(pages) < least and isinstance(made := vary(before, study), Variation):
                pages.add(printed(made))
        assert len(pages) >= least, depth


def test_the_printed_catalogue_is_the_one_in_force() -> None:
    """examples/catalogue.md is what the settings themselves give."""
    said = "the settings have changed: python -m tests.axes.catalogue writes examples/catalogue.md anew"
    assert PATH.read_text(encoding="utf-8") == catalogue_markdown(), said


def test_the_catalogue_has_every_setting_once_in_fewer_rows() -> None:
    """Each setting stands in one row, four cells each; alike ones share it."""
    rows = [row for row in PATH.read_text(encoding="utf-8").splitlines() if row.startswith("| `")]
    cells = [re.split(r" \| ", row.strip("| ")) for row in rows]
    assert all(len(row) == 4 for row in cells)
    names = Counter(name for row in cells for name in re.findall(r"`([^`]+)`", row[0]))
    assert names == Counter(setting.name for axis in ORDER for setting in axis.settings[1:])
    assert len(rows) <= 110


def test_the_catalogues_notes_show_what_a_family_changes() -> None:
    """The notes before and after differ for some setting of each row, but for those that only undo."""
    rows = [(family, [example(axis, s) for s in family]) for axis in ORDER for family in families(axis)]
    same = [family[0].name for family, shown in rows if all(before == after for before, after in shown)]
    # the easiest letters are those a line without letters gets anyway
    assert same == ["best"]


def test_every_setting_is_in_some_book() -> None:
    """Each setting of each axis is among the studies a complete book is chosen from."""
    reached = {(s.axis, s.name) for study in selection("complete") for s in settings(study)}
    assert [(axis.name, s.name) for axis in ORDER for s in axis.settings if (axis.name, s.name) not in reached] == []
