"""At rest: offset, noise, and a hand that is still on the stick."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.checks.rest import Rest
from station.checks.types import Outcome
from tests.checks.axis_moves import DEVICES, LIMITS, STICK, Device, ramp, rest, seconds, shaken, stay, value

CHECK = Rest()


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_the_offset_is_within_its_uncertainty_on_every_device(device: Device) -> None:
    take = device.stick(rest(3.1, -2.2))
    result = CHECK.assess(take, LIMITS)
    assert result.outcome is Outcome.PASS
    for name, truth in (("offset_x", 3.1), ("offset_y", -2.2), ("offset", float(np.hypot(3.1, 2.2)))):
        reading = next(r for r in result.readings if r.name == name)
        assert reading.value == pytest.approx(truth, abs=reading.uncertainty)
    assert value(result.readings, "offset_angle") == pytest.approx(125.4, abs=12)


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_stick_that_rests_far_off_fails_with_its_bearing(device: Device) -> None:
    result = CHECK.assess(device.stick(rest(0.0, 13.0)), LIMITS)
    assert result.outcome is Outcome.FAIL
    (finding,) = result.findings
    assert finding.code == "offset"
    assert finding.axis == "y"
    assert isinstance(finding.direction, float)
    assert abs((finding.direction + 180.0) % 360.0 - 180.0) < 4.0


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_noise_beyond_its_limit_fails_on_the_axis_that_has_it(device: Device) -> None:
    result = CHECK.assess(device.stick(rest(1.0, 1.0), fault=_noisy), LIMITS)
    assert result.outcome is Outcome.FAIL
    assert [(f.code, f.axis) for f in result.findings] == [("noise", "x")]


def _noisy(t_s: np.ndarray, x: np.ndarray) -> np.ndarray:
    return x + 2.0 * np.random.default_rng(5).standard_normal(len(t_s))


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_flickering_code_is_no_noise(device: Device) -> None:
    result = CHECK.assess(replace(device, noise=0.08).stick(rest(0.0, 0.0)), LIMITS)
    assert result.outcome is Outcome.PASS
    assert result.findings == ()


def test_progress_counts_the_seconds_down_and_starts_again_after_a_touch() -> None:
    t = seconds(4.0)
    x = np.concatenate((stay(0, 2.0), ramp(0, 60, 0.1), ramp(60, 0, 0.1), stay(0, 1.8)))
    take = Device().stick((t, x, np.zeros_like(t)))
    progress = CHECK.progress(take, LIMITS)
    assert not progress.complete
    assert progress.missing == "hands off for 2 s more"
    assert (
        CHECK.assess(take, LIMITS).again == "again, please: lay the unit down and take the hands off for three seconds"
    )


def test_a_touch_before_the_calm_stretch_does_not_count() -> None:
    t = seconds(4.0)
    x = np.concatenate((ramp(0, 80, 0.2), ramp(80, 0, 0.2), stay(0, 3.6)))
    take = Device().stick((t, x, np.zeros_like(t)))
    assert CHECK.progress(take, LIMITS).complete
    assert CHECK.assess(take, LIMITS).outcome is Outcome.PASS


def test_a_silent_device_is_measured_by_the_value_it_holds() -> None:
    take = Device(125, 8, on_change=True, noise=0.0).stick(rest(6.0, 0.0))
    assert len(take.signals[STICK.id].t_ns) == 1
    result = CHECK.assess(take, LIMITS)
    assert value(result.readings, "offset_x") == pytest.approx(6.0, abs=0.46)
    assert value(result.readings, "noise_pp_x") == 0.0


def test_a_stick_that_never_reported_is_unknown_not_centred() -> None:
    take = replace(Device().stick(rest(0, 0)), signals={})
    assert CHECK.progress(take, LIMITS).missing == "waiting for the first report"
    result = CHECK.assess(take, LIMITS)
    assert result.outcome is Outcome.NOT_DONE
    assert result.again.startswith("again, please: ")


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_tremor_of_a_hand_is_not_noise(device: Device) -> None:
    result = CHECK.assess(device.stick(shaken(rest(0, 0), 2.5)), LIMITS)
    assert result.outcome is Outcome.NOT_DONE
    assert "hands off" in result.again
