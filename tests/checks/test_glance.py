"""A glance: drawn movements in any order; what fails, what needs the full check, what is passed over, what lacks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.checks.glance_button import gaps, pressed_freely
from station.checks.registry import CHECKS, describe
from station.checks.types import Assessment, Outcome, Take
from station.sheets.signals import ButtonSignal
from tests.checks.button_moves import LEFT, LIMITS, LONE, RIGHT, STICK_PRESS, contact, take

GLANCE = CHECKS["glance"]
MS = 1_000_000
Closed = tuple[tuple[float, float], ...]


def button(closed_ms: Closed, lasts_ms: float = 4000.0) -> Take:
    """A button that is closed from … to …, ms."""
    edges = [(0.0, False), *((t, on) for begin, end in closed_ms for t, on in ((begin, True), (end, False)))]
    edges = [(t, on) for t, on in edges if t < lasts_ms]
    t_ns = np.array([round(t * MS) for t, _ in edges], dtype=np.int64)
    return take(LEFT, {LEFT.id: ButtonSignal(t_ns, np.array([on for _, on in edges]))}, lasts_ms)


def every(period_ms: float, times: int, lasts_ms: float = 120.0) -> Closed:
    return tuple((400.0 + k * period_ms, 400.0 + k * period_ms + lasts_ms) for k in range(times))


FIVE = every(400.0, 5)
BROKEN = ((400.0, 440.0), (460.0, 520.0))


@pytest.mark.parametrize(
    ("closed", "outcome", "codes"),
    [
        (FIVE, Outcome.PASS, []),
        (FIVE[:4], Outcome.NOT_DONE, []),
        ((*BROKEN, *FIVE[1:]), Outcome.BORDERLINE, ["unclear"]),
        ((*BROKEN, (800.0, 805.0), *FIVE[2:]), Outcome.FAIL, ["splits", "shorts"]),
        ((*FIVE[:3], *every(400.0, 7)[4:]), Outcome.BORDERLINE, ["unclear"]),
        (((0.0, 4000.0),), Outcome.FAIL, ["stuck"]),
        ((), Outcome.FAIL, ["never"]),
    ],
    ids=["five sound presses", "one to go", "one breaks up", "one breaks up, one is short", "a gap", "stuck", "never"],
)
def test_a_button_pressed_freely(closed: Closed, outcome: Outcome, codes: list[str]) -> None:
    found = GLANCE.assess(button(closed), LIMITS)
    assert found.outcome is outcome
    assert [f.code for f in found.findings] == codes
    assert bool(found.again) is (outcome is Outcome.NOT_DONE)


@pytest.mark.parametrize(
    ("intervals", "lacking"),
    [
        ((400, 400, 400, 400), 0),
        ((400, 800, 410, 390), 1),
        ((400, 1200, 410, 390), 2),
        ((400, 800, 410, 790, 400), 2),
        ((400, 2400, 410, 390), 0),
        ((200, 800, 500, 300, 620), 0),
        ((400, 800, 400), 0),
    ],
    ids=["even", "twice", "three times", "two gaps", "a pause", "no rhythm", "too few"],
)
def test_a_press_that_the_rhythm_lacks(intervals: tuple[int, ...], lacking: int) -> None:
    assert gaps(np.array(intervals, dtype=np.float64)) == lacking


def among_others(starts_ms: tuple[float, ...], other_ms: float = 400.0, idle_ms: float = 0.0) -> Take:
    """A button whose presses begin then, after five even presses of each other one, `idle_ms` of nothing between."""
    end = 400.0
    signals: dict[str, ButtonSignal] = {}
    for other in (RIGHT, LONE, STICK_PRESS):
        moments = [end + k * other_ms for k in range(5)]
        end = moments[-1] + other_ms
        signals[other.id] = contact([(t, t + 90.0) for t in moments], 30_000.0)
    own = [end + idle_ms + t for t in starts_ms]
    signals[LEFT.id] = contact([(t, t + 90.0) for t in own], 30_000.0)
    return take(LEFT, signals, own[-1] + 300.0)


@pytest.mark.parametrize(
    ("starts_ms", "outcome"),
    [
        ((0, 400, 800, 1200, 1600), Outcome.PASS),
        ((0, 400, 1200, 2000, 2400), Outcome.BORDERLINE),
        ((0, 800, 1200, 2400, 2800), Outcome.BORDERLINE),
        ((0, 620, 1260, 1900, 2500), Outcome.PASS),
        ((0, 400, 3400, 3800, 4200), Outcome.PASS),
    ],
    ids=["even", "two missed of seven", "three missed of eight", "a button pressed more slowly", "one pause"],
)
def test_misses_that_its_own_rhythm_hides_show_by_the_hands(starts_ms: tuple[float, ...], outcome: Outcome) -> None:
    """Where every other press is missed the median is a miss too; pressing on until five had come healed that."""
    assert GLANCE.assess(among_others(starts_ms), LIMITS).outcome is outcome


@pytest.mark.parametrize(("idle_ms", "outcome"), [(3500.0, Outcome.PASS), (7000.0, Outcome.BORDERLINE)])
def test_the_last_button_that_comes_only_after_long_needs_the_full_check(idle_ms: float, outcome: Outcome) -> None:
    found = GLANCE.assess(among_others((0, 400, 800, 1200, 1600), idle_ms=idle_ms), LIMITS)
    assert found.outcome is outcome


def test_a_pause_before_a_button_that_is_not_the_last_tells_nothing() -> None:
    late = among_others((0, 400, 800, 1200, 1600), idle_ms=7000.0)
    rest = {name: signal for name, signal in late.signals.items() if name != LONE.id}
    assert GLANCE.assess(replace(late, signals=rest), LIMITS).outcome is Outcome.PASS


def test_what_was_closed_before_and_after_is_no_press() -> None:
    found = pressed_freely(button(((0.0, 100.0), *FIVE, (3000.0, 4000.0))))
    assert found.presses == 5


@pytest.mark.parametrize("pressed", [0, 2, 5])
def test_progress_counts_presses(pressed: int) -> None:
    told = GLANCE.progress(button(FIVE[:pressed]), LIMITS)
    assert told.complete is (pressed == 5)
    assert told.share == pytest.approx(pressed / 5)
    assert bool(told.missing) is not told.complete


def test_readings_are_only_reported() -> None:
    assert all(not kind.limit and not kind.sheet_limit for kind in describe("glance").readings)
    found: Assessment = GLANCE.assess(button(FIVE), LIMITS)
    assert found.readings
    assert all(r.limit is None and r.fail_beyond is None for r in found.readings)


def test_its_findings_say_the_same_as_those_of_the_full_checks() -> None:
    full = {kind.code: kind for name, check in CHECKS.items() if name != "glance" for kind in check.about.findings}
    own = {kind.code: kind for kind in describe("glance").findings}
    assert set(own) - set(full) == {"unclear"}
    assert all(kind is full[code] for code, kind in own.items() if code in full)
