"""Figures of a variation in words, as the pages print them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from engrave.model import Passage, Step
from engrave.model.said import say, say_count, strung
from engrave.model.wording import neighbours
from engrave.pages.sign_font import EIGHTH, HALF, QUARTER, SIXTEENTH, WHOLE

_VALUES = {
    Fraction(4): WHOLE,
    Fraction(2): HALF,
    Fraction(1): QUARTER,
    Fraction(1, 2): EIGHTH,
    Fraction(1, 4): SIXTEENTH,
}


def beat_sign(beat: Fraction) -> str:
    """The note that stands for a beat of so many quarters; dotted where that fits; "beat" where no note does."""
    if beat in _VALUES:
        return _VALUES[beat]
    plain = beat * Fraction(2, 3)
    return f"{_VALUES[plain]}." if plain in _VALUES else say("beat")


def tempo_text(step: Step) -> str:
    """Tempo steps on one line: ♩ = 60, 72, 84."""
    tempi = ", ".join(map(str, step.tempo))
    return strung([beat_sign(step.beat), tempi], " = ") if step.tempo else ""


def tempo_brief(beat: Fraction, tempo: tuple[int, ...]) -> str:
    """Tempo steps for a narrow column: the first and the last where there are more than four."""
    shown = ", ".join(map(str, tempo)) if len(tempo) <= 4 else f"{tempo[0]} … {tempo[-1]}"
    return strung([beat_sign(beat), shown], " = ") if tempo else ""


def minutes_text(step: Step) -> str:
    """Minutes of one sitting, rounded, at least 1; empty where they are not reckoned."""
    return "" if step.minutes is None else str(max(1, round(step.minutes)))


def work_text(step: Step) -> str:
    """What to do in one sitting: tempo steps, times through at each, minutes; in a week each day has its own."""
    if not step.times:
        own = say("each day has its own below") if len(step.tempo) > 1 else ""
        return strung([tempo_text(step), own], " · ")
    if len(step.tempo) == 1:
        each = say_count("once", "{n} times", step.times)
    else:
        each = say_count("once at each tempo", "{n} times at each tempo", step.times)
    minutes = minutes_text(step)
    about = say_count("about {n} minute", "about {n} minutes", int(minutes)) if minutes else ""
    return strung([tempo_text(step), each, about], " · ")


MOST_BOXES = 8
"""boxes of a tempo step that are printed; of more one, with their number"""


def ladder_text(step: Step) -> tuple[tuple[str, str], ...]:
    """Each tempo step with a box for each time through; none where a week's table has them."""
    if not step.times:
        return ()
    boxes = boxes_text(step.times, MOST_BOXES)
    return tuple((strung([beat_sign(step.beat), str(tempo)], " = "), boxes) for tempo in step.tempo)


def boxes_text(times: int, most: int) -> str:
    """A box for each time through; of more than `most` one, with their number."""
    return "☐" * times if times <= most else f"☐ × {times}"


BOXES = say("A box is one time through. A sitting is every box once, from the slowest tempo up.")
"""what times and boxes stand for, where no minutes are printed"""

SITTING = say(
    "A box is one time through. A sitting is every box once, from the slowest tempo up; its minutes count them all, "
    "and half a minute to settle."
)
"""what times, boxes and minutes stand for, everywhere"""


SLOWEST_CLICK = 40
"""beats a minute at which a usual metronome begins; common practice"""


def clicks_text(steps: Iterable[Step]) -> str:
    """How slower tempi than a usual metronome shows are set on it; empty where there are none."""
    slow = [step for step in steps if step.tempo and min(step.tempo) < SLOWEST_CLICK]
    if not slow:
        return ""
    if slow[0].beat.numerator == 3:
        return say(
            "A tempo below {slowest}, where metronomes begin, is set at three times its figure: three clicks to a "
            "beat.",
            slowest=SLOWEST_CLICK,
        )
    return say(
        "A tempo below {slowest}, where metronomes begin, is set at twice its figure: two clicks to a beat.",
        slowest=SLOWEST_CLICK,
    )


def spots_text(steps: Sequence[Step], at: int, most: int | None = None) -> str:
    """Hard spots of one step in words: where, why, and what to do; at most so many of each step.

    The first is told on every page, as nobody turns pages at practice; a second place that an earlier step has is not.
    """
    told = {(spot.stretch, spot.clause) for step in steps[:at] for spot in step.spots[:most]}
    found: list[str] = []
    for spot in steps[at].spots[:most]:
        if not found:
            found.append(say("Loop {stretch} first: {reason}", stretch=spot.stretch, reason=spot.clause))
        elif (spot.stretch, spot.clause) not in told:
            found.append(say("Then loop {stretch}: {reason}", stretch=spot.stretch, reason=spot.clause))
    return strung(found)


def runs(numbers: Iterable[int]) -> str:
    """Rising numbers with neighbours drawn together: 1–3, 5, 7, 8."""
    found = neighbours(numbers)
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in found)


def places_text(numbers: tuple[int, ...], of: int) -> str:
    """Numbers out of 1 to `of` as briefly as they can be said: all, all but 3 and 9, 1–4, 7, or a dash for none."""
    lacking = [number for number in range(1, of + 1) if number not in numbers]
    if not numbers:
        return "–"
    if not lacking and of > 1:
        # for the translator: all variations of a book
        return say("all")
    return say("all but {numbers}", numbers=runs(lacking)) if len(lacking) <= 3 and of > 9 else runs(numbers)


def source_text(passage: Passage, *, titled: bool) -> str:
    """Where the passage comes from, for the reader: its bars, and its title and composer under another title."""
    named = ", ".join(filter(None, (passage.title, passage.composer))) if titled else ""
    bars = passage.cut and say("bars {bars}", bars=passage.cut.replace("-", "–"))
    return strung([named, bars], ", ")


def file_text(passage: Passage) -> str:
    """Where the passage was read from, for the teacher: file and part."""
    return strung([passage.source, passage.part and say("part {part}", part=passage.part)], ", ")
