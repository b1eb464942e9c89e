"""Damaged input through the whole line: every one must end as music, a page or a book, or as one line for each fault.

`python -m tests.trust.fuzz --count 20000 --seed 1` runs the long way and prints what happened; the tests draw a few
hundred. Every input is read; what is read is fretted and drawn under a study of the catalogue for one input in
`--line`, and printed as a short book for one in `--book`. Seeds are the scores of tests/reading, the examples,
small files of music21's corpus, tunes, tablatures, plans and logs.
"""

from __future__ import annotations

import argparse
import functools
import random
import re
import resource
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import music21

from engrave import axes
from engrave import line as book
from engrave.exchange import to_midi, to_musicxml
from engrave.model import Declined, EngraveError, Marks, Passage, Plan, Study, Variation
from engrave.plates import draw
from engrave.reading import read
from engrave.reading.limits import LIMITS, hold_to_studies
from engrave.reading.musicxml.archive import unpack
from engrave.regimen import read_log, read_plan, write_plan
from tests.axes.laws import check
from tests.plates.readback import read_back
from tests.reading.fuzz import ASKED, NASTY, bytes_flipped, cut_off, damaged, seeds, try_all
from tests.trust import test_books

ROOT = Path(__file__).resolve().parents[2]
_CORPUS = Path(music21.__file__).parent / "corpus"
_SMALL = 40_000
"""bytes of a corpus file that is worth damaging: more only takes longer"""
_TUNE = """X:1
T:The Third Gate
C:our own
M:6/8
L:1/8
Q:3/8=80
K:D
|: !1!A2B c2d | (3efg !accent!f2 e | [DFA]3 {c}d2z | A,2B, C>D E :|
V:2 clef=treble-8
D,6 | A,,6 & F,3 G,3 | D,6- | D,6 |
"""
_TAB = """title: Loose Ends
metre: 4/4
key: A minor
tempo: 80

r:q   q   e   e   q
e|----0---------------|
B|1-------1h--3---1---|
G|--------------------|
D|--------------------|
A|3-----------3-------|
E|--------------------|
f:31      1   34  1
p:pi  m   i   p   i
"""
_LOG = """study,day,tempo,clean,times,note
a-m-i,2027-01-04,60,4,5,steady
"best i-m; rest",2027-01-05,66,2,5,"tired, late"
to open,2027-01-06,72,0,3,
"""
_ALPHABET = "eBGDAE|-0123456789hp/\\s^x()[]{}:!~'\"=.,;&<>#_ \t\n\x00\x0b\u2028\u202e\U0001f3b8é"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One input of the whole line."""

    data: bytes
    name: str
    asked: dict[str, str]
    plan: str = ""
    log: str = ""


@functools.cache
def _scores() -> list[bytes]:
    return seeds()


@functools.cache
def _corpus() -> list[Path]:
    """Scores and tunes of the corpus that are small enough."""
    found = [path for kind in ("mxl", "xml", "musicxml", "abc") for path in _CORPUS.rglob(f"*.{kind}")]
    return sorted(path for path in found if path.stat().st_size < _SMALL)


@functools.cache
def _texts() -> dict[str, list[str]]:
    tabs = [_TAB, *(path.read_text(encoding="utf-8") for path in (*(ROOT / "examples").glob("*.tab"), _BUILT_IN))]
    plans = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "examples").glob("*.toml"))]
    # the starter plan with its keys in force
    starter = re.sub(r"^# (?=[a-z-]+ = )", "", write_plan(), flags=re.MULTILINE)
    return {"tab": tabs, "abc": [_TUNE], "plan": [*plans, *plans, starter], "log": [_LOG]}


_BUILT_IN = ROOT / "shared/passage.tab"


def altered(draw_: random.Random, text: str) -> str:
    """A text changed sign by sign, so that much of it still makes sense, or damaged."""
    if draw_.random() < 0.5:
        return text_damaged(draw_, text)
    signs = list(text)
    for _ in range(draw_.choice((1, 2, 4, 8))):
        here = draw_.randrange(len(signs))
        if signs[here].isdigit():
            signs[here] = draw_.choice("0123456789")
        elif signs[here].isalpha():
            signs[here] = draw_.choice("abcdefgABCDEFGhpxz")
        elif signs[here] in "-|:":
            signs[here] = draw_.choice("--0123579|:hp")
    return "".join(signs)


def text_damaged(draw_: random.Random, text: str) -> str:
    """Lines taken out, doubled, swapped or cut, figures and words replaced by nasty ones, characters changed."""
    lines = text.split("\n")
    for _ in range(draw_.choice((1, 1, 2, 3, 6, 12))):
        here = draw_.randrange(len(lines))
        match draw_.randrange(7):
            case 0 if len(lines) > 1:
                del lines[here]
            case 1:
                lines.insert(draw_.randrange(len(lines) + 1), lines[here])
            case 2:
                there = draw_.randrange(len(lines))
                lines[here], lines[there] = lines[there], lines[here]
            case 3:
                figures = list(re.finditer(r"\d+", lines[here]))
                if figures:
                    found = draw_.choice(figures)
                    lines[here] = lines[here][: found.start()] + draw_.choice(NASTY) + lines[here][found.end() :]
            case 4:
                found_words = list(re.finditer(r"[\w-]+", lines[here]))
                if found_words:
                    word = draw_.choice(found_words)
                    lines[here] = lines[here][: word.start()] + draw_.choice(NASTY) + lines[here][word.end() :]
            case 5:
                at = draw_.randrange(len(lines[here]) + 1)
                more = "".join(draw_.choices(_ALPHABET, k=draw_.randint(1, 6)))
                lines[here] = lines[here][:at] + more + lines[here][at + draw_.choice((0, len(more))) :]
            case _:
                lines[here] = lines[here][: draw_.randrange(len(lines[here]) + 1)] * draw_.choice((1, 2, 40))
    return "\n".join(lines)


def case(draw_: random.Random) -> Case:
    """One damaged input: a score, a file of the corpus, a tune or a tablature; sometimes with a plan and a log."""
    kind = draw_.choice(("score", "score", "score", "corpus", "corpus", "tab", "tab", "abc"))
    asked = dict(draw_.choice(ASKED))
    if kind == "score":
        data, asked = damaged(draw_, _scores())
        name = "x.xml"
    elif kind == "corpus":
        path = draw_.choice(_corpus())
        data = path.read_bytes()
        name = "x.abc" if path.suffix == ".abc" else "x.xml"
        if path.suffix == ".mxl":
            data = unpack(data, path.name)
        asked = dict(draw_.choice(({"bars": "1-4"}, {"bars": "3-5"}, {"voice": "1"}, asked)))
        # a third as they are: real files hold more than damage can think of
        if draw_.random() < 0.67:
            if name == "x.abc":
                data = altered(draw_, data.decode("latin-1")).encode("utf-8", errors="replace")
            else:
                data, _ = damaged(draw_, [data])
    else:
        name = f"x.{kind}"
        text = altered(draw_, draw_.choice(_texts()[kind]))
        data = text.encode("utf-8", errors="replace")
        if draw_.random() < 0.15:
            data = draw_.choice((bytes_flipped, cut_off))(draw_, data)
    plan = log = ""
    if draw_.random() < 0.4:
        plan = altered(draw_, draw_.choice(_texts()["plan"]))
    if draw_.random() < 0.1:
        log = altered(draw_, draw_.choice(_texts()["log"]))
    return Case(data=data, name=name, asked=asked, plan=plan, log=log)


def outcome(given: Case, draw_: random.Random, *, line: float = 1.0, whole: float = 0.0) -> str:
    """How far an input came; anything but an EngraveError of single lines is a fault of ours and is raised.

    `line` is the share of what is read that goes on to be played and drawn, `whole` the share that is printed.
    """
    try:
        return _far(given, draw_, line, whole)
    except EngraveError as error:
        refusal = error
    said = str(refusal).splitlines()
    assert len(said) == len(refusal.faults) <= 120, said
    assert all(0 < len(fault) <= 600 for fault in said), said
    return f"refused ({type(refusal).__name__})"


def _far(given: Case, draw_: random.Random, line: float, whole: float) -> str:
    luck = draw_.random()
    passage = read(given.data, given.name, **given.asked)  # type: ignore[arg-type]
    plan = read_plan(given.plan, "plan.toml") if given.plan else Plan()
    if given.log:
        read_log(given.log, "log.csv")
    if luck >= line:
        return "read"
    hold_to_studies(passage, LIMITS)
    if luck < whole:
        pdf = book.press(book.make(passage, replace(plan, depth="short", studies=plan.studies[:4])))
        assert pdf.startswith(b"%PDF-")
        assert pdf.rstrip().endswith(b"%%EOF")
        return "printed"
    return _played(passage, plan, draw_)


def _played(passage: Passage, plan: Plan, draw_: random.Random) -> str:
    line = book.line_of(passage, plan)
    made = axes.vary(line, study(draw_))
    if isinstance(made, Declined):
        assert made.reason
        made = axes.vary(line, Study())
    assert isinstance(made, Variation)
    # a source may print bars longer than their metre: how it is told is the reader's affair, that is tested there
    told = any(bar.length > bar.metre.length for bar in passage.bars)
    # a held note that no hand can keep is told in a notice
    eased = any("its finger lets go" in notice.text for notice in made.notices)
    broken = [
        law
        for law in check(made)
        if not (told and law.startswith("bar ")) and not (eased and "cuts off a note that still lasts" in law)
    ]
    assert not broken, broken
    assert_printed(made, plan.marks, tab=draw_.random() < 0.3)
    assert to_midi(made, ladders=[(60,)]).startswith(b"MThd")
    assert to_musicxml(made).startswith(b"<?xml")
    return "drawn"


def assert_printed(variation: Variation, marks: Marks, *, tab: bool = False) -> None:
    """Every note of a variation is read back from its plate at its pitch; a damped one may be a cross."""
    said = read_back(draw(variation, width=173, staff=7.2, marks=marks, tab=tab))
    muted = {note.id for note in variation.passage.notes if note.muted}
    meant = {note.id: note.pitch.midi for note in variation.passage.notes}
    got = {owner: mark.pitch.midi for owner, mark in said.items()}
    assert {k: v for k, v in got.items() if k not in muted} == {k: v for k, v in meant.items() if k not in muted}


def study(draw_: random.Random) -> Study:
    """One to three settings of the catalogue."""
    chosen = draw_.sample(axes.ORDER, draw_.choice((1, 1, 2, 3)))
    named: dict[str, Any] = {axis.name: draw_.choice(axis.settings).name for axis in chosen}
    return Study(**named)


def _one(asked: argparse.Namespace, draw_: random.Random) -> Callable[[], str]:
    if asked.pdf:
        data = test_books.a_damaged_book(draw_)
        return lambda: test_books.outcome(data)
    given = case(draw_)
    return lambda: outcome(given, draw_, line=1 / asked.line, whole=1 / asked.book)


def main() -> None:
    """The long run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=20_000)
    parser.add_argument("--first", type=int, default=0, help="number of the first input")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--line", type=float, default=2, help="one in so many that are read is played and drawn")
    parser.add_argument("--book", type=float, default=200, help="one in so many that are read is printed")
    parser.add_argument("--pdf", action="store_true", help="damage books instead, and open them")
    parser.add_argument("--seconds", type=int, default=60, help="processor time for one input")
    parser.add_argument("--gigabytes", type=float, default=3, help="address space of the whole run")
    asked = parser.parse_args()
    most = int(asked.gigabytes * 2**30)
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    numbers = range(asked.first, asked.first + asked.count)
    names = (f"{asked.seed}/{number}" for number in numbers)
    try_all(((name, _one(asked, random.Random(name))) for name in names), asked.seconds)


if __name__ == "__main__":
    main()
