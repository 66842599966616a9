"""A day at the bench through the real window: a lot of twelve, first looks, one repair, a certificate and a sale.

Everything is done by keys and by a scanner, over the real desk and records; the units are simulated, each with its
hand, and time is moved by the test. Keys are counted, and seconds by the keystroke-level model (Card, Moran & Newell,
Commun. ACM 23, 1980, 396; from memory) on the clock of the unit and on that of the wall: run with `-s` to see them.
"""

from __future__ import annotations

import json
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

import pypdf
import pytest
from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtTest import QTest

from station.app import paths
from station.app.desk import StationDesk
from station.bench.types import SessionView
from station.judgement.tries import shown_by_key
from station.records.types import FIRST_LOOK, Unit
from station.sources.simulated import PadDesign, SimulatedHand, SimulatedSource, UnitSpec, faults
from station.sources.simulated.faults import Fault
from station.ui.painting.hazards import HazardBox
from station.ui.panels.shop import ShopPanel
from station.ui.panels.stock import NewUnitPanel
from station.ui.panels.treatment import TreatmentPanel, WorkPanel
from station.ui.panels.withdraw import WithdrawPanel
from station.ui.sound import Sound
from station.ui.start import make_app
from station.ui.window import MainWindow
from tests.records.records_kit import open_store
from tests.ui.scanner import Keyboard

K = Qt.Key
BARE = Qt.KeyboardModifier.NoModifier
K_S, M_S, H_S, REACTION_S = 0.28, 1.35, 0.4, 0.25
"""a key, a thought, a hand that goes to another tool, seeing what came: s"""
HAND, SWEEP_S = 7, (1.5, 1.7)
"""the hand of tests/bench/pace.py, which the bars are those of, and one way of its slow sweep, s"""
TICK_S, BEATS_TICK_S = 0.2, 0.02
AT_FIRST_S = 1.0
"""within it the first step begins with the key that asked for the visit"""
"""so far apart the bench looks at what came, where nothing is pressed on a beat, and where it is"""
DRAWN_EVERY = 8
"""so many ticks the window is drawn once, where nothing but time passes"""
PATIENCE_S = 20.0
FIRST_LOOK_KEYS, FIRST_LOOK_S = 4, 75.0
LOOK_OVER_KEYS = 2
RECHECK_KEYS, RECHECK_S = 3, 45.0
FULL_KEYS, FULL_S = 10, 240.0
BEGIN_A_CLEANING_KEYS = 3
INTAKE_S = 10.0
DESIGN = PadDesign("8bit", 250)


@dataclass(frozen=True)
class Case:
    """A unit of the lot. `bad`: the control that is; `stuck`: it never comes to what is asked, so a key ends that."""

    claim: str = ""
    fault: Fault | None = None
    bad: str = ""
    stuck: bool = False


LOT = {
    "DAY-01": Case(),
    "DAY-02": Case("left stick drifts", faults.off_centre("left_stick", "right", 15.0), "left_stick"),
    "DAY-03": Case("", faults.noisy_track("right_stick", "x", 7.0), "right_stick"),
    "DAY-04": Case("left stick is short", faults.short_reach("left_stick", "up", 70.0), "left_stick"),
    "DAY-05": Case("does not turn on"),  # a wrong claim: it is sound
    "DAY-06": Case("", faults.hat_missing(4), "hat", stuck=True),
    "DAY-07": Case("right stick drifts", faults.rest_high("right_trigger", 9.0), "right_trigger"),  # the wrong control
    "DAY-08": Case("left trigger", faults.short_pull("left_trigger", 70.0), "left_trigger"),
    "DAY-09": Case(),
    "DAY-10": Case("", faults.no_return("left_stick", 17.0, 90.0), "left_stick"),
    "DAY-11": Case("no fault known"),
    "DAY-12": Case(),
}
CLEANING = "clean the sensor"
TREATED, SLIPPED, NOTED = "DAY-02", "DAY-09", "DAY-04"


