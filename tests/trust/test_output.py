"""What is written: the old file or the new one, never half, whatever happens meanwhile; and what is said of it."""

from __future__ import annotations

import errno
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import pytest

from engrave.cli import writing
from engrave.model import PressError
from tests.test_cli import LINE, ROOT, run

MAIN = "from engrave.cli import main; main()"
COMMAND = """
from contextlib import contextmanager
from engrave.cli import main, one_line
real = one_line.stoppable
@contextmanager
def told():
    with real():
        print("ready", flush=True)
        yield
one_line.stoppable = told
main()
"""
# the disk takes its time: what was handed over is not safe for as long as a test likes
SLOW = f"import os, time; os.fsync = lambda handle: (print('writing', flush=True), time.sleep(60)); {MAIN}"
WRITER = """
import sys
from engrave.cli import writing
print("ready", flush=True)
number = 0
while True:
    number += 1
    writing.write_bytes(sys.argv[1], sys.argv[2].encode() * (1 + number % 7) * 100_000)
"""
TWO = ("harbour-steps.musicxml", "slow-barge.tab")
TAB = str(ROOT / "examples/slow-barge.tab")
"""read without the reader of scores, which takes a process as long to load as an export"""
PLAN = str(ROOT / "tests/trust/one-study.toml")
"""a plan that is quickly followed"""


def start(code: str, *words: str, cwd: Path, limit: Callable[[], None] | None = None) -> subprocess.Popen[bytes]:
    """A process of our own that runs `code`."""
    return subprocess.Popen(
        [sys.executable, "-c", code, *words],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        preexec_fn=limit,  # noqa: PLW1509 (the tests start no threads)
    )


def wait_for(process: subprocess.Popen[bytes], word: bytes) -> None:
    """Until the process has said `word`."""
    assert process.stdout is not None
    for line in process.stdout:
        if line.strip() == word:
            return
    raise AssertionError(f"{word!r} was never said: {process.communicate()}")


def test_a_run_that_is_killed_leaves_a_whole_file(tmp_path: Path) -> None:
    """Killed at random moments, two writers of one file leave each time what one of them wrote, whole."""
    target = tmp_path / "book.pdf"
    draw = random.Random(8)
    seen = set()
    for _ in range(8):
        writers = [start(WRITER, str(target), letter, cwd=tmp_path) for letter in ("a", "b")]
        for writer in writers:
            wait_for(writer, b"ready")
        time.sleep(draw.random() / 20)
        for writer in writers:
            writer.kill()
            writer.communicate()
        if target.exists():
            data = target.read_bytes()
            assert data in [letter * size * 100_000 for letter in (b"a", b"b") for size in range(1, 8)]
            seen.add(data[:1])
        left = [path for path in tmp_path.iterdir() if path != target]
        assert all(path.name.startswith(".book.pdf.") and path.name.endswith(".part") for path in left)
    assert seen


def test_what_killed_runs_left_is_swept_up(tmp_path: Path) -> None:
    """A part older than an hour is taken away with the next writing of that file; a young one may be somebody's."""
    target = tmp_path / "book.pdf"
    old, young, other = (tmp_path / f".{name}.part" for name in ("book.pdf.old", "book.pdf.young", "week.pdf.old"))
    for path in (old, young, other):
        path.write_bytes(b"half")
    for path in (old, other):
        os.utime(path, (1_000_000_000, 1_000_000_000))
    writing.write_bytes(str(target), b"whole")
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        ".book.pdf.young.part",
        ".week.pdf.old.part",
        "book.pdf",
    ]


@pytest.mark.parametrize(
    ("kind", "code", "said"),
    [
        (signal.SIGINT, 130, b"engrave: interrupted; nothing was written\n"),
        (signal.SIGTERM, 143, b"engrave: stopped; nothing was written\n"),
        (signal.SIGHUP, 129, b"engrave: stopped; nothing was written\n"),
        (signal.SIGKILL, -9, b""),
    ],
)
def test_stopped_while_it_writes(kind: signal.Signals, code: int, said: bytes, tmp_path: Path) -> None:
    """With the file half on the disk: the old one stands, one line is said, and nothing is left beside it."""
    (tmp_path / "plan.toml").write_bytes(b"the old plan")
    process = start(SLOW, "plan", "-o", "plan.toml", cwd=tmp_path)
    wait_for(process, b"writing")
    process.send_signal(kind)
    out, err = process.communicate(timeout=30)
    assert (process.returncode, out, err) == (code, b"", said)
    assert (tmp_path / "plan.toml").read_bytes() == b"the old plan"
    assert [path.name for path in tmp_path.iterdir() if not path.name.startswith(".")] == ["plan.toml"]
    if kind != signal.SIGKILL:
        assert len(list(tmp_path.iterdir())) == 1


