"""Slow sweep: spikes, gaps and reversals; a hand that is too fast or trembles."""

from __future__ import annotations

import numpy as np
import pytest

from station.checks.said import sentence
from station.checks.sweep import Sweep
from station.checks.types import Outcome
from station.measure.arrays import F64
from station.measure.gaps import Gap, dead_zone
from tests.checks.axis_moves import DEVICES, LIMITS, Device, rest, shaken, sweeps, value

CHECK = Sweep()


def dropouts(every_s: float, height: float, last_s: float = 0.006):
    """Short departures of the sensor between 20 % and 40 % of the track."""

    def fault(t_s: F64, x: F64) -> F64:
        bad = (x > 20) & (x < 40) & (t_s % every_s < last_s)
        return np.where(bad, x + height, x)

    return fault


def missing(low: float, high: float):
    """A stretch of the track over which the sensor stays at its lower end."""

    def fault(t_s: F64, x: F64) -> F64:
        return np.where((x > low) & (x < high), low, x)

    return fault


def bump(at: float, depth: float, width: float):
    """A track that runs backwards for a while."""

    def fault(t_s: F64, x: F64) -> F64:
        return x - depth * np.exp(-0.5 * ((x - at) / width) ** 2)

    return fault


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
@pytest.mark.parametrize("tremor", [0.0, 1.5], ids=["a steady hand", "a trembling hand"])
@pytest.mark.parametrize("way_s", [1.2, 3.0])
def test_a_sound_stick_passes(device: Device, tremor: float, way_s: float) -> None:
    take = device.stick(shaken(sweeps(way_s), tremor))
    assert CHECK.progress(take, LIMITS).complete
    result = CHECK.assess(take, LIMITS)
    assert (result.outcome, result.again, result.findings) == (Outcome.PASS, "", ())


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_spikes_fail_with_axis_and_place(device: Device) -> None:
    take = device.stick(sweeps(), fault=dropouts(0.05, 12.0, last_s=0.0085))
    result = CHECK.assess(take, LIMITS)
    assert result.outcome is Outcome.FAIL
    (finding,) = result.findings
    assert (finding.code, finding.axis) == ("spikes", "x")
    assert sentence("sweep", finding).startswith("left stick, horizontal: noisy track")
    assert value(result.readings, "spikes_x") >= 3
    assert value(result.readings, "largest_spike_x") == pytest.approx(12.0, abs=2.0)
    assert value(result.readings, "spikes_y") == 0


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_missing_codes_fail_with_their_place(device: Device) -> None:
    result = CHECK.assess(device.stick(sweeps(), fault=missing(-35.0, -25.0)), LIMITS)
    assert result.outcome is Outcome.FAIL
    (finding,) = result.findings
    assert (finding.code, finding.axis) == ("gap", "x")
    assert "around −30 %" in sentence("sweep", finding)
    assert value(result.readings, "gap_x") == pytest.approx(10.0, abs=1.6)


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_sweep_done_too_fast_has_no_gaps(device: Device) -> None:
    result = CHECK.assess(device.stick(sweeps(0.12)), LIMITS)
    assert result.outcome in (Outcome.PASS, Outcome.NOT_DONE)
    assert result.findings == ()
    if device.rate_hz <= 250:
        assert result.again == "again, please: move more slowly, about two seconds for each way"


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_track_that_runs_backwards_is_a_reversal(device: Device) -> None:
    result = CHECK.assess(device.stick(sweeps(), fault=bump(40.0, 18.0, 4.0)), LIMITS)
    assert "reversal" in [f.code for f in result.findings]
    assert result.outcome is not Outcome.PASS


def test_missing_passes_are_counted_by_axis() -> None:
    take = Device().stick(sweeps(1.0, times=2, axes="x"))
    assert CHECK.progress(take, LIMITS).missing == (
        "left to right and back: two passes to go, up and down: six passes to go"
    )
    assert "sweep slowly" in CHECK.assess(take, LIMITS).again


def test_half_a_sweep_is_not_a_sweep() -> None:
    result = CHECK.assess(Device().stick(sweeps(1.0, top=45.0)), LIMITS)
    assert result.outcome is Outcome.NOT_DONE


def test_a_stick_with_short_reach_can_still_be_swept() -> None:
    assert CHECK.assess(Device().stick(sweeps(1.5, top=72.0)), LIMITS).outcome is Outcome.PASS


def test_a_dead_axis_is_named_once_the_other_is_swept() -> None:
    result = CHECK.assess(Device().stick(sweeps(1.0), fault=lambda t, x: np.zeros_like(t)), LIMITS)
    assert [(f.code, f.axis) for f in result.findings] == [("dead_axis", "x")]


def test_a_stick_at_rest_has_all_passes_to_go() -> None:
    assert "six passes to go" in CHECK.progress(Device().stick(rest(0, 0)), LIMITS).missing


