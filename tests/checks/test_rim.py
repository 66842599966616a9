"""Round the rim: coverage, flats, ways, and a hand that leaves the rim."""

from __future__ import annotations

import numpy as np
import pytest

from station.checks.rim import Rim
from station.checks.types import Outcome
from station.measure.arrays import F64
from tests.checks.axis_moves import DEVICES, LIMITS, SQUARE, Device, dent, lagged, push, pushes, roll, value

CHECK = Rim()


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
@pytest.mark.parametrize("turn_s", [0.6, 1.0, 2.5])
def test_a_sound_stick_passes(device: Device, turn_s: float) -> None:
    take = device.stick(roll(turn_s=turn_s))
    progress = CHECK.progress(take, LIMITS)
    assert progress.complete
    assert np.asarray(progress.marks["sectors"]).all()
    result = CHECK.assess(take, LIMITS)
    assert (result.outcome, result.again, result.findings) == (Outcome.PASS, "", ())
    assert value(result.readings, "circle_radius") == pytest.approx(100.0, abs=0.5)


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_flat_fails_at_its_bearing(device: Device) -> None:
    result = CHECK.assess(device.stick(roll(reach=dent(128.0, 19.0, 14.0))), LIMITS)
    assert result.outcome is Outcome.FAIL
    (finding,) = result.findings
    assert finding.code == "flat_rim"
    assert finding.direction == pytest.approx(128.0, abs=8.0)
    assert value(result.readings, "least_reach") == pytest.approx(81.0, abs=1.0)


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_rim_that_was_left_once_is_not_a_flat(device: Device) -> None:
    def cut(bearing: F64, turned: F64) -> F64:
        return 100.0 - 30.0 * np.exp(-0.5 * ((turned - 400.0) / 25.0) ** 2)

    assert CHECK.assess(device.stick(roll(reach=cut)), LIMITS).outcome is Outcome.PASS


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_rim_that_was_hardly_followed_is_not_a_flat(device: Device) -> None:
    def loose(bearing: F64, turned: F64) -> F64:
        wander = 9.0 * np.sin(2 * np.pi * turned / 260.0) + 5.0 * np.sin(2 * np.pi * turned / 97.0 + 1.0)
        return np.minimum(100.0, 82.0 + wander)

    result = CHECK.assess(device.stick(roll(reach=loose)), LIMITS)
    assert result.outcome is Outcome.NOT_DONE
    assert "press outwards" in result.again


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_an_axis_that_lags_makes_the_two_ways_differ(device: Device) -> None:
    t, x, y = roll(turn_s=1.0)
    result = CHECK.assess(device.stick((t, lagged(x, 0.022), y)), LIMITS)
    assert "two_way_lag" in [f.code for f in result.findings]
    assert result.outcome is Outcome.FAIL
    assert value(result.readings, "two_way_difference") > 8.0


def test_one_way_only_asks_for_the_other() -> None:
    t, x, y = roll(turns=2.0)
    half = len(t) // 2
    take = Device().stick((t[:half], x[:half], y[:half]))
    assert CHECK.progress(take, LIMITS).missing == "more turns anticlockwise"
    assert "more turns anticlockwise" in CHECK.assess(take, LIMITS).again


def test_pushes_do_not_cover_the_rim() -> None:
    progress = CHECK.progress(Device().stick(pushes(*[push()] * 4)), LIMITS)
    assert not progress.complete
    assert "sectors to go" in progress.missing
    assert np.asarray(progress.marks["sectors"]).sum() < 12


def test_a_square_gate_has_corners_beyond_full_reach_and_no_flats() -> None:
    def square(bearing: F64, turned: F64) -> F64:
        angle = np.deg2rad(bearing)
        return 100.0 / np.maximum(np.abs(np.sin(angle)), np.abs(np.cos(angle)))

    result = CHECK.assess(Device(1000, 10).stick(roll(reach=square), control=SQUARE), LIMITS)
    assert result.outcome is Outcome.PASS
    assert value(result.readings, "least_reach") == pytest.approx(100.0, abs=1.0)


def test_a_dead_axis_is_named() -> None:
    result = CHECK.assess(Device().stick(roll(), fault=lambda t, x: np.full_like(t, 2.0)), LIMITS)
    assert [(f.code, f.axis) for f in result.findings] == [("dead_axis", "x")]


@pytest.mark.parametrize("seed", range(6))
def test_a_lazy_roll_fails_nothing(seed: int) -> None:
    """A hand that presses outwards only on average: each turn leaves the rim elsewhere."""
    knots = 98.0 + np.random.default_rng(seed).normal(0.0, 6.0, 40)

    def loose(bearing: F64, turned: F64) -> F64:
        return np.minimum(100.0, np.interp(turned, np.linspace(0.0, 1440.0, 40), knots))

    result = CHECK.assess(Device(1000, 12).stick(roll(reach=loose)), LIMITS)
    assert result.outcome in (Outcome.PASS, Outcome.NOT_DONE)
    assert result.findings == ()


def test_ways_that_differ_by_the_hand_are_asked_for_again() -> None:
    """Both turns one way were led 10 % inside the rim, but not alike: a lag repeats itself, a hand does not."""

    def loose(bearing: F64, turned: F64) -> F64:
        return np.where(turned > 720.0, np.where(turned > 1080.0, 88.0, 91.0), 100.0)

    result = CHECK.assess(Device(1000, 12).stick(roll(reach=loose)), LIMITS)
    assert result.findings == ()
    assert "the turns differ" in result.again


def test_a_range_that_the_model_does_not_use_is_proposed() -> None:
    t, x, y = roll()
    x, y = (0.906 * np.clip(1.05 * values, -100.0, 100.0) for values in (x, y))
    result = CHECK.assess(Device(250, 8).stick((t, 0.97 * x, 0.97 * y)), LIMITS)
    assert result.outcome is Outcome.NOT_DONE
    assert "those are the model's own ends" in result.again
