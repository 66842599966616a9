"""Realised error rates of the light press by simulation: the real check on drawn tries (tests/bench/light.py: more)."""

from __future__ import annotations

import numpy as np
import pytest

from station.checks.light import LightCheck, plan_of
from station.checks.types import Outcome
from tests.checks.button_moves import LIMITS
from tests.checks.drawn_presses import SCENES, draw, score

PLAN = plan_of(LIMITS)
IN_TIME = [scene for scene in SCENES if not scene.late_start]


@pytest.mark.parametrize("scene", SCENES, ids=[scene.name for scene in SCENES])
def test_error_rates_stay_within_5_percent_and_a_sound_button_takes_about_31_beats(scene):
    """α = β = 5 % (Wald), and twice the simulation's standard error; the seed makes it the same every time."""
    rng = np.random.default_rng([2026, SCENES.index(scene)])
    good, bad = score(rng, scene, PLAN.p0, 60), score(rng, scene, PLAN.p1, 60)
    assert good.failed <= 0.05 + 2 * good.error(0.05)
    assert bad.passed <= 0.05 + 2 * bad.error(0.05)
    assert good.median_beats <= (62 if scene.slip else 35), "a beat that neither registered takes as long as a miss"
    assert good.undone == bad.undone == 0


@pytest.mark.parametrize("scene", IN_TIME, ids=[scene.name for scene in IN_TIME])
def test_every_drawn_fault_and_no_sound_press_is_told_faulty(scene):
    """So the test's own error rates (exact: 2.1 and 4.7 %) are those of the check."""
    rng = np.random.default_rng([7, SCENES.index(scene)])
    for _ in range(8):
        drawn = draw(rng, scene, 0.15)
        marks = LightCheck().progress(drawn.take(60), LIMITS).marks["beats"]
        told = [state in ("missed", "split", "short") for _, state in marks]
        counted = [state not in ("void", "neither") for _, state in marks]
        assert [t for t, c in zip(told, counted, strict=True) if c] == [
            bool(f) for f, c in zip(drawn.faulty, counted, strict=False) if c
        ]
        neither = [state == "neither" for _, state in marks]
        assert neither == drawn.unseen[:60].tolist()
        assert sum(counted) >= 50


def test_a_button_that_never_fails_takes_31_beats():
    drawn = draw(np.random.default_rng(1), SCENES[2], 0.0)
    check = LightCheck()
    assert not check.progress(drawn.take(30), LIMITS).complete
    assert check.assess(drawn.take(31), LIMITS).outcome is Outcome.PASS
