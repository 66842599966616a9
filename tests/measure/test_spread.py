"""Rms of noise and its uncertainty, by a simulation that shares nothing with the measure: an autoregressive recursion
and levels that jump, coded here."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from station.measure.spread import _u_of_mean, spread

NS = 1_000_000_000
Noise = Callable[[np.random.Generator, int, float], np.ndarray]


def white(sigma: float) -> Noise:
    return lambda rng, n, rate: sigma * rng.standard_normal(n)


def wandering(sigma: float, tau_s: float) -> Noise:
    def noise(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
        keep = math.exp(-1.0 / (rate * tau_s))
        drive = sigma * math.sqrt(1.0 - keep * keep) * rng.standard_normal(n)
        out, now = np.empty(n), sigma * float(rng.standard_normal())
        for k in range(n):
            now = keep * now + float(drive[k])
            out[k] = now
        return out

    return noise


def levels(span: float, mean_s: float = 0.008) -> Noise:
    def noise(rng: np.random.Generator, n: int, rate: float) -> np.ndarray:
        begins = np.cumsum(rng.exponential(mean_s, int(4.0 * n / rate / mean_s) + 50))
        held = rng.uniform(-span / 2.0, span / 2.0, len(begins) + 1)
        return np.asarray(held[np.searchsorted(begins, np.arange(n) / rate, side="right")])

    return noise


def measured(noise: Noise, rate: int, step: float, seed: int) -> tuple[float, float]:
    rng = np.random.default_rng(seed)
    n = 3 * rate
    t_ns = (np.arange(n) * (NS / rate)).astype(np.int64)
    codes = np.rint((noise(rng, n, rate) + rng.uniform(-0.5, 0.5) * step) / step)
    found = spread(t_ns, codes * step, 0, 3 * NS, step)
    return found.rms, 2.0 * found.u


def both(one: Noise, other: Noise) -> Noise:
    return lambda rng, n, rate: one(rng, n, rate) + other(rng, n, rate)


CASES = {
    "white, fine codes": (white(0.25), 0.25, 0.049),
    "white, coarse codes": (white(0.25), 0.25, 0.784),
    "next to none, coarse codes": (white(0.06), 0.06, 0.784),
    "slow wander": (wandering(0.2, 0.05), 0.2, 0.049),
    "worn track": (levels(5.0), 5.0 / math.sqrt(12.0), 0.196),
}


@pytest.mark.parametrize("rate", [125, 1000])
@pytest.mark.parametrize(("noise", "true", "step"), CASES.values(), ids=CASES)
def test_the_stated_uncertainty_holds_the_truth(noise: Noise, true: float, step: float, rate: int) -> None:
    """100 tries each: at least 86 hold it, the 0.1 % point of a binomial of 95 % (computed)."""
    found = [measured(noise, rate, step, seed) for seed in range(100)]
    assert sum(abs(rms - true) <= u for rms, u in found) >= 86


def test_a_small_slow_part_under_much_fast_noise_counts() -> None:
    """A seventh of the variance is slow: at 1 kHz it makes most of what the rms is uncertain by. Of 400 tries at least
    365 hold it, the 0.1 % point of a binomial of 95 % (computed); by the autocorrelations alone 351 do."""
    noise = both(white(0.08), wandering(0.035, 0.05))
    found = [measured(noise, 1000, 0.012, seed) for seed in range(400)]
    assert sum(abs(rms - math.hypot(0.08, 0.035)) <= u for rms, u in found) >= 365


def test_batch_means_have_sixteen_degrees_of_freedom() -> None:
    """A variance estimated with ν degrees of freedom has a relative variance of 2/ν (JCGM 100, G.4.1 and E.4.3)."""
    rng = np.random.default_rng(3)
    variance = np.array([_u_of_mean(rng.standard_normal(1200)) ** 2 for _ in range(3000)])
    assert 2.0 * variance.mean() ** 2 / variance.var() == pytest.approx(16.0, rel=0.1)
    widened = (1.0 + 1.25 / 16.5) ** 2
    assert variance.mean() / widened == pytest.approx(1.0 / 1200.0, rel=0.05)


@pytest.mark.parametrize("rate", [125, 1000])
def test_noise_that_is_not_normal_under_coarse_codes_is_held_in_four_tries_of_five(rate: int) -> None:
    """Spread evenly over less than two codes, it can look like a flicker between two: METHOD says that it cannot be
    seen."""
    found = [measured(levels(1.5), rate, 0.784, seed) for seed in range(100)]
    assert sum(abs(rms - 1.5 / math.sqrt(12.0)) <= u for rms, u in found) >= 70


@pytest.mark.parametrize("step", [0.049, 0.196, 0.784])
def test_the_rms_does_not_grow_with_the_number_of_reports(step: float) -> None:
    slow, fast = ([measured(white(0.25), rate, step, seed)[0] for seed in range(60)] for rate in (125, 1000))
    assert np.mean(fast) == pytest.approx(np.mean(slow), abs=0.015)


@pytest.mark.parametrize("rate", [125, 1000])
@pytest.mark.parametrize("step", [0.049, 0.196, 0.784])
def test_sound_noise_keeps_its_limit_by_its_uncertainty(rate: int, step: float) -> None:
    """Limit 0.45 %: the whole of ±U of σ = 0.25 % lies below it, whatever the link and the converter."""
    for seed in range(60):
        rms, u = measured(white(0.25), rate, step, seed)
        assert rms + u < 0.45


def test_a_value_that_never_changes_has_noise_below_what_its_codes_show() -> None:
    found = spread(np.array([0]), np.array([3.0]), 0, 3 * NS, 0.8)
    assert 0.0 < found.rms < 0.1
    assert found.rms + 2.0 * found.u < 0.25
