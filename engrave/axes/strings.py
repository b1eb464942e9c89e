"""The `strings` axis: where on the neck the line lies."""

from __future__ import annotations

from engrave.axes.setting import COMMON, Axis, Setting, no_pattern, unchanged

AXIS = "strings"

SETTINGS: tuple[Setting, ...] = (
    Setting(
        axis=AXIS,
        name="as written",
        label="strings as written",
        purpose="",
        cue="",
        source=COMMON,
        kind="plain",
        apply=unchanged,
    ),
)

STRINGS = Axis(
    name=AXIS, title="Place on the neck", default="as written", settings=SETTINGS, parse=no_pattern, grammar=""
)
