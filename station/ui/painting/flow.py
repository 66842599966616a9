"""A layout like words on a page: parts side by side, and in as many lines as the width asks for."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class FlowLayout(QLayout):
    """Each part has the size that it asks for; `spread`: the last part of the first line stands at the right edge when
    all fit into one."""

    def __init__(self, parent: QWidget | None = None, spread: bool = False) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._spread = spread

    def addItem(self, item: QLayoutItem) -> None:
        self._items.append(item)

    def count(self) -> int:
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._lay_out(QRect(0, 0, width, 0), place=False)

    def setGeometry(self, rect: QRect) -> None:
        super().setGeometry(rect)
        self._lay_out(rect, place=True)

    def sizeHint(self) -> QSize:
        """All in one line."""
        shown = self._shown()
        wide = sum(item.sizeHint().width() for item in shown) + self.spacing() * max(len(shown) - 1, 0)
        return self._around(QSize(wide, max((item.sizeHint().height() for item in shown), default=0)))

    def minimumSize(self) -> QSize:
        """The largest part."""
        size = QSize()
        for item in self._shown():
            size = size.expandedTo(item.minimumSize())
        return self._around(size)

    def _around(self, size: QSize) -> QSize:
        left, top, right, bottom = self._margins()
        return size + QSize(left + right, top + bottom)

    def _margins(self) -> tuple[int, int, int, int]:
        around = self.contentsMargins()
        return around.left(), around.top(), around.right(), around.bottom()

    def _shown(self) -> list[QLayoutItem]:
        return [item for item in self._items if not item.isEmpty()]

    def _lay_out(self, rect: QRect, *, place: bool) -> int:
        """The height that the lines take in all."""
        left, top, right, bottom = self._margins()
        inner = rect.adjusted(left, top, -right, -bottom)
        y = inner.top()
        lines = self._lines(inner.width())
        for line in lines:
            tall = max(item.sizeHint().height() for item in line)
            x = inner.left()
            for item in line:
                size = item.sizeHint().boundedTo(QSize(inner.width(), tall))
                if self._spread and len(lines) == 1 and item is line[-1]:
                    x = max(x, inner.right() + 1 - size.width())
                if place:
                    item.setGeometry(QRect(QPoint(x, y + (tall - size.height()) // 2), size))
                x += size.width() + self.spacing()
            y += tall + self.spacing()
        return y - (self.spacing() if lines else 0) - rect.top() + bottom

    def _lines(self, width: int) -> list[list[QLayoutItem]]:
        lines: list[list[QLayoutItem]] = []
        x = 0
        for item in self._shown():
            wide = item.sizeHint().width()
            if lines and x + wide <= width:
                lines[-1].append(item)
            else:
                lines.append([item])
                x = 0
            x += wide + self.spacing()
        return lines
