"""Contacts of a simulated unit: snap, bounce, film, faults; and the four of a hat."""

from __future__ import annotations

import numpy as np
import pytest

from station.sources.simulated.moves import press_shape
from station.sources.simulated.parts import Contact, Hat
from station.sources.simulated.switch import Switch, hat_direction

TICK_S = 0.001
PRESS = 300
"""ticks from one press to the next"""


def presses(part: Contact, count: int, peak: float = 1.35, seed: int = 0, tick_s: float = TICK_S) -> np.ndarray:
    """bool[count, PRESS]: so many presses of 0.16 s."""
    force = press_shape(np.arange(PRESS) * tick_s, peak, 160 * tick_s)
    switch = Switch(part, tick_s, np.random.default_rng(seed))
    return np.array([switch.run(force, PRESS) for _ in range(count)])


def closures(closed: np.ndarray) -> np.ndarray:
    """Number of closures in each press."""
    return (np.diff(closed.astype(int), prepend=0, axis=1) == 1).sum(axis=1)


def test_a_sound_contact_registers_every_light_press_once() -> None:
    closed = presses(Contact(bounce_s=0.0), 300)
    assert (closures(closed) == 1).all()
    assert closed.sum(axis=1).min() > 100


def test_it_closes_at_the_snap_and_opens_lower() -> None:
    force = np.concatenate((np.linspace(0, 2, 201), np.linspace(2, 0, 201)))
    closed = Switch(Contact(bounce_s=0.0, release=0.5), TICK_S, np.random.default_rng(0)).run(force, 402)
    on = np.flatnonzero(closed)
    assert force[on[0]] == pytest.approx(1.0)
    assert force[on[-1]] == pytest.approx(0.5)


def test_a_touch_below_the_snap_does_nothing() -> None:
    assert not presses(Contact(), 20, peak=0.97).any()


def test_bounce_is_over_within_five_milliseconds() -> None:
    tick_s = 0.0001
    switch = Switch(Contact(bounce_s=0.002), tick_s, np.random.default_rng(0))
    force = np.concatenate((np.full(400, 1.4), np.zeros(50)))
    closed = np.array([switch.run(force, 450) for _ in range(200)])
    assert (closures(closed) > 1).mean() > 0.5
    for one in closed:
        opens = np.flatnonzero(np.diff(one.astype(int)) == -1)
        assert all(at <= 0.005 / tick_s + 1 for at in opens[:-1])
        assert opens[-1] == 399


@pytest.mark.parametrize("share", [0.1, 0.4, 0.7])
def test_a_film_lets_its_share_of_light_presses_miss(share: float) -> None:
    from scipy.special import ndtri

    part = Contact(bounce_s=0.0, film=(1.35 * float(np.exp(0.35 * ndtri(share))), 0.35))
    missed = (~presses(part, 1500).any(axis=1)).mean()
    assert missed == pytest.approx(share, abs=0.05)


def test_firm_presses_get_through_a_film() -> None:
    part = Contact(film=(1.35, 0.35))
    light, firm = ((~presses(part, 400, peak).any(axis=1)).mean() for peak in (1.35, 3.4))
    assert light > 0.4
    assert firm < 0.02


def test_a_split_opens_once_in_the_middle_for_its_time() -> None:
    closed = presses(Contact(bounce_s=0.0, split=(1.0, 0.012)), 50)
    assert (closures(closed) == 2).all()
    inner = [np.flatnonzero(np.diff(one.astype(int))) for one in closed]
    assert {int(e[2] - e[1]) for e in inner} == {12}


def test_a_short_contact_closes_for_its_time_only() -> None:
    closed = presses(Contact(bounce_s=0.0, short=(1.0, 0.009)), 50)
    assert set(closed.sum(axis=1).tolist()) == {9}


def test_a_fault_shows_in_its_share_of_presses() -> None:
    closed = presses(Contact(bounce_s=0.0, split=(0.3, 0.012)), 1000)
    assert (closures(closed) == 2).mean() == pytest.approx(0.3, abs=0.05)


