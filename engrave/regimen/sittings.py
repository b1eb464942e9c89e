"""How often and how fast: tempo steps and times through of one sitting, within the limits.

A sitting with a page is every time through at every tempo step it prints, and half a minute to settle: that is what
its minutes, its boxes and its load stand for, everywhere.
"""

from __future__ import annotations

from fractions import Fraction
from math import inf

from engrave.axes import defaults
from engrave.model import Notice, Plan, Variation
from engrave.model.said import Said, say, say_count
from engrave.regimen.levels import limit
from engrave.regimen.load import beat_of, minutes
from engrave.regimen.practice import figure
from engrave.regimen.strains import longest, tightest

_PLAIN_LOW = 70
"""per cent of the goal at which the line as written is begun: kinds of work are slower in the same proportion"""


def sitting(
    variation: Variation,
    times: int,
    tempo: tuple[int, ...],
    beat: Fraction,
    *,
    strained: tuple[str, ...],
    most: float,
) -> tuple[int, tuple[int, ...], tuple[Notice, ...]]:
    """Times through and tempo steps of one sitting within the limits, and what is said where a plan's wish was cut.

    `most` is how many minutes the house gives to a study by itself; no limit: the times through are the plan's own.
    """
    cap = longest(strained)
    allowed = min(most, inf if cap is None else cap)

    def takes(times: int, tempo: tuple[int, ...]) -> float:
        return minutes(variation, times=times, tempo=tempo, beat=beat)

    asked = takes(times, tempo)
    short, steps = times, tempo
    while short > 1 and takes(short, steps) > allowed:
        short -= 1
    # once through at every step may still be too long: then the slow steps alone
    while len(steps) > 1 and takes(short, steps) > allowed and cap is not None:
        steps = steps[:-1]
    if cap is None or most < inf or (short, steps) == (times, tempo):
        return short, steps, ()
    limit = f"{cap:g}"
    # for the translator: {strain} is "wide reaches" or "one finger alone", {times} is "once" or "3 times"
    said = say_count(
        "The plan asks for {n} time through at each tempo, about {asked} minutes. Of {strain} this book gives {most} "
        "minutes a day at most: here it is {times}; then rest, and go on another day.",
        "The plan asks for {n} times through at each tempo, about {asked} minutes. Of {strain} this book gives {most} "
        "minutes a day at most: here it is {times}; then rest, and go on another day.",
        times,
        asked=round(asked),
        strain=tightest(strained),
        most=limit,
        times=_times(short),
    )
    return short, steps, (Notice(text=said),)


def _times(number: int) -> Said:
    return say("once") if number == 1 else say_count("{n} time", "{n} times", number)


def ladder(kinds: tuple[str, ...], line: Variation, plan: Plan, pace: Fraction = Fraction(1)) -> tuple[int, ...]:
    """Tempo steps by kind of work: from the tempo the line goes at now towards the goal, rising, none twice.

    A kind of work begins as much slower than the line as the house's shares say, and goes as near the goal. `pace` is
    that of the page's values beside the line's (`Variation.pace`): the notes, not the beats, keep to those shares.
    """
    player = plan.player
    leading = defaults.leading(kinds)
    shares = defaults.HABITS[leading].steps
    goal = goal_of(line, plan)
    # the tempo at which the line goes now
    now = float(player.tempo or goal * _PLAIN_LOW / 100)
    # who begins learns other fingers for a line slowly: the way to its goal is no work of one sitting
    top = shares[len(shares) // 2] if player.level == "beginner" and leading == "fingering" else shares[-1]
    low, high = now * shares[0] / _PLAIN_LOW, goal * top / 100 * limit(player, "tempo") / 100
    if low >= high:  # short bursts are played near full tempo: from halfway between now and the goal
        low = (now + high) / 2 if now < high else high
    last = max(1, len(shares) - 1)
    steps = {round((low + (high - low) * index / last) * float(pace)) for index in range(len(shares))}
    return tuple(sorted({min(defaults.FASTEST, max(defaults.SLOWEST, step)) for step in steps}))


def below(tempo: tuple[int, ...], line: Variation, plan: Plan) -> tuple[int, ...]:
    """Steps of a warm-up in place of these: rising as they do, but ending well below the goal."""
    top = goal_of(line, plan) * limit(plan.player, "tempo") / 100 * figure("warm_up", "top") / 100
    if tempo[-1] <= top:
        return tempo
    # who plays at the goal already begins lower too
    low = tempo[0] if tempo[0] <= top else top * tempo[0] / tempo[-1]
    rises = max(0, min(len(tempo) - 1, int((top - low) // figure("warm_up", "gap"))))
    steps = {round(low + (top - low) * index / rises) for index in range(rises + 1)} if rises else {round(low)}
    return tuple(sorted({max(defaults.SLOWEST, step) for step in steps}))


def goal_of(line: Variation, plan: Plan) -> float:
    """The tempo to get to, in beats a minute: the plan's goal, else the passage's own tempo, else the house's."""
    passage, player = line.passage, plan.player
    known = passage.tempo / beat_of(passage) if passage.tempo else defaults.GOAL
    return float(player.goal or max(known, player.tempo or 0))
