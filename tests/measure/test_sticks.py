"""Measures of sticks by themselves: centre, gates, releases, plateaus, sectors."""

from __future__ import annotations

import math

import numpy as np
import pytest

from station.measure.centre import bearing_deg, distance_uncertainty
from station.measure.circle import least_squares
from station.measure.correlation import effective_size
from station.measure.gate import Gate, reach
from station.measure.repeatability import pose_repeatability, repeatability_uncertainty
from station.measure.sectors import SECTORS, least_reach, roll, steepness, two_way_difference
from station.measure.settle import directions_covered, releases
from station.measure.transition import hand_wobble, plateau, pushes
from station.measure.zone import minimum_zone

MS = 1_000_000


@pytest.mark.parametrize(
    ("x", "y", "bearing"),
    [(0, 1, 0), (1, 1, 45), (1, 0, 90), (0, -1, 180), (-1, 0, 270), (-1, 1, 315)],
)
def test_bearings_run_clockwise_from_up(x: float, y: float, bearing: float) -> None:
    assert bearing_deg(x, y) == pytest.approx(bearing)


def test_uncertainty_of_a_distance_covers_near_and_far() -> None:
    """Simulated: the stated U holds the true distance in about 95 of 100 cases, at the centre and away from it."""
    rng = np.random.default_rng(1)
    for true in ((0.0, 0.0), (0.5, 0.0), (3.0, 4.0)):
        points = np.array(true) + 0.3 * rng.standard_normal((4000, 2))
        error = np.hypot(*points.T) - math.hypot(*true)
        stated = np.array([distance_uncertainty(x, y, 0.3, 0.3) for x, y in points])
        assert 0.94 < np.mean(np.abs(error) <= stated) < 0.995


@pytest.mark.parametrize(
    ("gate", "point", "expected"),
    [
        ("round", (60, 80), 100),
        ("square", (60, 100), 100),
        ("square", (100, 100), 100),
        ("octagon", (100, 0), 100),
        ("octagon", (0, -100), 100),
        ("octagon", (70.71068, 70.71068), 100),
    ],
)
def test_the_edge_of_a_gate_is_100_in_every_direction(gate: Gate, point: tuple[float, float], expected: float) -> None:
    assert reach(np.array([point[0]]), np.array([point[1]]), gate)[0] == pytest.approx(expected, abs=1e-4)


def test_repeatability_needs_two_points() -> None:
    assert math.isnan(pose_repeatability(np.zeros((1, 2))))
    assert math.isinf(repeatability_uncertainty(np.zeros(1), np.zeros((1, 2)), 0.1))


def test_constant_series_count_as_uncorrelated() -> None:
    assert effective_size(np.zeros(10)) == 10.0
    assert effective_size(np.array([1.0])) == 1.0


@pytest.mark.parametrize(
    "points", [[(0, 0), (1, 1)], [(0, 0), (1, 1), (2, 2), (3, 3)]], ids=["two points", "points on a line"]
)
def test_no_circle_through_too_little(points: list[tuple[float, float]]) -> None:
    with pytest.raises(ValueError, match="not on a line"):
        least_squares(np.array(points, dtype=np.float64))
    with pytest.raises(ValueError, match="not on a line"):
        minimum_zone(np.array(points, dtype=np.float64))


def flick(tau_ms: float, wait_ms: int, bearing: float = 90.0) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    out = np.concatenate([np.linspace(0, 100, 60), np.full(150, 100.0), 100 * np.exp(-np.arange(wait_ms) / tau_ms)])
    angle = math.radians(bearing)
    return np.arange(len(out), dtype=np.int64) * MS, out * math.sin(angle), out * math.cos(angle)


def test_a_release_is_described() -> None:
    t, x, y = flick(10.0, 700, bearing=135.0)
    found, too_short = releases(t, x, y, int(t[-1]))
    assert too_short == 0
    (one,) = found
    assert one.from_deg == pytest.approx(135.0, abs=0.5)
    assert math.hypot(one.x, one.y) < 0.1
    assert one.settle_ms == pytest.approx(10 * math.log(80 / 3), abs=1.5)
    assert one.descent_ms == pytest.approx(10 * math.log(4), abs=1.0)
    assert one.shape == pytest.approx(math.log(1.6) / math.log(2.5), abs=0.03)
    assert not one.guided


def test_a_stick_not_seen_to_settle_has_an_uncertain_time() -> None:
    t, x, y = flick(300.0, 600)
    ((one,), _) = releases(t, x, y, int(t[-1]))
    assert one.settle_ms > 400
    assert one.u_settle_ms > 0.2 * one.settle_ms


@pytest.mark.parametrize(
    ("wait_ms", "expected"), [(200, (0, 1)), (700, (1, 0))], ids=["too short a rest is said", "long enough"]
)
def test_rest_after_a_release(wait_ms: int, expected: tuple[int, int]) -> None:
    t, x, y = flick(10.0, wait_ms)
    found, too_short = releases(t, x, y, int(t[-1]))
    assert (len(found), too_short) == expected


def test_small_movements_are_no_releases() -> None:
    t, x, y = flick(10.0, 700)
    assert releases(t, 0.3 * x, 0.3 * y, int(t[-1])) == ([], 0)
    assert releases(t[:0], x[:0], y[:0], 0) == ([], 0)


