"""A stick in a first look: what was led is no return, and what lies between two goes is no crossing."""

from __future__ import annotations

import itertools

import numpy as np

from station.checks.axes import stick_signal
from station.checks.glance_stick import Freely, freely
from station.checks.letgo import LetGo
from station.checks.sweep import Sweep, passes_across
from station.checks.types import Take
from station.measure.arrays import F64
from tests.checks.axis_moves import GRID_HZ, LIMITS, Device, flick, ramp, stay

BACK = 100.0 * np.exp(-np.arange(int(0.6 * GRID_HZ)) / (0.010 * GRID_HZ))


def led(*ends: float) -> F64:
    """To the first of these ends, then slowly on to each of the others, and let go."""
    ways = [np.concatenate((ramp(a, b, 1.4), stay(b, 0.15))) for a, b in itertools.pairwise(ends)]
    return np.concatenate(
        (ramp(0.0, ends[0], 0.3), stay(ends[0], 0.15), *ways, ends[-1] / 100.0 * BACK, stay(0.0, 0.3))
    )


def shown(x: F64) -> tuple[Take, Freely]:
    take = Device(1000, 12).stick((np.arange(len(x)) / GRID_HZ, x, np.zeros_like(x)))
    signal = stick_signal(take)
    assert signal is not None
    return take, freely(take, signal)


def test_a_stick_that_was_led_across_has_come_back_once() -> None:
    """A flick, and a way there and back that ends with letting go: two returns."""
    take, parts = shown(np.concatenate((flick(), led(-100.0, 100.0, -100.0))))
    assert len(parts.led) == 2
    assert len(parts.across) == 1
    of_returns = LetGo(once_more=False, led=parts.led).progress(take, LIMITS).marks["settle_points"]
    assert len(of_returns) == 2
    assert float(np.abs(of_returns).max()) < 1.0


def test_a_pass_lies_within_one_go() -> None:
    """The first go ends at one side and the second begins at the other, with other movements in between."""
    x = np.concatenate((led(-100.0, 100.0), stay(0.0, 3.0), flick(), stay(0.0, 1.0), led(-100.0, 100.0)))
    _, parts = shown(x)
    signal = stick_signal(parts.crossings)
    assert signal is not None
    assert len(passes_across(signal.t_ns, signal.x_pct)) == 3
    assert len(parts.across) == 2
    assert "right and back" not in Sweep(3).progress(parts.crossings, LIMITS).missing
    assert "right and back: one pass to go" in Sweep(3, parts.across).progress(parts.crossings, LIMITS).missing
