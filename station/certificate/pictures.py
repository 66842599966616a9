"""The sticks of a certificate as pictures for an offer. Needs a QGuiApplication, as the certificate does."""

from __future__ import annotations

import json
import math

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QColor, QImage, QImageWriter, QPainter

from station.certificate.figures import draw_dial
from station.certificate.paper import MM, Paper
from station.certificate.types import Dial

SIDE_PX, SIDE_MM, RADIUS_MM = 900, 70.0, 25.0


def dials_in(content: bytes) -> tuple[Dial, ...]:
    """The dials that a certificate's content holds; none where it is not one of ours."""
    try:
        told = json.loads(content)["certificate"]["dials"]
        return tuple(_dial(one) for one in told)
    except (ValueError, TypeError, KeyError, RecursionError):
        return ()


def _dial(told: dict[str, object]) -> Dial:
    reach = tuple(math.nan if r is None else float(r) for r in told["sector_reach_pct"])  # type: ignore[attr-defined]
    settled = tuple((float(x), float(y)) for x, y in told["settle_pct"])  # type: ignore[attr-defined]
    rest = told["rest_pct"]
    return Dial(**{**told, "sector_reach_pct": reach, "settle_pct": settled, "rest_pct": tuple(rest) if rest else None})  # type: ignore[arg-type]


def dial_png(dial: Dial) -> bytes:
    """One dial with its name and what was measured, SIDE_PX square."""
    image = QImage(SIDE_PX, SIDE_PX, QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    painter = QPainter(image)
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(SIDE_PX / (SIDE_MM * MM), SIDE_PX / (SIDE_MM * MM))
        draw_dial(Paper(painter), dial, SIDE_MM / 2, RADIUS_MM + 5, RADIUS_MM)
    finally:
        painter.end()
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"PNG")).write(image)
    return bytes(data.data())
