"""Values only: the words of the trade as immutable types. Imports no stage.

Names are loaded when they are first used. Python takes 50 ms to make these types, three times as long as it takes to
start; of all of them `engrave --help` needs the errors alone.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from engrave.model.choices import DEPTHS, FORMATS, FORMS, LANGUAGES, LEVELS, PICTURES
    from engrave.model.errors import EngraveError, Fault, Place, PlanError, PressError, ReadError, UnplayableError
    from engrave.model.hands import PLUCKING, Hand, Placement, Stroke
    from engrave.model.instrument import Instrument
    from engrave.model.passage import (
        MARKS,
        Bar,
        Direction,
        Event,
        Given,
        Metre,
        Note,
        Notice,
        Passage,
        Slur,
        Tuplet,
        Value,
        with_notes,
    )
    from engrave.model.pitch import Key, Pitch
    from engrave.model.plan import FINGERINGS, WEEKDAYS, LeaveOut, Marks, Plan, Player, Student, Week
    from engrave.model.plate import Mark, Plate, Segment, Staff, System
    from engrave.model.study import (
        AXES,
        Coverage,
        Day,
        Declined,
        Figures,
        Load,
        Regimen,
        Spot,
        Step,
        Study,
        Trouble,
        Variation,
        Visit,
    )
    from engrave.model.texture import TEXTURES, AskedTexture, Habits, Texture
    from engrave.model.unchecked import replace_unchecked

_MODULES = (
    "errors",
    "choices",
    "unchecked",
    "pitch",
    "hands",
    "instrument",
    "passage",
    "texture",
    "plan",
    "plate",
    "study",
)
"""where a name may come from, the errors first"""


def __getattr__(name: str) -> Any:
    if not name.startswith("_"):
        for module in _MODULES:
            found = import_module(f"engrave.model.{module}")
            if hasattr(found, name):
                return getattr(found, name)
    raise AttributeError(f"module 'engrave.model' has no attribute {name!r}")
