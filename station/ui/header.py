"""The line at the top (whose unit this is, how the device reports) and the one at the foot (views, messages)."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from station.records.types import Unit
from station.sources.port import DeviceInfo, SourceStatus
from station.ui.arrival import BUSES
from station.ui.keys import VIEWS
from station.ui.painting.look import Look, color
from station.ui.painting.shapes import CAUTION, ShapeMark
from station.ui.painting.widgets import ElidedLabel, key_button, plain_label
from station.ui.words import count_of


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
            self.tag.setText("Restpoint")
            self.about.set_text("no unit on the bench")
            return
        self.tag.setText(unit.tag)
        claim = f"  ·  claim: “{unit.claim}”" if unit.claim else ""
        self.about.set_text(f"{unit.model or 'model not known yet'}{claim}")

    def set_device(self, text: str) -> None:
        if self.device.text() != text:
            self.device.setText(text)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), color(self._look.ground))
        painter.setPen(QPen(color(self._look.line), 1))
        painter.drawLine(0, self.height() - 1, self.width(), self.height() - 1)
        painter.end()


def device_line(info: DeviceInfo | None, status: SourceStatus | None, rate_hz: float, dropped: int) -> str:
    """ "USB · 1,000 reports/s · 0 lost · stamp ±0.06 ms", and dropped frames once there are any."""
    if status is None:
        return "no device"
    bus = BUSES.get(info.bus, info.bus) if info is not None else "device"
    parts = [bus]
    if status.state == "lost":
        parts.append("away")
    elif status.state == "ended":
        parts.append("ended")
    else:
        parts.append(f"{_round_rate(rate_hz):,} reports/s")
    parts.append(f"{status.lost:,} lost")
    if status.stamp_error_p99_us is not None:
        parts.append(f"stamp ±{status.stamp_error_p99_us / 1000:.2f} ms")
    if dropped:
        parts.append(f"{dropped:,} frames dropped")
    return " · ".join(parts)


def _round_rate(rate_hz: float) -> int:
    """Two to three digits that mean something: 998.4 → 1,000; 124.7 → 125; 12.3 → 12."""
    step = 10 if rate_hz >= 500 else 5 if rate_hz >= 100 else 1
    return round(rate_hz / step) * step


class FootLine(QWidget):
    """Views with their keys, and the last message."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self.views: list[QPushButton] = []
        self._box = QHBoxLayout(self)
        for view in VIEWS:
            button = key_button(f"{view.key} {view.words}")
            button.setProperty("view", True)
            button.setCheckable(True)
            self.views.append(button)
            self._box.addWidget(button)
        self.mark = ShapeMark(CAUTION, look, 16)
        self.message = ElidedLabel(look, 15)
        self.panes = plain_label("", "small")
        self.help = key_button("? all keys")
        self.help.setProperty("view", True)
        self._box.addWidget(self.mark)
        self._box.addWidget(self.message, 1)
        self._box.addWidget(self.panes)
        self._box.addWidget(self.help)
        self.mark.hide()
        self.message.align = Qt.AlignmentFlag.AlignLeft
        self._space()

    def set_look(self, look: Look) -> None:
        self._look = look
        self.message.set_look(look)
        self.mark.set_look(look)
        self._space()

    def _space(self) -> None:
        self._box.setContentsMargins(self._look.px(14), 0, self._look.px(14), self._look.px(6))
        self._box.setSpacing(self._look.px(6))

    def set_view(self, index: int) -> None:
        for k, button in enumerate(self.views):
            button.setChecked(k == index)

    def say(self, text: str, bad: bool) -> None:
        """Show a message; an empty text puts it away."""
        self.message.set_text(text, "bad" if bad else "text")
        self.message.setToolTip(text)
        self.mark.setVisible(bool(text) and bad)


class Splash(QWidget):
    """The empty bench: what to do first."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._devices: tuple[str, ...] = ()
        self._due = 0
        self.setAccessibleName("Plug in a unit, or press D for a simulated sample unit")

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
        due = [("F4", f"{count_of(self._due, 'unit is', 'units are')} ready for the second test")] if self._due else []
        return [
            ("Plug in", "a unit: by cable, or paired; it is recognised by its serial number or its tag"),
            ("D", "a simulated sample unit, to see how a visit goes"),
            ("U", "find a unit that is in the records"),
            ("F2", "write up a lot and its units first"),
            *due,
            ("?", "all keys"),
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
        painter.drawText(QRectF(left, y, wide, look.px(46)), Qt.AlignmentFlag.AlignLeft, "The bench is free")
        y += look.px(64)
        for key, words in self.lines():
            painter.setFont(look.font(18, bold=True))
            painter.setPen(color(look.accent))
            painter.drawText(QRectF(left, y, look.px(110), look.px(30)), Qt.AlignmentFlag.AlignLeft, key)
            painter.setFont(look.font(18))
            painter.setPen(color(look.text))
            box = QRectF(left + look.px(110), y, wide - look.px(110), look.px(60))
            used = painter.boundingRect(box, Qt.TextFlag.TextWordWrap, words)
            painter.drawText(box, Qt.TextFlag.TextWordWrap, words)
            y += max(used.height(), look.px(26)) + look.px(10)
        self._paint_devices(painter, QRectF(left, y + look.px(10), wide, self.height() - y))
        painter.end()

    def _paint_devices(self, painter: QPainter, box: QRectF) -> None:
        look = self._look
        painter.setFont(look.font(15))
        painter.setPen(color(look.dim))
        text = "\n".join(self._devices) or "No device is plugged in that could be tested."
        painter.drawText(box, Qt.TextFlag.TextWordWrap, text)
