"""How far our plucking letters agree with a file of printed ones, as JSON.

    python tests/benchmarks/plucking_agreement.py FILE

Rows are those of fingering_agreement.py, with `pluck` letters. Seen by the program: which notes begin together, in
order, their pitches, and the strings that are printed; other strings are worked out. Reported, as shares of the letters
the edition prints: ours; i and m in turn with p on the basses; how often the finger is right but for i and m changed
over a whole row, which alternation leaves open; and each by source. Rows that cannot be played are counted.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from engrave.axes import vary
from engrave.fretting.fingered import fret
from engrave.instruments import find_hand, tuned
from engrave.model import (
    Bar,
    Event,
    Given,
    Instrument,
    Key,
    Metre,
    Note,
    Passage,
    Pitch,
    Study,
    UnplayableError,
    Value,
    Variation,
)
from engrave.model.spelling import spell

Row = dict[str, Any]
_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_BAR = 4
BASS = 4
"""the highest bass string"""


def passage_of(row: Row) -> tuple[Passage, list[list[int]]]:
    """The notes of a row as one quarter for each onset, and the index of each note in the row, onset by onset.

    Letters depend on what is struck together and in which order; written values would have to be guessed.
    """
    onsets = sorted({note["onset"] for note in row["notes"]})
    metre = Metre(beats=(_BAR,), unit=4)
    bars: list[Bar] = []
    events: list[Event] = []
    order: list[list[int]] = []
    for number, onset in enumerate(onsets):
        if number % _BAR == 0:
            left = min(_BAR, len(onsets) - number)
            label = str(len(bars) + 1)
            bars.append(Bar(label=label, onset=Fraction(number), length=Fraction(left), metre=metre))
        seen: dict[int, int] = {}
        for index, note in enumerate(row["notes"]):
            if note["onset"] == onset:
                seen.setdefault(note["midi"], index)
        here = [seen[midi] for midi in sorted(seen)]
        notes = tuple(_note(row["notes"][index], index) for index in here)
        events.append(
            Event(
                id=f"e{number}",
                bar=len(bars) - 1,
                voice=1,
                onset=Fraction(number),
                duration=Fraction(1),
                value=Value(kind=4),
                notes=notes,
            )
        )
        order.append(here)
    return Passage(bars=tuple(bars), events=tuple(events)), order


def _note(note: Row, index: int) -> Note:
    string = note.get("string") or note.get("string_inferred")
    return Note(id=f"n{index}", pitch=spell(note["midi"], Key()), given=Given(string=string))


def instrument_of(row: Row) -> Instrument:
    """The instrument a row is played on."""
    names = [f"{_NAMES[midi % 12]}{midi // 12 - 1}" for midi in reversed(row["tuning"])]
    return tuned(tuple(Pitch.parse(name) for name in names))


def fingered(row: Row) -> Variation | None:
    """A row in both hands; None where it cannot be played."""
    music, _ = passage_of(row)
    instrument, hand = instrument_of(row), find_hand("standard")
    try:
        line = fret(music, instrument, hand)
    except UnplayableError:
        return None
    made = vary(line, Study())
    return made if isinstance(made, Variation) else None


def ours(made: Variation) -> dict[int, str]:
    """Index of each note → our letter."""
    return {int(n.id[1:]): n.stroke.finger for n in made.passage.notes if n.stroke}


def plain(made: Variation) -> dict[int, str]:
    """The same by rote: p on the basses, i and m in turn above, chords p i m a from the lowest note up."""
    found: dict[int, str] = {}
    turn = 0
    for event in made.passage.events:
        placed = sorted(
            (n for n in event.notes if n.placement), key=lambda n: -(n.placement.string if n.placement else 0)
        )
        if len(placed) > 1:
            found |= {int(n.id[1:]): f for n, f in zip(placed, "pimaaa", strict=False)}
        for note in placed if len(placed) == 1 else ():
            low = note.placement is not None and note.placement.string >= BASS
            found[int(note.id[1:])] = "p" if low else "im"[turn]
            turn += not low
            turn %= 2
    return found


def counted(row: Row, letters: dict[int, str]) -> Counter[str]:
    """Printed letters, those that agree, and those that agree when i and m may change places in the whole row."""
    counts: Counter[str] = Counter()
    other = {"i": "m", "m": "i"}
    straight = turned = 0
    for index, note in enumerate(row["notes"]):
        if note.get("pluck") and index in letters:
            printed = note["pluck"].replace("x", "c")
            counts["letters"] += 1
            straight += printed == letters[index]
            turned += printed == other.get(letters[index], letters[index])
    counts["agree"] = straight
    counts["agree or changed over"] = max(straight, turned)
    return counts


def shares(counts: Counter[str]) -> dict[str, float]:
    """Counts as shares of the printed letters."""
    whole = max(1, counts["letters"])
    return {"letters": counts["letters"], **{k: round(v / whole, 3) for k, v in counts.items() if k != "letters"}}


def report(rows: Sequence[Row]) -> dict[str, Any]:
    """The whole report of some rows."""
    total: Counter[str] = Counter()
    rote: Counter[str] = Counter()
    by: dict[str, Counter[str]] = {}
    skipped = 0
    for row in rows:
        if not any(note.get("pluck") for note in row["notes"]):
            continue
        made = fingered(row)
        if made is None:
            skipped += 1
            continue
        mine = counted(row, ours(made))
        total += mine
        rote += counted(row, plain(made))
        by.setdefault(str(row.get("piece") or row.get("source")), Counter()).update(mine)
    return {
        "ours": shares(total),
        "i-m, p on the basses": shares(rote),
        "rows that cannot be played": skipped,
        "by piece": {name: shares(counts) for name, counts in sorted(by.items())},
    }


def main() -> None:
    """Print the report of a file."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("file", type=Path)
    path = parser.parse_args().file
    rows = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]
    print(json.dumps(report(rows), ensure_ascii=False, indent=1))


if __name__ == "__main__":
    main()
