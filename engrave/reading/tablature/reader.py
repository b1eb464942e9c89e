r"""Text tablature, as guitarists type it: lines of dashes and fret numbers.

Grammar
=======
**Strings.** A system is one line a string, the highest on top, without blank lines between; as many lines as the
tuning has strings. A line is an optional label (`e`, `B`, `F#`, `D`, a number; then `|` or `-`) and the music: `-` is
time, `|` a bar line (over all strings), `||` a double one, `|:` and `:|` a repeat; spaces count as dashes. All lines of
a system are equally long, counted from behind the label. Systems follow each other; any other line is a comment.

**Notes.** A number is a fret, 0 the open string, counted from the capo; two digits side by side are one fret. Numbers
one above the other start together. `x` is a damped string. `5h7`, `7p5`, `5/7`, `7\5`, `5s7`, `5^7` join a note to the
one before on its string: hammer-on, pull-off, slide, slur. `(5)` is a note that sounds on where the same fret was just
played on the string, else a plain note. `~` and other signs for vibrato, bends, harmonics are left out with a notice.

**Header.** `key: value` lines above the first system: title, composer, rights, source; tuning (a name such as drop-d,
or the strings from low to high: D A D G B E, or D2 A2 D3 G3 B3 E4); capo (fret); metre (3/4, 6/8, 3+2/8, C, C|); key
(A minor, Am, F# major, none); column (value of one column, such as 1/16); tempo (beats a minute, or 1/4 = 96); pickup
(length of the first bar, such as 1/4). metre, key and column may change between systems. Without a tuning the labels
tell it, else six lines are standard tuning and seven have a low B.

**Time**, by the first of these that is there:

1. a rhythm row right above the system, each word above its note: w h q e s t (whole to thirty-second), dots, then 3 5
   6 7 9 for a tuplet (e3 e3 e3); `q+e` ties two values, `+q` holds the notes before, a word above no note is a rest,
   `g` a grace note. Bars must add up to the metre; a first bar that is short is a pickup.
2. `column`: a bar has metre / column columns; one dash behind and before a bar line is free.
3. the spacing: the columns of a bar fill the metre, in the widest even step that meets all its notes; one or two dashes
   behind a bar line are free. Where no even step fits, the notes are alike if that can be written, else they go to the
   nearest sixteenths; a notice says so.

A note lasts until the next one or the end of the bar; a bar of dashes is a rest.

**Hands.** Right below the system, `f:` and fretting digits, `p:` and plucking letters p i m a c, each below its note;
in a chord from the lowest string up (13, pim); digits of open strings and letters of slurred notes may be left out.

Lengths are quarters; pitches sound; lines and columns count from 1.
"""

from __future__ import annotations

from engrave.model import Passage, ReadError
from engrave.reading.limits import LIMITS, Limits
from engrave.reading.tablature.page import scan
from engrave.reading.tablature.to_passage import assemble
from engrave.reading.tablature.typed import Findings


def read_tablature(text: str, name: str, limits: Limits = LIMITS) -> Passage:
    """The passage a text tablature holds; `name` is the file's name for messages.

    Every note carries string and fret as the source's marks. Raises ReadError with all faults of the text.
    """
    findings = Findings(name, [], {}, limits=limits)
    page = scan(text, findings)
    if not page.bars and not findings.faults:
        findings.fault("no tablature is found", "a system has one line of dashes and fret numbers for each string")
    passage = assemble(page, findings)
    if passage is None:
        raise ReadError(*findings.faults)
    return passage
