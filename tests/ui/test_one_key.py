"""What Space means stands at the foot, and no stray key costs a try."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from conftest import UNIT
from pad import DEVICE
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication
from workbench import Workbench

from station.bench.types import Choose, Go, LongForm
from station.checks.types import Outcome
from station.errors import RecordFull
from station.records.store import Store
from station.records.types import Result
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]


def foot(window: MainWindow) -> str:
    window._show_keys_now()
    return window.foot.panes.text().split(" · ")[0]


def half_done(window: MainWindow, desk: Workbench) -> None:
    """A check runs, and something was done of it."""
    desk.run("contact", "south")
    desk.press("south", times=1)
    desk.settle(window)
    desk.commands.clear()
    assert desk.session().running


def test_the_foot_says_what_space_does(visit: MainWindow, desk: Workbench, press: Press) -> None:
    assert foot(visit) == "Space: start this check"
    desk.mark(Outcome.PASS)
    visit.tick()
    assert foot(visit) == "Space: wait"
    press(visit, K.Key_Space)
    assert foot(visit) == "Space: start this check"
    press(visit, K.Key_Space)
    assert foot(visit) == "Space: end this check"
    desk.go_to("rumble")
    desk.settle(visit)
    assert foot(visit) == "", "it answers no question"


def test_while_a_result_waits_for_room_space_tries_again_and_says_so(
    visit: MainWindow, desk: Workbench, press: Press, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: object, result: Result) -> Result:
        raise RecordFull("The disk is full; make room.")

    with monkeypatch.context() as patch:
        patch.setattr(Store, "add_result", full)
        desk.mark(Outcome.PASS)
        visit.tick()
        assert foot(visit) == "Space: try to store again"
        assert visit.checklist.card.keys.text().replace("\N{NO-BREAK SPACE}", " ") == "Space: try to store again"
        desk.advance(3000)
    press(visit, K.Key_Space)
    desk.advance(100)
    visit.tick()
    assert not desk.session().waits
    assert foot(visit) == "Space: wait", "the next check is about to begin"


def test_the_foot_says_so_of_a_unit_that_was_plugged_in(window: MainWindow, desk: Workbench) -> None:
    assert foot(window) == ""
    desk.store.add_unit(UNIT)
    desk.plug_in()
    desk.settle(window)
    assert foot(window) == "Space: begin the visit of SM-07-04"
    window.arrival.dismiss()
    assert foot(window) == ""
    desk.unplug()
    desk.settle(window)
    desk.plug_in(replace(DEVICE, key="pad:2", serial="X"))
    desk.settle(window)
    assert foot(window) == "Space: say whose unit it is"


@pytest.mark.parametrize(("key", "command"), [(K.Key_Down, Choose), (K.Key_Up, Choose), (K.Key_L, LongForm)])
def test_a_check_of_which_something_was_done_is_left_only_when_asked_twice(
    visit: MainWindow, desk: Workbench, press: Press, key: K, command: type
) -> None:
    half_done(visit, desk)
    press(visit, key)
    assert desk.commands == []
    assert desk.session().running
    assert "the same key again" in visit.foot.message.text()
    press(visit, key)
    assert [type(c) for c in desk.commands] == [command]


def test_another_key_between_is_no_answer(visit: MainWindow, desk: Workbench, press: Press) -> None:
    half_done(visit, desk)
    press(visit, K.Key_Down)
    press(visit, K.Key_L)
    assert desk.commands == []
    assert desk.session().running


def test_an_arrow_that_is_held_down_does_not_answer(visit: MainWindow, desk: Workbench, press: Press) -> None:
    half_done(visit, desk)
    visit.shown.late_key_s = 0.5
    press(visit, K.Key_Down)
    for _ in range(30):
        event = QKeyEvent(QEvent.Type.KeyPress, K.Key_Down, Qt.KeyboardModifier.NoModifier, "", True)
        QApplication.sendEvent(visit, event)
    assert desk.commands == []


def test_a_click_on_a_row_is_asked_about_too(visit: MainWindow, desk: Workbench) -> None:
    half_done(visit, desk)
    visit.checklist.chosen.emit(0)
    assert desk.commands == []


def test_a_check_that_has_only_begun_is_left_at_once(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.run("contact", "south")
    desk.settle(visit)
    desk.commands.clear()
    press(visit, K.Key_Down)
    assert [type(c) for c in desk.commands] == [Choose]


@pytest.mark.parametrize("key", [K.Key_Space, K.Key_Return])
def test_a_key_that_comes_after_a_check_ended_itself_does_nothing(
    visit: MainWindow, desk: Workbench, press: Press, key: K
) -> None:
    visit.shown.late_key_s = 60.0
    desk.mark(Outcome.PASS)
    desk.settle(visit)
    assert desk.session().begins
    desk.commands.clear()
    press(visit, key)
    assert desk.commands == []
    visit.shown.late_key_s = 0.0
    press(visit, key)
    assert desk.commands == [Go()]


def test_h_too_asks_before_it_leaves_a_check_of_which_something_was_done(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    """Its Enter begins the other press at once."""
    half_done(visit, desk)
    press(visit, K.Key_H)
    assert not visit.panel_open()
    assert "the same key again" in visit.foot.message.text()
    press(visit, K.Key_H)
    assert visit.panel_open()
