"""The ways a line can be practised, one axis a file, applied in a fixed order."""

from __future__ import annotations

import difflib
from collections.abc import Hashable, Sequence
from dataclasses import replace

from engrave.axes.accent import ACCENT
from engrave.axes.basses import on_basses
from engrave.axes.counting import figures
from engrave.axes.defaults import leading
from engrave.axes.fret import FRET
from engrave.axes.pluck import PLUCK
from engrave.axes.rhythm import RHYTHM
from engrave.axes.setting import Axis, Setting
from engrave.axes.slurs import SLURS
from engrave.axes.strings import STRINGS
from engrave.axes.stroke import STROKE
from engrave.model import TEXTURES, Declined, Event, Fault, Note, PlanError, Study, Variation
from engrave.model.hand_signs import with_whole_barres
from engrave.model.said import Said, say, strung
from engrave.model.texture import LAYERS, LINE
from engrave.model.wording import bars_text, listed, sentence
from engrave.textures import kind_of, textured
from engrave.textures.lookup import share
from engrave.textures.onsets import remembered

__all__ = [
    "ORDER",
    "Axis",
    "Setting",
    "alike",
    "axis",
    "changed",
    "figures",
    "find",
    "heading",
    "kinds",
    "printed",
    "settings",
    "vary",
]

ORDER: tuple[Axis, ...] = (STRINGS, RHYTHM, FRET, SLURS, PLUCK, STROKE, ACCENT)
"""every axis, in the order they are applied: a later one sees what an earlier one did"""
_FRETTED = 4
"""how many of them make the line and its fretting; those that follow leave it alone"""


def axis(name: str) -> Axis:
    """The axis called `name`. Raises PlanError naming those there are."""
    names = [known.name for known in ORDER]
    if name in names:
        return ORDER[names.index(name)]
    near = difflib.get_close_matches(name, names, n=1)
    hint = (f"did you mean {near[0]}? " if near else "") + f"axes: {', '.join(names)}"
    raise PlanError(Fault(fact=f"axis {name!r} is not known", hint=hint))


def find(axis_name: str, setting: str) -> Setting:
    """The setting called `setting` on an axis, from the catalogue or as a pattern. Raises PlanError."""
    where = axis(axis_name)
    found = where.find(setting)
    if found:
        return found
    near = difflib.get_close_matches(setting, [s.name for s in where.settings], n=3)
    hints = []
    if near:
        hints.append(f"did you mean {' or '.join(repr(n) for n in near)}?")
    if where.grammar:
        hints.append(f"patterns: {where.grammar}")
    if not hints:
        hints.append(f"known: {', '.join(s.name for s in where.settings)}")
    raise PlanError(Fault(fact=f"{axis_name} setting {setting!r} is not known", hint="; ".join(hints)))


def settings(study: Study) -> tuple[Setting, ...]:
    """The setting a study has on each axis, in order. Raises PlanError naming every one that is not known."""
    found: list[Setting] = []
    faults: list[Fault] = []
    for known in ORDER:
        try:
            found.append(find(known.name, study.setting(known.name)))
        except PlanError as error:
            faults += error.faults
    if faults:
        raise PlanError(*faults)
    return tuple(found)


def changed(study: Study) -> tuple[Setting, ...]:
    """The settings of a study that change something, in the order of the axes; none for the line as it is."""
    return tuple(s for s, known in zip(settings(study), ORDER, strict=True) if s.name != known.default)


def kinds(study: Study) -> tuple[str, ...]:
    """The kinds of work a study asks for, in the order of the axes; empty for the line as it is."""
    return tuple(setting.kind for setting in changed(study))


def heading(study: Study) -> str:
    """The heading that the page of a study carries: its name, or its settings."""
    return study.name or sentence(strung((s.label for s in changed(study)), "; ")) or say("The line as written")


