"""The command as a user meets it: what it writes, and what it says when something is wrong."""

from __future__ import annotations

import json
import re
import zipfile
from pathlib import Path
from typing import Any

import pypdf
import pytest
from click.testing import CliRunner, Result

from engrave.cli import COMMANDS, main
from engrave.instruments import hand_names, instrument_names

ROOT = Path(__file__).resolve().parent.parent
LINE = str(ROOT / "examples/harbour-steps.musicxml")
ONE = ("--plan", str(ROOT / "tests/trust/one-study.toml"))
"""a plan that is quickly followed"""


def run(*words: str, data: bytes | None = None) -> Result:
    """The command line `words`, run in this process; a traceback is an error of the test."""
    return CliRunner().invoke(main, list(words), input=data, catch_exceptions=False)


def test_every_command_is_listed_in_one_line() -> None:
    """The list holds each command once with what it does, in lines that are not broken; each has help of its own."""
    listed = run("--help").stdout.partition("Commands:\n")[2].splitlines()
    assert [line.split()[0] for line in listed] == [*COMMANDS]
    assert [line.split(maxsplit=1)[1] for line in listed] == [says for _, says in COMMANDS.values()]
    for name in COMMANDS:
        assert f"Usage: engrave {name} " in run(name, "--help").stdout


