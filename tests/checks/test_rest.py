"""At rest: offset, noise, and a hand that is still on the stick."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.checks.limits import limits_for
from station.checks.rest import Rest
from station.checks.said import remarks, sentence
from station.checks.types import Outcome
from station.sheets.model import Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from tests.checks.axis_moves import (
    DEVICES,
    GRID_HZ,
    LIMITS,
    STICK,
    Device,
    Path,
    along,
    flick,
    ramp,
    rest,
    seconds,
    shaken,
    stay,
    value,
)

CHECK = Rest()


def flicked(x: float, y: float, seconds_of_rest: float = 3.4) -> Path:
    """Flicked to the left and to the right, then left alone."""
    _, px, py = along([270.0, 90.0], [flick(wait_s=0.55)] * 2, [(x, y)] * 2)
    still = stay(0.0, seconds_of_rest)
    x_all, y_all = np.concatenate((px, still + x)), np.concatenate((py, still + y))
    return np.arange(len(x_all)) / GRID_HZ, x_all, y_all


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
    result = CHECK.assess(device.stick(flicked(0.0, 13.0)), LIMITS)
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


@pytest.mark.parametrize("rate_hz", [125, 1000])
def test_sound_noise_passes_however_often_the_link_looks(rate_hz: int) -> None:
    """σ = 0.25 % failed at 1 kHz by its peak to peak, and passed at 125 Hz."""
    for seed in range(20):
        result = CHECK.assess(Device(rate_hz, 12, noise=0.25, seed=seed).stick(rest(0.0, 0.0)), LIMITS)
        assert result.outcome is Outcome.PASS
        reading = next(r for r in result.readings if r.name == "noise_rms_x")
        assert reading.value == pytest.approx(0.25, abs=2.0 * reading.uncertainty)


def test_an_offset_is_asked_for_a_flick_before_it_counts() -> None:
    take = Device().stick(rest(0.0, 13.0))
    assert CHECK.progress(take, LIMITS).missing == words.REST_FLICK
    result = CHECK.assess(take, LIMITS)
    assert (result.outcome, result.again) == (Outcome.NOT_DONE, f"again, please: {words.REST_FLICK}")
    assert CHECK.progress(Device().stick(flicked(0.0, 13.0)), LIMITS).complete


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
@pytest.mark.parametrize("push", [(6.0, 0.0), (-6.0, 0.0), (0.0, 9.0)], ids=["right", "left", "up"])
def test_a_thumb_that_rests_on_the_stick_is_asked_to_go(device: Device, push: tuple[float, float]) -> None:
    t, x, y = flicked(0.5, 0.2)
    comes = np.clip((t - (t[-1] - 2.95)) / 0.25, 0.0, 1.0)
    result = CHECK.assess(device.stick((t, x + comes * push[0], y + comes * push[1])), LIMITS)
    assert (result.outcome, result.again) == (Outcome.NOT_DONE, f"again, please: {words.REST_HANDS_OFF}")


def test_friction_to_either_side_is_no_offset() -> None:
    """The stick stays 2 % on the side that it came from: its middle is at 4 %, with an uncertainty that says so."""
    _, x, y = along([270.0, 90.0], [flick(wait_s=0.55)] * 2, [(2.0, 0.0), (6.0, 0.0)])
    still = stay(0.0, 3.4)
    path = (np.arange(len(x) + len(still)) / GRID_HZ, np.concatenate((x, still + 6.0)), np.concatenate((y, still)))
    readings = CHECK.assess(Device(1000, 12).stick(path), LIMITS).readings
    offset = next(r for r in readings if r.name == "offset_x")
    assert offset.value == pytest.approx(4.0, abs=0.1)
    assert offset.n == 2


def test_no_finding_for_a_value_inside_its_limit() -> None:
    result = CHECK.assess(Device(1000, 12).stick(flicked(4.8, 0.0)), LIMITS)
    assert (result.outcome, result.findings) == (Outcome.BORDERLINE, ())


def test_what_a_dead_zone_hides_is_said_and_printed() -> None:
    def dead(t_s: np.ndarray, v: np.ndarray) -> np.ndarray:
        return np.where(np.abs(v) < 8.0, 0.0, v)

    device = Device(1000, 12)
    result = CHECK.assess(device.stick(flicked(4.0, 0.0), fault=dead), LIMITS)
    assert remarks("rest", result) == ()  # the other axis of this device has none
    take = device.stick(flicked(4.0, 0.0))
    signal = take.signals[STICK.id]
    assert isinstance(signal, StickSignal)
    x, y = (np.where(np.hypot(signal.x_pct, signal.y_pct) < 8.0, 0.0, v) for v in (signal.x_pct, signal.y_pct))
    hidden = replace(take, signals={STICK.id: replace(signal, x_pct=x, y_pct=y)})
    result = CHECK.assess(hidden, LIMITS)
    assert [r.partition(": ")[2] for r in remarks("rest", result)] == ["an offset behind a dead zone cannot be seen"]


def test_a_sheet_that_has_a_limit_for_peak_to_peak_is_obeyed() -> None:
    limits = limits_for(Sheet("x", limits={"rest": {"noise_pp": (0.5, 1.0)}}), LIMITS)
    result = CHECK.assess(Device(1000, 12, noise=0.25).stick(rest(0.0, 0.0)), limits)
    assert result.outcome is Outcome.FAIL
    assert sentence("rest", result.findings[0]).startswith("left stick, horizontal: noise of 1.")
