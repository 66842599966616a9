"""What is kept of the last seconds, and what of it reaches the pixels."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pad import button, hat, stick, trigger

from station.sheets.signals import ButtonSignal
from station.ui.live.tracks import StateTrack, Tracks, ValueTrack, contact_bars, envelope

MS = 1_000_000


def contact(*changes: tuple[float, int], columns: int = 100, span_ms: float = 1000) -> tuple[np.ndarray, np.ndarray]:
    t = np.array([round(at * MS) for at, _ in changes], np.int64)
    state = np.array([s for _, s in changes], np.int8)
    return columns_of(t, state, round(span_ms * MS), columns)


def columns_of(t: np.ndarray, state: np.ndarray, to_ns: int, columns: int) -> tuple[np.ndarray, np.ndarray]:
    """The bars as two masks: (closed, notch)."""
    bars = contact_bars(t, state, 0, to_ns, columns)
    closed, notch = np.zeros(columns, np.bool_), np.zeros(columns, np.bool_)
    for a, b in bars.closed:
        closed[a:b] = True
    notch[list(bars.notches)] = True
    return closed, notch


def runs(mask: np.ndarray) -> list[tuple[int, int]]:
    """Stretches of True as (first, one past the last)."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False]))))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def test_a_closure_shorter_than_a_pixel_fills_its_column() -> None:
    closed, gap = contact((0, 0), (505.0, 1), (505.001, 0))
    assert runs(closed) == [(50, 51)]
    assert not gap.any()


@pytest.mark.parametrize("opens_at", [503.0, 509.5, 510.0], ids=["inside a pixel", "across an edge", "at an edge"])
def test_an_opening_of_one_millisecond_in_a_press_stays_visible(opens_at: float) -> None:
    closed, gap = contact((0, 0), (200, 1), (opens_at, 0), (opens_at + 1, 1), (800, 0))
    assert gap.sum() + (~closed[20:80]).sum() >= 1


def test_a_long_opening_needs_no_notch() -> None:
    closed, gap = contact((0, 0), (200, 1), (400, 0), (500, 1), (800, 0))
    assert runs(closed) == [(20, 40), (50, 80)]
    assert not gap.any()


def test_a_press_that_began_before_the_window_is_drawn_from_its_edge() -> None:
    t, state = np.array([-5000 * MS]), np.array([1], np.int8)
    closed, _ = columns_of(t, state, 1000 * MS, 50)
    assert closed.all()


def test_before_the_first_report_nothing_is_claimed() -> None:
    closed, _ = contact((600, 1))
    assert runs(closed) == [(60, 100)]


def test_never_reported_is_neither_open_nor_closed() -> None:
    closed, gap = columns_of(np.empty(0, np.int64), np.empty(0, np.int8), MS, 10)
    assert not closed.any()
    assert not gap.any()


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.integers(0, 999_999), min_size=1, max_size=60, unique=True),
    st.integers(1, 300),
    st.booleans(),
)
def test_every_closure_and_every_opening_leaves_a_mark(times: list[int], columns: int, first: bool) -> None:
    """Whatever the chatter: each column that a closure touches is closed; an inner opening shows as gap or column."""
    t = np.array(sorted(times), np.int64)
    state = ((np.arange(len(t)) + first) % 2).astype(np.int8)
    closed, gap = columns_of(t, state, 1_000_000, columns)
    for k in range(len(t)):
        end = t[k + 1] if k + 1 < len(t) else 1_000_000
        a, b = int(t[k] * columns // 1_000_000), min(int(end * columns // 1_000_000), columns - 1)
        if state[k]:
            assert closed[a : b + 1].any()
        elif 0 < k < len(t) - 1:
            assert gap[a : b + 1].any() or gap[min(b, columns - 1)] or (~closed[a : b + 1]).any()


def test_only_changes_of_a_contact_are_kept() -> None:
    track = StateTrack()
    t = np.arange(1000, dtype=np.int64) * MS
    closed = np.zeros(1000, np.int8)
    closed[300:305] = 1
    track.add(t, closed)
    track.add(t + 1000 * MS, np.zeros(1000, np.int8))
    assert track.t_ns.tolist() == [0, 300 * MS, 305 * MS]
    assert track.now == 0


def test_pruning_keeps_the_state_that_held_at_the_edge() -> None:
    track = StateTrack()
    track.add(np.array([0, 10, 20]) * MS, np.array([0, 1, 0], np.int8))
    track.prune(15 * MS)
    assert track.t_ns.tolist() == [10 * MS, 20 * MS]
    assert track.state.tolist() == [1, 0]


def test_a_value_track_keeps_the_entry_before_the_asked_stretch() -> None:
    track = ValueTrack()
    for k in range(50):
        track.add(np.array([k * MS]), np.array([float(k)]), np.array([0.0]))
    t, x, _ = track.since(round(40.5 * MS))
    assert x.tolist() == [40.0, 41.0, 42.0, 43.0, 44.0, 45.0, 46.0, 47.0, 48.0, 49.0]
    assert t[0] == 40 * MS
    assert len(track.chunks) == 1


def test_unknown_differs_from_centred() -> None:
    tracks = Tracks()
    assert tracks.value("left_stick") is None
    tracks.take(MS, {"left_stick": stick(MS, 0.0, 0.0)}, 1)
    value = tracks.value("left_stick")
    assert value is not None
    assert value.now == (0.0, 0.0)


def test_a_clock_that_runs_back_is_another_source() -> None:
    tracks = Tracks()
    tracks.take(5000 * MS, {"south": button(4999 * MS, True), "pad": hat(4999 * MS, 2)}, 2)
    tracks.take(10 * MS, {"left_trigger": trigger(9 * MS, 3.0)}, 1)
    assert tracks.state("south") is None
    assert tracks.value("left_trigger") is not None


def test_the_rate_is_that_of_the_last_two_seconds() -> None:
    tracks = Tracks()
    for k in range(300):
        tracks.take(k * 16 * MS, {}, 16 if k > 100 else 2)
    assert tracks.rate_hz() == pytest.approx(1000)


def test_ten_minutes_of_chatter_take_no_more_than_ten_seconds_of_room() -> None:
    tracks = Tracks()
    for k in range(600):
        t = k * 1000 * MS + np.arange(1000) * MS
        tracks.take(int(t[-1]), {"south": ButtonSignal(t, np.arange(1000) % 2 == 0), "stick": stick(t, t, t)}, 1000)
    state, value = tracks.state("south"), tracks.value("stick")
    assert state is not None
    assert value is not None
    assert len(state.t_ns) <= 10_002
    assert sum(len(c[0]) for c in value.chunks) <= 12_000


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-100, 100), min_size=1, max_size=4000), st.integers(20, 200))
def test_the_envelope_keeps_both_extremes_and_at_most_two_points_a_column(values: list[float], columns: int) -> None:
    t = np.arange(len(values), dtype=np.int64) * MS
    y = np.array(values)
    x, shown = envelope(t, y, 0, len(values) * MS, columns)
    assert shown.min() == y.min()
    assert shown.max() == y.max()
    assert len(shown) <= max(2 * columns + 1, 4 * columns)
    assert (np.diff(x) >= 0).all()
    assert x[-1] == 0.0


def test_a_value_holds_until_the_next_report() -> None:
    x, y = envelope(np.array([0, 500 * MS]), np.array([1.0, 2.0]), 0, 1000 * MS, 100)
    assert x.tolist() == pytest.approx([-1.0, -0.5, -0.5, 0.0])
    assert y.tolist() == [1.0, 1.0, 2.0, 2.0]
