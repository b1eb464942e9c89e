"""Work done elsewhere or earlier gives what it gives here and now."""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import islice
from pathlib import Path
from threading import Event

import pytest

from engrave import book, reading, workshop
from engrave.editions import make_handout, make_reissue, make_week, opened
from engrave.model import Fault, Passage, Place, Plan, PlanError, PressError, Study
from engrave.shelf import FolderShelf, user_shelf
from engrave.workshop import PLAIN, Bench, unpacked
from tests.benchmarks import speed_inputs
from tests.pages.conftest import content
from tests.pages.printed import outline, texts

ROOT = Path(__file__).resolve().parents[1]
TWO_VOICES = ROOT / "examples" / "two-lanterns.musicxml"
LINES = {"built-in": book.built_in(), "two voices": (TWO_VOICES.read_bytes(), TWO_VOICES.name)}
ASKED = tuple(Study(pluck=letters) for letters in ("i-m", "a-m-i", "p-i-m"))
FEW = Plan(studies=(*ASKED, Study(slurs="to open"), Study(accent="every 2", rhythm="dotted")))


def passage(name: str) -> Passage:
    """A passage to make books of."""
    return reading.read(*LINES[name])


@pytest.fixture(scope="module")
def pool() -> Iterator[Bench]:
    """A bench of two processes."""
    with Bench(jobs=2) as bench:
        yield bench


def halved(by: int, what: int) -> Fraction:
    """Work: a division, which fails where it should."""
    if what == 13:
        raise PlanError(Fault(fact="thirteen", hint="take another", place=Place(file="a", bar="3", beat=Fraction(2))))
    return Fraction(what, by)


def test_work_in_processes_comes_back_in_order(pool: Bench) -> None:
    """Answers stand where their items stand, for any number of items."""
    for count in (0, 1, 2, 3, 7, 40):
        assert list(pool.each(halved, 2, range(20, 20 + count))) == [Fraction(n, 2) for n in range(20, 20 + count)]


def test_a_fault_in_a_process_is_the_same_fault(pool: Bench) -> None:
    """An error crosses from one process to another with every part of it."""
    with pytest.raises(PlanError) as here:
        list(PLAIN.each(halved, 2, [1, 13]))
    with pytest.raises(PlanError) as there:
        list(pool.each(halved, 2, [1, 13]))
    assert there.value.faults == here.value.faults
    assert str(there.value) == str(here.value) == "a, bar 3, beat 2: thirteen (take another)"


def touched(folder: str, name: str) -> str:
    """Work: leaves a file."""
    (Path(folder) / name).touch()
    return name


def whoever(process: int, _item: int) -> bool:
    """Work: tells whether this is the process of that number."""
    return os.getpid() == process


def killed(folder: str, name: str) -> str:
    """Work: the first time that an item of this name is met, its process is ended from outside."""
    met = Path(folder) / name
    if name.startswith("kill") and (name == "kill always" or not met.exists()):
        met.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return name


def appears(file: Path) -> bool:
    """Whether a file is there within a while."""
    for _ in range(200):
        if file.exists():
            return True
        time.sleep(0.05)
    return False


def test_processes_begin_before_an_answer_is_asked_for(pool: Bench, tmp_path: Path) -> None:
    """Work begins at once, the first item's while the next is still made; a single one aside of this process, too."""
    waiting = pool.each(touched, str(tmp_path), ["a", "b"])
    assert appears(tmp_path / "a")
    assert appears(tmp_path / "b")

    def made() -> Iterator[str]:
        yield "c"
        yield "d" if appears(tmp_path / "c") else "c was not begun"

    assert list(pool.each(touched, str(tmp_path), made(), count=2)) == ["c", "d"]
    alone = pool.each(touched, str(tmp_path), ["e"], who="others")
    assert appears(tmp_path / "e")
    assert [*alone, *waiting] == ["e", "a", "b"]
    assert [*pool.each(whoever, os.getpid(), range(3), who="this")] == [True] * 3
    assert [*pool.each(whoever, os.getpid(), range(3))] == [False] * 3


def test_until_processes_are_there_this_one_does_what_it_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """What only others may do waits for them; what has not been asked for is theirs as soon as they are there."""
    held, start = Event(), workshop._pool

    def late(jobs: int) -> object:
        held.wait(60)
        return start(jobs)

    monkeypatch.setattr(workshop, "_pool", late)
    with Bench(jobs=2) as bench:
        only = bench.each(whoever, os.getpid(), [0], who="others")
        early = bench.each(whoever, os.getpid(), range(16))
        assert [*islice(early, 4)] == [True] * 4
        held.set()
        assert [*only] == [False]
        assert [*early] == [False] * 12


