"""Codes that never come, against the statistics of a histogram test (coupon collector) and against drawn ramps."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure import gaps as measure
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
def test_chance_of_jumping_over_an_interval(step: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three even ramps with steps s and random starts, all of which jumped over one place: what the measure calls the
    chance of that against the share of 20,000 drawn ramps of a sound track that jump over an interval of that width
    (analytic: 1 − w/s each). The measure's margin for an uneven hand is set to 1, since a drawn ramp has none."""
    monkeypatch.setattr(measure, "SPEED_MARGIN", 1.0)
    rng = np.random.default_rng(3)
    at, half = 50.0, 0.2 * step
    missed = [s for s in rng.uniform(0, step, 400) if not _lands(np.array([s]), step, at, half)[0]][:3]
    t = np.arange(round(100 / step), dtype=np.int64) * 8_000_000
    ramps = [(t, start + step * np.arange(len(t))) for start in missed]
    (gap,) = [g for g in code_gaps(ramps, 8e6, 0.0, 100.0) if abs(g.at - at) < half]
    assert gap.width >= 2 * half
    drawn = ~_lands(rng.uniform(0, step, 20_000), step, gap.at, gap.width / 2)
    assert gap.chance == pytest.approx(drawn.mean() ** 3, abs=0.02)


def _lands(starts: np.ndarray, step: float, at: float, half: float) -> np.ndarray:
    """Which ramps with these starts have a value between at − half and at + half."""
    return np.floor((at - half - starts) / step) != np.floor((at + half - starts) / step)


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
