"""What becomes of the pages, and what a user need not say twice: one page, a booklet, a dry run, defaults, a plan."""

from __future__ import annotations

import importlib
import io
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pypdf
import pytest
from click.testing import Result

from engrave.cli import main
from engrave.editions import opened
from engrave.pages.imposition import booklet, folded
from tests.test_cli import LINE, ROOT, run

_MIDO: Any = importlib.import_module("mido")
_SHORT = "metre: 2/4\n\ne|-0-1-3-0-|\n" + "".join(f"{name}|---------|\n" for name in "BGDAE")
_PLAN = '[[study]]\npluck = "i-m"\n[[study]]\npluck = "a-m-i"\n'


@pytest.fixture(scope="module")
def flat(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, Result, list[str]]:
    """A handout under a title of its own that is opened: the PDF, what was said, and what the viewer was handed."""
    seen: list[str] = []
    with pytest.MonkeyPatch.context() as context:
        context.chdir(tmp_path_factory.mktemp("flat"))
        context.setattr(click, "launch", seen.append)
        Path("short.tab").write_text(_SHORT, encoding="utf-8")
        Path("two.toml").write_text(_PLAN, encoding="utf-8")
        done = run("handout", "short.tab", "--plan", "two.toml", "--title", "Low Water", "--open", "-o", "sheet.pdf")
        return Path("sheet.pdf").read_bytes(), done, seen


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with a short line and a plan, and a home without defaults."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    Path("short.tab").write_text(_SHORT, encoding="utf-8")
    Path("two.toml").write_text(_PLAN, encoding="utf-8")
    return tmp_path


@pytest.mark.usefixtures("folder")
def test_one_page_is_written_alone() -> None:
    """`--page` writes the page of that printed number, Roman ones too, and says which there are where there is none."""
    words = ("book", "short.tab", "--plan", "two.toml")
    assert run(*words, "--page", "2").exit_code == 0
    (page,) = pypdf.PdfReader("short-book-page-2.pdf").pages
    assert "2 of 3" in page.extract_text()
    done = run(*words, "--page", "II", "-o", "front.pdf")
    assert done.stdout == "front.pdf: page II alone\n"
    wrong = run(*words, "--page", "40", "-o", "no.pdf")
    assert wrong.exit_code == 2
    assert wrong.stderr.startswith("engrave: page '40' is not among those there are (they are numbered i to ")
    assert not Path("no.pdf").exists()


@pytest.mark.usefixtures("folder")
def test_pages_and_music_are_had_as_pictures() -> None:
    """One page to a .png, the title page and the first of music by `--preview`, each variation by an export."""
    words = ("book", "short.tab", "--plan", "two.toml")
    assert run(*words, "--page", "2", "-o", "page.png").stdout == "page.png: page 2 alone\n"
    assert run(*words, "--preview", "-o", "look.pdf").exit_code == 0
    assert sorted(path.name for path in Path().glob("look*")) == [
        "look-1.png", "look-2.png", "look-3.png", "look-title.png",
    ]  # fmt: skip
    assert Path("look-2.png").read_bytes() == Path("page.png").read_bytes()
    done = run("export", "short.tab", "--plan", "two.toml", "--format", "svg", "-o", "music")
    assert done.stdout == "music: 3 files\n"
    assert all(path.read_bytes().startswith(b"<svg") for path in Path("music").iterdir())
    wrong = run(*words, "-o", "book.svg")
    assert wrong.exit_code == 2
    assert "--page 5 -o page.png" in wrong.stderr
    both = run(*words, "--preview", "--booklet")
    assert both.exit_code == 2
    assert "give it alone" in both.stderr


