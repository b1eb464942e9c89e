from __future__ import annotations

import pytest

from engrave import axes
from engrave.axes import heading
from engrave.axes.selection import selection
from engrave.model import Plan, PlanError, Study, Variation
from engrave.regimen import choose
from engrave.regimen.study_names import study_from
from engrave.report import catalogue
from tests.regimen.lines import OPEN_AND_STOPPED, TWO_BARS, line


@pytest.mark.parametrize(
    ("text", "study"),
    [
        ("pluck=m-a", Study(pluck="m-a")),
        ("pluck = a-m-i ; accent=fretted notes", Study(pluck="a-m-i", accent="fretted notes")),
        ("m a in turn", Study(pluck="m-a")),
        ("M a  IN turn", Study(pluck="m-a")),
        ("Pull-offs to the open string", Study(slurs="to open")),
        ("i m in turn; rest stroke", Study(pluck="i-m", stroke="rest")),
        ("to open", Study(slurs="to open")),
        ("p-i-m-i", Study(pluck="p-i-m-i")),
        ("slurs to open", Study(slurs="to open")),
        ("i and m", Study(pluck="i-m")),
        ("m a", Study(pluck="m-a")),
        ("rest stroke", Study(stroke="rest")),
        ("tremolo", Study(pluck="tremolo p-a-m-i")),
        ("accent on fretted notes", Study(accent="fretted notes")),
        ("finger 4", Study(fret="4")),
        ("arpeggio", Study(pluck="arpeggio p-i-m")),
        ("pull offs", Study(slurs="pull-offs")),
    ],
)
def test_a_study_answers_to_setting_and_heading(text: str, study: Study) -> None:
    """Settings, headings in any case, a setting by itself and a wish in a few words name one study."""
    assert study_from(text) == study


def test_every_heading_of_the_selection_is_the_one_that_is_printed() -> None:
    """What a heading is reckoned to be is what the variation carries, and it leads back to the study."""
    music = line(OPEN_AND_STOPPED)
    for study in selection("complete"):
        made = axes.vary(music, study)
        if isinstance(made, Variation) and study != Study():
            assert made.title == heading(study)
            assert heading(study_from(made.title)) == made.title


def test_a_number_is_that_of_the_page() -> None:
    """Page 3 of a book is its third step; beyond the last page the number is refused."""
    steps = choose(line(TWO_BARS), Plan(depth="short")).steps
    assert study_from("3", steps) == steps[2].study
    with pytest.raises(PlanError) as caught:
        study_from("99", steps)
    assert f"the book has variations 1 to {len(steps)}" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("m a in tern", "did you mean 'm a in turn'?"),
        ("pluk=m-a", "did you mean pluck?"),
        ("pluck=m-a; pluck=i-m", "names pluck twice"),
        ("pluck=", "is not axis=setting"),
        ("rhythm", "not one study but the axis of many"),
    ],
)
def test_a_name_that_is_none_leads_on(text: str, said: str) -> None:
    """The nearest name, or the form, is in the message."""
    with pytest.raises(PlanError) as caught:
        study_from(text)
    assert said in str(caught.value)


def test_the_list_of_studies_holds_the_headings_that_name_them() -> None:
    """Each heading in it leads to a study whose page carries that heading."""
    for axis in catalogue(None):
        for row in axis["settings"]:
            if row["name"] != axis["default"]:
                assert heading(study_from(row["heading"])) == row["heading"]
