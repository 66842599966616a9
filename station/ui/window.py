"""The window: three panes on a live stream and three other views. It draws and forwards, and decides nothing."""

from __future__ import annotations

import gc
import time
from collections import deque

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtGui import QCloseEvent, QGuiApplication, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QMainWindow, QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from station.bench.types import SessionView
from station.checks.types import Limits
from station.errors import StationError
from station.records.types import Unit
from station.sheets.model import Sheet
from station.ui.actions import Actions
from station.ui.arrival import ArrivalStrip
from station.ui.checklist.pane import ChecklistPane
from station.ui.events import EventRoom
from station.ui.header import FootLine, HeaderLine, Splash, device_line
from station.ui.keys import find_key, key_of
from station.ui.live.pane import LivePane
from station.ui.lots.view import LotsView
from station.ui.painting.look import SCALES, look_of, style_sheet
from station.ui.panels.panel import Panel
from station.ui.panes import BenchPanes
from station.ui.ports import Desk
from station.ui.record.pane import RecordPane
from station.ui.sound import Sound
from station.ui.teaching.room import TeachRoom
from station.ui.views import DueView, ShelfView

TICK_MS = 16
WARM_UP_MS = 400
FRAME_NS = 16_700_000
DEVICE_LINE_TICKS = 15
LATE_KEPT_NS = 10_000_000_000
THEMES = ("auto", "light", "dark")
LEAST_WIDE_PX, LEAST_TALL_PX = 640, 360
BENCH_PAGE, SPLASH_PAGE, LOTS_PAGE, SHELF_PAGE, DUE_PAGE = range(5)
VIEW_NAMES = ("bench", "bench", "lots", "shelf", "due")


