"""Repeatability as ISO 9283:1998 §7.2 defines it: RP = l̄ + 3 S_l of the distances to the barycentre, S_l with n − 1
[formula read: public evaluation scripts that name the standard; the standard itself not seen]."""

from __future__ import annotations

import math

import numpy as np
import pytest

from station.measure.repeatability import pose_repeatability


@pytest.mark.recomputed
def test_hand_worked_cross() -> None:
    """(±1, 0), (0, ±3): l̄ = 2, S = 1.154701, RP = 5.464102 [worked by hand; computed]."""
    points = np.array([(1, 0), (-1, 0), (0, 3), (0, -3)], dtype=np.float64)
    assert pose_repeatability(points) == pytest.approx(5.464102, abs=1e-6)


@pytest.mark.recomputed
def test_hand_worked_rectangle() -> None:
    """(±3, ±4): every distance is 5, so S = 0 and RP = 5 exactly [worked by hand]."""
    points = np.array([(3, 4), (3, -4), (-3, 4), (-3, -4)], dtype=np.float64)
    assert pose_repeatability(points) == 5.0


def test_it_does_not_depend_on_where_the_barycentre_lies() -> None:
    points = np.random.default_rng(3).normal(0, 1, (30, 2))
    assert pose_repeatability(points + np.array((40.0, -7.0))) == pytest.approx(pose_repeatability(points), rel=1e-12)


def test_thirty_cycles_of_a_normal_scatter_give_the_rayleigh_value() -> None:
    """Distances of a circular normal scatter are Rayleigh: mean σ√(π/2), s.d. σ√(2 − π/2) [analytic], so RP tends to
    (1.253314 + 3 · 0.655136) σ = 3.218723 σ for many cycles."""
    points = np.random.default_rng(5).normal(0, 2.0, (200_000, 2))
    expected = 2.0 * (math.sqrt(math.pi / 2) + 3 * math.sqrt(2 - math.pi / 2))
    assert expected == pytest.approx(2.0 * 3.218723, abs=1e-5)
    assert pose_repeatability(points) == pytest.approx(expected, rel=0.01)
