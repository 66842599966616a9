"""Letting go of a stick: where it settles, and how long that takes.

Settling in the manner of IEEE 181: the time runs from the last instant in the deflected state until
the value stays inside a band around its final value. The distance from the final *point* is used, so that a stick
that settles off centre is timed alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.centre import bearing_deg
from station.measure.correlation import effective_size
from station.measure.lateness import Lateness, lateness
from station.measure.period import period_ns
from station.measure.states import runs, two_state
from station.measure.steps import settled
from station.measure.uncertainty import combined

DEFLECTED_PCT, RETURNED_PCT = 65.0, 45.0
"""hysteresis of the deflected state, in % of the greatest deflection"""
LEAST_DEFLECTION_PCT = 40.0
LEFT_SHARE, HALF_SHARE, NEAR_SHARE = 0.8, 0.5, 0.2
"""levels of the way back, as shares of the deflected level: it is left below the first"""
BAND_PCT = 3.0
STAYS_NS = 80 * NS_PER_MS
"""a spring that swings crosses its band sooner than after so long: 15 Hz have half a swing in 33 ms"""
FINAL_NS = 250 * NS_PER_MS
"""the final value is the mean over this long before the stick is touched again"""
LATEST_NS = 60 * NS_PER_MS
"""of a stick that still moves then, the mean over this long"""
MOVING_PCT = 1.5
SLOW_BANDS = 4.0
"""the time constant of a slow return is that of its way from so many bands to one"""
UNSETTLED_SHARE = 0.25
"""standard uncertainty of the time of a stick that was not seen to settle, as a share of it"""
PUSH_NS = 400 * NS_PER_MS
TOUCH_NS = 40 * NS_PER_MS
"""the hand's first touch comes this long before the stick has moved by `TOUCHED_PCT`"""
TOUCHED_PCT = 4.0
LEAST_REST_NS = 350 * NS_PER_MS
GUIDED_MS = 45.0
GUIDED_SHAPE = 0.70
"""time from 80 % to 50 % over time from 50 % to 20 %: 0.51 for an exponential return, 0.65 for a critically damped one,
1.0 for a uniform or a smooth (minimum-jerk) hand movement (computed)"""
OUTLYING, SAME_DEG = 2.0, 25.0
"""a way back that takes this many times as long as usual is the unit's only if a second one from there is as slow"""


@dataclass(frozen=True, slots=True)
class Release:
    """One release: bearing it came from (deg, from where the stick usually comes back to), where it settled (%), noise
    there (%), settle time (ms).

    `u_x`, `u_y`, `u_settle_ms` are standard uncertainties: of the settle point from the noise (resolution apart), of
    the time from the report intervals and from the noise where it enters the band. `descent_ms` is the time from 80 %
    to 20 % of the deflection, `shape` its part before 50 % over its part after. `guided` is True when the hand led the
    stick back instead of letting go, `moving` when it was not seen to settle. `left_ns`: when the deflected state was
    left; `calm_ns`: the stretch of which the settle point is the mean.
    """

    from_deg: float
    x: float
    y: float
    noise: float
    u_x: float
    u_y: float
    settle_ms: float
    u_settle_ms: float
    descent_ms: float
    shape: float
    left_ns: int
    calm_ns: tuple[int, int]
    moving: bool = False
    guided: bool = False
    held_at: tuple[float, float] = (0.0, 0.0)
    """where it was let go, %"""


@dataclass(frozen=True, slots=True)
class _Final:
    """Where one axis ends up: value, rms about its trend, standard uncertainty; `moving` if it was not yet still."""

    value: float
    noise: float
    u: float
    moving: bool = False


def releases(t_ns: I64, x_pct: F64, y_pct: F64, end_ns: int, precise: bool = True) -> tuple[list[Release], int]:
    """All releases followed by enough rest, and how many were followed by too little.

    Without `precise` the uncertainties of the points are left out: enough to see how far one has come.

    O(n) for the whole series plus O(length) for each release.
    """
    r = np.hypot(x_pct, y_pct)
    scale = float(r.max()) if len(r) else 0.0
    if scale < LEAST_DEFLECTION_PCT:
        return [], 0
    scale = min(scale, 100.0) / 100.0
    rise, fall = runs(two_state(r, RETURNED_PCT * scale, DEFLECTED_PCT * scale))
    found: list[Release] = []
    too_short = 0
    late = lateness(t_ns) if precise else None
    poll_ns = period_ns(t_ns) if late is None else late.period_ns
    for k, (first, stop) in enumerate(zip(rise, fall, strict=True)):
        if stop >= len(t_ns):
            break
        pushed_again = int(rise[k + 1]) if k + 1 < len(rise) else None
        one = _release(t_ns, x_pct, y_pct, r, (int(first), int(stop)), pushed_again, end_ns, (poll_ns, late))
        if one is None:
            too_short += 1
        else:
            found.append(one)
    return _marked(_from_rest(found)), too_short


