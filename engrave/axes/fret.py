"""The `fret` axis: which fingers stop the notes, and where."""

from __future__ import annotations

from engrave.axes.setting import COMMON, Axis, Setting, no_pattern, unchanged

AXIS = "fret"

SETTINGS: tuple[Setting, ...] = (
    Setting(
        axis=AXIS,
        name="as given",
        label="fingers as given",
        purpose="",
        cue="",
        source=COMMON,
        kind="plain",
        apply=unchanged,
    ),
)

FRET = Axis(name=AXIS, title="Fretting hand", default="as given", settings=SETTINGS, parse=no_pattern, grammar="")