def test_a_folder_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    """Stopped while the second of its files is written, an export leaves no file and not even its folder."""
    process = start(
        SLOW.replace("time.sleep(60)", "time.sleep(0.01)"),
        "export",
        TAB,
        "--plan",
        PLAN,
        "-o",
        "a/b",
        cwd=tmp_path,
    )
    for _ in range(2):
        wait_for(process, b"writing")
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert (process.returncode, err) == (130, b"engrave: interrupted; nothing was written\n")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("moment", [0.0, 0.5, 1.0, 1.8])
def test_stopped_at_any_moment(moment: float, tmp_path: Path) -> None:
    """Ctrl-C while it reads, searches, draws or prints: exit 130, one line, nothing in the folder; or it was done."""
    process = start(COMMAND, "handout", LINE, "--study", "pluck=a-m-i", "-o", "sheet.pdf", cwd=tmp_path)
    wait_for(process, b"ready")
    time.sleep(moment)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=120)
    if out:
        # it was done already; the signal may still have met Python on its way out
        assert process.returncode in (0, -signal.SIGINT)
        assert out.startswith(b"sheet.pdf: ")
        assert (tmp_path / "sheet.pdf").read_bytes().endswith(b"%%EOF\n")
    else:
        assert (process.returncode, out, err) == (130, b"", b"engrave: interrupted; nothing was written\n")
        assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("kind", ["SIGINT", "SIGTERM"])
def test_stopped_before_it_begins(kind: str, tmp_path: Path) -> None:
    """A signal that comes between two steps, where nobody would catch what it raises, waits until somebody does."""
    early = COMMAND.replace('print("ready", flush=True)', f"signal.raise_signal(signal.{kind})")
    process = start(f"import signal\n{early}", "plan", "-o", "plan.toml", cwd=tmp_path)
    out, err = process.communicate(timeout=60)
    word = b"interrupted" if kind == "SIGINT" else b"stopped"
    assert (process.returncode, out, err) == (
        128 + getattr(signal, kind), b"", b"engrave: " + word + b"; nothing was written\n",
    )  # fmt: skip
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("moment", [0.4, 0.9, 1.4])
@pytest.mark.parametrize("kind", [signal.SIGINT, signal.SIGTERM])
def test_a_stop_of_all_processes_is_one_line(kind: signal.Signals, moment: float, tmp_path: Path) -> None:
    """As a terminal does it: the processes of `--jobs` get it too, perhaps while they start, and say nothing."""
    words = ("book", *[str(ROOT / "examples" / name) for name in TWO], "--jobs", "2", "-o", "books")
    process = start(COMMAND, *words, cwd=tmp_path, limit=os.setsid)
    wait_for(process, b"ready")
    time.sleep(moment)
    os.killpg(process.pid, kind)
    out, err = process.communicate(timeout=60)
    word = b"interrupted" if kind == signal.SIGINT else b"stopped"
    assert (process.returncode, out, err) == (128 + kind, b"", b"engrave: " + word + b"; nothing was written\n")
    assert list(tmp_path.iterdir()) == []


def test_a_stop_that_a_library_swallows_is_not_forgotten(tmp_path: Path) -> None:
    """Where somebody catches everything, the run still ends before it writes."""
    code = f"""
import signal
from engrave import regimen
plain = regimen.write_plan
def swallowing():
    try:
        signal.raise_signal(signal.SIGINT)
    except BaseException:
        pass
    return plain()
regimen.write_plan = swallowing
{COMMAND}
"""
    process = start(code, "plan", "-o", "plan.toml", cwd=tmp_path)
    _, err = process.communicate(timeout=60)
    assert (process.returncode, err) == (130, b"engrave: interrupted; nothing was written\n")
    assert list(tmp_path.iterdir()) == []


