"""Damaged scores by the thousand: every one must become a passage or a ReadError, in bounded time.

`python -m tests.reading.fuzz --count 20000 --seed 1` runs the long way and prints what happened; the tests draw a few
hundred. Seeds are the files of features.py, the examples and a chorale of music21's corpus.
"""

from __future__ import annotations

import argparse
import copy
import random
import resource
import signal
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path
from xml.etree import ElementTree as ET

import music21

from engrave.model import ReadError
from engrave.model.said import Said
from engrave.reading import read
from engrave.reading.musicxml.archive import unpack
from tests.reading.features import FEATURES
from tests.reading.xml import container, packed

_EXAMPLES = Path(__file__).parents[2] / "examples"
NASTY = (
    *("", " ", "0", "-1", "1", "2", "3", "7", "63", "64", "65", "127", "128", "999999999999", "-999999999999", "1e9"),
    *("0.5", "0.333333333333", "nan", "inf", "-inf", "1/0", "++1", "١", "A", "H", "x" * 400, "\u202e", "&", "quarter"),
    *(
        "long",
        "1024th",
        "start",
        "stop",
        "continue",
        "yes",
        "no",
        "forward",
        "backward",
        "TAB",
        "percussion",
        "../../x",
    ),
)
"""texts that numbers and names are replaced by"""

_LARGEST = 1_000_000
"""bytes a damaged file may grow to"""
Damage = Callable[[random.Random, bytes], bytes]


def seeds() -> list[bytes]:
    """Sound files to damage."""
    scores = [path.read_bytes() for path in sorted(_EXAMPLES.glob("*.musicxml"))]
    chorale = unpack((Path(music21.__file__).parent / "corpus/bach/bwv66.6.mxl").read_bytes(), "bwv66.6.mxl")
    return [*FEATURES.values(), *scores, *scores, chorale, chorale]


def bytes_flipped(draw: random.Random, data: bytes) -> bytes:
    """A few bytes changed, taken out or doubled."""
    out = bytearray(data)
    for _ in range(draw.randint(1, 8)):
        place = draw.randrange(len(out) or 1)
        match draw.randrange(3):
            case 0 if out:
                out[place] = draw.randrange(256)
            case 1:
                del out[place : place + draw.randint(1, 40)]
            case _:
                out[place:place] = out[place : place + draw.randint(1, 200)]
    return bytes(out)


def cut_off(draw: random.Random, data: bytes) -> bytes:
    """The file ends too early."""
    return data[: draw.randrange(len(data) or 1)]


def _tree_damaged(draw: random.Random, data: bytes) -> bytes:
    try:
        root = ET.fromstring(data)  # noqa: S314  (our own files)
    except (ET.ParseError, LookupError, ValueError):
        return bytes_flipped(draw, data)
    for _ in range(draw.choice((1, 1, 2, 3, 6))):
        parents = [parent for parent in root.iter() if len(parent)]
        if not parents:
            break
        parent = draw.choice(parents)
        child = draw.choice(list(parent))
        match draw.randrange(6):
            case 0:
                parent.remove(child)
            case 1:
                parent.insert(draw.randrange(len(parent) + 1), copy.deepcopy(child))
            case 2:
                parent.remove(child)
                draw.choice(list(root.iter())).append(child)
            case 3:
                leaf = draw.choice(list(root.iter()))
                leaf.text = draw.choice(NASTY)
            case 4:
                owner = draw.choice([e for e in root.iter() if e.attrib] or [root])
                for key in list(owner.attrib):
                    owner.attrib[key] = draw.choice(NASTY)
            case _:
                parent.tag, child.tag = child.tag, parent.tag
    return ET.tostring(root)


def tree_damaged(draw: random.Random, data: bytes) -> bytes:
    """Elements taken out, doubled, moved, renamed or given nasty texts; still XML."""
    made = _tree_damaged(draw, data)
    return made if len(made) < _LARGEST else data


def repacked(draw: random.Random, data: bytes) -> bytes:
    """A compressed file with a damaged score, or a damaged compressed file."""
    made = packed({"META-INF/container.xml": container(draw.choice(("s.xml", *NASTY[:3], "../s.xml"))), "s.xml": data})
    return bytes_flipped(draw, made) if draw.random() < 0.7 else made


def lines_mixed(draw: random.Random, data: bytes) -> bytes:
    """A text whose lines or words are doubled, moved, taken out or replaced by nasty ones."""
    lines = data.split(b"\n")
    for _ in range(draw.randint(1, 4)):
        if not lines:
            break
        place = draw.randrange(len(lines))
        words = lines[place].split(b"\t")
        words[draw.randrange(len(words))] = draw.choice(NASTY).encode()
        match draw.randrange(4):
            case 0:
                lines[place : place + 1] = []
            case 1:
                lines.insert(place, draw.choice(lines or [b""]))
            case 2:
                lines[place : place + 1] = [b"\t".join(words)]
            case _:
                draw.shuffle(lines)
    return b"\n".join(lines)


