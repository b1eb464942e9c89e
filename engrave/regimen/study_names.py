"""One study by any of its names: the number of its page, the heading printed on it, or its setting."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from functools import cache

from engrave import axes
from engrave.axes.selection import selection
from engrave.languages import letters_plain, told
from engrave.model import EngraveError, Fault, PlanError, Step, Study
from engrave.regimen.candidate import Candidate
from engrave.regimen.log import plain_name


def names_of(candidate: Candidate, numbered: Mapping[str, str], language: str = "en") -> tuple[str, ...]:
    """Every plain name a log may call a study by; by number → heading, and the language of its pages."""
    title, printed = _printed(candidate.variation.title, language)
    numbers = [number for number, heading in numbered.items() if plain_name(heading) == title]
    asked = plain_name(candidate.study.asked)
    alone = [asked.partition("=")[2]] if asked and ";" not in asked else []
    return tuple(dict.fromkeys((title, printed, asked, *alone, *numbers)))


def numbers_of(steps: Sequence[Step]) -> dict[str, str]:
    """Number of each page → its heading."""
    return {str(n): s.variation.title for n, s in enumerate(steps, start=1)}


def study_from(text: str, steps: Sequence[Step] = (), language: str = "en") -> Study:
    """The study that `text` names: "axis=setting", several with semicolons between; a heading; a setting; a number.

    `steps` are those of the book whose numbers count; headings may be as pages in `language` print them. Raises
    PlanError.
    """
    wanted = plain_name(text)
    if wanted.isdigit():
        if 1 <= int(wanted) <= len(steps):
            return steps[int(wanted) - 1].study
        what = f"the book has variations 1 to {len(steps)}" if steps else "there is no book to count in"
        raise PlanError(Fault(fact=f"study {text!r}: {what}", hint="give a heading, or a setting such as pluck=m-a"))
    for step in steps:
        if wanted in _printed(step.variation.title, language):
            return step.study
    if "=" in text:
        return _spelled(text)
    found = _headings("en").get(wanted) or (None if language == "en" else _headings(language).get(wanted))
    if found is not None:
        return found
    if wish := _wish(wanted):
        return wish
    if axis := next((known for known in axes.ORDER if wanted in (known.name, known.title.lower())), None):
        usual = next(setting.name for setting in axis.settings if setting.name != axis.default)
        fact = f"study {text!r} is not one study but the axis of many"
        raise PlanError(Fault(fact=fact, hint=f'write one of them, such as "{axis.name}={usual}"'))
    near = difflib.get_close_matches(wanted, [*_headings("en"), *(s.name for a in axes.ORDER for s in a.settings)], n=1)
    hint = f"did you mean {near[0]!r}?" if near else 'such as "pluck=a-m-i"; `engrave studies` lists them all'
    raise PlanError(Fault(fact=f"study {text!r} is not known", hint=hint))


_LITTLE_WORDS = re.compile(r"\b(?:stroke|strokes|in turn|and|the|with|finger|fingers|study|studies)\b|[,;]")


def _wish(text: str) -> Study | None:
    """The study of a few words: a setting, an axis with one, letters, or the first words of a name.

    Such as "rest stroke", "slurs to open", "i and m", "tremolo"; of several that begin so, the catalogue's first.
    """
    bare = _bare(text)
    letters = "-".join(bare.replace("-", " ").split())
    tried = [text, bare, bare.replace(" ", "-"), *([letters] if re.fullmatch(r"[pimac](?:-[pimac])+", letters) else [])]
    for known in axes.ORDER:
        first, _, rest = bare.partition(" ")
        own = [rest] if first.rstrip("s") == known.name.rstrip("s") else []
        for name in (*tried, *own):
            setting = known.find(name)
            if setting is not None and setting.name != known.default:
                return Study(**{known.name: setting.name})  # type: ignore[arg-type]
    named = [(_bare(name), study) for name, study in _headings("en").items()]
    named += [(name, Study(**{a.name: name})) for a in axes.ORDER for name in (s.name for s in a.settings)]  # type: ignore[arg-type]
    same = next((study for name, study in named if bare == name), None)
    return same or next((study for name, study in named if bare and name.startswith(f"{bare} ")), None)


def _bare(text: str) -> str:
    """A name without the words that only join others."""
    return " ".join(_LITTLE_WORDS.sub(" ", text).split())


def _spelled(text: str) -> Study:
    settings: dict[str, str] = {}
    faults: list[Fault] = []
    for part in text.split(";"):
        axis, equals, setting = (piece.strip() for piece in part.partition("="))
        if not equals or not setting:
            faults.append(
                Fault(fact=f"study {text!r}: {part.strip()!r} is not axis=setting", hint='such as "pluck=a-m-i"')
            )
            continue
        try:
            axes.find(axis, setting)
        except EngraveError as error:
            faults += error.faults
            continue
        if axis in settings:
            faults.append(Fault(fact=f"study {text!r} names {axis} twice", hint="give one setting for each axis"))
        settings[axis] = setting
    if faults:
        raise PlanError(*faults)
    return Study(**settings)  # type: ignore[arg-type]


def _printed(heading: str, language: str) -> tuple[str, str]:
    """A heading as it is printed in English and in a language, plain."""
    return plain_name(heading), plain_name(letters_plain(told(heading, language)))


def in_catalogue(name: str, language: str = "en") -> bool:
    """Whether a plain name is a heading or a setting of the catalogue, in English or in a language."""
    return name in _headings("en") or name in _headings(language) or name in _setting_names()


@cache
def _setting_names() -> frozenset[str]:
    return frozenset(plain_name(setting.name) for known in axes.ORDER for setting in known.settings)


@cache
def _headings(language: str) -> Mapping[str, Study]:
    """Plain heading in a language → study, of every setting by itself and of the built-in mixtures."""
    single = [Study(**{a.name: s.name}) for a in axes.ORDER for s in a.settings]  # type: ignore[arg-type]
    found: dict[str, Study] = {}
    for study in (*single, *selection("complete")):
        found.setdefault(_printed(axes.heading(study), language)[1], study)
    return found
