"""The Checklist pane: the card of the current step above the list of all of them."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from station.bench.types import PlannedVisit, SessionView
from station.ui.checklist.last_results import Batch
from station.ui.checklist.rows import rows_of
from station.ui.checklist.step_card import StepCard
from station.ui.checklist.step_list import StepList
from station.ui.painting.look import Look, motion_is_reduced
from station.words import checklist as words

FLASH_NS = 160_000_000
TIGHT_PX = 420
"""below this height, at 100 %, the card's large words are smaller"""
LEAST_LIST_PX = 40
"""less of the list than a row and its margins is not shown"""
ROWS_PX = 110
"""so much of the list what can hurt leaves in sight: the current row and those beside it"""


class _CardArea(QScrollArea):
    """Holds the card. It asks for a height, but lets a window that becomes lower press it together."""

    def __init__(self) -> None:
        super().__init__()
        self._wanted = 0

    def want(self, tall: int) -> None:
        if tall != self._wanted:
            self._wanted = tall
            self.setMaximumHeight(max(tall, 1))
            self.updateGeometry()

    def sizeHint(self) -> QSize:
        return QSize(super().sizeHint().width(), self._wanted)

    def minimumSizeHint(self) -> QSize:
        return QSize(super().minimumSizeHint().width(), 1)


class ChecklistPane(QWidget):
    """`set_session` on news, `tick` every frame.

    Signals: `chosen(int)`: the person pointed at a step.
    """

    chosen = Signal(int)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look, self._still = look, motion_is_reduced()
        self._session: SessionView | None = None
        self._batch = Batch()
        self._idle = words.NO_VISIT
        self._plan: PlannedVisit | None = None
        self.card = StepCard(look)
        self.list = StepList(look)
        self._frame = QFrame()
        self._frame.setObjectName("pane")
        self._inner = QVBoxLayout(self._frame)
        self._inner.addWidget(self.list)
        # in a low window the card keeps its words and the list gives way; one that is still too tall is scrolled
        self.list.setMinimumHeight(1)
        self.list.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Ignored)
        self._box = QVBoxLayout(self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self._area = _CardArea()
        self._area.setWidget(self.card)
        self._area.setWidgetResizable(True)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.card.installEventFilter(self)
        self._box.addWidget(self._area)
        self._box.addWidget(self._frame, 1)
        self.list.chosen.connect(self.chosen)
        self._space()
        self.set_session(None)

    def set_look(self, look: Look) -> None:
        self._look, self._still = look, motion_is_reduced()
        self.card.set_look(look)
        self.list.set_look(look)
        self._space()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return super().eventFilter(watched, event)

    def _fit(self) -> None:
        """The card gets what it needs, as far as there is room."""
        self.card.set_tight(self.height() < self._look.px(TIGHT_PX))
        self.card.shorten_hazards(self.width(), self.height() - self._box.spacing() - self._look.px(ROWS_PX))
        wanted = self.card.heightForWidth(self.width())
        tall = min(wanted, self.height())
        bar = Qt.ScrollBarPolicy
        # a bar that was there for a moment makes the card narrower, taller, and the bar stay
        self._area.setVerticalScrollBarPolicy(bar.ScrollBarAsNeeded if wanted > tall else bar.ScrollBarAlwaysOff)
        rest = self.height() - tall - self._box.spacing()
        self._frame.setVisible(rest >= self._look.px(LEAST_LIST_PX))
        self._area.want(tall if self._frame.isVisibleTo(self) else self.height())

    def _settle(self) -> None:
        """Fit the card to what it says now, before anything can be painted: the event loop may paint first, and on a
        loaded machine what is cut would stand there for a moment."""
        self._fit()
        for layout in (self._box, self._inner, self.card.layout()):
            if layout is not None:
                layout.activate()

    def scroll_pages(self, pages: float) -> None:
        """Move through a card that is taller than the pane."""
        bar = self._area.verticalScrollBar()
        bar.setValue(bar.value() + round(pages * bar.pageStep()))

    def _space(self) -> None:
        self._box.setSpacing(self._look.px(8))
        self._inner.setContentsMargins(self._look.px(8), self._look.px(4), self._look.px(4), self._look.px(6))

    def set_idle(self, idle: tuple[str, str, str, str], plan: PlannedVisit | None = None) -> None:
        """What the card says while there is no visit, and what the next one will ask."""
        if (idle, plan) != (self._idle, self._plan):
            self._idle, self._plan = idle, plan
            if self._session is None:
                self._show_idle()

    def _show_idle(self) -> None:
        self.card.set_session(None, self._idle)
        if self._plan is not None:
            self.card.say_plan(self._plan)
        self.list.set_rows(rows_of(self._plan.steps, -1, False) if self._plan is not None else [])
        self._settle()

    def set_session(self, session: SessionView | None) -> None:
        old, self._session = self._session, session
        if session is None:
            self._show_idle()
            return
        self.card.set_session(session, self._idle)
        ended = self._batch.take(old, session)
        if not session.finished and session.current >= 0:
            self.card.say_ended(session, ended)
        self._settle()
        stale = old is None or (old.steps, old.current, old.running) != (
            session.steps,
            session.current,
            session.running,
        )
        if old is None or old.steps is not session.steps or stale:
            self.list.set_rows(rows_of(session.steps, session.current, session.running))

    def tick(self, now_ns: int, beat_ns: int | None) -> None:
        """Let the beat's flash fade; where the desktop wants no motion there is none."""
        share = 0.0 if beat_ns is None or self._still else max(0.0, 1 - (now_ns - beat_ns) / FLASH_NS)
        self.card.flash(self._session, min(share, 1.0))
