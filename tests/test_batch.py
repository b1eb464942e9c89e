"""Many books at once: the same bytes as one at a time, and what cannot be printed does not hold up the rest."""

from __future__ import annotations

import importlib.util
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner, Result

from engrave import line as book
from engrave.batch import Order, Printed, Source, print_book, print_books
from engrave.cli import main
from engrave.model import Passage, Plan
from tests.test_cli import ONE

if TYPE_CHECKING:
    from dask.distributed import Client  # a second of loading, for the one test that has a cluster

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ("slow-barge.tab", "harbour-steps.musicxml")
PLAN = """
[[study]]
pluck = "i-m"
[[study]]
pluck = "a-m-i"
accent = "fretted notes"
"""
ORDER = Order(plan=PLAN, settings=(("tab", True),), bars="1-2")


@pytest.fixture(autouse=True)
def dated(monkeypatch: pytest.MonkeyPatch) -> None:
    """Books carry a date of ours."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")


@pytest.fixture(scope="module")
def sources() -> tuple[Source, ...]:
    """The examples, and something that is no score."""
    good = (Source(name=name, data=(ROOT / "examples" / name).read_bytes()) for name in EXAMPLES)
    return (*good, Source(name="bad.xml", data=b"<score"))


@pytest.fixture(scope="module")
def plain(sources: tuple[Source, ...]) -> dict[str, Printed]:
    """Each book made here, alone."""
    before = os.environ.get("SOURCE_DATE_EPOCH")
    os.environ["SOURCE_DATE_EPOCH"] = "1700000000"
    made = {source.name: print_book(ORDER, source) for source in sources}
    if before is None:
        del os.environ["SOURCE_DATE_EPOCH"]
    return made


def run(*words: str) -> Result:
    """The command line `engrave book WORDS`."""
    return CliRunner().invoke(main, ["book", *words])


def test_a_folder_of_passages_is_printed_into_a_folder(plain: dict[str, Printed], tmp_path: Path) -> None:
    """Every passage has its book, what has none is named at the end, and the exit code says that something failed.

    Python files that lie where the command is called are run neither by it nor by its processes.
    """
    folder = tmp_path / "in"
    folder.mkdir()
    for name in EXAMPLES:
        (folder / name).write_bytes((ROOT / "examples" / name).read_bytes())
    (folder / "bad.xml").write_bytes(b"<score")
    (folder / "notes.md").write_text("not a passage")
    (folder / "notes.txt").write_text("Ana: bars 1-4, slower next time.")
    (folder / "._harbour-steps.musicxml").write_bytes(b"\0\5\x16\7what a Mac leaves beside a file")
    (tmp_path / "plan.toml").write_text(PLAN)
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin" / "run.py").write_text("from engrave.cli import main\nif __name__ == '__main__':\n    main()\n")
    here = tmp_path / "here"
    here.mkdir()
    for name in ("numpy", "random", "signal", "socket", "string", "verovio"):
        (here / f"{name}.py").write_text("open('run', 'w')\n")
    out = tmp_path / "made" / "out"
    words = (
        "../in",
        "../in/gone.tab",
        "-o",
        str(out),
        "--plan",
        "../plan.toml",
        "--tab",
        "--bars",
        "1-2",
        "--jobs",
        "2",
    )
    command = [sys.executable, str(tmp_path / "bin" / "run.py"), "book", *words]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=here, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 2, done.stderr
    assert not (here / "run").exists()
    for name in EXAMPLES:
        assert (out / f"{Path(name).stem}-book.pdf").read_bytes() == plain[name].pdf
        assert f"{Path(name).stem}-book.pdf: {plain[name].variations} variations" in done.stdout
    assert len(list(out.iterdir())) == len(EXAMPLES)
    assert done.stdout.splitlines()[-1] == "2 of 4 books printed"
    said = done.stderr.splitlines()
    assert len(said) == 3
    assert said[0].endswith("notes.txt: there is no music in it; passed over")
    assert said[1].endswith("gone.tab: there is no such file (check the name)")
    assert said[2].startswith("engrave: bad.xml, line 1: the XML is broken")


def test_a_text_beside_the_music_is_no_fault(tmp_path: Path) -> None:
    """Notes in a folder are passed over, and the exit says that all went well; named alone, they are refused."""
    (tmp_path / "notes.txt").write_text("Ana: bars 1-4, slower next time.")
    (tmp_path / "line.txt").write_text("e|-0-1-3-0-|\n" + "".join(f"{name}|---------|\n" for name in "BGDAE"))
    (tmp_path / "plan.toml").write_text(PLAN)
    words = (str(tmp_path), "--plan", str(tmp_path / "plan.toml"), "-o", str(tmp_path / "out"))
    assert run(*words).exit_code == 0
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["line-book.pdf"]
    assert run(str(tmp_path / "notes.txt"), "-o", str(tmp_path / "x.pdf")).exit_code == 2


def test_one_plan_for_all_is_refused_once(tmp_path: Path) -> None:
    """What is wrong with the plan is one line, not one for each passage, and nothing is written."""
    plan = tmp_path / "plan.toml"
    plan.write_text("[book]\ndepth = 'deep'\n")
    names = [str(ROOT / "examples" / name) for name in EXAMPLES]
    done = run(*names, "--plan", str(plan), "-o", str(tmp_path / "out"))
    assert done.exit_code == 2
    assert len(done.stderr.splitlines()) == 1
    assert "deep" in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("a/x.tab", "b/x.xml"), "b/x.xml and a/x.tab would both be printed to out/x-book.pdf (give one another name)"),
        (("a/x.tab", "-"), "standard input is one passage, not one of several (give it alone)"),
        (("a/x.tab", "empty"), "empty: there is no passage in this folder"),
        (("a/x.tab", "a/y.tab", "-o", "file"), "file: file is a file, not a folder (give another name with -o)"),
    ],
)
def test_what_cannot_be_printed_side_by_side_is_refused(
    names: tuple[str, ...], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two books of one name, standard input among others, an empty folder, a file for a folder: one line, no book."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty").mkdir()
    (tmp_path / "file").write_text("a file")
    done = run(*names, *([] if "-o" in names else ["-o", "out"]))
    assert done.exit_code == 2
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"engrave: {said}")
    assert not (tmp_path / "out").exists()


def test_an_order_sets_nothing_else() -> None:
    """An order that sets a key of another kind is our own mistake, and said so."""
    with pytest.raises(
        ValueError, match=r"an order sets instrument, .*, title, depth, only, language, level, days, not teacher"
    ):
        Order(settings=(("teacher", "x"),))


@pytest.fixture(scope="module")
def cluster_books() -> ModuleType:
    """The example that maps books over a cluster."""
    spec = importlib.util.spec_from_file_location("cluster_books", ROOT / "examples" / "cluster_books.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["cluster_books"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def client(tmp_path: Path) -> Iterator[Client]:
    """A cluster of two workers on this machine, which listens to nobody else."""
    from dask.distributed import Client, LocalCluster  # noqa: PLC0415 (a second of loading)

    with (
        LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            host="127.0.0.1",
            dashboard_address=None,
            local_directory=str(tmp_path),
            env={"SOURCE_DATE_EPOCH": "1700000000"},
        ) as cluster,
        Client(cluster) as client,
    ):
        yield client


def die_once(order: Order, source: Source, marker: str) -> Printed:
    """A book whose first worker is killed outright in the middle of it."""
    from dask.distributed import get_worker  # noqa: PLC0415 (a second of loading)

    if not Path(marker).exists():
        Path(marker).write_text(str(get_worker().address))
        os.kill(os.getpid(), 9)
    return print_book(order, source)


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_gives_the_same_books_and_a_killed_worker_loses_nothing(
    client: Client, cluster_books: Any, sources: tuple[Source, ...], plain: dict[str, Printed], tmp_path: Path
) -> None:
    """Mapped over two workers of a Dask cluster, one killed in between: the bytes of the plain run, and its faults.

    The tablature and what is no score: no worker has to load the reader of scores.
    """
    asked = [source for source in sources if source.name != EXAMPLES[1]]
    lost = client.submit(die_once, ORDER, asked[0], str(tmp_path / "killed"), retries=2)
    made = {printed.name: printed for printed in cluster_books.books(client, ORDER, asked)}
    assert made == {source.name: plain[source.name] for source in asked}
    assert lost.result(timeout=120) == plain[asked[0].name]
    assert (tmp_path / "killed").exists()


def test_an_error_nobody_foresaw_is_one_book_s_own(
    sources: tuple[Source, ...], plain: dict[str, Printed], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is told as a fault of that book, with its place in the program; the others are printed."""
    make = book.make

    def stumbling(passage: Passage, plan: Plan) -> Any:
        if passage.source == EXAMPLES[1]:
            raise ZeroDivisionError("by nothing")
        return make(passage, plan)

    monkeypatch.setattr(book, "make", stumbling)
    made = list(print_books([(ORDER, source) for source in sources[:2]]))
    assert made[0] == plain[EXAMPLES[0]]
    assert made[1].pdf == b""
    assert re.fullmatch(
        r"unexpected error, ZeroDivisionError: by nothing \(test_batch\.py:\d+\)", made[1].faults[0].fact
    )


def test_with_standard_error_closed_a_book_is_written(tmp_path: Path) -> None:
    """Nobody can be told of progress or notices; the book is made all the same."""
    (tmp_path / "a.tab").write_bytes((ROOT / "examples/slow-barge.tab").read_bytes())
    ours = f"{shlex.quote(sys.executable)} -c 'from engrave.cli import main; main()'"
    line = f"{ours} book a.tab --bars 1 --plan {shlex.quote(ONE[1])} -o a.pdf 2>&-"
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(["sh", "-c", line], cwd=tmp_path, env=env, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "a.pdf: 2 variations\n")
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")
