"""The picture that is shown as a file: PNG for a listing, SVG for print; with its words above and below."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QPoint, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QImage, QImageWriter, QPainter
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QLayout, QWidget

from station.evidence import told
from station.evidence.course import Course, CourseLine, course_csv, held_told, title_of_line, values_told
from station.evidence.drawing import Evidence
from station.evidence.numbers import table
from station.records.types import Result, Unit
from station.ui.evidence.course import CoursePicture
from station.ui.evidence.plots import Plots
from station.ui.painting.look import Look, color, look_of
from station.words import evidence_room as words

MARGIN_PX = 14
COURSE_PX = 900, 440
"""of the picture of a course, where all visits have room"""
WRAP = int(Qt.TextFlag.TextWordWrap)


def files_of(plots: Plots, evidence: Evidence, above: str, below: str, look: Look) -> dict[str, bytes]:
    """Ending → content: the picture that is shown, and the numbers of its stretch."""
    return {
        "png": png(plots, above, below, look),
        "svg": svg(plots, above, below, look),
        "csv": table(evidence, *plots.shown_s()).encode("utf-8"),
    }


def drawn(evidence: Evidence, unit: Unit, result: Result, size: tuple[int, int]) -> dict[str, bytes]:
    """The same of what tells most of a result, without a window; `size` in pixels. There must be an application."""
    look, picture = look_of("light"), evidence.pictures[0]
    plots = Plots(look)
    plots.setAttribute(Qt.WidgetAttribute.WA_DontShowOnScreen)
    layout = plots.layout()
    if layout is not None:  # its size is given, and asks nothing of a window system
        layout.setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)
    plots.resize(*size)
    plots.show()
    plots.show_evidence(evidence)
    below = told.summary(evidence) + "\n" + told.legend(evidence, picture)
    files = files_of(plots, evidence, told.above(unit, result, told.named(evidence, picture)), below, look)
    plots.close_plots()
    plots.close()
    return files


def drawn_course(course: Course, line: CourseLine, name: str, unit: Unit, look: Look) -> dict[str, bytes]:
    """Ending → content: one reading over all visits, however many, with its words, and all readings of the course.
    `name`: of the control."""
    picture = CoursePicture(look)
    title, held = title_of_line(line, name), held_told(course, line)
    picture.show_line(course, line, title, held)
    picture.resize(max(COURSE_PX[0], picture.needed()), COURSE_PX[1])
    above = words.COURSE_PICTURE.format(tag=unit.tag, model=unit.model, what=title)
    below = "\n".join((words.COURSE_TOLD.format(values=values_told(line), held=held), words.COURSE_LEGEND))
    files = {
        "png": png(picture, above, below, look),
        "svg": svg(picture, above, below, look),
        "csv": course_csv(course),
    }
    picture.deleteLater()
    return files


def png(picture: QWidget, above: str, below: str, look: Look, scale: float = 2.0) -> bytes:
    """A PNG of it at `scale` times the pixels of the screen."""
    size = _size(picture, above, below, look)
    image = QImage(size * scale, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(scale)
    image.fill(color(look.pane))
    painter = QPainter(image)
    _paint(painter, picture, above, below, look, size)
    painter.end()
    return _written(lambda device: QImageWriter(device, QByteArray(b"png")).write(image))


def svg(picture: QWidget, above: str, below: str, look: Look) -> bytes:
    """An SVG of it."""
    size = _size(picture, above, below, look)

    def write(device: QBuffer) -> None:
        generator = QSvgGenerator()
        generator.setOutputDevice(device)
        generator.setSize(size)
        generator.setViewBox(QRect(QPoint(0, 0), size))
        generator.setTitle(above)
        painter = QPainter(generator)
        painter.fillRect(QRect(QPoint(0, 0), size), color(look.pane))
        _paint(painter, picture, above, below, look, size)
        painter.end()

    return _written(write)


def _written(write: Callable[[QBuffer], object]) -> bytes:
    data = QByteArray()
    device = QBuffer(data)
    device.open(QIODevice.OpenModeFlag.WriteOnly)
    write(device)
    device.close()
    return bytes(data.data())


def _heights(picture: QWidget, above: str, below: str, look: Look) -> tuple[float, float]:
    wide = picture.width() - 2 * MARGIN_PX
    heights = []
    for text, bold in ((above, True), (below, False)):
        metrics = QFontMetricsF(look.font(15, bold))
        heights.append(metrics.boundingRect(QRectF(0, 0, wide, 1e4), WRAP, text).height() if text else 0.0)
    return heights[0], heights[1]


def _size(picture: QWidget, above: str, below: str, look: Look) -> QSize:
    return QSize(picture.width(), round(picture.height() + sum(_heights(picture, above, below, look)) + 4 * MARGIN_PX))


def _paint(painter: QPainter, picture: QWidget, above: str, below: str, look: Look, size: QSize) -> None:
    wide = size.width() - 2 * MARGIN_PX
    head, foot = _heights(picture, above, below, look)
    painter.setPen(color(look.text))
    painter.setFont(look.font(15, bold=True))
    painter.drawText(QRectF(MARGIN_PX, MARGIN_PX, wide, head), WRAP, above)
    painter.setFont(look.font(15))
    painter.drawText(QRectF(MARGIN_PX, size.height() - MARGIN_PX - foot, wide, foot), WRAP, below)
    picture.render(painter, QPoint(0, round(head + 2 * MARGIN_PX)))
