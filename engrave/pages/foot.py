"""The foot of a variation page as one picture: neck, work of each finger, accents coming round, tempo ladder, log."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice

from engrave.model import Event, Plate, Step, Variation
from engrave.pages.bars import HEAD, ROW, Counts, draw_bars, hand_bars
from engrave.pages.days import WeekLines, draw_strips, draw_week, strips_height
from engrave.pages.drawn import Drawing, box, line
from engrave.pages.layout import BAND, LOG_HEAD, LOG_ROW
from engrave.pages.neck import draw_neck, neck_height
from engrave.pages.words import beat_sign, finger_name

RUNGS = 6
"""most tempo steps in one column of the ladder"""
BOXES = 6
"""most boxes of a rung"""
CYCLE = 13.0
"""height of the picture of accents coming round"""
MOST_NOTES = 24
"""longest round that is drawn"""
_GAP = 9.0
"""mm between columns"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Foot:
    """What the foot of one page shows."""

    variation: Variation
    step: Step
    little: str
    """the letter that stands for the little finger"""
    width: float
    weeks: tuple[WeekLines, ...] = ()
    """in a week, or several: the days on which the page comes; they take the place of the ladder"""

    @property
    def bars(self) -> tuple[tuple[str, Counts], ...]:
        """Heading and finger → notes, for each hand that has work."""
        return hand_bars(self.variation.figures, self.little)

    @property
    def cycle(self) -> tuple[Event, ...]:
        """The plucked notes of one round of pattern and accents; empty where there is none worth drawing."""
        figures = self.variation.figures
        notes = figures.accent_round or figures.pattern_round or 0
        if not notes > max(2, len(self.variation.cycle)) * (not figures.accent_order) or notes > MOST_NOTES:
            return ()
        plucked = (e for e in self.variation.passage.events if e.voice == 1 and any(n.stroke for n in e.notes))
        events = tuple(islice(plucked, notes))
        return events if len(events) == notes else ()

    @property
    def height(self) -> float:
        """Height in mm without neck and log."""
        rows = max((len(counts) for _, counts in self.bars), default=0)
        rungs = min(len(self.step.tempo), RUNGS)
        beside = self.weeks[0].height if self.weeks else HEAD + rungs * ROW
        return max(HEAD + max(rows, 1) * ROW, beside) + (CYCLE if self.cycle else 0) + strips_height(self.weeks[1:], 3)

    def plate(self, *, neck: bool, log: int) -> Plate:
        """The picture, with the neck above and `log` lines below where asked for."""
        above = neck_room(self.variation) if neck else 0.0
        below = LOG_HEAD + log * LOG_ROW if log else 0.0
        drawing = Drawing(width=self.width, height=above + self.height + below)
        said = [draw_neck(drawing, self.variation)] if neck else []
        wide = (self.width - 2 * _GAP) / 3
        for index, (heading, counts) in enumerate(self.bars):
            said.append(draw_bars(drawing, heading, counts, x=index * (wide + _GAP), y=above, width=wide))
        columns = tuple(index * (wide + _GAP) for index in range(3))
        further = self.weeks[1:]
        end = above + self.height - strips_height(further, 3)
        if self.weeks:
            said.append(draw_week(drawing, columns[2], above, self.weeks[0]))
        else:
            said.append(_ladder(drawing, columns[2], above, wide, self.step))
        if self.cycle:
            said.append(self._draw_cycle(drawing, end - CYCLE))
        said += draw_strips(drawing, end, further, columns)
        if log:
            said.append(_log(drawing, above + self.height, log))
        return drawing.plate(" ".join(said))

    def _draw_cycle(self, drawing: Drawing, top: float) -> str:
        """Letters of one round, accents over them, brackets under the beats."""
        events = self.cycle
        drawing.letter("One round", 0, top + 7.6, 3.2, face="italic", at="start")
        pitch = min(6.5, (drawing.width - 22) / len(events))
        beats: list[list[float]] = []
        said, last = [], None
        for index, event in enumerate(events):
            x = 22 + (index + 0.5) * pitch
            letter = finger_name(next(n.stroke.finger for n in event.notes if n.stroke), self.little)
            drawing.letter(letter, x, top + 7.6, 4.2, face="italic")
            accent = bool(self.variation.figures.accent_round) and "accent" in event.marks
            if accent:
                drawing.marks += [
                    line(x - 1.2, top + 2, x + 1.2, top + 2.8, 0.25),
                    line(x - 1.2, top + 3.6, x + 1.2, top + 2.8, 0.25),
                ]
            said.append(f"{letter} accented" if accent else letter)
            beat = _beat_of(self.variation, event)
            if beat == last:
                beats[-1].append(x)
            else:
                beats.append([x])
            last = beat
        for xs in beats:
            low, start, end = top + 10.2, xs[0] - 1.6, xs[-1] + 1.6
            drawing.marks.append(line(start, low, end, low, 0.2))
            drawing.marks += [line(e, low, e, low - 0.9, 0.2) for e in (start, end)]
        return f"One round of the pattern, bracketed by beats: {', '.join(said)}."


def neck_room(variation: Variation) -> float:
    """Room in mm that the neck takes at the top of the foot."""
    return neck_height(variation.instrument) + BAND


def _beat_of(variation: Variation, event: Event) -> tuple[int, int]:
    bar = variation.passage.bars[event.bar]
    return event.bar, int((event.onset - bar.onset + bar.offset) / bar.metre.beat)


def _ladder(drawing: Drawing, x: float, y: float, width: float, step: Step) -> str:
    """A rung for each tempo step, the slowest first, with a box for each time through."""
    times = "once each" if step.times == 1 else f"{step.times} times each"
    drawing.letter(f"Tempo steps, {times}", x, y + 3.2, 3.2, face="italic", at="start")
    columns = [step.tempo[i : i + RUNGS] for i in range(0, len(step.tempo), RUNGS)]
    boxes = step.times if step.times <= BOXES and len(columns) == 1 else 1
    label = 17.0
    pitch = min(5.6, (width - label) / max(1, boxes))
    for column, steps in enumerate(columns):
        left = x + column * width / 2
        for rung, tempo in enumerate(steps):
            base = y + HEAD + rung * ROW + 3.4
            drawing.letter(f"{beat_sign(step.beat)} = {tempo}", left, base, 3.7, at="start")
            for index in range(boxes):
                drawing.marks.append(box(left + label + index * pitch, base - 3.2, 3.6, 3.6, 0.22))
    said = ", ".join(map(str, step.tempo))
    return f"Tempo steps: {said}; {times}."


def _log(drawing: Drawing, top: float, rows: int) -> str:
    """Ruled lines for what was done."""
    base = top + LOG_HEAD - 1.5
    for text, x in (("date", 0.0), ("tempo", 24.0), ("clean times", 44.0), ("what to watch next time", 70.0)):
        drawing.letter(text, x, base, 3.2, face="italic", at="start")
    for row in range(rows + 1):
        y = top + LOG_HEAD + row * LOG_ROW - 0.2
        drawing.marks.append(line(0, y, drawing.width, y, 0.12))
    return f"{rows} empty lines for a log: date, tempo, clean times, what to watch next time."
