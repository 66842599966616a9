"""How far a stick comes straight in a direction, from pushes that were aimed beside it.

A hand aims some degrees off. What it reaches there is not what the stick reaches straight: on a round gate the part of
it along the direction is too small (by 1 % at 8°), and where a stop lies straight across the direction the distance
from the middle is too great by the same. Both follow from what the edge is shaped like. How the stick slides along the
edge while it is held there, and where else along it a second push came, tell the shapes apart as far as they go; what
they leave open is part of the uncertainty (`measure/edge.py`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.correlation import effective_size
from station.measure.edge import U_MIDDLE_PCT, Place, Slope, crossing
from station.measure.gate import Gate, reach
from station.measure.means import NEIGHBOURS, SLOW_NS, least_change
from station.measure.rail import RAIL_PCT, RAIL_SHARE
from station.measure.transition import FLANK, UNLIKE_GAINS
from station.measure.uncertainty import few, half_width

STEP_NS = 2 * NS_PER_MS
USUAL_SLOW_PCT, USUAL_DEGREES = 0.025, 8.0
"""scatter of means over 80 ms of a sound track, and so many degrees of freedom that it counts for (slow noise of 0.02
to 0.05 % rms: common practice, no source)"""
STEEPEST = 1.2
"""an edge that a stick is pushed against is no steeper than this across the push: 50°"""
FINE_RMS = 0.6
"""noise of so many steps averages the steps out (Sheppard's case)"""


@dataclass(frozen=True, slots=True)
class Straight:
    """Reach straight in a direction, %, its expanded uncertainty, and whether it is the end of the range, beyond which
    nothing is reported: then the uncertainty is 0."""

    pct: float
    uncertainty: float
    at_end: bool


@dataclass(frozen=True, slots=True)
class Met:
    """Where one push met the edge: the place, none where it stood at the end of the range. A value that lags tells
    no slope, and nothing of which shape the edge has there."""

    place: Place | None
    lags: bool = False


@dataclass(frozen=True, slots=True)
class Held:
    """The plateau of a push, how much of the way (%) was still to go when it ended, and whether the value lags: then it
    goes on outwards while it slides, and its slope tells nothing of the edge."""

    begin_ns: int
    end_ns: int
    to_go_pct: float = 0.0
    lags: bool = False


@dataclass(frozen=True, slots=True)
class Middle:
    """Where the stick rests between the pushes, %."""

    x: float
    y: float


def rests_at(t_ns: I64, x_pct: F64, y_pct: F64, away: Bool, end_ns: int) -> Middle:
    """The median place, by time, while it is not pushed; the middle of the range if it always is."""
    hold = np.where(away, 0.0, held.hold_s(t_ns, int(t_ns[0]), end_ns))
    if hold.sum() <= 0.0:
        return Middle(0.0, 0.0)
    return Middle(held.quantile(x_pct, hold, 0.5), held.quantile(y_pct, hold, 0.5))


def met(
    t_ns: I64, x_pct: F64, y_pct: F64, push: Held, towards_deg: float, rest: Middle, gate: Gate,
    steps: tuple[float, float],
) -> Met:  # fmt: skip
    """From the second half of the plateau of a push to about `towards_deg`, one of 0, 90, 180, 270. `steps`: resolution
    of x and y, %."""
    begin_ns, end_ns = (push.begin_ns + push.end_ns) // 2, push.end_ns
    moments = held.grid_ns(begin_ns, max(end_ns, begin_ns + STEP_NS), STEP_NS)
    angle = math.radians(towards_deg)
    sin, cos = round(math.sin(angle)), round(math.cos(angle))
    x, y = held.held_at(t_ns, x_pct, moments), held.held_at(t_ns, y_pct, moments)
    along, across = sin * x + cos * y, cos * x - sin * y
    if np.mean(along >= RAIL_PCT) >= RAIL_SHARE:
        return Met(None)
    step = max(steps[0] if sin else steps[1], least_change(along), least_change(across))
    ahead, aside = sin * rest.x + cos * rest.y, cos * rest.x - sin * rest.y
    cut_off = bool(along.max() >= RAIL_PCT)
    slope = Slope(0.0, math.inf) if push.lags else _slope(along, across, step)
    left = along - along.mean()
    left = left if math.isinf(slope.u) else left - slope.s * (across - across.mean())
    level, off = _middle(along), float(across.mean())
    shaped = np.minimum(_shaped(along - ahead, across - aside, aside, gate) + ahead, 100.0)
    tilt = (off - aside) / max(level - ahead, 1.0)
    unlike = 100.0 * UNLIKE_GAINS * (tilt * FLANK if gate == "octagon" else tilt * tilt)
    u = _u_of_middle(left, cut_off, 1 if math.isinf(slope.u) else 2)
    u_shaped = u if cut_off else _u_of_middle(shaped, cut_off)
    return Met(
        Place(
            level + push.to_go_pct,
            off,
            math.hypot(u, push.to_go_pct),
            slope,
            _middle(shaped) + push.to_go_pct,
            math.hypot(u_shaped, push.to_go_pct, tilt * U_MIDDLE_PCT, unlike),
            _slope_of_gate(across - aside, tilt, gate),
            step / 2.0 if cut_off or float(left.std()) < FINE_RMS * step else 0.0,
        ),
        push.lags,
    )


def straight(found: Sequence[Met]) -> Straight:
    """From all of these pushes in one direction, which came to one edge."""
    places = [one.place for one in found if one.place is not None]
    if len(places) < len(found):
        return Straight(100.0, 0.0, True)
    if any(one.lags for one in found):
        return min((_between(place) for place in places), key=lambda one: one.uncertainty)
    pct, uncertainty = crossing(places)
    return Straight(min(pct, 100.0), uncertainty, False)


def farthest(found: Sequence[Met]) -> Straight:
    """Of several pushes in one direction: those that fall short of another by more than both uncertainties are the
    hand's, and the rest count together."""
    each = [straight([one]) for one in found]
    least = max(one.pct - one.uncertainty for one in each)
    return straight([push for push, one in zip(found, each, strict=True) if one.pct + one.uncertainty >= least])


def _between(place: Place) -> Straight:
    """Of a value that lags: all between a stop straight across and an edge shaped as the gate is left open."""
    u, unknown = math.hypot(place.u, place.u_shaped), abs(place.shaped - place.along) / 2.0
    return Straight(min((place.along + place.shaped) / 2.0, 100.0), half_width(u, place.flat, unknown), False)


def _middle(values: F64) -> float:
    """The mean; where the end of the range cuts noise off, the median."""
    return float(np.median(values) if values.max() >= RAIL_PCT else values.mean())


def _shaped(along: F64, across: F64, aside: float, gate: Gate) -> F64:
    """Where an edge shaped as the gate through (along, across), both from the middle, crosses the direction, which runs
    past the middle at −`aside`; from the middle."""
    if gate == "square":
        return along
    if gate == "octagon":
        return reach(along, across, gate) - FLANK * abs(aside)
    return np.asarray(np.sqrt(np.maximum(along**2 + across**2 - aside**2, 0.0)))


def _slope_of_gate(across: F64, tilt: float, gate: Gate) -> float:
    """Of an edge shaped as the gate, as least squares see it over these places across from the middle: beside the notch
    of an octagon that of its side, where the stick slid through the notch something between both sides."""
    if gate == "square":
        return 0.0
    if gate == "round":
        return -tilt
    off = across - across.mean()
    spread = float(off @ off)
    return -FLANK * float(off @ np.abs(across)) / spread if spread > 0.0 else -math.copysign(FLANK, tilt)


def _u_of_middle(values: F64, by_median: bool, fitted: int = 1) -> float:
    """Standard uncertainty of the middle of values that are alike but for noise, `fitted` parameters taken off.

    From how much means over 80 ms differ (as of a trigger's plateau), since a slow part decides it that the
    autocorrelations of half a second hide. There are five or six of them, so what is usual is pooled with it (scaled
    inverse chi-square: Gelman et al., *Bayesian Data Analysis*, 2.6; JCGM 100, 4.2.4), and it is widened as Student's t
    is (G.3.2). A median scatters by √(π/2) more than a mean.
    """
    parts = max(len(values) * STEP_NS // SLOW_NS, 1)
    means = values[: len(values) // parts * parts].reshape(parts, -1).mean(axis=1)
    degrees = max(parts - fitted, 0)
    squares = float(((means - means.mean()) ** 2).sum()) if degrees else 0.0
    total = degrees + USUAL_DEGREES
    scatter = math.sqrt((squares + USUAL_DEGREES * USUAL_SLOW_PCT**2) / total * NEIGHBOURS)
    return (math.sqrt(math.pi / 2.0) if by_median else 1.0) * few(total) * scatter / math.sqrt(parts)


def _slope(along: F64, across: F64, step: float) -> Slope:
    """Least squares; u(s) is that of the middle over the rms of the slide, which goes
    to and fro, so that neighbours that are alike do not add up. Steps hide a slope as long as the stick
    slides within one of them. Noise across flattens a slope, and a slide no wider than noise tells nothing; of a wider
    one the noise, alike on both axes, is taken off (Fuller, *Measurement Error Models*, 1987, 1.2)."""
    off = across - across.mean()
    spread = float(off @ off)
    if spread <= 0.0:
        return Slope(0.0, math.inf)
    slope = min(max(float(off @ along) / spread, -STEEPEST), STEEPEST)
    left = along - along.mean() - slope * off
    power = float(left @ left)
    if spread < 4.0 * power:
        return Slope(slope, math.inf)
    n = len(left)
    by_noise = _u_of_middle(left, False, 2) * math.sqrt(n / spread / NEIGHBOURS)
    by_steps = step / math.sqrt(12.0 * spread / n)
    by_steps /= math.sqrt(effective_size(across)) if float(along.std()) >= FINE_RMS * step else 1.0
    slope *= spread / (spread - power / (1.0 + slope * slope))
    return Slope(min(max(slope, -STEEPEST), STEEPEST), math.hypot(by_noise, by_steps))