def test_processes_that_cannot_be_started_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The fault is raised by whoever waits for them, and the bench is left all the same."""

    def none(_jobs: int) -> object:
        raise OSError("no more processes")

    monkeypatch.setattr(workshop, "_pool", none)
    with Bench(jobs=2) as bench, pytest.raises(OSError, match="no more processes"):
        list(bench.each(whoever, 0, [0], who="others"))


def test_without_processes_nothing_is_done_before_it_is_asked_for(tmp_path: Path) -> None:
    """Items that are made on the way are made one by one, as their answers are asked for; what is known is not done."""
    shelf = Counted()
    bench = Bench(shelf=shelf)
    asked: list[str] = []

    def made() -> Iterator[str]:
        for name in "abc":
            asked.append(name)
            yield name

    answers = bench.each(touched, str(tmp_path), made(), key=str, count=3)
    assert asked == []
    assert next(answers) == "a"
    assert asked == ["a"]
    assert not (tmp_path / "b").exists()
    assert [*answers] == ["b", "c"]
    for file in tmp_path.iterdir():
        file.unlink()
    assert [*bench.each(touched, str(tmp_path), made(), key=str)] == ["a", "b", "c"]
    assert list(tmp_path.iterdir()) == []


def test_answers_of_processes_and_of_the_shelf_are_in_order(tmp_path: Path) -> None:
    """Where some answers are on the shelf, the processes make the others, and each goes to its place."""
    shelf = Counted()
    known = "bcgjm"
    assert "".join(Bench(shelf=shelf).each(touched, str(tmp_path), known, key=str)) == known
    for file in tmp_path.iterdir():
        file.unlink()
    told: list[tuple[str, int, int]] = []
    with Bench(jobs=2, shelf=shelf, progress=lambda *said: told.append(said)) as bench:
        letters = "abcdefghijklmnopqrstuvwxyz"
        assert "".join(bench.each(touched, str(tmp_path), letters, key=str, stage="plates")) == letters
    assert {file.name for file in tmp_path.iterdir()} == set(letters) - set(known)
    assert told == [("plates", done, 26) for done in range(27)]


def beside(_shared: int, letters: list[str]) -> list[str]:
    """Work on several at once: tells with which others each was done."""
    return [f"{letter} with {''.join(letters)}" for letter in letters]


@pytest.mark.parametrize("jobs", [1, 2])
def test_work_on_several_at_once_is_given_what_is_not_on_the_shelf(jobs: int) -> None:
    """Up to so many, whatever stands between them; the answers are in order, and the stage goes on where it was."""
    shelf = Counted()
    told: list[tuple[str, int, int]] = []
    with Bench(jobs=jobs, shelf=shelf, progress=lambda *said: told.append(said)) as bench:
        known = bench.together(beside, 0, ["b", "e"], most=1, key=str, stage="pages", count=9)
        assert [*known] == ["b with b", "e with e"]
        made = bench.together(beside, 0, iter("abcdefg"), most=3, key=str, stage="pages", count=9, after=2)
        lots = {"b": "b", "e": "e"} | dict.fromkeys("acd", "acd") | dict.fromkeys("fg", "fg")
        assert [*made] == [f"{letter} with {lots[letter]}" for letter in "abcdefg"]
    assert told[:3] == [("pages", done, 2) for done in range(3)]
    assert told[3:] == [("pages", done, 9) for done in range(3, 10)]
    assert [*PLAIN.together(beside, 0, "abcd", most=3)] == [*(f"{c} with abc" for c in "abc"), "d with d"]


def test_work_of_a_process_that_is_ended_is_done_by_another(tmp_path: Path) -> None:
    """All that was under way is done, in order, and only a second end is told."""
    names = ["a", "b", "kill once", "d", "e", "f", "g", "h", "i"]
    with Bench(jobs=2) as bench:
        assert list(bench.each(touched, str(tmp_path), ["w"], who="others")) == ["w"]
        other = bench.each(touched, str(tmp_path), ["x", "y", "z"])
        assert list(bench.each(killed, str(tmp_path), names)) == names
        assert list(other) == ["x", "y", "z"]
        with pytest.raises(PressError, match="ended from outside, twice"):
            list(bench.each(killed, str(tmp_path), ["a", "kill always", "c"]))


@pytest.fixture
def dated(monkeypatch: pytest.MonkeyPatch) -> None:
    """Books carry a date of ours."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")


def printed(bench: Bench, music: Passage) -> list[bytes]:
    """A book, a week, a handout and a reissue."""
    tabbed = replace(FEW, tab=True)
    pdf = book.press(book.make(music, FEW, bench=bench), bench=bench)
    week = book.press(make_week(music, tabbed, bench=bench), bench=bench)
    _, handout = make_handout(music, FEW, pages=4, bench=bench)
    _, again = make_reissue(opened(pdf, "book.pdf"), passage("two voices"), FEW, bench=bench)
    return [pdf, week, handout, again]