class MainWindow(QMainWindow):
    """`desk` is the only partner; `theme` is auto, light or dark; `sound` may be a silent one."""

    def __init__(self, desk: Desk, theme: str = "auto", sound: Sound | None = None) -> None:
        super().__init__()
        self.setObjectName("ground")
        self.setWindowTitle("Restpoint")
        self.desk = desk
        self.sound = sound or Sound()
        self.sound.on = desk.setting("sound", "on") == "on"
        remembered = desk.setting("theme", "auto") if theme == "auto" else theme
        self.theme = remembered if remembered in THEMES else "auto"
        self.scale = _scale(desk.setting("scale", "1.0"))
        self.look = look_of(self.theme, self.scale)
        self.unit: Unit | None = None
        self.panel: Panel | None = None
        self.session: SessionView | None = None
        self.beat_ns: int | None = None
        self._late: deque[tuple[int, int]] = deque()
        self.frame_ms: deque[float] = deque(maxlen=4096)
        self._sheet: Sheet | None = None
        self._last_tick: int | None = None
        self._ticks = 0
        self._build()
        self.actions_ = Actions(self)
        self.events_ = EventRoom(self)
        self.teach = TeachRoom(self)
        self._connect()
        self.apply_look()
        self.show_page(SPLASH_PAGE)
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self.tick)
        self._timer.start()
        # what the first picture does not need is loaded after it
        self._warm = QTimer(self)
        self._warm.setSingleShot(True)
        self._warm.timeout.connect(self._warm_up)
        self._warm.start(WARM_UP_MS)

    def stop_clock(self) -> None:
        """Draw no more frames by itself; `tick` still draws one."""
        self._timer.stop()

    def _warm_up(self) -> None:
        self.sound.open_beside()
        # what exists now stays: the collector need not walk through it in the middle of a frame
        gc.freeze()

    # --- building ----------------------------------------------------------------------------------------

    def _build(self) -> None:
        look = self.look
        self.header = HeaderLine(look)
        self.arrival = ArrivalStrip(self.desk, look)
        self.live, self.checklist, self.record = LivePane(look), ChecklistPane(look), RecordPane(look)
        self.panes = BenchPanes(self.desk, (self.live, self.checklist, self.record))
        self.splash = Splash(look)
        splash_area = QScrollArea()
        splash_area.setWidget(self.splash)
        splash_area.setWidgetResizable(True)
        splash_area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.lots, self.shelf, self.due = (
            LotsView(self.desk, look),
            ShelfView(self.desk, look),
            DueView(self.desk, look),
        )
        self.pages = QStackedWidget()
        for page in (self.panes, splash_area, self.lots, self.shelf, self.due):
            self.pages.addWidget(page)
        self.foot = FootLine(look)
        middle = QWidget()
        inside = QVBoxLayout(middle)
        inside.setContentsMargins(14, 10, 14, 8)
        inside.setSpacing(8)
        inside.addWidget(self.arrival)
        inside.addWidget(self.pages, 1)
        whole = QWidget()
        whole.setObjectName("ground")
        box = QVBoxLayout(whole)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        for part, stretch in ((self.header, 0), (middle, 1), (self.foot, 0)):
            box.addWidget(part, stretch)
        self.setCentralWidget(whole)
        self.setMinimumSize(QSize(480, 320))
        self._recall_size()
        self.header.set_unit(None)

    def _recall_size(self) -> None:
        """The size of last time; at first what the screen has room for."""
        parts = self.desk.setting("window", "").split("x")
        if len(parts) == 2 and all(p.isdigit() for p in parts):
            self.resize(int(parts[0]), int(parts[1]))
            return
        room = self.screen().availableSize()
        self.resize(min(1440, room.width()), min(860, room.height()))

    def _connect(self) -> None:
        actions = self.actions_
        self.checklist.chosen.connect(actions.choose)
        self.record.treatment.clicked.connect(actions.treatment)
        self.record.note.clicked.connect(actions.note)
        self.record.certificate.clicked.connect(actions.certificate)
        self.foot.help.clicked.connect(actions.keys)
        for button, show in zip(
            self.foot.views, (actions.show_bench, actions.show_lots, actions.show_shelf, actions.show_due), strict=True
        ):
            button.clicked.connect(show)
        for view in (self.lots, self.shelf, self.due):
            view.open_unit.connect(actions.open_unit)
        self.arrival.start.connect(self.events_.start_visit)
        self.arrival.new_unit.connect(self.events_.make_unit)
        self.arrival.teach.connect(self.teach.begin)
        self.arrival.left.connect(self._arrival_left)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._scheme_changed)

    # --- the look ------------------------------------------------------------------------------------------

    def apply_look(self) -> None:
        """Dress everything in the present look."""
        self.look = look_of(self.theme, self._fitting_scale())
        self.setStyleSheet(style_sheet(self.look))
        for part in (self.header, self.arrival, self.live, self.checklist, self.record, self.foot, self.splash):
            part.set_look(self.look)
        for view in (self.lots, self.shelf, self.due):
            view.set_look(self.look)
        self.fold()

    def _fitting_scale(self) -> float:
        """The wanted type scale, or the largest at which a small window still holds its words."""
        wide, tall = self.width() / LEAST_WIDE_PX, self.height() / LEAST_TALL_PX
        return max(s for s in SCALES if s == 1.0 or (s <= self.scale and s <= wide and s <= tall))

    def set_theme(self, theme: str) -> None:
        self.theme = theme
        self.desk.set_setting("theme", theme)
        self.apply_look()

    def set_scale(self, step: int) -> None:
        """One step larger or smaller type."""
        at = SCALES.index(self.scale) + step
        if 0 <= at < len(SCALES):
            self.scale = SCALES[at]
            self.desk.set_setting("scale", str(self.scale))
            self.apply_look()

    def _scheme_changed(self) -> None:
        if self.theme == "auto":
            self.apply_look()

    # --- pages and panes -----------------------------------------------------------------------------------

    def show_page(self, page: int) -> None:
        """Show a view; the bench is the empty one until there is a unit or something that reports."""
        empty = self.unit is None and self.session is None and self._sheet is None and not self.teach.busy
        if page == BENCH_PAGE and empty:
            page = SPLASH_PAGE
        view = self.pages.widget(page)
        if page == SPLASH_PAGE:
            self.splash.set_due(sum(row.ready for row in self.desk.due()))
        if isinstance(view, LotsView | ShelfView | DueView):
            view.fill()
        self.pages.setCurrentIndex(page)
        self.foot.set_view(max(page - 1, 0))
        self.fold()
        self.take_focus()

    def view_name(self) -> str:
        return VIEW_NAMES[self.pages.currentIndex()]

    def key_view(self) -> str:
        """The part of the table of keys that counts now."""
        return "teaching" if self.teach.busy and self.view_name() == "bench" else self.view_name()

    def take_focus(self) -> None:
        """Keys go to the panel, the table or the bench, whichever is in front."""
        view = self.pages.currentWidget()
        if self.panel is not None:
            return
        if isinstance(view, LotsView | ShelfView | DueView):
            view.take_focus()
        elif self.arrival.attended and self.arrival.device is not None and not self.teach.busy:
            self.arrival.attend()
        else:
            self.setFocus()

    def _arrival_left(self) -> None:
        self.events_.show_visit()
        self.take_focus()

    def next_pane(self) -> None:
        """In a narrow window: bring the next pane in front."""
        self.panes.next_pane()
        self.fold()

    def fold(self) -> None:
        """Show the panes that there is room for."""
        folded = self.panes.fold(self.width(), self.look.scale) and self.pages.currentIndex() == BENCH_PAGE
        self.foot.panes.setText("F6: next pane" if folded else "")

    # --- panels --------------------------------------------------------------------------------------------

    def open_panel(self, panel: Panel) -> None:
        """One panel at a time stands over the window."""
        if self.panel is not None:
            self.panel.close_panel()
        self.panel = panel
        panel.closed.connect(self._panel_closed)

    def _panel_closed(self) -> None:
        if self.sender() in (self.panel, None):
            self.panel = None
            self.take_focus()

    def say(self, text: str, bad: bool = False) -> None:
        """One line at the foot."""
        self.foot.say(text, bad)

    # --- every frame -----------------------------------------------------------------------------------------

    def tick(self) -> None:
        """One frame: events, session, reports. Bounded by what is visible."""
        began = time.perf_counter_ns()
        self._count_dropped(began)
        self.events_.take(self.desk.take_events())
        session = self.desk.session()
        if session is not self.session:
            self.set_session(session)
        self._check_sheet()
        self.teach.tick()
        live = self.desk.live()
        self.live.tick(live)
        self.checklist.tick(live.now_ns, self.beat_ns)
        self._ticks += 1
        if self._ticks % DEVICE_LINE_TICKS == 1:
            self._show_device()
        self.frame_ms.append((time.perf_counter_ns() - began) * 1e-6)

    def _count_dropped(self, now_ns: int) -> None:
        """Frames that came too late; a second or more means that the machine slept, not that we were slow."""
        while self._late and now_ns - self._late[0][0] > LATE_KEPT_NS:
            self._late.popleft()
        since = now_ns - self._last_tick if self._last_tick is not None else 0
        if 2 * FRAME_NS < since < 1_000_000_000 and self.isVisible():
            self._late.append((now_ns, round(since / FRAME_NS) - 1))
        self._last_tick = now_ns

    @property
    def dropped(self) -> int:
        """Frames dropped in the last ten seconds."""
        return sum(n for _, n in self._late)

    def set_session(self, session: SessionView | None) -> None:
        """Take over a new picture of the visit."""
        old, self.session = self.session, session
        if session is not None and (old is None or old.visit.id != session.visit.id):
            self.events_.visit_changed(session)
        self.live.set_session(session)
        self.events_.show_visit()
        asked = self.asked() is not None
        self.record.set_note_key("Shift+N" if asked else "N")

    def asked(self) -> int | None:
        """Index of the current step if the person answers it."""
        session = self.session
        if session is None or not session.running or not 0 <= session.current < len(session.steps):
            return None
        return session.current if session.steps[session.current].step.person_answers else None

    def _check_sheet(self) -> None:
        sheet = self.desk.sheet()
        if sheet is self._sheet:
            return
        self._sheet = sheet
        limits: Limits = {}
        try:
            limits = self.desk.limits()
        except StationError as error:
            self.say(str(error), bad=True)
        self.live.set_sheet(sheet, limits)
        self.live.set_session(self.session)
        self.events_.show_visit()
        if self.view_name() == "bench":
            self.show_page(BENCH_PAGE)

    def _show_device(self) -> None:
        """The device line; a few times a second, or its figures cannot be read."""
        status = self.desk.source_status()
        self.header.set_device(
            device_line(self.events_.active_device(), status, self.live.tracks.rate_hz(), self.dropped)
        )

    # --- Qt --------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        line = find_key(key_of(event), self.key_view())
        if self.panel is not None or line is None or (event.isAutoRepeat() and not line.repeats):
            event.ignore()
            return
        getattr(self.actions_, line.action)()
        event.accept()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._fitting_scale() != self.look.scale:
            self.apply_look()
        else:
            self.fold()
        if self.panel is not None:
            self.panel.place()

    def closeEvent(self, event: QCloseEvent) -> None:
        self.stop_clock()
        self._warm.stop()
        self.desk.set_setting("window", f"{self.width()}x{self.height()}")
        self.sound.close()
        self.desk.close()
        super().closeEvent(event)


def _scale(text: str) -> float:
    """A remembered scale; 100 % if it is none of ours."""
    try:
        value = float(text)
    except ValueError:
        return 1.0
    return value if value in SCALES else 1.0
