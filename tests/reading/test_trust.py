"""Files from strangers: what they may not make the reader do, each with the line they get instead."""

from __future__ import annotations

import builtins
import socket
from dataclasses import replace
from typing import Any, NoReturn

import pytest

from engrave.model import ReadError
from engrave.reading import read
from engrave.reading.limits import LIMITS, Limits
from tests.reading.xml import attributes, container, note, notes, packed, pitch, score, shown

_SOUND = score(notes("E4/1"))
_BOMB = (
    b'<!DOCTYPE s [<!ENTITY a "ha">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9))
    + b"]><score-partwise>&j;</score-partwise>"
)


def refused(data: bytes, limits: Limits = LIMITS, **asked: str) -> str:
    """What is said of a file that is not read."""
    with pytest.raises(ReadError) as caught:
        read(data, "x.xml", limits=limits, **asked)
    return str(caught.value)


@pytest.fixture
def _nothing_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    """No file and no address can be opened while a test runs."""
    read(_SOUND, "x.xml")

    def deny(*args: object, **_more: object) -> NoReturn:
        raise AssertionError(f"opened {args[:1]}")

    monkeypatch.setattr(builtins, "open", deny)
    monkeypatch.setattr(socket.socket, "connect", deny)


@pytest.mark.usefixtures("_nothing_is_opened")
@pytest.mark.parametrize(
    "data",
    [
        _BOMB,
        b'<!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/passwd">]><score-partwise>&x;</score-partwise>',
        b'<!DOCTYPE s [<!ENTITY % x SYSTEM "http://localhost/x">%x;]><score-partwise/>',
        b'<!DOCTYPE s [<!ENTITY x PUBLIC "x" "http://localhost/x">]><score-partwise/>',
    ],
)
def test_entities_are_refused(data: bytes) -> None:
    """No entity is expanded, no outside one fetched: the declaration is enough to refuse the file."""
    said = "x.xml, line 1: an entity is declared, which no score needs (save it without one)"
    assert refused(data) == said


@pytest.mark.usefixtures("_nothing_is_opened")
@pytest.mark.parametrize("where", ["http://localhost:1/x.dtd", "file:///etc/passwd", "\\\\\\\\host\\\\share", "x.dtd"])
def test_a_doctype_is_passed_over_unread(where: str) -> None:
    """A plain MusicXML DOCTYPE is fine, wherever it points."""
    data = b'<!DOCTYPE score-partwise SYSTEM "%b">' % where.encode() + _SOUND[_SOUND.index(b"<score-partwise") :]
    assert shown(read(data, "x.xml")) == "E4/1"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (
            b"<score-partwise>" + b"<a>" * 100_000,
            "elements lie more than 40 deep inside one another (save the score again)",
        ),
        (
            b"<score-partwise>" + b"<a/>" * 50_001,
            "more than 50,000 elements (save a single part or fewer bars; ENGRAVE_LIMITS=elements=100000 allows more)",
        ),
        (
            b"<score-partwise>" + b"".join(b"<a%d/>" % n for n in range(2_000)),
            "more than 1,000 different elements: no score has so many",
        ),
        (
            b"<score-partwise " + b" ".join(b'a%d="x"' % n for n in range(61)) + b"/>",
            "61 attributes in one element, the limit is 60 (save the score again)",
        ),
        (
            b'<score-partwise a="' + b"x" * 2_000_000 + b'"/>',
            "a tag or comment of more than 1,000,000 bytes (save the score again)",
        ),
        (
            b"<score-partwise><movement-title>" + b"x" * 30_000,
            "more than 20,000 characters of text in one element (shorten it)",
        ),
    ],
)
def test_absurd_xml_is_refused_at_its_limit(data: bytes, said: str) -> None:
    """Depth, number and size of elements are bounded before anything is built of them."""
    assert refused(data, replace(LIMITS, elements=50_000)) == f"x.xml, line 1: {said}"


def test_a_hundred_megabytes_of_nothing_are_refused_unread() -> None:
    """The size alone is enough."""
    small = replace(LIMITS, file_bytes=1_000)
    said = (
        "x.xml: the score is 1,033 bytes long, the limit is 1,000 (save a single part or fewer bars; "
        "ENGRAVE_LIMITS=file_bytes=1033 allows more)"
    )
    assert refused(b"<score-partwise>" + b" " * 1_000 + b"</score-partwise>", small) == said


def test_megabytes_of_blanks_inside_the_limit_are_only_an_empty_score() -> None:
    """Blanks are not kept."""
    assert (
        refused(b"<score-partwise>" + b" " * 5_000_000 + b"</score-partwise>") == "x.xml: there is no part in the score"
    )


