"""What a contact did: its closures, the presses behind them, and what is bounce.

Times are int64 ns. Words: a *closure* runs from one closing of the contact to the next opening; a *press* is one
go of the finger, which a weak contact can break up into several closures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from station.measure.arrays import I64, Bool

SAME_PRESS_NS = 60_000_000
"""A contact that closes again within 60 ms did so under the same press: fingers tap at most some 7 times a second
(50–70 taps in 10 s), half of which is open; the exact figure is common practice, no source."""
BOUNCE_NS = 5_000_000
"""Contact bounce of a new tactile switch is at most 5 ms (6 mm tact-switch datasheets)."""
_AT_THE_EDGE_NS = 10_000_000
_NO_TIME = np.empty(0, dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Closures:
    """k closures in order. `held_before`: the first was closed already when the stretch began (its start is not known).

    `held_after`: the last was still closed when the stretch ended; its `end_ns` is the end of the stretch.
    """

    start_ns: I64
    end_ns: I64
    held_before: bool = False
    held_after: bool = False

    def __len__(self) -> int:
        return len(self.start_ns)


def closures(t_ns: I64, closed: Bool, end_ns: int) -> Closures:
    """Closures of a contact whose state `closed[i]` holds from `t_ns[i]` until the next sample or `end_ns`."""
    if len(t_ns) == 0:
        return Closures(_NO_TIME, _NO_TIME)
    edges = np.flatnonzero(closed[1:] != closed[:-1]) + 1
    if closed[0]:
        edges = np.append(0, edges)
    start, end = t_ns[edges[0::2]], t_ns[edges[1::2]]
    held = bool(closed[-1])
    if held:
        end = np.append(end, np.int64(max(end_ns, int(t_ns[-1]))))
    return Closures(start, end, held_before=bool(closed[0]), held_after=held)


def without_bounce(c: Closures, bounce_ns: int = BOUNCE_NS) -> Closures:
    """The closures with contact bounce taken out: openings of at most `bounce_ns` at either edge of a press.

    An opening is bounce when it is that brief and lies within 10 ms after the press began or before it ended; the
    same opening in the middle of a press is a dropout and stays (bounce: IEV 444-04, first to final closure).
    """
    if len(c) < 2:
        return c
    press = press_number(c)
    first, last = c.start_ns[np.searchsorted(press, press)], c.end_ns[np.searchsorted(press, press, side="right") - 1]
    opens, closes = c.end_ns[:-1], c.start_ns[1:]
    at_edge = (closes <= first[:-1] + _AT_THE_EDGE_NS) | (opens >= last[:-1] - _AT_THE_EDGE_NS)
    real = ~((closes - opens <= bounce_ns) & at_edge)
    return Closures(c.start_ns[np.append(True, real)], c.end_ns[np.append(real, True)], c.held_before, c.held_after)


def presses(c: Closures) -> Closures:
    """The presses behind the closures: those less than `SAME_PRESS_NS` apart are one."""
    return joined(c, SAME_PRESS_NS)


def joined(c: Closures, apart_ns: int) -> Closures:
    """The closures with openings of less than `apart_ns` left out."""
    if len(c) < 2:
        return c
    apart = c.start_ns[1:] - c.end_ns[:-1] >= apart_ns
    return Closures(c.start_ns[np.append(True, apart)], c.end_ns[np.append(apart, True)], c.held_before, c.held_after)


def press_number(c: Closures) -> NDArray[np.intp]:
    """int[k]: which press each closure belongs to, from 0."""
    return np.append(0, np.cumsum(c.start_ns[1:] - c.end_ns[:-1] >= SAME_PRESS_NS)).astype(np.intp)
