"""The force of a known mass: F = m·g with the standard gravity, and its uncertainty.

Sources: 3rd CGPM (1901), g = 9.80665 m/s² exactly; scipy's constants (CODATA) as an independent copy; Geodetic
Reference System 1980 for the spread of g; JCGM 100:2008, 4.3.7 and F.2.2.1 for the uncertainty.
"""

from __future__ import annotations

import math

import pytest
from scipy import constants

from station.measure.force import LOCAL_GRAVITY_SPREAD, STANDARD_GRAVITY, weight_n, weight_uncertainty_n

GF = [(50, 0.4903), (80, 0.7845), (100, 0.9807), (130, 1.2749), (160, 1.5691), (200, 1.9613), (260, 2.5497)]


def test_the_standard_gravity_is_the_one_of_the_cgpm() -> None:
    assert STANDARD_GRAVITY == 9.80665 == constants.g


@pytest.mark.parametrize(("mass_g", "force_n"), GF)
def test_grams_of_force_in_newtons(mass_g: float, force_n: float) -> None:
    """A gram-force is 9.80665 mN by the CGPM's definition of g [computed]; the same from scipy's constants."""
    assert round(weight_n(mass_g), 4) == force_n
    assert weight_n(mass_g) == pytest.approx(mass_g * constants.gram * constants.kgf, rel=1e-12)


@pytest.mark.recomputed
@pytest.mark.parametrize(
    ("nominal_g", "spread_g"), [(100, 30), (130, 50), (160, 50), (260, 70)], ids=lambda g: f"{g} gf"
)
def test_datasheet_forces_as_a_range_in_newtons(nominal_g: float, spread_g: float) -> None:
    """Operating forces of tactile switches, 6 mm datasheets [read]: 100 ± 30 … 260 ± 70 gf."""
    low, high = weight_n(nominal_g - spread_g), weight_n(nominal_g + spread_g)
    assert (low + high) / 2 == pytest.approx(nominal_g * 9.80665e-3)
    assert 0.25 < low < high < 3.3, "a press that a finger makes (NUREG-0700: 0.25 N up)"


def test_the_spread_of_g_is_that_of_normal_gravity() -> None:
    """Somigliana's formula with the constants of GRS 80 [read: Deutsches Geodätisches Forschungsinstitut, "Geodetic
    Reference System 1980"]: 9.7803267715 at the equator, 9.8321863685 at a pole."""
    equator, k, e2 = 9.7803267715, 0.001931851353, 0.00669438002290

    def gravity(latitude: float) -> float:
        sin2 = math.sin(math.radians(latitude)) ** 2
        return equator * (1 + k * sin2) / math.sqrt(1 - e2 * sin2)

    assert gravity(90) == pytest.approx(9.8321863685, abs=1e-6)
    farthest = max(abs(gravity(latitude) - STANDARD_GRAVITY) for latitude in range(91))
    assert farthest == pytest.approx(LOCAL_GRAVITY_SPREAD, abs=1e-4)


@pytest.mark.recomputed
def test_its_uncertainty_is_that_of_scale_and_place() -> None:
    """A 1 g step: δ/√12 (F.2.2.1); g rectangular over ±0.0264 m/s²: a/√3 (4.3.7); 160 g by hand: 2.83 and 2.44 mN."""
    scale, place = 9.80665e-3 / math.sqrt(12), 0.160 * 0.0264 / math.sqrt(3)
    assert (round(scale * 1e3, 2), round(place * 1e3, 2)) == (2.83, 2.44)
    assert weight_uncertainty_n(160) == pytest.approx(math.hypot(scale, place))
    assert weight_uncertainty_n(160, 0.1) < weight_uncertainty_n(160)
