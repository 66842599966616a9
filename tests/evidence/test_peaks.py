"""A line reduced to columns: what stands out is kept at every zoom, what is not known is not drawn."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.evidence.peaks import Peaks

NS = 125_000
NONE = np.empty((0, 2), dtype=np.int64)


def _line(n: int, spike_at: int | None = None):
    t = np.arange(n, dtype=np.int64) * NS
    values = 10.0 * np.sin(np.arange(n) / 4000.0)
    if spike_at is not None:
        values[spike_at] = 90.0
    return t, values


@pytest.mark.parametrize("share", [1.0, 0.5, 0.1, 0.01, 0.001, 0.0001])
@pytest.mark.parametrize("spike_at", [7, 64_001, 300_000, 399_999])
def test_a_spike_of_a_single_report_is_in_the_picture_at_every_zoom(share: float, spike_at: int):
    t, values = _line(400_000, spike_at)
    wide = int(share * 400_000 * NS)
    begin = int(np.clip(spike_at * NS - wide // 3, 0, 400_000 * NS - wide))
    drawn = Peaks(t, values).drawn(begin, begin + wide, 1200, NONE, int(t[-1]) + NS)
    assert drawn.values.max() == 90.0
    column = wide / 1200
    at = drawn.t_ns[np.argmax(drawn.values)]
    assert abs(at - t[spike_at]) <= column + NS


@given(st.integers(1, 5000), st.integers(1, 300), st.integers(0, 2**32 - 1), st.floats(0.0, 0.9), st.floats(0.01, 1.0))
def test_every_column_has_the_least_and_the_greatest_of_what_held_in_it(n, columns, seed, begin_share, wide_share):
    """Against the plain minimum and maximum, on reports at uneven times."""
    rng = np.random.default_rng(seed)
    t = np.cumsum(rng.integers(1, 50, n)).astype(np.int64)
    values = rng.normal(size=n)
    until = int(t[-1]) + 20
    begin = int(t[0] + begin_share * (until - t[0]))
    end = max(begin + 1, int(begin + wide_share * (until - begin)))
    drawn = Peaks(t, values).drawn(begin, end, columns, NONE, until)
    first = max(int(np.searchsorted(t, begin, side="right")) - 1, 0)
    here = values[first : max(int(np.searchsorted(t, end, side="left")), first + 1)]
    assert drawn.values.min() <= here.min()
    assert drawn.values.max() >= here.max()
    assert set(drawn.values.tolist()) <= set(values.tolist()), "nothing is drawn that was not reported"
    assert len(drawn.t_ns) == len(drawn.values) == len(drawn.joined)
    assert np.isfinite(drawn.values).all()
    assert (np.diff(drawn.t_ns) >= 0).all()


def test_few_reports_are_shown_as_reports_that_hold_until_the_next():
    t = np.array([0, 10, 30], dtype=np.int64)
    drawn = Peaks(t, np.array([1.0, 5.0, 2.0])).drawn(0, 40, 100, NONE, 40)
    assert drawn.single
    assert drawn.t_ns.tolist() == [0, 10, 10, 30, 30, 40]
    assert drawn.values.tolist() == [1, 1, 5, 5, 2, 2]
    assert drawn.reports.tolist() == [0, 2, 4]
    assert drawn.joined.tolist() == [True] * 5 + [False]


@pytest.mark.parametrize("n", [20, 20_000])
def test_nothing_is_joined_across_a_silence(n: int):
    t = np.arange(n, dtype=np.int64) * 1000
    silence = np.array([[n * 400, n * 600]], dtype=np.int64)
    keep = (t <= silence[0, 0]) | (t >= silence[0, 1])
    values = np.where(t < silence[0, 0] + 1, 1.0, 5.0)
    drawn = Peaks(t[keep], values[keep]).drawn(0, n * 1000, 100, silence, n * 1000)
    joined = np.flatnonzero(drawn.joined)
    spans = np.column_stack((drawn.t_ns[joined], drawn.t_ns[joined + 1]))
    inside = (spans[:, 1] > silence[0, 0] + 10_000 * (n > 99)) & (spans[:, 0] < silence[0, 1] - 10_000 * (n > 99))
    column = n * 1000 / 100
    crossing = (spans[:, 0] < silence[0, 0] + column) & (spans[:, 1] > silence[0, 1] - column)
    assert not crossing.any()
    assert not (inside & (spans[:, 1] - spans[:, 0] > 2 * column)).any()
    across = drawn.values[joined] != drawn.values[joined + 1]
    assert not across.any(), "no line goes from what was before to what came after"


def test_one_report_is_a_line_for_as_long_as_it_held():
    drawn = Peaks(np.array([5], dtype=np.int64), np.array([2.0])).drawn(0, 100, 50, NONE, 100)
    assert drawn.t_ns.tolist() == [5, 100]
    assert drawn.values.tolist() == [2, 2]
