"""The line at the top (whose unit this is, how the device reports) and the one at the foot (views, messages)."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QWidget

from station.records.types import Unit
from station.sources.port import DeviceInfo, SourceStatus
from station.ui.keys import VIEWS, cap_of
from station.ui.painting.flow import FlowLayout
from station.ui.painting.hints import KEY_OF_CAP, KeyHints
from station.ui.painting.look import Look, color
from station.ui.painting.shapes import CAUTION, ShapeMark
from station.ui.painting.told import Painted
from station.ui.painting.widgets import WrappedText, key_button, plain_label
from station.words import arrival, common, figures, undo
from station.words import window as words
from station.words.grammar import plural

NARROW_PX = 900
"""below this width, at 100 %, what stands side by side at the top and at the foot stands in two lines"""


class HeaderLine(QWidget):
    """Tag, model, claim on the left; the device line on the right."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("ground")
        self._look = look
        self.tag = plain_label("", "tag")
        self.about = WrappedText(look, 17, "dim")
        self.device = plain_label("", "dim", wrap=True)
        self._narrow = False
        self._box = QGridLayout(self)
        self._box.addWidget(self.tag, 0, 0)
        self._box.addWidget(self.about, 0, 1)
        self._box.setColumnStretch(1, 1)
        self._space()
        self._fold(force=True)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.about.set_look(look)
        self._space()

    def _space(self) -> None:
        self._box.setContentsMargins(self._look.px(20), self._look.px(8), self._look.px(20), self._look.px(8))
        self._box.setHorizontalSpacing(self._look.px(14))
        self._box.setVerticalSpacing(self._look.px(2))
        self._fold()

    def _fold(self, *, force: bool = False) -> None:
        """In a narrow window the device line stands below the unit's."""
        narrow = self.width() < self._look.px(NARROW_PX)
        if narrow == self._narrow and not force:
            return
        self._narrow = narrow
        self._box.removeWidget(self.device)
        self.device.setWordWrap(narrow)
        if narrow:
            self._box.addWidget(self.device, 1, 0, 1, 2)
        else:
            self._box.addWidget(self.device, 0, 2)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def set_unit(self, unit: Unit | None) -> None:
        if unit is None:
            self.tag.setText(words.PROGRAM)
            self.about.set_text(words.NO_UNIT)
            return
        self.tag.setText(unit.tag)
        model = unit.model or words.NO_MODEL
        self.about.set_text(words.MODEL_AND_CLAIM.format(model=model, claim=unit.claim) if unit.claim else model)

    def set_device(self, text: str) -> None:
        if self.device.text() != text:
            self.device.setText(text)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), color(self._look.ground))
        painter.setPen(QPen(color(self._look.line), 1))
        painter.drawLine(0, self.height() - 1, self.width(), self.height() - 1)
        painter.end()


def device_line(info: DeviceInfo | None, status: SourceStatus | None, rate_hz: float) -> str:
    """ "USB · 1,000 reports/s · 0 lost · stamp ±0.06 ms"."""
    if status is None:
        return words.NO_DEVICE
    parts = [arrival.BUSES.get(info.bus, info.bus) if info is not None else words.DEVICE]
    if status.state == "lost":
        parts.append(words.AWAY)
    elif status.state == "ended":
        parts.append(words.ENDED)
    else:
        parts.append(words.RATE.format(rate=figures.number(_round_rate(rate_hz), 0)))
    parts.append(words.LOST.format(count=figures.number(status.lost, 0)))
    if status.stamp_error_p99_us is not None:
        error = figures.with_unit(figures.number(status.stamp_error_p99_us / 1000, 2), "ms")
        parts.append(words.STAMP_ERROR.format(error=error))
    return common.DOT.join(parts)


def _round_rate(rate_hz: float) -> int:
    """Two to three digits that mean something: 998.4 → 1,000; 124.7 → 125; 12.3 → 12."""
    step = 10 if rate_hz >= 500 else 5 if rate_hz >= 100 else 1
    return round(rate_hz / step) * step


