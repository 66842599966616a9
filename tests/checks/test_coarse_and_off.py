"""Sticks and triggers that firmware or an offset make look odd: a hysteresis, a resting place far off, a hand that
trembles across a gap, the ends of the range."""

from __future__ import annotations

import numpy as np
import pytest

from station.checks.sweep import Sweep
from station.checks.travel import Travel
from station.checks.trigger import Trigger
from station.checks.types import Outcome
from station.measure.arrays import F64
from station.sources.simulated import faults
from station.sources.simulated.faults import expected
from tests.checks.axis_moves import DEVICES, LIMITS, Device, pulls, push, pushes, stay, sweeps, value

FINE = Device(1000, 16, noise=0.02)


def hysteresis(by: float):
    """A value of the horizontal axis stays until it has changed by more than that."""

    def fault(_t_s: F64, x: F64) -> F64:
        now, kept = float(x[0]), []
        for one in x.tolist():
            now = one if abs(one - now) > by else now
            kept.append(now)
        return np.array(kept)

    return fault


def late_edge(to: float) -> F64:
    """A push that stops just short of where a hysteresis reports it, and goes on by a hair after a while."""
    begun = push(to, hold_s=0.45)
    at_top = np.flatnonzero(begun >= to - 1e-9)
    return np.concatenate((begun[: at_top[-1]], stay(to + 0.6, 0.8), begun[at_top[-1] :]))


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_stick_that_rests_far_off_is_pushed_four_times(device: Device) -> None:
    t_s, x, y = pushes(push(), push(), push(72.0), push())
    take = device.stick((t_s, np.clip(x - 24.0, -100.0, 100.0), y))
    result = Travel().assess(take, LIMITS)
    assert result.outcome is Outcome.FAIL
    assert "short_reach" in {f.code for f in result.findings}


def test_a_dead_axis_of_a_sensor_is_called_so() -> None:
    assert expected(faults.gyro_scale("x", 0.0)).code == "dead_gyro"
    assert expected(faults.accel_scale("z", 0.0)).code == "dead_accel"
    assert expected(faults.gyro_scale("x", 0.6)).code == "gyro_scale"


@pytest.mark.parametrize("by", [2.0, 2.9, 3.0])
def test_steps_of_a_hysteresis_are_no_gap(by: float) -> None:
    result = Sweep().assess(Device(125, 12, noise=0.02).stick(sweeps(), fault=hysteresis(by)), LIMITS)
    assert result.outcome is not Outcome.FAIL


def test_the_last_step_of_a_hysteresis_is_no_creep() -> None:
    for to in np.arange(95.0, 99.0, 0.25):
        take = FINE.stick(pushes(*[late_edge(float(to))] * 4), fault=hysteresis(2.4))
        assert value(Travel().assess(take, LIMITS).readings, "creep") < 20.0


def test_a_hand_that_trembles_across_a_gap_makes_no_spike() -> None:

    def fault(t_s: F64, x: F64) -> F64:
        out = np.where((x > 20.0) & (x < 30.0), 20.0, x)
        at = int(np.argmax(out > 30.0))  # on its first way up it lingers behind the gap, and falls back for 12 ms
        out[at : at + 60] = 30.2
        out[at + 25 : at + 37] = 20.0
        return out

    result = Sweep().assess(FINE.stick(sweeps(), fault=fault), LIMITS)
    assert [f.code for f in result.findings] == ["gap"]


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_the_ends_of_the_range_of_a_trigger_stand_without_uncertainty(device: Device) -> None:
    readings = {r.name: r for r in Trigger().assess(device.trigger(pulls()), LIMITS).readings}
    assert (readings["released"].value, readings["released"].uncertainty) == (0.0, 0.0)
    assert (readings["full"].value, readings["full"].uncertainty) == (100.0, 0.0)
