"""How fast a cell falls: steps found again, stretches on the cell, coverage against made-up cells."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure.drain import Level, change, step_of


@pytest.mark.parametrize(
    ("levels", "told", "step"),
    [
        ([75.0], 1.0, 25.0),
        ([100.0, 75.0], 1.0, 25.0),
        ([80.0, 60.0], 1.0, 20.0),
        ([90.0, 80.0], 1.0, 10.0),
        ([95.0, 85.0], 1.0, 10.0),
        ([85.0, 80.0], 1.0, 5.0),
        ([83.0, 82.0], 1.0, 1.0),
        ([100.0, 99.0], 1.0, 1.0),
        ([60.0], 20.0, 20.0),
        ([100.0 / 3], 100.0 / 3, 100.0 / 3),
        ([], 1.0, 1.0),
    ],
)
def test_the_step_in_which_a_level_is_told(levels: list[float], told: float, step: float) -> None:
    assert step_of(levels, told) == pytest.approx(step)


def test_only_time_on_the_cell_counts_as_a_fall_and_the_rest_as_a_gain() -> None:
    """Two stretches of a quarter of an hour, 10 and 6 % down, twenty minutes on the charger between, 8 % up."""
    told = [(0, 80, True), (900, 70, True), (930, 70, False), (2130, 78, False), (2160, 78, True), (3060, 72, True)]
    levels = [Level(*one) for one in told]
    fall, gain = change(levels, 2.0, draining=True), change(levels, 2.0, draining=False)
    assert fall is not None
    assert (fall.pct, fall.seconds) == (16.0, 1800.0)
    assert fall.an_hour()[0] == pytest.approx(32.0)
    assert fall.uncertainty_pct == pytest.approx(2.0 * 2.0 / np.sqrt(6.0) * np.sqrt(2.0))
    assert gain is not None
    assert gain.pct == 8.0


def test_without_time_on_the_cell_there_is_no_fall() -> None:
    assert change([Level(0, 80, False), Level(900, 70, False)], 1.0, draining=True) is None
    assert change([Level(0, 80, True)], 1.0, draining=True) is None
    assert change([], 1.0, draining=True) is None


@pytest.mark.parametrize("step", [1.0, 5.0, 10.0, 25.0])
def test_the_uncertainty_of_the_steps_holds(step: float) -> None:
    """500 cells that fall evenly and are told rounded to the step, whatever level they begin at: 95 % and more."""
    rng = np.random.default_rng(6)
    held = 0
    for _ in range(500):
        an_hour, begin, minutes = rng.uniform(2, 60), rng.uniform(60, 100), rng.uniform(10, 40)
        t_s = np.arange(0.0, 60 * minutes, 30.0)
        told = np.round((begin - an_hour * t_s / 3600) / step) * step
        found = change([Level(t, p, True) for t, p in zip(t_s, told, strict=True)], step, draining=True)
        assert found is not None
        value, u = found.an_hour()
        held += abs(value - an_hour) <= u
    assert held >= 470
