"""Values that hold until the next report: weights, windows, edges."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure import held

MS = 1_000_000
T = np.array([0, 10, 40, 50], dtype=np.int64) * MS
V = np.array([1.0, 5.0, -2.0, 3.0])


def test_a_value_counts_for_as_long_as_it_holds_inside_the_stretch() -> None:
    assert held.hold_s(T, 20 * MS, 60 * MS) == pytest.approx([0.0, 0.020, 0.010, 0.010])


def test_many_reports_of_a_movement_do_not_outweigh_a_long_rest() -> None:
    moving = np.arange(0, 100, dtype=np.int64) * MS
    t = np.append(moving, 100 * MS)
    v = np.append(np.linspace(0, 50, 100), 4.0)
    assert held.mean(v, held.hold_s(t, 0, 10_000 * MS)) == pytest.approx((25.0 * 0.1 + 4.0 * 9.9) / 10.0, abs=0.01)
    assert held.quantile(v, held.hold_s(t, 0, 10_000 * MS), 0.5) == 4.0


@pytest.mark.parametrize(
    ("at_ms", "value"),
    [(-5, 1.0), (0, 1.0), (9, 1.0), (10, 5.0), (49, -2.0), (1000, 3.0)],
    ids=["before the first report", "at it", "held", "replaced", "just before the next", "long after the last"],
)
def test_the_value_that_held_at_a_moment(at_ms: int, value: float) -> None:
    assert held.held_at(T, V, np.array([at_ms * MS]))[0] == value


@pytest.mark.parametrize(
    ("begin_ms", "end_ms", "values"),
    [(0, 60, [1, 5, -2, 3]), (12, 45, [5, -2]), (10, 40, [5]), (55, 70, [3]), (-20, -10, [])],
    ids=["all of it", "the held one first", "exactly between reports", "after the last", "before the first"],
)
def test_entries_that_matter_in_a_stretch(begin_ms: int, end_ms: int, values: list[float]) -> None:
    assert V[held.stretch(T, begin_ms * MS, end_ms * MS)].tolist() == values


def test_nothing_held_for_any_time_gives_the_plain_mean() -> None:
    assert held.mean(V, np.zeros(4)) == pytest.approx(V.mean())


def test_the_best_window_is_the_whole_stretch_if_that_is_shorter() -> None:
    level, begin = held.best_mean(T, V, 0, 60 * MS, 500 * MS)
    assert (level, begin) == (pytest.approx((10 * 1 + 30 * 5 - 10 * 2 + 10 * 3) / 60), 0)


def test_the_best_window_may_begin_between_reports() -> None:
    level, begin = held.best_mean(T, V, 0, 60 * MS, 20 * MS)
    assert level == pytest.approx(5.0)
    assert 10 * MS <= begin <= 20 * MS
