"""PDFs of strangers as books: what they carry is read within limits or refused in a line, in bounded time and space."""

from __future__ import annotations

import functools
import os
import random
import resource
import subprocess
import sys
import zlib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdf
from pypdf.generic import ArrayObject, DecodedStreamObject, DictionaryObject, NameObject, NumberObject, TextStringObject

from engrave.editions import opened
from engrave.model import EngraveError
from tests.reading.xml import notes, score
from tests.test_cli import LINE, ROOT, run

MUSIC = score(notes("E4/4 F4/4 G4/4 A4/4"))
PLAN = b'[[study]]\npluck = "a-m-i"\ntempo = [60]\n'
SOUND = {"passage.musicxml": MUSIC, "plan.toml": PLAN, "studies.toml": PLAN, "origin.json": b"{}"}
_BOMB = b'<!DOCTYPE s [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><score-partwise>&b;</score-partwise>'
_NOT_OURS = "(give a book this program printed)"
_DAMAGED = "the PDF is damaged and cannot be opened (print the book again)"


def pdf(files: dict[str, bytes], change: Callable[[pypdf.PdfWriter], None] | None = None) -> bytes:
    """A PDF of one empty page that carries `files`."""
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    for name, data in files.items():
        writer.add_attachment(name, data)
    if change:
        change(writer)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def _tree(writer: pypdf.PdfWriter) -> Any:
    root: Any = writer.root_object
    return root["/Names"]["/EmbeddedFiles"]


def _bomb(writer: pypdf.PdfWriter, rounds: int = 1) -> None:
    """The passage's stream unpacks to a hundred million bytes, or to that many packed again."""
    data = b"\0" * 100_000_000
    for _ in range(rounds):
        data = zlib.compress(data, 1)
    for entry in writer.attachment_list:
        if entry.name == "passage.musicxml":
            stream: Any = entry.pdf_object["/EF"]
            stream = stream["/F"].get_object()
            stream._data = data
            filters = ArrayObject([NameObject("/FlateDecode")] * rounds)
            stream[NameObject("/Filter")] = filters


def _loop(writer: pypdf.PdfWriter) -> None:
    """The tree of names is its own child."""
    tree = _tree(writer)
    del tree["/Names"]
    writer.root_object["/Names"][NameObject("/EmbeddedFiles")] = reference = writer._add_object(tree)  # type: ignore[index]
    tree[NameObject("/Kids")] = ArrayObject([reference, reference])


def _deep(writer: pypdf.PdfWriter) -> None:
    """Ten thousand names inside one another."""
    below = writer._add_object(DictionaryObject({NameObject("/Names"): ArrayObject()}))
    for _ in range(10_000):
        below = writer._add_object(DictionaryObject({NameObject("/Kids"): ArrayObject([below])}))
    writer.root_object["/Names"][NameObject("/EmbeddedFiles")] = below  # type: ignore[index]


def _crowd(writer: pypdf.PdfWriter) -> None:
    """The same file listed ten thousand times."""
    names = _tree(writer)["/Names"]
    entry = names[:2]
    names.extend(list(entry) * 10_000)


def _wrong_kinds(writer: pypdf.PdfWriter) -> None:
    names = _tree(writer)["/Names"]
    names[1] = NumberObject(7)
    names[3] = TextStringObject("no file")


def _no_stream(writer: pypdf.PdfWriter) -> None:
    for entry in writer.attachment_list:
        entry.pdf_object["/EF"][NameObject("/F")] = DictionaryObject()  # type: ignore[index]


def _outside(writer: pypdf.PdfWriter) -> None:
    """The passage is said to lie in a file outside."""
    for entry in writer.attachment_list:
        stream: Any = entry.pdf_object["/EF"]
        stream = stream["/F"].get_object()
        stream[NameObject("/F")] = TextStringObject("/etc/passwd")
        stream._data = b""


def _scripts(writer: pypdf.PdfWriter) -> None:
    script = DictionaryObject({NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): TextStringObject("x")})
    writer.root_object[NameObject("/AA")] = DictionaryObject({NameObject("/WC"): script})
    writer.root_object[NameObject("/OpenAction")] = DictionaryObject(
        {NameObject("/S"): NameObject("/Launch"), NameObject("/F"): TextStringObject("/bin/sh")}
    )


