"""The shortest of several closures that polls saw: how far the pick and the bounce of the contact draw it down."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from station.measure.arrays import F64, NS_PER_MS
from station.measure.steps import FASTEST_NS

DRAWS = 500
BOUNCE_MS = (0.3, 1.5)
"""mean bounce of a contact after closing (survey of 18 switches by Ganssle, read in a second-hand quotation); each time
exponential, common practice, no source. It is open for half of it"""
MOST_BOUNCE_MS = 5.0
"""of a new tactile switch, by datasheets"""
FASTEST_MS = FASTEST_NS / NS_PER_MS


def shortest_uncertainty(lengths_ms: F64, period_ms: float) -> float:
    """Expanded uncertainty (95 %), in ms, of the shortest of lengths (float[n], n ≥ 1) seen at polls that far apart.

    Either end of a closure is seen late by 0…T, the beginning later still where the polls meet the contact open while
    it bounces. The shortest of n is likely one that lost by it. So the lengths, drawn towards their mean by as much of
    their spread as is error (empirical Bayes: Efron & Morris, J. Am. Stat. Assoc. 70, 1975, 311), are seen again with
    drawn errors (parametric bootstrap: Efron, Ann. Stat. 7, 1979, 1); U holds 95 % of how far the shortest then lies
    off.
    """
    errors = _errors(len(lengths_ms), max(round(period_ms, 3), FASTEST_MS))
    spread = float(lengths_ms.var(ddof=1)) if len(lengths_ms) > 1 else 0.0
    keep = np.sqrt(max(spread - float(errors.var()), 0.0) / spread) if spread > 0.0 else 0.0
    likely = lengths_ms.mean() + keep * (lengths_ms - lengths_ms.mean())
    off = (likely + errors).min(axis=1) - likely.min()
    return float(np.quantile(np.abs(off), 0.95))


@lru_cache(maxsize=256)
def _errors(count: int, period_ms: float) -> F64:
    """float[DRAWS, count]: length seen less true length, ms."""
    rng = np.random.default_rng(count)
    shape = (DRAWS, count)
    bounce = np.minimum(rng.exponential(rng.uniform(*BOUNCE_MS, (DRAWS, 1)), shape), MOST_BOUNCE_MS)
    late = rng.uniform(0.0, period_ms, shape)
    for _ in range(int(MOST_BOUNCE_MS / period_ms) + 1):
        late = np.where((late < bounce) & (rng.random(shape) < 0.5), late + period_ms, late)
    return np.asarray(rng.uniform(0.0, period_ms, shape) - late)