def other_seeds(kind: str) -> list[bytes]:
    """Sound files of another kind than MusicXML: midi, kern, mei, tablature or abc."""
    house = Path(music21.__file__).parent
    if kind == "midi":
        names = ("01", "05", "06", "12", "13", "14", "15", "16", "17", "19")
        return [(house / f"midi/testPrimitive/test{name}.mid").read_bytes() for name in names]
    if kind == "mei":
        whole = (house / "mei/test/notes_in_utf8.mei").read_bytes()
        return [whole, (house / "mei/test/test_file.mei").read_bytes()]
    if kind == "kern":
        return [_KERN, _KERN.replace(b"4c", b"8.c\t")]
    if kind == "abc":
        return [_ABC]
    return [(_EXAMPLES / "slow-barge.tab").read_bytes()]


_KERN = b"""**kern\t**kern
*clefF4\t*clefG2
*k[f#]\t*k[f#]
*M3/4\t*M3/4
=1\t=1
2.GG\t4g
.\t(8a
.\t8b)
.\t[4cc
=2\t=2
*^\t*
4D\t4r\t4cc]
4A\t2F#\t6dd
.\t.\t6cc
.\t.\t6b
4d\t.\t4a;
*v\t*v\t*
==\t==
*-\t*-
"""
"""two spines, a split, ties, a slur and a triplet; our own"""
_ABC = b"X:1\nT:Walk\nM:3/4\nL:1/8\nQ:1/4=80\nK:Gm\n|: G2 (3ABc d2 | [GB]4 {a}g2 :|\n!trill!c2 d>e ^f2 | g6 |]\n"
OTHERS = ("midi", "kern", "mei", "tablature", "abc")
"""kinds of files besides MusicXML"""


def other_damaged(draw: random.Random, kind: str, files: list[bytes]) -> bytes:
    """One damaged file of another kind."""
    data = draw.choice(files)
    ways: tuple[Damage, ...] = (bytes_flipped, bytes_flipped, cut_off)
    ways += {"midi": (), "mei": (tree_damaged, tree_damaged)}.get(kind, (lines_mixed, lines_mixed))
    for _ in range(draw.choice((1, 1, 2))):
        data = draw.choice(ways)(draw, data)
    return data


DAMAGES: tuple[Damage, ...] = (*[tree_damaged] * 7, bytes_flipped, cut_off, repacked)
ASKED: tuple[dict[str, str], ...] = (
    *({}, {}, {}, {"bars": "1"}, {"bars": "1-2"}, {"voice": "1"}, {"voice": "2"}, {"part": "1"}, {"part": "Guitar"}),
    *({"part": "P1/2"}, {"bars": "0"}),
)


def damaged(draw: random.Random, files: list[bytes]) -> tuple[bytes, dict[str, str]]:
    """One damaged file and what is asked of it."""
    data = draw.choice(files)
    for _ in range(draw.choice((1, 1, 1, 2))):
        data = draw.choice(DAMAGES)(draw, data)
    return data, dict(draw.choice(ASKED))


def outcome(data: bytes, asked: dict[str, str], name: str = "x.xml") -> str:
    """What became of a file: "read" or "refused"; anything else is a fault of ours and is raised."""
    try:
        passage = read(data, name, **asked)  # type: ignore[arg-type]
    except ReadError as error:
        faults = [str(fault) for fault in error.faults]
    else:
        assert any(event.notes for event in passage.events)
        assert all(isinstance(notice.text, Said) for notice in passage.notices)
        return "read"
    assert all("\n" not in fault and fault.startswith(name) for fault in faults), faults
    return "refused"


class TooLongError(BaseException):
    """No Exception, which what is tried might take for a fault of the file."""


def _stopped(signum: int, frame: object) -> None:
    raise TooLongError(f"signal {signum}: more than the seconds allowed, at {frame}")


def try_all(tries: Iterable[tuple[str, Callable[[], str]]], seconds: int) -> None:
    """Run each of these (name, trial) within so many seconds of the processor's time, and print what came of them."""
    signal.signal(signal.SIGPROF, _stopped)
    said: Counter[str] = Counter()
    slowest = (0.0, "")
    for name, trial in tries:
        started = time.process_time()
        signal.setitimer(signal.ITIMER_PROF, seconds)
        try:
            said[trial()] += 1
        except (Exception, TooLongError) as error:
            traceback.print_exc(limit=-4)
            said[f"{type(error).__name__} in {name}"] += 1
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
        slowest = max(slowest, (time.process_time() - started, name))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(  # noqa: T201
        f"{said.total()} inputs: {dict(said)}; slowest {slowest[0]:.2f} s ({slowest[1]}); peak memory {memory} MB"
    )


def _tries(count: int, seed: int, kind: str) -> Iterator[tuple[str, Callable[[], str]]]:
    files = other_seeds(kind) if kind else seeds()
    for number in range(count):
        draw = random.Random(f"{seed}/{number}")
        data, asked = (other_damaged(draw, kind, files), {}) if kind else damaged(draw, files)
        yield f"{seed}/{number}", partial(outcome, data, asked, "x" if kind else "x.xml")


def main() -> None:
    """The long run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=int, default=20, help="limit for one file, of the processor's time")
    parser.add_argument("--kind", choices=OTHERS, default="", help="another kind of files than MusicXML")
    asked = parser.parse_args()
    try_all(_tries(asked.count, asked.seed, asked.kind), asked.seconds)


if __name__ == "__main__":
    main()
