"""Pushing a stick or trigger to its end: reach, and the creep of the last part.

State levels and transition durations in the manner of IEEE 181. The hand can only shorten a reach
and lengthen a transition, so the caller takes the farthest and the quickest of several pushes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.arrival import Noise, arrival
from station.measure.centre import bearing_deg
from station.measure.filters import median_filter, running_mean
from station.measure.gate import Gate
from station.measure.means import effective_observations, least_change
from station.measure.noise import peak_to_peak
from station.measure.period import period_ns
from station.measure.states import runs, two_state
from station.measure.steps import first_reached, interval_at, left_for_good
from station.measure.uncertainty import duration, resolution, type_a

AWAY_PCT, BACK_PCT = 35.0, 20.0
AT_REST_SHARE, BESIDE_PCT, MOST_BACK_PCT = 0.1, 5.0, 40.0
"""a stick rests where it is closest to its middle for this share of the time; one that rests far off is back when it is
no farther off than that and so much more, up to where no stick rests"""
PLATEAU_NS = 100 * NS_PER_MS
HELD_PCT = 5.0
"""a stick counts as held while it stays within this of its plateau"""
GRID_NS, SLOW_NS = 5 * NS_PER_MS, 25 * NS_PER_MS
FINE_CODES = 8
FLICKER_NS = 20 * NS_PER_MS
OFF_MIDDLE_PCT = 0.8
"""standard deviation of where a sound stick rests, per axis (common practice, no source)"""
FLANK = math.tan(math.pi / 8.0)
"""slope of the sides beside a notch of an octagon"""
UNLIKE_GAINS = 0.07 / math.sqrt(6.0)
"""standard deviation by which the gains of the two axes of a sound stick differ: each 1.00…1.07 (common practice, no
source), rectangular"""
STEEPEST = 0.7
"""an edge that a stick is pushed against is no steeper than this across the push"""
LEAST_HOLD_NS = 300 * NS_PER_MS
FROM_PCT, WITHIN_PCT = 80.0, 2.0
WIDEST_CODE_PCT = 1.0
"""a least change that is wider is a hysteresis of the firmware, which has no edges at fixed places"""
LAST_STEP = 1.3
"""the last step that firmware with a hysteresis reports may be so many times as wide as its least"""


@dataclass(frozen=True, slots=True)
class Push:
    """One push and hold.

    `held_pct`: the mean over the second half of the plateau; `wobble_pct`: rms of its slow part, what a hand makes (0
    where the fast part, the sensor's, is greater), as the gate measures it or off the line along which it slides,
    whichever is less: a stop need not have the shape of the gate; and `slide_pct` the same across, `span_pct` its peak
    to peak without single flickers; `rise_ms`: from 20 % to 80 % of the plateau (the hand's own speed); `creep_ms`:
    from 80 % to within 2 % of it, `u_creep_ms` its standard uncertainty, `early_ms` the part of it to 90 %; `hold_ms`:
    time within 5 % of it;
    `begin_ns`, `end_ns`: the plateau.
    """

    bearing_deg: float
    held_pct: float
    wobble_pct: float
    slide_pct: float
    span_pct: float
    rise_ms: float
    creep_ms: float
    u_creep_ms: float
    early_ms: float
    hold_ms: float
    begin_ns: int = 0
    end_ns: int = 0


def pushes(
    t_ns: I64, x_pct: F64, y_pct: F64, reach_pct: F64, end_ns: int, gate: Gate = "round", precise: bool = True
) -> list[Push]:
    """Every deflection held for at least `LEAST_HOLD_NS`. `reach_pct` is the deflection as the `gate` measures it.

    Without `precise` only bearing, level and hold are measured, the rest is 0: enough to see how far one has come.
    """
    if len(t_ns) == 0:
        return []
    away = pushed(t_ns, reach_pct, end_ns)
    smooth = _without_flickers(t_ns, reach_pct)
    poll_ns = period_ns(t_ns) if precise else 0.0
    coarse = max(least_change(x_pct), least_change(y_pct)) if precise else 0.0
    found = []
    for first, stop in zip(*runs(away), strict=True):
        until = int(t_ns[stop]) if stop < len(t_ns) else end_ns
        if until - int(t_ns[first]) >= LEAST_HOLD_NS:
            span = (int(first), int(stop), until)
            series = (t_ns, x_pct, y_pct, smooth)
            found.append(_push(*series, span, poll_ns, coarse, gate) if precise else _rough(*series, span))
    return found


def pushed(t_ns: I64, reach_pct: F64, end_ns: int) -> Bool:
    """Whether the stick is pushed, entry by entry. One that rests far off its middle is back where it rests, not where
    it passes the middle on its way across."""
    rests = held.quantile(reach_pct, held.hold_s(t_ns, int(t_ns[0]), end_ns), AT_REST_SHARE)
    back = min(max(BACK_PCT, rests + BESIDE_PCT), MOST_BACK_PCT)
    return two_state(reach_pct, back, back + AWAY_PCT - BACK_PCT)


def _without_flickers(t_ns: I64, reach: F64) -> F64:
    """A median of three for entries that held only briefly; one that held long stands, however few there are."""
    brief = np.diff(t_ns, append=t_ns[-1]) < FLICKER_NS
    return np.where(brief, median_filter(reach, 3), reach)


def _rough(t_ns: I64, x: F64, y: F64, reach: F64, span: tuple[int, int, int]) -> Push:
    first, stop, until_ns = span
    begin_ns = int(t_ns[first])
    level, _ = held.best_mean(t_ns, reach, begin_ns, until_ns, PLATEAU_NS)
    hold_on = np.where(reach[first:stop] >= level - HELD_PCT, held.hold_s(t_ns[first:stop], begin_ns, until_ns), 0.0)
    bearing = bearing_deg(float(x[first:stop] @ hold_on), float(y[first:stop] @ hold_on))
    return Push(bearing, level, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, float(hold_on.sum()) * 1e3)


def _push(
    t_ns: I64, x: F64, y: F64, reach: F64, span: tuple[int, int, int], poll_ns: float, coarse: float, gate: Gate
) -> Push:
    first, stop, until_ns = span
    begin_ns = int(t_ns[first])
    flat = plateau(t_ns, reach, begin_ns, until_ns, PLATEAU_NS)
    hold = held.hold_s(t_ns[first:stop], begin_ns, until_ns)
    hold_on = np.where(reach[first:stop] >= flat.level - HELD_PCT, hold, 0.0)
    weight = hold_on if hold_on.sum() > 0 else hold
    to_x, to_y = held.mean(x[first:stop], weight), held.mean(y[first:stop], weight)
    length = max(float(np.hypot(to_x, to_y)), 1e-9)
    outwards = (to_x * x[first:stop] + to_y * y[first:stop]) / length
    across = (to_y * x[first:stop] - to_x * y[first:stop]) / length
    straight = plateau(t_ns[first:stop], outwards, begin_ns, until_ns, PLATEAU_NS)
    on = held.stretch(t_ns, flat.begin_ns, flat.end_ns)
    bearing = bearing_deg(to_x, to_y)
    how = (poll_ns, coarse, _u_beside(bearing, gate))
    rise_ms, creep_ms, u_creep_ms, early_ms = min(
        _durations(t_ns[:stop], reach[:stop], first, _in_range(flat), *how),
        _durations(t_ns[:stop], (to_x * x[:stop] + to_y * y[:stop]) / length, first, straight, *how),
        key=lambda found: found[1],
    )
    beside = outwards - _slope(t_ns[first:stop], across, outwards, flat) * across
    return Push(
        bearing_deg=bearing,
        held_pct=flat.level,
        wobble_pct=min(
            hand_wobble(t_ns, reach, flat.begin_ns, flat.end_ns),
            hand_wobble(t_ns[first:stop], beside, flat.begin_ns, flat.end_ns),
        ),
        slide_pct=hand_wobble(t_ns[first:stop], across, flat.begin_ns, flat.end_ns),
        span_pct=peak_to_peak(reach[on], held.hold_s(t_ns[on], flat.begin_ns, flat.end_ns)),
        rise_ms=rise_ms,
        creep_ms=creep_ms,
        u_creep_ms=u_creep_ms,
        early_ms=early_ms,
        hold_ms=float(hold_on.sum()) * 1e3,
        begin_ns=flat.begin_ns,
        end_ns=flat.end_ns,
    )


def _u_beside(bearing: float, gate: Gate) -> float:
    """By how much (%, standard uncertainty) what the gate measures beside an axis is unlike what it measures straight:
    the stick rests off the middle across, and the gains of the axes differ."""
    tilt = math.radians((bearing + 45.0) % 90.0 - 45.0)
    lean = {"round": abs(tilt), "octagon": FLANK, "square": 0.0}[gate]
    return lean * math.hypot(OFF_MIDDLE_PCT, 100.0 * UNLIKE_GAINS * tilt)


def _in_range(flat: Plateau) -> Plateau:
    """Straight outwards a stick is nowhere beyond the end of the range; beside it the gate measures more, since only
    one of two axes is cut off there."""
    return replace(flat, level=min(flat.level, 100.0))


QUICK_MS = 60.0
"""a push this quick from 20 % to 80 % is quick enough by itself"""
BRISK, SLOW = (0.25, 0.30), (0.25, 0.55)
"""what a hand takes from 80 to 98 %, in its time from 20 to 80 %: one that aims beyond the edge by half, still speeding
up, 0.25; one that goes on at its speed 0.30; one that slows down towards the edge, as slow pushes may, 0.55 (computed,
even and minimum jerk); anything between, rectangular"""
ONE_SIDED, TWO_SIDED = 1.645, 1.96
"""95 % of normal values lie below the first, or within the second of their mean"""
LAG_FROM_MS, MOST_TO_GO_PCT = 60.0, 5.0
"""a quicker push has arrived after the least hold; what is farther from its end than this is not told"""


@dataclass(frozen=True, slots=True)
class Creep:
    """How long a stick itself takes for the last part of the way, and the expanded uncertainty, ms."""

    ms: float
    uncertainty_ms: float


def own_creep(push: Push) -> Creep:
    """The hand's own time taken off the creep: durations of a chain of steps add as squares (Elmore, J. Appl. Phys. 19,
    1948, 55), so a lag that is long against the hand's movement is hardly changed, and a stick without one has none.

    U is the farther end of what is possible, √((t ± z u)² − h²); where that reaches 0 it bounds one side only.
    A push that ended before it arrived hid a part (`still_to_go`): half of it is u.
    """
    low, high = BRISK if push.rise_ms <= QUICK_MS else SLOW
    by_hand, whole = (low + high) / 2.0 * push.rise_ms, still_to_go(push).creep_ms
    by_hands, by_end = (high - low) / math.sqrt(12.0) * push.rise_ms, (whole - push.creep_ms) / 2.0
    u = math.hypot(push.u_creep_ms, by_hands, by_end)

    def own(shift: float) -> float:
        return math.sqrt(max(max(whole + shift, 0.0) ** 2 - by_hand**2, 0.0))

    ms = own(0.0)
    if own(-ONE_SIDED * u) == 0.0:
        return Creep(ms, max(own(ONE_SIDED * u) - ms, ms))
    return Creep(ms, max(own(TWO_SIDED * u) - ms, ms - own(-TWO_SIDED * u)))


@dataclass(frozen=True, slots=True)
class ToGo:
    """By how much (%) the second half of a plateau lies short of where the stick would have arrived, and the creep (ms)
    to there."""

    pct: float
    creep_ms: float


def still_to_go(push: Push) -> ToGo:
    """A lag of first order goes on where the push ends. The plateau begins 1 % below its end and lasts D, so at its end
    r = q/(1 − q) % are left, q = e^(−D/τ); and from 80 to 98 % of what was seen takes τ ln of what is left there.
    Solved by turns."""
    most = min(100.0 - push.held_pct, MOST_TO_GO_PCT)  # the end of the range is reached for good
    if push.creep_ms < LAG_FROM_MS or most <= 0.0 or push.end_ns <= push.begin_ns:
        return ToGo(0.0, push.creep_ms)
    level, lasts_ms, left = push.held_pct, (push.end_ns - push.begin_ns) / NS_PER_MS, 0.0
    for _ in range(30):
        tau = push.creep_ms / math.log((0.2 * level + left) / (0.02 * level + left))
        q = math.exp(-lasts_ms / tau)
        left = min(q / max(1.0 - q, 1e-9), most)
    half = lasts_ms / (2.0 * tau)
    return ToGo(min((1.0 + left) * (math.exp(-half) - q) / half, most), tau * math.log(10.0))


@dataclass(frozen=True, slots=True)
class Plateau:
    """The high state of a stretch: mean of its second half, standard uncertainty (resolution apart), begin and end, rms
    of its best part."""

    level: float
    u: float
    begin_ns: int
    end_ns: int
    rms: float


def plateau(t_ns: I64, values: F64, begin_ns: int, end_ns: int, window_ns: int) -> Plateau:
    """Where the value stays high in [begin, end].

    The greatest mean over `window_ns` says where the plateau is; as the greatest of several it lies too high. The
    level is the mean over the second half (the first may still creep) of the time for which the value stays within
    1 %, or three times the rms, below that; a hand that slackens is left out.
    """
    level, best_ns = held.best_mean(t_ns, values, begin_ns, end_ns, window_ns)
    rms = held.window_std(t_ns, values, best_ns, min(end_ns, best_ns + window_ns))
    part = held.stretch(t_ns, begin_ns, end_ns)
    t, v = np.maximum(t_ns[part], begin_ns), values[part]
    on = v >= level - max(1.0, 3.0 * rms)
    if not on.any():
        return Plateau(level, rms, begin_ns, end_ns, rms)
    last = int(np.flatnonzero(on)[-1])
    first_ns, last_ns = int(t[int(np.argmax(on))]), int(t[last + 1]) if last + 1 < len(t) else end_ns
    half_ns = (first_ns + last_ns) // 2
    weight = np.where(on, held.hold_s(t, half_ns, last_ns), 0.0)
    if weight.sum() <= 0:
        return Plateau(level, rms, first_ns, last_ns, rms)
    n = effective_observations(t, v, half_ns, last_ns)
    scatter = held.std(v, weight)
    # where noise is wider than a code the median is as fine as the mean, and a rail that cuts the noise off does not
    # pull it down
    fine = len(np.unique(v[on])) >= FINE_CODES
    middle = held.quantile(v, weight, 0.5) if fine else held.mean(v, weight)
    return Plateau(middle, type_a(scatter, n), first_ns, last_ns, rms)


def _slope(t_ns: I64, across: F64, outwards: F64, flat: Plateau) -> float:
    """How fast an edge recedes along itself: least squares over the time of the plateau."""
    hold = held.hold_s(t_ns, flat.begin_ns, flat.end_ns)
    off = across - held.mean(across, hold)
    spread = float(hold @ off**2)
    slope = float((hold * off) @ (outwards - held.mean(outwards, hold))) / spread if spread > 0.0 else 0.0
    return min(max(slope, -STEEPEST), STEEPEST)


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
    slow = running_mean(sampled, width)
    slow_rms, fast_rms = float(np.std(slow)), float(np.std(sampled - slow))
    return slow_rms if slow_rms > fast_rms else 0.0


def _durations(
    t_ns: I64, part: F64, first: int, flat: Plateau, poll_ns: float, coarse: float, u_place: float
) -> tuple[float, float, float, float]:
    """Rise 20–80 %; creep 80 % – within 2 % (or twice the noise, or the least change that is reported), its standard
    uncertainty from reports, noise, codes and `u_place` (%), its part to 90 %; ms.

    The first report near the end is early, carried there by noise; the time for which the value is short of it is not
    (`measure.arrival`).
    """
    t_ns = t_ns - t_ns[first]  # all are differences: rounding must not tell where the clock stood
    level, noise = flat.level, Noise(flat.rms)
    code = coarse if coarse <= WIDEST_CODE_PCT else 0.0
    within = max(level * WITHIN_PCT / 100.0, 2.0 * flat.rms, LAST_STEP * coarse)
    at_80 = first_reached(part, FROM_PCT / 100.0 * level, first)
    at_80 = first if at_80 is None else at_80
    arrived = first_reached(part, level - within, at_80)
    arrived = len(part) - 1 if arrived is None else arrived
    at_90 = first_reached(part, 0.9 * level, at_80)
    at_20 = left_for_good(part, 0.2 * level, at_80)
    begins = arrival(t_ns, -part, -FROM_PCT / 100.0 * level, first, noise, code)
    ends = arrival(t_ns, -part, within - level, at_80, noise, code)
    begin_ns, end_ns = (float(t_ns[i]) if one is None else one.ns for i, one in ((at_80, begins), (arrived, ends)))
    late_ns = max(interval_at(t_ns, at_80, poll_ns), interval_at(t_ns, arrived, poll_ns))
    u_ends = [math.hypot(flat.rms, resolution(code)) * one.slope_ns for one in (begins, ends) if one]
    u_ends.append(u_place * ends.slope_ns if ends else 0.0)
    return (
        float(t_ns[at_80] - t_ns[at_20]) / NS_PER_MS,
        max(end_ns - begin_ns, 0.0) / NS_PER_MS,
        math.hypot(duration(late_ns), *u_ends) / NS_PER_MS,
        float(t_ns[arrived if at_90 is None else at_90] - t_ns[at_80]) / NS_PER_MS,
    )
