"""A study as the regimen speaks of it: what it asks of the music, its words, and whether a plan leaves it out."""

from __future__ import annotations

from engrave import axes
from engrave.model import AXES, Declined, Notice, Plan, Study
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
    return "; ".join(words) or "the line as written"


def left_out(study: Study, plan: Plan) -> str:
    """Why the plan does not want this study; empty where it does."""
    names = dict(zip(AXES, canonical(study), strict=True))
    for out in plan.leave_out:
        if all(names[axis] == axes.find(axis, setting).name for axis, setting in out.settings):
            return out.why or "the plan leaves out " + ", ".join(
                f"{axis} “{setting}”" for axis, setting in out.settings
            )
    return ""


def declined(study: Study, answer: Declined, other: Study | None = None) -> Notice:
    """The notice for a study that does not apply to this line; `other` is the same on strings where it does."""
    where = f" ({answer.place})" if answer.place else ""
    # of a mixture the setting at fault is named; a single setting is what the heading says already
    there = f"; it does with the line elsewhere: {whereabouts(other)}" if other else ""
    fault = f"{answer.axis} “{answer.setting}”: " if len(axes.kinds(study)) > 1 or study.name else ""
    return Notice(text=f"“{heading(study)}” does not apply here: {fault}{answer.reason}{where}{there}")
