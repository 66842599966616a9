"""Lines of many points: what is written into Qt's memory is what single points would say."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import QPointF

from station.ui.painting.lines import polyline


@pytest.mark.parametrize("count", [0, 1, 2, 2400])
def test_a_line_holds_every_point_in_order(count: int) -> None:
    x, y = np.linspace(0.0, 1100.0, count), np.sin(np.arange(count, dtype=np.float64))
    assert list(polyline(x, y)) == [QPointF(a, b) for a, b in zip(x.tolist(), y.tolist(), strict=True)]


def test_a_line_outlives_the_arrays_that_it_was_made_of() -> None:
    x, y = np.arange(500.0), np.arange(500.0)
    line = polyline(x, y)
    x[:], y[:] = -1.0, -1.0
    assert line.at(499) == QPointF(499.0, 499.0)
