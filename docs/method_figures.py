"""The figures of docs/METHOD.md that follow by computation alone, each in the words in which they stand there.

    python docs/method_figures.py

What was simulated has its command beside it on the page; what the light press can tell is in light_press_plan.py.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from scipy import optimize, stats

from station.checks.light import LONG_PRESSES, plan_of
from station.checks.limits import load_limits
from station.measure.binomial import clopper_pearson
from station.measure.drain import Level, change
from station.measure.sequential import characteristic
from station.measure.uncertainty import slowest_of


def second_range(n: int) -> float:
    """Expected distance from the second least to the second greatest of n normal values, in σ, by quadrature: the code
    at either end of a span counts only if it was visited twice."""
    z = np.linspace(-9.0, 9.0, 200_001)
    below = stats.norm.cdf(z)
    at_most = below**n + n * below ** (n - 1) * (1.0 - below)
    return 2.0 * float(np.trapezoid((z > 0) - at_most, z))


def way_back(share: float) -> float:
    """When a critically damped return, (1 + t)·exp(−t), has come down to a share of the way."""
    return float(optimize.brentq(lambda t: (1.0 + t) * math.exp(-t) - share, 0.0, 20.0))


def faults_that_fail(faults: int, most: int = 200) -> int:
    """The most presses of which so many faulty ones are still a fail."""
    plan = plan_of(load_limits())
    return max(n for n in range(faults, most) if faults >= plan.reject_at(n))


def alone() -> tuple[int, float]:
    """Presses without a fault that pass where a button is pressed alone, and how often one with the bad share does."""
    plan = plan_of(load_limits())
    half = type(plan)(plan.p0, plan.p1, plan.alpha / 2, plan.beta / 2, round(1.1 * plan.stop_at))
    return half.presses_to_accept(0), characteristic(half, plan.p1).accept


def _of_mass(kg: float) -> float:
    """Expanded uncertainty of the force of a mass: the scale's gram and the place on earth."""
    return 2.0 * math.hypot(kg * 0.0264 / math.sqrt(3.0), 0.001 / math.sqrt(12.0) * 9.80665)


def _error(share: float, tries: int = 300) -> float:
    return math.sqrt(share * (1.0 - share) / tries)


def figures() -> tuple[str, ...]:
    """The phrases."""
    plan = plan_of(load_limits())
    slips = characteristic(plan, 0.01).reject
    fewest, second = alone()
    first = characteristic(plan, plan.p1).accept
    both = first + (1 - first) * second
    exponential = math.log(0.8 / 0.5) / math.log(0.5 / 0.2)
    damped = (way_back(0.5) - way_back(0.8)) / (way_back(0.2) - way_back(0.5))
    told = change([Level(0.0, 75.0, True), Level(900.0, 75.0, True)], 25.0, draining=True)
    u_an_hour = told.an_hour()[1] if told is not None else math.nan
    none_of_100 = clopper_pearson(0, LONG_PRESSES, 0.95, "upper")[1]
    return (
        f"{slowest_of(2):.1f} u for two, {slowest_of(8):.1f} u for eight",
        f"nearer to the centre than {math.sqrt(-2.0 * math.log(0.05)):.2f} u",
        f"{second_range(400):.1f} σ for 400, {second_range(3000):.1f} σ for 3,000",
        f"{exponential:.2f} for an exponential return, {damped:.2f} critically damped",
        f"{math.sqrt(2.0 - math.pi / 2.0):.3f} σ about one middle",
        f"by {100.0 * (1.0 / math.cos(math.radians(7.0)) - 1.0):.1f} % at 7°",
        f"{2 * 1 / math.sqrt(6.0):.1f} ms at 1 kHz, {2 * 8 / math.sqrt(6.0):.1f} ms at 125 Hz",
        f"{math.ceil(math.log(0.05) / math.log(0.875))} dropouts of 1 ms are needed",
        f"a probability of at most Φ(−2) = {100.0 * stats.norm.cdf(-2.0):.1f} %",
        f"two in the first {faults_that_fail(2)}, three in {faults_that_fail(3)};",
        f"a hand that slips on 1 % of beats gets there in {100 * slips:.1f} %",
        f"{fewest} presses without a fault instead of {plan.presses_to_accept(0)}",
        f"{100 * first:.1f} % + {100 * (1 - first):.1f} % · {100 * second:.1f} % = {100 * both:.1f} %",
        f"±0.0264 m/s² (normal gravity of the Geodetic Reference System 1980): {_of_mass(0.160):.4f} N at 160 g",
        f"fewer than {math.ceil(1000 * clopper_pearson(0, 800, 0.95, 'upper')[1])} such pads in 1,000",
        f"one standard error, {100 * _error(0.025):.1f} % at 2.5 % and {100 * _error(0.07):.1f} % at 7 %",
        f"none missed of 100 is at most {100 * none_of_100:.1f} %",
        f"over a quarter of an hour ±U is then {u_an_hour:.0f} % an hour",
    )


if __name__ == "__main__":
    print("\n".join(figures()))