def test_an_entity_nobody_declared_is_dropped() -> None:
    """With an outside DTD unread, its entities are unknown; the music is not hurt."""
    data = score(notes("E4/1"), head="<movement-title>A&nbsp;B</movement-title>")
    assert read(data, "x.xml").title == "AB"


@pytest.mark.parametrize(
    ("files", "said"),
    [
        (
            {"s.xml": b" " * 110_000},
            "'s.xml' unpacks to more than 100,000 bytes (save a single part or fewer bars; "
            "ENGRAVE_LIMITS=unpacked_bytes=200000 allows more)",
        ),
        (
            {f"{n}.xml": b"" for n in range(501)},
            "501 files in the compressed score, the limit is 500",
        ),
        (
            {"META-INF/container.xml": container("no.xml"), "a.xml": _SOUND, "b.xml": _SOUND},
            "its container names 'no.xml', which is not in it (save it again as plain MusicXML)",
        ),
        (
            {"META-INF/container.xml": container("/etc/passwd")},
            "its container names '/etc/passwd', which is not in it (save it again as plain MusicXML)",
        ),
        (
            {"META-INF/container.xml": container("a.mxl"), "a.mxl": packed({"s.xml": _SOUND})},
            "'a.mxl' is a compressed file again (unpack it first)",
        ),
        (
            {"a.xml": _SOUND, "b.xml": _SOUND},
            "2 scores in the compressed file and no container to choose one (unpack the one you mean)",
        ),
        ({"a.txt": b""}, "no MusicXML score in the compressed file, only a.txt (save it as .musicxml)"),
        ({}, "no MusicXML score in the compressed file, only nothing (save it as .musicxml)"),
    ],
)  # fmt: skip
def test_a_compressed_file_cannot_lie(files: dict[str, bytes], said: str) -> None:
    """Bombs, crowds, containers that point nowhere or outside, zips in zips, zips without a score."""
    assert refused(packed(files), replace(LIMITS, unpacked_bytes=100_000)) == f"x.xml: {said}"


def test_a_container_that_is_an_attack_is_refused_as_any_other_xml() -> None:
    """The container goes through the same parser."""
    said = refused(packed({"META-INF/container.xml": _BOMB, "s.xml": _SOUND}))
    assert said.startswith("x.xml: META-INF/container.xml, line 1: an entity is declared")


def test_names_that_climb_out_are_only_names() -> None:
    """A path is looked up inside the zip and goes nowhere else."""
    up = "../../../etc/passwd"
    assert shown(read(packed({"META-INF/container.xml": container(up), up: _SOUND}), "x.xml")) == "E4/1"


def test_a_missing_container_is_no_hindrance() -> None:
    """A zip with one score needs no container; neither does one whose container is wrong."""
    assert shown(read(packed({"s.xml": _SOUND}), "x.mxl")) == "E4/1"
    assert shown(read(packed({"META-INF/container.xml": container("no.xml"), "s.xml": _SOUND}), "x.mxl")) == "E4/1"


def test_an_encrypted_score_is_told() -> None:
    """The flag of the entry is enough; no password is asked for."""
    data = bytearray(packed({"s.xml": _SOUND}))
    data[data.rindex(b"PK\x01\x02") + 8] |= 1
    data[6] |= 1
    assert refused(bytes(data)) == "x.xml: 's.xml' is encrypted (save it without a password)"


def test_a_way_of_packing_that_needs_much_memory_is_not_opened() -> None:
    """MusicXML allows stored and deflated files only."""
    data = bytearray(packed({"s.xml": _SOUND}))
    data[data.rindex(b"PK\x01\x02") + 10] = 14
    data[8] = 14
    said = "x.xml: 's.xml' is packed in a way MusicXML does not use (save it again as plain MusicXML)"
    assert refused(bytes(data)) == said


@pytest.mark.parametrize("end", [10, 60, -30, -1])
def test_a_damaged_zip_is_told(end: int) -> None:
    """Cut anywhere, it is damaged."""
    assert refused(packed({"s.xml": _SOUND})[:end]) == "x.xml: the compressed file is damaged (save or fetch it again)"


