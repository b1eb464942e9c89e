"""What a newcomer writes wrongly comes back as one line that leads on."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from engrave.cli import main
from tests.test_cli import ONE

_PLANS = {
    "curly.toml": "[player]\nname = “Ana”\n",
    "bare.toml": "[instrument]\nname = drop-d\n",
    "twice.toml": '[player]\nname = "a"\nname = "b"\n',
    "heading.toml": '[player]\nname = "a"\n[player]\nhand = "small"\n',
    "deep.toml": "a" + ".a" * 20_000 + " = 1\n",
    "pdf.toml": "%PDF-1.7",
    "line.tab": "e|-0-|",
    "score.xml": "<score-partwise/>",
}
_SAID = {
    "book --prt 1": "No such option '--prt'. Did you mean '--part'?",
    "week --days mon": "Invalid value for '--days': 'mon' is no whole number from 1 to 7.",
    "book curly.toml": "this is a plan, not a passage (name the passage first, and the plan with --plan)",
    "handout --bars 1 --study pluck": 'not one study but the axis of many (write one of them, such as "pluck=best")',
    "book --depth fewst": "Did you mean 'fewest'?",
    "book --tempo 60": "A plan sets it: tempo under [book]; give the plan with --plan (engrave plan writes one).",
    "week --minutes 20": "A plan sets it: minutes under [player]; give the plan with --plan",
    "book --study 3": "No such option '--study'. It is an option of engrave handout.",
    "book --json": "No such option '--json'. It is an option of engrave studies, survey.",
    "survey --depth short": "It is an option of engrave book, export.",
    "line.tab": "A passage goes behind a command: engrave book line.tab",
    "help": "Write engrave --help, or engrave book --help",
    "book lime.tab": "lime.tab: there is no such file (did you mean line.tab?)",
    "book http://example.org/x.xml": "(nothing is fetched from the web: save the file, and name that)",
    "week --start 31.2.2027": "--start '31.2.2027' is no date: write it as 2027-03-01, or 1.3.2027",
    "week --log score.xml": "score.xml: is a score or another XML file, not a log (the first row names the columns:",
    "export -o x.mid": "an export is a folder of files, not one file (name a folder, with --format midi;",
    "book --bars 5:8": "bars '5:8' are not a range (write bars as 5-8, or 5 for one bar; the piece has bars 1 to 8)",
    "book --bars five": "bars 'five' are not a range (write bars as 5-8",
    "book -o x.docx": "x.docx: a book is printed as PDF, not as .docx (write -o x.pdf)",
    "book --plan curly.toml": 'line 2: has curly quotes, which TOML does not know (write  name = "Ana")',
    "book --plan bare.toml": 'line 2: has a text without quotes: drop-d (write  name = "drop-d")',
    "book --plan twice.toml": "line 3: gives a key that stands under its heading already (leave one of the two out)",
    "book --plan heading.toml": "line 3: gives a heading that stands in the file already",
    "book --plan deep.toml": "line 1: has a name of more than 8 dotted parts, which no plan needs",
    "book --plan pdf.toml": "is a PDF, not a text (a book brings its own plan: give it as the PASSAGE)",
}


@pytest.mark.parametrize("words", _SAID)
def test_a_mistake_leads_on(words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One line, exit 2, with the nearest word or what to write."""
    monkeypatch.chdir(tmp_path)
    for name, text in _PLANS.items():
        Path(name).write_text(text, encoding="utf-8")
    done = CliRunner().invoke(main, words.split())
    assert done.exit_code == 2
    assert _SAID[words] in done.stderr
    assert done.stderr.count("\n") == 1


_FLUTE = """X:1
T:Walk
M:4/4
L:1/4
K:C
!trill!C D E F|
"""


def test_what_was_left_out_is_told_where_no_page_says_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Survey, studies and export tell their notices on standard error, and the survey's JSON has them."""
    monkeypatch.chdir(tmp_path)
    Path("walk.abc").write_text(_FLUTE, encoding="utf-8")
    for words in (["survey", "walk.abc"], ["studies", "walk.abc"], ["export", "walk.abc", *ONE]):
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0
        assert "engrave: note: " in done.stderr
    rows = json.loads(CliRunner().invoke(main, ["survey", "walk.abc", "--json"]).stdout)
    assert rows["notices"]


def test_an_export_leaves_no_old_variation_among_the_new(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder that holds files of another export is refused as it is; the same export again is written."""
    monkeypatch.chdir(tmp_path)
    words = ["export", "-o", "out", *ONE]
    assert CliRunner().invoke(main, words).exit_code == 0
    assert CliRunner().invoke(main, words).exit_code == 0
    Path("out/99-old.musicxml").write_bytes(b"old")
    before = {file.name: file.stat().st_mtime_ns for file in Path("out").iterdir()}
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 2
    assert "the folder holds 99-old.musicxml, which would stay among the new files" in done.stderr
    assert {file.name: file.stat().st_mtime_ns for file in Path("out").iterdir()} == before
