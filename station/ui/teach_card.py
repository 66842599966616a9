"""The large card of a lesson: what the hand does now, how long, and whether the device answers. Stands where the step
card stands, in type that can be read with both hands on the unit.
"""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from station.bench.teaching_types import TeachView
from station.checks.types import Outcome
from station.ui.look import Look, color
from station.ui.shapes import ShapeMark
from station.ui.teach_words import brief, headline, minutes, sign, to_do
from station.ui.widgets import plain_label, set_role

WALK_KEYS = "Space: done, next · R: this step again · Backspace: the step before · P: pause · Esc: stop, kept"
REST_KEYS = "R: this step again · Backspace: the step before · P: pause · Esc: stop, kept"
PAUSE_KEYS = "Space: go on · Backspace: the step before · Esc: stop, kept"
AWAY_KEYS = "Plug it in: it goes on · Esc: stop, kept"
LEARN_KEYS = "Esc: stop, kept"


class TimeBar(QWidget):
    """How much time is left: a bar that runs out, and the seconds."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look, self._share, self._words = look, 0.0, ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.updateGeometry()
        self.update()

    def show_left(self, share: float, seconds: float) -> None:
        """`share` of the step's time is left, 0…1."""
        words = f"{seconds:.0f} s"
        share = round(min(max(share, 0.0), 1.0), 3)
        if (share, words) != (self._share, self._words):
            self._share, self._words = share, words
            self.setAccessibleName(f"{words} left")
            self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(200), self._look.px(26))

    def paintEvent(self, event: QPaintEvent) -> None:
        look = self._look
        painter = QPainter(self)
        figures, tall = look.px(52), look.px(14)
        bar = QRectF(0, (self.height() - tall) / 2, self.width() - figures, tall)
        painter.fillRect(bar, color(look.line))
        painter.fillRect(QRectF(bar.x(), bar.y(), bar.width() * self._share, tall), color(look.accent))
        painter.setFont(look.font(18, bold=True))
        painter.setPen(color(look.text))
        box = QRectF(bar.right(), 0, figures, self.height())
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self._words)
        painter.end()


class TeachCard(QFrame):
    """`show_view` every frame; it touches only what changed."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self._look = look
        self.title = plain_label("", "accent", wrap=True)
        self.headline = plain_label("", "headline", wrap=True)
        self.do = plain_label("", "prompt", wrap=True)
        self.bar = TimeBar(look)
        self.mark = ShapeMark(Outcome.NOT_DONE, look, 22)
        self.sign = plain_label("", "do", wrap=True)
        self.following = plain_label("", "dim", wrap=True)
        self.keys = plain_label("", "bold", wrap=True)
        self._signs = QWidget()
        line = QHBoxLayout(self._signs)
        line.setContentsMargins(0, 0, 0, 0)
        line.addWidget(self.mark)
        line.addWidget(self.sign, 1)
        self._box = QVBoxLayout(self)
        for part in (self.title, self.headline, self.do, self.bar, self._signs, self.following):
            self._box.addWidget(part)
        self._box.addStretch(1)
        self._box.addWidget(self.keys)
        self._space()

    def set_look(self, look: Look) -> None:
        self._look = look
        self.bar.set_look(look)
        self.mark.set_look(look)
        self._space()

    def _space(self) -> None:
        pad = self._look.px(20)
        self._box.setContentsMargins(pad, self._look.px(14), pad, self._look.px(14))
        self._box.setSpacing(self._look.px(8))

    def show_view(self, view: TeachView) -> None:
        """Draw the lesson as it stands."""
        walking = view.state == "walking" and view.step is not None
        part = f" · step {view.number} of {view.count}" if view.count else ""
        again = ", once more" if view.round > 1 else ""
        _put(self.title, f"Teaching {view.product}{again}{part}")
        self.bar.setVisible(walking)
        self._signs.setVisible(walking)
        if walking:
            self._show_step(view)
        else:
            self._show_waiting(view)

    def _show_step(self, view: TeachView) -> None:
        step = view.step
        assert step is not None
        _put(self.headline, headline(step))
        _put(self.do, to_do(step))
        self.bar.show_left(view.left_s / step.seconds, view.left_s)
        words, answers = sign(view)
        _put(self.sign, words)
        set_role(self.sign, "signgood" if answers else "do")
        self.mark.set_shape(Outcome.PASS if answers else Outcome.NOT_DONE)
        self.mark.setVisible(answers is not None)
        then = f"Then: {brief(view.following)}" if view.following is not None else "Then: what was learned"
        _put(self.following, f"{then} · {minutes(view.to_go_s)} to go")
        if view.ends_soon:
            _put(self.keys, "Noted: next in a moment · R: this step again")
        else:
            _put(self.keys, _together(REST_KEYS if step.action == "rest" else WALK_KEYS))

    def _show_waiting(self, view: TeachView) -> None:
        kept = f"{view.seen} steps are kept." if view.seen != 1 else "1 step is kept."
        head, do, keys = {
            "away": ("It is unplugged", f"{kept} Plug it in again.", AWAY_KEYS),
            "learning": ("Working it out", "A few seconds. Nothing to do.", LEARN_KEYS),
        }.get(view.state, ("Paused", f"{view.message} {kept}".strip(), PAUSE_KEYS))
        _put(self.headline, head)
        _put(self.do, do)
        waits = view.state == "paused" and view.step is not None
        _put(self.following, f"Next: {brief(view.step)}" if waits and view.step is not None else "")
        _put(self.keys, _together(keys))


def _put(label: QLabel, text: str) -> None:
    if label.text() != text:
        label.setText(text)
    label.setVisible(bool(text))


def _together(keys: str) -> str:
    """A key and its first word stay on one line."""
    return keys.replace(": ", ":\N{NO-BREAK SPACE}")