WRONG = {
    "no such file": (["book", "gone.xml"], "gone.xml: there is no such file (check the name)"),
    "an empty file": (["book", "empty.xml"], "empty.xml: the file is empty (check that it was saved)"),
    "not XML": (
        ["book", "words.xml"],
        "words.xml: the file is not XML, as its name says: it is damaged, or another kind"
        " (fetch or save it again; export the score as MusicXML)",
    ),
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
        "harbour-steps.musicxml: voice '3' has no notes here (voices with notes here: 1)",
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
    "an unknown option": (["book", "--quux"], "No such option '--quux'. (see engrave book --help)"),
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


@pytest.mark.usefixtures("folder")
def test_a_book_goes_to_standard_output_and_is_silent() -> None:
    """With `-o -` the PDF alone goes out, from a passage on standard input."""
    done = run("book", "-", *ONE, "-o", "-", data=Path(LINE).read_bytes())
    assert done.exit_code == 0
    assert done.stdout_bytes.startswith(b"%PDF-")
    assert done.stdout_bytes.rstrip().endswith(b"%%EOF")
    assert done.stderr == ""


def test_the_built_in_book(folder: Path) -> None:
    """With no passage the built-in line is printed: at least 20 variations, one a page, in fonts that it carries."""
    done = run("book", "-o", "book.pdf")
    assert done.exit_code == 0, done.stderr
    reader = pypdf.PdfReader(folder / "book.pdf")
    assert len(reader.pages) >= 20
    assert done.stdout.startswith("book.pdf: ")
    assert int(done.stdout.split()[1]) >= 20
    # fonts cut by uharfbuzz 0.52 are left out of the PDF, so that all words are there but no page shows one
    for page in reader.pages:
        resources: Any = page["/Resources"]
        fonts = [font.get_object() for font in resources["/Font"].values()]
        assert any("+Book" in font["/BaseFont"] for font in fonts)
        described = [font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object() for font in fonts]
        assert all({"/FontFile2", "/FontFile3"} & one.keys() for one in described)
        assert len(re.findall("[A-Za-z]{3,}", page.extract_text())) > 3


def test_studies_says_what_applies_and_why_not() -> None:
    """Every setting of every axis is listed, and what does not apply has its reason."""
    rows = json.loads(run("studies", LINE, "--bars", "1-2", "--json").stdout)["axes"]
    assert [axis["axis"] for axis in rows] == ["strings", "rhythm", "fret", "slurs", "pluck", "stroke", "accent"]
    for axis in rows:
        for row in axis["settings"]:
            assert row["name"] == axis["default"] or (row["trains"] and row["cue"])
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
    done = run("book", LINE, "--bars", "1-2", "--plan", "plan.toml", "--depth", "short", "-o", "book.pdf")
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


def test_help_lists_instruments_and_hands() -> None:
    """Every instrument and hand of the data files is named where the options are explained."""
    # lines may be broken behind a hyphen, too
    said = "".join(run("book", "--help").stdout.split())
    for text in (
        f"Instrument and tuning: {', '.join(instrument_names())}.",
        f"Reach of the fretting hand: {', '.join(hand_names())}.",
    ):
        assert text.replace(" ", "") in said


def test_a_survey_compares_fingerings_and_gives_reasons(tmp_path: Path) -> None:
    """The survey sets fingerings side by side with their figures, and explains fingers by what others would cost."""
    climb = tmp_path / "climb.abc"
    climb.write_text("X:1\nM:4/4\nL:1/8\nK:C\nC,D,E,F, G,A,B,C | DEFG ABc2 |\n", encoding="utf-8")
    rows = json.loads(run("survey", str(climb), "--json").stdout)
    assert [one["name"] for one in rows["fingerings"]][:2] == ["best", "second best"]
    for one in rows["fingerings"]:
        assert sum(one["fingers"].values()) == len({p["note"] for p in one["placements"]})
        assert one["dearer"] >= 0
    assert rows["fingerings"][0]["dearer"] == 0
    rows = json.loads(run("survey", "--json").stdout)
    assert rows["reasons"]
    assert all(row["why"] and row["dearer"] >= 0 for row in rows["reasons"])
    text = run("survey").stdout
    assert "changes of position" in text
    assert rows["reasons"][0]["why"] in text


def test_a_book_carries_its_plan_and_its_music(folder: Path) -> None:
    """A book prints itself again, and its regimen for another passage, from nothing but its PDF."""
    line = (str(ROOT / "examples/slow-barge.tab"), "--bars", "1-2")
    Path("two.toml").write_text('[[study]]\npluck = "i-m"\n[[study]]\npluck = "m-a"\n', encoding="utf-8")
    assert run("book", *line, "--plan", "two.toml", "-o", "book.pdf").exit_code == 0
    again = run("book", "book.pdf", "-o", "again.pdf")
    assert again.exit_code == 0, again.stderr
    first, second = (pypdf.PdfReader(folder / name) for name in ("book.pdf", "again.pdf"))
    assert [page.extract_text() for page in first.pages][1:-1] == [page.extract_text() for page in second.pages][1:-1]
    assert first.attachments["plan.toml"] == second.attachments["plan.toml"]
    other = str(ROOT / "examples/two-lanterns.musicxml")
    bars = ("--bars", "1-2")
    for form in ("book", "handout", "week"):
        done = run("reissue", "book.pdf", other, *bars, "--as", form, "-o", f"{form}2.pdf")
        assert done.exit_code == 0, done.stderr
        assert "Two Lanterns" in pypdf.PdfReader(folder / f"{form}2.pdf").pages[0].extract_text()
        # its own reissue, with nothing said, is of its own kind, and so is its name
        done = run("reissue", f"{form}2.pdf", *line, "--dry-run")
        assert done.stdout.startswith(f"slow-barge-{form}.pdf would have"), done.stderr


def test_a_pdf_of_someone_else_is_refused(folder: Path) -> None:
    """A PDF without our attachments is named for what it lacks."""
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    writer.write(folder / "other.pdf")
    done = run("book", "other.pdf", "-o", "old.pdf")
    assert done.exit_code == 2
    assert done.stderr == (
        "engrave: other.pdf: the PDF carries no passage.musicxml and no plan.toml and no studies.toml "
        "(give a book this program printed)\n"
    )


@pytest.mark.parametrize("form", ["musicxml", "mxl", "midi"])
def test_an_export_is_a_file_for_each_variation_and_one_of_all(form: str, folder: Path) -> None:
    """Names sort in practice order, the first file holds everything, and a zip holds the same."""
    words = ["export", LINE, *ONE, "--format", form]
    assert run(*words, "-o", "out").exit_code == 0
    assert run(*words, "-o", "out.zip", "--zip").exit_code == 0
    names = sorted(path.name for path in (folder / "out").iterdir())
    assert names[0].startswith("00-all.")
    assert [name[:2] for name in names] == [f"{n:02d}" for n in range(len(names))]
    with zipfile.ZipFile(folder / "out.zip") as archive:
        assert sorted(archive.namelist()) == names
        assert all(archive.read(name) == (folder / "out" / name).read_bytes() for name in names)


def test_a_week_and_a_handout_are_printed(folder: Path) -> None:
    """A week has a column for each day with its date; a handout keeps to its pages and prints the studies asked for."""
    done = run("week", LINE, *ONE, "--start", "2027-03-01", "-o", "week.pdf")
    assert done.exit_code == 0, done.stderr
    texts = [page.extract_text() for page in pypdf.PdfReader(folder / "week.pdf").pages]
    for day in range(1, 8):
        assert any(f"{day} Mar" in text for text in texts)
    assert any("1 March 2027 to Sunday 7 March 2027" in " ".join(text.split()) for text in texts)
    done = run("handout", LINE, "--pages", "1", "--study", "pluck=a-m-i; stroke=rest", "-o", "sheet.pdf")
    assert done.exit_code == 0, done.stderr
    (page,) = pypdf.PdfReader(folder / "sheet.pdf").pages
    assert "a m i in turn; rest stroke" in page.extract_text()
    wrong = run("handout", LINE, "--study", "pluk=a-m-i", "-o", "old.pdf")
    assert (wrong.exit_code, wrong.stderr.count("\n")) == (2, 1)
    assert "did you mean pluck?" in wrong.stderr
