"""The window: three panes on a live stream and the other views. It draws and forwards, and decides nothing."""

from __future__ import annotations

import gc
import logging
import time
from collections import deque
from dataclasses import replace
from typing import cast

from PySide6.QtCore import QEvent, QSize, Qt, QTimer, QUrl
from PySide6.QtGui import QCloseEvent, QDesktopServices, QGuiApplication, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from station.bench.types import SessionView
from station.checks.types import Limits
from station.errors import StationError
from station.sheets.model import Sheet
from station.ui.alone import AloneRoom, AloneStrip
from station.ui.arrival import ArrivalStrip
from station.ui.bench import BenchParts, BenchRoom
from station.ui.cautions import CautionRoom
from station.ui.checklist.pane import ChecklistPane
from station.ui.checklist.room import VisitRoom
from station.ui.events import Events
from station.ui.evidence.room import EvidenceRoom
from station.ui.evidence.view import EvidenceView
from station.ui.figures.room import FiguresRoom
from station.ui.figures.view import FiguresView
from station.ui.frame import About, PanelMaker, Shown
from station.ui.header import FootLine, HeaderLine, Splash, device_line
from station.ui.hub import HubStrip
from station.ui.key_gate import KeyGate
from station.ui.keys import VIEWS, KeyLine, ViewName, find_key, key_of
from station.ui.labels import LabelRoom
from station.ui.live.pane import LivePane
from station.ui.lots.room import LotsRoom
from station.ui.lots.view import LotsView
from station.ui.one_key import space_words
from station.ui.own_keys import OwnKeys, read_own_keys
from station.ui.painting.hazards import Cautions
from station.ui.painting.look import SCALES, desktop_scale, look_of, style_sheet
from station.ui.painting.told import announce
from station.ui.panels.bench import BackupPanel
from station.ui.panels.keys import KeysPanel
from station.ui.panels.panel import Panel
from station.ui.panes import BenchPanes, InPlace
from station.ui.ports import Desk
from station.ui.record.pane import RecordPane
from station.ui.record.room import RecordRoom
from station.ui.scans import ScanRoom
from station.ui.settings import SettingsRoom
from station.ui.sound import Sound
from station.ui.teaching.pane import LessonPane
from station.ui.teaching.room import TeachParts, TeachRoom
from station.ui.undo import UndoRoom
from station.ui.views import DueView, ShelfView, View
from station.words import common
from station.words import window as words

_log = logging.getLogger(__name__)
TICK_MS = 16
WARM_UP_MS = 400
FRAME_NS = 16_700_000
DEVICE_LINE_TICKS = 15
LATE_KEPT_NS = 10_000_000_000
SPACE_SAID_FROM_PX = 1000
_OF_TABLES = {"Enter": Qt.Key.Key_Return, "Tab": Qt.Key.Key_Tab}
"""keys that the table which has the focus takes itself"""
THEMES = ("auto", "light", "dark")
LEAST_WIDE_PX, LEAST_TALL_PX = 640, 360
LEAST_SIZE, USUAL_SIZE = QSize(480, 320), QSize(1440, 860)
FRAMED_MS = (0, 300, 1500)
"""when after it is shown a window looks at its frame: how thick it is is known late, and on a busy machine later"""
BENCH_PAGE, SPLASH_PAGE = 0, 1
"""the empty bench stands in its place; the other views follow"""


