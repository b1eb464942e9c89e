"""The command as a user meets it: what it writes, and what it says when something is wrong."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner, Result

from engrave.cli import main

ROOT = Path(__file__).resolve().parent.parent
LINE = str(ROOT / "examples/harbour-steps.musicxml")


def run(*words: str, data: bytes | None = None) -> Result:
    """The command line `words`, run in this process; a traceback is an error of the test."""
    return CliRunner().invoke(main, list(words), input=data, catch_exceptions=False)


def engrave(*words: str, cwd: Path, **env: str) -> subprocess.CompletedProcess[str]:
    """The command line `words`, run in a process of its own."""
    return subprocess.run(
        [sys.executable, "-c", "from engrave.cli import main; main()", *words],
        cwd=cwd,
        env={**os.environ, **env},
        capture_output=True,
        text=True,
        check=False,
    )


WRONG = {
    "no such file": (["book", "gone.xml"], "gone.xml: there is no such file (check the name)"),
    "an empty file": (["book", "empty.xml"], "empty.xml: the file is empty (check that it was saved)"),
    "not XML": (["book", "words.xml"], "words.xml: the file is not XML (export the score as MusicXML)"),
    "a page of the web": (
        ["book", "page.xml"],
        "page.xml: the XML is not a MusicXML score: its first element is <html> (export the score as MusicXML)",
    ),
    "bars that are not there": (
        ["book", LINE, "--bars", "99"],
        "harbour-steps.musicxml: bar '99' is not in the piece (the piece has bars 0 to 8)",
    ),
    "an unknown part": (
        ["book", LINE, "--part", "7"],
        "harbour-steps.musicxml: part '7' is not in the score (parts: 1 Guitar)",
    ),
    "an empty voice": (
        ["book", LINE, "--voice", "3"],
        "harbour-steps.musicxml: voice '3' has no notes here (voices with notes: 1)",
    ),
    "an unknown instrument": (
        ["book", LINE, "--instrument", "standrad"],
        "instrument 'standrad' is not known (did you mean standard? known: standard, drop-d, drop-d-g, lute, dadgbd, "
        "seven, seven-a)",
    ),
    "an unknown hand": (
        ["book", LINE, "--hand", "smal"],
        "hand 'smal' is not known (did you mean small? known: standard, small, large)",
    ),
    "an unknown option": (["book", "--frob"], "No such option '--frob'. (see engrave book --help)"),
    "an unknown command": (["boot"], "No such command 'boot'. Did you mean 'book'? (see engrave --help)"),
    "a folder that is not there": (
        ["book", LINE, "-o", "nowhere/book.pdf"],
        "nowhere/book.pdf: there is no folder nowhere (make it first, or name another)",
    ),
    "a plan that is not there": (
        ["book", LINE, "--plan", "gone.toml"],
        "gone.toml: there is no such file (check the name)",
    ),
    "output that is input": (
        ["book", "words.xml", "-o", "words.xml"],
        "output words.xml is also an input (give another name with -o)",
    ),
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with a few bad files and an old book in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty.xml").touch()
    (tmp_path / "words.xml").write_text("a few words", encoding="utf-8")
    (tmp_path / "page.xml").write_text("<html><body/></html>", encoding="utf-8")
    (tmp_path / "old.pdf").write_bytes(b"the old book")
    return tmp_path


@pytest.mark.parametrize("case", WRONG)
def test_wrong_input_is_one_clear_line(case: str, folder: Path) -> None:
    """Whatever is wrong is said in one line on standard error, the exit is 2, and no file is touched."""
    words, said = WRONG[case]
    if words[0] == "book" and "-o" not in words:
        words = [*words, "-o", "old.pdf"]
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    done = run(*words)
    assert (done.exit_code, done.stdout, done.stderr) == (2, "", f"engrave: {said}\n")
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_note_off_the_neck_is_named(folder: Path) -> None:
    """A note below the instrument is named with its place and the range."""
    low = "metre: 4/4\ntuning: drop-d\n\n" + "".join(f"{s}|-0-|\n" for s in "eBGDA") + "D|-0-|\n"
    done = run("book", "-", "--instrument", "standard", "-o", "old.pdf", data=low.encode())
    assert done.exit_code == 2
    assert done.stderr.count("\n") == 1
    assert "standard input, bar 1, beat 1" in done.stderr
    assert (folder / "old.pdf").read_bytes() == b"the old book"


def test_a_book_goes_to_standard_output_and_is_silent(folder: Path) -> None:
    """With `-o -` the PDF alone goes out, from a passage on standard input."""
    done = run("book", "-", "--depth", "short", "-o", "-", data=Path(LINE).read_bytes())
    assert done.exit_code == 0
    assert done.stdout_bytes.startswith(b"%PDF-")
    assert done.stdout_bytes.rstrip().endswith(b"%%EOF")
    assert done.stderr == ""


def test_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    """Two processes with different hash seeds, locales and folders write the same bytes, given a date."""
    books = []
    for seed, zone in (("1", "UTC"), ("77", "Asia/Tokyo")):
        cwd = tmp_path / seed
        cwd.mkdir()
        done = engrave(
            "book", LINE, "--depth", "short", "-o", "b.pdf",
            cwd=cwd, PYTHONHASHSEED=seed, TZ=zone, SOURCE_DATE_EPOCH="1700000000",
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        books.append((cwd / "b.pdf").read_bytes())
    assert books[0] == books[1]


def test_the_built_in_book(folder: Path) -> None:
    """With no passage the built-in line is printed: at least 25 variations, one a page, and the index is right."""
    done = run("book", "-o", "book.pdf")
    assert done.exit_code == 0, done.stderr
    reader = pypdf.PdfReader(folder / "book.pdf")
    assert len(reader.pages) >= 25
    assert done.stdout.startswith("book.pdf: ")
    assert int(done.stdout.split()[1]) >= 25


def test_studies_says_what_applies_and_why_not() -> None:
    """Every setting of every axis is listed, and what does not apply has its reason."""
    rows = json.loads(run("studies", LINE, "--json").stdout)
    assert [axis["axis"] for axis in rows] == ["strings", "rhythm", "fret", "slurs", "pluck", "stroke", "accent"]
    for axis in rows:
        for row in axis["settings"]:
            assert row["trains"]
            assert row["cue"]
            assert row["source"]
            assert row["applies"] or row["why"]
    assert any(row["applies"] is False for axis in rows for row in axis["settings"])
    text = run("studies").stdout
    for axis in rows:
        for row in axis["settings"]:
            assert row["name"] in text


def test_the_starter_plan_can_be_followed(folder: Path) -> None:
    """`engrave plan` writes a plan that `--plan` takes as it is."""
    assert run("plan", "-o", "plan.toml").exit_code == 0
    done = run("book", LINE, "--plan", "plan.toml", "--depth", "short", "-o", "book.pdf")
    assert done.exit_code == 0, done.stderr
    assert (folder / "book.pdf").read_bytes().startswith(b"%PDF-")


def test_every_command_and_option_is_in_the_readme() -> None:
    """The README names every command and every option there is."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for name, command in main.commands.items():
        assert f"engrave {name}" in readme, name
        for parameter in command.params:
            for option in getattr(parameter, "opts", []):
                if option.startswith("--"):
                    assert option in readme, f"{name} {option}"
