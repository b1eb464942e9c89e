"""What stands behind the music for the teacher."""

from __future__ import annotations

from engrave.model import Notice
from engrave.model.said import Said
from engrave.pages.appendix import MOST_NAMED, MOST_UNFIT, gathered
from engrave.regimen import SAME, UNFIT


def test_notices_of_one_kind_are_gathered_by_their_kind() -> None:
    """Studies of other textures are counted together, and those that would print the same; the rest stands alone."""
    first = Notice(text="first", kind=UNFIT, of=("chords", "tremolo"), many=3)
    second = Notice(text="second", kind=UNFIT, of=("tremolo", "lines"))
    alone = Notice(text="alone", kind=UNFIT)
    same = [Notice(text=text, kind=SAME) for text in ("one", "other")]
    found = gathered([first, same[0], alone, second, same[1]])
    assert [notice.text for notice in found] == [
        "4 studies are for chords, tremolo or lines: the passage has no stretch of that.",
        "2 studies would print the same notes and marks as another page.",
        "alone",
    ]
    assert all(isinstance(notice.text, Said) for notice in found[:2])


def test_only_a_few_reasons_are_told() -> None:
    """Of many studies that do not apply the first are told with their reasons, the others by name."""
    notices = [Notice(text=f"reason {n}", kind=UNFIT, about=f"study {n}") for n in range(MOST_UNFIT + 3)]
    found = [notice.text for notice in gathered(notices)]
    assert found[:MOST_UNFIT] == [f"reason {n}" for n in range(MOST_UNFIT)]
    assert found[MOST_UNFIT:] == [
        "3 more studies do not apply here: “study 4”, “study 5”, “study 6”. "
        "The command “engrave studies”, given the passage, says why."
    ]
    # one more takes no more room with its reason
    assert [notice.text for notice in gathered(notices[: MOST_UNFIT + 1])][-1] == "reason 4"


def test_many_studies_that_do_not_apply_are_a_number() -> None:
    """Of more than a dozen that are not told with their reasons no names are printed: nobody reads a hundred."""
    for more, named in ((MOST_NAMED, True), (MOST_NAMED + 1, False)):
        notices = [Notice(text=f"reason {n}", kind=UNFIT, about=f"study {n}") for n in range(MOST_UNFIT + more)]
        last = gathered(notices)[-1].text
        assert last.startswith(f"{more} more studies do not apply here")
        assert ("study 9" in last) is named
