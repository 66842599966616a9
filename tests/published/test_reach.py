"""Reach straight in a direction, the creep without the hand, and intervals of even and normal errors, against
independent computations: scipy's distributions, and edges and movements drawn here."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq
from scipy.signal import lfilter

from station.measure.edge import Place, Slope
from station.measure.gate import Gate
from station.measure.reach import Held, Met, Middle, Straight, farthest, met, straight
from station.measure.transition import Push, own_creep, still_to_go
from station.measure.uncertainty import half_width

RATE_HZ, HELD_S = 500, 0.9
STEPS = (0.0488, 0.0488)  # 12 bit


@pytest.mark.parametrize("unknown", [0.0, 0.5, 3.0])
@pytest.mark.parametrize(("u", "flat"), [(1.0, 0.0), (0.5, 1.0), (0.05, 1.0), (0.0, 1.0)])
def test_half_width_by_drawn_errors(u: float, flat: float, unknown: float) -> None:
    """At both ends of what is unknown 95 % of a million drawn errors lie within U (Imbens & Manski 2004)."""
    rng = np.random.default_rng(7)
    error = u * rng.standard_normal(1_000_000) + rng.uniform(-flat, flat, 1_000_000)
    for end in (-unknown, unknown):
        assert np.mean(np.abs(error + end) <= half_width(u, flat, unknown)) == pytest.approx(0.95, abs=0.0015)


@pytest.mark.parametrize("width", [0.0, 1.0, 4.0])
def test_half_width_is_that_of_imbens_and_manski(width: float) -> None:
    """Their equation for the critical value: Φ(C + Δ/σ) − Φ(−C) = 0.95 (from memory), solved by scipy."""
    c = brentq(lambda c: stats.norm.cdf(c + width) - stats.norm.cdf(-c) - 0.95, 0.0, 5.0)
    assert half_width(1.0, 0.0, width / 2.0) == pytest.approx(width / 2.0 + c, abs=1e-6)


def test_half_width_of_known_errors() -> None:
    """1.96 of a normal error, 1.645 standard deviations of an even one (EA-4/02, S9: k = 1.65)."""
    assert half_width(1.0) == pytest.approx(stats.norm.ppf(0.975), abs=1e-6)
    assert half_width(0.0, np.sqrt(3.0)) == pytest.approx(1.65, abs=0.01)
    assert half_width(0.0) == 0.0


def _edge(gate: Gate, bearing: np.ndarray, radius: float, stop: float | None) -> tuple[np.ndarray, np.ndarray]:
    """Places on an edge: the gate's, of that radius, or a stop straight across "right" if that is nearer."""
    sin, cos = np.sin(bearing), np.cos(bearing)
    if gate == "round":
        share = np.ones_like(bearing)
    elif gate == "square":
        share = np.maximum(np.abs(sin), np.abs(cos))
    else:
        angles = np.pi / 8 + np.pi / 4 * np.arange(8)
        share = np.max([sin * np.sin(a) + cos * np.cos(a) for a in angles], axis=0) / np.cos(np.pi / 8)
    if stop is not None:
        share = np.maximum(share, sin * radius / stop)
    return radius * sin / share, radius * cos / share


def _held(
    gate: Gate, radius: float, stop: float | None, off_deg: float, rng: np.random.Generator, step: float = STEPS[0]
) -> Straight:
    """A push to the right aimed `off_deg` beside it, sliding by a degree, with noise and codes of that step."""
    n = int(RATE_HZ * HELD_S)
    wander = np.cumsum(rng.standard_normal(n)) / np.sqrt(n)
    bearing = np.radians(90.0 + off_deg + (wander - wander.mean()))
    x, y = _edge(gate, bearing, radius, stop)
    codes = [np.clip(np.round((v + 0.08 * rng.standard_normal(n)) / step) * step, -100.0, 100.0) for v in (x, y)]
    t = (np.arange(n) * (1e9 / RATE_HZ)).astype(np.int64)
    one = met(t, codes[0], codes[1], Held(0, int(t[-1])), 90.0, Middle(0.0, 0.0), gate, (step, step))
    return straight([one])


