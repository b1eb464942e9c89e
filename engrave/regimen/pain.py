"""What a log's notes say of pain, in the language of the pages or in English: whether something hurts, and where.

The words are messages of the catalogues, lists parted by commas, so that a translator gives those of the language. A
word that ends in * stands for all that begin with it.
"""

from __future__ import annotations

import re

from engrave.languages import told
from engrave.model.said import say

_PAIN = (
    # for the translator: words by which a player's note says that playing hurts, parted by commas, in all their forms;
    # * stands for any ending. Leave out what also means "badly" or "times".
    say("hurt, hurts, hurting, pain, pains, painful, sore, ache, aches, aching, numb, numbness, tingl*, cramp, cramps")
)
_NO_PAIN = (
    # for the translator: words that make the contrary of a note such as "no pain", parted by commas
    say("no, not, without, never, nothing")
)
_BOTH_HANDS = (
    # for the translator: ways to call the finger, parted by commas, as a player may write them in a note
    (say("index finger, forefinger"), ("i", "1")),
    # for the translator: ways to call the finger, parted by commas, as a player may write them in a note
    (say("middle finger, long finger"), ("m", "2")),
    # for the translator: ways to call the finger, parted by commas, as a player may write them in a note
    (say("ring finger, ringfinger"), ("a", "3")),
    # for the translator: ways to call the finger, parted by commas, as a player may write them in a note
    (say("little finger, pinky"), ("c", "4")),
    # for the translator: ways to call the finger, parted by commas, as a player may write them in a note
    (say("thumb, thumbs"), ("p",)),
    # for the translator: ways to call a finger of the fretting hand, parted by commas
    (say("finger 1, first finger"), ("1",)),
    # for the translator: ways to call a finger of the fretting hand, parted by commas
    (say("finger 2, second finger"), ("2",)),
    # for the translator: ways to call a finger of the fretting hand, parted by commas
    (say("finger 3, third finger"), ("3",)),
    # for the translator: ways to call a finger of the fretting hand, parted by commas
    (say("finger 4, fourth finger"), ("4",)),
)
"""ways to call a finger → the fingers they can mean, of either hand"""


def hurts(note: str, language: str = "en") -> bool:
    """Whether a note says that something hurts."""
    return _says(note, _PAIN, language) and not _says(note, _NO_PAIN, language)


def hurting(note: str, language: str = "en") -> tuple[str, ...]:
    """The fingers that a note of pain names, of both hands where it does not say which; empty where it names none."""
    found = [finger for words, fingers in _BOTH_HANDS if _says(note, words, language) for finger in fingers]
    return tuple(dict.fromkeys(found))


def _says(note: str, words: str, language: str) -> bool:
    """Whether a note holds one of these words, in English or in the language."""
    listed = {word for text in (str(words), told(words, language)) for word in text.casefold().split(",")}
    forms = "|".join(re.escape(word.strip()).replace(r"\*", r"\w*") for word in sorted(listed) if word.strip())
    return re.search(rf"\b(?:{forms})\b", " ".join(note.split()).casefold()) is not None
