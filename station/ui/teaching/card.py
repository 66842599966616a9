"""The large card of a lesson: what the hand does now, how long, and whether the device answers. Stands where the step
card stands, in type that can be read with both hands on the unit.
"""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QProgressBar, QSizePolicy, QVBoxLayout, QWidget

from station.bench.teaching_types import TeachView
from station.checks.types import Outcome
from station.ui.painting.hints import KeyHints
from station.ui.painting.look import LESSON_SIZES, Look, color
from station.ui.painting.shapes import ShapeMark
from station.ui.painting.widgets import plain_label, set_role
from station.ui.teaching import said
from station.words import lessons as words
from station.words import told

TIGHT_FROM = 3


class TimeBar(QProgressBar):
    """How much time is left: a bar that runs out, and the seconds."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look, self._share, self._time = look, 0.0, ""
        self.setAccessibleName(told.TIME_LEFT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.updateGeometry()
        self.update()

    def show_left(self, share: float, seconds: float) -> None:
        """`share` of the step's time is left, 0…1."""
        time = said.seconds_left(seconds)
        share = round(min(max(share, 0.0), 1.0), 3)
        if (share, time) != (self._share, self._time):
            self._share, self._time = share, time
            self.setValue(round(100 * share))
            self.setAccessibleName(words.TIME_LEFT.format(time=time))
            self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(200), self._look.px(30))

    def paintEvent(self, event: QPaintEvent) -> None:
        look = self._look
        painter = QPainter(self)
        figures, tall = look.px(60), look.px(18)
        bar = QRectF(0, (self.height() - tall) / 2, self.width() - figures, tall)
        painter.fillRect(bar, color(look.line))
        painter.fillRect(QRectF(bar.x(), bar.y(), bar.width() * self._share, tall), color(look.accent))
        painter.setFont(look.font(22, bold=True))
        painter.setPen(color(look.text))
        box = QRectF(bar.right(), 0, figures, self.height())
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self._time)
        painter.end()


class TeachCard(QFrame):
    """`show_view` every frame; it touches only what changed."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self._look, self._tight = look, False
        self.title = plain_label("", "accent", wrap=True)
        self.headline = plain_label("", "headline0", wrap=True)
        self.do = plain_label("", "prompt0", wrap=True)
        self.bar = TimeBar(look)
        self.mark = ShapeMark(Outcome.NOT_DONE, look, 24)
        self.sign = plain_label("", "sign", wrap=True)
        self.following = plain_label("", "dim", wrap=True)
        self.keys = KeyHints("", look, "bold")
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
        self.keys.set_look(look)
        self._space()

    def _space(self) -> None:
        pad = self._look.px(20)
        self._box.setContentsMargins(pad, self._look.px(14), pad, self._look.px(14))
        self._fit()

    def _fit(self) -> None:
        """The largest type that there is room for; in the least room the line that says what comes next gives way."""
        last = len(LESSON_SIZES) - 1
        size = next((k for k in range(last) if self._needed(k) <= self.height()), last)
        self._tight = size >= TIGHT_FROM
        set_role(self.headline, f"headline{size}")
        set_role(self.do, f"prompt{size}")
        set_role(self.keys, "bold" if self._tight else "keys")
        self._box.setSpacing(self._look.px(4 if self._tight else 12))
        self.following.setVisible(not self._tight and bool(self.following.text()))

    def _needed(self, size: int) -> int:
        """Height for the longest texts at the `size`-th sizes, so that the type is the same for each step."""
        look, tight = self._look, size >= TIGHT_FROM
        wide = max(self.width() - 2 * look.px(20) - 4, 1)
        head, text = LESSON_SIZES[size]
        name, to_do = said.longest()
        parts = ((head, True, name), (text, False, to_do), (15 if tight else 18, True, words.WALK_KEYS))
        tall = 0
        for pixels, bold, longest in parts:
            metrics = QFontMetrics(look.font(pixels, bold))
            tall += metrics.boundingRect(0, 0, wide, 10_000, Qt.TextFlag.TextWordWrap, longest).height()
        # title, bar, sign, margins; what follows and the room between them
        return tall + look.px(26 + 30 + 32 + 30 + (6 * 4 if tight else 22 + 7 * 12))

    def show_view(self, view: TeachView) -> None:
        """Draw the lesson as it stands."""
        walking = view.state == "walking" and view.step is not None
        self._set_away(view.state == "away")
        _put(self.title, said.title(view))
        self.setAccessibleName(self.title.text())
        self.bar.setVisible(walking)
        self._signs.setVisible(walking)
        if walking:
            self._show_step(view)
        else:
            self._show_waiting(view)

    def _show_step(self, view: TeachView) -> None:
        step = view.step
        assert step is not None
        _put(self.headline, said.headline(step))
        _put(self.do, said.to_do(step))
        self.bar.show_left(view.left_s / step.seconds, view.left_s)
        sign, answers = said.sign(view)
        _put(self.sign, sign)
        set_role(self.sign, "signgood" if answers else "sign")
        self.mark.setAccessibleName(sign)
        self.mark.set_shape(Outcome.PASS if answers else Outcome.NOT_DONE)
        self.mark.setVisible(answers is not None)
        following = said.brief(view.following) if view.following is not None else words.WHAT_WAS_LEARNED
        then = words.THEN.format(step=following, time=said.minutes(view.to_go_s))
        _put(self.following, "" if self._tight else then)
        if view.ends_soon:
            _put(self.keys, words.NOTED_KEYS)
        else:
            _put(self.keys, said.together(words.REST_KEYS if step.action == "rest" else words.WALK_KEYS))

    def _show_waiting(self, view: TeachView) -> None:
        kept = said.kept(view)
        head, do, keys = {
            "away": (words.UNPLUGGED, words.PLUG_IN_AGAIN.format(kept=kept), words.AWAY_KEYS),
            "learning": (words.LEARNING, words.LEARNING_DO, words.LEARN_KEYS),
        }.get(view.state, (words.PAUSED, f"{view.message} {kept}".strip(), words.PAUSE_KEYS))
        _put(self.headline, head)
        _put(self.do, do)
        waits = view.state == "paused" and view.step is not None
        _put(self.following, words.NEXT.format(step=said.brief(view.step)) if waits and view.step is not None else "")
        _put(self.keys, said.together(keys))

    def _set_away(self, away: bool) -> None:
        """The frame tells that the device is away."""
        if bool(self.property("away")) != away:
            self.setProperty("away", away)
            self.style().unpolish(self)
            self.style().polish(self)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()


def _put(label: QLabel, text: str) -> None:
    if label.text() != text:
        label.setText(text)
    label.setVisible(bool(text))
