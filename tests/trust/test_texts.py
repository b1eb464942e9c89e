"""Texts of strangers through the whole line: printed as text, and nothing they name is fetched, opened or run."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import pypdf
import pytest

from engrave.pages import printing
from tests.reading.xml import note, score
from tests.test_cli import ONE, ROOT, run

TEXTS = (
    "<b>bold</b> <script>alert(1)</script>",
    "a & b &amp; &lt;i&gt; &#65; ]]> <!-- x --> <![CDATA[ y",
    "</style></title></body><img src='file:///etc/passwd'>",
    "url(file:///etc/passwd) url('http://127.0.0.1:9/x.png')",
    "@import url(http://127.0.0.1:9/x.css); } * { content: 'x'",
    "<link rel=stylesheet href=http://127.0.0.1:9/y.css>",
    "<object data='file:///etc/hostname'> <iframe src='//127.0.0.1'>",
    "\"quoted\" 'single' `tick` \\back\\slash %s %d {0} {{ 7*7 }} {% raw %}",
    "../../../../tmp/climbs/out /etc/passwd C:\\Windows nul",
    "\u202ereversed\u202c \u2066turned\u2069 \u200bzero\ufeff",
    "$(touch /tmp/x) ; rm -rf ~ | cat",
    "=cmd|' /C calc'!A0 +1 @SUM(1)",
)
"""each stands in each field once"""
_FIELDS = (
    "title",
    "composer",
    "rights",
    "part",
    "words",
    "rehearsal",
    "lyric",
    "player",
    "heading",
    "teacher",
    "study",
    "why",
)
_STUDY = {"pluck": "a-m-i", "times": 1, "tempo": [60]}


def hostile(turn: int, folder: Path) -> tuple[Path, Path, dict[str, str]]:
    """A score and a plan in which every text is one of TEXTS, moved on by `turn`; and which is where."""
    said = {field: TEXTS[(index + turn) % len(TEXTS)] for index, field in enumerate(_FIELDS)}
    marked = {field: escape(text.replace("\x00", "")) for field, text in said.items()}
    head = (
        f"<work><work-title>{marked['title']}</work-title></work>"
        f'<identification><creator type="composer">{marked["composer"]}</creator><rights>{marked["rights"]}</rights>'
        "</identification>"
    )
    kinds = f"<words>{marked['words']}</words>", f"<rehearsal>{marked['rehearsal']}</rehearsal>"
    above = "".join(f"<direction><direction-type>{kind}</direction-type></direction>" for kind in kinds)
    sung = note("E4/4", after=f"<lyric><text>{marked['lyric']}</text></lyric>")
    music = folder / "line.musicxml"
    music.write_bytes(score(above + sung + note("F4/4") + note("G4/4") + note("F4/4"), name=marked["part"], head=head))
    plain = {field: re.sub(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]", "", text) for field, text in said.items()}
    plan = folder / "plan.toml"
    rows: dict[str, dict[str, Any]] = {
        "[player]": {"name": plain["player"]},
        "[book]": {"title": plain["heading"], "teacher": plain["teacher"]},
        "[[study]]": {"name": plain["study"]} | _STUDY,
        "[[leave-out]]": {"pluck": "m-a", "why": plain["why"]},
    }
    # a TOML basic string is a JSON string, but for DEL
    text = "\n".join(
        f"{table}\n" + "\n".join(f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in row.items())
        for table, row in rows.items()
    )
    plan.write_text(text, encoding="utf-8")
    return music, plan, said


@pytest.fixture
def fetched(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the press is asked to fetch while a test runs."""
    urls: list[str] = []
    real = printing._fetching

    def counting(library: Any, body: Callable[[str], tuple[bytes, str]]) -> Any:
        def counted(url: str) -> tuple[bytes, str]:
            urls.append(url)
            return body(url)

        return real(library, counted)

    monkeypatch.setattr(printing, "_fetching", counting)
    return urls


def as_printed(text: str) -> str:
    """A text as the pages set it: one line, no invisible signs; spaces do not count, lines may break anywhere."""
    return re.sub(r"[\s\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]+", "", text)


