"""A unit is left alone from the window: it leaves the front, the strip tells of it, its result comes into its visit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from pad import DEVICE, button
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from workbench import Workbench

from station.app import paths
from station.bench.types import Finish, Go
from station.checks.types import Outcome
from station.errors import InputError, RecordFull
from station.records.rules import ALONE_KEY
from station.records.types import Result, Treatment, Unit
from station.ui.panels.alone import EndPanel
from station.ui.ports import Said
from station.ui.window import DEVICE_LINE_TICKS, MainWindow

Press = Callable[..., None]
SHIFT = Qt.KeyboardModifier.ShiftModifier


def leave(window: MainWindow, press: Press, duration: Qt.Key = Qt.Key.Key_1) -> None:
    press(window, Qt.Key.Key_W)
    press(window, duration)
    if window.panel_open():
        press(window, Qt.Key.Key_Return)


def wait(desk: Workbench, window: MainWindow, seconds: float) -> None:
    for _ in range(round(seconds / 5)):
        desk.desk.advance(5.0)
    desk.settle(window)
    for _ in range(DEVICE_LINE_TICKS + 1):
        window.tick()


def idle_text(window: MainWindow) -> str:
    return " ".join(label.text() for label in window.checklist.findChildren(QLabel))


def results(desk: Workbench) -> list[Result]:
    return [r for r in desk.history().results if r.check == "alone"]


def test_what_to_mind_stands_before_it(visit: MainWindow, press: Press) -> None:
    press(visit, Qt.Key.Key_W)
    labels = visit.panel.labels()  # type: ignore[union-attr]
    assert labels[0] == "Leave alone: SM-07-04"
    signs, stop, whole, do = labels[1:5]
    assert signs.startswith("cell · mains")
    assert "swollen" in stop
    assert "nobody near only as your local rules allow" in whole
    assert "hands off" in do


def test_it_leaves_the_front_and_comes_back_with_its_result(visit: MainWindow, desk: Workbench, press: Press) -> None:
    begun = desk.session().visit
    desk.press("south", 1)  # known from then on: the pad reports changes only
    leave(visit, press)
    wait(desk, visit, 5)
    assert desk.desk.visit.session() is None
    assert not desk.desk.devices.devices()
    (view,) = desk.desk.alone.views()
    assert (view.tag, view.state) == ("SM-07-04", "settles")
    assert "SM-07-04" in visit.alone.line.text()
    assert visit.alone.isVisible()
    wait(desk, visit, 300)
    desk.pad.feed(south=button(desk.now_ns + 1_000_000, True))  # type: ignore[attr-defined]
    desk.pad.feed(south=button(desk.now_ns + 90_000_000, False))  # type: ignore[attr-defined]
    wait(desk, visit, 60)
    assert "1 movement by itself" in visit.alone.line.text()
    wait(desk, visit, 300)
    assert not desk.desk.alone.views()
    assert visit.alone.isHidden()
    assert visit.foot.message.text() == "SM-07-04, left alone: borderline"
    (result,) = results(desk)
    assert (result.visit_id, result.assessment.outcome) == (begun.id, Outcome.BORDERLINE)
    assert result.capture_sha256
    assert not list(paths.alone_folder().iterdir())
    assert visit.arrival.device is not None
    assert visit.arrival.device.unit is not None
    press(visit, Qt.Key.Key_Return)
    assert desk.session().visit.id == begun.id
    assert desk.session().steps[0].step.check == "alone"
    assert desk.session().steps[0].outcome is Outcome.BORDERLINE


def test_another_unit_is_tested_meanwhile(visit: MainWindow, desk: Workbench, press: Press) -> None:
    leave(visit, press)
    other = replace(DEVICE, key="pad:2", serial="PT2-0500")
    desk.plug_in(other)
    desk.settle(visit)
    unit = desk.store.add_unit(Unit("unit-5", "SM-07-05", "Plover T2", None, "PT2-0500", 0x1209, 1, "Plover T2"))
    desk.desk.visit.start(unit.id, other, "intake")
    desk.settle(visit)
    assert desk.session().unit.tag == "SM-07-05"
    wait(desk, visit, 620)
    assert desk.session().unit.tag == "SM-07-05"
    assert [r.assessment.outcome for r in desk.store.history("unit-4").results if r.check == "alone"] == [Outcome.PASS]


def test_it_is_ended_by_hand(visit: MainWindow, desk: Workbench, press: Press) -> None:
    leave(visit, press, Qt.Key.Key_3)
    wait(desk, visit, 700)
    assert "for 11 min" in visit.alone.line.text()
    assert "It is left alone: hands off." in idle_text(visit)
    press(visit, Qt.Key.Key_W, SHIFT)
    press(visit, Qt.Key.Key_Return)
    assert visit.panel_open(), "one without an end is asked about"
    assert any("End SM-07-04? 11 min so far" in text for text in visit.panel.labels())  # type: ignore[union-attr]
    press(visit, Qt.Key.Key_Return)
    wait(desk, visit, 5)
    (result,) = results(desk)
    assert result.assessment.outcome is Outcome.PASS


@pytest.mark.parametrize("view", [Qt.Key.Key_F2, Qt.Key.Key_F3, Qt.Key.Key_F4, Qt.Key.Key_F10])
def test_the_key_that_the_strip_names_counts_wherever_the_strip_stands(
    visit: MainWindow, press: Press, view: Qt.Key
) -> None:
    leave(visit, press, Qt.Key.Key_3)
    press(visit, view)
    assert visit.alone.isVisible()
    press(visit, Qt.Key.Key_W, SHIFT)
    assert isinstance(visit.panel, EndPanel)


def test_ended_too_soon_it_does_not_count(visit: MainWindow, desk: Workbench, press: Press) -> None:
    leave(visit, press)
    wait(desk, visit, 100)
    press(visit, Qt.Key.Key_W, SHIFT)
    press(visit, Qt.Key.Key_Return)
    wait(desk, visit, 5)
    (result,) = results(desk)
    assert result.assessment.again
    assert "at least ten minutes" in visit.foot.message.text()


def test_what_the_records_refuse_is_kept_and_stored_later(
    visit: MainWindow, desk: Workbench, press: Press, monkeypatch: pytest.MonkeyPatch
) -> None:
    leave(visit, press, Qt.Key.Key_3)
    wait(desk, visit, 700)
    real = type(desk.store).add_result

    def full(self: object, result: Result) -> Result:
        raise RecordFull("The disk is full; make room.")

    monkeypatch.setattr(type(desk.store), "add_result", full)
    press(visit, Qt.Key.Key_W, SHIFT)
    press(visit, Qt.Key.Key_Return)
    press(visit, Qt.Key.Key_Return)
    wait(desk, visit, 5)
    assert "could not be stored yet" in visit.foot.message.text()
    assert list(paths.alone_folder().glob("*.json"))
    monkeypatch.setattr(type(desk.store), "add_result", real)
    wait(desk, visit, 5)
    assert [r.assessment.outcome for r in results(desk)] == [Outcome.PASS]
    assert not list(paths.alone_folder().iterdir())


def test_what_was_ended_and_not_stored_is_stored_at_the_next_start(
    visit: MainWindow, desk: Workbench, press: Press, monkeypatch: pytest.MonkeyPatch
) -> None:
    leave(visit, press, Qt.Key.Key_3)
    wait(desk, visit, 700)
    real = type(desk.store).add_result

    def full(self: object, result: Result) -> Result:
        raise RecordFull("The disk is full; make room.")

    monkeypatch.setattr(type(desk.store), "add_result", full)
    press(visit, Qt.Key.Key_W, SHIFT)
    press(visit, Qt.Key.Key_Return)
    press(visit, Qt.Key.Key_Return)
    wait(desk, visit, 5)
    desk.clock.moment += timedelta(seconds=800)
    desk.desk.close()
    monkeypatch.setattr(type(desk.store), "add_result", real)
    again = Workbench(paths.records_folder())
    again.clock.moment = desk.clock.moment
    again.idle()
    again.desk.alone.tick()
    again.idle()
    assert [r.assessment.outcome for r in results(again)] == [Outcome.PASS]
    again.close()


def test_it_is_not_tested_while_it_is_left_alone(visit: MainWindow, desk: Workbench, press: Press) -> None:
    leave(visit, press)
    desk.desk.visit.start("unit-4", desk.pad.info, "final")
    desk.settle(visit)
    assert desk.desk.visit.session() is None
    assert "is left alone" in visit.foot.message.text()


def test_unplugged_and_back_it_goes_on(visit: MainWindow, desk: Workbench, press: Press) -> None:
    leave(visit, press)
    wait(desk, visit, 60)
    desk.unplug()
    wait(desk, visit, 5)
    assert "away" in visit.alone.line.text()
    desk.plug_in()
    wait(desk, visit, 10)
    assert "1 disconnect" in visit.alone.line.text()
    wait(desk, visit, 600)
    (result,) = results(desk)
    assert {f.code for f in result.assessment.findings} == {"dropped_out"}


def test_another_device_in_its_place_ends_it(visit: MainWindow, desk: Workbench, press: Press) -> None:
    leave(visit, press)
    wait(desk, visit, 60)
    desk.unplug()
    wait(desk, visit, 5)
    desk.plug_in(replace(desk.pad.info, product_id=7, serial=""))
    desk.settle(visit)
    wait(desk, visit, 5)
    assert "another device was plugged in" in visit.foot.message.text()
    assert not desk.desk.alone.views()


@pytest.mark.parametrize("dead_s", [30, 3600])
def test_a_restart_goes_on(visit: MainWindow, desk: Workbench, press: Press, dead_s: int) -> None:
    leave(visit, press, Qt.Key.Key_1)
    wait(desk, visit, 400)
    desk.clock.moment += timedelta(seconds=400 + dead_s)
    desk.desk.close()
    again = Workbench(paths.records_folder())
    again.clock.moment = desk.clock.moment
    again.desk.advance(0)
    again.idle()
    views = again.desk.alone.views()
    if dead_s < 60:
        (view,) = views
        assert (view.tag, view.state) == ("SM-07-04", "away")
        again.plug_in()
        again.idle()
        (view,) = again.desk.alone.views()
        assert view.state == "watched"
        assert view.passed_s == pytest.approx(400 + dead_s - 10, abs=2)
        assert again.desk.visit.session() is None
    again.close()


def test_the_most_that_can_be_left(visit: MainWindow, desk: Workbench, press: Press) -> None:
    leave(visit, press)
    for number in range(2, 10):
        other = replace(DEVICE, key=f"pad:{number}", serial=f"PT2-05{number:02d}")
        desk.plug_in(other)
        desk.store.add_unit(Unit(f"u{number}", f"SM-08-{number:02d}", "Plover T2", None, other.serial, 0x1209, 1))
        desk.settle(visit)
        desk.desk.alone.leave(f"u{number}", other, "intake", 600.0)
        desk.settle(visit)
    assert len(desk.desk.alone.views()) == 8
    assert visit.foot.message.text().startswith("8 units are left alone already")
    wait(desk, visit, 615)
    assert len(desk.store.unfinished_visits()) == 8
    with pytest.raises(InputError):
        desk.desk.alone.end("nothing")


def test_a_shop_that_asks_for_it(visit: MainWindow, desk: Workbench, press: Press) -> None:
    press(visit, Qt.Key.Key_W)
    press(visit, Qt.Key.Key_Tab)
    press(visit, Qt.Key.Key_2)
    if visit.panel_open():
        press(visit, Qt.Key.Key_Return)
    assert desk.store.get_setting(ALONE_KEY) == "on"
    assert len(desk.desk.alone.views()) == 1
    assert np.isclose(desk.desk.alone.views()[0].left_s or 0.0, 610.0, atol=1.0)


def test_it_comes_first_in_the_second_test_and_the_unit_is_not_ready_before(
    window: MainWindow, desk: Workbench
) -> None:
    desk.store.set_setting(ALONE_KEY, "on")
    unit = desk.store.add_unit(Unit("unit-4", "SM-07-04", "Plover T2", None, "PT2-0419", 0x1209, 1, "Plover T2"))
    desk.store.add_treatment(Treatment("", unit.id, "clean from outside", "2026-11-25T09:00:00.000Z"))
    desk.clock.moment += timedelta(days=4)
    desk.begin(window, unit, "after rest")
    assert desk.session().steps[0].step.check == "alone"
    desk.go_to("alone")
    desk.desk.visit.do(Go())
    desk.settle(window)
    assert "W leaves it" in window.foot.message.text()
    desk.desk.visit.do(Finish())
    desk.settle(window)


def test_files_that_are_not_ours_stop_no_unit_from_going_on(visit: MainWindow, desk: Workbench, press: Press) -> None:
    leave(visit, press, Qt.Key.Key_1)
    wait(desk, visit, 60)
    desk.desk.close()
    folder = paths.alone_folder()
    (own,) = folder.glob("*.json")
    given = own.read_text("utf-8")
    for number, (old, new) in enumerate([('"begun_at": "', '"begun_at": "x'), ('"seconds": 600.0', '"seconds": NaN')]):
        name = f"00000000-0000-7000-8000-{number:012d}"
        assert old in given
        (folder / f"{name}.json").write_text(given.replace(own.stem, name).replace(old, new), "utf-8")
    (folder / "x.json").write_text(given.replace(own.stem, "*"), "utf-8")
    again = Workbench(paths.records_folder())
    again.clock.moment = desk.clock.moment + timedelta(seconds=70)
    again.desk.settle()
    told = [e.text for e in again.desk.live.take_events() if isinstance(e, Said)]
    assert [view.tag for view in again.desk.alone.views()] == ["SM-07-04"]
    assert len([text for text in told if "was put aside, and nothing of it counts" in text]) == 3
    assert not [r for r in results(again) if r.id == "*"]
    again.close()
