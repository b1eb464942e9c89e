"""What is printed can be said in every language there is."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from engrave import resources
from engrave.languages import LETTER, LOCALES, letters_plain, told, translations
from engrave.model import LANGUAGES, Pitch
from engrave.model.said import say, say_count
from engrave.model.wording import either, listed
from tests.languages import catalogue
from tests.languages.untold import bracketed, described, outside

OTHERS = [language for language in LANGUAGES if language != "en"]
PLACE = re.compile(r"\{\w+\}|%\(\w+\)s")
MARK = re.compile(r"<([a-z]{1,2}|\{\w+\})>")


def translated(language: str) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Messages of a language's file, English and translated, each with all its forms."""
    for message in catalogue.catalogue(language):
        if message.id:
            english, said = message.id, message.string
            yield (
                (english,) if isinstance(english, str) else tuple(english),
                (said,) if isinstance(said, str) else tuple(said or ()),
            )


def test_the_catalogues_hold_what_the_code_says() -> None:
    """`messages.pot` and each language's file list the sentences that code and templates have now.

    If this fails: python -m tests.languages.catalogue
    """
    found = catalogue.messages()
    assert resources.text("shared/languages/messages.pot") == catalogue.template_text(found)
    for language in OTHERS:
        assert resources.text(f"shared/languages/{language}.po") == catalogue.updated(language, found), language


@pytest.mark.parametrize("language", OTHERS)
def test_nothing_is_left_untranslated(language: str) -> None:
    """Every sentence has all its forms; none is a guess."""
    lacking = [english[0] for english, said in translated(language) if not all(said)]
    assert not lacking
    assert not [message.id for message in catalogue.catalogue(language) if message.id and message.fuzzy]


@pytest.mark.parametrize("language", OTHERS)
def test_translations_keep_their_places(language: str) -> None:
    """A translation has the places of its sentence; only a form for one may leave the number out."""
    for english, said in translated(language):
        wanted = {place for form in english for place in PLACE.findall(form)}
        for index, form in enumerate(said):
            found = set(PLACE.findall(form))
            assert found <= wanted, (english, form)
            assert wanted - found <= ({"{n}", "%(n)s"} if len(said) > 1 and index == 0 else set()), (english, form)


@pytest.mark.parametrize("language", OTHERS)
def test_only_letters_of_fingers_are_marked(language: str) -> None:
    """A mark stands round a letter of the plucking hand or a place, and nothing else of markup is in a catalogue."""
    for _, said in translated(language):
        for form in said:
            assert not re.search(r"[<>]", MARK.sub("", form).replace("->", "")), form
            assert {mark for mark in MARK.findall(form) if mark[0] != "{"} <= {*"pimacexqos", "ch"}, form


@pytest.mark.parametrize(("language", "one", "two"), [("es", 1, 2), ("fr", 0, 2), ("it", 1, 2), ("de", 1, 2)])
def test_numbers_take_the_forms_of_the_language(language: str, one: int, two: int) -> None:
    """The form for one is that for 1, in French for 0 too (plural rules of CLDR)."""
    minutes = [told(say_count("about {n} minute", "about {n} minutes", n), language) for n in (one, two)]
    single, several = (text.replace(str(n), "#") for text, n in zip(minutes, (one, two), strict=True))
    assert single != several


def test_every_language_of_a_plan_has_its_locale() -> None:
    """What a plan may ask for is what there are catalogues and locales for."""
    assert set(LOCALES) == set(LANGUAGES)
    assert {path.stem for path in catalogue.FOLDER.glob("*.po")} == set(OTHERS)


def test_english_needs_no_catalogue() -> None:
    """In English a sentence is what it is."""
    assert translations("en").gettext("open") == "open"
    assert told(say("finger {finger}", finger=LETTER.format("a")), "en") == f"finger {LETTER.format('a')}"


@pytest.fixture(scope="module")
def pages() -> list[str]:
    """Page descriptions of a book, a week, a handout and a class's summary in the bracketed language.

    Of the built-in line its second half, which goes over both of its strings.
    """
    return described(bars="5-8")


def test_no_page_says_what_no_catalogue_has(pages: list[str]) -> None:
    """Outside sentences of ours stand only the passage's own words, numbers, and settings as a plan names them."""
    own = r"The Well Rope|free to copy, perform and change|Ada|Ben|\b\w+=[^;:]+|\b[IVX]+\b|[①-⑩]+|\b[pimac]\b"
    left = {text for page in pages for text in outside(page)}
    rest = {text for text in left if re.search(r"[^\W\d_]{2,}", re.sub(own, "", text))}
    assert not rest


def test_brackets_are_real(pages: list[str]) -> None:
    """The law above would see a sentence that was put together as plain text."""
    assert len(pages) > 4
    assert outside("<body><p>⟦all⟧ three</p>") == ["three"]
    with bracketed():
        assert told(say("open"), "de") == "⟦open⟧"


@pytest.mark.parametrize(
    ("items", "said"),
    [
        (("m", "i"), "m e i"),
        (("i", "m"), "i y m"),
        (("a", "hijo"), "a e hijo"),
        (("a", "hielo"), "a y hielo"),
        (("p", "a"), "p y a"),
    ],
)
def test_spanish_and_gives_way_to_its_own_vowel(items: tuple[str, str], said: str) -> None:
    """Before i- and hi- "y" is "e", but not before a diphthong; before o- "o" is "u" (common practice)."""
    assert letters_plain(told(listed(items), "es")) == said
    assert told(either(["siete", "ocho"]), "es") == "siete u ocho"


def test_pitches_are_called_as_the_language_calls_them() -> None:
    """B is H in German and si in Romance languages, B flat is B; the octave keeps its number (common practice)."""
    sentence = say("{pitch} is tied over the bar line where the string changes", pitch=Pitch.parse("B3"))
    firsts = {language: told(sentence, language).partition(" ")[0] for language in LANGUAGES}
    assert firsts == {"en": "B3", "de": "H3", "es": "si", "fr": "si", "it": "si"}
    assert told(say("{note}", note=Pitch.parse("Bb2").note), "de") == "B"
    assert told(say("{note}", note=Pitch.parse("E2").note), "it") == "mi"


def test_a_german_sentence_begins_with_a_capital_behind_a_colon() -> None:
    """A whole sentence in a place does, a letter of a finger or a single word does not; other languages go on small."""
    reasons = {
        "fingers": say("fingers {fingers} take new places together.", fingers="1"),
        "letter": say("{finger} plucks twice running.", finger="a"),
    }
    said = {
        (key, language): letters_plain(told(say("Loop {stretch} first: {reason}", stretch="x", reason=why), language))
        for key, why in reasons.items()
        for language in ("de", "fr")
    }
    assert said["fingers", "de"].partition(": ")[2].startswith("Die Finger")
    assert said["letter", "de"].partition(": ")[2].startswith("a ")
    assert "les doigts" in said["fingers", "fr"]
