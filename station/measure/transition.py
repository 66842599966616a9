"""Pushing a stick or trigger to its end: reach, and the creep of the last part.

State levels and transition durations in the manner of IEEE 181 (from memory). The hand can only shorten a reach
and lengthen a transition, so the caller takes the farthest and the quickest of several pushes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.centre import bearing_deg
from station.measure.states import runs, two_state
from station.measure.steps import first_reached, left_for_good
from station.measure.uncertainty import type_a

AWAY_PCT, BACK_PCT = 35.0, 20.0
PLATEAU_NS = 100 * NS_PER_MS
FLICKER_NS = 20 * NS_PER_MS
LEAST_HOLD_NS = 300 * NS_PER_MS
FROM_PCT, WITHIN_PCT = 80.0, 2.0


@dataclass(frozen=True, slots=True)
class Push:
    """One push and hold.

    `held_pct`: the plateau (the greatest mean over `PLATEAU_NS`), `wobble_pct` the rms about it there, `u_held` its
    standard uncertainty; `rise_ms`: from 20 % to 80 % of it (the hand's own speed); `creep_ms`: from 80 % to within
    2 % of it; `interval_ms`: report interval at those instants; `hold_ms`: time within 5 % of it.
    """

    bearing_deg: float
    held_pct: float
    u_held: float
    wobble_pct: float
    rise_ms: float
    creep_ms: float
    interval_ms: float
    hold_ms: float


def pushes(t_ns: I64, x_pct: F64, y_pct: F64, reach_pct: F64, end_ns: int) -> list[Push]:
    """Every deflection held for at least `LEAST_HOLD_NS`. `reach_pct` is the deflection as the gate measures it."""
    if len(t_ns) == 0:
        return []
    away = two_state(reach_pct, BACK_PCT, AWAY_PCT)
    smooth = _without_flickers(t_ns, reach_pct)
    found = []
    for first, stop in zip(*runs(away), strict=True):
        until = int(t_ns[stop]) if stop < len(t_ns) else end_ns
        if until - int(t_ns[first]) >= LEAST_HOLD_NS:
            found.append(_push(t_ns, x_pct, y_pct, smooth, int(first), int(stop), until))
    return found


def _without_flickers(t_ns: I64, reach: F64) -> F64:
    """A median of three for entries that held only briefly; one that held long stands, however few there are."""
    brief = np.diff(t_ns, append=t_ns[-1]) < FLICKER_NS
    return np.where(brief, median_filter(reach, 3, mode="nearest"), reach)


def _push(t_ns: I64, x: F64, y: F64, reach: F64, first: int, stop: int, until_ns: int) -> Push:
    begin_ns = int(t_ns[first])
    level, plateau_ns = held.best_mean(t_ns, reach, begin_ns, until_ns, PLATEAU_NS)
    hold = held.hold_s(t_ns[first:stop], begin_ns, until_ns)
    on_plateau = reach[first:stop] >= level - 5.0
    hold_on = np.where(on_plateau, hold, 0.0)
    weight = hold_on if hold_on.sum() > 0 else hold
    from_deg = bearing_deg(held.mean(x[first:stop], weight), held.mean(y[first:stop], weight))
    rise_ms, creep_ms, interval_ms = _durations(t_ns, reach, first, stop, level)
    wobble = held.window_std(t_ns, reach, plateau_ns, min(until_ns, plateau_ns + PLATEAU_NS))
    return Push(
        bearing_deg=from_deg,
        held_pct=level,
        u_held=type_a(wobble, _reports(t_ns, plateau_ns, plateau_ns + PLATEAU_NS)),
        wobble_pct=wobble,
        rise_ms=rise_ms,
        creep_ms=creep_ms,
        interval_ms=interval_ms,
        hold_ms=float(hold_on.sum()) * 1e3,
    )


def _reports(t_ns: I64, begin_ns: int, end_ns: int) -> int:
    return max(1, int(np.searchsorted(t_ns, end_ns) - np.searchsorted(t_ns, begin_ns)))


def _durations(t_ns: I64, reach: F64, first: int, stop: int, level: float) -> tuple[float, float, float]:
    """Rise 20–80 %, creep 80 % – within 2 %, and the report interval there; ms."""
    part = reach[:stop]
    at_80 = first_reached(part, FROM_PCT / 100.0 * level, first)
    at_80 = first if at_80 is None else at_80
    arrived = first_reached(part, level * (1.0 - WITHIN_PCT / 100.0), at_80)
    arrived = stop - 1 if arrived is None else arrived
    at_20 = left_for_good(reach, 0.2 * level, at_80)
    intervals = [float(t_ns[k] - t_ns[k - 1]) for k in (at_80, arrived) if k > 0]
    return (
        float(t_ns[at_80] - t_ns[at_20]) / NS_PER_MS,
        float(t_ns[arrived] - t_ns[at_80]) / NS_PER_MS,
        max(intervals, default=0.0) / NS_PER_MS,
    )