def _from_rest(found: list[Release]) -> list[Release]:
    """The releases with the bearing as the hand pushes: about where the stick usually comes back to, which may lie far
    off the middle of the range."""
    if not found:
        return []
    x, y = np.median([(one.x, one.y) for one in found], axis=0).tolist()
    return [replace(one, from_deg=bearing_deg(one.held_at[0] - x, one.held_at[1] - y)) for one in found]


def _marked(found: list[Release]) -> list[Release]:
    """The releases with `guided` set: slow, and either as long in the first part of the way back as in the second, or
    alone in being slow."""
    if not found:
        return []
    descent = np.array([one.descent_ms for one in found])
    bearing = np.array([one.from_deg for one in found])
    even = np.array([one.shape > GUIDED_SHAPE for one in found])
    slow = descent > max(GUIDED_MS, OUTLYING * float(np.median(descent)))
    marked = []
    for one, outlying in zip(found, slow, strict=True):
        alike = slow & ~even & (np.abs((bearing - one.from_deg + 180.0) % 360.0 - 180.0) <= SAME_DEG)
        by_hand = one.descent_ms > GUIDED_MS and (one.shape > GUIDED_SHAPE or bool(outlying and alike.sum() < 2))
        marked.append(replace(one, guided=by_hand))
    return marked


