"""Transition durations and settling, against the closed forms of first- and second-order steps.

Definitions: IEEE Std 181-2011 as implemented in published tools [read: MathWorks `risetime`, `settlingtime` pages];
the standard itself not seen. Values [analytic] or by `scipy.signal` as the oracle.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal

from station.measure.settle import GUIDED_SHAPE
from station.measure.steps import settled, settling_ms, transition_ms

TAU_MS = 40.0
STEP_NS = 1_000
T_NS = np.arange(0, 600_000_000, STEP_NS, dtype=np.int64)
FIRST_ORDER = 1.0 - np.exp(-T_NS / (TAU_MS * 1e6))
GRID_MS = 2 * STEP_NS / 1e6


@pytest.mark.parametrize(
    ("shares", "taus"),
    [
        ((0.1, 0.9), math.log(9)),
        ((0.2, 0.8), math.log(4)),
        ((0.8, 0.98), math.log(10)),
    ],
    ids=["10-90 %: τ ln 9 = 2.197225 τ", "20-80 %: τ ln 4 = 1.386294 τ", "80-98 %: τ ln 10 = 2.302585 τ"],
)
def test_transition_of_a_first_order_step(shares: tuple[float, float], taus: float) -> None:
    duration = transition_ms(T_NS, FIRST_ORDER, 0.0, 1.0, shares)
    assert duration == pytest.approx(taus * TAU_MS, abs=GRID_MS)


@pytest.mark.parametrize(
    ("band", "taus"),
    [(0.02, 3.912023), (0.05, 2.995732)],
    ids=["2 %: 3.912023 τ", "5 %: 2.995732 τ"],
)
def test_first_order_step_settles_from_its_start(band: float, taus: float) -> None:
    index = settled(np.abs(1.0 - FIRST_ORDER), band)
    assert T_NS[index] / 1e6 == pytest.approx(taus * TAU_MS, abs=GRID_MS)


def test_first_order_step_settles_from_its_mid_level() -> None:
    """τ ln 25 = 3.218876 τ within 2 % [analytic]."""
    assert settling_ms(T_NS, FIRST_ORDER, 0.0, 1.0, 0.02) == pytest.approx(3.218876 * TAU_MS, abs=GRID_MS)


@pytest.mark.parametrize(
    ("zeta", "rise", "settle"),
    [(0.5, 1.63758, 8.07634), (0.7, 2.1262, 5.97879), (1.0, 3.35791, 5.83392)],
    ids=["ζ 0.5", "ζ 0.7", "ζ 1.0"],
)
def test_second_order_step(zeta: float, rise: float, settle: float) -> None:
    """10-90 % and settling to 2 % in units of 1/ωn [computed with scipy.signal.lti.step]; the oracle runs here too."""
    t, y = signal.step(signal.lti([1.0], [1.0, 2.0 * zeta, 1.0]), T=np.linspace(0, 20, 200_001))
    t_ns = np.round(t * 1e6).astype(np.int64)
    assert transition_ms(t_ns, y, 0.0, 1.0, (0.1, 0.9)) == pytest.approx(rise, abs=2e-3)
    assert t[settled(np.abs(y - 1.0), 0.02)] == pytest.approx(settle, abs=2e-3)


def test_linear_ramp_and_half_cosine() -> None:
    """10-90 % of a ramp of duration T: 0.8 T; of a half cosine: 0.590334 T [analytic]."""
    share = np.linspace(0.0, 1.0, 100_001)
    t_ns = (share * 1e9).astype(np.int64)
    assert transition_ms(t_ns, share, 0.0, 1.0, (0.1, 0.9)) == pytest.approx(800.0, abs=0.05)
    cosine = (1.0 - np.cos(np.pi * share)) / 2.0
    assert transition_ms(t_ns, cosine, 0.0, 1.0, (0.1, 0.9)) == pytest.approx(590.334, abs=0.05)


def test_a_released_spring_and_a_leading_hand_differ_in_shape() -> None:
    """Time from 80 % to 50 % over time from 50 % to 20 % [computed]: exponential ln 1.6/ln 2.5 = 0.513, critically
    damped 0.65; an even movement and one of least jerk (Flash & Hogan, J. Neurosci. 5, 1985,
    1688) have 1 by symmetry."""

    def shape(way: np.ndarray) -> float:
        at = [int(np.argmax(way <= level)) for level in (0.8, 0.5, 0.2)]
        return (at[1] - at[0]) / (at[2] - at[1])

    t = np.linspace(0.0, 12.0, 240_001)
    s = t / 12.0
    assert shape(np.exp(-t)) == pytest.approx(math.log(1.6) / math.log(2.5), abs=1e-3)
    assert shape((1 + t) * np.exp(-t)) == pytest.approx(0.649, abs=1e-3)
    assert shape(1.0 - s) == pytest.approx(1.0, abs=1e-3)
    assert shape(1.0 - s**3 * (10 - 15 * s + 6 * s * s)) == pytest.approx(1.0, abs=1e-3)
    assert 0.649 < GUIDED_SHAPE < 1.0
