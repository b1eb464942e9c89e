"""The README and the texts beside it say what is so."""

from __future__ import annotations

import re
import shlex
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, ImageChops

from engrave.regimen import read_plan
from tests.reading.xml import notes, score
from tests.test_cli import run

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
TEXTS = ("README.md", "DEVELOPERS.md", "examples/formats.md", "examples/plans.md", "examples/catalogue.md")
TWO = '[[study]]\npluck = "i-m"\n[[study]]\nslurs = "hammer-ons"\n'
SMALL = "metre: 2/4\n\ne|-0-1-3-0-|\nB|---------|\nG|---------|\nD|---------|\nA|---------|\nE|---------|\n"
STEPS = [notes("E4/4 F4/4 G4/4 E4/4") for _ in range(4)]


def commands() -> list[list[str]]:
    """The words of every line that begins with the program's name, in order; outside the two that set up."""
    lines = re.findall(r"^engrave .+$", README, re.MULTILINE)
    comments = [re.findall(r"^# (engrave .+)$", path.read_text(encoding="utf-8"), re.MULTILINE)
                for path in sorted((ROOT / "examples").glob("*.toml"))]  # fmt: skip
    return [shlex.split(line) for line in (*lines, *(line for found in comments for line in found))]


def test_every_command_line_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each command line of the README and of the plans in examples/ does its work, on small passages of those names.

    Beside each passage lies a plan of two studies.
    """
    folder = tmp_path / "examples"
    folder.mkdir()
    for path in sorted((ROOT / "examples").iterdir()):
        if path.suffix in (".toml", ".csv"):
            (folder / path.name).write_bytes(path.read_bytes())
    (folder / "harbour-steps.musicxml").write_bytes(score(*STEPS))
    for name in ("slow-barge", "mill-race"):
        (folder / f"{name}.tab").write_text(SMALL, encoding="utf-8")
    for name in ("harbour-steps", "slow-barge", "mill-race"):
        (folder / f"{name}.toml").write_text(TWO, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    seen = set()
    for words in commands():
        for word in words:
            assert not word.startswith("examples/") or (ROOT / word).exists(), word
        done = run(*words[1:])
        assert done.exit_code == 0, (words, done.stderr)
        seen.add(words[1])
    assert seen == {"book", "handout", "week", "reissue", "log", "export", "survey", "studies", "plan"}
    written = {path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*") if path.is_file()}
    assert {"book.pdf", "week.pdf", "slow-barge-variations.zip", "plan.toml", "books/mill-race-book.pdf"} <= written


def test_the_readme_is_short_and_leads_on() -> None:
    """Under 160 lines; every file that any of the texts points to is there, and every heading within one."""
    assert README.count("\n") < 160
    for name in TEXTS:
        text = (ROOT / name).read_text(encoding="utf-8")
        for target, _, heading in re.findall(r"\]\(([^)#:]*)(#([^)]*))?\)", text):
            there = (ROOT / name).parent / target if target else ROOT / name
            assert there.exists(), (name, target)
            if heading:
                headings = re.findall(r"^#+ (.+)$", there.read_text(encoding="utf-8"), re.MULTILINE)
                assert heading in {re.sub(r"[^a-z0-9 -]", "", h.lower()).replace(" ", "-") for h in headings}


def test_the_picture_is_what_its_command_makes(tmp_path: Path) -> None:
    """The README's command makes its picture: of one size, and alike but for a hundredth of the dots."""
    data = (ROOT / "examples/page.png").read_bytes()
    assert len(data) < 200_000
    (command,) = re.findall(r"^\(`engrave (.* -o) page\.png`\)$", README, re.MULTILINE)
    made = tmp_path / "page.png"
    words = [str(ROOT / word) if word.startswith("examples/") else word for word in shlex.split(command)]
    done = run(*words, str(made))
    assert done.exit_code == 0, done.stderr
    shown, now = Image.open(BytesIO(data)), Image.open(made)
    assert shown.size == now.size
    # what is set anew by another release of a library may differ by a hair
    apart = ImageChops.difference(shown, now).point(lambda shade: 255 * (shade > 96))
    assert apart.histogram()[255] < 0.01 * now.width * now.height


def test_the_plan_in_the_text_can_be_followed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first plan that examples/plans.md shows is one that prints a book; all are plans."""
    shown, *others = re.findall(
        r"^```toml\n(.*?)^```", (ROOT / "examples/plans.md").read_text(encoding="utf-8"), re.M | re.S
    )
    monkeypatch.chdir(tmp_path)
    Path("plan.toml").write_text(shown, encoding="utf-8")
    Path("line.tab").write_text(SMALL, encoding="utf-8")
    done = run("book", "line.tab", "--plan", "plan.toml", "-o", "book.pdf")
    assert done.exit_code == 0, done.stderr
    assert all(read_plan(other) for other in others)


def test_the_library_example_runs() -> None:
    """The Python example does what it says."""
    examples = re.findall(r"^```python\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
    assert examples
    for code in examples:
        exec(compile(code, "README.md", "exec"), {})  # noqa: S102 (our own text)


def test_it_begins_with_the_job_and_two_commands() -> None:
    """First the job in one paragraph, then one command that prints the built-in book and one that passes the tests."""
    assert README.startswith("# Passage studies\n\nA classical guitarist")
    blocks = re.findall(r"^```sh\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
    assert all(block.count("\n") == 1 for block in blocks[:2])
    assert "engrave book" in blocks[0]
    assert blocks[1].rstrip().endswith("pytest")
