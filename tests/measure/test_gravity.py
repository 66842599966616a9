"""Six sides against gravity: the solution against independent ones, and what is no side."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from station.measure.gravity import Side, seen, sides, six_sides, turns

MS, S = 1_000_000, 1_000_000_000
UPRIGHT = [(0, 1), (0, -1), (1, 1), (1, -1), (2, 1), (2, -1)]


def made(directions: np.ndarray, gains: np.ndarray, offsets: np.ndarray, u: float = 0.001) -> list[Side]:
    found = []
    for k, direction in enumerate(directions):
        mean = direction * gains + offsets
        axis = int(np.argmax(np.abs(direction)))
        sign = 1 if direction[axis] > 0 else -1
        found.append(Side(axis, sign, k * S, k * S + S // 2, mean, np.full(3, u)))
    return found


def upright() -> np.ndarray:
    return np.array([[s if k == a else 0.0 for k in range(3)] for a, s in UPRIGHT])


def tilted(rng: np.random.Generator, deg: float) -> np.ndarray:
    some = upright() + rng.normal(0.0, np.radians(deg), (6, 3))
    return some / np.linalg.norm(some, axis=1)[:, None]


def test_upright_it_is_the_six_position_method() -> None:
    """By hand: up +1.06, down −0.98 is a sensitivity of 1.02 and an offset of 0.04."""
    found = six_sides(made(upright(), np.array([1.02, 0.95, 1.0]), np.array([0.04, -0.03, 0.0])))
    assert found is not None
    assert found.sensitivity == pytest.approx([1.02, 0.95, 1.0], abs=1e-9)
    assert found.offset == pytest.approx([0.04, -0.03, 0.0], abs=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_tilted_sides_against_a_nonlinear_fit(seed: int) -> None:
    """computed: scipy's least squares on the norm itself, from another start."""
    rng = np.random.default_rng(seed)
    gains, offsets = rng.uniform(0.75, 1.2, 3), rng.normal(0.0, 0.1, 3)
    some = made(tilted(rng, 10.0), gains, offsets)
    found = six_sides(some)
    means = np.array([s.mean for s in some])
    fit = least_squares(
        lambda p: (((means - p[:3]) / p[3:]) ** 2).sum(axis=1) - 1.0, [0, 0, 0, 1, 1, 1], xtol=1e-14, ftol=1e-14
    )
    assert found is not None
    assert np.concatenate((found.offset, found.sensitivity)) == pytest.approx(fit.x, abs=1e-6)
    assert found.sensitivity == pytest.approx(gains, abs=1e-6)


def test_the_uncertainty_holds_the_truth() -> None:
    """Monte Carlo, 300 values of 100 units: 95 % within ±2u, the simulation good to 4 %."""
    rng = np.random.default_rng(1)
    hits = []
    for _ in range(100):
        gains, offsets = rng.uniform(0.9, 1.1, 3), rng.normal(0.0, 0.03, 3)
        some = made(tilted(rng, 8.0), gains, offsets, 0.005)
        some = [Side(s.axis, s.sign, s.begin_ns, s.end_ns, s.mean + rng.normal(0.0, 0.005, 3), s.u) for s in some]
        found = six_sides(some)
        assert found is not None
        hits += (np.abs(found.offset - offsets) <= 2.0 * found.u_offset).tolist()
    assert np.mean(hits) == pytest.approx(0.954, abs=0.04)


def test_five_sides_are_not_enough() -> None:
    assert six_sides(made(upright()[:5], np.ones(3), np.zeros(3))) is None


def motion(
    steps: list[tuple[tuple[float, float, float], float]], noise: float = 0.003
) -> tuple[np.ndarray, np.ndarray]:
    """t_ns and acceleration at 250 Hz, going evenly from each place to the next in half a second."""
    rng = np.random.default_rng(7)
    pieces: list[np.ndarray] = []
    for k, (place, seconds) in enumerate(steps):
        if k:
            share = np.linspace(0.0, 1.0, 125)[:, None]
            pieces.append((1.0 - share) * np.array(steps[k - 1][0]) + share * np.array(place))
        pieces.append(np.tile(place, (round(seconds * 250), 1)))
    accel = np.concatenate(pieces)
    return np.arange(len(accel)) * 4 * MS, accel + rng.normal(0.0, noise, accel.shape)


def test_sides_are_told_by_gravity_alone() -> None:
    t_ns, accel = motion([((0, 0, 1), 1.0), ((0.97, 0.2, 0.1), 0.8), ((0.7, 0.7, 0), 0.8), ((0, 0, -1), 0.2)])
    found = sides(t_ns, accel, int(t_ns[-1]))
    assert seen(found) == {(2, 1), (0, 1)}  # on an edge: none; too brief: none
    assert [s.axis for s in found] == [2, 0, -1]


def test_a_unit_that_is_shaken_has_no_sides() -> None:
    t_ns, accel = motion([((0, 0, 1), 3.0)], noise=0.2)
    assert sides(t_ns, accel, int(t_ns[-1])) == ()


def test_a_quarter_turn_about_one_axis() -> None:
    """By hand: 90 °/s for one second about y takes +z to ±x."""
    t_ns = np.arange(0, 3 * S, 4 * MS)
    rate = np.zeros((len(t_ns), 3))
    rate[(t_ns >= S) & (t_ns < 2 * S), 1] = -90.0
    some = made(np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0]]), np.ones(3), np.zeros(3))
    some = [Side(some[0].axis, 1, 0, S, some[0].mean, some[0].u), Side(0, 1, 2 * S, 3 * S, some[1].mean, some[1].u)]
    scale = six_sides(made(upright(), np.ones(3), np.zeros(3)))
    assert scale is not None
    (turn,) = turns(some, t_ns, rate, np.zeros(3), scale)
    assert (turn.axis, turn.gravity_deg) == (1, pytest.approx(90.0))
    assert turn.gyro_deg == pytest.approx(90.0, abs=0.5)
