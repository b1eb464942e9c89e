"""The `slurs` axis: which notes the fretting hand sounds by itself."""

from __future__ import annotations

from engrave.axes.setting import COMMON, Axis, Setting, no_pattern, unchanged

AXIS = "slurs"

SETTINGS: tuple[Setting, ...] = (
    Setting(
        axis=AXIS,
        name="as written",
        label="slurs as written",
        purpose="",
        cue="",
        source=COMMON,
        kind="plain",
        apply=unchanged,
    ),
)

SLURS = Axis(name=AXIS, title="Slurs", default="as written", settings=SETTINGS, parse=no_pattern, grammar="")