@pytest.mark.usefixtures("dated")
@pytest.mark.parametrize("name", LINES)
def test_books_are_the_same_bytes_wherever_they_are_made(name: str, pool: Bench, tmp_path: Path) -> None:
    """Here, in two processes, and from a shelf: book, week, handout and reissue are equal to the byte."""
    music = passage(name)
    here = printed(PLAIN, music)
    shelf = FolderShelf(tmp_path)
    assert printed(pool, music) == here
    assert printed(Bench(shelf=shelf), music) == here
    kept = sorted(tmp_path.glob("*/*"))
    assert len(kept) > 15
    assert printed(Bench(shelf=shelf), music) == here
    assert sorted(tmp_path.glob("*/*")) == kept


class Counted:
    """A shelf in memory that tells what it was asked for."""

    def __init__(self) -> None:
        self.kept: dict[str, bytes] = {}
        self.found = self.missed = 0

    def get(self, key: str) -> bytes | None:
        """What is kept."""
        data = self.kept.get(key)
        self.found, self.missed = self.found + (data is not None), self.missed + (data is None)
        return data

    def put(self, key: str, data: bytes) -> None:
        """Keep it."""
        self.kept[key] = data


@pytest.mark.usefixtures("dated")
def test_one_changed_study_leaves_the_rest_on_the_shelf() -> None:
    """Of a book with one study changed, only that study's answer, plate, bars and gathering are made anew.

    The line's own fingering and plate are on the shelf, too.
    """
    letters = ("i-m", "m-i", "i-a", "a-i", "m-a", "a-m", "p-i", "p-m", "a-m-i", "p-a-m-i", "p-m-i")
    studies = tuple(Study(pluck=name) for name in letters)
    shelf = Counted()
    bench = Bench(shelf=shelf)
    music = passage("built-in")
    first = book.make(music, Plan(studies=studies), bench=bench)
    book.press(first, bench=bench)
    shelf.found = shelf.missed = 0
    changed = (*studies[:-1], Study(pluck="p-m-i", accent="every 2"))
    again = book.make(music, Plan(studies=changed), bench=bench)
    assert shelf.missed == 3
    assert shelf.found == 2 + 3 * (len(studies) - 1)
    # and what was found could be read
    assert all(unpacked(data) for data in shelf.kept.values())
    shelf.found = shelf.missed = 0
    pdf = book.press(again, bench=bench)
    # gatherings: the opening, whose legend has one sign more, the index, this variation, another that says in what it
    # is the first or the most, and what trains what
    assert shelf.missed <= 5
    assert shelf.found >= len(studies) - 2
    assert pdf == book.press(book.make(music, Plan(studies=changed)))


@pytest.mark.usefixtures("dated")
def test_a_study_that_grows_by_a_page_leaves_others_on_the_shelf() -> None:
    """What stands behind it is numbered anew without being laid out anew."""
    letters = ("i-m", "m-i", "i-a", "a-i", "m-a", "a-m", "p-i", "p-m", "a-m-i", "p-a-m-i", "p-m-i")
    studies = tuple(Study(pluck=name) for name in letters)
    shelf = Counted()
    bench = Bench(shelf=shelf)
    music = speed_inputs.line()
    before = book.press(book.make(music, Plan(studies=studies), bench=bench), bench=bench)
    longer = Plan(studies=(Study(pluck="m-i", rhythm="in threes", stroke="rest"), *studies[1:]))
    again = book.make(music, longer, bench=bench)
    shelf.found = shelf.missed = 0
    after = book.press(again, bench=bench)
    assert len(texts(after)) > len(texts(before))
    assert shelf.found >= len(studies) - 2
    assert after == book.press(book.make(music, longer))


@pytest.mark.usefixtures("dated")
@pytest.mark.parametrize("sides", ["single", "double"])
def test_a_study_that_comes_first_leaves_others_on_the_shelf(sides: str) -> None:
    """What stands behind a study put in before it changes its number and its page, and is not laid out anew."""
    letters = ("i-m", "m-i", "i-a", "a-i", "m-a", "a-m", "p-i", "p-m", "a-m-i", "p-a-m-i", "p-m-i")
    plan = Plan(sides=sides)
    whole = content(studies=tuple((Study(pluck=name), "Focus") for name in letters), plan=plan)
    # what is said of a study does not change with its place
    steps = tuple(replace(step, reason="", times=3) for step in whole.regimen.steps)
    sheets = tuple(replace(sheet, step=step) for sheet, step in zip(whole.sheets, steps, strict=True))
    regimen = replace(whole.regimen, steps=steps, coverage=())
    more = replace(whole, sheets=sheets, regimen=regimen)
    renumbered = tuple(replace(sheet, number=number) for number, sheet in enumerate(sheets[1:], start=1))
    less = replace(more, sheets=renumbered, regimen=replace(regimen, steps=steps[1:]))
    shelf = Counted()
    bench = Bench(shelf=shelf)
    book.press(less, bench=bench)
    shelf.found = shelf.missed = 0
    pdf = book.press(more, bench=bench)
    # the heading of the first moves from the second to it, and the index has one more
    assert shelf.missed <= 4
    assert shelf.found >= len(sheets) - 2
    assert pdf == book.press(more)
    assert [title.split()[0] for level, title, _ in outline(pdf) if level == 3] == [str(n + 1) for n in range(11)]


