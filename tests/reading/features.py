"""One small MusicXML file for each feature of the standard a guitarist's file may hold: name → file.

What becomes of each stands in test_features.py.
"""

from __future__ import annotations

from tests.reading.xml import (
    CLEF_8,
    CLEF_G,
    CLEF_TAB,
    attributes,
    bar,
    note,
    notes,
    pitch,
    score,
    technical,
)

_HALF_BAR = "E4/4 F4/4 G4/2"
_BACK = "<backup><duration>96</duration></backup>"


def direction(inside: str, more: str = "") -> str:
    """A <direction> with this direction type."""
    return f"<direction><direction-type>{inside}</direction-type>{more}</direction>"


def words(text: str, more: str = "") -> str:
    """A <direction> of words."""
    return direction(f"<words>{text}</words>", more)


def tech(word: str, inside: str) -> str:
    """A note with a technical indication."""
    return note(word, technical(inside))


def _slide(kind: str) -> str:
    return note("E4/4", f'<{kind} type="start"/>') + note("G4/4", f'<{kind} type="stop"/>') + notes("A4/2")


def _played(tag: str) -> str:
    first = tech("E4/4", f'<{tag} number="1" type="start">x</{tag}>')
    return first + tech("G4/4", f'<{tag} number="1" type="stop"/>') + notes("A4/2")


def _tuplet(kind: str, number: str = "1", figures: str = "") -> str:
    return f'<tuplet type="{kind}" number="{number}">{figures}</tuplet>'


def _figures(actual: int, normal: int) -> str:
    return (
        f"<tuplet-actual><tuplet-number>{actual}</tuplet-number></tuplet-actual>"
        f"<tuplet-normal><tuplet-number>{normal}</tuplet-number></tuplet-normal>"
    )


_NESTED = "".join(
    (
        note("E4/8", _tuplet("start", "1", _figures(3, 2)), tuplet=(3, 2), divisions=72),
        note("F4/16", _tuplet("start", "2", _figures(3, 2)), tuplet=(9, 4), divisions=72),
        note("G4/16", tuplet=(9, 4), divisions=72),
        note("A4/16", _tuplet("stop", "2"), tuplet=(9, 4), divisions=72),
        note("B4/8", _tuplet("stop", "1"), tuplet=(3, 2), divisions=72),
    )
)
_TUNING = "".join(
    f'<staff-tuning line="{line}"><tuning-step>{step}</tuning-step>'
    f"<tuning-octave>{octave}</tuning-octave></staff-tuning>"
    for line, (step, octave) in enumerate((("D", 2), ("A", 2), ("D", 3), ("G", 3), ("B", 3), ("E", 4)), start=1)
)
_LUTE = _TUNING.replace("<tuning-step>G</tuning-step>", "<tuning-step>F</tuning-step><tuning-alter>1</tuning-alter>")
_TWO_STAVES = (
    "<attributes><divisions>24</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type>"
    '</time><staves>2</staves><clef number="1"><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change>'
    '</clef><clef number="2"><sign>TAB</sign><line>5</line></clef></attributes>'
)
_TAB_NOTES = "".join(
    note(word, technical(f"<string>{string}</string><fret>{fret}</fret>"), voice="5", staff="2")
    for word, string, fret in (("E4/4", 2, 5), ("F4/4", 1, 1), ("G4/2", 2, 8))
)
_PIANO = _TWO_STAVES.replace("<sign>TAB</sign><line>5</line>", "<sign>F</sign><line>4</line>")

