"""How the reader judges its own time-keeping, and what it concludes from a burst."""

from __future__ import annotations

import numpy as np
import pytest

from station.sources.lateness import QUEUE, LatenessMeter, OverflowGuess


def test_the_99th_percentile_is_that_of_numpy() -> None:
    values = np.random.default_rng(1).integers(0, 10**6, 1000)
    meter = LatenessMeter(1000)
    for value in values:
        meter.add(int(value))
    assert meter.p99_ns() == int(np.percentile(values, 99, method="inverted_cdf"))


def test_only_the_last_window_counts() -> None:
    meter = LatenessMeter(100)
    for value in [10**6] * 100 + [5] * 100:
        meter.add(value)
    assert meter.p99_ns() == 5


def test_too_few_values_say_nothing() -> None:
    meter = LatenessMeter()
    for _ in range(99):
        meter.add(1)
    assert meter.p99_ns() is None


def stream(step_us: float, n: int, stall_at: int = 0, missed: int = 0, drain_us: float = 10.0) -> OverflowGuess:
    """A device that reports every `step_us`; before report `stall_at` the reader sleeps through `missed`
    reports, of which the kernel keeps the first 63."""
    guess, now = OverflowGuess(), 0.0
    for i in range(n):
        if i == stall_at and missed:
            now += missed * step_us
            for k in range(min(missed, QUEUE)):
                guess.saw(int(1000 * (now + k * drain_us)))
            now += QUEUE * drain_us
        now += step_us
        guess.saw(int(1000 * now))
    return guess


@pytest.mark.parametrize(
    ("step_us", "missed", "lost"),
    [
        pytest.param(125.0, 0, 0, id="8 kHz, no stall"),
        pytest.param(125.0, 60, 0, id="8 kHz, a stall that the queue bridges"),
        pytest.param(125.0, 200, 137, id="8 kHz, 25 ms asleep"),
        pytest.param(1000.0, 50, 0, id="1 kHz, a stall that the queue bridges"),
        pytest.param(1000.0, 100, 37, id="1 kHz, 0.1 s asleep"),
        pytest.param(8000.0, 70, 7, id="125 Hz, 0.56 s asleep"),
    ],
)
def test_dropped_reports_are_estimated_from_the_gap_and_the_pace(step_us: float, missed: int, lost: int) -> None:
    assert stream(step_us, 400, 200, missed).lost == pytest.approx(lost, abs=2)


def test_a_burst_before_the_pace_is_known_counts_as_one() -> None:
    assert stream(1000.0, 10, 3, 500).lost == 1


def test_a_reader_that_wakes_late_but_in_time_loses_nothing() -> None:
    guess = OverflowGuess()
    for wake in range(1, 200):  # every 7 ms it finds the 56 reports of a device at 8 kHz
        assert not any(guess.saw(7_000_000 * wake + 10_000 * k) for k in range(56))
    assert guess.lost == 0


def test_a_second_stall_is_counted_too_though_the_first_slowed_the_known_pace() -> None:
    guess, now = OverflowGuess(), 0
    for _ in range(2):
        for _ in range(150):
            now += 1_000_000
            assert not guess.saw(now)
        now += 100_000_000
        assert [guess.saw(now + 10_000 * k) for k in range(QUEUE)] == [False] * (QUEUE - 1) + [True]
        now += QUEUE * 10_000
    assert guess.lost == pytest.approx(2 * 37, rel=0.2)


def test_a_device_that_reports_on_change_is_not_suspected() -> None:
    guess, now = OverflowGuess(), 0
    for step in ([1_000_000] * 200 + [5_000_000_000]) * 3:
        now += step
        assert not guess.saw(now)
