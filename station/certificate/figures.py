"""The drawn parts of a certificate: outcome shapes and bearing dials."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from station.certificate.paper import BORDERLINE, DIM, FAIL, INK, LINE, MM, PASS, SMALL, STRONG, Face, Paper
from station.certificate.types import Dial
from station.checks.types import Outcome
from station.measure.sectors import SECTORS, centre_deg
from station.words import certificate as words

REACH_SCALE_PCT = 110.0
"""deflection at the outer edge of a dial's field"""

COLORS = {Outcome.PASS: PASS, Outcome.BORDERLINE: BORDERLINE, Outcome.FAIL: FAIL}


def draw_outcome(paper: Paper, x: float, y: float, size: float, outcome: Outcome) -> None:
    """The outcome's shape in a square of `size` mm whose centre is at x, y: it reads without colour."""
    p, color = paper.painter, COLORS.get(outcome, DIM)
    h = size / 2 * MM
    p.save()
    p.translate(x * MM, y * MM)
    p.setRenderHint(QPainter.RenderHint.Antialiasing)
    p.setPen(Qt.PenStyle.NoPen)
    p.setBrush(color)
    white = QPen(QColor("white"), size * 0.12 * MM, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap)
    if outcome is Outcome.PASS:
        p.drawRoundedRect(QRectF(-h, -h, 2 * h, 2 * h), h * 0.25, h * 0.25)
        p.setPen(white)
        p.drawPolyline(QPolygonF([QPointF(-0.5 * h, 0), QPointF(-0.1 * h, 0.42 * h), QPointF(0.55 * h, -0.45 * h)]))
    elif outcome is Outcome.FAIL:
        k = 1.15 * h
        p.drawPolygon(QPolygonF([QPointF(0, -k), QPointF(k, 0), QPointF(0, k), QPointF(-k, 0)]))
        p.setPen(white)
        p.drawLine(QPointF(-0.36 * h, -0.36 * h), QPointF(0.36 * h, 0.36 * h))
        p.drawLine(QPointF(-0.36 * h, 0.36 * h), QPointF(0.36 * h, -0.36 * h))
    elif outcome is Outcome.BORDERLINE:
        p.drawPie(QRectF(-h, -h, 2 * h, 2 * h), 180 * 16, 180 * 16)
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.setPen(QPen(color, size * 0.1 * MM))
        p.drawEllipse(QRectF(-h, -h, 2 * h, 2 * h))
    else:
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.setPen(QPen(color, size * 0.1 * MM))
        p.drawEllipse(QRectF(-0.8 * h, -0.8 * h, 1.6 * h, 1.6 * h))
    p.restore()


def draw_dial(paper: Paper, dial: Dial, x: float, y: float, radius: float) -> None:
    """A bearing dial, centre at x, y: own limits as rings, the rim's reach by sector, rest and settle points."""
    p = paper.painter
    p.save()
    p.setRenderHint(QPainter.RenderHint.Antialiasing)
    p.setBrush(Qt.BrushStyle.NoBrush)
    centre = QPointF(x * MM, y * MM)
    scale = radius / REACH_SCALE_PCT * MM
    p.setPen(QPen(LINE, 0.15 * MM))
    for bearing in range(0, 360, 45):
        p.drawLine(centre, centre + _at(bearing, 100 * scale))
    p.drawEllipse(centre, 100 * scale, 100 * scale)
    p.drawEllipse(centre, 50 * scale, 50 * scale)
    if dial.reach_limit_pct is not None:
        p.setPen(QPen(DIM, 0.2 * MM, Qt.PenStyle.DotLine))
        p.drawEllipse(centre, dial.reach_limit_pct * scale, dial.reach_limit_pct * scale)
    if dial.rest_limit_pct is not None:
        p.setPen(QPen(DIM, 0.25 * MM))
        p.drawEllipse(centre, dial.rest_limit_pct * scale, dial.rest_limit_pct * scale)
    _draw_sectors(p, dial, centre, radius, scale)
    p.setPen(QPen(INK, 0.25 * MM))
    arm = 0.9 * MM
    for sx, sy in dial.settle_pct:
        at = centre + QPointF(sx * scale, -sy * scale)
        p.drawLine(at - QPointF(arm, arm), at + QPointF(arm, arm))
        p.drawLine(at - QPointF(arm, -arm), at + QPointF(arm, -arm))
    if dial.rest_pct is not None:
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(INK)
        p.drawEllipse(centre + QPointF(dial.rest_pct[0] * scale, -dial.rest_pct[1] * scale), 0.8 * MM, 0.8 * MM)
    p.restore()
    paper.text(x, y + radius + 8.5, dial.name, STRONG, center=True)
    paper.text(x, y + radius + 12.5, dial.caption or words.NOT_MEASURED, SMALL, center=True)


def _draw_sectors(p: QPainter, dial: Dial, centre: QPointF, radius: float, scale: float) -> None:
    """Outer ticks: long and green where the reach is full, short and red below the limit, none where not covered."""
    for k, reach in enumerate(dial.sector_reach_pct):
        if not math.isfinite(reach):
            continue
        bearing = centre_deg(k)
        short = dial.reach_limit_pct is not None and reach < dial.reach_limit_pct
        color, length = (FAIL, 1.2) if short else (PASS, 2.6)
        p.setPen(QPen(color, 0.6 * MM, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
        p.drawLine(centre + _at(bearing, (radius + 1) * MM), centre + _at(bearing, (radius + 1 + length) * MM))
    p.setPen(QPen(DIM, 0.25 * MM))
    reached = [centre + _at(centre_deg(k), r * scale) for k, r in enumerate(dial.sector_reach_pct) if math.isfinite(r)]
    if len(reached) > 2:
        p.drawPolyline(QPolygonF([*reached, reached[0]] if len(reached) == SECTORS else reached))


def _at(bearing_deg: float, length: float) -> QPointF:
    """Offset on the page for a bearing (0 = up, clockwise)."""
    a = math.radians(bearing_deg)
    return QPointF(math.sin(a) * length, -math.cos(a) * length)


OUTCOME_FACES = {outcome: Face(9, bold=True, color=color) for outcome, color in COLORS.items()}