def test_dropouts_come_at_their_rate_while_held() -> None:
    switch = Switch(Contact(bounce_s=0.0, dropouts=(2.0, 0.01)), TICK_S, np.random.default_rng(0))
    closed = switch.run(np.full(60_000, 1.4), 60_000)
    assert (np.diff(closed.astype(int)) == -1).sum() == pytest.approx(120, abs=35)


def test_a_press_may_fall_across_chunks() -> None:
    force = press_shape(np.arange(PRESS) * TICK_S, 1.35, 0.16)
    part = Contact(split=(1.0, 0.012))
    whole = Switch(part, TICK_S, np.random.default_rng(3)).run(force, PRESS)
    switch = Switch(part, TICK_S, np.random.default_rng(3))
    pieces = [switch.run(force[a:b], b - a) for a, b in ((0, 20), (20, 61), (61, 62), (62, 300))]
    np.testing.assert_array_equal(np.concatenate(pieces), whole)
    assert switch.presses == 1


@pytest.mark.parametrize("run", [1.5, 4.0])
def test_misses_come_in_runs_of_their_length(run: float) -> None:
    missed = ~presses(Contact(bounce_s=0.0, runs=(0.2, run)), 6000).any(axis=1)
    begins = (np.diff(missed.astype(int), prepend=0) == 1).sum()
    assert missed.mean() == pytest.approx(0.2, abs=0.03)
    assert missed.sum() / begins == pytest.approx(run, rel=0.12)


def test_contacts_of_a_group_miss_the_same_presses_and_others_do_not() -> None:
    one, same, other = (~presses(Contact(blind=(0.4, g)), 400, seed=s).any(axis=1) for g, s in ((0, 1), (0, 2), (1, 3)))
    np.testing.assert_array_equal(one, same)
    assert one.mean() == pytest.approx(0.4, abs=0.1)
    assert (one != other).mean() > 0.2


def test_a_contact_stays_closed_for_its_time_after_its_share_of_presses() -> None:
    closed = presses(Contact(bounce_s=0.0, stays=(0.3, 0.08)), 500).sum(axis=1)
    usual = np.median(closed)
    assert ((closed - usual) > 70).mean() == pytest.approx(0.3, abs=0.07)
    assert np.median(closed[closed > usual + 40] - usual) == pytest.approx(80, abs=4)


def test_these_faults_leave_the_other_streams_as_they_were() -> None:
    np.testing.assert_array_equal(presses(Contact(), 50), presses(Contact(stays=(1e-9, 0.1)), 50))


@pytest.mark.parametrize(("part", "state"), [(Contact(stuck=True), True), (Contact(never=True), False)])
def test_stuck_and_never(part: Contact, state: bool) -> None:
    assert (presses(part, 3) == state).all()
    assert (Switch(part, TICK_S, np.random.default_rng(0)).run(None, 50) == state).all()


def rolled(part: Hat) -> list[int]:
    """Directions in the order seen, for a roll from up, clockwise, and letting go."""
    bearing = np.append(np.arange(0.0, 360.0, 1.0), 0.0)
    force = np.append(np.full(360, 2.0), 0.0)
    seen = hat_direction(part, bearing, force, 361)
    return [int(d) for d in seen[np.flatnonzero(np.diff(seen, prepend=-2))]]


@pytest.mark.parametrize(
    ("part", "seen"),
    [
        (Hat(), [0, 1, 2, 3, 4, 5, 6, 7, 0, -1]),
        (Hat(missing=frozenset({4})), [0, 1, 2, -1, 6, 7, 0, -1]),
        (Hat(missing=frozenset({3})), [0, 1, 2, 4, 5, 6, 7, 0, -1]),
        (Hat(stuck=0), [0, 1, 0, 7, 0]),
    ],
    ids=["sound", "down is dead and takes its diagonals along", "one diagonal never comes", "up is stuck: no null"],
)
def test_what_a_roll_of_the_hat_shows(part: Hat, seen: list[int]) -> None:
    assert rolled(part) == seen


def test_an_untouched_hat_rests() -> None:
    assert (hat_direction(Hat(), None, None, 5) == -1).all()
