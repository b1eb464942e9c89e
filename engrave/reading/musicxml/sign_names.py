"""What notices call the signs of MusicXML 4.0 that are left out, by the names of their elements."""

from __future__ import annotations

from engrave.model.said import Said, say

_BOWING = say("bowing marks")
_NAMES = {
    # notations and articulations
    "dynamics": say("dynamics"),
    "non-arpeggiate": say("brackets against rolling a chord"),
    "accidental-mark": say("accidentals over a note"),
    "breath-mark": say("breath marks"),
    "caesura": say("breaks (caesura)"),
    "scoop": say("scoop"),
    "plop": say("plop"),
    "doit": say("doit"),
    "falloff": say("falloff"),
    "stress": say("stress"),
    "unstress": say("unstress"),
    "soft-accent": say("soft accent"),
    "other-articulation": say("other articulation"),
    # ornaments
    "trill-mark": say("trills"),
    "turn": say("turn"),
    "delayed-turn": say("delayed turn"),
    "inverted-turn": say("inverted turn"),
    "delayed-inverted-turn": say("delayed inverted turn"),
    "vertical-turn": say("vertical turn"),
    "inverted-vertical-turn": say("inverted vertical turn"),
    "shake": say("shake"),
    "wavy-line": say("wavy line"),
    "mordent": say("mordent"),
    "inverted-mordent": say("inverted mordent"),
    "schleifer": say("schleifer"),
    "tremolo": say("tremolo strokes"),
    "haydn": say("haydn"),
    "other-ornament": say("other ornament"),
    # technical indications
    "harmonic": say("harmonics (the note is printed as an ordinary one)"),
    "bend": say("bends"),
    "up-bow": _BOWING,
    "down-bow": _BOWING,
    "thumb-position": say("thumb-position signs"),
    "tap": say("taps"),
    "double-tongue": say("double tongue"),
    "triple-tongue": say("triple tongue"),
    "stopped": say("stopped"),
    "snap-pizzicato": say("snap pizzicato"),
    "heel": say("heel"),
    "toe": say("toe"),
    "fingernails": say("fingernails"),
    "hole": say("hole"),
    # for the translator: a sign in the form of an arrow
    "arrow": say("arrow"),
    "handbell": say("handbell"),
    "brass-bend": say("brass bend"),
    # for the translator: a sign for wind instruments, a quick note above the tone
    "flip": say("flip"),
    # for the translator: a sign for wind instruments, a slow slide into the tone
    "smear": say("smear"),
    # for the translator: a sign for wind instruments, the mute taken off
    "open": say("open sign"),
    "half-muted": say("half muted"),
    "harmon-mute": say("harmon mute"),
    "golpe": say("golpe"),
    "other-technical": say("other technical"),
    # directions
    "harp-pedals": say("harp pedals"),
    "damp": say("damp"),
    "damp-all": say("damp all"),
    "eyeglasses": say("eyeglasses"),
    "string-mute": say("string mute"),
    "image": say("image"),
    "principal-voice": say("principal voice"),
    "percussion": say("percussion"),
    "accordion-registration": say("accordion registration"),
    "staff-divide": say("staff divide"),
}


def left_out(tag: str) -> Said:
    """How a notice names an element that is left out; one that the standard does not know by the file's own name."""
    return say("left out: {what}", what=_NAMES.get(tag) or tag.replace("-", " "))
