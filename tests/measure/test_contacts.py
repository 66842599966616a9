"""Closures, bounce, presses and the link's period."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.measure.contacts import Closures, closures, presses, without_bounce
from station.measure.period import link_period_ns

MS = 1_000_000


def _made(*stretches: tuple[float, float], before: bool = False, after: bool = False) -> Closures:
    start, end = ([int(x * MS) for x in column] for column in zip(*stretches, strict=True))
    return Closures(np.array(start, dtype=np.int64), np.array(end, dtype=np.int64), before, after)


def _shown(c: Closures) -> list[tuple[float, float]]:
    return [(a / MS, b / MS) for a, b in zip(c.start_ns.tolist(), c.end_ns.tolist(), strict=True)]


def test_a_contact_that_never_reported_has_no_closures():
    c = closures(np.empty(0, np.int64), np.empty(0, np.bool_), 5 * MS)
    assert len(c) == 0
    assert (c.held_before, c.held_after) == (False, False)


def test_closures_run_from_closing_to_opening_and_the_last_one_to_the_end():
    t = np.array([0, 10, 20, 30, 40, 50], dtype=np.int64) * MS
    c = closures(t, np.array([False, True, True, False, False, True]), 65 * MS)
    assert _shown(c) == [(10, 30), (50, 65)]
    assert (c.held_before, c.held_after) == (False, True)


def test_a_contact_closed_at_the_beginning_is_marked_as_held_before():
    t = np.array([0, 10], dtype=np.int64) * MS
    c = closures(t, np.array([True, False]), 65 * MS)
    assert _shown(c) == [(0, 10)]
    assert (c.held_before, c.held_after) == (True, False)


@given(st.lists(st.booleans(), min_size=1, max_size=60))
def test_closures_tell_the_state_at_every_sample(states):
    t = np.arange(len(states), dtype=np.int64) * MS
    c = closures(t, np.array(states), len(states) * MS)
    inside = [bool(np.any((c.start_ns <= at) & (at < c.end_ns))) for at in t]
    assert inside == states


BOUNCE = {
    "bounce on closing is one closure": ([(0, 1), (3, 80)], [(0, 80)]),
    "bounce on opening is one closure": ([(0, 80), (83, 85)], [(0, 85)]),
    "a brief opening in the middle of a press is a dropout": ([(0, 40), (43, 80)], [(0, 40), (43, 80)]),
    "a longer opening right after closing is not bounce": ([(0, 4), (12, 80)], [(0, 4), (12, 80)]),
    "two presses stay two": ([(0, 80), (400, 480)], [(0, 80), (400, 480)]),
    "bounce of the second press does not touch the first": (
        [(0, 80), (400, 402), (404, 480)],
        [(0, 80), (400, 480)],
    ),
}


@pytest.mark.parametrize(("made", "left"), BOUNCE.values(), ids=BOUNCE)
def test_bounce(made, left):
    assert _shown(without_bounce(_made(*made))) == left


def test_closures_less_than_60_ms_apart_are_one_press():
    assert _shown(presses(_made((0, 30), (60, 90), (150, 200), (500, 520)))) == [(0, 90), (150, 200), (500, 520)]


def test_whether_it_was_held_survives_bounce_and_press_grouping():
    c = _made((0, 1), (3, 80), (400, 480), before=True, after=True)
    for made in (without_bounce(c), presses(c)):
        assert (made.held_before, made.held_after) == (True, True)


def test_the_period_is_not_guessed_from_a_few_reports():
    assert link_period_ns(np.arange(10, dtype=np.int64) * 8 * MS) is None


def test_the_period_is_not_guessed_from_random_times():
    found = []
    for seed in range(40):
        steps = np.random.default_rng(seed).uniform(40, 400, 60)
        found.append(link_period_ns((np.cumsum(steps) * MS).astype(np.int64)))
    assert found.count(None) >= 39


def test_reports_that_arrive_in_one_go_do_not_shorten_the_period():
    t = np.sort(np.concatenate([np.arange(400) * 8 * MS, np.arange(0, 400, 10) * 8 * MS + 10_000]))
    assert link_period_ns(t.astype(np.int64)) == pytest.approx(8 * MS, rel=0.01)