def test_a_stop_where_nothing_can_be_raised_is_one_line(tmp_path: Path) -> None:
    """A signal in a callback of the garbage collector, as of a module's lock: Python can only complain of it."""
    code = f"""
import signal, weakref
from engrave import regimen
plain = regimen.write_plan
class Lock: pass
def loading():
    lock = Lock()
    watched = weakref.ref(lock, lambda _: signal.raise_signal(signal.SIGINT))
    del lock
    return plain()
regimen.write_plan = loading
{COMMAND}
"""
    process = start(code, "plan", "-o", "plan.toml", cwd=tmp_path)
    _, err = process.communicate(timeout=60)
    assert (process.returncode, err) == (130, b"engrave: interrupted; nothing was written\n")
    assert list(tmp_path.iterdir()) == []


def test_a_stop_that_a_library_takes_for_its_own_trouble_is_a_stop(tmp_path: Path) -> None:
    """A module of another language that is being loaded turns whatever interrupts it into an ImportError."""
    code = f"""
import signal
from engrave import regimen
def loading():
    try:
        signal.raise_signal(signal.SIGTERM)
    except BaseException as stop:
        raise ImportError("initialization failed") from stop
regimen.write_plan = loading
{COMMAND}
"""
    process = start(code, "plan", "-o", "plan.toml", cwd=tmp_path)
    _, err = process.communicate(timeout=60)
    assert (process.returncode, err) == (143, b"engrave: stopped; nothing was written\n")
    assert list(tmp_path.iterdir()) == []


def _small_disk() -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["plan", "-o", "plan.toml"], "plan.toml: cannot be written: file too large"),
        (["export", TAB, "--plan", PLAN, "-o", "out"], "out/00-all.musicxml: cannot be written: file too large"),
        (
            ["handout", TAB, "--bars", "1", "--study", "pluck=a-m-i", "-o", "sheet.pdf"],
            "the machine refuses: File too large (allow larger files (ulimit -f); "
            f"temporary files go to {tempfile.gettempdir()})",
        ),
    ],
    ids=lambda value: value[0],
)
def test_a_full_disk_is_one_line(words: list[str], said: str, tmp_path: Path) -> None:
    """With room for 100 bytes a file: one line, the old file stands, nothing is left."""
    before = {}
    for name in ("plan.toml", "sheet.pdf"):
        (tmp_path / name).write_bytes(b"old")
        before[name] = b"old"
    process = start(COMMAND, *words, cwd=tmp_path, limit=_small_disk)
    _, err = process.communicate(timeout=120)
    assert (process.returncode, err.decode()) == (2, f"engrave: {said}\n")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


@pytest.mark.parametrize("words", [["plan"], ["studies"], ["plan", "-o", "/dev/full"]], ids=" ".join)
def test_a_full_device_is_one_line(words: list[str]) -> None:
    """Standard output and a device that take nothing are told; the device is still a device."""
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-c", MAIN, *words],
            stdout=full, stderr=subprocess.PIPE, cwd=ROOT, check=False,
        )  # fmt: skip
    name = "/dev/full" if "-o" in words else "standard output"
    assert (done.returncode, done.stderr.decode()) == (
        2,
        f"engrave: {name}: cannot be written: no space left on device\n",
    )
    assert Path("/dev/full").is_char_device()


def _little_memory() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (300 * 2**20, 300 * 2**20))


def _few_files() -> None:
    resource.setrlimit(resource.RLIMIT_NOFILE, (12, 12))


def test_too_little_memory_is_one_line(tmp_path: Path) -> None:
    """Where printing would have a library abort the process, it is told before; what needs less is done."""
    process = start(MAIN, "handout", LINE, "-o", "sheet.pdf", cwd=tmp_path, limit=_little_memory)
    said = "engrave: this process may use 300 MB of memory, and needs 512 (allow more (ulimit -v 524288))\n"
    _, err = process.communicate(timeout=120)
    assert (process.returncode, err.decode()) == (2, said)
    assert list(tmp_path.iterdir()) == []


def test_too_few_descriptors_are_one_line(tmp_path: Path) -> None:
    """With room for twelve open files, two processes cannot be started: one line, and no litter."""
    words = ("book", *[str(ROOT / "examples" / name) for name in TWO], "--jobs", "2", "-o", "books")
    process = start(MAIN, *words, cwd=tmp_path, limit=_few_files)
    _, err = process.communicate(timeout=120)
    said = "engrave: the machine refuses: Too many open files "
    said += "(allow more open files (ulimit -n), or ask for fewer --jobs)\n"
    assert (process.returncode, err.decode()) == (2, said)
    assert list(tmp_path.iterdir()) == []


