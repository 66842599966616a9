"""Statistics between two cursors against numpy, scipy and statsmodels on the same stretch."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from scipy.integrate import trapezoid
from statsmodels.stats.weightstats import DescrStatsW

from station.evidence.between import between, closed_between
from station.evidence.drawing import Contact, Line

MS = 1_000_000


def _line(t_ms, values) -> Line:
    return Line(
        "x", "%", np.asarray(np.asarray(t_ms, dtype=np.float64) * MS, dtype=np.int64), np.asarray(values, float)
    )


def test_reports_at_even_times_are_counted_alike():
    """Then weighting by time changes nothing: numpy and scipy on the plain values."""
    rng = np.random.default_rng(1)
    values = rng.normal(3.0, 2.0, 801)
    found = between(_line(np.arange(801.0), values), 0, 800 * MS)
    plain = values[:800]
    told = scipy.stats.describe(plain, ddof=0)
    assert found is not None
    assert found.mean == pytest.approx(np.mean(plain))
    assert found.mean == pytest.approx(told.mean)
    assert found.rms == pytest.approx(np.std(plain))
    assert found.rms == pytest.approx(np.sqrt(told.variance))
    assert found.median == pytest.approx(np.quantile(plain, 0.5, method="inverted_cdf"))
    assert (found.least, found.greatest) == (values.min(), values.max())
    assert found.peak_to_peak == pytest.approx(np.ptp(values))
    assert found.reports == 801


@pytest.mark.parametrize("seed", range(5))
def test_uneven_times_are_weighted(seed: int):
    """Against statsmodels' weighted statistics, and the area under the stair by scipy."""
    rng = np.random.default_rng(seed)
    t = np.cumsum(rng.integers(1, 40, 300)).astype(float)
    values = rng.normal(size=300)
    begin, end = t[20] + 0.5, t[280] + 0.25
    found = between(_line(t, values), int(begin * MS), int(end * MS))
    inside = np.concatenate(([begin], t[21:281], [end]))
    held = values[20:281]
    weights = np.diff(inside)
    told = DescrStatsW(held, weights=weights)
    assert found is not None
    assert found.mean == pytest.approx(told.mean, rel=1e-6)
    assert found.rms == pytest.approx(told.std, rel=1e-6)
    area = trapezoid(np.repeat(held, 2), np.column_stack((inside[:-1], inside[1:])).ravel())
    assert found.mean == pytest.approx(area / (end - begin), rel=1e-6)
    assert found.median == told.quantile(0.5, return_pandas=False)[0]
    assert (found.least, found.greatest) == (held.min(), held.max())
    assert found.reports == 260
    assert found.first == held[0]
    assert found.change == pytest.approx(held[-1] - held[0])


def test_the_cursors_may_stand_the_other_way_round():
    line = _line([0, 10, 20], [1.0, 2.0, 3.0])
    assert between(line, 0, 15 * MS) == between(line, 15 * MS, 0)


def test_two_cursors_at_one_place_tell_what_held_there():
    found = between(_line([0, 10, 20], [1.0, 2.0, 3.0]), 12 * MS, 12 * MS)
    assert found is not None
    assert (found.least, found.mean, found.greatest, found.rms) == (2, 2, 2, 0)


def test_before_the_first_report_nothing_is_known():
    assert between(_line([10, 20], [1.0, 2.0]), 0, 5 * MS) is None
    found = between(_line([10, 20], [1.0, 2.0]), 0, 20 * MS)
    assert found is not None
    assert found.mean == 1.0


def test_a_contact_is_told_by_how_often_and_for_how_long_it_closed():
    contact = Contact("A", np.array([10, 30]) * MS, np.array([20, 50]) * MS)
    found = closed_between(contact, 15 * MS, 40 * MS)
    assert found.closures == 1
    assert found.share == pytest.approx(15 / 25)
