"""The regimen: which studies, how often and how fast, in which order, on which days, and why.

The door of the room. `read_plan` and `dump_plan` turn plan files into plans and back, `choose` turns a line and a plan
into the regimen of a book, `week` into one of seven days or of several weeks; `handout` fits pages, `reissue` makes the
same regimen for another passage, `class_plans` gives each of a class a plan of their own.
"""

from __future__ import annotations

from engrave.regimen.courses import choose
from engrave.regimen.handout_room import Room, pages_needed
from engrave.regimen.handouts import handout, told_to_students
from engrave.regimen.log import Log, day_of, log_table, read_log
from engrave.regimen.plan_reader import read_plan
from engrave.regimen.reissuing import as_plan, reissue
from engrave.regimen.students import Summary, class_plans, summary
from engrave.regimen.studies import LOGGED, SAME, UNFIT
from engrave.regimen.usual import with_usual
from engrave.regimen.values import tempi_asked, terms_asked, text_asked
from engrave.regimen.week_grid import DayCell, grid
from engrave.regimen.weeks import week
from engrave.regimen.written import dump_plan, finished_plan, write_plan

__all__ = [
    "LOGGED",
    "SAME",
    "UNFIT",
    "DayCell",
    "Log",
    "Room",
    "Summary",
    "as_plan",
    "choose",
    "class_plans",
    "day_of",
    "dump_plan",
    "finished_plan",
    "grid",
    "handout",
    "log_table",
    "pages_needed",
    "read_log",
    "read_plan",
    "reissue",
    "summary",
    "tempi_asked",
    "terms_asked",
    "text_asked",
    "told_to_students",
    "week",
    "with_usual",
    "write_plan",
]
