"""The simulated hand does what a check asks, again and again, until something else is asked."""

from __future__ import annotations

import numpy as np
import pytest

from station.sources.simulated.design import PadDesign
from station.sources.simulated.hand import Acts, SimulatedHand
from station.sources.simulated.moves import MOVES
from station.sources.simulated.style import style_of

TICK_S = 0.001
NS = 1_000_000_000


def acting(hand: SimulatedHand, seconds: float, first: int = 0, chunk: int = 50) -> list[Acts]:
    """What it does, chunk by chunk."""
    hand.meet(PadDesign().controls)
    return [hand.act(at, chunk, TICK_S) for at in range(first, first + round(seconds / TICK_S), chunk)]


def stick(acts: list[Acts], control: str = "left_stick") -> tuple[np.ndarray, np.ndarray]:
    """Where it wants the stick while it holds it, and when (s)."""
    places, times = [], []
    for k, one in enumerate(acts):
        if control in one.sticks:
            move = one.sticks[control]
            places.append(move.place[move.held])
            times.append((50 * k + np.flatnonzero(move.held)) * TICK_S)
    return np.concatenate(places), np.concatenate(times)


def force(acts: list[Acts], control: str) -> np.ndarray:
    return np.concatenate([one.forces.get(control, np.zeros(50)) for one in acts])


def peaks(force_of: np.ndarray) -> np.ndarray:
    """Begins of presses, s."""
    return np.flatnonzero(np.diff((force_of > 0.05).astype(int), prepend=0) == 1) * TICK_S


@pytest.mark.parametrize("check", sorted(MOVES))
def test_every_check_has_its_movement_in_one_go_of_its_control_only(check: str) -> None:
    kinds = {"contact": "south", "hold": "south", "trigger": "left_trigger", "hat": "hat"}
    control = kinds.get(check, "left_stick")
    for skill in (0.0, 0.5, 1.0):
        go = MOVES[check](control, style_of(skill), np.random.default_rng(1), TICK_S)
        touched = {*go.sticks, *go.triggers, *go.forces, *go.hats}
        assert touched == {control}
        lengths = {len(m.held) for m in (*go.sticks.values(), *go.triggers.values())}
        lengths |= {len(f) for f in go.forces.values()} | {len(h.force) for h in go.hats.values()}
        assert lengths == {go.count}
        assert go.flexed == (check == "link")


def test_it_flicks_to_eight_directions_and_lets_go_each_time() -> None:
    hand = SimulatedHand(1.0, 1)
    hand.ask("letgo", "left_stick", None, "stick", 0, 0)
    hand.repeats = False
    place, _ = stick(acting(hand, 9.0))
    far = place[np.hypot(*place.T) > 120.0]
    eighths = np.round(np.degrees(np.arctan2(far[:, 0], far[:, 1])) / 45.0).astype(int) % 8
    assert set(eighths.tolist()) == set(range(8))
    assert hand.goes_done == 1


def test_it_rolls_twice_round_each_way_beyond_the_gate() -> None:
    hand = SimulatedHand(1.0, 2)
    hand.ask("rim", "left_stick", None, "stick", 0, 0)
    hand.repeats = False
    place, _ = stick(acting(hand, 9.0))
    on_rim = place[np.hypot(*place.T) > 140.0]
    turned = np.diff(np.unwrap(np.arctan2(on_rim[:, 0], on_rim[:, 1]))) / (2 * np.pi)
    assert turned[turned > 0].sum() > 2.0
    assert -turned[turned < 0].sum() > 2.0
    assert (np.hypot(*on_rim.T) < 142.0).mean() < 0.05


def test_a_sweep_takes_about_two_seconds_for_each_way() -> None:
    hand = SimulatedHand(1.0, 3)
    hand.ask("sweep", "left_stick", None, "stick", 0, 0)
    hand.repeats = False
    place, times = stick(acting(hand, 32.0))
    for axis in (0, 1):
        way = np.abs(place[:, axis]) < 100.0
        crossing = way & (np.abs(place[:, 1 - axis]) < 15.0) & (np.hypot(*place.T) > 20.0)
        speed = np.abs(np.diff(place[:, axis]))[crossing[:-1]] / TICK_S
        assert 70.0 < np.median(speed) < 150.0
    assert times[-1] - times[0] > 24.0


def test_it_goes_on_until_something_else_is_asked_and_then_leaves_the_stick() -> None:
    hand = SimulatedHand(0.9, 4)
    hand.ask("link", "", None, "", 0, 0)
    first = acting(hand, 25.0)
    assert hand.goes_done == 2
    assert any(one.flexed for one in first[-20:])
    hand.rest(25 * NS)
    later = acting(hand, 2.0, first=25_000)
    assert not any(one.sticks or one.flexed for one in later)


