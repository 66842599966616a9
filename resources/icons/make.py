"""Makes the program's icon from shapes: a bearing dial at rest. Run: python resources/icons/make.py"""

from __future__ import annotations

import math
import os
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QGuiApplication, QImage, QPainter, QPen

HERE = Path(__file__).resolve().parent
SIDE = 256


def draw() -> QImage:
    """Ground, a ring of ticks, the rest ring and the point in it."""
    image = QImage(SIDE, SIDE, QImage.Format.Format_ARGB32)
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor("#15191d"))
    painter.drawRoundedRect(QRectF(8, 8, 240, 240), 44, 44)
    centre = QPointF(128, 128)
    for k in range(24):
        a = math.radians(15 * k)
        painter.setPen(QPen(QColor("#e2673f" if k in (15, 16, 17) else "#3fb39a"), 9))
        inner, outer = 82.0, 88.0 if k in (15, 16, 17) else 100.0
        direction = QPointF(math.sin(a), -math.cos(a))
        painter.drawLine(centre + direction * inner, centre + direction * outer)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(QColor("#ece7dc"), 7))
    painter.drawEllipse(centre, 36, 36)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor("#ece7dc"))
    painter.drawEllipse(centre + QPointF(6, -4), 15, 15)
    painter.end()
    return image


if __name__ == "__main__":
    app = QGuiApplication([])
    draw().save(str(HERE / "restpoint.png"))