def vary(line: Variation, study: Study) -> Variation | Declined:
    """`line` as `study` asks, named and counted, or the first setting that does not apply and why.

    Axes apply in their fixed order; a later one sees what an earlier one did. The default study keeps the music as it
    is and gives plucking fingers to notes that have none. Raises PlanError for a setting that is not known.
    """
    chosen = settings(study)
    line = line if line.textures else _seen(line)
    fretted = _fretted(line, study.strings, study.rhythm, study.fret, study.slurs)
    if isinstance(fretted, Declined):
        return fretted
    now = _played(replace(fretted, study=study), chosen[_FRETTED:])
    if isinstance(now, Declined):
        return now
    whole = with_whole_barres(now.passage)
    now = now if whole is now.passage else replace(now, passage=whole)
    asked = changed(study)
    title, purpose, cue = _words(study, asked, on_basses(now), first=_sung(now))
    extent = _extent(line, fretted, asked, now) if asked else ""
    return replace(now, title=title, purpose=purpose, extent=extent, cue=cue, figures=figures(now))


def _leading(asked: Sequence[Setting]) -> Setting:
    kind = leading(tuple(s.kind for s in asked))
    return next(s for s in asked if s.kind == kind)


def _extent(line: Variation, fretted: Variation, asked: Sequence[Setting], now: Variation) -> str:
    """Which bars the leading setting reaches; empty where it reaches them all, or bars are no longer the same."""
    lead = _leading(asked)
    labels = [bar.label for bar in fretted.passage.bars]
    if set(lead.fits) >= set(TEXTURES) or labels != [bar.label for bar in now.passage.bars]:
        return ""
    where = kind_of(fretted)
    sounding = {event.bar for event in fretted.passage.events if any(note.id in where for note in event.notes)}
    alone = now if len(asked) == 1 else _alone(line, lead)
    reached = {
        event.bar
        for event in fretted.passage.events
        if any(note.id in where and where[note.id].kind in lead.fits for note in event.notes)
    }
    changed = _changed(line, alone)
    words = [d.bar for d in alone.passage.directions if d not in fretted.passage.directions]
    # a word at each place that is meant: elsewhere nothing is done
    reached = {*words} if len(words) > 1 and not changed else reached | changed
    others = sounding - reached
    if not reached or not others:
        return ""
    bars = bars_text(labels, reached)
    if _changed(line, now) & {*range(len(labels))} - reached:
        # for the translator: {setting} is a heading, {bars} is "bar 3" or "bars 1–4"
        return say("{setting}: {bars}.", setting=sentence(lead.label), bars=bars)
    others = {*range(len(labels))} - reached
    if len(others) == 1:
        # for the translator: {bars} is "bars 1–7", {other} is "bar 8"
        return say("This is done in {bars}; {other} is as written.", bars=bars, other=bars_text(labels, others))
    # for the translator: {bars} is "bar 3" or "bars 1–4"
    return say("This is done in {bars}; the other bars are as written.", bars=bars)


def _alone(line: Variation, setting: Setting) -> Variation:
    """`line` under one setting; the line itself where it does not apply by itself."""
    made = vary(line, replace(Study(), **{setting.axis: setting.name}))  # type: ignore[arg-type]
    return made if isinstance(made, Variation) else line


def _changed(line: Variation, now: Variation) -> set[int]:
    """The bars in which `now` has other notes, hands or marks than the line as written."""
    plain = _plain(line)
    if isinstance(plain, Declined) or len(plain.passage.bars) != len(now.passage.bars):
        return {*range(len(now.passage.bars))}
    one, other = _by_bar(plain), _by_bar(now)
    return {bar for bar in {*one, *other} if one.get(bar) != other.get(bar)}


@remembered
def _plain(line: Variation) -> Variation | Declined:
    """The line as written."""
    return vary(line, Study())


@remembered
def _by_bar(variation: Variation) -> dict[int, list[Hashable]]:
    """Bar → what sounds in it, with both hands."""
    found: dict[int, list[Hashable]] = {}
    for event in variation.passage.events:
        if event.notes:
            time = event.voice, event.onset, event.duration, event.grace, event.marks
            notes = [(n.pitch, n.placement, n.stroke, n.tied_back, bool(n.slurred_from)) for n in event.notes]
            found.setdefault(event.bar, []).append((*time, *notes))
    return found