def _hollow(writer: pypdf.PdfWriter) -> None:
    """Twenty million bytes of nothing beside the files."""
    stream = DecodedStreamObject()
    stream.set_data(b" " * 20_000_000)
    writer._add_object(stream)


def _locked() -> bytes:
    writer = pypdf.PdfWriter(clone_from=BytesIO(pdf(SOUND)))
    writer.encrypt("heron", algorithm="RC4-128")
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "no files": (
        lambda: pdf({}),
        f"the PDF carries no passage.musicxml and no plan.toml and no studies.toml {_NOT_OURS}",
    ),
    "wrong names": (
        lambda: pdf({"../passage.musicxml": MUSIC, "/plan.toml": PLAN, "Studies.toml": PLAN}),
        f"the PDF carries no passage.musicxml and no plan.toml and no studies.toml {_NOT_OURS}",
    ),
    "a bomb": (lambda: pdf(SOUND, _bomb), _DAMAGED),
    "a bomb in a bomb": (
        lambda: pdf(SOUND, functools.partial(_bomb, rounds=2)),
        "inside the PDF is packed in a way we do not",
    ),
    "a tree of names in a ring": (lambda: pdf(SOUND, _loop), ""),
    "a tree of names too deep": (lambda: pdf(SOUND, _deep), ""),
    "a crowd of names": (lambda: pdf(SOUND, _crowd), f"the PDF carries more than 400 files {_NOT_OURS}"),
    "names of no files": (lambda: pdf(SOUND, _wrong_kinds), ""),
    "files without content": (lambda: pdf(SOUND, _no_stream), ""),
    "a file that lies outside": (lambda: pdf(SOUND, _outside), ""),
    "locked": (_locked, "the PDF is locked with a password (unlock it first)"),
    "cut off": (lambda: pdf(SOUND)[:-600], ""),
    "a head only": (lambda: b"%PDF-1.7\n" + b"\0" * 1_000, _DAMAGED),
    "fifty megabytes of nothing": (lambda: b"%PDF-1.7\n" + b"\0" * 50_000_000, _DAMAGED),
    "an XML bomb inside": (lambda: pdf(SOUND | {"passage.musicxml": _BOMB}), ""),
    "a passage that is a PDF": (lambda: pdf(SOUND | {"passage.musicxml": b"%PDF-1.7"}), ""),
    "a plan of another kind": (
        lambda: pdf(SOUND | {"plan.toml": b"[evil]\nrun = 'rm'\n"}),
        "plan.toml, line 1: [evil] is no heading of a plan (headings: player, ",
    ),
    "a plan of hundreds of studies": (lambda: pdf(SOUND | {"studies.toml": PLAN * 501}), ""),
    "a plan that counts too far": (
        lambda: pdf(SOUND | {"studies.toml": b"[[study]]\ntimes = 1000000000\n"}),
        "studies.toml, line 2: times 1000000000 is outside 1 to ",
    ),
    "a plan of half a million brackets": (lambda: pdf(SOUND | {"plan.toml": b"x = " + b"[" * 500_000}), ""),
    "a passage of two thousand bars": (
        lambda: pdf(SOUND | {"passage.musicxml": score(*[notes("E4/1")] * 2_000)}),
        "",
    ),
}
"""kind of attack → how it is made, what is said of it where that is worth fixing"""

_GIGABYTE = 2**30


def _bounded() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (2 * _GIGABYTE, 2 * _GIGABYTE))
    resource.setrlimit(resource.RLIMIT_CPU, (60, 60))


