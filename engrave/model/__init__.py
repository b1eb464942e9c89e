"""Values only: the words of the trade as immutable types. Imports no stage."""

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
from engrave.model.plan import Marks, Plan
from engrave.model.plate import Mark, Plate, Segment, System
from engrave.model.study import AXES, Declined, Figures, Regimen, Step, Study, Variation

__all__ = [
    "AXES",
    "MARKS",
    "PLUCKING",
    "Bar",
    "Declined",
    "Direction",
    "EngraveError",
    "Event",
    "Fault",
    "Figures",
    "Given",
    "Hand",
    "Instrument",
    "Key",
    "Mark",
    "Marks",
    "Metre",
    "Note",
    "Notice",
    "Passage",
    "Pitch",
    "Place",
    "Placement",
    "Plan",
    "PlanError",
    "Plate",
    "PressError",
    "ReadError",
    "Regimen",
    "Segment",
    "Slur",
    "Step",
    "Stroke",
    "Study",
    "System",
    "Tuplet",
    "UnplayableError",
    "Value",
    "Variation",
    "with_notes",
]
