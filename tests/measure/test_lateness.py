"""How late an event is seen: the arrival times are drawn here, apart from the simulated link."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure.arrays import I64
from station.measure.lateness import LONGEST_NS, Lateness, lateness
from station.measure.period import link_period_ns, newest_of_bursts
from station.measure.uncertainty import COVERAGE_FACTOR, slowest_of

MS = 1_000_000


def arrivals(period_ms: float, late_ms: float, count: int = 6000, lost: float = 0.0, seed: int = 1) -> I64:
    """Reports of even polls, each held up by half of a normal delay, none overtaking another."""
    rng = np.random.default_rng(seed)
    polls = period_ms * np.flatnonzero(rng.random(count) >= lost)
    held_up = np.maximum.accumulate(polls + late_ms * np.abs(rng.normal(size=len(polls))))
    return np.rint(held_up * MS).astype(np.int64)


def known(t_ns: I64) -> Lateness:
    found = lateness(t_ns)
    assert found is not None
    return found


@pytest.mark.parametrize("period_ms", [1.0, 2.0, 4.0, 8.0])
@pytest.mark.parametrize("late_ms", [0.0, 0.04, 0.6])
def test_a_drawn_duration_lies_within_its_uncertainty(period_ms: float, late_ms: float) -> None:
    """Two events at random moments; each is in the first report that was sent after it."""
    found = known(arrivals(period_ms, late_ms))
    assert found.period_ns == pytest.approx(period_ms * MS, rel=0.06)
    rng = np.random.default_rng(2)
    n = 4000
    seen = rng.uniform(0, period_ms, (2, n)) + late_ms * np.abs(rng.normal(size=(2, n)))
    within = np.abs(seen[0] - seen[1]) <= COVERAGE_FACTOR * found.duration_ns() / MS
    assert 0.93 <= within.mean() <= 0.98


def test_a_link_whose_delay_hides_its_period_has_an_uncertainty_too() -> None:
    """Delays that swamp the period, with reports that came together or were lost."""
    t_ns = arrivals(1.0, 1.2, lost=0.05)
    assert link_period_ns(t_ns) is None
    found = known(t_ns)
    assert (found.sure, found.enough) == (False, True)
    assert found.duration_ns() > 0.5 * MS


def test_lost_reports_are_no_delay_but_lengthen_their_own_interval() -> None:
    t_ns = arrivals(4.0, 0.0, lost=0.01)
    found = known(t_ns)
    behind = int(np.flatnonzero(np.diff(t_ns) > 6 * MS)[0]) + 1
    assert found.u_ns(t_ns, behind) > 1.3 * found.u_ns(t_ns, behind - 1)


def test_few_reports_show_nothing_and_are_bounded_by_the_slowest_link() -> None:
    found = known(np.array([0, 900], dtype=np.int64) * MS)
    assert (found.enough, found.period_ns) == (False, LONGEST_NS)
    assert lateness(np.array([5], dtype=np.int64)) is None


def test_the_slowest_of_alike_durations() -> None:
    """Against drawn triangular errors; of three it is 2.00 u."""
    assert slowest_of(3) == pytest.approx(2.0, abs=0.005)
    rng = np.random.default_rng(3)
    for n in (3, 8):
        errors = (rng.random((40_000, n)) - rng.random((40_000, n))).max(axis=1)
        assert (np.abs(errors) <= slowest_of(n) / np.sqrt(6.0)).mean() == pytest.approx(0.95, abs=0.005)


def test_the_last_report_of_each_burst_tells_the_state() -> None:
    polls = np.arange(400)
    in_fours = (polls // 4 * 4 + 3) * 2 * MS + polls % 4 * 20_000
    assert newest_of_bursts(in_fours, in_fours).tolist() == (polls % 4 == 3).tolist()
    assert newest_of_bursts(polls * 2 * MS, polls * 2 * MS).all()