def test_a_device_is_written_to_not_replaced(tmp_path: Path) -> None:
    """A pipe in the place of the output gets the bytes and stays a pipe."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = subprocess.Popen(["cat", str(pipe)], stdout=subprocess.PIPE)
    writing.write_bytes(str(pipe), b"through")
    assert reader.communicate(timeout=30)[0] == b"through"
    assert pipe.is_fifo()
    assert [path.name for path in tmp_path.iterdir()] == ["pipe"]


def test_a_file_that_may_not_be_written_is_not_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A read-only file is told before the work, and is neither renamed over nor lost with a whole folder."""
    monkeypatch.chdir(tmp_path)
    for name in ("sheet.pdf", "out/00-all.musicxml"):
        Path(name).parent.mkdir(exist_ok=True)
        Path(name).write_bytes(b"kept")
        Path(name).chmod(0o444)
    said = "engrave: sheet.pdf: cannot be written: the file there is read-only"
    done = run("handout", LINE, "-o", "sheet.pdf")
    assert (done.exit_code, done.stderr) == (2, f"{said} (allow writing to it, or give another name with -o)\n")
    done = run("export", LINE, "--plan", PLAN, "-o", "out")
    assert (done.exit_code, done.stderr) == (
        2,
        "engrave: out/00-all.musicxml: cannot be written: the file there is read-only\n",
    )
    assert [path.read_bytes() for path in tmp_path.rglob("*.*")] == [b"kept", b"kept"]


@pytest.mark.parametrize("words", ["plan", "studies --json"])
def test_a_broken_pipe_is_one_line(words: str, tmp_path: Path) -> None:
    """When nobody reads any more: one line and exit 2, no word of Python's own."""
    reader, writer = os.pipe()
    os.close(reader)
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", MAIN, *words.split()]
    try:
        done = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE, cwd=tmp_path, env=env, check=False)
    finally:
        os.close(writer)
    said = "engrave: standard output: cannot be written: it was closed before everything was written\n"
    assert (done.returncode, done.stderr.decode()) == (2, said)


def test_closed_streams_are_one_line(tmp_path: Path) -> None:
    """Started without standard output or input, as some services do: told where they are needed, else no matter."""
    command = f"{sys.executable} -c 'from engrave.cli import main; main()'"

    def shell(words: str) -> tuple[int, bytes]:
        env = {**os.environ, "PYTHONPATH": str(ROOT)}
        done = subprocess.run(
            ["sh", "-c", f"{command} {words}"], cwd=tmp_path, env=env, stderr=subprocess.PIPE, check=False
        )
        return done.returncode, done.stderr

    said = b"engrave: standard output: cannot be written: standard output is closed\n"
    assert shell("plan >&-") == (2, said)
    assert shell("survey - <&-") == (2, b"engrave: -: cannot be read: standard input is closed\n")
    assert shell("plan -o plan.toml >&-") == (0, b"")
    assert shell("plan -o quiet.toml 2>&-") == (0, b"")
    assert shell("plan -o nowhere/plan.toml 2>&-") == (2, b"")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plan.toml", "quiet.toml"]


def _links(folder: Path) -> list[str]:
    score = folder / "line.musicxml"
    shutil.copy(LINE, score)
    (folder / "deep").mkdir()
    (folder / "soft.pdf").symlink_to(score)
    (folder / "hard.pdf").hardlink_to(score)
    return ["line.musicxml", "./line.musicxml", "deep/../line.musicxml", "soft.pdf", "hard.pdf"]