@pytest.mark.parametrize("step", [0.0488, 0.784], ids=["12 bit", "8 bit"])
@pytest.mark.parametrize("stop", [None, 93.0], ids=["gate", "stop"])
@pytest.mark.parametrize("gate", ["round", "square", "octagon"])
def test_the_reach_straight_ahead_is_covered(gate: Gate, stop: float | None, step: float) -> None:
    """300 pushes aimed beside the direction by 5° rms: the edge straight ahead lies within ±U in 95 %, or in more where
    an even error of the codes or the shape of the edge is most of U and hits its end seldom. No farther than 6°: there
    a stop at 93 meets the side of the octagon (7.4°, computed), and beyond nobody pushes against it."""
    rng = np.random.default_rng(11)
    radius, held = 98.0, 0
    true = radius if stop is None else stop
    for _ in range(300):
        one = _held(gate, radius, stop, float(np.clip(rng.normal(0.0, 5.0), -6.0, 6.0)), rng, step)
        held += abs(one.pct - true) <= one.uncertainty + 1e-9
    assert held >= 0.91 * 300  # 95 % less three standard errors of 300


def test_what_a_straight_stop_hides_beside_it() -> None:
    """Seen 7° beside it, a stop at 94.5 % of a round gate is at 94.5/cos 7° = 95.2 % (computed) and must not pass."""
    one = _held("round", 100.0, 94.5, 7.0, np.random.default_rng(3))
    assert one.pct - one.uncertainty < 94.7
    assert one.pct + one.uncertainty > 94.5


def test_a_round_gate_seen_beside_is_not_short() -> None:
    """10° beside the direction the part along it is 98 cos 10° = 96.5 (computed); the gate reaches 98."""
    one = _held("round", 98.0, None, 10.0, np.random.default_rng(3))
    assert one.pct == pytest.approx(98.0, abs=0.3)


def test_the_end_of_the_range_has_no_uncertainty() -> None:
    assert _held("square", 104.0, None, 6.0, np.random.default_rng(1)) == Straight(100.0, 0.0, True)


def _at(along: float, u: float) -> Met:
    """A push straight ahead at the edge of a square gate, without slides."""
    return Met(Place(along, 0.0, u, Slope(0.0, np.inf), along, u, 0.0, 0.0))


def test_a_push_that_fell_short_does_not_count_and_the_others_do_together() -> None:
    lifted, vague, sure = _at(84.0, 0.25), _at(95.0, 1.0), _at(94.5, 0.1)
    assert farthest([lifted, vague, sure]) == straight([vague, sure])
    assert straight([vague, sure]).pct == pytest.approx(94.505, abs=0.01)  # weighted by 1/u²: 94.5 + 0.5/101
    assert straight([vague, sure]).uncertainty == pytest.approx(1.96 / np.sqrt(101.0), rel=0.02)


def _push(rise_ms: float, creep_ms: float, u_ms: float = 0.4, level: float = 100.0, held_ms: float = 0.0) -> Push:
    return Push(90.0, level, 0.0, 0.0, 0.0, rise_ms, creep_ms, u_ms, 0.0, 900.0, 0, int(held_ms * 1e6))


@pytest.mark.parametrize("tau_ms", [0.0, 40.0, 150.0])
@pytest.mark.parametrize("move_s", [0.09, 0.13])
def test_the_creep_is_the_sticks_own(tau_ms: float, move_s: float) -> None:
    """A minimum-jerk movement to 160 % (Flash & Hogan 1985) that a lag follows above 75 %: τ ln 10 (computed)."""
    t = np.arange(0.0, 2.0, 1e-4)
    s = np.clip(t / move_s, 0.0, 1.0)
    hand = np.minimum(160.0 * s**3 * (10.0 - 15.0 * s + 6.0 * s * s), 100.0)
    place, seen = 0.0, []
    for h in hand:
        place = h if h <= 75.0 or not tau_ms else max(place, 75.0) + (h - max(place, 75.0)) * 1e-4 / (tau_ms / 1e3)
        seen.append(place)
    way = np.array(seen)
    at = {level: float(t[np.argmax(way >= level)]) for level in (20.0, 80.0, 98.0)}
    push = _push(1e3 * (at[80.0] - at[20.0]), 1e3 * (at[98.0] - at[80.0]))
    creep = own_creep(push)
    assert creep.ms == pytest.approx(tau_ms * np.log(10.0), abs=creep.uncertainty_ms + 0.01 * tau_ms)
    assert creep.uncertainty_ms < 6.0 + 0.05 * tau_ms


