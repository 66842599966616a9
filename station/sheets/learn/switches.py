"""Bits that only say whether a trigger is pulled beyond some point: the trigger's switch, or its digital copy."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from station.sheets.learn.axes import Axis
from station.sheets.learn.places import bit_place
from station.sheets.learn.streams import Stream
from station.sheets.learn.triggers import Trigger
from station.sheets.learn.walked import Walked, on_grid
from station.sheets.model import Control
from station.sheets.signals import F64, I64
from station.words import teaching as words

Bools = NDArray[np.bool_]
DIFFERS = 0.04
"""share of the reports of the pull in which the bit may say otherwise: a switch has some play, and reports are late"""
PLAY = 0.02
"""share of the travel around the point of the switch where both are right: leaned on, a trigger may stay there"""
SELDOM = 0.25
"""share of the rarer of its two states in which it may say otherwise: a brushed button is closed seldom altogether"""
MIRRORS = 0.005


def find_switches(walked: Walked, triggers: list[Trigger]) -> list[Control]:
    """The switches of triggers that have a range, as buttons of their own. Their bits are spoken for from then on."""
    found: list[Control] = []
    for trigger in triggers:
        if trigger.axis is not None and trigger.doubt != "contested":
            found += _of(walked, trigger, trigger.axis)
    return found


def _of(walked: Walked, trigger: Trigger, axis: Axis) -> list[Control]:
    made: list[Control] = []
    rows_of: list[tuple[int, np.ndarray[tuple[int], np.dtype[np.uint8]]]] = []
    for index, stream in enumerate(walked.streams):
        pulled = _pulled(walked, trigger, axis, stream)
        order, own = np.argsort(pulled, kind="stable"), np.isin(stream.step, trigger.steps)
        for bit in stream.varying():
            if bit in walked.taken[index] or not _follows(stream, bit, pulled, order, own):
                continue
            row = stream.bit(bit)
            known = any(i == index and float((row != r).mean()) < MIRRORS for i, r in rows_of)
            walked.taken[index].add(bit)
            if not known and not any(i != index for i, _ in rows_of):
                rows_of.append((index, row))
                identity, name = _names(trigger.control, len(made) + 1)
                place = bit_place(walked, index, bit, walked.rest_bit(index, bit))
                made.append(Control(identity, "button", name, trigger.control.zone, at=place))
    return made


def _names(trigger: Control, number: int) -> tuple[str, str]:
    """Id and name of a trigger's switch; the first has no number."""
    if number == 1:
        return f"{trigger.id}_switch", words.SWITCH_OF_TRIGGER.format(control=trigger.name)
    return f"{trigger.id}_switch_{number}", words.SWITCH_NUMBER.format(control=trigger.name, number=number)


def _pulled(walked: Walked, trigger: Trigger, axis: Axis, stream: Stream) -> F64:
    """How far the trigger is pulled at each report of `stream`, in codes from rest, growing."""
    source = walked.streams[axis.found.stream]
    value: F64 = (walked.value(axis.found) - axis.rest).astype(np.float64)
    low, high = (float(v) for v in np.percentile(value[np.isin(source.step, trigger.steps)], (1, 99)))
    value = -value if (trigger.half < 0 or (not trigger.half and -low > high)) else value
    return value if source is stream else on_grid(source.t_ns, value, stream.t_ns)


def _follows(stream: Stream, bit: int, pulled: F64, order: I64, own: Bools) -> bool:
    """Whether a bit changes at one point of the travel, in the trigger's own steps and everywhere else. `order`: the
    reports by how far it is pulled."""
    row = stream.bit(bit)
    rest = int(2 * row[~own].sum() > (~own).sum()) if (~own).any() else int(row[0])
    closed = row != rest
    there, not_there = closed & own, ~closed & own
    if there.sum() < 3 or not_there.sum() < 3 or pulled[there].mean() <= pulled[not_there].mean():
        return False
    point = _switches_at(pulled[order], closed[order])
    near = PLAY * float(np.ptp(pulled[own]))
    wrong = ((pulled > point) != closed) & (np.abs(pulled - point) > near)
    return (
        point > 2 * near  # at rest it is not near
        and float(wrong[own].mean()) <= DIFFERS
        and float(wrong.mean()) <= DIFFERS / 2
        and int(wrong[own].sum()) <= SELDOM * min(int(there.sum()), int(not_there.sum()))
        and int((pulled[own] > point).sum()) >= (1 - SELDOM) * int(there.sum())
    )


def _switches_at(pulled: F64, closed: Bools) -> float:
    """The point of the travel beyond which the bit is closed, as most reports agree; they are in order of the pull."""
    wrong: I64 = np.cumsum(closed) + np.cumsum(~closed[::-1])[::-1] - ~closed
    last = np.append(pulled[1:] > pulled[:-1], True)  # a point lies above all reports of one code
    at = np.flatnonzero(last)
    best = at[int(np.argmin(wrong[at]))]
    return float(pulled[best : best + 2].mean())