def zone(width: float, off: float = 0.0):
    """Nearer to the middle than this the firmware says middle."""
    return lambda t_s, x: np.where(np.abs(x - off) < width, 0.0, x)


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
@pytest.mark.parametrize("width", [5.0, 9.0])
def test_a_dead_zone_that_jumps_is_no_gap(device: Device, width: float) -> None:
    result = CHECK.assess(device.stick(sweeps(), fault=zone(width)), LIMITS)
    assert (result.outcome, result.findings) == (Outcome.PASS, ())
    (found,) = [r for r in result.readings if r.name.startswith("dead_zone")]
    assert found.name == "dead_zone_x"
    assert found.value == pytest.approx(width, abs=1.0)
    assert "offset" in found.reason


@pytest.mark.parametrize("width", [5.0, 9.0])
@pytest.mark.parametrize("off_s", [0.0, 0.004, 0.008])
def test_a_hand_that_flickers_across_the_edge_of_a_dead_zone_is_no_spike(width: float, off_s: float) -> None:
    """The stick stops at the edge of the zone for a moment and trembles by half a percent."""
    t, x, y = sweeps(2.0)
    (at,) = np.flatnonzero((np.diff(np.signbit(x - width - 0.2)) != 0) & (np.diff(x) > 0) & (t[1:] > 1.0))[:1]
    trembles = width + 0.2 - 0.5 * np.exp(-0.5 * ((np.arange(0.0, 0.08, t[1]) - 0.04 - off_s) / 0.003) ** 2)
    t = np.arange(len(t) + len(trembles)) * t[1]
    x, y = np.insert(x, at, trembles), np.insert(y, at, np.full(len(trembles), y[at]))
    result = CHECK.assess(Device(1000, 12).stick((t, x, y), fault=zone(width)), LIMITS)
    assert (result.outcome, result.findings) == (Outcome.PASS, ())


@pytest.mark.parametrize("after_ms", [8.0, 16.0, 24.0])
def test_a_hand_that_leaps_across_the_edge_twice_is_no_spike(after_ms: float) -> None:
    """125 reports a second: out, back for a moment and out again, so that the line beside it is drawn across."""
    width = 15.0
    t, x, y = sweeps(2.0)
    (at,) = np.flatnonzero((np.diff(np.signbit(x - width - 0.2)) != 0) & (np.diff(x) > 0) & (t[1:] > 1.0))[:1]
    since = np.arange(0.0, 0.08, t[1])
    trembles = width + np.where((since > 0.024) & (since <= 0.024 + after_ms / 1000.0), -0.2, 0.1 + 5.0 * since)
    t = np.arange(len(t) + len(trembles)) * t[1]
    x, y = np.insert(x, at, trembles), np.insert(y, at, np.full(len(trembles), y[at]))
    result = CHECK.assess(Device(125, 12, on_change=True).stick((t, x, y), fault=zone(width)), LIMITS)
    assert (result.outcome, result.findings) == (Outcome.PASS, ())


@pytest.mark.parametrize("above", [5, 6, 8])
@pytest.mark.parametrize("below", [-7, -6, -5])
def test_on_coarse_codes_a_dead_zone_may_be_two_codes_wider_on_one_side(below: int, above: int) -> None:
    """Codes of 0.78 %: on one side the nearest was passed over, and the middle itself lies between two codes."""
    code = (np.arange(-10, 10) + 0.5) * 200.0 / 255.0
    edges = [(code[10 + below], code[10]), (code[10], code[10 + above])]
    gaps = [Gap(high - low, (low + high) / 2.0, 0.0, 0.0, 0.1, plain=True) for low, high in edges]
    alike = abs(above + below) <= 2
    assert (len(dead_zone(gaps, 2.0 * 200.0 / 255.0)) == 2) == alike


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_track_worn_in_its_middle_is_a_gap(device: Device) -> None:
    """No codes of the middle are seen, on which a dead zone would dwell."""

    def worn(t_s: F64, x: F64) -> F64:
        return np.where(np.abs(x) < 5.0, np.where(x < 0.0, -5.0, 5.0), x)

    result = CHECK.assess(device.stick(sweeps(), fault=worn), LIMITS)
    assert [f.code for f in result.findings] == ["gap"]
    assert value(result.readings, "gap_x") == pytest.approx(10.0, abs=0.9)


def test_noise_brings_no_gap() -> None:
    rng = np.random.default_rng(1)

    def noisy(t_s: F64, x: F64) -> F64:
        """Levels evenly spread over ±3 %, each held for some 8 ms."""
        return x + np.repeat(rng.uniform(-3.0, 3.0, len(x) // 8 + 1), 8)[: len(x)]

    result = CHECK.assess(Device(1000, 12).stick(sweeps(), fault=noisy), LIMITS)
    assert "gap" not in [f.code for f in result.findings]
