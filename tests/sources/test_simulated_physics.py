"""The physics of a simulated stick against independent solutions, and its gate against geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.signal import lti

from station.sources.simulated.gates import edge, gauge, inside
from station.sources.simulated.parts import Lever, Stick, Track
from station.sources.simulated.shaft import LeverShaft, StickShaft
from station.sources.simulated.spring import release, step_response

TICK_S = 0.001


@pytest.mark.parametrize("damping", [0.2, 0.75, 1.0, 4.0])
def test_return_without_friction_is_the_step_response_of_a_second_order_system(damping: float) -> None:
    """Oracle: scipy.signal.lti.step of ω²/(s² + 2ζωs + ω²)."""
    omega = 2 * math.pi * 15.0
    times, rise = lti([omega**2], [1.0, 2 * damping * omega, omega**2]).step(T=np.linspace(0, 0.3, 601))
    np.testing.assert_allclose(step_response(times, 15.0, damping), 1.0 - rise, atol=2e-6)


@pytest.mark.parametrize(("damping", "friction"), [(0.15, 6.0), (0.5, 4.0), (0.85, 1.0), (1.0, 5.0), (3.0, 2.0)])
def test_return_with_friction_is_what_integrating_the_motion_gives(damping: float, friction: float) -> None:
    """Oracle: s″ = −2ζω s′ − ω²(s + friction·sign s′) integrated numerically, the sign softened over 1e-3 %/s·ω."""
    hz, start = 15.0, 100.0
    omega = 2 * math.pi * hz

    def motion(_: float, state: np.ndarray) -> list[float]:
        s, v = state
        return [v, -2 * damping * omega * v - omega**2 * (s + friction * math.tanh(v / (1e-3 * omega)))]

    found = release(start, friction, hz, damping)
    t = np.linspace(0.0, found.end_s, 300)
    solved = solve_ivp(motion, (0, t[-1] + 1e-3), [start, 0.0], t_eval=t, rtol=1e-8, atol=1e-8, method="LSODA")
    np.testing.assert_allclose(found.at(t)[:-1], solved.y[0][:-1], atol=0.15)


@pytest.mark.parametrize("damping", [0.3, 0.9, 1.0, 5.0])
def test_friction_holds_a_stick_no_farther_off_than_it_can(damping: float) -> None:
    for start in (3.0, 40.0, 100.0):
        assert abs(release(start, 5.0, 15.0, damping).end) <= 5.0 + 1e-9


def test_a_stick_within_its_friction_does_not_move() -> None:
    found = release(4.0, 5.0, 15.0, 0.85)
    assert (found.end, found.end_s) == (4.0, 0.0)


@pytest.mark.parametrize(
    ("shape", "bearing", "distance"),
    [
        ("round", 33.0, 100.0),
        ("square", 90.0, 100.0),
        ("square", 45.0, 100.0 * math.sqrt(2)),
        ("octagon", 45.0, 100.0),
        ("octagon", 22.5, 100.0 * math.cos(math.pi / 8)),
    ],
)
def test_edge_of_the_gate(shape: str, bearing: float, distance: float) -> None:
    assert edge(bearing, shape) == pytest.approx(distance)


@pytest.mark.parametrize("shape", ["round", "square", "octagon"])
def test_nothing_gets_beyond_the_gate_and_what_is_inside_stays(shape: str) -> None:
    xy = np.random.default_rng(1).normal(0.0, 90.0, (500, 2))
    kept = inside(xy, shape, ())
    assert gauge(kept, shape).max() <= 1.0 + 1e-12
    free = gauge(xy, shape) <= 1.0
    np.testing.assert_array_equal(kept[free], xy[free])
    np.testing.assert_allclose(
        np.cross(np.pad(kept, ((0, 0), (0, 1))), np.pad(xy, ((0, 0), (0, 1))))[:, 2], 0, atol=1e-9
    )


def test_a_cut_stops_the_shaft_at_its_share_of_the_edge() -> None:
    for shape, bearing in (("round", 20.0), ("square", 45.0), ("octagon", 100.0)):
        angle = math.radians(bearing)
        far = np.array([[300 * math.sin(angle), 300 * math.cos(angle)]])
        assert gauge(inside(far, shape, ((bearing, 70.0),)), shape)[0] == pytest.approx(0.7)


def _pushed(part: Stick, seconds: float) -> np.ndarray:
    """Distance from the centre for a hand that is at the right edge at once."""
    shaft = StickShaft(part, TICK_S, np.random.default_rng(0))
    count = round(seconds / TICK_S)
    hand = np.zeros((count, 2))
    hand[1:, 0] = 160.0
    return np.hypot(*shaft.run(hand, np.ones(count, bool), count).T)


def test_gum_at_the_gate_is_followed_as_a_first_order_lag() -> None:
    """From 80 % to 98 % of the way takes τ·ln((100 − 80)/(100 − 98)) = τ ln 10; here the gum begins at 75 %."""
    way = _pushed(Stick(Track(), Track(), creep=(90.0, 0.1)), 1.5)
    took = (np.argmax(way >= 98.0) - np.argmax(way >= 80.0)) * TICK_S
    assert took == pytest.approx(0.1 * math.log(10.0), abs=2 * TICK_S)


def test_without_gum_the_stick_is_where_the_hand_is() -> None:
    assert _pushed(Stick(Track(), Track()), 0.3)[60:] == pytest.approx(100.0)


def test_a_stick_goes_back_from_where_it_was_let_go_in_any_chunks() -> None:
    part = Stick(Track(), Track(), friction_pct=3.0, scatter_pct=0.0)
    hand = np.tile([0.0, 150.0], (100, 1))
    whole = StickShaft(part, TICK_S, np.random.default_rng(0))
    led = whole.run(hand, np.ones(100, bool), 100)
    back = whole.run(None, None, 400)
    pieces = StickShaft(part, TICK_S, np.random.default_rng(0))
    pieces.run(hand, np.ones(100, bool), 100)
    np.testing.assert_allclose(np.concatenate([pieces.run(None, None, n) for n in (1, 7, 192, 200)]), back)
    assert led[-1] == pytest.approx([0.0, 100.0])
    assert back[-1] == pytest.approx([0.0, whole.releases[-1].end[1]])
    assert abs(back[-1, 1]) <= 3.0
    assert whole.releases[-1].free_s == pytest.approx(0.4)


def test_only_the_sticky_side_keeps_the_stick() -> None:
    part = Stick(Track(), Track(), damping=1.0, friction_pct=1.0, sticky=(90.0, 12.0), scatter_pct=0.0)
    ends = []
    for bearing in (90.0, 270.0):
        shaft = StickShaft(part, TICK_S, np.random.default_rng(0))
        hand = np.tile([150.0 * math.sin(math.radians(bearing)), 0.0], (100, 1))
        shaft.run(hand, np.ones(100, bool), 100)
        ends.append(shaft.run(None, None, 600)[-1, 0])
    assert ends == pytest.approx([12.0, -1.0])


def test_a_trigger_springs_back_to_its_stop_and_goes_no_farther_than_its_pull() -> None:
    lever = LeverShaft(Lever(Track(), stop_pct=80.0), TICK_S, np.random.default_rng(1))
    pulled = lever.run(np.linspace(0, 110, 200), np.ones(200, bool), 200)
    back = lever.run(None, None, 400)
    assert pulled.max() == 80.0
    assert back.min() >= 0.0
    assert back[-1] == 0.0
    assert (np.diff(back) <= 1e-9).all()
