"""Let go: settle points, scatter and time; flicks that do not count."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from station.checks.letgo import LetGo
from station.checks.limits import limits_for
from station.checks.said import remarks, sentence
from station.checks.types import Outcome
from station.measure.uncertainty import slowest_of
from station.sheets.model import Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from tests.checks.axis_moves import (
    DEVICES,
    LIMITS,
    STICK,
    Device,
    along,
    flick,
    flicks,
    ramp,
    rest,
    seconds,
    smooth,
    value,
)

CHECK = LetGo()
POINTS = [(0.5, 0.2), (-0.4, 0.1), (0.3, -0.6), (0.1, 0.1), (0.0, 0.7), (-0.5, -0.5), (0.4, 0.4), (-0.2, 0.0)]


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_sound_stick_passes(device: Device) -> None:
    take = device.stick(flicks(flick(0.012), POINTS, off_deg=6.0))
    progress = CHECK.progress(take, LIMITS)
    assert progress.complete
    assert np.shape(progress.marks["settle_points"]) == (8, 2)
    result = CHECK.assess(take, LIMITS)
    assert (result.outcome, result.again, result.findings) == (Outcome.PASS, "", ())


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
@pytest.mark.parametrize("tau_ms", [12.0, 30.0, 90.0])
def test_settle_time_of_an_exponential_return_is_known(device: Device, tau_ms: float) -> None:
    """From 80 % to the 3 % band: τ ln(80/3) = 3.283 τ (computed)."""
    result = CHECK.assess(device.stick(flicks(flick(tau_ms / 1e3, wait_s=1.2))), LIMITS)
    reading = next(r for r in result.readings if r.name == "settle_time")
    assert reading.value == pytest.approx(3.283 * tau_ms, abs=reading.uncertainty + 0.35 * tau_ms)


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_one_sticking_direction_is_found_and_named(device: Device) -> None:
    points = [*POINTS[:2], (0.0, 14.0), *POINTS[3:]]
    result = CHECK.assess(device.stick(flicks(flick(), points)), LIMITS)
    assert result.outcome is Outcome.FAIL
    no_return = next(f for f in result.findings if f.code == "no_return")
    assert no_return.direction == pytest.approx(90.0, abs=4.0)
    assert "let go from right" in sentence("letgo", no_return)


def test_a_slow_return_fails_with_slow_settle() -> None:
    result = CHECK.assess(Device().stick(flicks(flick(0.15, wait_s=1.5))), LIMITS)
    assert result.outcome is Outcome.FAIL
    assert "slow_settle" in [f.code for f in result.findings]


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
@pytest.mark.parametrize("way", [ramp(100, 0, 0.5), smooth(100, 0, 0.6)], ids=["evenly", "smoothly"])
def test_a_stick_led_back_by_the_hand_is_not_a_slow_one(device: Device, way: np.ndarray) -> None:
    result = CHECK.assess(device.stick(flicks(flick(back=way))), LIMITS)
    assert result.outcome is Outcome.NOT_DONE
    assert result.again == "again, please: let the stick snap back by itself, do not lead it"


def test_missing_directions_are_counted() -> None:
    take = Device().stick(along([0, 45, 90, 135, 180, 225], [flick()] * 6))
    assert CHECK.progress(take, LIMITS).missing == "two directions to go"
    assert "two directions to go" in CHECK.assess(take, LIMITS).again


def test_flicks_without_a_rest_between_them_ask_for_patience() -> None:
    result = CHECK.assess(Device().stick(flicks(flick(wait_s=0.12))), LIMITS)
    assert "wait half a second" in result.again


def test_a_dead_axis_is_named() -> None:
    take = Device().stick(flicks(flick()), fault=lambda t, x: np.full_like(t, 0.3))
    result = CHECK.assess(take, LIMITS)
    assert result.outcome is Outcome.FAIL
    assert [(f.code, f.axis) for f in result.findings] == [("dead_axis", "x")]
    assert sentence("letgo", result.findings[0]) == "left stick, horizontal: no signal while the other axis moves"


def test_a_stick_that_is_not_moved_needs_eight_directions() -> None:
    take = Device().stick(rest(0, 0))
    assert CHECK.progress(take, LIMITS).missing == "eight directions to go"


def test_readings_carry_eight_releases_and_a_time_resolution_of_the_report_interval() -> None:
    result = CHECK.assess(Device(125, 8).stick(flicks(flick())), LIMITS)
    settle = next(r for r in result.readings if r.name == "settle_time")
    assert settle.n == 8
    assert settle.uncertainty == pytest.approx(slowest_of(8) * 8.0 / 6**0.5, rel=0.1)


@pytest.mark.parametrize("wait_s", [1.1, 1.2])
@pytest.mark.parametrize("rate", [125, 1000])
def test_a_slow_return_is_timed_to_where_it_will_be(rate: int, wait_s: float) -> None:
    """A return with τ = 0.2 s takes τ ln(80/3) from 80 % to 3 % (analytic); what is left of the way when the stick is
    touched again is no part of where it rests."""
    result = CHECK.assess(Device(rate, 12).stick(flicks(flick(0.2, wait_s))), LIMITS)
    settle = next(r for r in result.readings if r.name == "settle_time")
    assert settle.value == pytest.approx(200.0 * np.log(80.0 / 3.0), abs=settle.uncertainty)
    assert settle.uncertainty < 80.0


def test_never_reported_waits() -> None:
    take = replace(Device().stick((seconds(1.0), *[np.zeros(len(seconds(1.0)))] * 2)), signals={})
    assert CHECK.progress(take, LIMITS).missing == "waiting for the first report"
    assert value(CHECK.assess(Device().stick(flicks(flick())), LIMITS).readings, "settle_offset") < 1.0


def test_an_offset_is_no_failure_to_return() -> None:
    """A stick that rests 13 % off centre comes back there from everywhere."""
    points = [(13.0 + x, y) for x, y in POINTS]
    result = CHECK.assess(Device(1000, 12).stick(flicks(flick(), points)), LIMITS)
    assert (result.outcome, result.findings) == (Outcome.PASS, ())
    assert value(result.readings, "settle_offset") > 12.0
    assert value(result.readings, "return_offset") < 1.5


def jumping(height: float, every_s: float, seed: int = 0) -> Callable[[np.ndarray, np.ndarray], np.ndarray]:
    """A track that jumps at random times, for some 20 ms."""

    def fault(t_s: np.ndarray, x: np.ndarray) -> np.ndarray:
        rng = np.random.default_rng(seed)
        out = x.copy()
        for at in rng.uniform(0.0, t_s[-1], int(t_s[-1] / every_s)):
            out[(t_s >= at) & (t_s < at + rng.exponential(0.02))] += height * rng.uniform(-1.0, 1.0)
        return out

    return fault


def test_noise_that_hides_the_time_to_settle_asks_again() -> None:
    """288 ± 351 ms, while the limits are 250 ms apart."""
    take = Device(1000, 12).stick(flicks(flick(wait_s=1.2)), fault=jumping(6.0, 0.05, seed=1))
    result = CHECK.assess(take, LIMITS)
    assert (result.outcome, result.again) == (Outcome.NOT_DONE, f"again, please: {words.LETGO_NOISY}")
    assert next(r for r in result.readings if r.name == "settle_time").limit is None


def test_a_jump_of_a_settled_stick_is_no_part_of_its_return() -> None:
    take = Device(1000, 12).stick(flicks(flick(wait_s=1.2)), fault=jumping(4.0, 0.6))
    result = CHECK.assess(take, LIMITS)
    assert value(result.readings, "settle_time") < 150.0
    assert "slow_settle" not in [f.code for f in result.findings]


def test_the_least_dead_zone_is_a_reading_in_words() -> None:
    points = [*POINTS[:2], (0.0, 8.0), *POINTS[3:]]
    result = CHECK.assess(Device(1000, 12).stick(flicks(flick(), points)), LIMITS)
    still = next(r for r in result.readings if r.name == "still_within")
    assert still.value == pytest.approx(8.0 + 2.33 * 0.1, abs=0.15)
    (said,) = (text for text in remarks("letgo", result) if text.startswith("least dead zone"))
    assert said.startswith("least dead zone 8")
    assert said.endswith(": still within it; most games hide that much by default (common practice, no source)")


@pytest.mark.parametrize("axial", [True, False], ids=["on each axis", "round"])
def test_a_dead_zone_of_the_firmware_is_recognised(axial: bool) -> None:
    take = Device(500, 12).stick(flicks(flick(), POINTS, off_deg=3.0))
    signal = take.signals[STICK.id]
    assert isinstance(signal, StickSignal)
    r = np.hypot(signal.x_pct, signal.y_pct)
    inside = [np.abs(v) < 7.0 for v in (signal.x_pct, signal.y_pct)] if axial else [r < 7.0] * 2
    x, y = (np.where(i, 0.0, v) for i, v in zip(inside, (signal.x_pct, signal.y_pct), strict=True))
    result = CHECK.assess(replace(take, signals={STICK.id: replace(signal, x_pct=x, y_pct=y)}), LIMITS)
    assert result.outcome is Outcome.PASS
    assert value(result.readings, "hidden_zone") == pytest.approx(7.0, abs=0.7)
    assert any(r.endswith(": an offset behind a dead zone cannot be seen") for r in remarks("letgo", result))
    sound = CHECK.assess(take, LIMITS)
    assert "hidden_zone" not in [r.name for r in sound.readings]


def test_a_doubtful_repeatability_asks_for_eight_returns_more() -> None:
    rng = np.random.default_rng(8)
    eight = [tuple(p) for p in rng.normal(0.0, 1.6, (8, 2))]
    once = Device(1000, 12).stick(flicks(flick(), eight))
    assert CHECK.assess(once, LIMITS).outcome is Outcome.BORDERLINE
    assert CHECK.progress(once, LIMITS).missing.startswith("once more all round")
    sixteen = eight + [tuple(p) for p in rng.normal(0.0, 1.6, (8, 2))]
    twice = Device(1000, 12).stick(along([45.0 * (k % 8) for k in range(16)], [flick()] * 16, sixteen))
    assert CHECK.progress(twice, LIMITS).complete


def test_a_sheet_that_has_a_limit_off_centre_is_obeyed() -> None:
    limits = limits_for(Sheet("x", limits={"letgo": {"settle_offset": (6.0, 12.0)}}), LIMITS)
    points = [(13.0 + x, y) for x, y in POINTS]
    result = CHECK.assess(Device(1000, 12).stick(flicks(flick(), points)), limits)
    assert result.outcome is Outcome.FAIL
    assert "% off centre, " in sentence("letgo", result.findings[0])


def test_where_it_was_let_go_is_told_from_where_it_rests() -> None:
    """A stick that rests 20 % down and stays 15 % to the right after it was let go from there."""
    one = flick()
    settle = [(15.0 if k == 2 else 0.0, -20.0) for k in range(8)]
    t, x, y = flicks(one, settle)
    pushed = np.hypot(x, y + 20.0) > 50.0
    result = CHECK.assess(Device(1000, 12).stick((t, x, np.where(pushed, y - 20.0, y))), LIMITS)
    no_return = next(f for f in result.findings if f.code == "no_return")
    assert no_return.direction == pytest.approx(90.0, abs=4.0)