def test_output_is_never_input_by_any_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Through links, detours, folders and archives: what is read is not written over."""
    monkeypatch.chdir(tmp_path)
    data = Path(LINE).read_bytes()
    for name in _links(tmp_path):
        done = run("book", "line.musicxml", "-o", name)
        assert (done.exit_code, done.stderr) == (
            2,
            f"engrave: output {name} is also an input (give another name with -o)\n",
        )
    for words, name in (
        (["export", "00-all.musicxml", "-o", "."], "00-all.musicxml"),
        (["export", "score.zip", "--zip", "-o", "score.zip"], "score.zip"),
    ):
        shutil.copy(LINE, name)
        done = run(*words, "--plan", PLAN)
        assert (done.exit_code, done.stderr) == (
            2,
            f"engrave: output {name} is also an input (give another name with -o)\n",
        )
        assert Path(name).read_bytes() == data
    assert Path("line.musicxml").read_bytes() == data


def test_through_a_link_the_file_is_replaced_and_the_link_stays(tmp_path: Path) -> None:
    """A link to last week's book still leads to it; rights of the old file are kept, a new one has the usual ones."""
    (tmp_path / "real.pdf").write_bytes(b"old")
    (tmp_path / "real.pdf").chmod(0o640)
    (tmp_path / "link.pdf").symlink_to("real.pdf")
    writing.write_bytes(str(tmp_path / "link.pdf"), b"new")
    assert (tmp_path / "link.pdf").is_symlink()
    assert (tmp_path / "real.pdf").read_bytes() == b"new"
    assert (tmp_path / "real.pdf").stat().st_mode & 0o777 == 0o640
    mask = os.umask(0o027)
    try:
        writing.write_bytes(str(tmp_path / "fresh.pdf"), b"new")
    finally:
        os.umask(mask)
    assert (tmp_path / "fresh.pdf").stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize(
    ("output", "said"),
    [
        ("nowhere/book.pdf", "nowhere/book.pdf: there is no folder nowhere (make it first, or name another)"),
        ("file/book.pdf", "file/book.pdf: there is no folder file (make it first, or name another)"),
        ("folder", "folder: this is a folder, not a file (name a file in it)"),
        ("x" * 300, f"{'x' * 300}: cannot be written: file name too long"),
    ],
)
def test_no_place_to_write_is_told_before_the_work(
    output: str, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A missing folder, a file in its place, a folder as a file, a name too long; told without reading a note."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").touch()
    done = run("book", "not even there", "-o", output)
    assert (done.exit_code, done.stdout, done.stderr) == (2, "", f"engrave: {said}\n")
    done = run("export", "not even there", "-o", "file")
    assert (done.exit_code, done.stderr) == (
        2,
        "engrave: file: file is a file, not a folder (give another name with -o)\n",
    )


def test_a_folder_nobody_may_write_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Told before the work where the system says so, and in one line where it says so only when writing."""
    monkeypatch.chdir(tmp_path)
    with monkeypatch.context() as context:
        context.setattr(os, "access", lambda *_: False)
        done = run("book", LINE, "-o", "book.pdf")
        assert done.stderr == "engrave: book.pdf: the folder . cannot be written to (choose another)\n"
    for number, said in ((errno.EACCES, "permission denied"), (errno.EROFS, "read-only file system")):

        def refuse(*_: object, code: int = number, **_more: object) -> NoReturn:
            raise OSError(code, os.strerror(code))

        monkeypatch.setattr(tempfile, "mkstemp", refuse)
        done = run("plan", "-o", "plan.toml")
        assert (done.exit_code, done.stderr) == (2, f"engrave: plan.toml: cannot be written: {said}\n")
    assert list(tmp_path.iterdir()) == []


def test_long_names_are_written_like_any_other(tmp_path: Path) -> None:
    """A name as long as the system takes, in letters of several bytes, leaves room for the name of its part."""
    name = "夜" * 83 + ".toml"
    writing.write_bytes(str(tmp_path / name), b"whole")
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_two_runs_into_one_folder_do_not_disturb_each_other(tmp_path: Path) -> None:
    """Two exports at once into one folder end well, and every file is what a single run writes."""
    words = ["export", TAB, "--plan", PLAN]
    assert run(*words, "-o", str(tmp_path / "one")).exit_code == 0
    both = [start(MAIN, *words, "-o", "both", cwd=tmp_path) for _ in range(2)]
    for process in both:
        _, err = process.communicate(timeout=120)
        assert (process.returncode, err) == (0, b"")
    written = [{p.name: p.read_bytes() for p in (tmp_path / name).iterdir()} for name in ("one", "both")]
    assert written[0] == written[1]


def test_the_first_fault_leaves_all_files_as_they_were(tmp_path: Path) -> None:
    """When the last of several files cannot be written, none of them is."""
    (tmp_path / "a").write_bytes(b"old")
    (tmp_path / "c").mkdir()
    with pytest.raises(PressError, match="c: cannot be written: this is a folder, not a file"):
        writing.write_folder(str(tmp_path), {"a": b"new", "b": b"new", "c": b"new"})
    assert (tmp_path / "a").read_bytes() == b"old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a", "c"]