def test_eight_directions_with_a_sloppy_aim() -> None:
    aimed = 45.0 * np.arange(8) + np.array([9, -12, 14, 0, -8, 11, -13, 5])
    assert directions_covered(aimed).all()
    assert directions_covered(aimed[:6]).sum() == 6
    assert not directions_covered(np.empty(0)).any()


def test_a_plateau_is_neither_its_luckiest_part_nor_what_slackens() -> None:
    rng = np.random.default_rng(3)
    t = np.arange(1000, dtype=np.int64) * MS
    v = np.concatenate([np.full(700, 93.0), np.linspace(93, 60, 300)]) + 0.3 * rng.standard_normal(1000)
    flat = plateau(t, v, 0, 1000 * MS, 100 * MS)
    assert flat.level == pytest.approx(93.0, abs=0.1)
    assert flat.end_ns < 760 * MS


def test_a_hand_in_the_air_wobbles_and_a_noisy_sensor_does_not() -> None:
    rng = np.random.default_rng(4)
    t = np.arange(800, dtype=np.int64) * MS
    noise = 0.5 * rng.standard_normal(800)
    slow = 1.2 * np.sin(2 * np.pi * 3.1 * t / 1e9)
    assert hand_wobble(t, 85 + noise, 0, 800 * MS) == 0.0
    assert hand_wobble(t, 85 + noise + slow, 0, 800 * MS) > 0.5


def test_pushes_by_rough_and_by_full_measure_agree() -> None:
    d = np.concatenate(
        [np.zeros(100), np.linspace(0, 97, 40), np.full(600, 97.0), np.linspace(97, 0, 30), np.zeros(100)]
    )
    t = np.arange(len(d), dtype=np.int64) * MS
    (full,) = pushes(t, 0 * d, -d, d, int(t[-1]))
    (rough,) = pushes(t, 0 * d, -d, d, int(t[-1]), precise=False)
    assert (full.held_pct, rough.held_pct) == pytest.approx((97.0, 97.0))
    assert (full.bearing_deg, rough.bearing_deg) == pytest.approx((180.0, 180.0))
    assert full.rise_ms == pytest.approx(0.6 * 40, abs=1.5)
    assert full.hold_ms == pytest.approx(rough.hold_ms)
    assert pushes(t[:0], d[:0], d[:0], d[:0], 0) == []


def around(turns: float, reach_pct: np.ndarray | float = 100.0, hz: int = 250, turn_s: float = 1.0) -> tuple:
    n = int(turns * turn_s * hz)
    angle = np.concatenate([np.linspace(0, turns * 2 * np.pi, n), np.linspace(turns * 2 * np.pi, 0, n)])
    r = np.broadcast_to(reach_pct, angle.shape)
    t = (np.arange(2 * n) * (1e9 / hz)).astype(np.int64)
    return t, r * np.sin(angle), r * np.cos(angle), np.array(r)


def test_turns_are_counted_by_way() -> None:
    one = roll(*around(2.25))
    assert (one.turns_clockwise, one.turns_anticlockwise) == pytest.approx((2.25, 2.25), abs=0.1)
    assert one.covered.all()
    assert one.agreeing.min() >= 4
    assert two_way_difference(one)[0] == pytest.approx(0.0, abs=1e-6)


def test_a_fast_roll_covers_what_lies_between_its_reports() -> None:
    assert roll(*around(2.0, hz=125, turn_s=0.4)).covered.all()


def test_a_pass_that_left_the_rim_does_not_lower_a_sector() -> None:
    t, x, y, r = around(2.0)
    left = np.where(np.arange(len(r)) // 100 == 1, 0.7, 1.0)
    one = roll(t, x * left, y * left, r * left)
    assert one.reach.min() == pytest.approx(100.0, abs=0.3)
    assert one.agreeing.min() == 3


def test_least_reach_knows_how_well_its_bearing_is_told() -> None:
    t, x, y, r = around(2.0)
    bearing = np.degrees(np.arctan2(x, y)) % 360
    dent = 1.0 - 0.2 * np.exp(-0.5 * ((bearing - 200.0) / 10.0) ** 2)
    value, at, alike = least_reach(roll(t, x * dent, y * dent, r * dent), 0.5)
    # the median of the sectors beside the bottom, 2.5° off it: 100 (1 − 0.2 exp(−0.5 · 0.25²)) = 80.62
    assert value == pytest.approx(80.62, abs=0.1)
    assert at == pytest.approx(200.0, abs=5.0)
    assert alike < 15.0
    assert least_reach(roll(t, x, y, r), 0.5)[2] > 90.0


def test_a_stick_in_the_middle_covers_nothing() -> None:
    t = np.arange(1000, dtype=np.int64) * MS
    one = roll(t, np.zeros(1000), np.zeros(1000), np.zeros(1000))
    assert (one.covered.sum(), one.turns_clockwise) == (0, 0.0)
    assert len(one.reach) == SECTORS
    assert math.isnan(two_way_difference(one)[0])


def test_a_sector_beside_a_notch_is_steep() -> None:
    reach = np.full(SECTORS, 100.0)
    reach[0], reach[71] = 103.0, 98.0
    assert [steepness(reach, k) for k in (0, 1, 35)] == pytest.approx([1.0, 0.6, 0.0])
