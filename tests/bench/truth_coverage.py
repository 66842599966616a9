"""How often ±U holds the true value, reading by reading, and how well so many cases tell that."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.stats import beta
from truth_score import AT_ZERO, BOUND

Row = dict[str, Any]
COVERED_PCT, WITHIN_PCT = 95.0, 2.0
BOUNDS_PCT = {"gap": 99.0, "largest_spike": 100.0}
"""what docs/METHOD.md says of readings that only tell that the value is no greater"""
CONFIDENCE = 0.95
HELD, MISSED, OPEN = "held", "MISSED", "too few"


@dataclass(frozen=True, slots=True)
class Coverage:
    """`covered_pct` of `n` cases, and the 95 % interval of that share. `verdict`: whether the whole interval lies
    inside what is asked for, outside of it, or neither, so that there were too few cases to tell. `error_in_u`: mean
    error over U."""

    n: int
    covered_pct: float
    low_pct: float
    high_pct: float
    verdict: str
    error_in_u: float


def coverage(rows: Iterable[Row]) -> dict[str, Coverage]:
    """reading → how often it held, of rows with `reading`, `covered`, `error_in_u` and `unit`."""
    groups: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        groups[row["reading"]].append(row)
    return {name: _coverage(name, groups[name]) for name in sorted(groups)}


def _coverage(name: str, rows: Sequence[Row]) -> Coverage:
    hits = np.array([bool(r["covered"]) for r in rows])
    units = np.unique([r["unit"] for r in rows], return_inverse=True)[1]
    low, high = (100.0 * end for end in share_interval(hits, units))
    error = float(np.mean([r["error_in_u"] for r in rows]))
    return Coverage(len(rows), 100.0 * float(hits.mean()), low, high, _verdict(name, low, high), error)


def _verdict(name: str, low: float, high: float) -> str:
    least, most = asked_pct(name)
    if least <= low and high <= most:
        return HELD
    return MISSED if high < least or low > most else OPEN


def asked_pct(name: str) -> tuple[float, float]:
    """95 ± 2 %; of a bound, and of a value at the end of what there is, that U holds at least as often as that, or as
    the method says of it."""
    if name.endswith((BOUND, AT_ZERO)):
        return next((bar for what, bar in BOUNDS_PCT.items() if f".{what}" in name), COVERED_PCT - WITHIN_PCT), 100.0
    return COVERED_PCT - WITHIN_PCT, COVERED_PCT + WITHIN_PCT


def share_interval(hits: np.ndarray, clusters: np.ndarray) -> tuple[float, float]:
    """95 % interval of a share, 0…1, of hits (bool[n]) of which those of one cluster (int[n]) may be alike.

    Exact binomial limits (Clopper & Pearson, Biometrika 26, 1934, 404) of as many independent cases as the scatter
    between the clusters leaves (Korn & Graubard, Survey Methodology 24, 1998, 193), never of more than there are.
    """
    n, share = len(hits), float(hits.mean())
    sums = np.bincount(clusters, hits - share)
    groups = len(sums)
    worth = float(n)
    if groups > 1 and 0.0 < share < 1.0:
        variance = groups / (groups - 1.0) * float(sums @ sums) / n**2
        worth = min(share * (1.0 - share) / variance, worth)
    k, tail = share * worth, (1.0 - CONFIDENCE) / 2.0
    low = 0.0 if share == 0.0 else float(beta.ppf(tail, k, worth - k + 1.0))
    high = 1.0 if share == 1.0 else float(beta.ppf(1.0 - tail, k + 1.0, worth - k))
    return low, high


def table(found: dict[str, Coverage]) -> None:
    """For people."""
    print(f"\n{'reading':<38}{'n':>6}{'within ±U':>11}{'95 % interval':>18}{'asked':>12}{'error / U':>11}")
    for name, one in found.items():
        least, most = asked_pct(name)
        between = f"{one.low_pct:.1f}…{one.high_pct:.1f} %"
        asked = f"{least:g}…{most:g}" if most < 100.0 else f"≥ {least:g}"
        mean = "" if math.isnan(one.error_in_u) else f"{one.error_in_u:.2f}"
        print(f"{name:<38}{one.n:>6}{one.covered_pct:>10.1f}%{between:>18}{asked:>12}{mean:>11}  {one.verdict}")


def missed(found: dict[str, Coverage]) -> list[str]:
    """Those that lie outside of what is asked for by more than chance."""
    return [name for name, one in found.items() if one.verdict == MISSED]


def as_json(found: dict[str, Coverage]) -> dict[str, dict[str, Any]]:
    """For the JSON line."""
    return {
        name: {
            "n": one.n,
            "pct": round(one.covered_pct, 1),
            "low_pct": round(one.low_pct, 1),
            "high_pct": round(one.high_pct, 1),
            "verdict": one.verdict,
        }
        for name, one in found.items()
    }
