"""A plan: what to practise and how to print it. Values only; plan files are read in the regimen room."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model.study import AXES, Study
from engrave.model.texture import AskedTexture, Habits

PAIRS = ("chosen", "all", "all, both strokes")
"""plucking pairs of a book: those that are chosen, all there are, all in rest and in free stroke"""
FINGERINGS = ("best", "second best", "third best")
"""fingerings a whole book can stand on"""
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """Which marks are printed."""

    digits: str = "all"
    """fretting digits: all, moves (where the hand moves) or none"""
    strings: str = "changes"
    """string circles: changes, always or never"""
    letters: str = "all"
    """plucking letters: all, first (the first cycle, then "sim.") or none"""
    positions: bool = True
    """Roman numerals where the hand changes position"""
    little: str = "c"
    """the letter that stands for the little finger: c e x q o s or ch"""
    language: str = "en"
    """language of the words on the pages, one of LANGUAGES"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Player:
    """Who practises, as far as the choice of studies depends on it. Terms are those of engrave.regimen.terms."""

    name: str = ""
    level: str = ""
    """one of LEVELS; empty: nothing was said, intermediate but for a book of all that applies"""
    strong: tuple[str, ...] = ()
    """what goes well: good for warming up, wanted less often"""
    weak: tuple[str, ...] = ()
    """what does not go well yet: practised first and most"""
    goals: tuple[str, ...] = ()
    """what the practice is for: wanted more often, without being weak"""
    neck: float = 0.0
    """where the fretting hand likes to be: -1 low on the neck, 1 high"""
    open: float = 0.0
    """-1 (closed, stopped notes) to 1 (open strings)"""
    shifts: float = 0.0
    """-1 (rather shift than stretch) to 1 (rather stretch than shift)"""
    minutes: int | None = None
    """minutes there are on a practice day, breaks included; none: no limit for a book, the house default for a week"""
    days: int | None = None
    """practice days a week; none: every day that is not a rest day, six at most"""
    tempo: int | None = None
    """tempo the line goes at now, in beats a minute"""
    goal: int | None = None
    """tempo it should reach, in beats a minute"""
    left_handed: bool = False
    """frets with the right hand: pictures of the neck are turned round"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """Which days are for practising."""

    start: str = "monday"
    """the day a week begins with, one of WEEKDAYS; a date given on the command line goes before it"""
    rest: tuple[str, ...] = ()
    """days without practice, of WEEKDAYS"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaveOut:
    """Studies that are not wanted: every study that has all of these settings."""

    settings: tuple[tuple[str, str], ...]
    """(axis, setting), in the order of AXES"""
    why: str = ""
    """the plan's reason, printed beside what was left out"""

    def __post_init__(self) -> None:
        axes = [axis for axis, _ in self.settings]
        if not axes or axes != [axis for axis in AXES if axis in axes]:
            raise ValueError(f"left-out settings {self.settings} do not name axes once each, in order")


@dataclass(frozen=True, slots=True, kw_only=True)
class Student:
    """One of a class: what differs from the plan's own player. None and () are what the plan says."""

    name: str
    level: str | None = None
    strong: tuple[str, ...] | None = None
    weak: tuple[str, ...] | None = None
    goals: tuple[str, ...] | None = None
    minutes: int | None = None
    days: int | None = None
    tempo: int | None = None
    goal: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Everything a book depends on besides the passage."""

    player: Player = Player()
    week: Week = Week()
    habits: Habits = Habits()
    textures: tuple[AskedTexture, ...] = ()
    """what some bars are made of, where the plan knows better"""
    instrument: str = ""
    """name in the data file; empty: what the source says, else standard"""
    scale: float | None = None
    """scale length in mm; none: the instrument's own"""
    capo: int | None = None
    octave: int = 0
    """octaves a passage is moved by when it is read; 0 once that is done"""
    hand: str = "standard"
    depth: str = "standard"
    """one of DEPTHS"""
    pages: int | None = None
    """most variations a book may hold; none: by the depth"""
    paper: str = "A4"
    """A4, A5 or Letter"""
    sides: str = "single"
    """single or double: whether the punched margin stays left or changes sides"""
    tab: bool = False
    """print a tablature staff"""
    staff: float = 7.2
    """height of the staff in mm"""
    marks: Marks = Marks()
    title: str = ""
    """title of the book; empty: the passage's"""
    teacher: str = ""
    """line under the title"""
    tempo: tuple[int, ...] = ()
    """tempo steps in beats a minute for every study that names none; empty: the house default"""
    times: int | None = None
    """times through for every study that names none"""
    studies: tuple[Study, ...] = ()
    """asked for by name; empty: the built-in selection"""
    leave_out: tuple[LeaveOut, ...] = ()
    only: tuple[str, ...] = ()
    """terms, as of a player: of the built-in selection only what trains one of them; empty: all of it"""
    pairs: str = "chosen"
    """one of PAIRS"""
    fingering: str = "best"
    """one of FINGERINGS: which of the fingerings a survey compares the whole book stands on"""
    students: tuple[Student, ...] = ()
    """a class: each gets a handout or a week of their own"""
