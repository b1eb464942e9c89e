"""What weeks, courses and classes say is what their pages and tables show."""

from __future__ import annotations

from datetime import date

from engrave.model import Plan, Player, Regimen, Step, Study
from engrave.regimen import week
from engrave.regimen.log import Entry, Log
from tests.regimen.lines import TWO_BARS, line

LINE = line(TWO_BARS)


def entries(name: str, tempo: int, *, clean: int, days: int = 1, note: str = "") -> list[Entry]:
    """Sittings with one study, day after day; the note is that of the last."""
    notes = [""] * (days - 1) + [note]
    return [
        Entry(line=at + 2, study=name, day=date(2027, 1, 4 + at), tempo=tempo, clean=clean, times=5, note=said)
        for at, said in enumerate(notes)
    ]


def logged(plan: Plan, *rows: Entry) -> Regimen:
    """The week after such a log."""
    return week(LINE, plan, log=Log(entries=rows))


def uses(step: Step, finger: str) -> bool:
    """Whether a page has a note that this fretting finger stops, or this plucking finger plays."""
    assert step.variation is not None
    return any(
        finger in (note.stroke and note.stroke.finger, note.placement and str(note.placement.finger))
        for note in step.variation.passage.notes
    )


def test_after_pain_nothing_rises_and_nothing_new_has_the_finger() -> None:
    """A study that went clean stays at its tempo, and no page comes anew that uses the finger that hurts."""
    plan = Plan(player=Player(minutes=40, tempo=60, goal=84))
    rows = (
        *entries("p i in turn", 50, clean=5),
        *entries("every slur there is", 40, clean=5),
        *entries("a m in turn", 40, clean=0, note="my little finger hurts"),
    )
    after = logged(plan, *rows)
    known = {"p i in turn", "Every slur there is", "The line as written"}
    mine = [v for d in after.days for v in d.visits if after.steps[v.step].study == Study(pluck="p-i")]
    tempi = {tempo for visit in mine for tempo in visit.tempo}
    assert tempi == {50}
    assert "“p i in turn”: clean at 50: once more at that, as something hurts" in [n.text for n in after.notices]
    assert not [s for s in after.steps if s.variation and s.variation.title not in known and uses(s, "4")]
    assert [s for s in logged(plan, *rows[:2]).steps if s.study != Study() and uses(s, "4")]
