"""Passages proposed in a long piece."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from engrave.cli import main
from engrave.model import Plan
from engrave.proposing import hardest, phrases, proposals
from engrave.reading import read
from tests.reading.xml import notes, score

_EASY, _HARD = "E4/4 F4/4 G4/4 E4/4", "F4/8 A4/8 C5/8 F5/8 A5/8 F5/8 C5/8 A4/8"
_PIECE = score(*[notes(_HARD if 40 <= bar < 48 else _EASY) for bar in range(72)])


def test_phrases_hold_every_bar_once() -> None:
    """They follow each other from the first bar to the last."""
    passage = read(_PIECE, "piece.musicxml")
    found = phrases(passage)
    assert [bar for start, stop in found for bar in range(start, stop + 1)] == list(range(72))


def test_the_hardest_phrase_is_the_one_made_hard() -> None:
    """Eighths across the neck among quarters in open position come first, and are what `hardest` takes."""
    passage = read(_PIECE, "piece.musicxml")
    assert proposals(passage, Plan())[0].bars == "41-48"
    assert hardest(passage, Plan()).cut == "41-48"


def test_a_piece_too_long_is_told_with_passages_to_study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The refusal names phrases, each with its command; nothing is written."""
    monkeypatch.chdir(tmp_path)
    Path("piece.musicxml").write_bytes(_PIECE)
    done = CliRunner().invoke(main, ["book", "piece.musicxml"])
    assert done.exit_code == 2
    assert "72 bars, the limit for studies is 64" in done.stderr
    assert "(engrave book piece.musicxml --bars 41-48)" in done.stderr.splitlines()[1]
    assert len(done.stderr.splitlines()) == 6
    assert not list(tmp_path.glob("*.pdf"))


def test_the_command_proposed_asks_for_the_same_part(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of several parts it is told which was read; the part that was asked for, and a name with a blank, go along."""
    monkeypatch.chdir(tmp_path)
    twice = _PIECE.replace(b"</part-list>", b'<score-part id="P2"><part-name>Oboe</part-name></score-part></part-list>')
    part = twice[twice.index(b"<part id") : twice.index(b"</part>") + 7]
    twice = twice.replace(
        b"</score-partwise>", re.sub(rb'<part id="[^"]*"', b'<part id="P2"', part) + b"</score-partwise>"
    )
    Path("two parts.musicxml").write_bytes(twice)
    said = CliRunner().invoke(main, ["handout", "two parts.musicxml", "--part", "Oboe"]).stderr.splitlines()
    assert "part read: Oboe; left out: " in said[1]
    assert "(engrave handout 'two parts.musicxml' --part Oboe --bars 41-48)" in said[2]
