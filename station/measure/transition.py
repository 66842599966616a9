"""Pushing a stick or trigger to its end: reach, and the creep of the last part.

State levels and transition durations in the manner of IEEE 181 (from memory). The hand can only shorten a reach
and lengthen a transition, so the caller takes the farthest and the quickest of several pushes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter, uniform_filter1d

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.centre import bearing_deg
from station.measure.means import effective_observations
from station.measure.states import runs, two_state
from station.measure.steps import first_reached, left_for_good
from station.measure.uncertainty import duration, type_a

AWAY_PCT, BACK_PCT = 35.0, 20.0
PLATEAU_NS = 100 * NS_PER_MS
GRID_NS, SLOW_NS = 5 * NS_PER_MS, 25 * NS_PER_MS
FLICKER_NS = 20 * NS_PER_MS
LEAST_HOLD_NS = 300 * NS_PER_MS
FROM_PCT, WITHIN_PCT = 80.0, 2.0


@dataclass(frozen=True, slots=True)
class Push:
    """One push and hold.

    `held_pct`: the mean over the second half of the plateau, `u_held` its standard uncertainty without resolution;
    `wobble_pct`: rms of its slow part, what a hand makes (0 where the fast part, the sensor's, is greater);
    `rise_ms`: from 20 % to 80 % of the plateau (the hand's own speed); `creep_ms`: from 80 % to within 2 % of it,
    `u_creep_ms` its standard uncertainty; `hold_ms`: time within 5 % of it.
    """

    bearing_deg: float
    held_pct: float
    u_held: float
    wobble_pct: float
    rise_ms: float
    creep_ms: float
    u_creep_ms: float
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
    level, best_ns = held.best_mean(t_ns, reach, begin_ns, until_ns, PLATEAU_NS)
    rms = held.window_std(t_ns, reach, best_ns, min(until_ns, best_ns + PLATEAU_NS))
    hold = held.hold_s(t_ns[first:stop], begin_ns, until_ns)
    on_plateau = reach[first:stop] >= level - 5.0
    hold_on = np.where(on_plateau, hold, 0.0)
    weight = hold_on if hold_on.sum() > 0 else hold
    last = first + int(np.flatnonzero(on_plateau)[-1]) if on_plateau.any() else stop - 1
    leave_ns = int(t_ns[last + 1]) if last + 1 < stop else until_ns
    arrived = first_reached(reach[:stop], level * (1.0 - WITHIN_PCT / 100.0), first)
    arrived_ns = begin_ns if arrived is None else int(t_ns[arrived])
    level, u_level = _plateau(t_ns, reach, (arrived_ns + leave_ns) // 2, leave_ns, (level, rms))
    rise_ms, creep_ms, u_creep_ms = _durations(t_ns, reach, first, stop, level)
    return Push(
        bearing_deg=bearing_deg(held.mean(x[first:stop], weight), held.mean(y[first:stop], weight)),
        held_pct=level,
        u_held=u_level,
        wobble_pct=hand_wobble(t_ns, reach, arrived_ns, leave_ns),
        rise_ms=rise_ms,
        creep_ms=creep_ms,
        u_creep_ms=u_creep_ms,
        hold_ms=float(hold_on.sum()) * 1e3,
    )


def _plateau(t_ns: I64, reach: F64, begin_ns: int, end_ns: int, best: tuple[float, float]) -> tuple[float, float]:
    """Mean of the plateau and its standard uncertainty, without what lies below it (a hand that slackens).

    The greatest mean over `PLATEAU_NS` only says where the plateau is: as the greatest of several it lies too high.
    """
    level, rms = best
    part = held.stretch(t_ns, begin_ns, end_ns)
    t, v = t_ns[part], reach[part]
    weight = np.where(v >= level - max(1.0, 3.0 * rms), held.hold_s(t, begin_ns, end_ns), 0.0)
    if weight.sum() <= 0:
        return level, rms
    n = effective_observations(t, v, begin_ns, end_ns)
    return held.mean(v, weight), type_a(held.std(v, weight), n)


def hand_wobble(t_ns: I64, values: F64, begin_ns: int, end_ns: int) -> float:
    """Rms of the slow part of a held value (means over `SLOW_NS`), its trend taken off; 0 where the rest, which is
    the sensor's, is greater. A stick pressed against its gate hardly wobbles, one held in the air does."""
    moments = held.grid_ns(begin_ns, end_ns, GRID_NS)
    width = SLOW_NS // GRID_NS
    if len(moments) < 3 * width:
        return 0.0
    sampled = held.held_at(t_ns, values, moments)
    along = np.linspace(-0.5, 0.5, len(sampled))
    sampled = sampled - sampled.mean() - along * float(along @ sampled) / float(along @ along)
    slow = uniform_filter1d(sampled, width, mode="nearest")
    slow_rms, fast_rms = float(np.std(slow)), float(np.std(sampled - slow))
    return slow_rms if slow_rms > fast_rms else 0.0


def _durations(t_ns: I64, reach: F64, first: int, stop: int, level: float) -> tuple[float, float, float]:
    """Rise 20–80 %, creep 80 % – within 2 %, and the standard uncertainty of the latter from the reports; ms."""
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
        duration(max(intervals, default=0.0)) / NS_PER_MS,
    )