def test_what_a_lag_has_still_to_go() -> None:
    """An exponential to 96 % with τ = 250 ms, left after 0.8 s: the mean of the second half of the time within 1 % of
    its last value, and the 80…98 % time that it was on its way to (computed)."""
    tau, t = 250.0, np.arange(0.0, 800.0, 0.1)
    way = 96.0 - 24.0 * np.exp(-t / tau)
    level = way[-1]
    on = np.flatnonzero(way >= level - 1.0)
    second = way[on[0] + len(on) // 2 :]
    creep = float(t[np.argmax(way >= 0.98 * level)] - t[np.argmax(way >= 0.8 * level)])
    found = still_to_go(_push(25.0, creep, level=float(second.mean()), held_ms=float(t[-1] - t[on[0]])))
    assert found.pct == pytest.approx(96.0 - second.mean(), rel=0.35)
    assert found.creep_ms == pytest.approx(tau * np.log(10.0), rel=0.15)


CODE_12, CODE_8 = 200.0 / 4095.0, 200.0 / 255.0


def _stopped(
    rng: np.random.Generator, aslant_deg: float, level: float, off_deg: float, code: float, rate_hz: int = 500
) -> Met:
    """A push to the right against a straight line that crosses the direction at `level` and lies so far aslant, drawn
    by itself: where the ray from the middle at each bearing meets the line. Fast and slow noise, rounded to codes."""
    n = int(rate_hz * HELD_S)
    keep = np.exp(-1.0 / (0.05 * rate_hz))
    slow = lfilter([0.03 * np.sqrt(1.0 - keep**2)], [1.0, -keep], rng.standard_normal((n + rate_hz, 2)), axis=0)[-n:]
    slide = np.interp(np.arange(n), np.linspace(0, n, 5), rng.normal(0.0, 0.6, 5))
    beside, line = np.radians(off_deg + slide), np.radians(aslant_deg)
    far = level * np.cos(line) / np.cos(beside - line)
    places = np.column_stack((far * np.cos(beside), -far * np.sin(beside))) + 0.08 * rng.standard_normal((n, 2)) + slow
    x, y = (np.clip(np.round(places / code) * code, -100.0, 100.0)).T
    t = (np.arange(n) * (1e9 / rate_hz)).astype(np.int64)
    return met(t, x, y, Held(0, int(t[-1])), 90.0, Middle(0.0, 0.0), "round", (code, code))


@pytest.mark.parametrize("code", [CODE_12, CODE_8], ids=["12 bit", "8 bit"])
@pytest.mark.parametrize("aslant_deg", [0.0, 3.0, -5.0, 12.0, 25.0], ids=lambda deg: f"{deg:g}°")
def test_two_pushes_tell_how_far_a_stop_lies_straight_ahead_however_aslant(aslant_deg: float, code: float) -> None:
    """200 pairs of pushes, each aimed beside the direction by 5° rms against a stop of 65…88 %: ±U holds where it
    crosses the direction in 95 %, less the 0.5 % point of a binomial of 200 (scipy)."""
    rng, held = np.random.default_rng([int(aslant_deg + 90.0), int(1e3 * code)]), 0
    for _ in range(200):
        level = float(rng.uniform(65.0, 88.0))
        found = farthest([_stopped(rng, aslant_deg, level, float(rng.normal(0.0, 5.0)), code) for _ in range(2)])
        held += abs(found.pct - level) <= found.uncertainty
    assert held >= stats.binom.ppf(0.005, 200, 0.95)