class FootLine(QWidget):
    """Views with their keys, and the last message: between them where it fits, else above them, whole.

    Signals: `put_away()`: the person wants the message gone.
    """

    put_away = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._shape = (False, False)
        """narrow, and the message above the keys"""
        self.views: list[QPushButton] = []
        self._keys = QWidget()
        self._flow = FlowLayout(self._keys, spread=True)
        self._flow.setContentsMargins(0, 0, 0, 0)
        for view in VIEWS:
            button = key_button(words.VIEW_BUTTON.format(key=cap_of(view.key), view=view.words))
            button.setProperty("view", True)
            button.setCheckable(True)
            self.views.append(button)
            self._flow.addWidget(button)
        self._said = QWidget()
        line = self._line = QHBoxLayout(self._said)
        line.setContentsMargins(0, 0, 0, 0)
        self.mark = ShapeMark(CAUTION, look, 16)
        self.message = WrappedText(look, 15)
        self.away = key_button(words.PUT_AWAY, words.PUT_AWAY_TOLD)
        self.away.setProperty("view", True)
        self.away.clicked.connect(self.put_away)
        line.addWidget(self.mark)
        line.addWidget(self.message, 1)
        self.undo = key_button(undo.UNDO_BUTTON.format(key=cap_of("Ctrl+Z")), undo.UNDO_TOLD)
        self.undo.setProperty("view", True)
        self.undo.hide()
        line.addWidget(self.undo)
        line.addWidget(self.away)
        self.panes = KeyHints("", look, wrap=False, where="bench")
        self.help = key_button(words.ALL_KEYS_BUTTON)
        self.help.setProperty("view", True)
        self._box = QGridLayout(self)
        self._box.setColumnStretch(1, 1)
        self._space()
        self.say("", bad=False)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.message.set_look(look)
        self.mark.set_look(look)
        self.panes.set_look(look)
        self._space()

    def _space(self) -> None:
        self._box.setContentsMargins(self._look.px(14), 0, self._look.px(14), self._look.px(6))
        for box in (self._box, self._flow, self._line):
            box.setSpacing(self._look.px(6))
        self._fold()

    def _fold(self) -> None:
        narrow = self.width() < self._look.px(NARROW_PX)
        shape = narrow, narrow or self._too_long()
        if shape == self._shape and self._box.count():
            return
        self._shape = shape
        for part in (self._keys, self._said, self.panes, self.help):
            self._box.removeWidget(part)
            self._flow.removeWidget(part)
        for part in (self.panes, self.help):
            if narrow:
                self._flow.addWidget(part)
        if narrow:
            self._box.addWidget(self._said, 0, 0, 1, 4)
            self._box.addWidget(self._keys, 1, 0, 1, 4)
            return
        above = shape[1]
        if above:
            self._box.addWidget(self._said, 0, 0, 1, 4)
        for column, part in enumerate((self._keys, self._said, self.panes, self.help)):
            if part is not self._said or not above:
                self._box.addWidget(part, int(above), column)

    def _too_long(self) -> bool:
        """Whether the message would not stand on one line between the keys."""
        look = self._look
        shown = [*self.views, self.panes, self.help, self.away]
        shown += [] if self.undo.isHidden() else [self.undo]
        taken = sum(b.sizeHint().width() + look.px(6) for b in shown) + look.px(60)
        return taken + self.message.sizeHint().width() > self.width()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def set_view(self, index: int) -> None:
        for k, button in enumerate(self.views):
            button.setChecked(k == index)

    def say(self, text: str, bad: bool) -> None:
        """Show a message; an empty text puts it away."""
        self.message.set_text(text, "bad" if bad else "text")
        self.mark.setVisible(bool(text) and bad)
        self._text = text
        self.away.setVisible(bool(text))
        self.offer_undo(not self.undo.isHidden())

    def offer_undo(self, offered: bool) -> None:
        """Show or hide the button that takes back what was saved last."""
        self.undo.setVisible(offered)
        self._said.setVisible(bool(self._text) or offered)
        self._fold()

    def is_bad(self) -> bool:
        """The message tells of a fault, and must be read."""
        return not self.mark.isHidden()

    def text(self) -> str:
        """The message that stands there."""
        return self._text


