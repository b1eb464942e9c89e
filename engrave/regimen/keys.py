"""Every key of a plan file, in one table: the reader, the writer, the starter plan and the README all go by it.

Conventions: a key belongs to one table of the file; `field` says where its value lives in Plan (or, for the tables
that repeat, in Study and LeaveOut). Lengths in mm, tempi in beats a minute, minutes in minutes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from engrave import axes
from engrave.axes.defaults import FASTEST, SLOWEST
from engrave.instruments import hand_names, instrument_names
from engrave.model import AXES, DEPTHS, WEEKDAYS

LONGEST = 200
"""characters a text of a plan may have"""
MOST_STUDIES = 500
"""tables of one kind a plan may have"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a plan file."""

    table: str
    """player, instrument, book, week, study or leave-out"""
    name: str
    """as the file writes it"""
    field: str
    """attribute of Plan, with a dot for one inside Marks, Player or Week; attribute of Study or LeaveOut there"""
    kind: str
    """text, choice, flag, whole, number, tempi (a list of tempi), terms, days or setting"""
    doc: str
    """what it does, one sentence, as the starter plan explains it"""
    example: object
    """a value worth showing; the starter plan prints it as a comment"""
    low: float = 0
    high: float = 0
    choices: Callable[[], tuple[str, ...]] = tuple[str, ...]
    """what a choice may be"""


def _of(*names: str) -> Callable[[], tuple[str, ...]]:
    return lambda: names


_TERMS_DOC = 'a list of terms such as "m-a", "little finger", "finger 4", "slur 2-1", "string 5", "shifts"'
_AXIS_DOCS = {
    "strings": "where on the neck the line is played",
    "rhythm": "how the note values are changed",
    "fret": "which fretting fingers are used",
    "slurs": "which notes the fretting hand sounds by itself",
    "pluck": 'which plucking fingers are used, also as a pattern such as "p-i-m-i"',
    "stroke": "free stroke or rest stroke",
    "accent": "which notes are stressed",
}
assert tuple(_AXIS_DOCS) == AXES


def _setting(axis: str) -> str:
    """A setting to show: the first of the axis that changes something."""
    found = axes.axis(axis)
    return next((setting.name for setting in found.settings if setting.name != found.default), found.default)


