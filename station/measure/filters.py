"""Running filters of SciPy, loaded when first used: a cold start of the window needs none of them."""

from __future__ import annotations

from station.measure.arrays import F64


def median_filter(values: F64, width: int) -> F64:
    """Running median of `width` entries; the ends repeat the nearest value (scipy.ndimage.median_filter)."""
    from scipy.ndimage import median_filter as filtered

    result: F64 = filtered(values, width, mode="nearest")
    return result


def running_mean(values: F64, width: int) -> F64:
    """Running mean of `width` entries; the ends repeat the nearest value (scipy.ndimage.uniform_filter1d)."""
    from scipy.ndimage import uniform_filter1d

    result: F64 = uniform_filter1d(values, width, mode="nearest")
    return result
