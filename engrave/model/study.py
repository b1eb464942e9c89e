"""A study (what is asked), a variation (what comes of it), and the order they are practised in."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from engrave.model.hands import Hand, Placement
from engrave.model.instrument import Instrument
from engrave.model.passage import Notice, Passage
from engrave.model.texture import Habits, Texture
from engrave.model.wording import sentence

AXES = ("strings", "rhythm", "fret", "slurs", "pluck", "stroke", "accent")
"""the axes in the order they are applied: a later one sees what an earlier one did"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """One setting on each axis. Settings are names of the catalogue, or patterns such as "p-i-m-i" on `pluck`."""

    strings: str = "as written"
    rhythm: str = "as written"
    fret: str = "as given"
    slurs: str = "as written"
    pluck: str = "as given"
    stroke: str = "as given"
    accent: str = "as written"
    name: str = ""
    """heading, if the plan gives one; else it is made from the settings"""
    tempo: tuple[int, ...] = ()
    """tempo steps in beats a minute; empty: by the kind of work"""
    times: int | None = None
    """times through; none: by the kind of work"""
    must: bool = True
    """of a study a plan asks for: printed whenever it applies; otherwise only where it earns its page"""

    def setting(self, axis: str) -> str:
        """The setting on `axis` (one of AXES)."""
        return str(getattr(self, axis))

    @property
    def asked(self) -> str:
        """What it asks for, as a command line writes it: "pluck=m-a; stroke=rest"; empty for the line as written."""
        plain = Study()
        return "; ".join(f"{axis}={self.setting(axis)}" for axis in AXES if self.setting(axis) != plain.setting(axis))


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What a variation asks of both hands, in numbers. Counts go by key in a fixed order."""

    notes: int = 0
    """notes struck or slurred (ties counted once)"""
    strokes: tuple[tuple[str, int], ...] = ()
    """plucking finger → notes it plucks"""
    accents: tuple[tuple[str, int], ...] = ()
    """plucking finger → accented notes it plucks"""
    awkward: int = 0
    """awkward string crossings: the finger rank falls towards the treble or rises towards the bass"""
    natural: int = 0
    """natural string crossings"""
    repeats: int = 0
    """plucked notes taken by the finger that plucked the one before"""
    frettings: tuple[tuple[int, int], ...] = ()
    """fretting finger → notes it stops"""
    shifts: int = 0
    """changes of position"""
    travel: float = 0.0
    """path of the hand along the neck in mm"""
    reach: float = 0.0
    """widest reach between two fingers down together or one after the other in one position, in mm"""
    reach_at: str = ""
    """bar and beat of that reach"""
    let_go_at: str = ""
    """bar and beat of the shortest letting-go time"""
    slurs: tuple[tuple[str, int], ...] = ()
    """finger pair such as 2-0 → slurs"""
    let_go: float | None = None
    """shortest time in seconds a finger has to leave its string before the open string of it sounds, at the tempo"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Variation:
    """The passage under one study: every sounding note has a placement, every plucked one a stroke.

    Ready to be varied again.
    """

    passage: Passage
    instrument: Instrument
    hand: Hand
    study: Study = Study()
    cycle: tuple[str, ...] = ()
    """plucking cycle in force, empty if there is none"""
    title: str = ""
    """heading for the page"""
    purpose: str = ""
    """what it trains, one sentence"""
    extent: str = ""
    """the bars that it changes, one sentence, where it does not reach them all"""
    cue: str = ""
    """what to listen or feel for, one sentence"""
    figures: Figures = field(default_factory=Figures)
    notices: tuple[Notice, ...] = ()
    """what had to bend or be left out in this variation (the passage's own notices are in passage.notices)"""
    textures: tuple[Texture, ...] = ()
    """what the line is made of, stretch by stretch; empty until it is found"""
    habits: Habits = Habits()
    """how the player plucks where the page leaves a choice"""
    pace: Fraction = Fraction(1)
    """times a tempo of the line: the tempo at which the notes, in other values, go as fast as in the line"""

    def reach(self, a: Placement, b: Placement) -> tuple[float, float]:
        """Distance in mm between two fingers, and what is comfortable for that pair."""
        mm = abs(self.instrument.mm(a.fret) - self.instrument.mm(b.fret))
        low, high = sorted((a.finger, b.finger))
        return mm, self.hand.comfortable[low, high]


@dataclass(frozen=True, slots=True, kw_only=True)
class Declined:
    """A setting that does not apply, and why, in words a player understands."""

    axis: str
    setting: str
    reason: str
    place: str = ""
    """bar and beat of the note at fault, if there is one"""
    lies: bool = False
    """the strings that the line lies on stand in the way: on others it may apply"""
    textures: tuple[str, ...] = ()
    """in words, the textures it is for, where the passage has none of them"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What one sitting with a study asks of time and hands: all its times through, at every tempo step."""

    minutes: float = 0.0
    """playing and settling time, not rounded"""
    muscle: str = ""
    """the finger that has more to do here than in the line as written (p i m a c, or 1 to 4); empty: none"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place of a variation that will fail first, and the few notes to go round and round there."""

    kind: str
    """crossing, shift, letting go, reach, same finger or fingers"""
    notes: tuple[str, ...]
    """ids of the notes of the loop in playing order: four onset groups or fewer, or whole figures"""
    source: str = ""
    """id of the note of the line that the hard step leads to; empty where it is no note of the line"""
    score: float = 0.0
    """how hard, for ranking; a house measure"""
    clause: str = ""
    """why it will fail first, as it stands within a sentence, with its stop"""
    named: tuple[str, ...] = ()
    """ids of the notes that the reason speaks of, all of them in the loop"""
    treats: tuple[tuple[str, ...], ...] = ()
    """how the skills begin, kind and parts, that a page must train beyond the line to treat it"""
    stretch: str = ""
    """from where to where the loop goes, the bar named once, e.g. "bar 3, beat 1 to beat 2" """

    @property
    def reason(self) -> str:
        """Why it will fail first, one sentence."""
        return sentence(self.clause)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """A place of the line that is hard in several variations, for the teacher."""

    place: str
    """bar and beat"""
    reason: str
    """why, one sentence"""
    steps: tuple[int, ...]
    """indices of the steps in which it is a hard spot for this reason"""
    treated: tuple[int, ...]
    """indices of the steps that train what is hard there"""
    score: float
    """sum over the steps"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One place in a regimen."""

    study: Study
    section: str
    """heading the index puts it under"""
    reason: str
    """why it stands here"""
    times: int
    """times through at each tempo step in one sitting"""
    tempo: tuple[int, ...]
    """tempo steps to tick off, rising, beats a minute"""
    beat: Fraction = Fraction(1)
    """length in quarters of the beat those steps count"""
    variation: Variation
    """the music"""
    load: Load = Load()
    house: bool = True
    """times or tempo are the house's defaults, to be printed as such"""
    minutes: float | None = None
    """minutes one sitting takes, where they are reckoned: every time through at every step, and settling"""
    spots: tuple[Spot, ...] = ()
    """the one or two places that fail first, the hardest first"""
    difficulty: float = 0.0
    """how hard it is beside the other pages: a house measure for putting them in order, not a grade"""
    notices: tuple[Notice, ...] = ()
    """what a limit of this house made of the plan's wish"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """One thing the hands do, and which places of the regimen train it."""

    group: str
    """heading, e.g. "Plucking pairs" """
    label: str
    """the thing in words, e.g. "a after m" """
    where: str = ""
    """its particulars, e.g. "treble strings, free stroke"; empty where it has none"""
    wanted: int
    """how often it is wanted in one go through the regimen"""
    found: int
    """how often it occurs"""
    steps: tuple[int, ...]
    """indices of the steps that train it"""
    particular: tuple[int, ...] = ()
    """those of them that do the thing no more than the line does, but in another way or place"""
    why: str = ""
    """why it falls short, if it does"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One study on one day."""

    step: int
    """index of the step in the regimen"""
    reason: str = ""
    """why the line comes again at the end of a book"""
    times: int
    """times through at each tempo"""
    tempo: tuple[int, ...]
    """tempi of this day, rising, beats a minute"""
    minutes: float
    rest_before: bool = False
    """a break of five minutes goes before it"""
    new: bool = False
    """it comes for the first time"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One day of a week."""

    label: str
    """weekday, with the date where the week has one"""
    weekday: int = 0
    """0 is Monday"""
    practice: bool = True
    """False on a rest day"""
    visits: tuple[Visit, ...] = ()
    """in practice order; empty on a rest day"""
    minutes: float = 0.0
    """of all visits together, without the breaks"""
    breaks: int = 0
    """breaks of five minutes"""
    note: str = ""
    """what the day page says about it, e.g. that it is a rest day"""
    date: str = ""
    """the date as a log writes it, e.g. 2027-01-04; empty where the week has none"""
    week: int = 1
    """which week of a course it belongs to, from 1"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Regimen:
    """Studies in practice order."""

    steps: tuple[Step, ...]
    notices: tuple[Notice, ...] = ()
    """what was left out or exchanged, and why"""
    coverage: tuple[Coverage, ...] = ()
    """what the steps train"""
    verdict: str = ""
    """how good the choice is: best by the count of the book, or how far from it at most"""
    days: tuple[Day, ...] = ()
    """the week, or the weeks one after another, where they were asked for"""
    close: Visit | None = None
    """how a book ends: a step that comes again, with its tempi then"""
    troubles: tuple[Trouble, ...] = ()
    """hard places of the line over all steps, the hardest first"""