class Splash(Painted):
    """The empty bench: what to do first. A line with a key can be clicked.

    Signals: `taken(str)`: the key of the line that was clicked.
    """

    taken = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._devices: tuple[str, ...] = ()
        self._due = 0
        self._boxes: list[tuple[QRectF, str]] = []
        """where the lines with a key stand"""
        self.setMouseTracking(True)
        self.setAccessibleName(words.BENCH_FREE_TOLD)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.setMinimumHeight(self.minimum())
        self.update()

    def minimum(self) -> int:
        """Height that the lines need."""
        return self._look.px(130 + 48 * len(self.lines()))

    def set_devices(self, lines: tuple[str, ...]) -> None:
        """What is plugged in now, one line each."""
        if lines != self._devices:
            self._devices = lines
            self.update()

    def set_due(self, ready: int) -> None:
        """How many units have rested long enough."""
        if ready != self._due:
            self._due = ready
            self.update()

    def lines(self) -> list[tuple[str, str]]:
        """(key or place, what it does) in order."""
        due = [("F4", plural(self._due, words.DUE_WHAT).format(count=self._due))] if self._due else []
        return [
            (words.PLUG_IN, words.PLUG_IN_WHAT),
            ("D", words.SAMPLE_WHAT),
            ("U", words.FIND_WHAT),
            ("F2", words.LOTS_WHAT),
            *due,
            ("?", words.KEYS_WHAT),
        ]

    def paintEvent(self, event: QPaintEvent) -> None:
        look = self._look
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        wide = min(look.px(760), self.width() - look.px(40))
        left = (self.width() - wide) / 2
        y = max((self.height() - self.minimum()) * 0.45, look.px(16))
        painter.setPen(color(look.text))
        painter.setFont(look.font(34, bold=True))
        painter.drawText(QRectF(left, y, wide, look.px(46)), Qt.AlignmentFlag.AlignLeft, words.BENCH_FREE)
        y += look.px(64)
        self._boxes = []
        for key, what in self.lines():
            painter.setFont(look.font(18, bold=True))
            painter.setPen(color(look.accent))
            painter.drawText(QRectF(left, y, look.px(110), look.px(30)), Qt.AlignmentFlag.AlignLeft, key)
            painter.setFont(look.font(18))
            painter.setPen(color(look.text))
            box = QRectF(left + look.px(110), y, wide - look.px(110), look.px(60))
            used = painter.boundingRect(box, Qt.TextFlag.TextWordWrap, what)
            painter.drawText(box, Qt.TextFlag.TextWordWrap, what)
            tall = max(used.height(), look.px(26)) + look.px(10)
            if key in KEY_OF_CAP:
                self._boxes.append((QRectF(left, y, wide, tall), KEY_OF_CAP[key]))
            y += tall
        self._paint_devices(painter, QRectF(left, y + look.px(10), wide, self.height() - y))
        painter.end()

    def _key_at(self, point: QPointF) -> str:
        return next((key for box, key in self._boxes if box.contains(point)), "")

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        over = bool(self._key_at(event.position()))
        self.setCursor(Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if key := self._key_at(event.position()):
            self.taken.emit(key)

    def _paint_devices(self, painter: QPainter, box: QRectF) -> None:
        look = self._look
        painter.setFont(look.font(15))
        painter.setPen(color(look.dim))
        text = "\n".join(self._devices) or words.NO_DEVICE_TO_TEST
        painter.drawText(box, Qt.TextFlag.TextWordWrap, text)
