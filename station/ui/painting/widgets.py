"""Small widgets shared by panes and panels. Device strings reach labels as plain text only."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetrics,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QTextLayout,
    QTextOption,
)
from PySide6.QtWidgets import QLabel, QProgressBar, QPushButton, QScrollArea, QSizePolicy, QWidget

from station.ui.painting.look import Look, color
from station.ui.painting.told import Painted, PaintedList, RowButton, draw_cursor, put_over
from station.ui.physical import digit_of
from station.words import figures, told


def plain_label(text: str, role: str = "", wrap: bool = False) -> QLabel:
    """A label that shows its text as it is, never as markup."""
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setText(text)
    label.setWordWrap(wrap)
    if role:
        label.setProperty("role", role)
    return label


def scrolling() -> QScrollArea:
    """What scrolls up and down where a window is low, and takes no keys."""
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return area


def has_keys(widget: QWidget) -> bool:
    """The keys go to it. Not `hasFocus`, which nothing has in a window that is not the active one: under no window
    manager none ever is."""
    front = widget.window().focusWidget()
    return front is not None and front in (widget, widget.focusProxy())


def tip_text(text: str) -> str:
    """What a tool tip is given so that it shows this text as it is. Qt takes a tip for markup if it looks like it, and
    there is no setting against that: such a text is written as markup of itself, with every sign escaped, so that no
    picture is fetched and no link is drawn. All tool tips, those of models too, go through here."""
    if "<" not in text:
        return text
    escaped = html.escape(text).replace("\n", "<br>")
    return f"<qt>{escaped}</qt>"


def set_tip(widget: QWidget, text: str) -> None:
    """The tool tip of a widget, shown as it is."""
    widget.setToolTip(tip_text(text))


def set_role(label: QLabel, role: str) -> None:
    """Change the role of a label and have its style follow."""
    if label.property("role") != role:
        label.setProperty("role", role)
        label.style().unpolish(label)
        label.style().polish(label)


def key_button(text: str, tip: str = "", wanted: bool = False) -> QPushButton:
    """A button that names its key; it never takes the focus, so that Space stays with the bench."""
    button = QPushButton(text.replace("&", "&&"))
    button.setAccessibleName(text)
    button.setAccessibleDescription(tip)
    button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    set_tip(button, tip)
    if wanted:
        button.setProperty("wanted", True)
    return button


class WrappedText(Painted):
    """Plain text of any length in the look's own sizes: it takes as many lines as it needs, and breaks a word (a path)
    that is wider than the line."""

    def __init__(self, look: Look, size: float = 15, tone: str = "text", bold: bool = False) -> None:
        super().__init__()
        self._look, self._size, self._tone, self._bold = look, size, tone, bold
        self._text = ""
        self.setTextFormat(Qt.TextFormat.PlainText)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred, QSizePolicy.ControlType.Label)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.updateGeometry()
        self.update()

    def text(self) -> str:
        return self._text

    def set_text(self, text: str, tone: str | None = None) -> None:
        tone = tone or self._tone
        if (text, tone) != (self._text, self._tone):
            self._text, self._tone = text, tone
            self.setAccessibleName(text)
            self.updateGeometry()
            self.update()

    def _laid(self, width: float) -> QTextLayout:
        """The lines at a width, from the top left corner on."""
        laid = QTextLayout(self._text.replace("\n", "\u2028"), self._look.font(self._size, self._bold))
        option = QTextOption()
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        laid.setTextOption(option)
        laid.beginLayout()
        top = 0.0
        while (line := laid.createLine()).isValid():
            line.setLineWidth(max(width, 1.0))
            line.setPosition(QPointF(0, top))
            top += line.height()
        laid.endLayout()
        return laid

    def _metrics(self) -> QFontMetrics:
        return QFontMetrics(self._look.font(self._size, self._bold))

    def heightForWidth(self, width: int) -> int:
        return max(math.ceil(self._laid(width).boundingRect().height()), self._metrics().height()) + 2

    def sizeHint(self) -> QSize:
        metrics = self._metrics()
        return QSize(metrics.horizontalAdvance(self._text) + 4, metrics.height() + 2)

    def minimumSizeHint(self) -> QSize:
        return QSize(self._look.px(24), self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        laid = self._laid(self.width())
        painter = QPainter(self)
        painter.setPen(color(getattr(self._look, self._tone)))
        laid.draw(painter, QPointF(0, (self.height() - laid.boundingRect().height()) / 2))
        painter.end()


class WeightBar(QProgressBar):
    """A share of 0…1 as a bar with its figure; `of` says whose."""

    def __init__(self, share: float, look: Look, of: str = "") -> None:
        super().__init__()
        self._share, self._look = share, look
        self.setValue(round(100 * share))
        self._text = figures.with_unit(figures.number(share * 100, 0), "%")
        self.setAccessibleName(told.NAMED.format(label=of, chosen=self._text) if of else self._text)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(104), self._look.px(21))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._look.px(84), self._look.px(21))

    def paintEvent(self, event: QPaintEvent) -> None:
        look = self._look
        painter = QPainter(self)
        figures = look.px(44)
        bar = QRectF(0, self.height() / 2 - look.px(6), self.width() - figures, look.px(12))
        painter.fillRect(bar, color(look.ground))
        painter.fillRect(
            QRectF(bar.x(), bar.y(), bar.width() * min(max(self._share, 0), 1), bar.height()), color(look.accent)
        )
        painter.setFont(look.font(14))
        painter.setPen(color(look.dim))
        box = QRectF(bar.right(), 0, figures, self.height())
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self._text)
        painter.end()


class ChoiceList(PaintedList):
    """A numbered list: a digit, the arrows or a click chooses. In as many of the wanted columns as its words have room
    for; what is wider than one column goes on in the next line.

    Signals: `changed(int)`: another option was chosen; `taken(int)`: it was chosen by a double click.
    """

    changed = Signal(int)
    taken = Signal(int)

    def __init__(self, options: Sequence[str], look: Look, chosen: int = 0, columns: int = 1) -> None:
        super().__init__()
        self._options, self._look, self._chosen, self._columns = tuple(options), look, chosen, columns
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self._rows: list[RowButton] = []
        self._stand_in()
        self._name()

    def _stand_in(self) -> None:
        """A stand-in for each option."""
        for row in self._rows:
            row.hide()
            row.deleteLater()
        self._rows = [RowButton(self, exclusive=True) for _ in self._options]
        for row, text in zip(self._rows, self._options, strict=True):
            row.setAccessibleName(text)
        for row, box in zip(self._rows, self._boxes(self.width()), strict=True):
            put_over(row, box)
            row.show()

    def set_look(self, look: Look) -> None:
        self._look = look
        self.updateGeometry()
        self.update()

    @property
    def options(self) -> tuple[str, ...]:
        return self._options

    @property
    def chosen(self) -> int:
        return self._chosen

    def choose(self, index: int) -> None:
        if 0 <= index < len(self._options) and index != self._chosen:
            self._chosen = index
            self._name()
            self.update()
            self.changed.emit(index)

    def set_options(self, options: Sequence[str], chosen: int = 0) -> None:
        """Other options in the same place."""
        self._options, self._chosen = tuple(options), chosen
        self._stand_in()
        self._name()
        self.updateGeometry()
        self.update()

    def _name(self) -> None:
        row = self._rows[self._chosen] if self._options else None
        if row is not None:
            row.setChecked(True)
        self.tell(row)

    def chosen_words(self) -> str:
        if not self._options:
            return ""
        count = len(self._options)
        return told.CHOSEN.format(option=self._options[self._chosen], number=self._chosen + 1, count=count)

    # --- geometry ------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        for row, box in zip(self._rows, self._boxes(self.width()), strict=True):
            put_over(row, box)

    def _per_column(self, columns: int | None = None) -> int:
        return -(-len(self._options) // (columns or self._fitting(self.width()))) if self._options else 1

    def _left(self) -> int:
        """Where the words of an option begin in its box."""
        return self._look.px(10) + self._look.px(22)

    def _fitting(self, width: int) -> int:
        """How many columns there is room for."""
        metrics = QFontMetrics(self._look.font(15, bold=True))
        widest = max((metrics.horizontalAdvance(text) for text in self._options), default=0)
        each = self._left() + widest + 8
        return max(min(self._columns, width // each), 1)

    def _heights(self, width: int) -> list[int]:
        """How tall each option is."""
        metrics = QFontMetrics(self._look.font(15, bold=True))
        room = max(width // self._fitting(width) - self._left() - 8, 1)
        wrap = int(Qt.TextFlag.TextWordWrap)
        rows = (metrics.boundingRect(0, 0, room, 100_000, wrap, text).height() for text in self._options)
        least, spare = self._look.px(28), self._look.px(28) - metrics.height()
        return [max(least, tall + spare) for tall in rows]

    def _boxes(self, width: int) -> list[QRectF]:
        columns = self._fitting(width)
        each, wide = self._per_column(columns), width / columns
        boxes, top = [], 2.0
        for k, tall in enumerate(self._heights(width)):
            column, row = divmod(k, each)
            top = 2.0 if row == 0 else top
            boxes.append(QRectF(column * wide + 1, top, wide - 2, tall))
            top += tall
        return boxes

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return math.ceil(max((box.bottom() for box in self._boxes(width)), default=2.0)) + 2

    def sizeHint(self) -> QSize:
        wide = self._look.px(220) * self._columns
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._look.px(120), self._look.px(28))

    def _box(self, index: int) -> QRectF:
        return self._boxes(self.width())[index]

    def paintEvent(self, event: QPaintEvent) -> None:
        look = self._look
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for k, (text, box) in enumerate(zip(self._options, self._boxes(self.width()), strict=True)):
            if k == self._chosen:
                draw_cursor(painter, box, look, self.hasFocus())
            self._paint_option(painter, box, k, text)
        painter.end()

    def _paint_option(self, painter: QPainter, box: QRectF, k: int, text: str) -> None:
        look = self._look
        left = box.x() + look.px(10)
        middle = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap
        if k < 10:
            painter.setFont(look.font(14))
            painter.setPen(color(look.dim))
            painter.drawText(QRectF(left, box.y(), look.px(20), box.height()), middle, str((k + 1) % 10))
        left += look.px(22)
        painter.setFont(look.font(15, bold=k == self._chosen))
        painter.setPen(color(look.text))
        painter.drawText(QRectF(left, box.y(), box.right() - left - 4, box.height()), middle, text)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        moves = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_Left: -self._per_column()}
        moves[Qt.Key.Key_Right] = self._per_column()
        if event.key() in moves:
            self.choose(self._chosen + moves[Qt.Key(event.key())])
        elif digit := digit_of(event):
            self.choose((int(digit) - 1) % 10)
        else:
            event.ignore()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus()
        self.choose(self._at(event.position()))

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self._at(event.position()) == self._chosen:
            self.taken.emit(self._chosen)

    def _at(self, point: QPointF) -> int:
        return next((k for k, box in enumerate(self._boxes(self.width())) if box.contains(point)), -1)

    def focusInEvent(self, event: QFocusEvent) -> None:
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.update()
