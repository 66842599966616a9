"""Panels around a lesson: how many controls of each kind there are before it, the sheet's name after it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QLineEdit, QSizePolicy, QWidget

from station.errors import InputError
from station.sheets.learn import duration_s, usual_controls, walk
from station.sheets.learn.walk import MOST, USUAL
from station.sources.port import DeviceInfo
from station.ui.painting.look import Look, color
from station.ui.painting.told import PaintedList, RowValue, draw_cursor, put_over
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel
from station.ui.ports import KeptWalk, SettingsPort, TeachingPort
from station.ui.teaching.said import minutes
from station.words import grammar
from station.words import lessons as words
from station.words import panels as panel_words
from station.words.figures import when


class CountList(PaintedList):
    """Kinds of control with a number each: the arrows choose and change, a digit sets.

    Signals: `changed()`: a number was changed; `moved()`: another kind was chosen.
    """

    changed = Signal()
    moved = Signal()

    def __init__(self, counts: Mapping[str, int], look: Look) -> None:
        super().__init__()
        self._look, self.counts, self._at = look, dict(counts), 0
        self.said = ""
        """what is wrong with the last digit, for the panel to show"""
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._values = {kind: RowValue(self, MOST[kind]) for kind in self.counts}
        for kind, value in self._values.items():
            value.setAccessibleName(words.KINDS[kind])
        self._name()

    def _kind(self) -> str:
        return list(self.counts)[self._at]

    def _name(self) -> None:
        for kind, value in self._values.items():
            value.setValue(self.counts[kind])
        self.tell(self._values[self._kind()])

    def chosen_words(self) -> str:
        kind = self._kind()
        return words.NUMBER_OF.format(kind=words.KINDS[kind], number=self.counts[kind])

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        for k, value in enumerate(self._values.values()):
            put_over(value, self._box(k))

    def _set(self, number: int) -> None:
        kind, most = self._kind(), MOST[self._kind()]
        self.said = words.AT_MOST.format(kind=words.KINDS_SHORT[kind], most=most) if number > most else ""
        self.counts[kind] = min(max(number, 0), most)
        self._name()
        self.update()
        self.changed.emit()

    def row_box(self) -> QRectF:
        """Where the chosen row stands."""
        return self._box(self._at)

    def _row_height(self) -> int:
        return self._look.px(28)

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(360), self._row_height() * len(self.counts) + 4)

    def _box(self, row: int) -> QRectF:
        return QRectF(1, row * self._row_height() + 2, self.width() - 2, self._row_height())

    def paintEvent(self, event: QPaintEvent) -> None:
        look, middle = self._look, Qt.AlignmentFlag.AlignVCenter
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        figures = look.px(76)
        for row, (kind, number) in enumerate(self.counts.items()):
            box, here = self._box(row), row == self._at
            if here:
                draw_cursor(painter, box, look, self.hasFocus())
            inner = box.adjusted(look.px(10), 0, -look.px(10), 0)
            painter.setPen(color(look.text))
            painter.setFont(look.font(15, bold=here))
            name = painter.fontMetrics().elidedText(
                words.KINDS[kind], Qt.TextElideMode.ElideRight, int(inner.width() - figures)
            )
            painter.drawText(inner, Qt.AlignmentFlag.AlignLeft | middle, name)
            painter.setFont(look.font(17, bold=True))
            box = QRectF(inner.right() - figures, inner.y(), figures, inner.height())
            painter.drawText(box, Qt.AlignmentFlag.AlignHCenter | middle, str(number))
            if here:
                painter.setPen(color(look.accent))
                painter.drawText(box, Qt.AlignmentFlag.AlignLeft | middle, "−" if number else "")
                painter.drawText(box, Qt.AlignmentFlag.AlignRight | middle, "+" if number < MOST[kind] else "")
        painter.end()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, text = event.key(), event.text()
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._at = (self._at + (1 if key == Qt.Key.Key_Down else -1)) % len(self.counts)
            self._name()
            self.update()
            self.moved.emit()
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right) or text in ("+", "-"):
            self._set(self.counts[self._kind()] + (1 if key == Qt.Key.Key_Right or text == "+" else -1))
        elif text.isdecimal():
            self._set(int(text))
        else:
            event.ignore()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus()
        row = next((k for k in range(len(self.counts)) if self._box(k).contains(event.position())), self._at)
        self._at = row
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.update()


class CountPanel(Panel):
    """How many controls of each kind the device has; the usual numbers stand there, or those of the last time."""

    width_px = 560
    keys = words.COUNT_KEYS

    def __init__(
        self, teaching: TeachingPort, settings: SettingsPort, device: DeviceInfo, look: Look, parent: QWidget
    ) -> None:
        super().__init__(words.HOW_MANY.format(device=device.product or words.THIS_DEVICE), look, parent)
        self._teaching, self._settings, self._device = teaching, settings, device
        self._setting = f"teach {device.vendor_id:04x}:{device.product_id:04x}"
        self.counts = CountList(_remembered(settings.get(self._setting)), look)
        self._long = plain_label("", "dim", wrap=True)
        self.kept = teaching.kept_walk(device)
        self.go_on = ChoiceList(_offers(self.kept), look)
        if self.kept is not None:
            self.add(self.go_on, words.STOPPED_WALK, focus=True)
            self._keys.setText(words.COUNT_OR_GO_ON_KEYS)
        self.add(self.counts, focus=True)
        self.add_foot(self._long)
        self.counts.changed.connect(self._tell)
        self.counts.moved.connect(self._follow)
        self._tell()
        self.finish()

    def _follow(self) -> None:
        """Keep the row in sight where the panel is lower than its rows."""
        at = self.counts.row_box().center().toPoint()
        self._area.ensureVisible(at.x(), self.counts.y() + at.y(), 0, self.look.px(28))

    def _tell(self) -> None:
        steps = walk(usual_controls(**self.counts.counts))
        length = words.LENGTH.format(steps=grammar.count_of(len(steps), words.STEPS), time=minutes(duration_s(steps)))
        self._long.setText(self.counts.said or length)
        self.place()

    def commit(self) -> None:
        counts = self.counts.counts
        if not any(counts.values()):
            raise InputError(words.SAY_HOW_MANY)
        self._settings.put(self._setting, " ".join(str(n) for n in counts.values()))
        go_on = self.kept is not None and self.go_on.chosen == 0
        self._teaching.begin(self._device, counts, go_on=go_on)


class TaughtPanel(Panel):
    """Name the sheet that was learned."""

    keys = words.NAME_KEYS

    def __init__(self, teaching: TeachingPort, look: Look, parent: QWidget) -> None:
        super().__init__(words.NAME_MODEL, look, parent)
        self._teaching = teaching
        self.name = QLineEdit(teaching.proposed_name())
        self.add(self.name, words.NAME_ON_LABELS, focus=True)
        self.add(plain_label(words.NAME_COUNTS, "small", wrap=True))
        self.finish()
        self.name.selectAll()

    def commit(self) -> None:
        name = self.name.text().strip()
        if not name:
            raise InputError(panel_words.SHEET_NEEDS_NAME)
        self._teaching.save_taught(name)


def _remembered(text: str) -> dict[str, int]:
    """The numbers of last time; the usual ones if the text is none of ours."""
    parts = text.split()
    if len(parts) == len(MOST) and all(p.isdecimal() for p in parts):
        return {kind: min(int(p), most) for (kind, most), p in zip(MOST.items(), parts, strict=True)}
    return {kind: USUAL.get(kind, 0) for kind in MOST}


def _offers(kept: KeptWalk | None) -> list[str]:
    if kept is None:
        return []
    at = datetime.fromtimestamp(kept.at_s, UTC).isoformat()
    return [words.GO_ON_WITH.format(time=when(at)), words.BEGIN_ANEW]
