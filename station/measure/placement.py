"""Where a stick rests, whichever way it was let go: friction keeps it where the spring is too weak.

A mean over three seconds knows nothing of that: it is of one placement. Friction leaves a stick on the side that it
came from, so flicks to opposite sides cancel it; what is left over, and how differently it comes back from one and the
same side, are parts of the uncertainty (type A pooled with what is customary, JCGM 100, 4.2.4; the form is that of a
scaled inverse chi-square prior, Gelman et al., *Bayesian Data Analysis*, 2.6).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from station.measure.arrays import F64

FRICTION_PCT = 0.75
"""half width of the band in which friction leaves a sound stick: 0.3…1.2 % of half travel (common practice, no
source)"""
CUSTOMARY_FRICTION_PCT = FRICTION_PCT / math.sqrt(3.0)
"""standard deviation, along the way it came, of a place somewhere in that band: rectangular, a/√3 (JCGM 100, 4.3.7)"""
CUSTOMARY_SCATTER_PCT, CUSTOMARY_DEGREES = 0.2, 3.0
"""standard deviation per axis of the place that a sound stick comes back to from one side (common practice, no source),
and how many observations that is worth"""
UNLIKE = 4.0
"""squares beyond so many times what is customary are seen of one sound stick in thousands (chi-square)"""
DROPPED_ONE = 1.35
"""the rms of what is left when the greatest of eight residuals is dropped is too small by this factor (Monte Carlo, in
tests/measure/test_placement.py)"""
FEWEST_TO_FIT = 6
ENOUGH_FLICKS = 4
"""flicks after which a stick that rests now here, now there is measured"""
ONE_SIDE_DEG = 45.0
"""flicks within this of each other come from one side"""
ASIDE_PCT, ASIDE_TIMES = 3.0, 6.0
"""places farther than both aside of all others, % and standard uncertainties, are those of one side that sticks; a
sound stick lies within twice its friction (common practice, no source)"""
GREATEST_OF = (1.0, 0.826, 0.748, 0.701, 0.669, 0.645, 0.626, 0.611)
"""standard deviation of the greatest of 1 … 8 alike normal values, in those of one (Tippett, Biometrika 17, 1925,
364)"""


def greatest_scatter(values: F64, scatter: float) -> float:
    """How much the greatest of the values scatters from try to try, each scattering by `scatter`: less than one of them
    does, where others are as great within two of their scatters."""
    return scatter * scatter_of_greatest(int(np.count_nonzero(values >= values.max() - 2.0 * scatter)))


def scatter_of_greatest(count: int) -> float:
    """Standard deviation of the greatest of so many alike normal values, in those of one; from 8 on that of 8."""
    return GREATEST_OF[min(max(count, 1), len(GREATEST_OF)) - 1]


def greatest_of(count: int) -> float:
    """How far the greatest of so many alike normal values lies above their mean, in standard deviations of one.

    Φ⁻¹((n − 0.375)/(n + 0.25)), within 0.02 for every n (Blom, *Statistical Estimates and Transformed Beta-Variables*,
    1958).
    """
    return NormalDist().inv_cdf((count - 0.375) / (count + 0.25)) if count > 1 else 0.0


def drawn_outward(values: Sequence[tuple[float, float]]) -> float:
    """By how much the greatest of normal values (value, standard uncertainty) lies above the truth by being picked: the
    mean of the greatest when each scatters about itself as it does about the truth, less the greatest (bootstrap, in
    its exact form: Efron, Ann. Stat. 7, 1979, 1)."""
    greatest = max(value for value, _ in values)
    spread = max(u for _, u in values)
    if len(values) < 2 or spread <= 0.0:
        return 0.0
    x = np.linspace(greatest - 5.0 * spread, greatest + 5.0 * spread, 201)
    below = np.ones(len(x))
    for value, u in values:
        below *= [NormalDist(value, max(u, 1e-3 * spread)).cdf(at) for at in x.tolist()]
    return float(x[-1] - np.sum((below[1:] + below[:-1]) / 2.0) * (x[1] - x[0])) - greatest


@dataclass(frozen=True, slots=True)
class Middle:
    """Where a stick rests on the mean, %, standard uncertainties per axis, and of how many placements."""

    x: float
    y: float
    u_x: float
    u_y: float
    n: int
    unlike: bool
    """the placements lie farther apart than those of a sound stick: more of them are wanted"""
    range_x: float
    range_y: float
    """from the least to the greatest of the placements, %"""
    used: tuple[bool, ...] = ()
    """of each placement whether it is in the mean"""


def middle(from_deg: F64, points: F64) -> Middle:
    """From where it rested after flicks. `points` float[n, 2] in %, `from_deg` float[n]; NaN: nobody knows from where.

    Model: place = middle + a · (sin, cos) of the bearing it came from + scatter. The mean of the points is off by a
    times the mean D of those directions and by the scatter over √n: u² = a² D² + σ²/n. `a` is the greater of what the
    points show and of what is customary. Where the places are unlike and all but those from one side agree, that side
    is left out.
    """
    one = _middle(from_deg, points)
    if not one.unlike:
        return one
    others = (
        (replace(_middle(from_deg[rest], points[rest]), used=tuple(rest.tolist())), points[~rest])
        for rest in _but_one_side(from_deg)
    )
    return min((m for m, left in others if _stays_away(m, left)), key=lambda m: m.u_x + m.u_y, default=one)


def _stays_away(others: Middle, points: F64) -> bool:
    """Whether these places lie clearly aside of where the stick rests otherwise, which is known."""
    aside = np.hypot(points[:, 0] - others.x, points[:, 1] - others.y)
    return not others.unlike and bool((aside > max(ASIDE_PCT, ASIDE_TIMES * math.hypot(others.u_x, others.u_y))).all())


def _but_one_side(from_deg: F64) -> list[NDArray[np.bool_]]:
    """bool[n] of each choice that leaves out all flicks from about one side, if the rest are from two sides or more.

    A stick that stays away when it is let go from one side has its middle where it comes back to from all others.
    """
    if not np.isfinite(from_deg).all():
        return []
    apart = np.abs((from_deg[:, None] - from_deg[None, :] + 180.0) % 360.0 - 180.0)
    kept = [row > ONE_SIDE_DEG for row in apart]
    return [rest for rest in kept if rest.any() and float(apart[np.ix_(rest, rest)].max()) > ONE_SIDE_DEG]


def _middle(from_deg: F64, points: F64) -> Middle:
    n = len(points)
    known = np.isfinite(from_deg)
    angle = np.radians(np.where(known, from_deg, 0.0))
    ways = np.column_stack((np.sin(angle), np.cos(angle))) * known[:, None]
    mean, lean = points.mean(axis=0), ways.mean(axis=0)
    about, apart = points - mean, ways - lean
    spread = float((apart**2).sum())
    along = float((about * apart).sum()) / spread if spread > 0.1 else 0.0
    friction = max(abs(along), CUSTOMARY_FRICTION_PCT)
    degrees = max(2.0 * (n - 1) - (spread > 0.1), 0.0)
    left = float(((about - along * apart) ** 2).sum()) if degrees else 0.0
    scatter = (CUSTOMARY_DEGREES * CUSTOMARY_SCATTER_PCT**2 + left) / (CUSTOMARY_DEGREES + degrees)
    unlike = left > UNLIKE * (degrees + 1.0) * CUSTOMARY_SCATTER_PCT**2
    if unlike:  # no sound stick, so what is customary does not hold; few degrees: as Student's t has it
        scatter = left / degrees * (degrees / (degrees - 2.0) if degrees > 3.0 else 3.0)
    one_way = float(np.abs(np.sin(angle[:, None] - angle[None, :])).max()) < math.sin(math.radians(ONE_SIDE_DEG))
    if one_way and abs(along) > 2.0 * FRICTION_PCT:  # friction, or one side that sticks: nobody knows
        unlike, scatter = True, scatter + n * along**2
    strangers = float(np.count_nonzero(~known)) / (2.0 * n * n)  # from an unknown side: half the square on each axis
    u_x, u_y = np.sqrt(friction**2 * (lean**2 + strangers) + scatter / n).tolist()
    range_x, range_y = np.ptp(points, axis=0).tolist()
    return Middle(float(mean[0]), float(mean[1]), u_x, u_y, n, unlike, range_x, range_y, (True,) * n)


def rounding(step: float, apart: float, n: int) -> tuple[float, float]:
    """What codes of width `step` add to the uncertainty of the mean of n values that lie over a range of `apart`: a
    standard uncertainty, and the half width of an even error.

    Values farther apart than a code are rounded independently, δ/√(12 n); nearer ones may all be off alike, ±δ/2 (JCGM
    100, F.2.2.1).
    """
    return (step / math.sqrt(12.0 * n), 0.0) if apart > step else (0.0, step / 2.0)


def return_scatter(from_deg: F64, points: F64) -> float:
    """Standard deviation (%) per axis of the place that a stick comes back to from one and the same direction.

    `points` float[n, 2] are the places after releases from the bearings `from_deg`. Friction leaves a stick short of
    its middle on the side that it comes from, so that part is fitted, place = c + A·(sin, cos), and taken off. One
    release is left out, the one that lies farthest off: a single direction that sticks is a fault, no scatter.
    Too few releases (< 6) give the customary value.
    """
    if len(points) < FEWEST_TO_FIT:
        return CUSTOMARY_SCATTER_PCT
    off = np.hypot(*residuals(from_deg, points).T)
    kept = np.arange(len(points)) != int(np.argmax(off))
    left = residuals(from_deg[kept], points[kept])
    degrees = 2.0 * (int(kept.sum()) - 3)
    return DROPPED_ONE * math.sqrt(float((left**2).sum()) / degrees)


def residuals(from_deg: F64, points: F64) -> F64:
    """float[n, 2]: the places less what friction does, place = c + A·(sin, cos) of the bearing it came from."""
    angle = np.radians(from_deg)
    design = np.column_stack((np.ones(len(angle)), np.sin(angle), np.cos(angle)))
    fitted, *_ = np.linalg.lstsq(design, points, rcond=None)
    return np.asarray(points - design @ fitted)
