"""Whatever a device sends, a check of an axis answers: no exception, no value that is not finite, words that fit."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from station.checks.registry import CHECKS
from station.checks.types import Outcome, Take
from station.sheets.signals import StickSignal, TriggerSignal
from tests.checks.axis_moves import LIMITS, SHEET, STICK, TRIGGER

END_NS = 8_000_000_000
AXIS_CHECKS = ("rest", "letgo", "travel", "rim", "sweep", "trigger", "link")


@st.composite
def series(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Times (some alike: merged reports) and two series of codes: noise, steps, ramps, constants, rails."""
    count = draw(st.sampled_from([1, 2, 3, 5, 40, 400]))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    t = np.sort(rng.integers(0, END_NS, count))
    if draw(st.booleans()):
        t = t // 2_000_000_000 * 2_000_000_000

    def codes() -> np.ndarray:
        kind = draw(st.sampled_from(["noise", "steps", "wave", "still", "rails"]))
        if kind == "noise":
            return rng.integers(0, 256, count)
        if kind == "steps":
            return np.repeat(rng.integers(0, 256, count), 20)[:count]
        if kind == "wave":
            return np.rint(127.5 + 127.5 * np.sin(t / 1e9 * draw(st.floats(0.5, 12.0)))).astype(np.int64)
        return np.full(count, 128) if kind == "still" else rng.choice([0, 255], count)

    return t.astype(np.int64), codes(), codes()


def stick_take(t: np.ndarray, x: np.ndarray, y: np.ndarray) -> Take:
    pct = [(code - 127.5) / 1.275 for code in (x, y)]
    signal = StickSignal(t, pct[0], pct[1], x, y, 1 / 1.275, 1 / 1.275)
    return Take(SHEET, STICK, {STICK.id: signal}, 0, END_NS, t)


def take_for(name: str, t: np.ndarray, x: np.ndarray, y: np.ndarray) -> Take:
    if name == "trigger":
        return Take(SHEET, TRIGGER, {TRIGGER.id: TriggerSignal(t, x / 2.55, x, 1 / 2.55)}, 0, END_NS, t)
    take = stick_take(t, x, y)
    return replace(take, control=None) if name == "link" else take


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", AXIS_CHECKS)
@settings(max_examples=60, deadline=None)
@given(sent=series())
def test_every_answer_is_usable(name: str, sent: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    take = take_for(name, *sent)
    progress = CHECKS[name].progress(take, LIMITS)
    assert 0.0 <= progress.share <= 1.0
    assert progress.complete == (progress.missing == "")
    result = CHECKS[name].assess(take, LIMITS)
    assert (result.outcome is Outcome.NOT_DONE) >= bool(result.again)
    for reading in result.readings:
        assert reading.value is None or math.isfinite(reading.value), reading
        assert reading.value is not None or reading.reason, reading
        assert math.isfinite(reading.uncertainty), reading
        assert reading.uncertainty >= 0.0, reading


@pytest.mark.parametrize("name", AXIS_CHECKS)
def test_nothing_ever_sent_is_nothing_done(name: str) -> None:
    nothing = np.empty(0, dtype=np.int64)
    take = replace(take_for(name, nothing, nothing, nothing), signals={})
    assert CHECKS[name].progress(take, LIMITS).missing == "waiting for the first report"
    assert CHECKS[name].assess(take, LIMITS).outcome is Outcome.NOT_DONE