def _release(
    t_ns: I64,
    x: F64,
    y: F64,
    r: F64,
    deflected: tuple[int, int],
    pushed_again: int | None,
    end_ns: int,
    how: tuple[float, Lateness | None],
) -> Release | None:
    poll_ns, late = how
    precise = late is not None
    first, stop = deflected
    level = float(np.quantile(r[first:stop], 0.9))
    high = np.flatnonzero(r[first:stop] >= LEFT_SHARE * level)
    left = first + int(high[-1]) + 1
    left_ns = int(t_ns[min(left, len(t_ns) - 1)])
    rest_end = end_ns if pushed_again is None else _departure(t_ns, x, y, left_ns, pushed_again)
    if rest_end - left_ns < LEAST_REST_NS:
        return None
    begin = max(rest_end - FINAL_NS, (left_ns + rest_end) // 2)
    to_x, to_y = _final(t_ns, x, begin, rest_end, precise), _final(t_ns, y, begin, rest_end, precise)
    noise = math.hypot(to_x.noise, to_y.noise)
    way = slice(left, max(int(np.searchsorted(t_ns, rest_end, side="left")), left + 1))
    away = np.hypot(x[way] - to_x.value, y[way] - to_y.value)
    held_at = float(x[first:stop][high].mean()), float(y[first:stop][high].mean())
    settle_ms, u_ms = _settle(t_ns, way, away, noise, late)
    moving = to_x.moving or to_y.moving
    lag_ms = _lag_ms(t_ns, way, away, noise, (rest_end - LATEST_NS if moving else begin, rest_end))
    settle_ms, u_ms = settle_ms + lag_ms, combined(u_ms, lag_ms / 2.0)
    if moving:
        u_ms = combined(u_ms, UNSETTLED_SHARE * settle_ms)
    whole = slice(max(left - 1, 0), way.stop)  # one entry more: the level may be crossed just before
    share = np.hypot(x[whole] - to_x.value, y[whole] - to_y.value) / level
    descent_ms, shape = _descent(t_ns[whole], share, poll_ns)
    point = (to_x.value, to_y.value, noise, to_x.u, to_y.u)
    seen = (left_ns, (begin, rest_end), moving)
    return Release(bearing_deg(*held_at), *point, settle_ms, u_ms, descent_ms, shape, *seen, held_at=held_at)


def _departure(t_ns: I64, x: F64, y: F64, left_ns: int, pushed_again: int) -> int:
    """The moment at which the hand touched the stick for the next push, from its path back from there.

    The distance from where the push was seen grows backwards in time until the moment it began.
    """
    until_ns = int(t_ns[pushed_again])
    begin_ns = max(left_ns, until_ns - PUSH_NS)
    part = held.stretch(t_ns, begin_ns, until_ns)
    back = np.hypot(x[part] - x[pushed_again], y[part] - y[pushed_again])
    if len(back) == 0:
        return until_ns
    still = part.start + int(np.flatnonzero(back >= back.max() - TOUCHED_PCT)[-1])
    return int(t_ns[min(still + 1, pushed_again)]) - TOUCH_NS


def _final(t_ns: I64, values: F64, begin_ns: int, end_ns: int, precise: bool) -> _Final:
    """Final value of one axis; while it still moves, the latest one. Noise is the rms about a straight line."""
    moments = held.grid_ns(begin_ns, end_ns, 5 * NS_PER_MS)
    sampled = held.held_at(t_ns, values, moments)
    along = np.linspace(-0.5, 0.5, len(sampled))
    drift = float(along @ sampled) / max(float(along @ along), 1e-9)
    noise = float(np.std(sampled - drift * along))
    if abs(drift) > max(MOVING_PCT, 3.0 * noise):
        return _Final(held.window_mean(t_ns, values, end_ns - LATEST_NS, end_ns), noise, abs(drift), moving=True)
    if not precise:
        return _Final(float(sampled.mean()), noise, 0.0)
    reports = int(np.searchsorted(t_ns, end_ns) - np.searchsorted(t_ns, begin_ns))
    independent = max(1.0, min(reports, effective_size(sampled))) if noise > 0 else 1.0
    return _Final(held.window_mean(t_ns, values, begin_ns, end_ns), noise, noise / math.sqrt(independent))


def _settle(t_ns: I64, way: slice, away: F64, noise: float, late: Lateness | None) -> tuple[float, float]:
    """Settle time and its standard uncertainty in ms (0 without `late`). The entries of the way begin where the
    deflected state was left."""
    band = max(BAND_PCT, 4.0 * noise)
    there = way.start + _stays(t_ns[way], away, band)
    wider = min(way.start + _stays(t_ns[way], away, 1.5 * band), there)
    settle_ms = float(t_ns[there] - t_ns[way.start]) / NS_PER_MS
    if late is None:
        return settle_ms, 0.0
    by_noise = noise / (0.5 * band) * float(t_ns[there] - t_ns[wider])
    return settle_ms, combined(late.between_ns(t_ns, way.start, there), by_noise) / NS_PER_MS


def _lag_ms(t_ns: I64, way: slice, away: F64, noise: float, calm_ns: tuple[int, int]) -> float:
    """By how much sooner (ms) a slow return seems to be there than it is: while its final value was taken it still had
    c to go, and so it is within the band of where it will stay only when it is within the band less c of that value.

    A lag of first order, d = d₀ e^(−t/τ) (as `transition.still_to_go` has it): τ from the time between `SLOW_BANDS`
    bands and one, c the mean of what is left while the final value was taken; solved by turns. 0 for a quick return.
    """
    band = max(BAND_PCT, 4.0 * noise)
    near, there = (way.start + _stays(t_ns[way], away, k * band) for k in (SLOW_BANDS, 1.0))
    lasts = float(t_ns[there] - t_ns[near])
    if lasts <= 0.0 or there + 1 >= way.stop:
        return 0.0
    first, last = (max(float(at - t_ns[there]), 0.0) for at in calm_ns)
    tau, left = 0.0, 0.0
    for _ in range(20):
        tau = lasts / math.log((SLOW_BANDS * band + left) / (band + left))
        share = tau * (math.exp(-first / tau) - math.exp(-last / tau)) / max(last - first, 1.0)
        left = band * min(share / max(1.0 - share, 1e-9), 1.0)
    return tau * math.log1p(left / band) / NS_PER_MS


def _stays(t_ns: I64, away: F64, band: float) -> int:
    """Index of the first entry from which the value stays inside the band, to the end or for so long that what throws
    it out again is no part of the return: a jump of the track."""
    out = np.flatnonzero(away > band)
    begins = np.concatenate(([0], out + 1))
    ends = np.append(t_ns[out], t_ns[-1])
    known = np.minimum(begins, len(t_ns) - 1)
    long = np.flatnonzero(ends - t_ns[known] >= STAYS_NS)
    return int(known[long[0]]) if len(long) else settled(away, band)


def _descent(t_ns: I64, share: F64, poll_ns: float) -> tuple[float, float]:
    """Time from 80 % to 20 % in ms, and its part before 50 % over its part after; (0, 0) if it never came so far."""
    left_ns, half_ns, near_ns = (
        _falls_to(t_ns, share, level, poll_ns) for level in (LEFT_SHARE, HALF_SHARE, NEAR_SHARE)
    )
    if half_ns is None or near_ns is None:
        return 0.0, 0.0
    left_ns = float(t_ns[0]) if left_ns is None else left_ns
    return (near_ns - left_ns) / NS_PER_MS, (half_ns - left_ns) / max(near_ns - half_ns, 1.0)


def _falls_to(t_ns: I64, share: F64, level: float, poll_ns: float) -> float | None:
    """When the value first falls to the level, by linear interpolation from the last poll before it (ns)."""
    below = share <= level
    index = int(np.argmax(below))
    if not below[index]:
        return None
    if index == 0:
        return float(t_ns[0])
    before, after = float(share[index - 1]), float(share[index])
    part = (before - level) / (before - after) if before > after else 1.0
    return float(t_ns[index]) - (1.0 - part) * min(float(t_ns[index] - t_ns[index - 1]), poll_ns)


def directions_covered(bearings_deg: F64, count: int = 8, within_deg: float = 33.0) -> Bool:
    """Which of `count` even directions (0 = up, clockwise) have a bearing within that angle; bool[count]."""
    wanted = np.arange(count) * (360.0 / count)
    if len(bearings_deg) == 0:
        return np.zeros(count, dtype=bool)
    off = np.abs((bearings_deg[None, :] - wanted[:, None] + 180.0) % 360.0 - 180.0)
    return np.asarray(off.min(axis=1) <= within_deg)
