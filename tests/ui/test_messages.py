"""What stands at the foot: whole, and only as long as it is of use."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import replace

import pytest
from pad import DEVICE
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from workbench import Workbench

from station.app import paths
from station.bench.types import Fault
from station.sources.devices import Appeared, Gone
from station.ui.header import device_line
from station.ui.ports import Said
from station.ui.window import DEVICE_LINE_TICKS, MainWindow

Press = Callable[..., None]
K = Qt.Key
LONG = (
    "limits.toml, line 14: [rest] offset: two numbers are expected, what passes and what fails beyond, like [4, 8]; "
    "correct the line and save the file. Until then the limits that ship are in force, and no unit is graded."
)


@pytest.mark.parametrize("wide", [520, 1280, 1920])
def test_a_long_message_stands_whole(window: MainWindow, wide: int) -> None:
    window.resize(wide, 720)
    window.say(LONG, bad=True)
    QApplication.processEvents()
    label = window.foot.message
    assert label.text() == LONG
    assert label.height() >= label.heightForWidth(label.width()), "lines are cut off"
    assert label.visibleRegion().boundingRect() == label.rect()


def test_a_short_message_takes_no_line_of_its_own(window: MainWindow) -> None:
    before = window.foot.height()
    window.say("Saved.")
    QApplication.processEvents()
    assert window.foot.height() == before


def test_a_message_is_put_away_with_the_mouse(window: MainWindow) -> None:
    window.say(LONG, bad=True)
    QTest.mouseClick(window.foot.away, Qt.MouseButton.LeftButton)
    assert window.foot.message.text() == ""
    assert not window.foot.away.isVisible()


def test_what_a_key_said_goes_with_the_next_key(window: MainWindow, press: Press) -> None:
    press(window, K.Key_V)
    assert window.foot.message.text()
    press(window, K.Key_F2)
    assert window.foot.message.text() == ""


def test_what_a_key_said_goes_when_it_is_done(window: MainWindow, desk: Workbench, press: Press) -> None:
    press(window, K.Key_V)
    assert window.foot.message.text()
    desk.plug_in()
    desk.settle(window)
    assert window.foot.message.text() == ""


def test_what_happened_stays_long_enough_to_be_read(visit: MainWindow, press: Press) -> None:
    visit.events.take([Said("SM-07-02 is a donor now.")])
    press(visit, K.Key_Down)
    assert "donor" in visit.foot.message.text()
    visit.shown.reading_s = 0.0
    press(visit, K.Key_Down)
    assert visit.foot.message.text() == ""


HELD = "Another program holds Plover T2; close that program and plug the device in again."


@pytest.mark.parametrize("over", [Appeared(DEVICE), Gone(DEVICE)], ids=["it can be opened", "it went away"])
def test_why_a_device_cannot_be_opened_goes_when_that_is_over(
    window: MainWindow, desk: Workbench, over: Appeared | Gone
) -> None:
    desk.plug_in(replace(DEVICE, problem=HELD))
    desk.settle(window)
    assert window.foot.message.text() == HELD
    desk.plug_in(replace(DEVICE, key="another", serial="X2"))
    desk.settle(window)
    assert window.foot.message.text() == HELD, "another one may be fine"
    desk.sockets.seen.append(over)
    desk.settle(window)
    assert window.foot.message.text() == ""


def test_of_a_device_that_was_unplugged_nobody_is_asked_whose_it_is(window: MainWindow, desk: Workbench) -> None:
    desk.plug_in(replace(DEVICE, key="another", serial="X2"))
    desk.settle(window)
    assert window.checklist.card.control.text() == "Whose unit is it?"
    desk.sockets.seen.append(Gone(replace(DEVICE, key="another", serial="X2")))
    desk.settle(window)
    assert window.checklist.card.control.text() == "Nothing to check yet"


def test_a_fault_of_storing_goes_when_a_result_is_stored(visit: MainWindow, desk: Workbench, press: Press) -> None:
    visit.shown.reading_s = 0.0
    visit.events.take([Fault("The disk is full; make room.")])
    press(visit, K.Key_Down)
    assert "disk is full" in visit.foot.message.text(), "no key answers a fault"
    desk.rest_at("left_stick", 0.4)
    desk.settle(visit)
    assert visit.foot.message.text() == ""


def test_broken_limits_are_said_and_so_is_that_they_are_mended(window: MainWindow, desk: Workbench) -> None:
    file = paths.records_folder() / "limits.toml"
    file.write_text("[rest]\noffset = 4", "utf-8")
    desk.desk.watch_house.look_now()
    desk.settle(window)
    assert "two numbers are expected" in window.foot.message.text()
    file.write_text("[rest]\noffset = [4, 8]", "utf-8")
    desk.desk.watch_house.look_now()
    desk.settle(window)
    assert "in force" in window.foot.message.text()
    assert not window.foot.is_bad()


def test_dropped_frames_are_logged_and_not_shown(visit: MainWindow, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.INFO):
        visit._last_tick -= 100_000_000  # type: ignore[operator]
        for _ in range(DEVICE_LINE_TICKS + 1):
            visit.tick()
    assert visit.dropped >= 4
    assert "frames were dropped" in caplog.text
    assert "dropped" not in visit.header.device.text()
    assert "frame" not in device_line(None, visit.desk.live.status(), 1000.0)


def test_what_the_reader_says_while_it_reads_stands_until_it_is_over(
    window: MainWindow, desk: Workbench, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = ["Plover T2 refused step 1 of its opening (no reason given); plug it in again."]
    plain = desk.pad.status
    monkeypatch.setattr(desk.pad, "status", lambda: replace(plain(), message=said[0]))
    desk.plug_in()
    desk.settle(window)
    frames = range(2 * DEVICE_LINE_TICKS)
    for _ in frames:
        window.tick()
    assert (window.foot.message.text(), window.foot.is_bad()) == (said[0], True)
    window.say("")
    for _ in frames:
        window.tick()
    assert window.foot.message.text() == "", "what was put away is not said again"
    said[0] = "No pad answers."
    for _ in frames:
        window.tick()
    assert window.foot.message.text() == said[0]
    said[0] = ""
    for _ in frames:
        window.tick()
    assert window.foot.message.text() == ""
