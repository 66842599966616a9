"""How far a stick comes straight in a direction, from a push that was aimed beside it.

A hand aims some degrees off. What it reaches there is not what the stick reaches straight: on a round gate the part of
it along the direction is too small (by 1 % at 8°), and where a stop lies straight across the direction the distance
from the middle is too great by the same. Both follow from what the edge is shaped like: as the gate, or straight. How
the stick slides along the edge while it is held there tells the two apart as far as it goes; what it leaves open is
part of the uncertainty.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.correlation import effective_size
from station.measure.gate import Gate, reach
from station.measure.means import least_change
from station.measure.placement import CUSTOMARY_FRICTION_PCT
from station.measure.rail import RAIL_PCT, RAIL_SHARE
from station.measure.transition import FLANK, STEEPEST, UNLIKE_GAINS
from station.measure.uncertainty import half_width

STEP_NS = 2 * NS_PER_MS
U_MIDDLE_PCT = CUSTOMARY_FRICTION_PCT / 2.0
"""standard uncertainty of where a stick rests, from releases to four sides"""
SURE, ASLANT = 2.0, 0.1
"""so many standard uncertainties of the slope; a stop that is neither is aslant by more than twice that and 6°"""
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


def straight(
    t_ns: I64, x_pct: F64, y_pct: F64, push: Held, towards_deg: float, rest: Middle, gate: Gate,
    steps: tuple[float, float],
) -> Straight:  # fmt: skip
    """From the second half of the plateau of a push to about `towards_deg`, one of 0, 90, 180,
    270. `steps`: resolution of x and y, %.

    Two readings of one place p = (a, b), a along and b across: straight edge, a; edge shaped as the gate about the
    middle m, where that edge crosses the direction. The slope s of a over b within the push (least squares, its
    uncertainty from the effective number of residuals) is 0 for the first and known for the second; between them lies
    what s ± 2 u(s) allows.
    """
    begin_ns, end_ns = (push.begin_ns + push.end_ns) // 2, push.end_ns
    moments = held.grid_ns(begin_ns, max(end_ns, begin_ns + STEP_NS), STEP_NS)
    angle = math.radians(towards_deg)
    sin, cos = round(math.sin(angle)), round(math.cos(angle))
    x, y = held.held_at(t_ns, x_pct, moments), held.held_at(t_ns, y_pct, moments)
    along, across = sin * x + cos * y, cos * x - sin * y
    step = max(steps[0] if sin else steps[1], least_change(along), least_change(across))
    if np.mean(along >= RAIL_PCT) >= RAIL_SHARE:
        return Straight(100.0, 0.0, True)
    ahead, aside = sin * rest.x + cos * rest.y, cos * rest.x - sin * rest.y
    edge = _Slope(0.0, math.inf) if push.lags else _slope(along, across, step)
    place, off = _middle(along), float(across.mean())
    crossing = np.minimum(_crossing(along - ahead, across - aside, aside, gate) + ahead, 100.0)
    shaped = _middle(crossing)
    tilt = (off - aside) / max(place - ahead, 1.0)
    as_gate = {"round": -tilt, "octagon": -math.copysign(FLANK, tilt), "square": 0.0}[gate]
    low, high = edge.s - SURE * edge.u, edge.s + SURE * edge.u
    apart = max(2.0 * SURE * edge.u, ASLANT)
    like = [min(max(s / as_gate, 0.0), 1.0) if as_gate else 0.0 for s in (low, high)]
    parts = [_scatter(along)]
    if edge.s - apart > max(as_gate, 0.0) or edge.s + apart < min(as_gate, 0.0):
        ends = (place - edge.s * off,) * 2  # neither: a stop aslant, which goes on as it is here
        parts.append(edge.u * off)
    else:
        ends = (place + like[0] * (shaped - place), place + like[1] * (shaped - place))
        parts.append(max(like) * tilt * U_MIDDLE_PCT)
        parts.append(max(like) * 100.0 * UNLIKE_GAINS * (tilt * FLANK if gate == "octagon" else tilt * tilt))
    by_steps = float(along.std()) < FINE_RMS * step or along.max() >= RAIL_PCT
    flat = step / 2.0 if by_steps else 0.0
    parts.append(push.to_go_pct)
    pct = min((ends[0] + ends[1]) / 2.0 + push.to_go_pct, 100.0)
    return Straight(pct, half_width(math.hypot(*parts), flat, abs(ends[1] - ends[0]) / 2.0), False)


def farthest(found: list[Straight]) -> Straight:
    """Of several pushes in one direction: those that fall short of another by more than both uncertainties are the
    hand's, and of the rest the best known counts."""
    least = max(one.pct - one.uncertainty for one in found)
    return min((one for one in found if one.pct + one.uncertainty >= least), key=lambda one: one.uncertainty)


def _middle(values: F64) -> float:
    """The mean; where the end of the range cuts noise off, the median."""
    return float(np.median(values) if values.max() >= RAIL_PCT else values.mean())


def _crossing(along: F64, across: F64, aside: float, gate: Gate) -> F64:
    """Where an edge shaped as the gate through (along, across), both from the middle, crosses the direction, which runs
    past the middle at −`aside`; from the middle."""
    if gate == "square":
        return along
    if gate == "octagon":
        return reach(along, across, gate) - FLANK * abs(aside)
    return np.asarray(np.sqrt(np.maximum(along**2 + across**2 - aside**2, 0.0)))


def _scatter(values: F64) -> float:
    """Standard uncertainty of their middle. Few effective observations: widened as Student's t is (JCGM 100, G.3.2); a
    median scatters by √(π/2) more than a mean."""
    n = max(effective_size(values), 2.0)
    by_median = math.sqrt(math.pi / 2.0) if values.max() >= RAIL_PCT else 1.0
    return by_median * float(values.std()) / math.sqrt(n) * (1.0 + 1.25 / (n - 1.0))


@dataclass(frozen=True, slots=True)
class _Slope:
    """Slope of the edge along over across, and its standard uncertainty."""

    s: float
    u: float


def _slope(along: F64, across: F64, step: float) -> _Slope:
    """Least squares. The number of residuals that counts is the effective one; step steps hide a slope as long as the
    stick slides within one of them. Noise across flattens a slope: a slide no wider than noise tells nothing."""
    off = across - across.mean()
    spread = float(off @ off)
    if spread <= 0.0:
        return _Slope(0.0, math.inf)
    slope = min(max(float(off @ along) / spread, -STEEPEST), STEEPEST)
    left = along - along.mean() - slope * off
    if spread < 4.0 * float(left @ left):
        return _Slope(slope, math.inf)
    n = len(left)
    by_noise = math.sqrt(float(left @ left) / spread / max(effective_size(left), 3.0))
    by_steps = step / math.sqrt(12.0 * spread / n)
    by_steps /= math.sqrt(effective_size(across)) if float(along.std()) >= FINE_RMS * step else 1.0
    return _Slope(slope, math.hypot(by_noise, by_steps))
