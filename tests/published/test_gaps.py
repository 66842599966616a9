"""Codes that never come, against the statistics of the histogram test (IEEE 1057 / 1241, from memory)."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure.gaps import LOST_SHARE, code_gaps


@pytest.mark.parametrize(
    ("codes", "samples"),
    [(64, 453), (256, 2176)],
    ids=["64 codes: 453 samples", "256 codes: 2176 samples"],
)
def test_samples_needed_to_see_every_code(codes: int, samples: int) -> None:
    """Uniform samples needed to hit all m codes with P ≥ 95 % (coupon collector) [computed, exact]. With that many,
    the widest gap is one code in 95 % of the tries: 1000 tries, ± 2.2 % (3 s.d.)."""
    rng = np.random.default_rng(7)
    complete = 0
    for _ in range(1000):
        values = np.sort(rng.integers(0, codes, samples)).astype(np.float64)
        gaps = code_gaps([(np.arange(samples, dtype=np.int64), values)], 1.0, 0.0, codes - 1.0, least=1.0)
        complete += gaps[0].width == 1.0 and values[0] == 0 and values[-1] == codes - 1
    assert complete / 1000 == pytest.approx(0.95, abs=0.022)


@pytest.mark.parametrize("step", [2.0, 5.0, 9.0])
def test_chance_of_jumping_over_an_interval(step: float) -> None:
    """Even steps s with a random start land in an interval of width w with probability min(1, w/s) [analytic]: the
    share of random ramps that miss it is what the measure calls the chance (the margin for uneven speed apart)."""
    rng = np.random.default_rng(3)
    width, at = 1.5, 50.0
    starts = rng.uniform(0, step, 20_000)
    landed = np.floor((at - width / 2 - starts) / step) != np.floor((at + width / 2 - starts) / step)
    assert 1.0 - landed.mean() == pytest.approx(max(0.0, 1.0 - width / step), abs=0.01)


def test_a_gap_is_called_only_when_slow_passes_agree() -> None:
    t = np.arange(0, 2_000_000_000, 8_000_000, dtype=np.int64)
    slow = np.linspace(-100.0, 100.0, len(t))
    holed = np.where(np.abs(slow) < 3.0, -3.0, slow)
    (gap, *_) = code_gaps([(t, holed)] * 6, 8e6, -95.0, 95.0)
    assert gap.width == pytest.approx(6.0, abs=0.9)
    assert gap.chance == pytest.approx(LOST_SHARE**6)
    assert gap.called
    (one, *_) = code_gaps([(t, holed)], 8e6, -95.0, 95.0)
    assert not one.called
