"""The window looks as it was approved, at two looks, within a tolerance. Approve anew: draw_scenes.py --approve."""

from __future__ import annotations

import numpy as np
import pytest
from draw_scenes import APPROVED, COMPARED, approved_picture
from PySide6.QtGui import QImage

MOST_CHANGED = 0.02
"""share of pixels that may differ by more than an eighth of the range: dates in the log, the machine's text raster"""


def levels(image: QImage) -> np.ndarray:
    """Grey levels, float64[height, width]."""
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    rows = np.frombuffer(grey.constBits(), np.uint8).reshape(grey.height(), grey.bytesPerLine())
    return rows[:, : grey.width()].astype(float)


@pytest.mark.parametrize("theme", ["dark", "light"])
@pytest.mark.parametrize("name", COMPARED)
def test_the_window_looks_as_it_was_approved(qapp: object, name: str, theme: str) -> None:
    approved = QImage(str(APPROVED / f"{name}-{theme}.png"))
    assert not approved.isNull()
    changed = np.abs(levels(approved_picture(name, theme)) - levels(approved)) > 32
    assert changed.mean() <= MOST_CHANGED


def test_another_scene_is_told_apart(qapp: object) -> None:
    """The tolerance is not so wide that anything passes."""
    other = np.abs(levels(approved_picture("sweep", "dark")) - levels(QImage(str(APPROVED / "ask-dark.png")))) > 32
    assert other.mean() > MOST_CHANGED
