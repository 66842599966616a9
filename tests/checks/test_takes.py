"""Cutting takes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.checks.takes import take_between
from station.sheets.signals import ButtonSignal
from tests.checks.button_moves import LEFT, MS, SHEET, hat, stick, trigger

NONE = np.empty(0, dtype=np.int64)


def _button(times, states):
    return ButtonSignal(np.array(times, dtype=np.int64), np.array(states, dtype=np.bool_))


def _cut(signal, begin, end, **more):
    return take_between(SHEET, {"it": signal}, begin, end, NONE, **more).signals.get("it")


def test_the_value_held_at_the_beginning_comes_first():
    found = _cut(_button([0, 100, 200, 300], [False, True, False, True]), 150, 250)
    assert found.t_ns.tolist() == [150, 200]
    assert found.closed.tolist() == [True, False]


def test_a_report_exactly_at_the_beginning_is_the_first():
    found = _cut(_button([0, 100, 200], [False, True, False]), 100, 200)
    assert (found.t_ns.tolist(), found.closed.tolist()) == ([100, 200], [True, False])


def test_a_control_that_reported_only_later_starts_with_its_first_report():
    assert _cut(_button([500], [True]), 100, 900).t_ns.tolist() == [500]


def test_a_control_that_had_not_reported_by_the_end_is_absent():
    assert _cut(_button([500], [True]), 100, 400) is None
    assert _cut(_button([], []), 100, 400) is None


def test_a_control_that_reported_before_and_never_again_holds_its_value():
    found = _cut(_button([5], [True]), 100, 400)
    assert (found.t_ns.tolist(), found.closed.tolist()) == ([100], [True])


def test_the_source_is_not_touched_and_values_are_views():
    source = _button([0, 100, 200], [False, True, False])
    found = _cut(source, 50, 150)
    assert source.t_ns.tolist() == [0, 100, 200]
    assert np.shares_memory(found.closed, source.closed)


@pytest.mark.parametrize(
    "signal",
    [hat([(0, 1), (1, 2), (2, -1)]), stick([(0, 0, 1), (1, 2, 3), (2, 4, 5)]), trigger([(0, 0), (1, 50), (2, 100)])],
    ids=["hat", "stick", "trigger"],
)
def test_every_kind_of_signal_is_cut_in_all_its_columns(signal):
    found = _cut(signal, MS // 2, 3 * MS // 2)
    assert type(found) is type(signal)
    for name in type(signal).__slots__:
        column = getattr(found, name)
        if isinstance(column, np.ndarray):
            assert len(column) == 2
            if name != "t_ns":
                assert column.tolist() == getattr(signal, name)[:2].tolist()
        else:
            assert column == getattr(signal, name)


def test_beats_disconnects_and_reports_outside_are_left_out():
    reports = np.array([50, 100, 150, 200, 250], dtype=np.int64)
    found = take_between(
        SHEET, {}, 100, 200, reports, control=LEFT, beats_ns=(99, 100, 200, 201), disconnects_ns=(10, 150), witness="w",
        lost=3, answer="pass", meter={"V": 5.0},
    )  # fmt: skip
    assert found.report_t_ns.tolist() == [100, 150, 200]
    assert (found.beats_ns, found.disconnects_ns) == ((100, 200), (150,))
    assert (found.control, found.witness, found.lost, found.answer) == (LEFT, "w", 3, "pass")
    assert found.meter == {"V": 5.0}


@given(
    st.lists(st.tuples(st.integers(0, 50), st.booleans()), max_size=30),
    st.integers(0, 60),
    st.integers(0, 60),
)
def test_the_state_at_every_moment_of_the_stretch_is_that_of_the_source(samples, a, b):
    begin, end = sorted((a, b))
    times = sorted(t for t, _ in samples)
    source = _button(times, [s for _, s in samples])
    found = _cut(source, begin, end)
    for moment in range(begin, end + 1):
        before = np.searchsorted(source.t_ns, moment, side="right")
        expected = bool(source.closed[before - 1]) if before else None
        if found is None:
            assert expected is None
            continue
        inside = np.searchsorted(found.t_ns, moment, side="right")
        assert (bool(found.closed[inside - 1]) if inside else None) == expected
