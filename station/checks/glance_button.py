"""A button pressed freely, in the hand's own rhythm: presses that break up or are short, and gaps in the rhythm.

Nobody counts beats here, so a press that did not register shows only as an interval of about twice or three times the
usual one; and a hand that paused looks the same. Where one in two is missed the button's own rhythm hides it, so it is
held against that of the hand on the other buttons too; and a last button that came only after long was pressed in vain
before, perhaps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from station.checks.base import button_of
from station.checks.types import Take
from station.measure.arrays import F64, NS_PER_S
from station.measure.beats import SHORT_NS
from station.measure.contacts import Closures, closures, press_number, presses, without_bounce
from station.sheets.signals import I64, ButtonSignal, HatSignal, Signal, StickSignal, TriggerSignal

GAP_FROM, GAP_TO = 1.6, 3.6
"""an interval of so many times the median is a gap; a longer one is a pause (common practice, no source)"""
EVEN_SHARE = 0.25
"""a rhythm whose other intervals lie farther than this share from their median on the mean is none"""
LEAST_INTERVALS = 4
AT_THE_HANDS_PACE = 1.3
"""an interval of at most so many times the hand's shows that the hand can press this button at its pace, too"""
HAND_INTERVALS, HAND_BUTTONS = 8, 3
"""the hand's pace is known from so many intervals on so many other buttons (common practice, no source)"""
LATE_NS = 6 * NS_PER_S
"""the last button came late where for so long nothing on the unit moved before: longer than hands off for the sticks
and a look at the screen take (common practice, no source)"""
STICK_MOVES_PCT, TRIGGER_MOVES_PCT = 50.0, 30.0
"""from here on a hand is on it"""


@dataclass(frozen=True, slots=True)
class Pressed:
    """How many presses ended, how many of them broke up or were short, and how many the rhythm seems to lack.

    `late`: it was the last button, and nothing came for long before it did.
    """

    presses: int = 0
    split: int = 0
    short: int = 0
    gaps: int = 0
    late: bool = False


def pressed_freely(take: Take) -> Pressed:
    """What became of the presses of the take's button."""
    signal = button_of(take)
    if signal is None:
        return Pressed()
    found = without_bounce(closures(signal.t_ns, signal.closed, take.end_ns))
    if len(found) == 0:
        return Pressed()
    number = press_number(found)
    lasted = np.bincount(number, weights=found.end_ns - found.start_ns)
    pieces = np.bincount(number)
    whole = np.ones(len(pieces), dtype=np.bool_)
    whole[0] &= not found.held_before
    whole[-1] &= not found.held_after
    starts = found.start_ns[np.searchsorted(number, np.arange(len(pieces)))][whole]
    split = (pieces > 1) & whole
    short = (lasted < SHORT_NS) & whole & ~split
    others = _other_presses(take)
    own = gaps(np.diff(starts).astype(np.float64))
    lacking = max(own, _lacking_by_the_hand(starts, others))
    late = _came_late(take, int(found.start_ns[0]), others) if not found.held_before else False
    return Pressed(int(whole.sum()), int(split.sum()), int(short.sum()), lacking, late)


def gaps(intervals: F64) -> int:
    """How many presses the rhythm lacks: an interval of about k times the median lacks k − 1.

    None where the other intervals are not even enough to speak of a rhythm.
    """
    if len(intervals) < LEAST_INTERVALS:
        return 0
    times = intervals / np.median(intervals)
    usual = times[times < GAP_FROM]
    if len(usual) < LEAST_INTERVALS - 1 or float(np.abs(usual - np.median(usual)).mean()) > EVEN_SHARE:
        return 0
    lacking = times[(times >= GAP_FROM) & (times <= GAP_TO)]
    return int((np.round(lacking) - 1.0).clip(min=1.0).sum()) if len(lacking) else 0


def lacking_by_pace(intervals: F64, of_hand: F64) -> int:
    """How many presses a button lacks by the pace of the hand on the others, `of_hand`: at least two intervals of about
    twice or three times that one, beside one that keeps it. None where the hand keeps no pace."""
    if len(of_hand) < HAND_INTERVALS or len(intervals) == 0:
        return 0
    usual = np.median(of_hand)
    even = of_hand[of_hand < GAP_FROM * usual] / usual
    if len(even) < HAND_INTERVALS or float(np.abs(even - 1.0).mean()) > EVEN_SHARE:
        return 0
    times = intervals / usual
    lacking = times[(times >= GAP_FROM) & (times <= GAP_TO)]
    if len(lacking) < 2 or float(times.min()) > AT_THE_HANDS_PACE:
        return 0
    return int((np.round(lacking) - 1.0).clip(min=1.0).sum())


def _lacking_by_the_hand(starts: I64, others: Sequence[Closures]) -> int:
    """The same of presses that began at `starts`; where another button was pressed meanwhile the hand was elsewhere."""
    paced = [np.diff(c.start_ns).astype(np.float64) for c in others if len(c) > 1]
    if len(paced) < HAND_BUTTONS or len(starts) < 2:
        return 0
    begun = np.sort(np.concatenate([c.start_ns for c in others]))
    alone = np.searchsorted(begun, starts[:-1]) == np.searchsorted(begun, starts[1:])
    return lacking_by_pace(np.diff(starts).astype(np.float64)[alone], np.concatenate(paced))


def _came_late(take: Take, first_ns: int, others: Sequence[Closures]) -> bool:
    """Whether it was the last button, and nothing on the unit had moved for long when it came."""
    buttons = [c for c in take.sheet.controls if c.kind == "button" and c.seen_as is None and c != take.control]
    ended = [c for c in others if len(c) and int(c.end_ns[-1]) < first_ns]
    if not buttons or len(ended) < len(buttons):
        return False
    moved = [int(c.end_ns[-1]) for c in ended]
    moved += [at for signal in take.signals.values() if (at := _moved_last(signal, first_ns)) is not None]
    return first_ns - max(moved) >= LATE_NS


def _moved_last(signal: Signal, before_ns: int) -> int | None:
    """When a stick, trigger or hat was last off its rest before that moment; None where it was not."""
    if isinstance(signal, StickSignal):
        off = np.maximum(np.abs(signal.x_pct), np.abs(signal.y_pct)) > STICK_MOVES_PCT
    elif isinstance(signal, TriggerSignal):
        off = signal.pct > TRIGGER_MOVES_PCT
    elif isinstance(signal, HatSignal):
        off = signal.direction >= 0
    else:
        return None
    at = np.flatnonzero(off & (signal.t_ns < before_ns))
    if len(at) == 0:
        return None
    after = int(at[-1]) + 1  # a value holds until the next report
    return min(int(signal.t_ns[after]), before_ns) if after < len(signal.t_ns) else before_ns


def _other_presses(take: Take) -> tuple[Closures, ...]:
    """The presses of every other button; none of one that has not closed."""
    found = []
    for control, signal in take.signals.items():
        if isinstance(signal, ButtonSignal) and (take.control is None or control != take.control.id):
            closed = presses(closures(signal.t_ns, signal.closed, take.end_ns))
            if len(closed):
                found.append(closed)
    return tuple(found)
