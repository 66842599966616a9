"""Letting go of a stick: where it settles, and how long that takes.

Settling in the manner of IEEE 181 (from memory): the time runs from the last instant in the deflected state until
the value stays inside a band around its final value. The distance from the final *point* is used, so that a stick
that settles off centre is timed alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.centre import bearing_deg
from station.measure.states import runs, two_state
from station.measure.steps import settled

DEFLECTED_PCT, RETURNED_PCT = 65.0, 45.0
"""hysteresis of the deflected state, in % of the greatest deflection"""
BAND_PCT = 3.0
FINAL_NS = 250 * NS_PER_MS
"""the final value is the mean over this long before the stick is touched again"""
TOUCH_NS = 40 * NS_PER_MS
LEAST_REST_NS = 300 * NS_PER_MS
LEAST_DEFLECTION_PCT = 40.0


@dataclass(frozen=True, slots=True)
class Release:
    """One release: bearing it came from (deg), where it settled (%), noise there (%), settle time (ms).

    `u_mean` is the standard uncertainty of the settle point from that noise, by axis (%).
    `guided` is True when the hand led the stick back instead of letting go; `interval_ms` is the greatest report
    interval around the two instants, the resolution of the time.
    """

    from_deg: float
    x: float
    y: float
    noise: float
    u_mean: float
    settle_ms: float
    interval_ms: float
    guided: bool


def releases(t_ns: I64, x_pct: F64, y_pct: F64, end_ns: int) -> tuple[list[Release], int]:
    """All releases followed by enough rest, and how many were followed by too little.

    O(n) for the whole series plus O(length) for each release.
    """
    r = np.hypot(x_pct, y_pct)
    scale = float(r.max()) if len(r) else 0.0
    if scale < LEAST_DEFLECTION_PCT:
        return [], 0
    scale = min(scale, 100.0) / 100.0
    deflected = two_state(r, RETURNED_PCT * scale, DEFLECTED_PCT * scale)
    rise, fall = runs(deflected)
    found: list[Release] = []
    too_short = 0
    for k, (first, stop) in enumerate(zip(rise, fall, strict=True)):
        if stop >= len(t_ns):
            break
        until = int(t_ns[rise[k + 1]]) if k + 1 < len(rise) else end_ns
        one = _release(t_ns, x_pct, y_pct, r, (int(first), int(stop)), until, k + 1 < len(rise))
        if one is None:
            too_short += 1
        else:
            found.append(one)
    return found, too_short


def _release(
    t_ns: I64, x: F64, y: F64, r: F64, deflected: tuple[int, int], until_ns: int, touched_again: bool
) -> Release | None:
    first, stop = deflected
    fell_ns = int(t_ns[stop])
    if until_ns - fell_ns < LEAST_REST_NS:
        return None
    rest_end = _departure(t_ns, x, y, fell_ns, until_ns) if touched_again else until_ns
    if rest_end - fell_ns < LEAST_REST_NS - TOUCH_NS:
        return None
    final_begin = max(rest_end - FINAL_NS, (fell_ns + rest_end) // 2)
    final_x = held.window_mean(t_ns, x, final_begin, rest_end)
    final_y = held.window_mean(t_ns, y, final_begin, rest_end)
    noise = math.hypot(held.window_std(t_ns, x, final_begin, rest_end), held.window_std(t_ns, y, final_begin, rest_end))
    top = slice(first, stop)
    high = r[top] >= 0.9 * r[top].max()
    from_deg = bearing_deg(float(x[top][high].mean()), float(y[top][high].mean()))
    settle_ms, interval_ms, guided = _settle(t_ns, x - final_x, y - final_y, (first, stop), rest_end, noise)
    reports = max(1, int(np.searchsorted(t_ns, rest_end) - np.searchsorted(t_ns, final_begin)))
    return Release(from_deg, final_x, final_y, noise, noise / math.sqrt(reports), settle_ms, interval_ms, guided)


def _departure(t_ns: I64, x: F64, y: F64, fell_ns: int, until_ns: int) -> int:
    """The last moment at which the stick still stood where it rested, a little earlier for the hand's first touch."""
    part = held.stretch(t_ns, (fell_ns + until_ns) // 2, until_ns)
    middle_x = held.window_median(t_ns, x, fell_ns, until_ns)
    middle_y = held.window_median(t_ns, y, fell_ns, until_ns)
    away = np.hypot(x[part] - middle_x, y[part] - middle_y) > BAND_PCT
    still = np.flatnonzero(~away)
    if len(still) == 0:
        return fell_ns
    after = part.start + int(still[-1]) + 1
    left_ns = int(t_ns[after]) if after < len(t_ns) else until_ns
    return min(left_ns, until_ns) - TOUCH_NS


def _settle(
    t_ns: I64, dx: F64, dy: F64, deflected: tuple[int, int], rest_end: int, noise: float
) -> tuple[float, float, bool]:
    """Settle time and time resolution in ms, and whether the way back was too even for a released spring."""
    first, stop = deflected
    last = int(np.searchsorted(t_ns, rest_end, side="left"))
    away = np.hypot(dx[first:last], dy[first:last])
    held_level = float(np.quantile(away[: stop - first], 0.9))
    band = max(BAND_PCT, 4.0 * noise)
    left = int(np.flatnonzero(away[: stop - first] >= 0.8 * held_level)[-1]) + 1
    t = t_ns[first:last]
    left = min(left, len(t) - 1)
    there = settled(away, band, left)
    settle_ms = float(t[there] - t[left]) / NS_PER_MS
    interval = max(_interval_before(t, left), _interval_before(t, there)) / NS_PER_MS
    return settle_ms, interval, _guided(t[left:], away[left:] / held_level)


GUIDED_MS = 120.0
GUIDED_SHAPE = 0.8
"""time from 80 % to 50 % over time from 50 % to 20 %: 0.51 for an exponential return, 0.65 for a critically damped one,
1.0 for a uniform or a smooth (minimum-jerk) hand movement (computed)"""


def _guided(t_ns: I64, share: F64) -> bool:
    """Whether the way back was led by the hand: slow, and as long in its first part as in its second."""
    half, low = share <= 0.5, share <= 0.2
    if not low.any():
        return False
    upper_ms = float(t_ns[int(np.argmax(half))] - t_ns[0]) / NS_PER_MS
    whole_ms = float(t_ns[int(np.argmax(low))] - t_ns[0]) / NS_PER_MS
    return whole_ms > GUIDED_MS and upper_ms > GUIDED_SHAPE * (whole_ms - upper_ms)


def _interval_before(t_ns: I64, index: int) -> float:
    return float(t_ns[index] - t_ns[index - 1]) if index > 0 else 0.0


def directions_covered(bearings_deg: F64, count: int = 8, within_deg: float = 33.0) -> Bool:
    """Which of `count` even directions (0 = up, clockwise) have a bearing within that angle; bool[count]."""
    wanted = np.arange(count) * (360.0 / count)
    if len(bearings_deg) == 0:
        return np.zeros(count, dtype=bool)
    off = np.abs((bearings_deg[None, :] - wanted[:, None] + 180.0) % 360.0 - 180.0)
    return np.asarray(off.min(axis=1) <= within_deg)
