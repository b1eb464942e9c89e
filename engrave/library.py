"""The five things the program makes, as functions from bytes to bytes; `help(engrave)` shows them.

    engrave.book, engrave.week, engrave.handout, engrave.reissue, engrave.export

All take the bytes of a file (`data`) and its `name`, by whose ending the kind is known: .musicxml, .xml, .mxl, .tab,
.txt, .abc, .mei, .krn, .mid, or .pdf for a book printed before, which brings its plan. `plan` is a `Plan`, or the text
(TOML) of one; empty: the defaults, or the plan of that book. `part`, `voice` and `bars` choose within a score as on the
command line: "Guitar" or "2", "1", "5-8". Nothing is read but the arguments and SOURCE_DATE_EPOCH, and nothing is
written: the same arguments give the same bytes. What is wrong with them raises EngraveError, whose `faults` say where.
"""

from __future__ import annotations

from datetime import date

from engrave import line
from engrave.batch import Order, Source
from engrave.batch import asked as read_both
from engrave.editions import make_handout, make_reissue, make_week, opened, written
from engrave.model import Passage, Plan
from engrave.regimen import dump_plan, read_log


def book(
    data: bytes,
    plan: Plan | str = "",
    *,
    name: str = "passage.musicxml",
    part: str = "",
    voice: str = "",
    bars: str = "",
) -> bytes:
    r"""The study book of a passage: a page for each variation.

    Args:
        data: a file with the passage.
        plan: a Plan, or the text of one; empty for the defaults.
        name: of the file; its ending says of what kind it is.
        part: name of a part, or its number from 1; empty: the only one.
        voice: number of a voice from 1; empty: all.
        bars: bars as printed, such as "5-8"; empty: all.

    Returns:
        A PDF of A4 or Letter pages, as the plan says.

    Raises:
        EngraveError: what cannot be read, held, chosen or printed; a line for each fault.

    >>> import engrave
    >>> music = b"\n".join([b"e|-0-1-3-0-|", *(name + b"|---------|" for name in (b"B", b"G", b"D", b"A", b"E"))])
    >>> plan = '[[study]]\npluck = "i-m"\n[[study]]\npluck = "a-m-i"\n'
    >>> engrave.book(music, plan, name="line.tab")[:5]
    b'%PDF-'
    >>> engrave.book(music, '[[study]]\npluck = "a-m-j"\n', name="line.tab")
    Traceback (most recent call last):
    ...
    engrave.model.errors.PlanError: plan, line 2: pluck 'a-m-j' is not known (did you mean 'a-m-i' or ...
    """
    return line.press(line.make(*_asked(data, plan, name, cut=(part, voice, bars))))


def week(
    data: bytes,
    plan: Plan | str = "",
    *,
    name: str = "passage.musicxml",
    part: str = "",
    voice: str = "",
    bars: str = "",
    start: date | None = None,
    weeks: int = 1,
    log: str = "",
) -> bytes:
    """Weeks of practice as a table of days, and the variations they need, once each.

    Args:
        data: a file with the passage.
        plan: a Plan, or the text of one; its `minutes` are minutes of practice a day.
        name: of the file; its ending says of what kind it is.
        part: name of a part, or its number from 1; empty: the only one.
        voice: number of a voice from 1; empty: all.
        bars: bars as printed, such as "5-8"; empty: all.
        start: the first day; None prints the names of the days alone.
        weeks: how many, one after another.
        log: text (CSV) of what was practised before, with the columns study, day, tempo, clean.

    Returns:
        A PDF.

    Raises:
        EngraveError: what cannot be read, held, chosen or printed; a line for each fault.
    """
    passage, given = _asked(data, plan, name, cut=(part, voice, bars))
    done = read_log(log, "log") if log else None
    return line.press(make_week(passage, given, start=start, log=done, weeks=weeks))


def handout(
    data: bytes,
    plan: Plan | str = "",
    *,
    name: str = "passage.musicxml",
    part: str = "",
    voice: str = "",
    bars: str = "",
    pages: int = 2,
) -> bytes:
    """As many studies of a passage as fit so many pages, several to a page.

    Args:
        data: a file with the passage.
        plan: a Plan, or the text of one; the studies it names are printed, in its order.
        name: of the file; its ending says of what kind it is.
        part: name of a part, or its number from 1; empty: the only one.
        voice: number of a voice from 1; empty: all.
        bars: bars as printed, such as "5-8"; empty: all.
        pages: 1 or more.

    Returns:
        A PDF of at most `pages` pages.

    Raises:
        EngraveError: also where the studies the plan insists on do not fit; it says how many pages they need.
    """
    return make_handout(*_asked(data, plan, name, cut=(part, voice, bars)), pages=pages)[1]


def reissue(
    old: bytes,
    data: bytes,
    plan: Plan | str = "",
    *,
    name: str = "passage.musicxml",
    part: str = "",
    voice: str = "",
    bars: str = "",
    form: str = "",
    pages: int = 2,
    start: date | None = None,
) -> bytes:
    """The studies of a printed book for another passage.

    Args:
        old: the PDF of a book, week or handout this program printed.
        data: a file with the new passage.
        plan: a Plan, or the text of one; empty: that of the old book.
        name: of the new file; its ending says of what kind it is.
        part: name of a part, or its number from 1; empty: the only one.
        voice: number of a voice from 1; empty: all.
        bars: bars as printed, such as "5-8"; empty: all.
        form: "book", "handout" or "week"; empty: what the old one is.
        pages: of a handout.
        start: the first day of a week.

    Returns:
        A PDF; what no longer applies, and what took its place, is told in it.

    Raises:
        EngraveError: also for a PDF that is no book of ours.
    """
    before = opened(old, "old book")
    passage, given = _asked(data, plan or before.plan, name, cut=(part, voice, bars))
    return make_reissue(before, passage, given, form=form, pages=pages, start=start)[1]


def export(
    data: bytes,
    plan: Plan | str = "",
    *,
    name: str = "passage.musicxml",
    part: str = "",
    voice: str = "",
    bars: str = "",
    form: str = "musicxml",
    count_in: int = 0,
    click: bool = False,
    channels: bool = False,
    tempo: tuple[int, ...] = (),
) -> dict[str, bytes]:
    """Each variation of a passage as a file for other programs.

    Args:
        data: a file with the passage.
        plan: a Plan, or the text of one; `tab = true` under `[book]` adds files of tablature to MusicXML.
        name: of the file; its ending says of what kind it is.
        part: name of a part, or its number from 1; empty: the only one.
        voice: number of a voice from 1; empty: all.
        bars: bars as printed, such as "5-8"; empty: all.
        form: "musicxml", "mxl" (compressed) or "midi".
        count_in: bars of clicks before the music, in MIDI.
        click: whether every beat is clicked, in MIDI.
        channels: whether each string has a MIDI channel of its own.
        tempo: steps in beats a minute, in MIDI; empty: those its page prints.

    Returns:
        File name → content, in practice order; the first holds all the variations one after another.

    Raises:
        EngraveError: what cannot be read, held, chosen or written; a line for each fault.
    """
    given = _asked(data, plan, name, cut=(part, voice, bars))
    return written(*given, form=form, count_in=count_in, click=click, channels=channels, tempo=tempo)


def _asked(data: bytes, plan: Plan | str, name: str, *, cut: tuple[str, str, str]) -> tuple[Passage, Plan]:
    text = plan if isinstance(plan, str) else dump_plan(plan)
    part, voice, bars = cut
    order = Order(plan=text or None, part=part, voice=voice, bars=bars)
    return read_both(order, Source(name=name, data=data))
