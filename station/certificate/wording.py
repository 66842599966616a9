"""Readings, limits and counts in words, as a certificate prints them."""

from __future__ import annotations

import numpy as np

from station.checks.types import Reading


def describe_reading(reading: Reading) -> str:
    """Value, uncertainty and unit: "10.2 ± 0.3 %"."""
    if reading.value is None:
        return reading.reason or "no value"
    value = _number(reading.value, reading.uncertainty)
    spread = f" ± {_number(reading.uncertainty, reading.uncertainty)}" if reading.uncertainty > 0 else ""
    unit = f" {reading.unit}" if reading.unit and reading.unit != "count" else ""
    return f"{value}{spread}{unit}"


def describe_limit(reading: Reading) -> str:
    """The limit with its rule: "≤ 5, fails beyond 10"; empty where there is none."""
    if reading.limit is None:
        return ""
    sign = "≤" if reading.rule == "<=" else "≥"
    text = f"{sign} {reading.limit:g}"
    between = reading.fail_beyond is not None and abs(reading.fail_beyond - reading.limit) >= (
        reading.unit in ("", "count")
    )
    if reading.fail_beyond is not None and between and reading.fail_beyond != reading.limit:
        text += f" · fails {'>' if reading.rule == '<=' else '<'} {reading.fail_beyond:g}"
    return text


_NAMES = {
    "miss_rate_upper": "miss rate at most",
    "short": "too short",
    "shortest": "shortest press",
    "others": "others moved",
}


def reading_name(name: str) -> str:
    """A reading's name in words: "reach_up" → "reach up", "noise_pp_x" → "noise p-p, horizontal"."""
    words = _NAMES.get(name, name)
    for suffix, axis in (("_x", ", horizontal"), ("_y", ", vertical")):
        if words.endswith(suffix):
            words = words[: -len(suffix)] + axis
    return words.replace("_pp", " p-p").replace("_", " ")


def count(n: int, noun: str) -> str:
    """The number with its noun: 1 check, 3 checks."""
    return f"{n} {noun}" + ("" if n == 1 else "s")


def _number(value: float, uncertainty: float) -> str:
    """Digits that the uncertainty carries: one more than its first significant digit, at most 2 decimals."""
    if uncertainty <= 0:
        return f"{value:g}" if abs(value - round(value)) < 1e-9 else f"{value:.2f}"
    decimals = int(np.clip(1 - np.floor(np.log10(uncertainty)), 0, 2))
    return f"{value:.{decimals}f}".replace("-", "−")
