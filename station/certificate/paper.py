"""Pages measured in millimetres: the thin layer between the certificate and Qt's painter."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from PySide6.QtCore import QMarginsF, QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QPageLayout,
    QPageSize,
    QPainter,
    QPainterPath,
    QPdfWriter,
    QPen,
)

from station.certificate.formats import Format

DPI = 600
MM = DPI / 25.4
LEFT, RIGHT = 15.0, 195.0
"""of what stands on a page, in mm from the left of A4; on a wider paper all is moved to its middle"""
FAMILY = "Atkinson Hyperlegible"

INK = QColor("#22272b")
DIM = QColor("#5d666c")
LINE = QColor("#cfc9bb")
PASS = QColor("#00705a")
BORDERLINE = QColor("#8a5a00")
FAIL = QColor("#b23b12")


@dataclass(frozen=True, slots=True)
class Face:
    """A text style: size in points, weight, colour."""

    size_pt: float
    bold: bool = False
    color: QColor = field(default_factory=lambda: INK)

    def font(self) -> QFont:
        font = QFont(FAMILY)
        font.setPixelSize(max(1, round(self.size_pt * DPI / 72)))
        font.setBold(self.bold)
        font.setFeature(QFont.Tag("liga"), 0)  # a "ﬁ" in one glyph could not be searched or copied from the PDF
        return font


TITLE = Face(20, bold=True)
HEAD = Face(11.5, bold=True)
TEXT = Face(9)
STRONG = Face(9, bold=True)
SMALL = Face(8, color=DIM)


def set_up(writer: QPdfWriter, size_mm: tuple[float, float]) -> None:
    """The page; our margins are ours: the writer gets none."""
    page = QPageSize(QSizeF(*size_mm), QPageSize.Unit.Millimeter, "", QPageSize.SizeMatchPolicy.ExactMatch)
    writer.setPageSize(page)
    writer.setResolution(DPI)
    writer.setPageMargins(QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter)


class Paper:
    """Draws in millimetres on the current page of a painter. `words`: every text drawn so far, in order."""

    def __init__(self, painter: QPainter) -> None:
        self.painter = painter
        self.words: list[str] = []

    def text(self, x: float, y: float, text: str, face: Face, *, right: bool = False, center: bool = False) -> float:
        """One line with its baseline at y mm; returns its width in mm."""
        font = face.font()
        width = QFontMetricsF(font).horizontalAdvance(text) / MM
        left = x - width if right else x - width / 2 if center else x
        self.painter.setFont(font)
        self.painter.setPen(QPen(face.color))
        self.painter.drawText(QPointF(left * MM, y * MM), text)
        self.words.append(text)
        return width

    def block(self, x: float, y: float, width: float, text: str, face: Face) -> float:
        """Wrapped text with its top at y mm; returns its height in mm."""
        font = face.font()
        self.painter.setFont(font)
        self.painter.setPen(QPen(face.color))
        flags = Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap
        box = QRectF(x * MM, y * MM, width * MM, 10_000 * MM)
        used = QFontMetricsF(font).boundingRect(box, int(flags), text)
        self.painter.drawText(box, int(flags), text)
        self.words.append(text)
        return float(used.height() / MM)

    def line(self, x1: float, y1: float, x2: float, y2: float, color: QColor = LINE, width_mm: float = 0.2) -> None:
        self.painter.setPen(QPen(color, width_mm * MM))
        self.painter.drawLine(QPointF(x1 * MM, y1 * MM), QPointF(x2 * MM, y2 * MM))

    def frame(self, x: float, y: float, w: float, h: float, color: QColor) -> None:
        """A rectangle with round corners, drawn by its line."""
        self.painter.setPen(QPen(color, 0.4 * MM))
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.drawRoundedRect(QRectF(x * MM, y * MM, w * MM, h * MM), 1.5 * MM, 1.5 * MM)

    def across(self, text: str, paper: Format) -> None:
        """One word over the whole page, from corner to corner, as a shape: it is not among the words."""
        wide, high = paper.width_mm, paper.height_mm
        font = Face(90, bold=True).font()
        shape = QPainterPath()
        shape.addText(QPointF(0, 0), font, text)
        bounds = shape.boundingRect()
        self.painter.save()
        self.painter.translate((LEFT + RIGHT) / 2 * MM, high / 2 * MM)
        self.painter.rotate(-math.degrees(math.atan2(high, wide)))
        across = math.hypot(wide, high) * 0.8 * MM
        self.painter.scale(across / bounds.width(), across / bounds.width())
        self.painter.translate(-bounds.center())
        self.painter.fillPath(shape, QColor("#f3eae6"))
        self.painter.restore()

    def picture(self, x: float, y: float, image: QImage, room: tuple[float, float]) -> None:
        """A picture with its upper left corner at x, y, as large as fits into `room` mm."""
        wide, high = picture_mm(image, room)
        self.painter.drawImage(QRectF(x * MM, y * MM, wide * MM, high * MM), image)

    def rect(self, x: float, y: float, w: float, h: float, fill: QColor) -> None:
        self.painter.fillRect(QRectF(x * MM, y * MM, w * MM, h * MM), fill)


def picture_mm(image: QImage, room: tuple[float, float]) -> tuple[float, float]:
    """Width and height in mm of a picture that fills `room` as far as its shape lets it."""
    scale = min(room[0] / image.width(), room[1] / image.height())
    return image.width() * scale, image.height() * scale


def block_height(width: float, text: str, face: Face) -> float:
    """Height in mm that `Paper.block` will use."""
    flags = Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap
    box = QRectF(0, 0, width * MM, 10_000 * MM)
    return float(QFontMetricsF(face.font()).boundingRect(box, int(flags), text).height() / MM)


def text_width(text: str, face: Face) -> float:
    """Width of one line in mm."""
    return float(QFontMetricsF(face.font()).horizontalAdvance(text) / MM)


def fitted(text: str, face: Face, width: float) -> Face:
    """The face, smaller if one line of the text would be wider than `width` mm."""
    wide = text_width(text, face)
    return face if wide <= width else replace(face, size_pt=face.size_pt * width / wide)
