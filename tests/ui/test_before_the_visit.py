"""Before a visit begins: the plan stands in the checklist, and of a unit that is not here what was measured last."""

from __future__ import annotations

from collections.abc import Callable

import scenes
from pad import DEVICE
from PySide6.QtCore import Qt
from workbench import Workbench

from station.bench.types import Finish
from station.records.types import Treatment
from station.ui.checklist.rows import Row
from station.ui.window import MainWindow

Press = Callable[..., None]
K = Qt.Key


def listed(window: MainWindow) -> list[str]:
    return [f"{r.name}: {r.said}" for r in window.checklist.list.rows() if isinstance(r, Row)]


def test_the_plan_stands_there_as_soon_as_a_device_does(window: MainWindow, desk: Workbench) -> None:
    desk.plug_in()
    desk.settle(window)
    assert "Left stick: first look" in listed(window)


def test_the_plan_is_that_of_the_visit_that_begins(window: MainWindow, desk: Workbench) -> None:
    """What stands there is what the visit then asks, in the same order."""
    scenes.workshop(desk)
    desk.plug_in()
    desk.settle(window)
    before = window.checklist._plan
    assert before is not None
    assert listed(window)
    assert "first look" in window.checklist.card.counts.text()
    desk.desk.visit.start("unit-4", DEVICE, before.kind)
    desk.settle(window)
    assert [v.step for v in desk.session().steps] == [v.step for v in before.steps]


def test_after_a_treatment_the_plan_is_that_of_the_visit_after_it(window: MainWindow, desk: Workbench) -> None:
    scenes.third_visit(desk)
    desk.desk.visit.do(Finish())
    desk.settle(window)
    desk.unplug()
    desk.settle(window)
    desk.clock.moment = desk.clock.moment.replace(minute=desk.clock.moment.minute + 5)
    desk.desk.units.treat(Treatment("", "unit-4", "clean the sensor", "", "Left stick sensor, horizontal", 9))
    desk.settle(window)
    plan = desk.desk.advice.plan("unit-4")
    assert plan is not None
    assert plan.kind == "after treatment"
    assert "left_stick" in {v.step.control for v in plan.steps}
    desk.plug_in()
    desk.settle(window)
    desk.desk.visit.start("unit-4", DEVICE, plan.kind)
    desk.settle(window)
    assert [v.step for v in desk.session().steps] == [v.step for v in plan.steps]


def test_a_unit_that_is_not_here_shows_what_was_measured_last(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    scenes.third_visit(desk)
    desk.settle(window)
    last = window.live.last
    assert not last.isVisible(), "its visit is under way"
    desk.desk.visit.do(Finish())
    desk.settle(window)
    assert not last.isVisible(), "it is here"
    desk.unplug()
    desk.settle(window)
    assert last.isVisible()
    assert not any(dial.isVisible() for dial in window.live.dials.values())
    first = last.table.texts()[0]
    assert first[0] == "Left stick, at rest"
    assert first[1] == "fail"
    assert first[2] == "10.20\u00a0%"
    assert first[3] == "≤\u00a05"
    desk.plug_in()
    desk.settle(window)
    assert not last.isVisible()
    assert all(dial.isVisible() for dial in window.live.dials.values())


def test_of_a_unit_that_was_never_tested_it_says_what_to_do(window: MainWindow, desk: Workbench) -> None:
    scenes.workshop(desk)
    desk.settle(window)
    window.bench.open_unit(desk.store.unit("unit-4"))
    desk.settle(window)
    said = [window.live.last._title.text(), window.live.last._told.text()]
    assert said[0] == "SM-07-04 is not plugged in"
    assert "Plug it in" in said[1]
    assert not window.live.last.table.isVisible()