class MainWindow(QMainWindow):
    """`desk` is the only partner; `theme` is auto, light or dark; `sound` may be a silent one.

    It is the `Frame` of its rooms; each key of the table in `keys.py` calls one of them.
    """

    def __init__(self, desk: Desk, theme: str = "auto", sound: Sound | None = None) -> None:
        super().__init__()
        self.setObjectName("ground")
        self.setWindowTitle(words.PROGRAM)
        self.desk, self._settings = desk, desk.settings
        self.sound = sound or Sound()
        self.sound.on = self._settings.get("sound", "on") == "on"
        self.theme = _theme(self._settings.get("theme", "auto") if theme == "auto" else theme)
        self.scale = _scale(self._settings.get("scale"))
        self.look = look_of(self.theme, self.scale)
        self.shown = Shown()
        self.panel: Panel | None = None
        self._late: deque[tuple[int, int]] = deque()
        self.frame_ms: deque[float] = deque(maxlen=4096)
        self._sheet: Sheet | None = None
        self._last_tick: int | None = None
        self._logged_ns = 0
        self._ticks = 0
        self._reading = ""
        """what the reader of the device said last while it reads"""
        self._about: About = ""
        self._said_at_s, self._acting = 0.0, False
        self._asked_to_close = self._folded = False
        """the person was told that closing costs something"""
        self._own = OwnKeys()
        self._build()
        self._make_rooms()
        self._connect()
        self.apply_look()
        self._show_page(SPLASH_PAGE)
        self._read_own_keys()
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
        desk = self.desk
        self.arrival = ArrivalStrip(desk.units, desk.stock, desk.visit, look)
        self.alone, self.hub = AloneStrip(look), HubStrip(look)
        self._were_left: frozenset[str] = frozenset()
        self.live, self.checklist, self.record = LivePane(look), ChecklistPane(look), RecordPane(look)
        self.checklist.card.readings.origin = self.live.origin = desk.sheets.limit_origin
        self.lesson = LessonPane(look)
        self._middle = InPlace(self.checklist, self.lesson)
        self.panes = BenchPanes(self._settings, (self.live, self._middle, self.record))
        self.splash = Splash(look)
        splash_area = QScrollArea()
        splash_area.setWidget(self.splash)
        splash_area.setWidgetResizable(True)
        splash_area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.lots = LotsView(desk.stock, desk.units, self._settings, look)
        self.shelf, self.due = ShelfView(desk.stock, look), DueView(desk.units, look)
        self.evidence = EvidenceView(desk.evidence, look)
        self.figures = FiguresView(desk.figures, desk.units, self._unit_shown, look)
        self.views: dict[ViewName, View] = {
            "lots": self.lots, "shelf": self.shelf, "due": self.due, "figures": self.figures,
            "evidence": self.evidence,
        }  # fmt: skip
        self.pages = QStackedWidget()
        self.pages.setMinimumHeight(1)  # a strip above keeps its words; the page below it scrolls
        for page in (self.panes, splash_area, *self.views.values()):
            self.pages.addWidget(page)
        self.foot = FootLine(look)
        middle = QWidget()
        inside = QVBoxLayout(middle)
        inside.setContentsMargins(14, 10, 14, 8)
        inside.setSpacing(8)
        inside.addWidget(self.arrival)
        inside.addWidget(self.hub)
        inside.addWidget(self.alone)
        inside.addWidget(self.pages, 1)
        whole = QWidget()
        whole.setObjectName("ground")
        box = QVBoxLayout(whole)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        for part, stretch in ((self.header, 0), (middle, 1), (self.foot, 0)):
            box.addWidget(part, stretch)
        self.setCentralWidget(whole)
        self._recall_size()
        self.header.set_unit(None)

    def _recall_size(self) -> None:
        """The size of last time; at first what the screen has room for."""
        parts = self._settings.get("window", "").split("x")
        kept = len(parts) == 2 and all(p.isdecimal() for p in parts)
        wished = QSize(int(parts[0]), int(parts[1])) if kept else USUAL_SIZE
        room = self.screen().availableSize()
        self.setMinimumSize(LEAST_SIZE.boundedTo(room))
        self.resize(wished.boundedTo(room))
        self._opened = self.size()

    def _stay_on_screen(self) -> None:
        """Title bar and frame belong to the window too: with them it opens no larger than what the screen has free."""
        room, frame = self.screen().availableGeometry(), self.frameGeometry()
        if self.size() != self._opened or room.contains(frame):
            return
        around = frame.size() - self.size()
        self.resize(self.size().boundedTo(room.size() - around))
        self._opened = self.size()
        frame = self.frameGeometry()
        left = min(max(frame.left(), room.left()), room.right() + 1 - frame.width())
        top = min(max(frame.top(), room.top()), room.bottom() + 1 - frame.height())
        self.move(left, top)

    def _make_rooms(self) -> None:
        desk, shown = self.desk, self.shown
        cautions = Cautions(desk.advice.hazards, shown.on_bench)
        self.checklist.card.set_cautions(cautions)
        record = RecordRoom(
            desk.units,
            desk.stock,
            desk.advice,
            desk.certificates,
            desk.sheets,
            self._settings,
            desk.options,
            desk.work,
            cautions,
            self,
            shown,
            self.record,
            self.live.set_last,
        )
        parts = BenchParts(self.header, self.splash, self.arrival, self.live, self.checklist, self.record)
        self.bench = BenchRoom(
            desk.devices,
            desk.visit,
            desk.units,
            desk.sheets,
            desk.advice,
            self,
            shown,
            parts,
            record,
            self._left_alone,
            desk.work,
            cautions,
            self._lot_in_front,
        )
        visit = VisitRoom(desk.visit, self, shown, self.checklist, self.arrival, self.bench.look_over, cautions)
        taught = TeachParts(self.lesson, self._middle, self.panes, self.arrival)
        self.teach = TeachRoom(
            desk.teaching, desk.devices, self._settings, self, shown, self.sound, taught, self.bench.active_device
        )
        alone = AloneRoom(desk.alone, self._settings, cautions, self, self.bench)
        self.undo = UndoRoom(desk.undo, desk.units, desk.stock, self, shown, self.foot, self.record, self.shelf)
        lots = LotsRoom(
            desk.stock, desk.units, desk.advice, self._settings, desk.undo, record.came_back_of, cautions, self,
            self.lots,
        )  # fmt: skip
        looks = EvidenceRoom(desk.evidence, desk.units, desk.advice, desk.sheets, self, shown, self.evidence)
        self.record.look_wanted.connect(looks.open_at)
        self.checklist.card.look_wanted.connect(looks.open_at)
        self._scans = ScanRoom(
            desk.units, desk.stock, self, shown, self.bench, self.arrival,
            panel=lambda: self.panel, lot_in_front=self._lot_in_front, hold_on=visit.hold_on,
        )  # fmt: skip
        self._gate = KeyGate(self)
        self._gate.scanned.connect(self._scans.scanned)
        settings = self._greeter = SettingsRoom(desk.options, desk.units, self, self._follow_setting, self.undo)
        self.events = Events(self, shown, self.sound, self.bench, self.views, self.undo, lots, settings)
        self.rooms: dict[str, object] = {
            "visit": visit, "record": record, "bench": self.bench, "teaching": self.teach, "lots": lots, "window": self,
            "alone": alone, "cautions": CautionRoom(desk.advice, cautions, self, shown, self.checklist),
            "undo": self.undo, "labels": LabelRoom(desk.labels, desk.stock, self, shown, self.lots), "evidence": looks,
            "figures": FiguresRoom(desk.figures, self, self.figures), "settings": settings,
        }  # fmt: skip

    def _lot_in_front(self) -> str | None:
        lot = self.lots.lot() if self.view_name() == "lots" else None
        return lot.id if lot is not None else None

    def _connect(self) -> None:
        self.foot.help.clicked.connect(self.keys)
        self.alone.opened.connect(lambda: self.act("alone.list"))
        self.splash.taken.connect(self.key_clicked)
        self.foot.put_away.connect(lambda: self.say(""))
        for button, view in zip(self.foot.views, VIEWS, strict=True):
            button.clicked.connect(lambda _=False, name=view.name: self.show_view(name))
        for shown in self.views.values():
            shown.open_unit.connect(self.bench.open_unit)
        self.arrival.teach.connect(self.teach.begin)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._scheme_changed)

    # --- the look ------------------------------------------------------------------------------------------

    def apply_look(self) -> None:
        """Dress everything in the present look."""
        self.look = replace(look_of(self.theme, self._fitting_scale()), caps=self._own.caps())
        self.setStyleSheet(style_sheet(self.look))
        parts = (
            self.header,
            self.arrival,
            self.alone,
            self.hub,
            self.live,
            self.checklist,
            self.lesson,
            self.record,
            self.foot,
            self.splash,
        )
        for part in parts:
            part.set_look(self.look)
        for view in self.views.values():
            view.set_look(self.look)
        self.fold()

    def _fitting_scale(self) -> float:
        """The wanted type scale, or the largest at which a small window still holds its words."""
        wide, tall = self.width() / LEAST_WIDE_PX, self.height() / LEAST_TALL_PX
        return max(s for s in SCALES if s == 1.0 or (s <= self.scale and s <= wide and s <= tall))

    def set_theme(self, theme: str) -> None:
        self.theme = theme
        self._settings.put("theme", theme)
        self.apply_look()

    def set_scale(self, step: int) -> None:
        """One step larger or smaller type."""
        at = SCALES.index(self.scale) + step
        if 0 <= at < len(SCALES):
            self.scale = SCALES[at]
            self._settings.put("scale", str(self.scale))
            self.apply_look()

    def _follow_setting(self, key: str) -> bool:
        """The settings hold something else: True where the window looks otherwise then."""
        look = self.look
        if key == "sound":
            self.sound.on = self._settings.get("sound", "on") == "on"
        elif key == "theme":
            self.theme = _theme(self._settings.get("theme", "auto"))
            self.apply_look()
        elif key == "scale":
            self.scale = _scale(self._settings.get("scale"))
            self.apply_look()
        return self.look != look

    def _scheme_changed(self) -> None:
        if self.theme == "auto":
            self.apply_look()

    # --- pages and panes -----------------------------------------------------------------------------------

    def show_view(self, view: ViewName) -> None:
        """Show a view; the bench is the empty one until there is a unit or something that reports."""
        shown = self.shown
        if view != "bench":
            self._show_page(self.pages.indexOf(self.views[view]))
        elif shown.unit is None and shown.session is None and shown.lesson is None and self._sheet is None:
            self._show_page(SPLASH_PAGE)
        else:
            self._show_page(BENCH_PAGE)

    def _show_page(self, page: int) -> None:
        view = self.pages.widget(page)
        if page == SPLASH_PAGE:
            self.splash.set_due(sum(row.ready for row in self.desk.units.due()))
        if isinstance(view, View):
            view.fill()
        self.pages.setCurrentIndex(page)
        # the evidence belongs to the bench, from where one came
        self.foot.set_view(next((k for k, line in enumerate(VIEWS) if line.name == self.view_name()), 0))
        self.fold()
        self.take_focus()

    def view_name(self) -> ViewName:
        front = self.pages.currentWidget()
        return next((name for name, view in self.views.items() if view is front), "bench")

    def key_view(self) -> str:
        """The part of the table of keys that counts now."""
        return "teaching" if self.shown.lesson is not None and self.view_name() == "bench" else self.view_name()

    def take_focus(self) -> None:
        """Keys go to the panel, the table or the bench, whichever is in front."""
        view = self.pages.currentWidget()
        if self.panel is not None:
            return
        if isinstance(view, View):
            view.take_focus()
        elif self.arrival.attended and self.arrival.device is not None and self.shown.lesson is None:
            self.arrival.attend()
        else:
            self.setFocus()

    def next_pane(self) -> None:
        """In a narrow window: bring the next pane in front."""
        self.panes.next_pane()
        self.fold()

    def fold(self) -> None:
        """Show the panes that there is room for."""
        folded = self.panes.fold(self.width(), self.look.scale) and self.pages.currentIndex() == BENCH_PAGE
        self._folded = folded
        self._show_keys_now()

    def _show_keys_now(self) -> None:
        """What Space does now, and the key of the panes where they are folded."""
        bench = self.view_name() == "bench" and self.shown.lesson is None and not self.panel_open()
        bench = bench and self.width() >= SPACE_SAID_FROM_PX * self.look.scale  # the card says it too
        space = space_words(self.shown, self.arrival) if bench else ""
        text = common.DOT.join(part for part in (space, words.NEXT_PANE if self._folded else "") if part)
        if self.foot.panes.text() != text:
            self.foot.panes.setText(text)

    # --- panels --------------------------------------------------------------------------------------------

    def open_panel(self, make: PanelMaker) -> None:
        """One panel at a time stands over the window."""
        self.desk.visit.hold(True)
        before, self.panel = self.panel, make(self.look, self)
        self.panel.closed.connect(self._panel_closed)
        self._show_whose_keys()
        if before is not None:
            before.close_panel()  # the keys are the new one's already

    def _show_whose_keys(self) -> None:
        """Under a panel neither strip nor foot names a key, which the panel would take for one of its own."""
        self.arrival.set_covered(self.panel_open())
        self._show_keys_now()

    def panel_open(self) -> bool:
        return self.panel is not None

    def _panel_closed(self) -> None:
        if self.sender() in (self.panel, None):
            self.panel = None
            self.desk.visit.hold(False)
            self._show_whose_keys()
            self.take_focus()

    def announce(self, text: str, urgent: bool = False) -> None:
        """Said aloud to those who do not see the window."""
        announce(self, text, urgent=urgent)

    def say(self, text: str, bad: bool = False, about: About = "") -> None:
        """A message at the foot, said aloud too. What a key had for an answer goes with the next one."""
        self.announce(text, urgent=bad)
        self._about, self._said_at_s = about or ("key" if self._acting else ""), time.monotonic()
        self.foot.say(text, bad)

    def answered(self, about: About) -> None:
        if self._about == about:
            self.say("")

    def _go_on(self) -> None:
        """A key was pressed: a message that was for the person alone goes, once there was time to read it."""
        read = time.monotonic() - self._said_at_s > self.shown.reading_s
        passing = self._about == "call" or (self._about == "" and not self.foot.is_bad())
        if self._about == "key" or (passing and read):
            self.say("")

    # --- every frame -----------------------------------------------------------------------------------------

    def tick(self) -> None:
        """One frame: events, session, reports. Bounded by what is visible."""
        began = time.perf_counter_ns()
        self._count_dropped(began)
        self.events.take(self.desk.live.take_events())
        session = self.desk.visit.session()
        if session is not self.shown.session:
            self.set_session(session)
        self._check_sheet()
        self.teach.tick()
        live = self.desk.live.now()
        self.live.tick(live)
        self.checklist.tick(live.now_ns, self.shown.beat_ns)
        self._ticks += 1
        if self._ticks % DEVICE_LINE_TICKS == 1:
            self._show_device()
            self._show_alone()
            self.hub.show_pads(*self.bench.pads())
            self._show_keys_now()
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
        old = self.shown.session
        self.shown.take(session)
        if session is not None and (old is None or old.visit.id != session.visit.id):
            self.bench.visit_changed(session.unit)
            self.desk.visit.hold(self.panel_open())
        self.live.set_session(session)
        self.bench.show_visit()

    def _unit_shown(self) -> str:
        return self.shown.unit.id if self.shown.unit is not None else ""

    def _left_alone(self) -> frozenset[str]:
        return frozenset(view.unit_id for view in self.desk.alone.views())

    def _show_alone(self) -> None:
        self.alone.show_views(self.desk.alone.views())
        if (now := self._left_alone()) != self._were_left:
            self._were_left = now
            self.bench.show_visit()

    def _check_sheet(self) -> None:
        sheet = self.desk.sheets.sheet()
        if sheet is self._sheet:
            return
        self._sheet = sheet
        limits: Limits = {}
        try:
            limits = self.desk.sheets.limits()
            if problem := self.desk.sheets.limits_problem():
                self.say(problem, bad=True, about="limits")
        except StationError as error:
            self.say(str(error), bad=True)
        self.live.set_sheet(sheet, limits)
        self.live.set_session(self.shown.session)
        self.bench.show_visit()
        if self.view_name() == "bench":
            self.show_view("bench")

    def _show_device(self) -> None:
        """The device line; a few times a second, or its figures cannot be read."""
        status = self.desk.live.status()
        self.header.set_device(device_line(self.bench.active_device(), status, self.live.tracks.rate_hz()))
        reading = status.message if status is not None and status.state == "live" else ""
        if reading != self._reading:
            self._reading = reading
            self.say(reading, bad=True, about="reading") if reading else self.answered("reading")
        if self._late and self._late[-1][0] > self._logged_ns:
            self._logged_ns = self._late[-1][0] + LATE_KEPT_NS
            _log.info("%d frames were dropped in ten seconds", self.dropped)

    # --- keys ------------------------------------------------------------------------------------------------

    def act(self, action: str) -> None:
        """What the table of keys calls `action`."""
        room, _, name = action.partition(".")
        if name != "escape":
            self._go_on()
        self._acting = True
        try:
            if room == "view":
                self.show_view(cast("ViewName", name))
            else:
                getattr(self.rooms[room], name)()
        finally:
            self._acting = False

    def key_clicked(self, key: str) -> None:
        """A click on a key that stands written somewhere: as if it was pressed."""
        line = find_key(key, self.key_view())
        if self.panel is not None:
            return
        if line is not None:
            self.act(line.action)
        elif key in _OF_TABLES:
            target = self.focusWidget() or self
            for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
                QApplication.sendEvent(target, QKeyEvent(kind, _OF_TABLES[key], Qt.KeyboardModifier.NoModifier))

    def show_file(self, path: str) -> bool:
        return QDesktopServices.openUrl(QUrl.fromLocalFile(path))

    def switch_sound(self) -> None:
        sound = self.sound
        sound.on = not sound.on
        self._settings.put("sound", "on" if sound.on else "off")
        there = words.SOUND_ON if sound.available else words.SOUND_WITHOUT_OUTPUT
        self.say(there if sound.on else words.SOUND_OFF)

    def next_theme(self) -> None:
        following = {"auto": "light", "light": "dark", "dark": "auto"}[self.theme]
        self.set_theme(following)
        self.say(words.THEMES[following])

    def larger(self) -> None:
        self.set_scale(1)

    def smaller(self) -> None:
        self.set_scale(-1)

    def welcome(self) -> None:
        """Ask who works here, where the records are empty and nothing else was begun."""
        busy = self.panel_open() or self.arrival.device is not None or self.shown.session is not None
        if not busy and self.shown.lesson is None and self.view_name() == "bench":
            self._greeter.welcome()

    def backups(self) -> None:
        self.open_panel(lambda look, over: BackupPanel(self.desk.upkeep, look, over))

    def keys(self) -> None:
        self._read_own_keys()  # whoever changed the file looks here
        lesson = self.shown.lesson is not None

        def chosen(line: KeyLine) -> None:
            if (
                line.where in ("bench", "lots", "shelf", "due", "figures", "evidence")
                and line.where != self.view_name()
            ):
                self.show_view(line.where)
            self.act(line.action)

        self.open_panel(lambda look, over: KeysPanel(chosen, lesson, look, over, self._own))

    def _read_own_keys(self) -> None:
        try:
            self._own = read_own_keys(self._settings.own_keys())
        except StationError as error:
            self._own = OwnKeys(problem=str(error))
        if self._own.problem:
            self.say(self._own.problem, bad=True)
        if self._own.caps() != self.look.caps:
            self.apply_look()

    def page_up(self) -> None:
        self._scroll(-0.6)

    def page_down(self) -> None:
        self._scroll(0.6)

    def _scroll(self, pages: float) -> None:
        """Record and card: a pane that shows all that it has does not move."""
        self.record.scroll_pages(pages)
        self.checklist.scroll_pages(pages)

    def escape(self) -> None:
        if self.foot.message.text():
            self.say("")
        elif self.arrival.device is not None:
            self.arrival.dismiss()
        elif self.view_name() == "lots" and self.lots.search.text():
            self.lots.search.clear()
        elif (self.view_name() == "figures" and self.figures.back()) or (
            self.view_name() == "evidence" and self.evidence.leave_course()
        ):
            return
        elif self.view_name() != "bench":
            self.show_view("bench")
        else:
            self.bench.back_to_visit()
        self.take_focus()

    # --- Qt --------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        line = self._own.find(key_of(event), self.key_view())
        if self.panel is not None or line is None or (event.isAutoRepeat() and not line.repeats):
            event.ignore()
            return
        self.act(line.action)
        event.accept()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._gate.watch(self.windowHandle())
        for later in FRAMED_MS:
            QTimer.singleShot(later, self, self._stay_on_screen)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.ThemeChange and (scale := _scale(self._settings.get("scale"))) != self.scale:
            self.scale = scale
            self.apply_look()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._fitting_scale() != self.look.scale:
            self.apply_look()
        else:
            self.fold()
        if self.panel is not None:
            self.panel.place()

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._asked_to_close and (problem := self.desk.visit.wind_up()):
            self._asked_to_close = True
            self.say(problem, bad=True)
            event.ignore()
            return
        self.stop_clock()
        self._warm.stop()
        size = self.size().boundedTo(self.screen().availableSize())
        self._settings.put("window", f"{size.width()}x{size.height()}")
        self.sound.close()
        self.evidence.close_plots()
        self.desk.close()
        super().closeEvent(event)


def _theme(text: str) -> str:
    return text if text in THEMES else "auto"


def _scale(text: str) -> float:
    """The scale that the person chose; the desktop's if they chose none of ours."""
    try:
        value = float(text)
    except ValueError:
        return desktop_scale()
    return value if value in SCALES else desktop_scale()
