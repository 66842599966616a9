"""Standard deviation of the greatest of n normal values: 0.8256 of 2, 0.7480 of 3, 0.7012 of 4, 0.6690 of 5, 0.5868 of
10 (Tippett, Biometrika 17, 1925, 364 [from memory]; integrated here besides [computed])."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad
from scipy.stats import norm

from station.measure.dead_zone import GREATEST_OF_TEN
from station.measure.placement import GREATEST_OF
from station.measure.repeatability import CIRCULAR

FROM_MEMORY = {2: 0.8256, 3: 0.7480, 4: 0.7012, 5: 0.6690}


def integrated(n: int) -> float:
    """√(E[z²] − E[z]²) with the density n φ(z) Φ(z)^(n−1)."""
    first, second = (
        quad(lambda z: z**k * n * norm.pdf(z) * norm.cdf(z) ** (n - 1), -9.0, 9.0)[0]  # noqa: B023
        for k in (1, 2)
    )
    return math.sqrt(second - first * first)


@pytest.mark.parametrize(("n", "published"), FROM_MEMORY.items())
def test_the_table_agrees_with_the_published_one(n: int, published: float) -> None:
    assert GREATEST_OF[n - 1] == pytest.approx(published, abs=6e-4)


@pytest.mark.parametrize("n", range(1, 9))
def test_the_table_agrees_with_the_integral(n: int) -> None:
    assert GREATEST_OF[n - 1] == pytest.approx(integrated(n), abs=6e-4)


def test_the_greatest_of_ten() -> None:
    assert pytest.approx(0.5868, abs=5e-4) == GREATEST_OF_TEN


def test_the_scatter_of_a_distance_is_that_of_rayleigh() -> None:
    """√(2 − π/2) = 0.655136 [analytic]."""
    assert pytest.approx(0.655136, abs=2e-4) == CIRCULAR
