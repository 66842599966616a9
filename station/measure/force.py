"""The force with which a known mass presses: F = m·g, in newtons."""

from __future__ import annotations

import math

STANDARD_GRAVITY = 9.80665
"""m/s², exact by definition (3rd CGPM, 1901; SI Brochure)"""
LOCAL_GRAVITY_SPREAD = 0.0264
"""m/s²: on the ground g lies between 9.7803 (equator) and 9.8322 (poles); normal gravity of GRS 80"""
SCALE_STEP_G = 1.0
"""g: the step of a plain scale (common practice, no source)"""


def weight_n(mass_g: float) -> float:
    """F = m·g of a mass in grams, in newtons, with the standard gravity."""
    return mass_g / 1000.0 * STANDARD_GRAVITY


def weight_uncertainty_n(mass_g: float, step_g: float = SCALE_STEP_G) -> float:
    """Standard uncertainty of that force, N, for a mass weighed in steps of `step_g`.

    Resolution of the scale, δ/√12 (JCGM 100, F.2.2.1), and the place on earth, rectangular over the spread of g
    (JCGM 100, 4.3.7). What the hand adds when it sets the mass down is not in it.
    """
    scale = step_g / math.sqrt(12.0) / 1000.0 * STANDARD_GRAVITY
    place = mass_g / 1000.0 * LOCAL_GRAVITY_SPREAD / math.sqrt(3.0)
    return math.hypot(scale, place)