def test_hostile_books_are_one_line_each(tmp_path: Path) -> None:
    """One process of 2 GB and a minute opens them all, as `book` or as `reissue`: a line each and exit 2."""
    code = """
import sys
from click.testing import CliRunner
from engrave.cli import main
for number, name in enumerate(sys.argv[1:]):
    words = ["reissue", name, LINE] if number % 2 else ["book", name]
    done = CliRunner().invoke(main, [*words, "-o", "out.pdf"], catch_exceptions=False)
    print(done.exit_code, done.stderr.count("\\n"), done.stderr.strip() or done.stdout.strip(), flush=True)
""".replace("LINE", repr(LINE))
    for number, (make, _) in enumerate(HOSTILE.values()):
        (tmp_path / f"{number}.pdf").write_bytes(make())
    names = [f"{number}.pdf" for number in range(len(HOSTILE))]
    done = subprocess.run(
        [sys.executable, "-c", code, *names], cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True, text=True, timeout=300, check=False,
        preexec_fn=_bounded,
    )  # fmt: skip
    said = done.stdout.splitlines()
    assert len(said) == len(HOSTILE), done.stderr[-2000:]
    for line, (case, (_, wanted)) in zip(said, HOSTILE.items(), strict=True):
        assert line.startswith("2 1 engrave: "), (case, line)
        assert wanted in line, (case, line)
    assert not (tmp_path / "out.pdf").exists()


def test_scripts_and_bulk_in_a_book_are_passed_over(tmp_path: Path) -> None:
    """Actions are not looked at, and what nobody asks for is not unpacked: the plan is taken, the new book has none."""
    for number, change in enumerate((_scripts, _hollow)):
        old = tmp_path / f"{number}.pdf"
        old.write_bytes(pdf(SOUND | {"variations.musicxml": b"junk", "../../evil.sh": b"#!/bin/sh"}, change))
        target = tmp_path / "new.pdf"
        done = run("reissue", str(old), LINE, "--bars", "1", "--as", "handout", "-o", str(target))
        assert done.exit_code == 0, done.stderr
        assert sorted(path.name for path in tmp_path.iterdir()) == sorted(
            [*(f"{n}.pdf" for n in range(number + 1)), "new.pdf"]
        )
        reader = pypdf.PdfReader(target)
        assert "../../evil.sh" not in reader.attachments
        assert "/OpenAction" not in reader.trailer["/Root"]  # type: ignore[operator]


@functools.cache
def printed() -> bytes:
    """A book of ours."""
    from engrave import line as book  # noqa: PLC0415
    from engrave import reading  # noqa: PLC0415
    from engrave.regimen import read_plan  # noqa: PLC0415

    return book.press(book.make(reading.read(MUSIC, "x.xml"), read_plan(PLAN.decode())))


def damaged(draw: random.Random, data: bytes) -> bytes:
    """A PDF with bytes changed, parts taken out or doubled, numbers replaced; half of it near the end."""
    out = bytearray(data)
    for _ in range(draw.choice((1, 1, 3, 10, 40))):
        # half of the damage goes to the last tenth, where trees and tables lie
        if not out:
            break
        low = 0 if draw.random() < 0.5 else len(out) * 9 // 10
        place = draw.randrange(low, len(out))
        match draw.randrange(5):
            case 0:
                out[place] = draw.randrange(256)
            case 1:
                del out[place : place + draw.randint(1, 60)]
            case 2:
                out[place:place] = out[place : place + draw.randint(1, 200)]
            case 3:
                out[place : place + 1] = draw.choice((b"9999999999", b"-1", b" 0 R ", b"<<", b"]", b"/Kids", b"obj"))
            case _ if draw.random() < 0.1:
                del out[place:]
    return bytes(out)


def a_damaged_book(draw: random.Random) -> bytes:
    """A book of ours, or more often a plain PDF that is quicker to open, damaged."""
    return damaged(draw, printed() if draw.random() < 0.25 else pdf(SOUND))


def outcome(data: bytes) -> str:
    """Whether a PDF is opened or refused; anything but an EngraveError of single lines is raised."""
    try:
        music = opened(data, "book.pdf").passage
    except EngraveError as error:
        refusal = error
    else:
        assert list(music.notes)
        return "opened"
    assert all("\n" not in line and len(line) <= 600 for line in map(str, refusal.faults))
    return "refused"


def test_damaged_books_are_opened_or_refused() -> None:
    """Damage to a book of ours and to a plain PDF: never anything but the music or a line."""
    assert {outcome(a_damaged_book(random.Random(f"books {number}"))) for number in range(80)} == {"opened", "refused"}
