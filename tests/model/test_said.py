"""Sentences as values."""

from __future__ import annotations

import copy
import pickle
from datetime import date, timedelta

import pytest
from babel.dates import format_date, get_day_names

from engrave.languages import LETTER, letters_plain, told
from engrave.model.said import Said, beginning, say, say_count, say_day, strung
from engrave.model.wording import either, listed, sentence

GERMAN = {
    "finger {finger} leaves": "Finger <{finger}> geht",
    "{n} note": "{n} Note",
    "{n} notes": "{n} Noten",
    "{front} and {last}": "{front} und {last}",
    "a": "A",
}


class Words:
    """A small catalogue."""

    def gettext(self, message: str) -> str:
        """The German sentence, or the English one."""
        return GERMAN.get(message, message)

    def ngettext(self, one: str, many: str, number: int) -> str:
        """The German sentence for a number."""
        return self.gettext(one if number == 1 else many)


@pytest.fixture
def german(monkeypatch: pytest.MonkeyPatch) -> None:
    """German has the words above."""
    monkeypatch.setattr("engrave.languages.translations", lambda _: Words())


def test_a_sentence_is_its_english() -> None:
    """It compares, sorts and finds as the English text does, and survives copying and pickling with what made it."""
    said = say("finger {finger} leaves", finger="a")
    assert said == "finger a leaves"
    found: dict[str, int] = {said: 1}
    assert found["finger a leaves"] == 1
    for other in (copy.copy(said), copy.deepcopy(said), pickle.loads(pickle.dumps(said))):  # noqa: S301 - our own
        assert (other, other.message, dict(other.places)) == (said, said.message, dict(said.places))


def test_a_missing_place_is_a_fault_of_ours() -> None:
    """A sentence whose places are not all given cannot be made."""
    with pytest.raises(KeyError):
        say("finger {finger} leaves", digit=1)


@pytest.mark.usefixtures("german")
def test_what_stands_in_places_is_told_too() -> None:
    """Sentences within sentences, lists and counts are in the language; what a user wrote stays as it is."""
    notes = say_count("{n} note", "{n} notes", 2)
    assert told(listed([say_count("{n} note", "{n} notes", 1), notes]), "de") == "1 Note und 2 Noten"
    assert told(say("“{title}”", title="{n} note"), "de") == "“{n} note”"
    assert told("{n} note", "de") == "{n} note"
    assert told(notes, "en") == "2 notes"
    assert not isinstance(told(notes, "en"), Said)


@pytest.mark.usefixtures("german")
def test_marked_letters_are_carried() -> None:
    """A letter that the catalogue marks can be told from a word, and the marks taken off."""
    found = told(sentence(say("finger {finger} leaves", finger="a")), "de")
    assert found == f"Finger {LETTER.format('a')} geht"
    assert letters_plain(found) == "Finger a geht"


@pytest.mark.usefixtures("german")
def test_capitals_and_strings_of_sentences() -> None:
    """A capital is set in whatever language; sentences side by side are told each for itself; nothing is no part."""
    assert beginning(say("x {a}", a=1)) == "X 1"
    assert told(beginning(say("a")), "de") == "A"
    both = strung([say("{n} notes", n=4), "", "Ann’s {braces}"], " · ")
    assert both == "4 notes · Ann’s {braces}"
    assert told(both, "de") == "4 Noten · Ann’s {braces}"
    assert strung([]) == ""
    assert either(["x", "y", "z"]) == "x, y or z"


def test_english_days_are_those_of_the_unicode_data() -> None:
    """Names of days and months are those that Babel has from CLDR for British English."""
    for number in range(0, 366, 5):
        day = date(2027, 1, 1) + timedelta(days=number)
        words = format_date(day, "EEEE d MMMM y", locale="en_GB")
        assert say_day(day.weekday(), day) == words
        # CLDR cuts September to Sept; a narrow column has three letters
        assert say_day(day.weekday(), day, short=True) == format_date(day, "EEE d MMM", locale="en_GB").replace(
            "Sept", "Sep"
        )
    assert {n: say_day(n) for n in range(7)} == dict(get_day_names("wide", locale="en_GB"))


@pytest.mark.parametrize(
    ("language", "full", "short", "name"),
    [
        ("de", "Montag, 4. Januar 2027", "Mo., 4. Jan.", "Montag"),
        ("es", "lunes, 4 de enero de 2027", "lun, 4 ene", "lunes"),
        ("fr", "lundi 4 janvier 2027", "lun. 4 janv.", "lundi"),
        ("it", "lunedì 4 gennaio 2027", "lun 4 gen", "lunedì"),
    ],
)
def test_days_are_said_as_the_language_says_them(language: str, full: str, short: str, name: str) -> None:
    """Days and dates are in the order and with the signs of each language (as CLDR has them, compared by hand)."""
    day = date(2027, 1, 4)
    assert told(say_day(0, day), language) == full
    assert told(say_day(0, day, short=True), language) == short
    assert told(say_day(0), language) == name