def test_it_begins_no_earlier_than_asked_and_after_a_reaction_time() -> None:
    hand = SimulatedHand(0.5, 5)
    hand.ask("contact", "south", None, "button", 0, 2 * NS)
    begins = peaks(force(acting(hand, 6.0), "south"))
    assert begins[0] > 2.0 + 0.7 * style_of(0.5).reaction_s


def test_hands_off_at_rest_once_it_has_left_the_stick() -> None:
    for seed in range(12):
        hand = SimulatedHand(0.3, seed)
        hand.ask("rest", "left_stick", None, "stick", 0, 0)
        acts = acting(hand, 12.0)
        assert not any(one.sticks["left_stick"].held.any() for one in acts[60:] if "left_stick" in one.sticks)


def pressed_on_beats(hand: SimulatedHand, beats: int = 200) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Beats every half second, and the begins of the presses of a button and of its twin, s."""
    hand.ask("light", "left_shoulder", "right_shoulder", "button", 120, 0)
    acts, times = [], np.arange(beats) * 0.5 + 1.0
    due = list(times)
    for k in range(round((times[-1] + 1.0) / 0.05)):
        while due and due[0] < (k + 4) * 0.05:
            hand.beat(round(due.pop(0) * NS))
        acts.append(hand.act(50 * k, 50, TICK_S))
    return times, peaks(force(acts, "left_shoulder")), peaks(force(acts, "right_shoulder"))


@pytest.mark.parametrize(("skill", "spread_s"), [(1.0, 0.018), (0.3, 0.053)])
def test_it_presses_about_on_the_beat_with_both_fingers(skill: float, spread_s: float) -> None:
    times, left, right = pressed_on_beats(SimulatedHand(skill, 6))
    left = left[left < times[-1] + 0.25]  # in the tempo, it presses once more before it notices that it is over
    nearest = np.abs(left[:, None] - times[None, :]).argmin(axis=1)
    late = left - times[nearest]
    assert late.std() == pytest.approx(spread_s, rel=0.3)
    assert abs(late.mean() - style_of(skill).late_s) < 0.02
    both = np.abs(left[:, None] - right[None, :]).min(axis=1)
    assert np.median(both) < 0.03


def test_a_careless_hand_lets_beats_pass_with_both_fingers_at_once() -> None:
    times, left, right = pressed_on_beats(SimulatedHand(0.0, 7), 400)
    forgot = np.array([np.abs(left - t).min() > 0.24 for t in times])
    twin_forgot = np.array([np.abs(right - t).min() > 0.24 for t in times])
    assert 0.03 < forgot.mean() < 0.12
    assert (forgot & twin_forgot).sum() >= 0.8 * forgot.sum()


def test_a_careful_hand_takes_back_each_beat_that_it_let_pass_before_the_next_one() -> None:
    hand = SimulatedHand(1.0, 12)
    hand.ask("light", "south", None, "button", 120, 0)
    begins, took_back = [], []
    for k in range(20 * 900):
        if k % 10 == 0:
            hand.beat(k * 50_000_000)
        begins.append(force([hand.act(50 * k, 50, TICK_S)], "south"))
        if hand.takes_back((k + 1) * 50_000_000):
            took_back.append((k + 1) * 0.05)
    pressed = peaks(np.concatenate(begins))
    beats = np.arange(1, 1799) * 0.5
    passed = [t for t in beats.tolist() if np.abs(pressed - t).min() > 0.24]
    assert len(passed) > 3
    assert [t - t % 0.5 for t in took_back] == pytest.approx(passed)


def test_beats_count_only_while_a_light_press_is_asked_for() -> None:
    hand = SimulatedHand(1.0, 8)
    hand.ask("contact", "south", None, "button", 0, 0)
    acting(hand, 0.1)
    hand.beat(NS)
    assert not any("left_shoulder" in one.forces for one in acting(hand, 2.0, first=100))


@pytest.mark.parametrize(
    ("strength", "least", "most"), [("light", 1.05, 2.2), ("normal", 1.6, 3.0), ("firm", 2.7, 5.0)]
)
def test_three_strengths(strength: str, least: float, most: float) -> None:
    hand = SimulatedHand(1.0, 9)
    hand.strength = strength
    hand.ask("light", "south", None, "button", 120, 0)
    acting(hand, 0.05)
    for k in range(20):
        hand.beat(round((0.5 + 0.5 * k) * NS))
    found = force(acting(hand, 11.0, first=50), "south")
    each = [found[round((0.4 + 0.5 * k) / TICK_S) :][:450].max() for k in range(1, 19)]
    assert least < np.median(each) < most


def test_the_same_seed_makes_the_same_hand() -> None:
    runs = []
    for _ in range(2):
        hand = SimulatedHand(0.6, 11)
        hand.ask("letgo", "left_stick", None, "stick", 0, 0)
        runs.append(stick(acting(hand, 8.0))[0])
    np.testing.assert_array_equal(*runs)
