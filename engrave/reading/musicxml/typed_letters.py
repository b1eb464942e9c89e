"""Plucking letters and string numbers that were typed as text, because a program has no better place for them.

Rules: where every syllable under the notes is one of p i m a c, lyrics are plucking letters; where two or more of p i m
a are typed as single words, they are plucking letters of the notes they stand over (p of the lowest, the others of the
highest); a circled digit typed as words is the string of a single note.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from xml.etree.ElementTree import Element

from engrave.model.said import say
from engrave.reading.musicxml.notations import HeadMarks, plucked
from engrave.reading.musicxml.timed_notes import NoteHead, TimedNote, Walked
from engrave.reading.tally import Tally

_LETTERS = ("p", "i", "m", "a")
_CIRCLED = "①②③④⑤⑥⑦⑧⑨"
_WORDS = say("letters typed as words are read as plucking letters")
_LYRICS = say("letters typed as lyrics are read as plucking letters")


def letters_as_text(
    bars: Sequence[Walked], staff: int, marks: dict[str, HeadMarks], tally: Tally
) -> tuple[dict[str, HeadMarks], frozenset[Element]]:
    """Marks enriched by letters typed as lyrics or words, and the elements that are thereby dealt with.

    `marks` are those of the heads that are read.
    """
    out = dict(marks)
    used = _lyrics(bars, staff, out, tally)
    words = [(bar, at, found, _word(found)) for bar in bars for at, found in bar.directions if _word(found)]
    letters = {text for _, _, _, text in words} & {*_LETTERS}
    for bar, at, found, text in words:
        here = [item for item in _items(bar, staff) if item.onset == at and not item.grace]
        if not here or (text in _LETTERS and len(letters) < 2):
            continue
        item = here[-1] if text == "p" else here[0]
        head = _owner(item, text)
        circled = text in _CIRCLED
        if circled and (len(item.heads) > 1 or (head.id in out and out[head.id].given.string is not None)):
            continue
        used.add(found)
        if head.id in out and circled:
            given = replace(out[head.id].given, string=_CIRCLED.index(text) + 1)
            out[head.id] = replace(out[head.id], given=given)
        elif head.id in out:
            out[head.id] = plucked(out[head.id], text)
            tally.add(_WORDS, bar.label)
    return out, frozenset(used)


def _lyrics(bars: Sequence[Walked], staff: int, out: dict[str, HeadMarks], tally: Tally) -> set[Element]:
    """Puts letters typed as lyrics into `out`; the lyrics that are thereby dealt with."""
    lyrics = [(bar, i, found) for bar in bars for i in _items(bar, staff) for found in i.element.findall("lyric")]
    syllables = {_syllable(found) for _, _, found in lyrics}
    if len(syllables) < 2 or not syllables <= {*_LETTERS, "c"}:
        return set()
    for bar, item, found in lyrics:
        head = _owner(item, _syllable(found))
        if head.id in out:
            out[head.id] = plucked(out[head.id], _syllable(found))
            tally.add(_LYRICS, bar.label)
    return {found for _, _, found in lyrics}


def _items(bar: Walked, staff: int) -> list[TimedNote]:
    """Notes and chords of a staff, read or not: what stands over a note of another voice is that voice's."""
    return [item for item in bar.items if item.staff == staff and item.heads]


def _syllable(lyric: Element) -> str:
    return (lyric.findtext("text") or "").strip().strip(".").casefold()


def _word(found: Element) -> str:
    """The one letter or circled digit a <direction> consists of, else empty."""
    words = [(part.text or "").strip() for part in found.iter("words")]
    parts = [part for kind in found.findall("direction-type") for part in kind]
    if len(words) != 1 or len(parts) != 1:
        return ""
    return words[0] if words[0] in _LETTERS or (len(words[0]) == 1 and words[0] in _CIRCLED) else ""


def _owner(item: TimedNote, letter: str) -> NoteHead:
    heads = sorted(item.heads, key=lambda head: head.pitch.midi)
    return heads[0] if letter == "p" else heads[-1]
