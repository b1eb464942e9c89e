"""The rules of the fretting hand, checked one tone at a time: what every printed fingering must keep.

Written without the search's arrays, so that each can be held against the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from engrave.fretting.shapes import BARRE_SPAN, Stop
from engrave.fretting.tones import Tone, ToneGroup
from engrave.model import Hand, Instrument


def shape_faults(stops: Sequence[Stop], instrument: Instrument, hand: Hand) -> tuple[str, ...]:
    """What one hand cannot do of these stops at one time; empty where it can."""
    faults: list[str] = []
    for one, other in combinations(stops, 2):
        if one.string == other.string:
            faults.append(f"two tones on string {one.string}")
        elif one.finger and other.finger:
            faults += _pair_faults(one, other, instrument, hand)
    for stop in stops:
        if stop.finger:
            faults += _under_barre(stop, stops)
    return tuple(dict.fromkeys(faults))


def _pair_faults(one: Stop, other: Stop, instrument: Instrument, hand: Hand) -> list[str]:
    low, high = sorted((one, other), key=lambda stop: stop.finger)
    if low.finger == high.finger:
        if low.fret != high.fret:
            return [f"finger {low.finger} on frets {min(low.fret, high.fret)} and {max(low.fret, high.fret)}"]
        if low.finger > 1 and abs(low.string - high.string) > BARRE_SPAN:
            return [f"finger {low.finger} laid over more than {BARRE_SPAN + 1} strings"]
        return []
    if high.fret < low.fret:
        return [f"finger {high.finger} behind finger {low.finger}"]
    mm = instrument.mm(high.fret) - instrument.mm(low.fret)
    if mm > hand.practical[low.finger, high.finger] + 1e-6:
        return [f"fingers {low.finger} and {high.finger} {mm:.0f} mm apart"]
    return []


def _under_barre(stop: Stop, stops: Sequence[Stop]) -> list[str]:
    """Tones that a barre of this stop's finger would choke."""
    laid = [other.string for other in stops if other.finger == stop.finger]
    return [
        f"finger {stop.finger} lies over string {other.string}, which sounds at fret {other.fret}"
        for other in stops
        if other.finger != stop.finger and min(laid) < other.string < max(laid) and other.fret <= stop.fret
    ]


def fingering_faults(
    tones: Sequence[Tone], groups: Sequence[ToneGroup], stops: Sequence[Stop], instrument: Instrument, hand: Hand
) -> tuple[str, ...]:
    """Every broken rule of a fingering: pitches, shapes, and strings taken from tones that still sound."""
    faults: list[str] = []
    for tone, stop in zip(tones, stops, strict=True):
        if not tone.muted and instrument.midi(stop.string, stop.fret) != tone.midi:
            faults.append(f"string {stop.string}, fret {stop.fret} does not sound {tone.midi}")
        if (stop.fret == 0) != (stop.finger == 0):
            faults.append(f"finger {stop.finger} at fret {stop.fret}")
    for group in groups:
        sounding = [stops[i] for i in (*group.held, *group.struck)]
        faults += [f"at {group.onset}: {fault}" for fault in shape_faults(sounding, instrument, hand)]
    return tuple(faults)
