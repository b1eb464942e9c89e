"""The `rhythm` axis: how long the notes are."""

from __future__ import annotations

from engrave.axes.setting import COMMON, Axis, Setting, no_pattern, unchanged

AXIS = "rhythm"

SETTINGS: tuple[Setting, ...] = (
    Setting(
        axis=AXIS,
        name="as written",
        label="rhythm as written",
        purpose="",
        cue="",
        source=COMMON,
        kind="plain",
        apply=unchanged,
    ),
)

RHYTHM = Axis(name=AXIS, title="Rhythm", default="as written", settings=SETTINGS, parse=no_pattern, grammar="")