class Workshop:
    """The clock on the wall, and which unit was cleaned."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 6, 9, 0, tzinfo=UTC)
        self.healed: set[str] = set()
        self.source: SimulatedSource | None = None

    def clock(self) -> datetime:
        self.now += timedelta(milliseconds=7)
        return self.now

    def plug_in(self, tag: str) -> SimulatedSource:
        case, seed = LOT[tag], 900 + int(tag[-2:])
        found = (case.fault,) if case.fault is not None and tag not in self.healed else ()
        hand = SimulatedHand(0.9, HAND)
        hand.style = replace(hand.style, reaction_s=REACTION_S, sweep_s=SWEEP_S)
        self.source = SimulatedSource(UnitSpec(DESIGN, seed, found, tag), hand, realtime=False)
        return self.source


class Worker:
    """Presses keys in the time that they take, scans and plugs in, and counts."""

    def __init__(self, window: MainWindow, desk: StationDesk, shop: Workshop) -> None:
        self.window, self.desk, self.shop = window, desk, shop
        window.shown.late_key_s = 0.0  # Qt's clock does not go on with the test's
        self.scanner = Keyboard(window)
        self.keys: dict[str, Counter[str]] = defaultdict(Counter)
        self.seconds: dict[str, Counter[str]] = defaultdict(Counter)
        self.tag, self.doing = "", ""

    def at(self, tag: str, doing: str) -> None:
        self.tag, self.doing = tag, doing

    # --- time --------------------------------------------------------------------------------------------------

    def draw(self) -> None:
        """All that was asked for is done and drawn."""
        for _ in range(3):
            QCoreApplication.processEvents()  # what waits for the next turn of the window's loop
            self.desk.settle()
            self.desk.advance(0.0)
            self.window.tick()

    def tick_s(self) -> float:
        view = self.desk.visit.session()
        return BEATS_TICK_S if view is not None and view.prompt is not None and view.prompt.beats_per_minute else TICK_S

    def pass_time(self, seconds: float) -> None:
        while seconds > 1e-9:
            step = min(seconds, self.tick_s())
            self.desk.advance(step)
            self.desk.live.follow()
            self.shop.now += timedelta(seconds=step)
            self.seconds[self.tag][self.doing] += step
            seconds -= step

    # --- hands -------------------------------------------------------------------------------------------------

    def press(
        self, *keys: K, thought: bool = False, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier
    ) -> None:
        """Keys one after the other; `thought`: there is something to choose before."""
        self.pass_time(REACTION_S + (M_S if thought else 0.0))
        for key in keys:
            self.pass_time(K_S)
            self.keys[self.tag][self.doing] += 1
            send(self.window.focusWidget() or self.window, key, held)
            self.draw()

    def type(self, text: str) -> None:
        """Words into the field at hand."""
        self.pass_time(REACTION_S + M_S)
        for letter in text:
            self.pass_time(K_S)
            self.keys[self.tag][self.doing] += 1
            write(self.window.focusWidget(), letter)
        self.draw()

    def scan(self, tag: str) -> None:
        self.pass_time(H_S)
        self.scanner.scan(tag)
        self.draw()

    def plug_in(self, tag: str) -> None:
        self.pass_time(H_S)
        self.desk.devices.plug_in_sample(tag)
        self.draw()
        self.draw()

    # --- a visit -----------------------------------------------------------------------------------------------

    def view(self) -> SessionView:
        view = self.desk.visit.session()
        assert view is not None, self.window.foot.text()
        return view

    def work_through(self) -> SessionView:
        """Move what is asked for, answer what is asked, end what does not come; press nothing else."""
        stood, still_s, idle_s, goes = (-1, -1.0), 0.0, 0.0, -1
        for tick in range(int(1800 / BEATS_TICK_S)):
            tick_s = self.tick_s()
            self.pass_time(tick_s)
            view = self.view()
            if view.finished:
                self.draw()
                return view
            if tick % DRAWN_EVERY == 0:
                self.window.tick()
            step = view.steps[view.current].step
            idle_s = 0.0 if view.running or view.begins else idle_s + tick_s
            if all(v.state == "done" for v in view.steps):
                if idle_s > 0.0:  # what all has passed ends by itself
                    self.press(K.Key_Space)
            elif step.person_answers and view.running:
                self.draw()
                self.press(K.Key_Y, thought=True)
            elif not (view.running or view.begins):
                if idle_s > AT_FIRST_S:
                    self.press(K.Key_Space)
            elif view.running:
                if self._hand().takes_back(self._now_ns()):
                    self.press(K.Key_Backspace)
                goes = self._move_what_is_left(view, goes)
                share = view.progress.share if view.progress else 0.0
                still_s = still_s + tick_s if (view.current, share) == stood else 0.0
                stood = view.current, share
                if still_s > PATIENCE_S:
                    self.press(K.Key_Space)
                    still_s = 0.0
        raise AssertionError(f"the visit never ended: {view.message or view.again or view.prompt}")

    def told(self) -> str:
        """What was done to each unit, with its keys and seconds."""
        lines = [f"{'unit':8} {'what':28} keys       s"]
        for tag, seconds in self.seconds.items():
            lines += [f"{tag:8} {doing:28} {self.keys[tag][doing]:4} {s:7.1f}" for doing, s in seconds.items()]
        keys, total = sum(k.total() for k in self.keys.values()), sum(c.total() for c in self.seconds.values())
        return "\n".join([*lines, f"{'':8} {'the day':28} {keys:4} {total:7.1f}\n"])

    def _hand(self) -> SimulatedHand:
        assert self.shop.source is not None
        return self.shop.source.hand

    def _now_ns(self) -> int:
        assert self.shop.source is not None
        return self.shop.source.now_ns()

    def _move_what_is_left(self, view: SessionView, goes: int) -> int:
        """The card of a free run says what is still missing: only that is moved again."""
        hand = self._hand()
        if hand.goes_done > goes >= 0 and view.steps[view.current].step.check == "glance":
            left = [view.steps[i].step.control for i in view.together] or [view.steps[view.current].step.control]
            hand.ask("glance", left[0], None, "", 0, self._now_ns(), also=tuple(left[1:]))
        return hand.goes_done


def send(target: object, key: K, held: Qt.KeyboardModifier) -> None:
    QTest.keyClick(target, key, held)  # type: ignore[call-overload]


def write(target: object, letter: str) -> None:
    QTest.keyClicks(target, letter)  # type: ignore[call-overload]


@pytest.fixture
def shop() -> Workshop:
    return Workshop()


@pytest.fixture
def desk(shop: Workshop) -> Iterator[StationDesk]:
    store = open_store(paths.records_folder(), clock=shop.clock)
    made = StationDesk(store, watch=False, now=shop.clock, plug_in_sample=shop.plug_in)
    yield made
    made.close()


@pytest.fixture
def worker(qtbot, desk: StationDesk, shop: Workshop) -> Worker:
    make_app()
    window = MainWindow(desk, "light", Sound({}))
    window.stop_clock()
    qtbot.addWidget(window)
    window.resize(1280, 720)
    window.show()
    window.activateWindow()
    return Worker(window, desk, shop)


def test_a_day(worker: Worker, desk: StationDesk, shop: Workshop) -> None:
    name_the_lot(worker)
    shown: dict[str, list[SessionView]] = {}
    for number, (tag, case) in enumerate(LOT.items()):
        (take_in_plugged if number % 2 else take_in)(worker, tag, case)
        assert worker.view().visit.kind == FIRST_LOOK
        if tag == SLIPPED:
            slip_and_take_back(worker)
        worker.at(tag, "first look")
        shown[tag] = [worker.work_through()]
        if tag == NOTED:
            worker.at(tag, "note")
            worker.press(K.Key_N)
            worker.type("grip worn")
            worker.press(K.Key_Return)
    assert {u.tag: u.claim for u in desk.units.find()} == {tag: case.claim for tag, case in LOT.items()}
    assert {desk.units.history(u.id).lot.name for u in desk.units.find()} == {"DAY"}  # type: ignore[union-attr]
    flagged = {tag: not_passed(views[0]) for tag, views in shown.items()}
    assert flagged == {tag: {case.bad} - {""} for tag, case in LOT.items()}

    withdraw_the_note(worker, desk)
    shown[TREATED].append(clean(worker, desk, shop))
    shop.now += timedelta(days=3)
    shown[TREATED].append(prove_again(worker, desk))
    sell(worker, desk, shown[TREATED][-1])

    for tag, views in shown.items():
        what_was_shown_is_kept(unit_of(desk, tag), desk, views)
    sys.stdout.write(worker.told())
    for tag, case in LOT.items():
        keys, seconds = worker.keys[tag], worker.seconds[tag]
        assert keys["first look"] <= FIRST_LOOK_KEYS + case.stuck, tag
        assert keys["look over, plug in"] <= LOOK_OVER_KEYS, tag
        assert seconds["intake"] <= INTAKE_S, tag
    sound = [worker.seconds[tag]["first look"] for tag, case in LOT.items() if not case.bad]
    assert median(sound) <= FIRST_LOOK_S  # hands differ from unit to unit
    keys, seconds = worker.keys[TREATED], worker.seconds[TREATED]
    assert keys["begin a cleaning"] <= BEGIN_A_CLEANING_KEYS
    recheck, full = (len(view.steps) * TICK_S for view in shown[TREATED][1:])  # each end is seen a tick late at most
    assert (keys["re-check"] <= RECHECK_KEYS, seconds["re-check"] <= RECHECK_S + recheck) == (True, True)
    assert (keys["full check"] <= FULL_KEYS, seconds["full check"] <= FULL_S + full) == (True, True)
    with open_store(paths.records_folder(), read_only=True) as reader:
        assert reader.verify_log().sound


def unit_of(desk: StationDesk, tag: str) -> Unit:
    (unit,) = (u for u in desk.units.find(tag) if u.tag == tag)
    return unit


def not_passed(view: SessionView) -> set[str]:
    """The controls that were not found in order ("": the whole unit), less what was only offered and nobody did, and
    the charge: this worker has no meter at hand, so that was looked at and not measured."""
    asked = [s for s in view.steps if s.attempts or not s.step.offered]
    charge = next(s for s in view.steps if s.step.check == "charge") if view.visit.kind != "after treatment" else None
    assert charge is None or (charge.outcome.value, charge.reason) == ("not done", "looked at, not measured")
    return {s.step.control for s in asked if s.outcome.value != "pass" and s.step.check != "charge"}


def what_was_shown_is_kept(unit: Unit, desk: StationDesk, views: Sequence[SessionView]) -> None:
    """What the records hold of each visit is what the window showed last of it."""
    results = desk.units.history(unit.id).results
    for view in views:
        kept = shown_by_key(r for r in results if r.visit_id == view.visit.id)
        told = {(s.step.check, s.step.control): s.outcome.value for s in view.steps if s.attempts}
        assert {key: r.assessment.outcome.value for key, r in kept.items()} == told
        assert all(s.state == "done" or s.step.offered for s in view.steps)


def name_the_lot(worker: Worker) -> None:
    worker.at("", "lot")
    worker.press(K.Key_F2)
    worker.press(K.Key_L)
    worker.type("DAY")
    worker.press(K.Key_Return)


def slip_and_take_back(worker: Worker) -> None:
    """A check is skipped by mistake."""
    worker.at(worker.tag, "slip")
    at = worker.view().current
    worker.press(K.Key_S, K.Key_Return)
    assert worker.view().steps[at].attempts == 1
    worker.press(K.Key_Z, thought=True, held=Qt.KeyboardModifier.ControlModifier)
    assert worker.view().steps[at].attempts == 0, "it is to be done again"


def withdraw_the_note(worker: Worker, desk: StationDesk) -> None:
    """It was the grip of another unit."""
    worker.at(NOTED, "withdraw")
    worker.scan(NOTED)
    worker.press(K.Key_Z)
    panel = worker.window.panel
    assert isinstance(panel, WithdrawPanel)
    worker.press(K.Key_Tab)
    assert panel.reason.hasFocus()
    worker.type("another unit's grip")
    worker.press(K.Key_Return)
    history = desk.units.history(unit_of(desk, NOTED).id)
    assert history.notes == ()
    assert [w.by.reason for w in history.withdrawn] == ["another unit's grip"]


def clean(worker: Worker, desk: StationDesk, shop: Workshop) -> SessionView:
    """What is proposed is done; when it is over the re-check begins."""
    worker.at(TREATED, "begin a cleaning")
    worker.scan(TREATED)
    worker.press(K.Key_T)
    panel = worker.window.panel
    assert isinstance(panel, TreatmentPanel)
    box = panel.findChild(HazardBox)
    assert box is not None
    assert box.isVisible(), "the caution stands there before the work"
    assert panel.kind.options[2] == CLEANING
    worker.press(K.Key_3, K.Key_Return, thought=True)
    assert isinstance(worker.window.panel, WorkPanel)
    shop.now += timedelta(minutes=9)
    shop.healed.add(TREATED)
    worker.at(TREATED, "re-check")
    worker.plug_in(TREATED)
    worker.press(K.Key_Return)
    assert worker.view().visit.kind == "after treatment"
    view = worker.work_through()
    (done,) = desk.units.history(unit_of(desk, TREATED).id).treatments
    assert done.minutes in (9, 10), "they counted themselves"
    assert not_passed(view) == set()
    return view


def prove_again(worker: Worker, desk: StationDesk) -> SessionView:
    """The rest is over: it is due, and tested whole."""
    worker.at(TREATED, "find what is due")
    assert [row.unit.tag for row in desk.units.due() if row.ready] == [TREATED]
    worker.press(K.Key_F4)
    worker.scan(TREATED)
    worker.at(TREATED, "full check")
    worker.plug_in(TREATED)
    worker.press(K.Key_Return)
    assert worker.view().visit.kind == "after rest"
    view = worker.work_through()
    assert not_passed(view) == set()
    return view


def sell(worker: Worker, desk: StationDesk, view: SessionView) -> None:
    """It is ready, has its certificate and a buyer."""
    worker.at(TREATED, "ready, certificate, sold")
    worker.press(K.Key_B, K.Key_2, K.Key_Return)
    assert unit_of(desk, TREATED).becomes == "ready"
    worker.press(K.Key_C)
    assert isinstance(worker.window.panel, ShopPanel)
    worker.type("Mill Lane")
    worker.press(K.Key_Return)
    worker.draw()
    written = list(Path(paths.certificates_folder()).glob("*.pdf"))
    assert len(written) == 1, worker.window.foot.text()
    (pdf,) = written
    content = json.loads(pypdf.PdfReader(pdf).attachments["certificate.json"][0])["certificate"]
    assert (content["tag"], content["failed"]) == (TREATED, 0)
    worker.press(K.Key_B, K.Key_6, K.Key_Tab)
    worker.type("31")
    worker.press(K.Key_Return)
    unit = unit_of(desk, TREATED)
    assert (unit.becomes, unit.sold_minor) == ("sold", 3100)


def take_in(worker: Worker, tag: str, case: Case) -> None:
    """Its tag is scanned, then it is plugged in."""
    worker.at(tag, "intake")
    worker.scan(tag)
    panel = worker.window.panel
    assert isinstance(panel, NewUnitPanel)
    if case.claim:
        worker.type(case.claim)
    worker.press(K.Key_Return)
    worker.at(tag, "look over, plug in")
    worker.press(K.Key_Y, thought=True)
    worker.plug_in(tag)
    worker.press(K.Key_Return)


def take_in_plugged(worker: Worker, tag: str, case: Case) -> None:
    """It is plugged in, then the strip asks whose it is."""
    worker.at(tag, "intake")
    worker.plug_in(tag)
    worker.scan(tag)
    if case.claim:
        worker.type(case.claim)
    worker.press(K.Key_Return)
