"""Where every text of the window stands, how much room it needs, and what of it is cut off or printed over another.

What a widget draws by itself (labels, buttons, fields, tables) is compared with the room that it has. What is painted
is overheard: `QPainter.drawText` and `QFontMetrics.elidedText` note what they were given, whether it goes onto the
widget or into a layer that the widget keeps.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QEvent, QModelIndex, QObject, QPoint, QRect, QRectF, Qt
from PySide6.QtGui import QFontMetrics, QFontMetricsF, QPainter, QTextLayout
from PySide6.QtWidgets import (
    QAbstractScrollArea,
    QApplication,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QStyle,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

SLACK_PX = 1.5
"""rounding of whole pixels, and the side bearings of a glyph"""
OVER_PX = 2.0
"""so much of two boxes may lie on each other: the leading of their lines"""
FIELD_PX = 6
"""what a field keeps free on each side of its text, besides its padding"""


@dataclass(frozen=True, slots=True)
class Piece:
    """A text with the room that its letters take, in pixels of the window; `problem`: why it cannot be read whole."""

    owner: QWidget
    text: str
    room: QRectF
    problem: str = ""

    def said(self) -> str:
        where = type(self.owner).__name__
        if where == "QWidget" and self.owner.parent() is not None:
            where = f"{type(self.owner.parent()).__name__}.{where}"
        box = self.room
        return f"{where} “{self.text}” at {box.x():.0f},{box.y():.0f} {box.width():.0f}×{box.height():.0f}"


# --- what is painted ---------------------------------------------------------------------------------------------


class _Watch(QObject):
    """Which widget is being painted."""

    def __init__(self) -> None:
        super().__init__()
        self.now: QWidget | None = None

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint and isinstance(watched, QWidget):
            self.now = watched
        return False


def painted(window: QWidget) -> list[Piece]:
    """Everything that the widgets of a window paint with a painter of their own, layers included."""
    found: list[Piece] = []
    watch = _Watch()
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    with _overheard(found, watch, window):
        app.installEventFilter(watch)
        try:
            for widget in window.findChildren(QWidget):
                if widget.isVisible():
                    _forget_layer(widget)
            window.grab()
        finally:
            app.removeEventFilter(watch)
    return found


def _forget_layer(widget: QWidget) -> None:
    """A layer that was painted before is painted again, to be overheard."""
    for name in ("_layer", "_field"):
        if hasattr(widget, name) and type(widget).__module__.startswith("station."):
            setattr(widget, name, None)


@contextmanager
def _overheard(found: list[Piece], watch: _Watch, window: QWidget) -> Iterator[None]:
    draw, elide, elide_f = QPainter.drawText, QFontMetrics.elidedText, QFontMetricsF.elidedText
    cut: set[str] = set()

    def hear(painter: QPainter, *given: Any) -> Any:
        if watch.now is not None:
            found.append(_heard(painter, given, watch.now, window, cut))
        return draw(painter, *given)

    def noting(real: Callable[..., str]) -> Callable[..., str]:
        def shorten(metrics: Any, text: str, *how: Any) -> str:
            shown = real(metrics, text, *how)
            if shown != text:
                cut.add(shown)
            return shown

        return shorten

    def hear_lines(laid: QTextLayout, painter: QPainter, at: Any, *more: Any) -> Any:
        if watch.now is not None and laid.text():
            room = laid.boundingRect().translated(at.x(), at.y())
            found.append(_piece(painter, watch.now, window, laid.text(), room, room, cut))
        return lay(laid, painter, at, *more)

    lay = QTextLayout.draw
    QTextLayout.draw = hear_lines  # type: ignore[method-assign, assignment]
    QPainter.drawText = hear  # type: ignore[method-assign, assignment]
    QFontMetrics.elidedText = noting(elide)  # type: ignore[method-assign, assignment]
    QFontMetricsF.elidedText = noting(elide_f)  # type: ignore[method-assign, assignment]
    try:
        yield
    finally:
        QTextLayout.draw = lay  # type: ignore[method-assign]
        QPainter.drawText = draw  # type: ignore[method-assign]
        QFontMetrics.elidedText = elide  # type: ignore[method-assign]
        QFontMetricsF.elidedText = elide_f  # type: ignore[method-assign]


def _heard(painter: QPainter, given: Sequence[Any], owner: QWidget, window: QWidget, cut: set[str]) -> Piece:
    """One call of drawText: (box, flags, text), (x, y, w, h, flags, text) or (place, text)."""
    metrics = QFontMetricsF(painter.font())
    text = str(next(g for g in reversed(given) if isinstance(g, str)))
    if isinstance(given[0], QRectF | QRect):
        box, flags = QRectF(given[0]), int(given[1])
    elif len(given) >= 6:
        box, flags = QRectF(*(float(g) for g in given[:4])), int(given[4])
    else:
        at = given[0] if not isinstance(given[0], int | float) else QPoint(int(given[0]), int(given[1]))
        room = QRectF(metrics.boundingRect(text)).translated(float(at.x()), float(at.y()))
        return _piece(painter, owner, window, text, room, room, cut)
    room = metrics.boundingRect(box, flags, text)
    if not flags & int(Qt.TextFlag.TextWordWrap):
        room = _letters(metrics, room, text)
    return _piece(painter, owner, window, text, room, box, cut)


def _letters(metrics: QFontMetricsF, line: QRectF, text: str) -> QRectF:
    """The box of the letters themselves in the box of their line."""
    tight = metrics.tightBoundingRect(text)
    return QRectF(line.x(), line.y() + metrics.ascent() + tight.y(), line.width(), tight.height())


def _piece(
    painter: QPainter, owner: QWidget, window: QWidget, text: str, room: QRectF, box: QRectF, cut: set[str]
) -> Piece:
    problem = ""
    if text in cut:
        problem = "shortened"
    elif not text.strip():
        problem = ""
    elif not box.adjusted(-SLACK_PX, -SLACK_PX, SLACK_PX, SLACK_PX).contains(room):
        problem = f"needs {room.width():.0f}×{room.height():.0f}, has {box.width():.0f}×{box.height():.0f}"
    else:
        inside = QRectF(owner.rect()).adjusted(-SLACK_PX, -SLACK_PX, SLACK_PX, SLACK_PX)
        if isinstance(owner.parentWidget(), QAbstractScrollArea):  # what is scrolled out comes back
            inside.setTop(min(inside.top(), room.top()))
            inside.setBottom(max(inside.bottom(), room.bottom()))
        if not inside.contains(painter.worldTransform().mapRect(room)):
            problem = "painted over the edge of its widget"
    place = painter.worldTransform().mapRect(room)
    return Piece(owner, text, place.translated(owner.mapTo(window, QPoint(0, 0))), problem)


# --- what widgets draw by themselves -------------------------------------------------------------------------------


def worded(window: QWidget) -> list[Piece]:
    """Labels, buttons, fields, heads and cells."""
    found: list[Piece] = []
    for widget in window.findChildren(QWidget):
        if not widget.isVisible():
            continue
        if isinstance(widget, QLabel) and type(widget).paintEvent is QLabel.paintEvent and widget.text():
            found.append(_label(widget, window))
        elif isinstance(widget, QPushButton) and widget.text():
            found.append(_button(widget, window))
        elif isinstance(widget, QLineEdit):
            found += _field(widget, window)
        elif isinstance(widget, QTableView):
            found += _cells(widget, window)
        elif isinstance(widget, QHeaderView):
            found += _heads(widget, window)
    return found


def _label(label: QLabel, window: QWidget) -> Piece:
    wrap = int(Qt.TextFlag.TextWordWrap) if label.wordWrap() else 0
    flags, text = label.alignment().value | wrap, label.text()
    box, metrics = QRectF(label.contentsRect()), QFontMetricsF(label.font())
    need = metrics.boundingRect(QRectF(0, 0, box.width(), 1e5), wrap, text)
    problem = ""
    if need.width() > box.width() + SLACK_PX or need.height() > box.height() + SLACK_PX:
        problem = f"needs {need.width():.0f}×{need.height():.0f}, has {box.width():.0f}×{box.height():.0f}"
    room = metrics.boundingRect(box, flags, text)
    if "\n" not in text and room.height() < 1.5 * metrics.height():
        room = _letters(metrics, room, text)
    return Piece(label, text, room.translated(label.mapTo(window, QPoint(0, 0))), problem)


def _button(button: QPushButton, window: QWidget) -> Piece:
    hint, text = button.sizeHint(), button.text().replace("&&", "&")
    short = hint.width() > button.width() + SLACK_PX or hint.height() > button.height() + SLACK_PX
    problem = f"needs {hint.width()}×{hint.height()}, has {button.width()}×{button.height()}" if short else ""
    metrics = QFontMetricsF(button.font())
    line = metrics.boundingRect(QRectF(button.rect()), int(Qt.AlignmentFlag.AlignCenter), text)
    return Piece(button, text, _letters(metrics, line, text).translated(button.mapTo(window, QPoint(0, 0))), problem)


def _field(field: QLineEdit, window: QWidget) -> list[Piece]:
    """What is typed scrolls with the cursor; what is said in its place does not."""
    text = field.placeholderText()
    if field.text() or not text:
        return []
    metrics = QFontMetricsF(field.font())
    need, has = metrics.horizontalAdvance(text), field.width() - 2 * FIELD_PX
    problem = f"needs {need:.0f}, has {has}" if need > has + SLACK_PX else ""
    line = metrics.boundingRect(QRectF(field.rect()), int(Qt.AlignmentFlag.AlignCenter), text)
    return [Piece(field, text, _letters(metrics, line, text).translated(field.mapTo(window, QPoint(0, 0))), problem)]


def _cells(table: QTableView, window: QWidget) -> list[Piece]:
    found, model, view = [], table.model(), table.viewport()
    for row in range(model.rowCount()):
        for column in range(model.columnCount()):
            index = model.index(row, column)
            box, text = table.visualRect(index), str(index.data() or "")
            if not text or table.isColumnHidden(column) or not view.rect().intersects(box):
                continue
            place = _words_of_cell(table, index, box)
            need = QFontMetricsF(table.font()).boundingRect(place, _WRAP, text)
            short = need.width() > place.width() + SLACK_PX or need.height() > place.height() + SLACK_PX
            problem = f"needs {need.width():.0f}×{need.height():.0f}, has {place.width():.0f}×{place.height():.0f}"
            found.append(
                Piece(view, text, place.translated(view.mapTo(window, QPoint(0, 0))), problem if short else "")
            )
    return found


_WRAP = int(Qt.TextFlag.TextWordWrap)


def _words_of_cell(table: QTableView, index: QModelIndex, box: QRect) -> QRectF:
    """Where the style puts the words of a cell."""
    option = QStyleOptionViewItem()
    table.initViewItemOption(option)
    option.rect = box
    table.itemDelegate().initStyleOption(option, index)
    style = table.style()
    place = style.subElementRect(QStyle.SubElement.SE_ItemViewItemText, option, table)
    margin = style.pixelMetric(QStyle.PixelMetric.PM_FocusFrameHMargin, option, table) + 1
    return QRectF(place.adjusted(margin, 0, -margin, 0))


def _heads(head: QHeaderView, window: QWidget) -> list[Piece]:
    found, model = [], head.model()
    for k in range(head.count()):
        text = str(model.headerData(k, Qt.Orientation.Horizontal) or "").replace("\n", " ") if model is not None else ""
        if head.isSectionHidden(k) or not text or head.orientation() != Qt.Orientation.Horizontal:
            continue
        need, has = head.sectionSizeFromContents(k).width(), head.sectionSize(k)
        problem = f"needs {need}, has {has}" if need > has + SLACK_PX else ""
        box = QRectF(head.sectionViewportPosition(k) + 4, 4, has - 8, head.height() - 8)
        found.append(Piece(head, text, box.translated(head.mapTo(window, QPoint(0, 0))), problem))
    return found


# --- what is wrong ---------------------------------------------------------------------------------------------------


def problems(window: QWidget) -> list[str]:
    """A sentence for each text of a window, or of a panel, that is cut off or printed over another."""
    shown: list[Piece] = []
    scrolled: dict[QWidget, list[Piece]] = {}
    said: list[str] = []
    for piece in (*worded(window), *painted(window)):
        seen, problem = _as_shown(piece, window)
        if piece.problem or problem:
            said.append(f"cut: {piece.said()}: {piece.problem or problem}")
        if not seen.isEmpty():
            shown.append(Piece(piece.owner, piece.text, seen))
        if (view := _scrolled_in(piece.owner)) is not None:
            scrolled.setdefault(view, []).append(piece)
    over_each_other = dict.fromkeys(_overprinted(shown))
    for pieces in scrolled.values():  # also where it is scrolled out of sight now
        over_each_other |= dict.fromkeys(_overprinted(pieces))
    return said + list(over_each_other)


def _moves_sideways(area: QAbstractScrollArea) -> bool:
    stiff = area.horizontalScrollBarPolicy() == Qt.ScrollBarPolicy.ScrollBarAlwaysOff
    return not stiff and area.horizontalScrollBar().maximum() > 0


def _scrolled_in(widget: QWidget | None) -> QWidget | None:
    """The view that a widget is scrolled in."""
    while widget is not None and not isinstance(widget.parentWidget(), QAbstractScrollArea):
        widget = widget.parentWidget()
    return widget


def _as_shown(piece: Piece, window: QWidget) -> tuple[QRectF, str]:
    """What is seen of a text, and whether a widget around it cuts it where nothing scrolls."""
    room, whole, problem = QRectF(piece.room), QRectF(piece.room), ""
    widget: QWidget | None = piece.owner
    while widget is not None:
        box = QRectF(QRect(widget.mapTo(window, QPoint(0, 0)), widget.size()))
        wider = box.adjusted(-SLACK_PX, -SLACK_PX, SLACK_PX, SLACK_PX)
        area = widget.parentWidget()
        if isinstance(area, QAbstractScrollArea):
            sideways = wider.left() <= whole.left() and whole.right() <= wider.right()
            if not whole.isEmpty() and not sideways and not _moves_sideways(area):
                problem = problem or f"cut at the side by {type(area).__name__}"
            whole = whole.intersected(box)
        elif not whole.isEmpty() and not wider.contains(whole):
            problem = problem or f"cut by the edge of {type(widget).__name__}"
        room = room.intersected(box)
        if widget is window:
            break
        widget = area
    return room, problem


def _overprinted(pieces: Sequence[Piece]) -> Iterator[str]:
    """Pairs that lie on each other. Sorted from the top, so that only near ones are compared."""
    ordered = sorted((p for p in pieces if p.text.strip()), key=lambda p: p.room.top())
    for k, first in enumerate(ordered):
        for second in ordered[k + 1 :]:
            if second.room.top() >= first.room.bottom():
                break
            common = first.room.intersected(second.room)
            if common.width() > OVER_PX and common.height() > OVER_PX:
                yield f"overprinted: {first.said()} and {second.said()}"
