"""Numbers nobody can mean, through the command line: one line for each fault and exit 2, or the right music."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest

from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, find_instrument
from engrave.model import UnplayableError
from engrave.reading import read
from engrave.reading.limits import LIMITS
from tests.reading.xml import attributes, note, notes, score, technical
from tests.test_cli import run

_SOUND = notes("E4/4 F4/4 G4/4 A4/4")
_BACK = "<backup><duration>96</duration></backup>"


def _changed(old: str, new: str) -> bytes:
    assert old in _SOUND
    return score(_SOUND.replace(old, new))


def _tuplet(actual: str, normal: str) -> bytes:
    figures = f"<actual-notes>{actual}</actual-notes><normal-notes>{normal}</normal-notes>"
    return _changed("<type>quarter</type>", f"<type>quarter</type><time-modification>{figures}</time-modification>")


def _first(**changed: str | int) -> bytes:
    return score(_SOUND, first=attributes(**changed))  # type: ignore[arg-type]


_SAVE = "(save the score again)"
_METRE = "cannot be printed (write upper figures 1 to 64 over 1 2 4 8 16 32 or 64)"
REFUSED = {
    "divisions 0": (_first(divisions="0"), f"bar 1, beat 1: divisions '0' is not a number from 1 to 1,000,000 {_SAVE}"),
    "a negative duration": (
        _changed("<duration>24<", "<duration>-24<"),
        f"bar 1, beat 1: a note has a duration of '-24', not a number from 0 up {_SAVE}",
    ),
    "a duration that is no number": (
        _changed("<duration>24<", "<duration>NaN<"),
        f"bar 1, beat 1: a note has a duration of 'NaN', not a number from 0 up {_SAVE}",
    ),
    "a duration beyond all bars": (
        _changed("<duration>24<", "<duration>99999999999999999999<"),
        f"bar 1, beat 1: a note has a duration of '99999999999999999999', not a number from 0 up {_SAVE}",
    ),
    "a tuplet of none": (
        _tuplet("0", "0"),
        "bar 1, beat 1: a tuplet of 0:0 is outside 1 to 64 (write the tuplet anew)",
    ),
    "a tuplet in no time": (
        _tuplet("3", "0"),
        "bar 1, beat 1: a tuplet of 3:0 is outside 1 to 64 (write the tuplet anew)",
    ),
    "an octave of 99": (
        _changed("<octave>4<", "<octave>99<"),
        f"bar 1, beat 1: a pitch of 'E 99' is not a step A to G with an octave {_SAVE}",
    ),
    "a pitch outside MIDI": (
        _changed("<octave>4<", "<octave>9<"),
        "bar 1, beat 4: the pitch A9 is outside what MIDI counts (0 to 127) (check its <octave>)",
    ),
    "a pitch altered by 40": (
        _changed("</step>", "</step><alter>40</alter>"),
        "bar 1, beat 1: E4 is altered by 40 semitones, the limit is 3 (check its <alter>)",
    ),
    "a metre of nothing": (_first(metre="0/4"), f"bar 1, beat 1: a metre of '0/4' {_METRE}"),
    "a metre in noughts": (_first(metre="4/0"), f"bar 1, beat 1: a metre of '4/0' {_METRE}"),
    "a metre without end": (_first(metre="1000000000/4"), f"bar 1, beat 1: a metre of '1000000000/4' {_METRE}"),
    "64 voices": (
        score("".join(notes("E4/1", voice=str(voice)) + _BACK for voice in range(64))),
        "64 voices on one staff, the limit is 8 (choose one with --voice)",
    ),
    "5,000 notes in a bar": (
        score(notes("E4/64 " * 5_000)),
        "bar 1, beat 63½: more than 1,000 notes in one bar (split the bar; ENGRAVE_LIMITS=bar_notes=2000 allows more)",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_no_score_can_mean_is_told_with_its_place(case: str, tmp_path: Path) -> None:
    """The first fault is named with bar, beat, value and limit; nothing is written and nothing else is said."""
    data, said = REFUSED[case]
    (tmp_path / "x.musicxml").write_bytes(data)
    done = run("book", str(tmp_path / "x.musicxml"), "-o", str(tmp_path / "out.pdf"))
    mark = ", " if said.startswith("bar") else ": "
    assert (done.exit_code, done.stdout) == (2, "")
    lines = done.stderr.splitlines()
    assert lines[0] == f"engrave: x.musicxml{mark}{said}"
    assert len(lines) <= LIMITS.faults
    assert all(line.startswith("engrave: x.musicxml") for line in lines)
    assert not (tmp_path / "out.pdf").exists()


PASSED_OVER = {
    "tempo 0": score('<sound tempo="0"/>' + _SOUND),
    "tempo NaN": score('<sound tempo="NaN"/>' + _SOUND),
    "tempo 1e999": score('<sound tempo="1e999"/>' + _SOUND),
    "a metronome at 0": score(
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>0</per-minute></metronome>"
        "</direction-type></direction>" + _SOUND
    ),
    "key 99": _first(fifths=99),
    "capo 99": _first(more="<staff-details><capo>99</capo></staff-details>"),
    "a billion lines": _first(more="<staff-details><staff-lines>1000000000</staff-lines></staff-details>"),
    "fret 10^9": score(note("E4/4", technical("<string>1</string><fret>1000000000</fret>")) + notes("F4/4 G4/4 A4/4")),
    "string 0": score(note("E4/4", technical("<string>0</string><fret>0</fret>")) + notes("F4/4 G4/4 A4/4")),
    "finger 99": score(note("E4/4", technical("<fingering>99</fingering>")) + notes("F4/4 G4/4 A4/4")),
    "repeated 10^9 times": score(
        _SOUND + '<barline location="right"><repeat direction="backward" times="1000000000"/></barline>'
    ),
    "a rest of 10^9 bars": score(
        "<attributes><measure-style><multiple-rest>1000000000</multiple-rest></measure-style></attributes>" + _SOUND
    ),
}


@pytest.mark.parametrize("case", PASSED_OVER)
def test_an_odd_mark_does_not_hurt_the_music(case: str, tmp_path: Path) -> None:
    """Marks that cannot be meant leave four notes that are played as if they were not there."""
    path = tmp_path / "x.musicxml"
    rows = []
    for data in (PASSED_OVER[case], score(_SOUND)):
        path.write_bytes(data)
        done = run("survey", str(path), "--json")
        assert done.exit_code == 0, done.stderr
        rows.append(json.loads(done.stdout)["fingerings"][0]["placements"])
    odd, plain = ([(row["string"], row["fret"]) for row in placed] for placed in rows)
    assert len(odd) == 4
    assert odd == plain


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("1-1000000000", "bar '1000000000' is not in the piece (the piece has bars 1 to 2)"),
        ("1-" + "9" * 5_000, "bar '99999999999999999999999999999…' is not in the piece (the piece has bars 1 to 2)"),
        ("-1", "bars '-1' are not a range (write bars as 5-8, or 5 for one bar; the piece has bars 1 to 2)"),
        ("2-1", "bars 2-1 end before they begin (write 1-2)"),
        ("nan", "bars 'nan' are not a range (write bars as 5-8, or 5 for one bar; the piece has bars 1 to 2)"),
    ],
)
def test_bars_that_are_not_there(asked: str, said: str, tmp_path: Path) -> None:
    """However many bars are asked for, only those of the piece are looked at."""
    (tmp_path / "x.musicxml").write_bytes(score(_SOUND, _SOUND))
    done = run("book", str(tmp_path / "x.musicxml"), "--bars", asked, "-o", str(tmp_path / "out.pdf"))
    assert (done.exit_code, done.stdout, done.stderr) == (2, "", f"engrave: x.musicxml: {said}\n")


@pytest.mark.parametrize(
    "line",
    [
        *("[player]\ntempo = nan", "[player]\ntempo = 0", "[player]\nminutes = -1", "[player]\nneck = inf"),
        *('[player]\nhand = "0 mm"', "[player]\nreach = 0", "[instrument]\nscale = 0", "[instrument]\ncapo = 99"),
        *("[book]\nstaff = 0", "[book]\nstaff = nan", "[book]\npages = 1000000000", "[book]\ntimes = -1"),
        *("[book]\ntempo = [0]", '[book]\ntempo = "60-1000000000 by 0"', f"[book]\ntempo = {[60] * 10_000}"),
        *(f"[book]\npages = {'9' * 5_000}", "[[study]]\ntimes = 1000000000", "[[study]]\ntempo = [nan]"),
        "[[study]]\n" * 501,
    ],
    ids=lambda line: re.sub(r"\s+", " ", line)[:40],
)
def test_a_plan_that_asks_for_nothing_or_too_much(line: str, tmp_path: Path) -> None:
    """Every number of a plan has its range; outside it the line of the plan is named."""
    (tmp_path / "p.toml").write_text(line + "\n", encoding="utf-8")
    done = run("survey", "--plan", str(tmp_path / "p.toml"))
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert re.match(r"engrave: .*p\.toml(, line \d+: |: is not TOML: a number has too many digits)", done.stderr), (
        done.stderr
    )


def test_a_hand_that_reaches_nowhere() -> None:
    """A reach of 0 mm is no hand; with next to none the fingers of a chord share a fret, or the chord is refused."""
    pairs = find_hand("standard").practical
    with pytest.raises(ValueError, match="reach must be above 0"):
        replace(find_hand("standard"), comfortable=MappingProxyType(dict.fromkeys(pairs, 0.0)))
    hardly = MappingProxyType(dict.fromkeys(pairs, 0.001))
    hand = replace(find_hand("standard"), comfortable=hardly, practical=hardly)
    line = fret(read(score(notes("E4/4 F4/4 G4/4 A4/4")), "x.xml"), find_instrument("standard"), hand)
    assert all(note.placement for note in line.passage.notes)
    line = fret(read(score(notes("E2+B2+E3+A3/1")), "x.xml"), find_instrument("standard"), hand)
    frets = {note.placement.fret for note in line.passage.notes if note.placement and note.placement.fret}
    assert len(frets) == 1
    with pytest.raises(UnplayableError, match=r"^x.xml, bar 1, beat 1: "):
        fret(read(score(notes("F2+C3+A3+D#4/1")), "x.xml"), find_instrument("standard"), hand)
