"""The foot of a page as one picture: neck, tempo ladder, log, and room for the teacher’s hand."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from engrave.model import Plate, Step, Variation
from engrave.model.said import say, say_count, strung
from engrave.pages.day_strips import WeekLines, columns_of, draw_strips, strips_height
from engrave.pages.drawn import Drawing, box, line
from engrave.pages.fonts import width_mm
from engrave.pages.layout import BAND, LADDER, LOG_HEAD, LOG_ROW, log_height
from engrave.pages.neck_picture import draw_neck, neck_height
from engrave.pages.words import beat_sign

BOXES = 8
"""most boxes of a tempo step; of more one is drawn, with their number"""
PITCH = 5.2
"""mm from box to box"""
_TEACHER = 0.34
"""share of the width that is the teacher's"""
_TIMES = 8.0
"""mm of the number of boxes, where it is said"""
_GAP = 6.0
"""mm between tempo steps, and between log and teacher"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Foot:
    """What the foot of one page shows."""

    variation: Variation
    step: Step
    width: float
    language: str = "en"
    turned: bool = False
    """the neck as a left-handed player sees it"""
    weeks: tuple[WeekLines, ...] = ()
    """in a week, or several: the days on which the page comes; they take the place of the ladder"""

    @property
    def ladder(self) -> float:
        """Height of the ladder, or of the days, in mm."""
        return strips_height(self.weeks, len(self._columns())) if self.weeks else len(self._rows()) * LADDER

    def _columns(self) -> tuple[float, ...]:
        return columns_of(self.weeks, self.width, self.language)

    def plate(self, *, neck: bool, ladder: bool, log: int) -> Plate:
        """The picture: what is asked for, one under the other, `log` lines at the bottom."""
        above = neck_room(self.variation) if neck else 0.0
        steps = self.ladder if ladder else 0.0
        drawing = Drawing(width=self.width, height=above + steps + log_height(log), language=self.language)
        said = [draw_neck(drawing, self.variation, turned=self.turned)] if neck else []
        if steps and self.weeks:
            said += draw_strips(drawing, above, self.weeks, self._columns())
        elif steps:
            said.append(self._draw_ladder(drawing, above))
        said.append(_log(drawing, above + steps, log))
        return drawing.plate(strung(said))

    def _boxes(self) -> int:
        """Boxes of each step; in a week the table has them."""
        return self.step.times if self.step.times <= BOXES else 1

    def _rows(self) -> list[tuple[int, ...]]:
        """The tempo steps by row, slowest first: as many rows as they need, evenly filled."""
        tempo = self.step.tempo
        if not tempo:
            return []
        room = max(1, int((self.width + _GAP) // self._wide()))
        each = ceil(len(tempo) / ceil(len(tempo) / room))
        return [tempo[start : start + each] for start in range(0, len(tempo), each)]

    def _wide(self) -> float:
        """Room for one tempo step with its boxes, in mm."""
        more = _TIMES if self.step.times > BOXES else 0.0
        return self._label() + self._boxes() * PITCH + more + _GAP

    def _label(self) -> float:
        """Room for the longest of "♩. = 144" in mm."""
        return 8.0 + max(width_mm(f" = {tempo}", 10.5) for tempo in self.step.tempo)

    def _draw_ladder(self, drawing: Drawing, top: float) -> str:
        """A rung for each tempo step, the slowest first, with a box for each time through."""
        label, boxes = self._label(), self._boxes()
        wide = self._wide()
        for row, steps in enumerate(self._rows()):
            base = top + row * LADDER + 3.9
            for rung, tempo in enumerate(steps):
                left = rung * wide
                drawing.letter(strung([beat_sign(self.step.beat), str(tempo)], " = "), left, base, 3.7, at="start")
                for index in range(boxes):
                    drawing.marks.append(box(left + label + index * PITCH, base - 3.3, 3.8, 3.8, 0.22))
                if self.step.times > BOXES:
                    drawing.letter(f"× {self.step.times}", left + label + boxes * PITCH, base, 3.7, at="start")
        step = self.step
        tempi = ", ".join(map(str, step.tempo))
        if not step.times:
            return say("Tempo steps: {tempi}; see the week.", tempi=tempi)
        return say_count(
            "Tempo steps: {tempi}; once each.", "Tempo steps: {tempi}; {n} times each.", step.times, tempi=tempi
        )


def neck_room(variation: Variation) -> float:
    """Room in mm that the neck takes at the top of the foot."""
    return neck_height(variation.instrument) + BAND


def _log(drawing: Drawing, top: float, rows: int) -> str:
    """Ruled lines for what was done, and a frame for what the teacher writes."""
    frame = drawing.width * _TEACHER
    right = drawing.width - frame - _GAP
    base = top + LOG_HEAD - 1.8
    for text, x in ((say("date"), 0.0), (say("tempo"), 20.0), (say("clean"), 36.0), (say("what to watch"), 52.0)):
        drawing.letter(text, x, base, 3.2, face="italic", at="start")
    for row in range(rows + 1):
        y = top + LOG_HEAD + row * LOG_ROW - 0.2
        drawing.marks.append(line(0, y, right, y, 0.12))
    drawing.marks.append(box(right + _GAP, top + 0.2, frame - 0.2, log_height(rows) - 0.4, 0.18))
    drawing.letter(say("teacher"), right + _GAP + 2.0, base, 3.2, face="italic", at="start")
    return say_count(
        "{n} empty line for a log: date, tempo, clean times, what to watch; and room for the teacher’s hand.",
        "{n} empty lines for a log: date, tempo, clean times, what to watch; and room for the teacher’s hand.",
        rows,
    )
