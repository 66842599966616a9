"""The sticks of a certificate as pictures for an offer. Needs a QGuiApplication, as the certificate does."""

from __future__ import annotations

import json
import math
from dataclasses import replace

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QColor, QImage, QImageWriter, QPainter

from station.certificate.figures import draw_dial
from station.certificate.paper import FAIL, HEAD, MM, SMALL, Paper, text_width
from station.certificate.types import Dial
from station.words import certificate as words

SIDE_PX, SIDE_MM, EDGE_MM = 900, 70.0, 2.5
"""the side is larger in millimetres, and all on it smaller, where a line needs more width"""
RIM_MM, HEAD_MM, BELOW_MM = 5.0, 6.0, 24.0
"""for the ticks around a dial, the line above it, and rim and lines below it"""


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


def is_simulated(content: bytes) -> bool:
    """Whether a program played the unit of a certificate's content."""
    try:
        return bool(json.loads(content)["certificate"]["standing"]["simulated"])
    except (ValueError, TypeError, KeyError, RecursionError):
        return False


def dial_png(dial: Dial, said: str = "", *, simulated: bool = False) -> bytes:
    """One dial with its name, what was measured, and below it what is `said` of the unit, SIDE_PX square."""
    side = max(SIDE_MM, *(text_width(text, SMALL) + 2 * EDGE_MM for text in (dial.caption, said)))
    top, radius = HEAD_MM if simulated else 0.0, (side - BELOW_MM - HEAD_MM) / 2
    image = QImage(SIDE_PX, SIDE_PX, QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    painter = QPainter(image)
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(SIDE_PX / (side * MM), SIDE_PX / (side * MM))
        paper = Paper(painter)
        if simulated:
            paper.text(side / 2, HEAD_MM - 1, words.SIMULATED, replace(HEAD, color=FAIL), center=True)
        draw_dial(paper, dial, side / 2, top + radius + RIM_MM, radius)
        paper.text(side / 2, side - EDGE_MM, said, SMALL, center=True)
    finally:
        painter.end()
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"PNG")).write(image)
    return bytes(data.data())
