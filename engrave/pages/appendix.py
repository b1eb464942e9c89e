"""What only the teacher needs, behind the music: what trains what, hard places, and what was left out or changed."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable
from typing import Any

from engrave.model import Notice, Regimen
from engrave.model.said import say, say_count, strung
from engrave.model.wording import either
from engrave.pages.content import BookContent
from engrave.pages.coverage import coverage
from engrave.pages.typeset import Typesetter
from engrave.pages.words import file_text, places_text, runs
from engrave.regimen import SAME, UNFIT
from engrave.regimen.studies import quoted

SIZES = (9.0, 8.0, 7.0, 6.0)
"""points of its type: the largest at which it takes no more than two pages"""
MEASURED = 7.0
"""points of the type it is measured in"""
MOST_PAGES = 2
MOST_LISTED = 40
"""variations that have a row each; of more the names run on, so that two pages hold them (house figure)"""
MOST_UNFIT = 4
"""studies that do not apply of which the reason is told (house figure)"""
MOST_NAMED = 12
"""more of them that are told by name; of more the number is said (house figure)"""


def appendix_values(content: BookContent, setter: Typesetter) -> dict[str, Any]:
    """Everything in the appendix."""
    return {
        "troubles": _troubles(content),
        "coverage": coverage(content),
        "verdict": _verdict(content.regimen),
        "studies": _studies(content, setter),
        "listed": len(content.sheets) <= MOST_LISTED,
        "notices": _notices(content, setter),
        "carries": any(one.relationship == "Alternative" for one in content.attachments),
        "file": setter.text(file_text(content.passage), say("the name of the file")),
    }


def _verdict(regimen: Regimen) -> str:
    """How the pages were chosen, in one sentence; the figures of the choice are nobody's who teaches."""
    if not regimen.verdict:
        return ""
    if regimen.days:
        return say("The studies and their days were chosen so that the week trains most of what it should.")
    return say("The variations were chosen so that together they train most of what they should.")


def _troubles(content: BookContent) -> list[dict[str, str]]:
    """Hard places of the line."""
    return [
        {
            "place": trouble.place,
            "reason": trouble.reason,
            "hard": places_text(tuple(step + 1 for step in trouble.steps), len(content.sheets)),
            "treated": runs(sorted(step + 1 for step in {*trouble.treated} - {*trouble.steps})) or "–",
        }
        for trouble in content.regimen.troubles
    ]


def _studies(content: BookContent, setter: Typesetter) -> list[dict[str, Any]]:
    """How a plan or a command asks for each variation, and why it stands where it stands."""
    return [
        {
            "number": sheet.number,
            "asked": setter.text(sheet.step.study.asked, say("variation {number}", number=sheet.number)),
            "reason": setter.text(sheet.step.reason, say("variation {number}", number=sheet.number)),
        }
        for sheet in content.sheets
        if sheet.step.study.asked or sheet.step.reason
    ]


def _notices(content: BookContent, setter: Typesetter) -> tuple[str, ...]:
    """What was left out or changed on the way, each thing once; last what this room itself had to drop."""
    note_words(content, setter)
    found = (*content.passage.notices, *content.line.notices, *content.regimen.notices)
    general = setter.notices(found)
    return tuple(
        dict.fromkeys((*setter.notices(gathered(found)), *own_notices(content, setter, general), *setter.notes))
    )


def note_words(content: BookContent, setter: Typesetter) -> None:
    """Have the words over the staves noted that no font can print: they stand with the music, which cannot say so."""
    for direction in content.line.passage.directions:
        setter.text(direction.text, say("the words “{text}”", text=direction.text))


def own_notices(content: BookContent, setter: Typesetter, said: Collection[str] = ()) -> tuple[str, ...]:
    """What was left out or changed in single variations, each thing once with their numbers; not what is `said`."""
    where: dict[str, list[int]] = {}
    for sheet in content.sheets:
        own = setter.notices(
            (*sheet.step.notices, *sheet.variation.notices), say("variation {number}", number=sheet.number)
        )
        for text in dict.fromkeys(own):
            if text not in said:
                where.setdefault(text, []).append(sheet.number)
    return tuple(_numbered(text, at, setter) for text, at in where.items())


def _numbered(text: str, at: list[int], setter: Typesetter) -> str:
    """A notice with the numbers of the variations it is about."""
    if len(at) == 1:
        return setter.text(say("Number {number}: {text}", number=at[0], text=text), say("a notice"))
    return setter.text(say("Numbers {numbers}: {text}", numbers=runs(at), text=text), say("a notice"))


def gathered(notices: Iterable[Notice]) -> list[Notice]:
    """Notices of one kind as one sentence, where the first of them stood; all others as they are."""
    made: dict[Hashable, Notice] = {}
    unfit, same, told = 0, 0, 0
    meant: dict[str, None] = {}
    others: list[Notice] = []
    for notice in notices:
        if notice.kind == UNFIT and notice.of:
            unfit += notice.many
            meant |= dict.fromkeys(notice.of)
            text = say_count(
                "{n} study is for {textures}: the passage has no stretch of that.",
                "{n} studies are for {textures}: the passage has no stretch of that.",
                unfit,
                textures=either(meant),
            )
            made[UNFIT] = Notice(text=text)
        elif notice.kind == UNFIT and told >= MOST_UNFIT:
            others.append(notice)
            made[MOST_UNFIT] = _nor(others)
        elif notice.kind == SAME:
            same += 1
            text = say_count(
                "{n} study would print the same notes and marks as another page.",
                "{n} studies would print the same notes and marks as another page.",
                same,
            )
            made[SAME] = Notice(text=text)
        else:
            told += notice.kind == UNFIT
            made[notice] = notice
    return list(made.values())


def _nor(notices: list[Notice]) -> Notice:
    """Studies that do not apply either, by name: a page of reasons helps nobody."""
    if len(notices) == 1:
        return notices[0]
    many = sum(notice.many for notice in notices)
    if many > MOST_NAMED:
        # for the translator: after sentences that say of a few studies why they do not apply
        few = say_count(
            "{n} more study does not apply here. The command “engrave studies”, given the passage, says why.",
            "{n} more studies do not apply here. The command “engrave studies”, given the passage, says why.",
            many,
        )
        return Notice(text=few)
    # for the translator: after sentences that say of a few studies why they do not apply
    text = say_count(
        "{n} more study does not apply here: {studies}. The command “engrave studies”, given the passage, says why.",
        "{n} more studies do not apply here: {studies}. The command “engrave studies”, given the passage, says why.",
        many,
        studies=strung(map(quoted, dict.fromkeys(notice.about for notice in notices)), ", "),
    )
    return Notice(text=text)
