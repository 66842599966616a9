"""The list of checks: a model of rows and a delegate that draws shape, name and words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QAbstractItemView, QListView, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from station.checks.types import Outcome
from station.ui.checklist.rows import Heading, Row
from station.ui.painting.look import Look, color
from station.ui.painting.shapes import SKIPPED, draw_shape, shape_name
from station.words import checklist as words

Index = QModelIndex | QPersistentModelIndex
ROW_ROLE = Qt.ItemDataRole.UserRole


class RowModel(QAbstractListModel):
    """Headings and rows."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._rows: list[Heading | Row] = []

    def set_rows(self, rows: Sequence[Heading | Row]) -> None:
        """Take new rows; a list of the same length changes in place, so that the view does not jump."""
        new = list(rows)
        if len(new) != len(self._rows):
            self.beginResetModel()
            self._rows = new
            self.endResetModel()
            return
        changed = [k for k, (a, b) in enumerate(zip(self._rows, new, strict=True)) if a != b]
        self._rows = new
        for k in changed:
            self.dataChanged.emit(self.index(k), self.index(k))

    def row(self, index: int) -> Heading | Row:
        return self._rows[index]

    def current_index(self) -> int:
        """The line of the current step, −1 without one."""
        return next((k for k, r in enumerate(self._rows) if isinstance(r, Row) and r.current), -1)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        return 0 if parent.isValid() else len(self._rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid() or index.row() >= len(self._rows):
            return None
        row = self._rows[index.row()]
        if role == ROW_ROLE:
            return row
        if role == Qt.ItemDataRole.DisplayRole:
            return (
                row.text
                if isinstance(row, Heading)
                else words.NAME_AND_SAID.format(name=row.name, said=row.said).strip()
            )
        if role == Qt.ItemDataRole.AccessibleDescriptionRole and isinstance(row, Row):
            return shape_name(row.shape)
        return None


class RowDelegate(QStyledItemDelegate):
    """Draws a line of the checklist."""

    def __init__(self, look: Look, parent: QWidget) -> None:
        super().__init__(parent)
        self.look = look

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        row, look = index.data(ROW_ROLE), self.look
        view = self.parent()
        wide = view.viewport().width() if isinstance(view, QAbstractItemView) else option.rect.width()
        if isinstance(row, Row):
            return QSize(100, _laid(row, float(wide), look).tall)
        return QSize(100, look.px(30))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        row = index.data(ROW_ROLE)
        box = QRectF(option.rect)
        painter.save()
        if isinstance(row, Heading):
            self._paint_heading(painter, box, row)
        elif isinstance(row, Row):
            self._paint_row(painter, box, row)
        painter.restore()

    def _paint_heading(self, painter: QPainter, box: QRectF, row: Heading) -> None:
        look = self.look
        painter.setFont(look.font(13, bold=True))
        painter.setPen(color(look.dim))
        text = box.adjusted(look.px(6), look.px(6), -look.px(8), -2)
        painter.drawText(text, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, row.text.upper())
        painter.setFont(look.font(13))
        template = words.DONE_AND_SKIPPED if row.skipped else words.DONE_OF
        done = template.format(done=row.done, total=row.total, skipped=row.skipped)
        painter.drawText(text, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, done)
        painter.setPen(QPen(color(look.line), 1))
        painter.drawLine(QPointF(text.left(), box.bottom() - 1), QPointF(text.right(), box.bottom() - 1))

    def _paint_row(self, painter: QPainter, box: QRectF, row: Row) -> None:
        look = self.look
        if row.current:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(color(look.accent), 1))
            painter.setBrush(color(look.ground))
            painter.drawRoundedRect(box.adjusted(0.5, 1.5, -0.5, -1.5), 4, 4)
        side = look.px(15)
        mark = QRectF(box.x() + look.px(7), box.center().y() - side / 2, side, side)
        draw_shape(painter, mark, row.shape, look)
        laid = _laid(row, box.width(), look)
        waiting = row.shape in (Outcome.NOT_DONE, SKIPPED) and not row.current
        painter.setFont(look.font(15))
        painter.setPen(color(look.dim if waiting else look.text))
        painter.drawText(laid.said.translated(box.topLeft()), laid.flags, row.said)
        painter.setFont(look.font(15, bold=True))
        painter.drawText(laid.name.translated(box.topLeft()), _LEFT, row.name)


