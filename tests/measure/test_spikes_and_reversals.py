"""Spikes off the path and movement against the motion: what counts, and what does not."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure.arrays import F64, I64
from station.measure.reversal import reversals, smoothed
from station.measure.spikes import Spike, at_every_poll, departures, spikes, stands_out, usual_interval

RATES = [125, 250, 1000, 8000]


def sweep(rate_hz: int, seconds: float = 2.0) -> tuple[I64, F64]:
    """An even movement from −100 to 100."""
    n = int(seconds * rate_hz)
    return (np.arange(n) * (1e9 / rate_hz)).astype(np.int64), np.linspace(-100.0, 100.0, n)


def found(t: I64, v: F64, threshold: float = 2.0) -> list[Spike]:
    every_ns = usual_interval(t)
    path, departure = departures(v, every_ns)
    return spikes(t, v, path, departure, threshold, stands_out(v, departure, 0.1, every_ns))


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("share", [1.0, 0.3, 3.0], ids=["even", "slowing down", "speeding up"])
def test_a_monotone_movement_has_no_departure_at_any_speed(rate_hz: int, share: float) -> None:
    _, v = sweep(rate_hz)
    uneven = 200.0 * ((v + 100.0) / 200.0) ** share - 100.0
    assert np.abs(departures(uneven, 1e9 / rate_hz)[1]).max() < 1e-9


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize(
    ("height", "last_ms"), [(12.0, 9.0), (12.0, 25.0), (12.0, 50.0), (-40.0, 9.0), (-40.0, 50.0), (-40.0, 90.0)]
)
def test_a_dropout_is_one_spike_of_its_height_at_its_place(rate_hz: int, last_ms: float, height: float) -> None:
    t, v = sweep(rate_hz)
    bad = (t >= 1.2e9) & (t < 1.2e9 + last_ms * 1e6)
    (one,) = found(t, np.where(bad, v + height, v))
    assert one.height == pytest.approx(abs(height), abs=1.0)
    assert one.at == pytest.approx(20.0 + last_ms / 20.0, abs=last_ms / 20.0 + 1.5)


@pytest.mark.parametrize("rate_hz", RATES)
def test_a_jump_over_missing_codes_is_no_spike_even_with_noise_on_its_edge(rate_hz: int) -> None:
    t, v = sweep(rate_hz)
    noisy = v + 0.2 * np.random.default_rng(4).standard_normal(len(v))
    jump = np.where((noisy > 10.0) & (noisy < 22.0), 10.0, noisy)
    assert found(t, jump) == []


@pytest.mark.parametrize("rate_hz", RATES)
def test_a_trembling_hand_makes_no_spikes(rate_hz: int) -> None:
    t, v = sweep(rate_hz)
    assert found(t, v + 2.0 * np.sin(2 * np.pi * 9.0 * t / 1e9)) == []


def test_two_departures_close_together_are_one_spike_and_apart_are_two() -> None:
    t, v = sweep(1000)
    near, far = v.copy(), v.copy()
    near[[900, 910]] += 10.0
    far[[900, 960]] += 10.0
    assert len(found(t, near)) == 1
    assert len(found(t, far)) == 2


def test_a_value_that_held_is_looked_at_poll_by_poll() -> None:
    t, v = at_every_poll(np.array([0, 8, 16, 56, 64, 72], dtype=np.int64) * 1_000_000, np.arange(6.0))
    assert (t // 1_000_000).tolist() == [0, 8, 16, 24, 32, 40, 48, 56, 64, 72]
    assert v.tolist() == [0, 1, 2, 2, 2, 2, 2, 3, 4, 5]


def test_a_silence_of_minutes_is_not_filled_poll_by_poll() -> None:
    t = np.append(np.arange(100) * 1_000_000, 600_000_000_000)
    assert len(at_every_poll(t, np.zeros(101))[0]) < 500


def test_reports_that_arrived_together_do_not_make_a_device_fast() -> None:
    t = np.repeat(np.arange(100) * 8_000_000, 3)
    assert len(at_every_poll(t, np.arange(300.0))[0]) == 300


def backwards(t: I64, v: F64, up: bool = True) -> list[tuple[float, float]]:
    return reversals(v, smoothed(v, usual_interval(t)), up, 3.0, usual_interval(t))


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("up", [True, False])
def test_a_fold_goes_back_gradually(rate_hz: int, up: bool) -> None:
    t, v = sweep(rate_hz)
    behind = np.clip(np.minimum(2.0 * (v - 20.0), 24.0 - (v - 20.0)), 0.0, 16.0)
    folded = (v - behind) if up else (v - behind)[::-1]
    ((depth, at),) = backwards(t, folded, up)
    assert depth == pytest.approx(8.0, abs=1.7)
    assert at == pytest.approx(16.0, abs=2.0)
    assert found(t, folded) == []


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize(("height", "last_ms"), [(-20.0, 30.0), (15.0, 60.0)])
def test_a_bad_spot_jumps_and_is_no_reversal(rate_hz: int, height: float, last_ms: float) -> None:
    t, v = sweep(rate_hz)
    bad = (t >= 1.2e9) & (t < 1.2e9 + last_ms * 1e6)
    assert backwards(t, np.where(bad, v + height, v)) == []


def test_series_too_short_to_judge() -> None:
    t, v = sweep(1000)
    assert departures(v[:2], 1e6)[1].tolist() == [0.0, 0.0]
    assert backwards(t[:2], v[:2]) == []
    assert at_every_poll(t[:1], v[:1])[0].tolist() == [0]
