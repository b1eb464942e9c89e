"""MusicXML for tests, written from short words, and passages shown in the same words.

A note is PITCH/VALUE as in tests.build ("E4/8.", chords with +, r for a rest); whatever else a test is about is put in
as raw XML.
"""

from __future__ import annotations

import io
import re
import zipfile
from fractions import Fraction

from engrave.model import Event, Note, Passage

DIVISIONS = 24
_NAMES = {0: "breve", 1: "whole", 2: "half", 4: "quarter", 8: "eighth", 16: "16th", 32: "32nd", 64: "64th"}
_PITCH = re.compile(r"([A-G])(##|bb|#|b)?(-?\d)\Z")
_ALTER = {None: 0, "#": 1, "##": 2, "b": -1, "bb": -2}
CLEF_8 = "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>"
CLEF_G = "<clef><sign>G</sign><line>2</line></clef>"
CLEF_TAB = "<clef><sign>TAB</sign><line>5</line></clef>"


def pitch(name: str) -> str:
    """A <pitch>."""
    match = _PITCH.match(name)
    assert match, name
    alter = _ALTER[match[2]]
    altered = f"<alter>{alter}</alter>" if alter else ""
    return f"<pitch><step>{match[1]}</step>{altered}<octave>{match[3]}</octave></pitch>"


def note(
    word: str,
    notations: str = "",
    *,
    voice: str = "1",
    staff: str = "",
    before: str = "",
    after: str = "",
    tuplet: tuple[int, int] = (1, 1),
    divisions: int = DIVISIONS,
) -> str:
    """One note, chord or rest. `before` goes before the pitch, `after` behind the type, `notations` on the first."""
    what, _, value = word.partition("/")
    kind, dots = int(value.rstrip(".")), value.count(".")
    quarters = (Fraction(4, kind) if kind else Fraction(8)) * (2 - Fraction(1, 2**dots)) * tuplet[1] / tuplet[0]
    duration = "" if "<grace" in before else f"<duration>{int(quarters * divisions)}</duration>"
    changed = ""
    if tuplet != (1, 1):
        figures = f"<actual-notes>{tuplet[0]}</actual-notes><normal-notes>{tuplet[1]}</normal-notes>"
        changed = f"<time-modification>{figures}</time-modification>"
    made = []
    for place, name in enumerate(what.split("+")):
        made.append(
            f"<note>{before}{'<chord/>' if place else ''}{'<rest/>' if name == 'r' else pitch(name)}{duration}"
            f"<voice>{voice}</voice><type>{_NAMES[kind]}</type>{'<dot/>' * dots}{changed}"
            f"{f'<staff>{staff}</staff>' if staff else ''}{after}"
            f"{f'<notations>{notations}</notations>' if notations and not place else ''}</note>"
        )
    return "".join(made)


def notes(words: str, **more: str) -> str:
    """Several notes with nothing special about them."""
    return "".join(note(word, **more) for word in words.split())  # type: ignore[arg-type]


def technical(inside: str) -> str:
    """Notations of fingers and strings."""
    return f"<technical>{inside}</technical>"


def attributes(
    *, metre: str = "4/4", fifths: int = 0, clef: str = CLEF_8, more: str = "", divisions: str = str(DIVISIONS)
) -> str:
    """The <attributes> of a first bar; an empty argument leaves its element out."""
    time = ""
    if metre:
        beats, unit = metre.split("/")
        time = f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>"
    split = f"<divisions>{divisions}</divisions>" if divisions else ""
    return f"<attributes>{split}<key><fifths>{fifths}</fifths></key>{time}{clef}{more}</attributes>"


def bar(inside: str, number: str = "1", more: str = "") -> str:
    """A <measure>."""
    return f'<measure number="{number}"{more}>{inside}</measure>'