KEYS: tuple[Key, ...] = (
    Key(table="player", name="name", field="player.name", kind="text", doc="who practises", example="Ana"),
    Key(
        table="player",
        name="strong",
        field="player.strong",
        kind="terms",
        doc=f"what goes well, used for warming up: {_TERMS_DOC}",
        example=("i-m",),
    ),
    Key(
        table="player",
        name="weak",
        field="player.weak",
        kind="terms",
        doc="what does not go well yet, practised first and most: terms as above",
        example=("m-a", "finger 4"),
    ),
    Key(
        table="player",
        name="goals",
        field="player.goals",
        kind="terms",
        doc="what the practice is for, trained more often without being weak: terms as above",
        example=("pull-offs",),
    ),
    Key(
        table="player",
        name="hand",
        field="hand",
        kind="choice",
        doc="reach of the fretting hand",
        example="standard",
        choices=hand_names,
    ),
    Key(
        table="player",
        name="minutes",
        field="player.minutes",
        kind="whole",
        doc="minutes there are on a practice day, breaks included",
        example=40,
        low=1,
        high=600,
    ),
    Key(
        table="player",
        name="days",
        field="player.days",
        kind="whole",
        doc="practice days a week",
        example=6,
        low=1,
        high=7,
    ),
    Key(
        table="player",
        name="tempo",
        field="player.tempo",
        kind="whole",
        doc="tempo at which the line goes well now, in beats a minute",
        example=60,
        low=SLOWEST,
        high=FASTEST,
    ),
    Key(
        table="player",
        name="goal",
        field="player.goal",
        kind="whole",
        doc="tempo it should reach, in beats a minute",
        example=84,
        low=SLOWEST,
        high=FASTEST,
    ),
    Key(
        table="instrument",
        name="name",
        field="instrument",
        kind="choice",
        doc="instrument and tuning; without it, what the passage says, else the standard guitar",
        example="standard",
        choices=instrument_names,
    ),
    Key(
        table="instrument",
        name="scale",
        field="scale",
        kind="number",
        doc="vibrating length of the open string in mm",
        example=650.0,
        low=200,
        high=1200,
    ),
    Key(
        table="instrument",
        name="capo",
        field="capo",
        kind="whole",
        doc="fret the capo sits on; 0 for none",
        example=0,
        low=0,
        high=12,
    ),
    Key(
        table="book",
        name="title",
        field="title",
        kind="text",
        doc="title of the book; without it, the passage's",
        example="One line, many ways",
    ),
    Key(
        table="book",
        name="teacher",
        field="teacher",
        kind="text",
        doc="a line under the title, for a teacher's name or a word to the student",
        example="For the Thursday class",
    ),
    Key(
        table="book",
        name="depth",
        field="depth",
        kind="choice",
        doc="how many variations: short (about 12), standard (about 30), complete (all that apply), "
        "or fewest (the least that still train everything)",
        example="standard",
        choices=_of(*DEPTHS),
    ),
    Key(
        table="book",
        name="pages",
        field="pages",
        kind="whole",
        doc="most variations the book may hold, whatever the depth",
        example=20,
        low=1,
        high=500,
    ),
    Key(
        table="book",
        name="tempo",
        field="tempo",
        kind="tempi",
        doc="tempo steps in beats a minute for every study that names none",
        example=(60, 66, 72),
    ),
    Key(
        table="book",
        name="times",
        field="times",
        kind="whole",
        doc="times through for every study that names none",
        example=3,
        low=1,
        high=100,
    ),
    Key(
        table="book", name="paper", field="paper", kind="choice", doc="paper", example="A4", choices=_of("A4", "Letter")
    ),
    Key(
        table="book",
        name="sides",
        field="sides",
        kind="choice",
        doc="printed on single or double sides: the punched margin stays left, or changes sides",
        example="single",
        choices=_of("single", "double"),
    ),
    Key(
        table="book",
        name="tablature",
        field="tab",
        kind="flag",
        doc="print a tablature staff under the notes",
        example=True,
    ),
    Key(
        table="book",
        name="staff",
        field="staff",
        kind="number",
        doc="height of the staff in mm",
        example=7.2,
        low=5,
        high=12,
    ),
    Key(
        table="book",
        name="digits",
        field="marks.digits",
        kind="choice",
        doc="fretting digits: all, moves (where the hand moves) or none",
        example="all",
        choices=_of("all", "moves", "none"),
    ),
    Key(
        table="book",
        name="circles",
        field="marks.strings",
        kind="choice",
        doc="string numbers in circles: where the string changes, always or never",
        example="changes",
        choices=_of("changes", "always", "never"),
    ),
    Key(
        table="book",
        name="letters",
        field="marks.letters",
        kind="choice",
        doc="plucking letters: all, first (the first cycle only) or none",
        example="all",
        choices=_of("all", "first", "none"),
    ),
    Key(
        table="book",
        name="positions",
        field="marks.positions",
        kind="flag",
        doc="Roman numerals where the hand changes position",
        example=True,
    ),
    Key(
        table="book",
        name="little",
        field="marks.little",
        kind="choice",
        doc="letter that stands for the plucking hand's little finger",
        example="c",
        choices=_of("c", "e", "x", "q", "o", "s", "ch"),
    ),
    Key(
        table="week",
        name="start",
        field="week.start",
        kind="choice",
        doc="day a week begins with",
        example="monday",
        choices=_of(*WEEKDAYS),
    ),
    Key(
        table="week",
        name="rest",
        field="week.rest",
        kind="days",
        doc="days without practice",
        example=("sunday",),
        choices=_of(*WEEKDAYS),
    ),
    Key(
        table="study",
        name="name",
        field="name",
        kind="text",
        doc="heading of its page; without it, made from the settings",
        example="Ring finger leads",
    ),
    *(
        Key(table="study", name=axis, field=axis, kind="setting", doc=doc, example=_setting(axis))
        for axis, doc in _AXIS_DOCS.items()
    ),
    Key(
        table="study",
        name="tempo",
        field="tempo",
        kind="tempi",
        doc="its own tempo steps in beats a minute",
        example=(50, 60, 72),
    ),
    Key(
        table="study",
        name="times",
        field="times",
        kind="whole",
        doc="its own times through",
        example=10,
        low=1,
        high=100,
    ),
    Key(
        table="study",
        name="must",
        field="must",
        kind="flag",
        doc="true: printed whenever it can be played; false: only where it earns its page",
        example=True,
    ),
    *(
        Key(
            table="leave-out",
            name=axis,
            field=axis,
            kind="setting",
            doc=f"leave out what has this setting: {doc}",
            example=_setting(axis),
        )
        for axis, doc in _AXIS_DOCS.items()
    ),
    Key(
        table="leave-out",
        name="why",
        field="why",
        kind="text",
        doc="the reason, printed where the book says what it leaves out",
        example="not before the nails have grown",
    ),
)

TABLES: dict[str, str] = {
    "player": "who practises, and how much time there is",
    "instrument": "what is played",
    "book": "what is printed, and how",
    "week": "which days are for practising",
    "study": "one way of practising the line; as many of these tables as you like, in any mixture of settings",
    "leave-out": "studies that are not wanted: those with all the settings named here",
}
"""the tables of a plan, in order, with what each is for"""
REPEATED = ("study", "leave-out")
"""tables written with double brackets, as often as needed"""


def keys_of(table: str) -> tuple[Key, ...]:
    """The keys of one table, in the order the starter plan lists them."""
    return tuple(key for key in KEYS if key.table == table)