@pytest.mark.parametrize(("turn", "command"), [(0, "book"), (4, "handout"), (8, "week")])
def test_texts_are_printed_as_text(turn: int, command: str, tmp_path: Path, fetched: list[str]) -> None:
    """Markup, style, paths and code in any field come out letter for letter, and only the fonts are fetched."""
    music, plan, said = hostile(turn, tmp_path)
    target = tmp_path / "out.pdf"
    done = run(command, str(music), "--plan", str(plan), "-o", str(target))
    assert done.exit_code == 0, done.stderr
    fonts = {
        url
        for url in fetched
        if url in {f"engrave:{face}.otf" for face in ("roman", "italic", "bold", "signs", "lent-1")}
    }
    assert fetched
    assert set(fetched) == fonts
    reader = pypdf.PdfReader(target, strict=True)
    pages = as_printed("".join(page.extract_text() for page in reader.pages))
    for field in ("heading", "study"):
        # headings may be shortened, and ligatures and hyphens are the type's own
        start = as_printed(said[field])[:12]
        assert start in pages, (field, start)
    for page in reader.pages:
        for annotation in page.get("/Annots", []):
            # links lead to places in the book, never outside
            row = annotation.get_object()
            assert "/URI" not in str(row), row
    inside = reader.attachments
    assert as_printed(said["title"])[:12] in as_printed(json.dumps(_title(inside["passage.musicxml"][0])))[1:]
    catalogue = str(reader.trailer["/Root"])
    assert not re.search(r"/(JavaScript|JS|Launch|OpenAction|AA)\b", catalogue)


def _title(data: bytes) -> str:
    from engrave.reading import read  # noqa: PLC0415

    # quotes and backslashes would only be escaped by json
    return re.sub(r"[\"\\]", "", read(data, "x.xml").title)


def test_ten_thousand_letters(tmp_path: Path) -> None:
    """Titles, names and words of 10,000 letters are cut where they are read, or refused by the plan's line."""
    long = "Long " * 2_000
    music = tmp_path / "line.musicxml"
    head = f"<work><work-title>{long}</work-title></work><identification><rights>{long}</rights></identification>"
    words = f"<direction><direction-type><words>{long}</words></direction-type></direction>"
    music.write_bytes(score(words + note("E4/4") + note("F4/4") + note("G4/4") + note("F4/4"), name=long, head=head))
    done = run("handout", str(music), "--study", "pluck=a-m-i", "-o", str(tmp_path / "out.pdf"))
    assert done.exit_code == 0, done.stderr
    plan = tmp_path / "plan.toml"
    plan.write_text(f'[book]\ntitle = "{long}"\n', encoding="utf-8")
    done = run("book", str(music), "--plan", str(plan), "-o", str(tmp_path / "out.pdf"))
    assert (done.exit_code, done.stderr) == (
        2,
        f"engrave: {plan}, line 2: title has 10000 characters, the most is 200\n",
    )


def test_names_of_files_from_strangers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Names with markup, escapes, bytes that are no text and bidi marks: the output is named after them."""
    monkeypatch.chdir(tmp_path)
    tab = b"e|-0-1-3-1-|\n" + b"".join(b"%c|---------|\n" % string for string in b"BGDAE")
    for name in ("<b>&amp;'\".tab", "\x1b[31mred\n.tab", "\udcff\udcfe.tab", "\u202egnp.tab", "-o.tab"):
        (tmp_path / name).write_bytes(tab)
        done = run("book", f"./{name}", *ONE)
        assert done.exit_code == 0, done.stderr
        assert done.stdout.count("\n") == 1
        assert not re.search(r"[\x00-\x09\x0b-\x1f\u202e\ud800-\udfff]", done.stdout)
        assert (tmp_path / f"{name.removesuffix('.tab')}-book.pdf").read_bytes().startswith(b"%PDF")
    (tmp_path / "bad\x1b[2J\u202e.xml").write_text("no", encoding="utf-8")
    done = run("survey", "bad\x1b[2J\u202e.xml")
    assert (done.exit_code, done.stderr.count("\n")) == (2, 1)
    assert not re.search(r"[\x00-\x09\x0b-\x1f\u202e]", done.stderr)


@pytest.mark.parametrize("packed", [False, True])
def test_exported_files_stay_in_their_folder(packed: bool, tmp_path: Path) -> None:
    """Titles and names of studies that climb out become plain names of letters, figures and hyphens."""
    import zipfile  # noqa: PLC0415

    music, plan, _ = hostile(2, tmp_path)
    studies = (("../../../etc/passwd", "a-m-i"), ("/absolute", "m-a"), ("..", "i-m"), ("CON:<>|?*", "i-a"))
    rows = (f"[[study]]\nname = {json.dumps(name)}\npluck = {json.dumps(pluck)}\n" for name, pluck in studies)
    plan.write_text("".join(rows), encoding="utf-8")
    before = {path.name for path in tmp_path.iterdir()}
    target = "out.zip" if packed else "out"
    words = ["--zip"] if packed else []
    done = run("export", str(music), "--plan", str(plan), *words, "-o", str(tmp_path / target))
    assert done.exit_code == 0, done.stderr
    assert {path.name for path in tmp_path.iterdir()} == {*before, target}
    if packed:
        with zipfile.ZipFile(tmp_path / target) as archive:
            names = archive.namelist()
    else:
        names = [path.relative_to(tmp_path / "out").as_posix() for path in (tmp_path / "out").rglob("*")]
    assert len(names) == 6
    assert all(re.fullmatch(r"\d\d-[a-z0-9-]+\.musicxml", name) for name in names), names


def test_cells_of_a_log_are_only_text(tmp_path: Path) -> None:
    """A log full of formulas, markup and nonsense is told row by row in the week, and nothing more."""
    music, plan, _ = hostile(0, tmp_path)
    log = tmp_path / "log.csv"
    rows = [f'"{text.replace(chr(34), chr(34) * 2)}",2027-01-04,60,4' for text in TEXTS]
    rows += ["x,<b>,nan,-1", "x,2027-13-45,60,4", "x,2027-01-04,1e999,4", '"=1+1","@x","+y","-z"']
    log.write_text("study,day,tempo,clean\n" + "\n".join(rows) + "\n", encoding="utf-8")
    done = run("week", str(music), "--plan", str(plan), "--log", str(log), "-o", str(tmp_path / "week.pdf"))
    assert done.exit_code == 0, done.stderr
    text = as_printed("".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "week.pdf").pages))
    assert as_printed("the row does not count") in text


_AUDIT = """
import json, os, sys
seen = set()
def hook(event, args):
    # asking whether there is an IPv6 loopback, as a library does, reaches nobody
    if event.startswith("socket.") and event != "socket.__new__" and args[1:2] != (("::1", 0),):
        seen.add(f"SOCKET {event} {args[1:]}")
    if event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.fork", "webbrowser.open"):
        seen.add(f"PROCESS {event} {args[:1]}")
    # no name opens nothing
    if event == "open" and isinstance(args[0], str) and args[0]:
        mode = args[1] or ""
        kind = "WRITE" if any(c in mode for c in "wax+") or (args[2] or 0) & 3 else "READ"
        seen.add(f"{kind} {os.path.realpath(args[0])}")