def score(
    *bars: str,
    name: str = "Guitar",
    head: str = "",
    about: str = "",
    first: str | None = None,
    others: str = "",
    listed: str = "",
) -> bytes:
    """A score of one part from the insides of its bars, or from whole <measure> elements.

    `head` goes before the part list, `about` into the score-part, `first` before the notes of the first bar; `others`
    and `listed` are further parts and their entries.
    """
    begin = attributes() if first is None else first
    whole = []
    for index, inside in enumerate(bars):
        start = begin if index == 0 else ""
        if inside.startswith("<measure"):
            opened, _, rest = inside.partition(">")
            whole.append(f"{opened}>{start}{rest}")
        else:
            whole.append(bar(start + inside, str(index + 1)))
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"'
        ' "http://www.musicxml.org/dtds/partwise.dtd">'
        f'<score-partwise version="4.0">{head}<part-list><score-part id="P1"><part-name>{name}</part-name>{about}'
        f'</score-part>{listed}</part-list><part id="P1">{"".join(whole)}</part>{others}</score-partwise>'
    ).encode()


def packed(files: dict[str, bytes]) -> bytes:
    """A zip of these files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, data in files.items():
            made.writestr(name, data)
    return out.getvalue()


def container(path: str) -> bytes:
    """A container.xml that names `path`."""
    return f'<container><rootfiles><rootfile full-path="{path}"/></rootfiles></container>'.encode()


def shown(passage: Passage) -> str:
    """The music of a passage in the words of this module: voices divided by ;, bars by |."""
    return " | ".join(
        "; ".join(
            " ".join(_event(e) for e in passage.events if e.bar == index and e.voice == voice)
            for voice in passage.voices
            if any(e.bar == index and e.voice == voice for e in passage.events)
        )
        for index in range(len(passage.bars))
    )


def _event(event: Event) -> str:
    what = "+".join(_head(head) for head in event.notes) or ("s" if event.space else "r")
    value = "bar" if event.bar_rest else f"{event.value.kind}{'.' * event.value.dots}"
    over = "".join(f"({t.id}:{t.actual}:{t.normal})" for t in event.tuplets)
    before = "<" * event.grace + "/" * event.slash
    return f"{before}{what}/{value}{over}{''.join(f'!{mark}' for mark in event.marks)}"


def _head(head: Note) -> str:
    given = head.given
    marks = [given.string, given.fret, given.finger]
    placed = ":" + ".".join("" if m is None else str(m) for m in marks) if any(m is not None for m in marks) else ""
    name = str(head.pitch).replace("♯", "#").replace("♭", "b")
    return f"{'~' * head.tied_back}{name}{'x' * head.muted}{placed}{given.pluck}{given.stroke}{'~' * head.tied_on}"


def facts(passage: Passage) -> list[str]:
    """Everything but the notes that is not as in a plain bar of 4/4 without a title, a line each."""
    said: list[str] = []
    metre, key = "4/4", (0, "")
    for place in passage.bars:
        parts = []
        if f"{place.metre}{place.metre.sign}" != metre:
            metre = f"{place.metre}{place.metre.sign}"
            parts.append(metre)
        if (place.key.fifths, place.key.mode) != key:
            key = (place.key.fifths, place.key.mode)
            parts.append(f"key {key[0]} {key[1]}".strip())
        parts += [f"{place.length} quarters"] if place.length != place.metre.length else []
        parts += [f"from {place.offset}"] if place.offset else []
        parts += ["|:"] if place.repeat_start else []
        parts += [f":| {place.repeat_end}"] if place.repeat_end else []
        parts += [f"ending {place.ending}"] if place.ending else []
        parts += [place.barline] if place.barline != "single" else []
        if parts:
            said.append(f"bar {place.label}: {', '.join(parts)}")
    said += [f"{slur.kind} {slur.start}-{slur.stop}" for slur in passage.slurs]
    for found in passage.directions:
        span = f"{found.onset}" if found.end is None else f"{found.onset} to {found.end}"
        said.append(f"{found.kind} {found.text!r} at {span}" + (f", fret {found.fret}" if found.fret else ""))
    said += [f"tempo {passage.tempo}"] if passage.tempo else []
    said += ["tuning " + " ".join(map(str, passage.tuning))] if passage.tuning else []
    said += [f"capo {passage.capo}"] if passage.capo else []
    said += [f"{what} {text!r}" for what in ("title", "composer", "rights", "part") if (text := getattr(passage, what))]
    return said + [str(notice) for notice in passage.notices]