@remembered
def _seen(line: Variation) -> Variation:
    """`line` with its textures found."""
    return textured(line)


@remembered
def _fretted(line: Variation, strings: str, rhythm: str, fret: str, slurs: str) -> Variation | Declined:
    """`line` as the first axes make it, which see of a study what they are asked for themselves.

    To make each anew took a third of all varying of 40 mixtures.
    """
    study = Study(strings=strings, rhythm=rhythm, fret=fret, slurs=slurs)
    return _played(replace(line, study=study), settings(study)[:_FRETTED])


def _played(now: Variation, chosen: tuple[Setting, ...]) -> Variation | Declined:
    """`now` under one setting after the other, or the first that does not apply."""
    for setting in chosen:
        result = setting.play(now)
        if isinstance(result, Declined):
            return result
        # what lies on other strings may be of another texture: a chord broken over one string is a line
        moved = result.textures == now.textures and _strings(result) != _strings(now)
        now = textured(result) if moved else result
    return now


def _strings(variation: Variation) -> list[tuple[str, int]]:
    """The string of each note that begins, by id."""
    return [(n.id, n.placement.string) for n in variation.passage.notes if n.placement and not n.tied_back]


def printed(variation: Variation) -> Hashable:
    """What a variation puts on the page, music and marks: equal for two that nobody could tell apart there."""
    passage = variation.passage
    place = {
        note.id: (event.bar, event.onset, event.voice, note.pitch) for event in passage.events for note in event.notes
    }

    def note_of(note: Note) -> Hashable:
        stroke = note.stroke and (note.stroke.finger, note.stroke.kind)
        ties = note.tied_back, note.tied_on, note.muted
        return note.pitch, ties, note.placement, stroke, place.get(note.slurred_from), note.slide

    def event_of(event: Event) -> Hashable:
        time = event.bar, event.voice, event.onset, event.duration, event.value, event.grace, event.slash
        tuplets = tuple((t.actual, t.normal) for t in event.tuplets)
        rests = event.space, event.bar_rest
        return time, tuplets, rests, event.marks, tuple(note_of(note) for note in event.notes)

    curves = tuple((place.get(s.start), place.get(s.stop), s.kind) for s in passage.slurs)
    return passage.bars, tuple(event_of(event) for event in passage.events), passage.directions, curves


def alike(one: Variation, other: Variation) -> bool:
    """Whether two variations put the same music and the same marks on the page."""
    return printed(one) == printed(other)


def _sung(now: Variation) -> Said:
    """What of the line as written can be sung first: nobody sings chords."""
    if share(now, (LINE, LAYERS)) * 2 >= 1:
        return say("Sing it first; then play what you sang.")
    return say("Sing the top notes first; then let them be heard as you sang them.")


def _words(study: Study, asked: Sequence[Setting], bass: str, *, first: Said) -> tuple[str, str, str]:
    """Heading, purpose and cue: those of the leading setting; the others are named behind.

    On the basses what they ask for stands in the place of the second cue; `first` is the cue of the line as written.
    """
    if not asked:
        return (
            heading(study),
            say("The line itself, with the fingers of both hands as they will stay."),
            strung([first, bass]),
        )
    lead = _leading(asked)
    others = [s for s in asked if s is not lead]
    purpose = lead.purpose
    if others:
        # for the translator: {settings} is a list of headings, such as "i m in turn and slurs in twos"
        here = say("Added here: {settings}.", settings=listed(s.label for s in others))
        purpose = strung([purpose, here])
    # a line that is moved and fingered anew as well keeps no shape: its fingering says what the hand does
    moved = find("strings", study.strings) if find("fret", study.fret) in asked else None
    cues = [s.cue for s in (lead, *others) if s is not moved]
    second = [bass] if bass else cues[1:2]
    cue = strung(dict.fromkeys([*cues[:1], *second]))
    return heading(study), purpose, cue