FEATURES: dict[str, bytes] = {
    # pitches
    "a natural scale": score(notes("C4/4 D4/4 E4/4 F4/4")),
    "sharps, flats and double signs": score(notes("F#4/4 Bb3/4 F##4/4 Bbb3/4")),
    "a sign without alter": score(
        notes("F4/2").replace("</note>", "<accidental>sharp</accidental></note>") + notes("G4/2")
    ),
    "a guitar on a plain clef": score(notes("E4/2 E5/2"), first=attributes(clef=CLEF_G)),
    "a guitar on a plain clef at sounding pitch": score(notes("E2/2 E4/2"), first=attributes(clef=CLEF_G)),
    "a violin on a plain clef": score(notes("E4/2 E5/2"), first=attributes(clef=CLEF_G), name="Violin"),
    "plucking letters without a name": score(
        tech("E4/2", "<pluck>p</pluck>") + notes("E5/2"), first=attributes(clef=CLEF_G), name="Music"
    ),
    "open-string digits without a name": score(
        tech("E5/2", "<fingering>0</fingering>") + notes("C5/2"), first=attributes(clef=CLEF_G), name="Music"
    ),
    "transposed by an octave": score(
        notes("E4/2 E5/2"),
        first=attributes(
            clef=CLEF_G, more="<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
        ),
    ),
    "a clarinet in B flat": score(
        notes("C5/2 F#5/2"),
        first=attributes(
            clef=CLEF_G, fifths=2, more="<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
        ),
        name="Clarinet",
    ),
    "a transposition that changes": score(
        notes("C5/1"),
        "<attributes><transpose><diatonic>-5</diatonic><chromatic>-9</chromatic></transpose></attributes>"
        + notes("C5/1"),
        first=attributes(clef=CLEF_G, more="<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"),
        name="Clarinet",
    ),
    "octave lines": score(
        direction('<octave-shift type="down" size="8"/>')
        + notes("E5/2")
        + direction('<octave-shift type="stop"/>')
        + notes("E4/2")
    ),
    "a bass clef": score(
        notes("E2/2 B2/2"), first=attributes(clef="<clef><sign>F</sign><line>4</line></clef>"), name="Cello"
    ),
    # values
    "values and dots": score(notes("E4/2. E4/8. E4/16"), notes("E4/4.. E4/16 E4/2")),
    "three dots": score(notes("E4/2... F4/16")),
    "a breve": score(notes("E4/0"), first=attributes(metre="8/4")),
    "durations without types": score(
        "<note>"
        + pitch("E4")
        + "<duration>60</duration></note>"
        + "<note>"
        + pitch("F4")
        + "<duration>36</duration></note>"
    ),
    "types without durations": score("".join(f"<note>{pitch('E4')}<type>half</type></note>" for _ in range(2))),
    "divisions that change": score(
        notes("E4/2") + "<attributes><divisions>1</divisions></attributes>" + note("F4/2", divisions=1)
    ),
    "fractions of a division": score(
        f"<note>{pitch('E4')}<duration>0.5</duration><type>eighth</type></note>" * 8, first=attributes(divisions="1")
    ),
    "a triplet": score(
        note("E4/8", _tuplet("start"), tuplet=(3, 2))
        + note("F4/8", tuplet=(3, 2))
        + note("G4/8", _tuplet("stop"), tuplet=(3, 2))
        + notes("A4/2.")
    ),
    "triplets without brackets": score("".join(note(w, tuplet=(3, 2)) for w in ("E4/8 " * 6).split()) + notes("A4/2")),
    "a triplet rounded by its divisions": score(
        "".join(note("E4/8", tuplet=(3, 2), divisions=10) for _ in range(3)) + note("A4/2.", divisions=10),
        first=attributes(divisions="10"),
    ),
    "a quintuplet": score(
        "".join(note("E4/16", tuplet=(5, 4), divisions=20) for _ in range(5)) + note("A4/2.", divisions=20),
        first=attributes(divisions="20"),
    ),
    "a sextuplet": score("".join(note("E4/16", tuplet=(6, 4)) for _ in range(6)) + notes("A4/2.")),
    "a triplet in a triplet": score(
        _NESTED + note("A4/2.", divisions=72),
        first=attributes(divisions="72"),
    ),
    # rests
    "rests": score(notes("r/4 E4/4 r/8 E4/8 r/4")),
    "a rest for the whole bar": score(
        '<note><rest measure="yes"/><duration>72</duration></note>', notes("E4/2."), first=attributes(metre="3/4")
    ),
    "a whole rest in three-four": score(
        notes("r/1").replace("96", "72"), notes("E4/2."), first=attributes(metre="3/4")
    ),
    "a hidden rest": score(notes("E4/2") + notes("r/2").replace("<note>", '<note print-object="no">')),
    "a bar without notes": score("", notes("E4/1")),
    # voices
    "two voices": score(notes("E4/2 F4/2") + _BACK + notes("E2/1", voice="2")),
    "two voices without numbers": score((notes("E4/1") + _BACK + notes("E2/1")).replace("<voice>1</voice>", "")),
    "a second voice that comes in late": score(
        notes("E4/1") + _BACK + "<forward><duration>48</duration></forward>" + notes("E2/2", voice="2")
    ),
    "a second voice that stops early": score(notes("E4/1") + _BACK + notes("E2/4", voice="2")),
    "a voice in one bar only": score(notes("E4/1"), notes("F4/1") + _BACK + notes("F2/2 A2/2", voice="2")),
    "a chord": score(notes("E2+B3+G4/2 A2+E4/2")),
    "a chord from the top down": score(notes("G4+B3+E2/1")),
    "a tie": score(
        note("E4/2", '<tied type="start"/>').replace("<voice>", '<tie type="start"/><voice>')
        + note("E4/2", '<tied type="stop"/>').replace("<voice>", '<tie type="stop"/><voice>')
    ),
    "a tie that is only drawn": score(note("E4/2", '<tied type="start"/>') + note("E4/2", '<tied type="stop"/>')),
    "ties of one head of a chord": score(
        note("E4+G4/2", '<tied type="start"/>') + note("E4+A4/2", '<tied type="stop"/>')
    ),
    "a let-ring tie": score(note("E4/2", '<tied type="let-ring"/>') + notes("F4/2")),
    "a tie that leads nowhere": score(note("E4/2", '<tied type="start"/>') + notes("F4/2")),
    # graces
    "a grace note": score(note("F4/8", before='<grace slash="yes"/>') + notes("E4/1")),
    "two graces and a chord": score(
        note("F4/16", before="<grace/>") + note("G4+B4/16", before="<grace/>") + notes("E4/1")
    ),
    "a grace behind the last note": score(notes("E4/1") + note("F4/16", before='<grace steal-time-previous="10"/>')),
    # bars
    "a pickup": score(bar(notes("E4/4"), "0", ' implicit="yes"'), bar(notes("F4/1"), "1"), bar(notes("G4/2."), "2")),
    "a pickup that is counted": score(notes("E4/4"), notes("F4/1")),
    "an incomplete last bar": score(notes("E4/1"), notes("F4/2.")),
    "a bar cut by a repeat": score(
        notes("E4/1"),
        notes("F4/2.") + '<barline location="right"><repeat direction="backward"/></barline>',
        notes("G4/4"),
        notes("A4/1"),
    ),
    "a bar in two halves": score(
        bar(notes("E4/1"), "1"),
        bar(notes("E4/2"), "2"),
        bar(notes("F4/2"), "X1", ' implicit="yes"'),
        bar(notes("G4/1"), "3"),
    ),
    "a bar too short": score(notes("E4/1"), notes("F4/2."), notes("G4/1"), notes("E4/1")),
    "a bar too long": score(notes("E4/1"), notes("F4/1 G4/4"), notes("E4/1")),
    "a change of metre": score(
        notes("E4/1"), "<attributes><time><beats>6</beats><beat-type>8</beat-type></time></attributes>" + notes("F4/2.")
    ),
    "an added metre": score(notes("E4/4. F4/4"), first=attributes(metre="3+2/8")),
    "two metres added": score(
        notes("E4/4. F4/4"),
        first=attributes(metre="").replace(
            "</key>",
            "</key><time><beats>3</beats><beat-type>8</beat-type><beats>1</beats><beat-type>4</beat-type></time>",
        ),
    ),
    "common time": score(notes("E4/1"), first=attributes().replace("<time>", '<time symbol="common">')),
    "cut time": score(notes("E4/1"), first=attributes(metre="2/2").replace("<time>", '<time symbol="cut">')),
    "no metre": score(notes("E4/4 F4/4 G4/4"), notes("E4/2."), first=attributes(metre="")),
    "senza misura": score(
        notes("E4/4 F4/4 G4/4 A4/4 B4/4"),
        first=attributes(metre="").replace("</key>", "</key><time><senza-misura/></time>"),
    ),
    "a metre inside a bar": score(
        notes("E4/2")
        + "<attributes><time><beats>2</beats><beat-type>4</beat-type></time></attributes>"
        + notes("F4/2"),
        notes("G4/2"),
    ),
    "a change of key": score(
        notes("E4/1"), "<attributes><key><fifths>3</fifths><mode>minor</mode></key></attributes>" + notes("F#4/1")
    ),
    "a key of single signs": score(
        notes("E4/1"),
        first=attributes().replace("<fifths>0</fifths>", "<key-step>F</key-step><key-alter>1</key-alter>"),
    ),
    "repeats and endings": score(
        '<barline location="left"><repeat direction="forward"/></barline>' + notes("E4/1"),
        '<barline location="left"><ending number="1" type="start"/></barline>'
        + notes("F4/1")
        + '<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>',
        '<barline location="left"><ending number="2" type="start"/></barline>'
        + notes("G4/1")
        + '<barline location="right"><ending number="2" type="discontinue"/></barline>',
    ),
    "bar lines": score(
        *(
            notes("E4/1") + f'<barline location="right"><bar-style>{style}</bar-style></barline>'
            for style in ("light-light", "dashed", "dotted", "none", "light-heavy")
        )
    ),
    "segno and coda": score(direction("<segno/>") + notes("E4/1"), notes("F4/1") + direction("<coda/>")),
    "numbers that are not numbers": score(bar(notes("E4/1"), "12a"), bar(notes("F4/1"), "X1"), bar(notes("G4/1"), "")),
    # fingers and strings
    "fretting digits": score(
        tech("E4/4", "<fingering>0</fingering>")
        + tech("F4/4", "<fingering>1</fingering>")
        + tech("G4/2", "<fingering> 3 </fingering>")
    ),
    "digits of a chord on its first head": score(
        tech("E3+B3+G4/1", "<fingering>2</fingering><fingering>0</fingering><fingering>3</fingering>")
    ),
    "a change of finger": score(tech("G4/1", '<fingering>3</fingering><fingering substitution="yes">4</fingering>')),
    "an alternative fingering": score(tech("G4/1", '<fingering>3</fingering><fingering alternate="yes">4</fingering>')),
    "a fingering that is none": score(tech("G4/1", "<fingering>T</fingering>")),
    "plucking letters": score(
        tech("E4/4", "<pluck>p</pluck>")
        + tech("E4/4", "<pluck>I</pluck>")
        + tech("E4/4", "<pluck>m</pluck>")
        + tech("E4/4", "<pluck>ch</pluck>")
    ),
    "letters in place of digits": score(tech("E4/2", "<fingering>a</fingering>") + notes("F4/2")),
    "letters as lyrics": score(
        "".join(note("E4/4", after=f"<lyric><text>{letter}</text></lyric>") for letter in "pima")
    ),
    "letters as words": score("".join(words(letter) + notes("E4/4") for letter in "imam")),
    "strings and frets": score(
        tech("E4/2", "<string>2</string><fret>5</fret>") + tech("E4/2", "<string>1</string><fret>0</fret>")
    ),
    "a circled string as words": score(words("②") + notes("E4/1")),
    "an open string": score(tech("E4/1", "<open-string/>")),
    "a crossed head": score(
        note("G4/2", technical("<string>4</string>"), after="<notehead>x</notehead>")
        + note("G4/2", after="<notehead>x</notehead>")
    ),
    "a diamond head": score(note("G4/1", after="<notehead>diamond</notehead>")),
    "a slur": score(note("E4/4", '<slur type="start"/>') + notes("F4/4") + note("G4/2", '<slur type="stop"/>')),
    "a hammer-on": score(_played("hammer-on")),
    "a pull-off": score(_played("pull-off")),
    "a pull-off under a slur": score(
        note("G4/4", '<slur type="start"/>' + technical('<pull-off type="start"/>'))
        + note("E4/4", '<slur type="stop"/>' + technical('<pull-off type="stop"/>'))
        + notes("A4/2")
    ),
    "a slide": score(_slide("slide")),
    "a glissando": score(_slide("glissando")),
    "a slur with one end": score(note("E4/2", '<slur type="start"/>') + notes("F4/2")),
    "marks": score(
        "".join(
            note("E4/4", inside)
            for inside in (
                "<articulations><accent/></articulations>",
                "<articulations><staccato/><tenuto/></articulations>",
                "<articulations><strong-accent/></articulations><fermata/>",
                "<articulations><detached-legato/></articulations>",
            )
        )
    ),
    "a rolled chord": score(note("E3+B3+G4/1", "<arpeggiate/>")),
    "a fermata on a rest": score(notes("E4/2") + note("r/2", "<fermata/>")),
    "stroke words": score(words("apoyando") + notes("E4/2") + words("tirando") + notes("E4/2")),
    "stroke of one note": score(tech("E4/1", "<other-technical>rest stroke</other-technical>")),
    "barres": score(
        words("C5")
        + notes("E4/4")
        + words("½ CVII")
        + notes("F4/4")
        + words("BIII 4/6")
        + notes("G4/4")
        + words("cejilla II")
        + notes("A4/4")
    ),
    "chord names as words": score(words("C7") + notes("E4/2") + words("Am") + notes("F4/2")),
    "a barre with a line": score(
        direction("<words>CV</words>", "").replace(
            "</direction-type>", '</direction-type><direction-type><dashes type="start" number="1"/></direction-type>'
        )
        + notes("E4/2")
        + direction('<dashes type="stop" number="1"/>')
        + notes("F4/2")
    ),
    "positions": score(
        words("V")
        + notes("E4/4")
        + words("pos. VII")
        + notes("F4/4")
        + words("IX Lage")
        + notes("G4/4")
        + words("5th position")
        + notes("A4/4")
    ),
    "other words": score(words("dolce") + notes("E4/1")),
    "a metronome mark": score(
        direction("<metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>60</per-minute></metronome>")
        + notes("E4/1")
    ),
    "a sounding tempo": score(words("Andante", '<sound tempo="72"/>') + notes("E4/1")),
    "a tuning": score(notes("D2/1"), first=attributes(more=f"<staff-details>{_TUNING}</staff-details>")),
    "a lute tuning": score(
        tech("F#3/1", "<string>3</string><fret>0</fret>"),
        first=attributes(more=f"<staff-details>{_LUTE}</staff-details>"),
    ),
    "a capo, sounding": score(
        tech("G4/1", "<string>1</string><fret>0</fret>"),
        first=attributes(more="<staff-details><capo>3</capo></staff-details>"),
    ),
    "a capo, as fingered": score(notes("E4/1"), first=attributes(more="<staff-details><capo>3</capo></staff-details>")),
    "a tablature staff beside": score(notes(_HALF_BAR, staff="1") + _BACK + _TAB_NOTES, first=_TWO_STAVES),
    "a tablature staff an octave off": score(
        notes(_HALF_BAR, staff="1") + _BACK + _TAB_NOTES.replace("<octave>4", "<octave>5"), first=_TWO_STAVES
    ),
    "a tablature staff alone": score(
        "".join(
            tech(word, f"<string>{string}</string><fret>{fret}</fret>")
            for word, string, fret in (("E5/2", 2, 5), ("F5/2", 1, 1))
        ),
        first=attributes(clef=CLEF_TAB),
    ),
    "a tablature part beside": score(
        notes(_HALF_BAR),
        listed='<score-part id="P2"><part-name>Guitar tablature</part-name></score-part>',
        others='<part id="P2">'
        + bar(attributes(clef=CLEF_TAB) + _TAB_NOTES.replace("<staff>2</staff>", "").replace("<octave>4", "<octave>5"))
        + "</part>",
    ),
    "a tablature part that is other music": score(
        notes(_HALF_BAR),
        listed='<score-part id="P2"><part-name>Bass</part-name></score-part>',
        others='<part id="P2">' + bar(attributes(clef=CLEF_TAB) + notes("C2/4 D2/4 A2/2")) + "</part>",
    ),
    "two plain staves": score(
        notes("E4/1", staff="1") + _BACK + notes("E3/1", voice="5", staff="2"), first=_PIANO, name="Piano"
    ),
    # what is left out
    "lyrics": score(note("E4/1", after="<lyric><text>la</text></lyric>")),
    "dynamics and hairpins": score(
        direction("<dynamics><f/></dynamics>") + notes("E4/2") + direction('<wedge type="crescendo"/>') + notes("F4/2")
    ),
    "a repeated bar": score(
        notes("E4/1"),
        '<attributes><measure-style><measure-repeat type="start">1</measure-repeat></measure-style></attributes>'
        + notes("r/1"),
    ),
    "chord symbols": score(
        "<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>" + notes("E4/1")
    ),
    "pedal and rehearsal marks": score(
        direction('<pedal type="start"/>') + direction("<rehearsal>A</rehearsal>") + notes("E4/1")
    ),
    "ornaments": score(
        note("E4/2", "<ornaments><trill-mark/></ornaments>")
        + note("F4/2", "<ornaments><tremolo>3</tremolo></ornaments>")
    ),
    "a harmonic": score(tech("E4/1", "<harmonic><natural/></harmonic>")),
    "a cue note": score(notes("E4/2") + note("F4/2", before="<cue/>")),
    "a hidden note": score(notes("E4/2") + notes("F4/2").replace("<note>", '<note print-object="no">')),
    "percussion among the notes": score(
        notes("E4/2") + "<note><unpitched/><duration>48</duration><type>half</type></note>"
    ),
    # the score around
    "titles": score(
        notes("E4/1"),
        head="<work><work-title>Suite</work-title></work><movement-title>Prelude</movement-title><identification>"
        '<creator type="composer">A. Nother</creator><rights>None reserved</rights></identification>',
    ),
    "a title on the page": score(
        notes("E4/1"), head="<credit><credit-type>title</credit-type><credit-words>Walk</credit-words></credit>"
    ),
    "an arranger": score(
        notes("E4/1"), head='<identification><creator type="arranger">B. Other</creator></identification>'
    ),
    "bars before parts": (
        '<score-timewise version="4.0"><part-list><score-part id="P1"><part-name>Guitar</part-name></score-part>'
        '</part-list><measure number="1"><part id="P1">'
        + attributes()
        + notes("E4/1")
        + '</part></measure><measure number="2"><part id="P1">'
        + notes("F4/1")
        + "</part></measure></score-timewise>"
    ).encode(),
    "UTF-16": score(notes("E4/1")).decode().replace('encoding="UTF-8"', 'encoding="UTF-16"').encode("utf-16"),
    "Latin-1": score(notes("E4/1"), head="<movement-title>Ni\u00f1a</movement-title>")
    .decode()
    .replace('encoding="UTF-8"', 'encoding="ISO-8859-1"')
    .encode("latin-1"),
    "a name space": score(notes("E4/1")).replace(
        b'<score-partwise version="4.0">', b'<score-partwise xmlns="http://www.musicxml.org" version="4.0">'
    ),
    "a clef in the middle": score(notes("E4/1"), CLEF_8.join(("<attributes>", "</attributes>")) + notes("F4/1")),
}