def test_a_passage_is_read_once() -> None:
    """The same file read with the same words is on the shelf; other bars of it, or another file, are not."""
    shelf = Counted()
    bench = Bench(shelf=shelf)
    data, name = book.built_in()
    read = book.heard(data, name, bench=bench)
    assert (shelf.found, shelf.missed) == (0, 1)
    assert book.heard(data, name, bench=bench) == read == reading.read(data, name)
    assert (shelf.found, shelf.missed) == (1, 1)
    assert book.heard(data, name, bars="2-3", bench=bench) == reading.read(data, name, bars="2-3")
    assert book.heard(data, f"other-{name}", bench=bench).source == f"other-{name}"
    assert book.heard(data + b"\n", name, bench=bench) == read
    assert (shelf.found, shelf.missed) == (1, 4)


def test_a_damaged_entry_is_made_again(tmp_path: Path) -> None:
    """Cut short, altered or emptied, an entry is not taken for an answer."""
    shelf = FolderShelf(tmp_path)
    for damage in (lambda data: data[:-1], lambda _: b"", lambda data: data[:40] + b"?" + data[41:]):
        shelf.put("abcdef", b"x" * 100)
        assert shelf.get("abcdef") == b"x" * 100
        (file,) = tmp_path.glob("*/*")
        file.write_bytes(damage(file.read_bytes()))
        assert shelf.get("abcdef") is None


def test_what_was_used_longest_ago_goes_first(tmp_path: Path) -> None:
    """A full shelf keeps what was used last."""
    shelf = FolderShelf(tmp_path, most=250)
    for number, key in enumerate(("aa1", "bb2", "cc3")):
        shelf.put(key, bytes(60))
        os.utime(tmp_path / key[:2] / key[2:], (number, number))
    assert shelf.get("aa1")
    shelf.tidy()
    assert [key for key in ("aa1", "bb2", "cc3") if shelf.get(key)] == ["aa1", "cc3"]


def test_the_shelf_never_gets_in_the_way(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no folder can be made, or others may write to it, there is none; a folder that goes away does no harm."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file" / "below"))
    (tmp_path / "file").write_text("no folder")
    assert user_shelf() is None
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "good"))
    shelf = user_shelf()
    assert shelf is not None
    (folder,) = (tmp_path / "good").iterdir()
    assert folder.stat().st_mode & 0o077 == 0
    folder.rmdir()
    shelf.put("abc", b"x")
    assert shelf.get("abc") is None
    shelf.tidy()
    folder.mkdir()
    folder.chmod(0o777)
    assert user_shelf() is None


class Harm:
    """Something that does more than hold values when it is unpacked."""

    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.system, ("touch harm",)


def test_a_foreign_file_can_do_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only our own values are unpacked: no function is called, whatever the file says."""
    monkeypatch.chdir(tmp_path)
    for evil in (Harm(), eval, subprocess.Popen, Bench(), FolderShelf(tmp_path)):
        with pytest.raises(pickle.UnpicklingError):
            unpacked(pickle.dumps(evil))
    assert list(tmp_path.iterdir()) == []
    assert unpacked(pickle.dumps((Study(pluck="i-m"), Fraction(1, 3), [b"x"]))) == (
        Study(pluck="i-m"),
        Fraction(1, 3),
        [b"x"],
    )


ORPHANS = """
import os, sys, time
sys.path.insert(0, {root!r})
from engrave.workshop import Bench
if __name__ == "__main__":
    with Bench(jobs=2) as bench:
        list(bench.each(divmod, 7, [1], who="others"))
        print(*(process.pid for process in bench._pool._processes.values()), flush=True)
        time.sleep(60)
"""


def test_processes_end_with_the_one_that_started_them(tmp_path: Path) -> None:
    """When the command is killed outright its processes go, too."""
    script = tmp_path / "run.py"
    script.write_text(ORPHANS.format(root=str(ROOT)))
    with subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE, text=True) as run:
        assert run.stdout is not None
        children = [int(word) for word in run.stdout.readline().split()]
        assert len(children) == 2
        run.kill()
    for _ in range(100):
        if not any(Path(f"/proc/{child}").exists() for child in children):
            break
        time.sleep(0.1)
    assert not any(Path(f"/proc/{child}").exists() for child in children)
