"""A plan: what to practise and how to print it. Values only; plan files are read in the regimen room."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model.study import Study


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Everything a book depends on besides the passage."""

    instrument: str = ""
    """name in the data file; empty: what the source says, else standard"""
    scale: float | None = None
    """scale length in mm; none: the instrument's own"""
    capo: int | None = None
    hand: str = "standard"
    paper: str = "A4"
    """A4 or Letter"""
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
