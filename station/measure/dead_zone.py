"""A dead zone of the firmware about rest, and the least one that a game needs.

Common practice, no source: firmware may say "middle" for everything nearer to the middle than some distance, and jump
to the true value beyond it. Behind such a zone an offset cannot be seen.
"""

from __future__ import annotations

import math

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64
from station.measure.uncertainty import combined, difference_resolution

LEAST_PCT, LEAST_STEPS = 2.0, 2.5
"""a narrower one cannot be told from the codes' own step"""
ENOUGH_REPORTS = 8
"""so many reports just beyond the zone make it unlikely (e⁻⁸) that none fell inside by chance: a stick that comes back
slows down, so inside it would be seen at least as often"""
GREATEST_OF_TEN = 0.587
STILL_SHARE = 0.99
"""a stick is still in a dead zone in which it stays for this share of the time"""


def hidden_zone(x_pct: F64, y_pct: F64, settled: F64, step_pct: float) -> float | None:
    """Radius (%) of a dead zone about where the stick settled, None if there is none to be told.

    `settled` float[n, 2]: where it settled after each release, without any noise. It is a dead zone when that was the
    same place every time and no report of the whole try, moving or not, lies nearer to it than the radius.
    """
    if len(settled) < 2 or float(np.ptp(settled, axis=0).max()) > 1e-6:
        return None
    away = np.hypot(x_pct - settled[0, 0], y_pct - settled[0, 1])
    off = away[away > 1e-6]
    if len(off) == 0:
        return None
    edge = float(off.min())
    beyond = int(np.count_nonzero(off < 2.0 * edge))
    return edge if edge >= max(LEAST_PCT, LEAST_STEPS * step_pct) and beyond >= ENOUGH_REPORTS else None


def still_within(t_ns: I64, x_pct: F64, y_pct: F64, calm: list[tuple[int, int]]) -> float:
    """Radius (%) about the middle of the range in which the stick stays for 99 % of each calm stretch (begin, end)."""
    away = np.hypot(x_pct, y_pct)
    found = []
    for begin_ns, end_ns in calm:
        part = held.stretch(t_ns, begin_ns, end_ns)
        found.append(held.quantile(away[part], held.hold_s(t_ns[part], begin_ns, end_ns), STILL_SHARE))
    return max(found)


def quantile_u(noise: float, n: float, step_pct: float) -> float:
    """Standard uncertainty of that quantile from normal noise: √(p(1 − p)/n)/φ(z_p) σ (Stuart & Ord, *Kendall's
    Advanced Theory of Statistics* 1, 10.10), and of the codes; no more than the greatest of ten normal values scatters,
    0.59 σ (Tippett, Biometrika 17, 1925, 364)."""
    density = math.exp(-0.5 * 2.3263**2) / math.sqrt(2.0 * math.pi)
    by_looks = math.sqrt(STILL_SHARE * (1.0 - STILL_SHARE) / max(n, 1.0)) / density
    return combined(min(by_looks, GREATEST_OF_TEN) * noise, difference_resolution(step_pct) / math.sqrt(2.0))
