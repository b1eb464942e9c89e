"""A study as the regimen speaks of it: what it asks of the music, its words, and whether a plan leaves it out."""

from __future__ import annotations

from dataclasses import dataclass

from engrave import axes
from engrave.model import AXES, Declined, Notice, Plan, Study
from engrave.model.said import Said, say, say_count, strung
from engrave.regimen.varied import whereabouts

AS_WRITTEN = Study()
"""the line as it stands"""


def canonical(study: Study) -> tuple[str, ...]:
    """What the study asks of the music: two studies with the same answer are the same page."""
    return tuple(setting.name for setting in axes.settings(study))


def heading(study: Study) -> str:
    """The study in words, for a notice: its name, or its settings."""
    if study.name:
        return study.name
    words = [
        setting.label
        for known, setting in zip(axes.ORDER, axes.settings(study), strict=True)
        if setting.name != known.default
    ]
    return strung(words, "; ") if words else say("the line as written")


def quoted(title: str) -> Said:
    """A heading as a sentence names it."""
    return say("“{study}”", study=title)


def left_out(study: Study, plan: Plan) -> str:
    """Why the plan does not want this study; empty where it does."""
    names = dict(zip(AXES, canonical(study), strict=True))
    for out in plan.leave_out:
        if all(names[axis] == axes.find(axis, setting).name for axis, setting in out.settings):
            named = (say("{axis} “{setting}”", axis=axis, setting=setting) for axis, setting in out.settings)
            return out.why or say("the plan leaves out {settings}", settings=strung(named, ", "))
    return ""


UNFIT, SAME, IDLE, LOGGED = "unfit", "same", "idle", "logged"
"""kinds of a notice: a study that does not apply, one that would print what another page prints, one that changes too
little for a page, a log's row that no study has"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unfit:
    """A study that does not apply to this line."""

    study: Study
    reason: str
    """a clause, with the place and the strings on which it would"""
    other: Study | None = None
    """a study on those strings"""
    bare: str = ""
    """the clause without the strings, for where nothing else prints the study on them"""
    textures: tuple[str, ...] = ()
    """in words, the textures it is for, where the passage has none of them"""

    @property
    def text(self) -> Said:
        """How it is said that it does not apply, and why."""
        return say("“{study}” does not apply here: {reason}", study=heading(self.study), reason=self.reason)

    def notice(self, more: int = 0) -> Notice:
        """What is said of it, and of so many more that do not apply for the same reason."""
        together = say_count(
            "“{study}” and {n} more do not apply here: {reason}",
            "“{study}” and {n} more do not apply here: {reason}",
            more,
            study=heading(self.study),
            reason=self.reason,
        )
        text = together if more else self.text
        return Notice(text=text, kind=UNFIT, of=self.textures, many=1 + more, about=heading(self.study))


def declined(study: Study, answer: Declined, other: Study | None = None) -> Unfit:
    """A study that does not apply to this line; `other` is the same on strings where it does."""
    reason = answer.reason
    # of a mixture the setting at fault is named; a single setting is what the heading says already
    if len(axes.kinds(study)) > 1 or study.name:
        label = axes.find(answer.axis, answer.setting).label
        reason = say("“{setting}”: {reason}", setting=label, reason=reason)
    if answer.place:
        reason = say("{reason} ({place})", reason=reason, place=answer.place)
    bare = reason
    if other:
        # for the translator: {where} is where the study puts the line, such as "same frets from ②"
        reason = say("{reason}; it does with the line elsewhere: {where}", reason=reason, where=whereabouts(other))
    return Unfit(study=study, reason=reason, other=other, bare=bare, textures=answer.textures)