_OVERLAP = "<backup><duration>96</duration></backup>"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (
            score("".join(notes("E4/1", voice=str(v)) + _OVERLAP for v in range(64))),
            "x.xml: 64 voices on one staff, the limit is 8 (choose one with --voice)",
        ),
        (
            score("".join(notes("E4/1") + _OVERLAP for _ in range(64))),
            "x.xml: 64 voices on one staff, the limit is 8 (choose one with --voice)",
        ),
        (
            score(notes("E4/64 " * 5_000)),
            "x.xml, bar 1, beat 63½: more than 1,000 notes in one bar (split the bar; "
            "ENGRAVE_LIMITS=bar_notes=2000 allows more)",
        ),
        (
            score(
                "<forward><duration>1</duration></forward><backup><duration>1</duration></backup>" * 600 + notes("E4/1")
            ),
            "x.xml, bar 1, beat 1: more than 1,000 notes in one bar (split the bar; "
            "ENGRAVE_LIMITS=bar_notes=2000 allows more)",
        ),
        (
            score(*[notes("E4/64 " * 64)] * 100),
            "x.xml, bar 94: more than 6,000 notes and rests up to here, the limit for one passage"
            " (choose fewer bars with --bars)",
        ),
        (
            score("<forward><duration>99999999999</duration></forward>" + notes("E4/1")),
            "x.xml, bar 1, beat 1: a bar longer than 128 quarters (check its durations)",
        ),
        (
            score("<direction><direction-type><words>x</words></direction-type></direction>" * 2_001 + notes("E4/1")),
            "x.xml, bar 1: more than 2,000 directions up to here, the limit for one passage"
            " (choose fewer bars with --bars)",
        ),
        (
            score(note("E4/1", '<slur type="start"/>' * 300)),
            "x.xml, bar 1, beat 1: a note of more than 200 elements (save the score again)",
        ),
        (
            score(notes("E4/1"), others='<part id="P2"><measure/></part>' * 200),
            "x.xml: 201 parts in the score, the limit is 200 (save the one you play; "
            "ENGRAVE_LIMITS=parts=201 allows more)",
        ),
    ],
)
def test_too_much_of_anything_is_told_with_its_limit(data: bytes, said: str) -> None:
    """Voices, notes, jumps, lengths, directions, marks and parts are bounded before the parser sees them."""
    assert refused(data) == said


@pytest.mark.parametrize(
    "limit", ["bars", "notes", "bar_notes", "voices", "directions", "parts", "bar_quarters", "elements"]
)
def test_each_limit_can_be_lowered(limit: str) -> None:
    """What is read under the limits in force is refused under a limit of nothing."""
    data = score("<direction><direction-type><words>x</words></direction-type></direction>" + notes("E4/1"))
    assert shown(read(data, "x.xml")) == "E4/1"
    lowered: dict[str, Any] = {limit: 0}
    refused(data, replace(LIMITS, **lowered))


@pytest.mark.parametrize("text", ["0", "-1", "x", "", "1e9", "nan", "inf", "999999999999999999999", "1000001"])
def test_divisions_that_divide_nothing_are_told(text: str) -> None:
    """Zero, negative, no number or too many."""
    said = refused(score(notes("E4/1"), first=attributes(divisions="@").replace("@", text)))
    assert said.startswith(f"x.xml, bar 1, beat 1: divisions {text!r} is not a number from 1 to 1,000,000")


@pytest.mark.parametrize("text", ["0", "nan", "-72", "1e400", "0.0000001", "99999", "x"])
def test_a_tempo_nobody_can_play_is_not_a_tempo(text: str) -> None:
    """What is outside 5 to 1,000 quarters a minute is passed over."""
    data = score(f'<sound tempo="{text}"/>' + notes("E4/1"))
    assert read(data, "x.xml").tempo is None


def test_text_of_a_stranger_stays_on_one_line_and_short() -> None:
    """Control characters, line ends and ten thousand characters do not get into a title or a message."""
    data = score(
        notes("E4/1"),
        name="A&#10;B",
        head=f"<work><work-title>One&#13;&#10;two&#x2028;{'x' * 10_000}</work-title></work>",
        listed='<score-part id="P2"><part-name>C&#10;D</part-name></score-part>',
        others='<part id="P2"/>',
    )
    passage = read(data, "x.xml")
    assert passage.title.startswith("One two x")
    assert len(passage.title) == LIMITS.words
    assert passage.part == "A B"
    assert refused(data, part="\n".join("no" * 50)).count("\n") == 0


def test_a_tuplet_of_every_size_in_one_bar_is_read_exactly() -> None:
    """Odd ratios whose common denominator no float holds still add up."""
    inside = "".join(
        f"<note>{pitch('E4')}<type>64th</type><time-modification><actual-notes>{n}</actual-notes>"
        "<normal-notes>1</normal-notes></time-modification></note>"
        for n in range(2, 64)
    )
    passage = read(score(inside), "x.xml")
    assert len(list(passage.notes)) == 62
    assert passage.bars[0].length == sum(event.duration for event in passage.events)