@pytest.mark.parametrize("pages", range(1, 14))
def test_a_booklet_reads_in_order_when_folded(pages: int) -> None:
    """Sheets laid in one another and folded: turning the leaves, every page comes once and in its order."""
    sides = folded(pages)
    leaves: list[list[int | None]] = [[] for _ in range(len(sides))]
    # sheet n, counted from the outside, has its front at 2n and its back at 2n + 1
    for sheet in range(0, len(sides), 2):
        (last, first), (second, before_last) = sides[sheet], sides[sheet + 1]
        leaves[sheet // 2] = [first, second]
        leaves[-1 - sheet // 2] = [before_last, last]
    read = [page for leaf in leaves for page in leaf]
    assert [page for page in read if page is not None] == list(range(pages))
    assert len(read) % 4 == 0


@pytest.mark.usefixtures("folder")
def test_a_booklet_has_two_pages_to_a_side(flat: tuple[bytes, Result, list[str]]) -> None:
    """Half as many sides, on the same paper laid across, with every word of the book and all it carries."""
    words = ("handout", "short.tab", "--plan", "two.toml", "--title", "Low Water")
    assert run(*words, "--booklet", "-o", "folded.pdf").exit_code == 0
    plain, made = pypdf.PdfReader(io.BytesIO(flat[0])), pypdf.PdfReader("folded.pdf")
    assert [float(size) for size in made.pages[0].mediabox[2:]] == [
        float(size) for size in reversed(plain.pages[0].mediabox[2:])
    ]
    assert len(made.pages) == 2
    assert "a m i in turn" in "".join(page.extract_text() for page in made.pages)
    assert {name: data[0] for name, data in made.attachments.items()} == {
        name: data[0] for name, data in plain.attachments.items()
    }
    # a booklet can be printed again, too
    assert opened(Path("folded.pdf").read_bytes(), "x.pdf") == opened(flat[0], "x.pdf")
    assert booklet(flat[0]) == booklet(flat[0])


@pytest.mark.usefixtures("folder")
def test_a_book_says_what_it_carries() -> None:
    """The page for the teacher names the music inside, which is described in the file and stands for its pages."""
    assert run("book", "short.tab", "--plan", "two.toml", "-o", "book.pdf").exit_code == 0
    reader = pypdf.PdfReader("book.pdf")
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    assert "carries every variation as MusicXML, for Braille and playback" in text
    music = next(one for one in reader.attachment_list if one.name == "variations.musicxml")
    assert music.description == "Every variation as MusicXML, for Braille and playback."
    assert music.associated_file_relationship == "/Alternative"


@pytest.mark.usefixtures("folder")
def test_another_title_is_printed(flat: tuple[bytes, Result, list[str]]) -> None:
    """`--title` goes before the passage's and the plan's own, and into the file's properties."""
    reader = pypdf.PdfReader(io.BytesIO(flat[0]))
    assert "Low Water" in reader.pages[0].extract_text()
    assert reader.metadata is not None
    assert reader.metadata.title == "Low Water"
    assert (
        run("handout", "short.tab", "--title", "x" * 300).stderr
        == "engrave: --title has 300 characters, the most is 200\n"
    )


@pytest.mark.usefixtures("folder")
def test_a_dry_run_says_what_would_be_and_writes_nothing(folder: Path) -> None:
    """Pages, headings and minutes are those of the book; no file appears."""
    before = sorted(folder.iterdir())
    done = run("book", "short.tab", "--plan", "two.toml", "--dry-run", "-o", "no.pdf")
    assert done.exit_code == 0
    lines = done.stdout.splitlines()
    assert lines[0].startswith("no.pdf would have ")
    assert lines[0].endswith(" pages, 3 variations")
    assert [line.split()[0] for line in lines[1:4]] == ["1", "2", "3"]
    assert all(" min, at " in line for line in lines[1:4])
    assert sorted(folder.iterdir()) == before


@pytest.mark.usefixtures("folder")
def test_what_was_written_is_opened(flat: tuple[bytes, Result, list[str]]) -> None:
    """`--open` hands the file to the system's viewer; standard output and several books have none."""
    assert flat[1].exit_code == 0
    assert flat[2] == ["sheet.pdf"]
    assert run("book", "short.tab", "--open", "-o", "-").exit_code == 2
    done = run("book", "short.tab", LINE, "--open")
    assert done.stderr.startswith("engrave: --open is for one printed file, not for those of several passages")


@pytest.mark.usefixtures("folder")
def test_only_what_trains_a_thing_is_printed() -> None:
    """`--only` leaves out what does not train a thing, at any depth; a term that is none, or fits none, is told."""
    done = run("book", LINE, "--bars", "1-2", "--only", "slurs", "--dry-run")
    assert done.exit_code == 0, done.stderr
    headings = [line[5:] for line in done.stdout.splitlines()[1:-1]]
    assert headings[0].startswith("The line as written")
    assert len(headings) > 2
    assert not [one for one in headings[1:] if not any(word in one.lower() for word in ("slur", "pull", "hammer"))]
    assert run("book", "--only", "slursy").stderr == "engrave: --only 'slursy' is not known (did you mean slurs?)\n"
    none = run("book", "short.tab", "--only", "string 9")
    assert (none.exit_code, none.stderr.count("\n")) == (2, 1)
    assert "no study of this passage trains “string 9”" in none.stderr


def test_defaults_of_the_user_fill_in_what_a_plan_leaves_open(folder: Path) -> None:
    """Paper comes from the user's own file; a plan's own word goes before it, and a printed book is as it was."""
    home = folder / "home/engrave"
    home.mkdir(parents=True)
    (home / "defaults.toml").write_text('[book]\npaper = "Letter"\nteacher = "Ms Finch"\n', encoding="utf-8")
    words = ("book", "short.tab")
    assert run(*words, "--plan", "two.toml", "-o", "letter.pdf").exit_code == 0
    page = pypdf.PdfReader("letter.pdf").pages[0]
    assert [round(float(size)) for size in page.mediabox[2:]] == [612, 792]
    Path("own.toml").write_text('[book]\npaper = "A4"\n[[study]]\npluck = "i-m"\n', encoding="utf-8")
    assert run(*words, "--plan", "own.toml", "-o", "a4.pdf").exit_code == 0
    page = pypdf.PdfReader("a4.pdf").pages[0]
    assert [round(float(size)) for size in page.mediabox[2:]] == [595, 842]
    (home / "defaults.toml").write_text('[book]\npaper = "Letter"\n', encoding="utf-8")
    assert run("book", "a4.pdf", "-o", "again.pdf").exit_code == 0
    assert round(float(pypdf.PdfReader("again.pdf").pages[0].mediabox[2])) == 595
    (home / "defaults.toml").write_text('[book]\ntitle = "always"\n', encoding="utf-8")
    done = run(*words)
    assert done.exit_code == 2
    assert "line 2: book.title is nothing that is the same for every passage" in done.stderr


def test_a_plan_of_the_same_name_is_the_passages_own(folder: Path) -> None:
    """It is followed, and said in one line; --plan goes before it; in a folder each passage has its own."""
    Path("short.toml").write_text(_PLAN, encoding="utf-8")
    done = run("book", "short.tab", "--dry-run")
    assert done.stderr == "engrave: note: short.toml, beside the passage, is its plan (--plan gives another)\n"
    assert "3 variations" in done.stdout
    Path("one.toml").write_text('[[study]]\npluck = "i-m"\n', encoding="utf-8")
    done = run("book", "short.tab", "--plan", "one.toml", "--dry-run")
    assert done.stderr == ""
    assert "2 variations" in done.stdout
    (folder / "many").mkdir()
    for name, plan in (("a", _PLAN), ("b", '[[study]]\npluck = "i-m"\n')):
        (folder / f"many/{name}.tab").write_text(_SHORT, encoding="utf-8")
        (folder / f"many/{name}.toml").write_text(plan, encoding="utf-8")
    done = run("book", "many", "-o", "out")
    assert [line.split(": ")[1] for line in done.stdout.splitlines()[:2]] == ["3 variations", "2 variations"]


def test_a_finished_plan_is_written_from_a_line(folder: Path) -> None:
    """What is said of a player becomes a plan that can be followed; what is no term is told."""
    assert run("plan", "--for", "m-a, finger 4", "--minutes", "25", "-o", "plan.toml").exit_code == 0
    assert '[player]\nweak = ["m-a", "finger 4"]\nminutes = 25\n' in (folder / "plan.toml").read_text(encoding="utf-8")
    assert run("book", "short.tab", "--plan", "plan.toml", "--dry-run").exit_code == 0
    assert run("plan", "--for", "ma").stderr == "engrave: --for 'ma' is not known (did you mean m-a?)\n"


@pytest.mark.usefixtures("folder")
def test_what_is_heard_goes_at_the_tempi_of_the_page() -> None:
    """A file has each step its page prints, the file of all each variation's first; `--tempo` goes before both."""

    def tempi(name: str) -> list[int]:
        found = _MIDO.MidiFile(file=io.BytesIO(Path(name).read_bytes())).tracks[0]
        return [round(_MIDO.tempo2bpm(one.tempo)) for one in found if one.type == "set_tempo"]

    Path("steps.toml").write_text('[[study]]\npluck = "i-m"\ntempo = [50, 70]\n', encoding="utf-8")
    words = ("export", "short.tab", "--plan", "steps.toml", "--format", "midi")
    assert run(*words, "-o", "out").exit_code == 0
    (study,) = (str(path) for path in Path("out").glob("02-*.mid"))
    assert tempi(study) == [50, 70]
    assert tempi("out/00-all.mid")[1] == 50
    assert run(*words, "--tempo", "60-80 by 10", "-o", "asked").exit_code == 0
    assert tempi(study.replace("out", "asked")) == [60, 70, 80]
    for option in (["--click"], ["--count-in", "1"], ["--channels"], ["--tempo", "60"]):
        done = run("export", "short.tab", *option, "-o", "no")
        assert done.exit_code == 2
        assert f"{option[0]} is of what is heard: add --format midi" in done.stderr
    assert run(*words, "--tab", "-o", "no").exit_code == 2
    assert not Path("no").exists()


_COMPLETED = {
    "engrave ha": "handout",
    "engrave book --instrument d": "drop-d",
    "engrave book --hand s": "small",
    "engrave handout --study pluck=a-m": "pluck=a-m-i",
    "engrave handout --study pl": "pluck=",
    "engrave book --only bass": "bass strings",
    "engrave plan --for tre": "tremolo",
    f"engrave book {LINE} --part g": "Guitar",
}


@pytest.mark.parametrize("words", _COMPLETED, ids=lambda words: words.replace(str(ROOT), ""))
def test_the_shell_completes(words: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Commands, instruments, hands, settings, terms and the parts of the passage on the line are offered."""
    for name, value in (
        ("_ENGRAVE_COMPLETE", "bash_complete"), ("COMP_WORDS", words), ("COMP_CWORD", str(len(words.split()) - 1)),
    ):  # fmt: skip
        monkeypatch.setenv(name, value)
    with pytest.raises(SystemExit):
        main([])
    assert f"plain,{_COMPLETED[words]}\n" in capsys.readouterr().out


@pytest.mark.skipif(sys.platform == "win32", reason="there are no pseudo-terminals")
def test_a_bar_moves_on_a_terminal_alone(folder: Path, flat: tuple[bytes, Result, list[str]]) -> None:
    """A terminal on standard error shows a bar that comes to its end and is wiped; elsewhere not a sign is printed."""
    import pty  # noqa: PLC0415 (not on every system)

    ours, theirs = pty.openpty()
    code = [sys.executable, "-c", "from engrave.cli import main; main()"]
    words = ["book", "short.tab", "--plan", "two.toml", "-o", "-"]
    done = subprocess.Popen(
        [*code, *words], stdout=subprocess.PIPE, stderr=theirs, cwd=folder, env={**os.environ, "TERM": "xterm"}
    )
    os.close(theirs)
    out = done.communicate(timeout=120)[0]
    shown = os.read(ours, 100_000).decode()
    os.close(ours)
    assert out.startswith(b"%PDF-")
    assert done.returncode == 0
    assert "#" in shown
    assert shown.endswith("\x1b[1A\r\x1b[K")
    assert flat[1].stderr == ""
