"""A notch in the rim is painted at the bearing where it is: on the dial of the window and on the certificate's page."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QImage, QPainter
from pytestqt.qtbot import QtBot

from station.certificate.figures import draw_dial
from station.certificate.paper import FAIL, MM, Paper
from station.certificate.types import Dial
from station.measure.sectors import Roll, roll
from station.ui.live.dial import BearingDial
from station.ui.live.dial_layer import DialLimits, RimView
from station.ui.painting.look import DARK

NOTCHES_DEG = (2.5, 47.5, 92.5, 187.5, 272.5, 357.5)
"""each the middle of a stretch of 5° that begins at a multiple of 5°, as docs/METHOD.md cuts the rim up"""
LIMIT_PCT, FAIL_PCT, FULL_PCT, SHORT_PCT = 92.0, 85.0, 98.0, 70.0


def rolled(notch_deg: float) -> Roll:
    """Two turns each way around a rim that is whole but for 5° around the notch."""
    bearing = np.concatenate([np.arange(0.0, 720.0, 0.5), np.arange(720.0, 0.0, -0.5)])
    off = np.abs((bearing - notch_deg + 180.0) % 360.0 - 180.0)
    reach = np.where(off < 2.5, SHORT_PCT, FULL_PCT)
    angle = np.deg2rad(bearing)
    t_ns = np.arange(len(bearing), dtype=np.int64) * 1_000_000
    return roll(t_ns, reach * np.sin(angle), reach * np.cos(angle), reach)


def bearing_of(image: QImage, name: QColor, centre: QPointF, beyond: float) -> float:
    """The bearing of the middle of all pixels of this colour farther than `beyond` from the centre."""
    part = image.convertToFormat(QImage.Format.Format_RGB32)
    data: NDArray[np.uint32] = np.frombuffer(part.constBits(), np.uint32).reshape(part.height(), -1) & 0xFFFFFF
    y, x = np.nonzero(data == name.rgb() & 0xFFFFFF)
    right, up = x + 0.5 - centre.x(), centre.y() - y - 0.5
    far = np.hypot(right, up) > beyond
    assert far.sum() > 5, "no tick of that colour"
    return math.degrees(math.atan2(float(right[far].sum()), float(up[far].sum()))) % 360.0


def apart_deg(one: float, other: float) -> float:
    return abs((one - other + 180.0) % 360.0 - 180.0)


@pytest.mark.parametrize("notch_deg", NOTCHES_DEG)
def test_the_window_paints_a_notch_at_its_bearing(qtbot: QtBot, notch_deg: float) -> None:
    measured = rolled(notch_deg)
    assert np.isfinite(measured.reach).all()
    dial = BearingDial("Left stick", "round", DialLimits((5.0, 10.0), (LIMIT_PCT, FAIL_PCT)), DARK)
    qtbot.addWidget(dial)
    dial.resize(600, 646)
    dial.set_rim(RimView(measured.covered, measured.reach))
    dial.show_point((0.0, 0.0), (np.empty(0, np.int64), np.empty(0), np.empty(0)))
    image = dial.grab().toImage()
    tall = dial.height() - dial.caption_height()
    centre, rim = QPointF(dial.width() / 2, tall / 2), min(dial.width(), tall) / 2 / 1.19
    found = bearing_of(image, QColor(DARK.bad), centre, 1.02 * rim)
    assert apart_deg(found, notch_deg) < 0.5


@pytest.mark.parametrize("notch_deg", NOTCHES_DEG)
def test_the_certificate_paints_a_notch_at_its_bearing(qapp: object, notch_deg: float) -> None:
    measured = rolled(notch_deg)
    dial = Dial("left_stick", "Left stick", None, None, LIMIT_PCT, tuple(measured.reach.tolist()), ())
    radius_mm, middle_mm = 30.0, 40.0
    page = QImage(math.ceil(2 * middle_mm * MM), math.ceil(2 * middle_mm * MM), QImage.Format.Format_RGB32)
    page.fill(QColor("white"))
    painter = QPainter(page)
    draw_dial(Paper(painter), dial, middle_mm, middle_mm, radius_mm)
    painter.end()
    found = bearing_of(page, FAIL, QPointF(middle_mm * MM, middle_mm * MM), radius_mm * MM)
    assert apart_deg(found, notch_deg) < 0.5
