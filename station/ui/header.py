"""The line at the top (whose unit this is, how the device reports) and the one at the foot (views, messages)."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetrics, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from station.records.types import Unit
from station.sources.port import DeviceInfo, SourceStatus
from station.ui.keys import VIEWS, cap_of
from station.ui.painting.hints import KEY_OF_CAP, KeyHints
from station.ui.painting.look import Look, color
from station.ui.painting.shapes import CAUTION, ShapeMark
from station.ui.painting.widgets import ElidedLabel, key_button, plain_label, set_role
from station.words import arrival, common, figures
from station.words import window as words
from station.words.grammar import plural


class HeaderLine(QWidget):
    """Tag, model, claim on the left; the device line on the right."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("ground")
        self._look = look
        self.tag = plain_label("", "tag")
        self.about = ElidedLabel(look, 17, "dim")
        self.device = plain_label("", "dim")
        self._box = QHBoxLayout(self)
        self._box.addWidget(self.tag)
        self._box.addWidget(self.about, 1)
        self._box.addWidget(self.device)
        self._space()

    def set_look(self, look: Look) -> None:
        self._look = look
        self.about.set_look(look)
        self._space()

    def _space(self) -> None:
        self._box.setContentsMargins(self._look.px(20), self._look.px(8), self._look.px(20), self._look.px(8))
        self._box.setSpacing(self._look.px(14))

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
        self.views: list[QPushButton] = []
        self._box = QHBoxLayout()
        self._above = QHBoxLayout()
        self._rows = QVBoxLayout(self)
        self._rows.addLayout(self._above)
        self._rows.addLayout(self._box)
        for view in VIEWS:
            button = key_button(words.VIEW_BUTTON.format(key=cap_of(view.key), view=view.words))
            button.setProperty("view", True)
            button.setCheckable(True)
            self.views.append(button)
            self._box.addWidget(button)
        self.mark = ShapeMark(CAUTION, look, 16)
        self.message = plain_label("", "plain", wrap=True)
        self.message.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.away = key_button(words.PUT_AWAY, words.PUT_AWAY_TOLD)
        self.away.setProperty("view", True)
        self.away.clicked.connect(self.put_away)
        self.panes = KeyHints("", look, wrap=False)
        self.help = key_button(words.ALL_KEYS_BUTTON)
        self.help.setProperty("view", True)
        self._box.addStretch(1)
        self._box.addWidget(self.panes)
        self._box.addWidget(self.help)
        self._between = len(self.views)
        self._is_above = True
        self._place(above=False)
        self.say("", bad=False)
        self._space()

    def set_look(self, look: Look) -> None:
        self._look = look
        self.mark.set_look(look)
        self.panes.set_look(look)
        self._space()
        self._fit()

    def _space(self) -> None:
        look = self._look
        self._rows.setContentsMargins(look.px(14), 0, look.px(14), look.px(6))
        self._rows.setSpacing(look.px(4))
        for box in (self._box, self._above):
            box.setSpacing(look.px(6))
        self._above.setContentsMargins(look.px(6), 0, 0, 0)

    def _place(self, above: bool) -> None:
        """Put the message above the buttons, or between them."""
        if above == self._is_above:
            return
        self._is_above = above
        old, new = (self._box, self._above) if above else (self._above, self._box)
        for k, part in enumerate((self.mark, self.message, self.away)):
            old.removeWidget(part)
            new.insertWidget((0 if above else self._between) + k, part, 1000 if part is self.message else 0)

    def _fit(self) -> None:
        """The message stands whole, wherever there is room for it."""
        look = self._look
        shown = [b for b in (*self.views, self.panes, self.help, self.away) if not b.isHidden()]
        taken = sum(b.sizeHint().width() + look.px(6) for b in shown) + look.px(60)
        font = look.font(15, bold=self.is_bad())
        wide = QFontMetrics(font).horizontalAdvance(self.message.text())
        self._place(above=taken + wide > self.width())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def set_view(self, index: int) -> None:
        for k, button in enumerate(self.views):
            button.setChecked(k == index)

    def say(self, text: str, bad: bool) -> None:
        """Show a message; an empty text puts it away."""
        self.message.setText(text)
        set_role(self.message, "bad" if bad else "plain")
        self.mark.setVisible(bool(text) and bad)
        for part in (self.message, self.away):
            part.setVisible(bool(text))
        self._fit()

    def is_bad(self) -> bool:
        """The message tells of a fault."""
        return not self.mark.isHidden()


class Splash(QWidget):
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
