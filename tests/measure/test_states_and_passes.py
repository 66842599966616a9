"""Two-state waveforms, turning points of passes, instants of steps, intervals of reports."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from station.measure.interval import intervals
from station.measure.passes import passes
from station.measure.states import runs, thin, two_state
from station.measure.steps import first_reached, interval_at, left_for_good, poll_interval, settled

MS = 1_000_000


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([0, 50, 80, 50, 20, 50], [0, 0, 1, 1, 0, 0]),
        ([50, 50, 90], [0, 0, 1]),
        ([90, 50, 50], [1, 1, 1]),
        ([], []),
    ],
    ids=["between the levels it stays as it was", "starts low between the levels", "starts high", "nothing"],
)
def test_two_state(values: list[float], expected: list[int]) -> None:
    assert two_state(np.array(values, dtype=np.float64), 30.0, 70.0).astype(int).tolist() == expected


def test_runs_at_the_ends_count() -> None:
    first, stop = runs(np.array([True, False, True, True]))
    assert list(zip(first.tolist(), stop.tolist(), strict=True)) == [(0, 1), (2, 4)]


@pytest.mark.parametrize("count", [0, 1, 4000, 4001, 240_000])
def test_thinning_keeps_at_most_so_many(count: int) -> None:
    assert len(range(count)[thin(count, 4000)]) <= 4000
    assert count == 0 or len(range(count)[thin(count, 4000)]) >= min(count, 2000)


def triangle(ways: int, top: float = 100.0) -> tuple[np.ndarray, np.ndarray]:
    up, stay = np.linspace(-top, top, 1000), np.full(100, top)
    one = np.concatenate([up, stay, -up, -stay])
    values = np.tile(one, ways)
    return np.arange(len(values), dtype=np.int64) * MS, values


def test_passes_run_from_turning_point_to_turning_point() -> None:
    t, v = triangle(2)
    found = passes(t, v, -65.0, 65.0)
    assert [one.up for one in found] == [True, False, True, False]
    assert all(abs(v[one.first]) > 97 and abs(v[one.stop - 1]) > 97 for one in found)
    assert all(a.stop - 1 == b.first for a, b in pairwise(found))


def test_a_spike_to_the_rail_does_not_end_a_pass() -> None:
    t, v = triangle(1, top=80.0)
    spiked = v.copy()
    spiked[600:605] = 100.0
    spiked[850:853] = -100.0
    assert passes(t, spiked, -65.0, 65.0) == passes(t, v, -65.0, 65.0)


def test_half_a_sweep_is_no_pass() -> None:
    t, v = triangle(2, top=50.0)
    assert passes(t, v, -65.0, 65.0) == []
    assert passes(t[:0], v[:0], -65.0, 65.0) == []
    assert passes(t, v, -np.inf, np.inf) == []


def test_instants() -> None:
    values = np.array([0.0, 3.0, 1.0, 6.0, 9.0, 8.0])
    assert first_reached(values, 3.0) == 1
    assert first_reached(values, 3.0, 2) == 3
    assert first_reached(values, 10.0) is None
    assert first_reached(values[:0], 0.0) is None
    assert left_for_good(values, 2.0, 6) == 3
    assert left_for_good(values, -1.0, 6) == 0
    assert settled(np.array([9.0, 2.0, 4.0, 1.0, 0.0]), 3.0) == 3
    assert settled(np.array([9.0, 9.0]), 3.0) == 1


def test_the_poll_interval_of_a_device_that_reports_on_change_is_its_closest() -> None:
    t = np.cumsum(np.array([0, 8, 8, 200, 8, 40, 8, 8, 8, 8, 16])) * MS
    assert poll_interval(t) == 8 * MS
    assert interval_at(t, 3, 8 * MS) == 16 * MS
    assert interval_at(t, 1, 8 * MS) == 8 * MS
    assert poll_interval(t[:1]) == 0.0


def test_a_report_that_came_together_with_the_one_before_was_late_by_a_poll_at_least() -> None:
    t = np.array([0, 8, 24, 24, 32]) * MS
    assert [interval_at(t, i, 8 * MS) for i in range(5)] == [8 * MS, 8 * MS, 16 * MS, 8 * MS, 8 * MS]


def test_intervals_while_moving() -> None:
    t = np.array([0, 8, 16, 96, 104, 400], dtype=np.int64) * MS
    moving = np.array([True, True, True, True, False])
    found = intervals(t, moving)
    assert found.felt is not None
    assert (found.felt.median.value, found.felt.longest, found.count) == (8.0, 80.0, 4)
    assert found.gap_ms.tolist() == [80.0]
    assert found.gap_ends_ns.tolist() == [96 * MS]
    assert intervals(t, np.zeros(5, dtype=bool)).count == 0