_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap


@dataclass(frozen=True, slots=True)
class _Laid:
    """Where the words of a row stand, from its top left corner on, and how tall it is."""

    name: QRectF
    said: QRectF
    flags: Qt.AlignmentFlag | Qt.TextFlag
    tall: int


@lru_cache(maxsize=512)
def _laid(row: Row, width: float, look: Look) -> _Laid:
    """Name and outcome on one line where there is room; else below each other, in as many lines as they need."""
    left, right, least = look.px(7 + 15 + 12), width - look.px(8), look.px(25)
    room = max(right - left, 1.0)
    names, saids = QFontMetricsF(look.font(15, bold=True)), QFontMetricsF(look.font(15))
    name_wide, said_wide = names.horizontalAdvance(row.name), saids.horizontalAdvance(row.said)
    gap = look.px(12) if row.name else 0
    if name_wide + said_wide + gap <= room:
        whole = QRectF(left, 0, room, least)
        return _Laid(whole, whole, _RIGHT, least)
    pad, most = look.px(3), QRectF(0, 0, room, 1e4)
    name_tall = names.boundingRect(most, _LEFT.value, row.name).height() if row.name else 0.0
    said_tall = saids.boundingRect(most, _LEFT.value, row.said).height() if row.said else 0.0
    name = QRectF(left, pad, room, name_tall)
    said = QRectF(left, pad + name_tall, room, said_tall)
    return _Laid(name, said, _LEFT, max(least, math.ceil(name_tall + said_tall + 2 * pad)))


class StepList(QListView):
    """The scrolling checklist. Follows the current step.

    Signals: `chosen(int)`: the person pointed at a step.
    """

    chosen = Signal(int)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows = RowModel(self)
        self._delegate = RowDelegate(look, self)
        self._said: list[str] = []
        self._follows = True
        """the person has not scrolled away from the current step"""
        self.setModel(self._rows)
        self.setItemDelegate(self._delegate)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setResizeMode(QListView.ResizeMode.Adjust)  # how tall a row is depends on the width
        self.setAccessibleName(words.CHECKLIST)
        self.clicked.connect(self._clicked)
        self.verticalScrollBar().actionTriggered.connect(self._scrolled)

    def set_look(self, look: Look) -> None:
        self._delegate.look = look
        self.scheduleDelayedItemsLayout()
        self.viewport().update()

    def set_rows(self, rows: Sequence[Heading | Row]) -> None:
        before = self._rows.current_index()
        self._rows.set_rows(rows)
        now = self._rows.current_index()
        taller = [r.said if isinstance(r, Row) else "" for r in rows]
        if taller != self._said:
            self._said = taller
            self.doItemsLayout()  # a row is as tall as its words ask for
        if now >= 0 and now != before:
            self.follow()

    def follow(self) -> None:
        """Bring the current step into view, with what follows it."""
        now = self._rows.current_index()
        self._follows = True
        if now >= 0:
            self.scrollTo(self._rows.index(now), QAbstractItemView.ScrollHint.PositionAtCenter)

    def _scrolled(self) -> None:
        self._follows = False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """A card that grows over the list, or gives it its room back, must not lose the current step."""
        super().resizeEvent(event)
        if self._follows:
            self.doItemsLayout()
            self.follow()

    def showEvent(self, event: QShowEvent) -> None:
        """What was hidden while the card took all the room begins at the current step again."""
        super().showEvent(event)
        self.doItemsLayout()
        self.follow()

    def rows(self) -> list[Heading | Row]:
        return [self._rows.row(k) for k in range(self._rows.rowCount())]

    def current_visible(self) -> bool:
        """True while the current step's line lies inside the view."""
        now = self._rows.current_index()
        return now >= 0 and self.viewport().rect().contains(self.visualRect(self._rows.index(now)).center())

    def _clicked(self, index: QModelIndex) -> None:
        row = self._rows.row(index.row())
        if isinstance(row, Row):
            self.chosen.emit(row.steps[0])