sys.addaudithook(hook)
from engrave.cli import main
try:
    main()
finally:
    sys.stderr.write(json.dumps(sorted(seen)))
"""


def test_a_run_opens_nothing_but_its_own(tmp_path: Path) -> None:
    """An audit of a whole run over hostile texts: no address, no process, no file but the program's and its input's."""
    music, plan, _ = hostile(5, tmp_path)
    words = ["handout", str(music), "--plan", str(plan), "-o", str(tmp_path / "out.pdf")]
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TMPDIR": str(tmp_path / "tmp"), "HOME": str(tmp_path / "home")}
    for name in ("tmp", "home"):
        (tmp_path / name).mkdir()
    done = subprocess.run(
        [sys.executable, "-c", _AUDIT, *words], capture_output=True, text=True, env=env, cwd=tmp_path, check=False
    )
    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stderr)
    started = [what for what in seen if what.startswith(("SOCKET", "PROCESS"))]
    # WeasyPrint finds Pango by ctypes, which asks the machine's own loader and linker
    asked = r"PROCESS (?:subprocess\.Popen|os\.posix_spawn) \('(/sbin/ldconfig|ld|gcc|cc|[\w/.-]*/(ld|gcc|cc))',\)"
    assert [what for what in started if not re.fullmatch(asked, what)] == []
    at_home = {str(music), str(plan)}
    roots = tuple(
        os.path.realpath(root)
        for root in (
            ROOT / "engrave", ROOT / "templates", ROOT / "shared", ROOT / "pyproject.toml", sys.prefix, sys.base_prefix,
            tmp_path / "tmp",
        )
    )  # fmt: skip
    # the machine's own libraries are found by the loader, and its types of files by the standard library
    system = re.compile(
        r"/(usr/|lib|etc/ld\.so|etc/(fonts|mime\.types|apache2?/|httpd/)|dev/(null|urandom)|proc/self|sys/)"
    )
    for what in (one for one in seen if one not in started):
        kind, _, path = what.partition(" ")
        inside = path.startswith(roots) or path in at_home or (kind == "READ" and system.match(path) is not None)
        written = path.startswith(os.path.realpath(tmp_path)) and path.endswith(".part")
        # Python 3.13 asks of each folder above a library with data whether it is an archive
        above = kind == "READ" and Path(path) in Path(os.path.realpath(sys.prefix)).parents
        # the loader of libraries asks the machine's own tools, whose complaints nobody hears
        assert inside or written or above or what == f"WRITE {os.devnull}", what
    assert f"READ {os.path.realpath(music)}" in seen
    assert not {"READ /etc/passwd", "READ /etc/hostname"} & set(seen)
    assert list((tmp_path / "home").iterdir()) == []
