"""What can hurt stands beside the step before the work: in full when it is new, its signs and stop rules always."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from workbench import Workbench

from station.diagnosis.guide import load_guide
from station.ui.cautions import HazardPanel
from station.ui.painting.hazards import Cautions, HazardBox, HazardsTold, full_text
from station.ui.painting.look import look_of
from station.ui.window import MainWindow
from station.words import cautions as words

K = Qt.Key
Press = Callable[..., None]
GUIDE = load_guide()
OUTSIDE, OPENED, SOLDERED = (GUIDE.hazards_of(kind) for kind in ("clean from outside", "adjust", "replace sensor"))


@pytest.mark.parametrize(
    ("steps", "new"),
    [
        pytest.param([OPENED], [True], id="the first time"),
        pytest.param([OPENED, OPENED], [True, False], id="the second time"),
        pytest.param([OPENED, SOLDERED, OPENED], [True, True, False], id="a hazard joins"),
        pytest.param([SOLDERED, OPENED], [True, False], id="fewer of them"),
    ],
)
def test_the_whole_text_stands_there_the_first_time_of_a_visit_and_when_a_hazard_joins(steps, new) -> None:
    told = HazardsTold()
    told.visit("v1")
    assert [told.new(hazards) for hazards in steps] == new
    told.visit("v2")
    assert told.new(steps[0])


def test_another_visit_is_another_first_time() -> None:
    on_bench = ["v1"]
    cautions = Cautions(GUIDE.hazards_of, lambda: on_bench[0])
    assert [cautions.are_new(OPENED), cautions.are_new(OPENED)] == [True, False]
    on_bench[0] = "v2"
    assert cautions.are_new(OPENED)


@pytest.mark.parametrize("in_full", [False, True])
def test_signs_and_stop_rules_always_stand_there(qtbot, in_full: bool) -> None:
    box = HazardBox(look_of("light", 1.0))
    qtbot.addWidget(box)
    box.set_hazards(SOLDERED, in_full=in_full)
    assert box.signs.text().startswith("cell · static · sharp, broken plastic · iron, hot air")
    assert box.stop.text().split("\n") == [hazard.stop for hazard in SOLDERED]
    assert box.stop.property("role") == "caution"
    assert words.DEFERS in box.text.text() or not in_full
    assert box.text.isHidden() is not in_full


def signs_of(window: MainWindow) -> str:
    box = window.panel.findChild(HazardBox)  # type: ignore[union-attr]
    assert box is not None
    return str(box.signs.text())


def test_q_reads_and_puts_away_in_a_panel(visit: MainWindow, press: Press) -> None:
    press(visit, K.Key_W)
    box = visit.panel.findChild(HazardBox)  # type: ignore[union-attr]
    assert box.in_full
    press(visit, K.Key_Q)
    assert not box.in_full
    press(visit, K.Key_Escape)
    press(visit, K.Key_W)
    assert not visit.panel.findChild(HazardBox).in_full  # type: ignore[union-attr]
    press(visit, K.Key_Q)
    assert visit.panel.findChild(HazardBox).in_full  # type: ignore[union-attr]


def test_a_hazard_of_the_shop_reaches_the_panels(visit: MainWindow, desk: Workbench, press: Press) -> None:
    own = '\n[[hazard]]\nname = "mains"\nsign = "OUR MAINS"\nbefore = "Ask the electrician of this shop."\n'
    path = desk.store.folder / "fault_guide.toml"
    path.write_text((load_guide.__globals__["DEFAULT_PATH"]).read_text("utf-8") + own, "utf-8")
    desk.desk.advice._guide = None
    press(visit, K.Key_W)
    assert "OUR MAINS" in signs_of(visit)
    assert "Ask the electrician" in visit.panel.findChild(HazardBox).text.text()  # type: ignore[union-attr]


@pytest.mark.parametrize("broken", ["cautions = 5", "hazard = [5]", "steps = {look = 5}", "x = " + "[" * 5000])
def test_a_guide_of_the_shop_that_cannot_be_read_costs_no_caution(
    visit: MainWindow, desk: Workbench, press: Press, broken: str
) -> None:
    head = 'format = "restpoint-fault-guide"\nversion = 1\ntreatment = []\nsuspect = []\n'
    money = "\n[work]\nhour_minor = 1\nopen_minutes = 1\ntest_minutes = 1\n"
    value = "[value]\nready_minor = 1\nas_is_minor = 1\nparts_minor = 1\n"
    (desk.store.folder / "fault_guide.toml").write_text(head + broken + money + value, "utf-8")
    desk.desk.advice._guide = None
    press(visit, K.Key_T)
    assert visit.panel is not None
    assert "cell" in signs_of(visit)


def test_looking_it_over_and_charging_bring_their_hazards_to_the_card(visit: MainWindow, desk: Workbench) -> None:
    for check in ("look", "charge"):
        if any(step.step.check == check for step in desk.desk.visit.session().steps):  # type: ignore[union-attr]
            desk.go_to(check, "")
            desk.settle(visit)
            box = visit.checklist.card.hazards
            assert not box.isHidden()
            assert box.stop.text().split("\n") == [h.stop for h in GUIDE.hazards_of(check)]
    desk.go_to("rest", "left_stick")
    desk.settle(visit)
    assert visit.checklist.card.hazards.isHidden()


def test_a_long_caution_leaves_the_keys_and_the_list_in_sight_and_q_reads_it_whole(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.go_to("charge")
    desk.settle(visit)
    QApplication.processEvents()
    pane = visit.checklist
    box = pane.card.hazards
    assert pane.list.isVisible()
    assert pane.list.height() >= 100
    assert pane.list.current_visible()
    assert pane.card.keys.mapTo(pane, pane.card.keys.rect().bottomLeft()).y() < pane.height()
    assert box.stop.text().split("\n") == [h.stop for h in GUIDE.hazards_of("charge")]
    assert box.is_cut
    assert box.signs.text().endswith("Q: read")
    assert full_text(GUIDE.hazards_of("charge")).startswith(box.text.text())
    assert box.text.text().endswith("."), "whole sentences"
    press(visit, K.Key_Q)
    assert isinstance(visit.panel, HazardPanel)
    assert visit.panel.findChild(HazardBox).text.text() == full_text(GUIDE.hazards_of("charge"))
    press(visit, K.Key_Escape)
    desk.go_to("quiet")
    desk.settle(visit)
    QApplication.processEvents()
    assert pane.list.height() > 200, "the list has its room back"
    assert pane.list.current_visible()


def test_a_caution_that_fits_is_read_on_the_card(visit: MainWindow, desk: Workbench, press: Press) -> None:
    visit.resize(1920, 1080)
    QApplication.processEvents()
    desk.go_to("charge")
    desk.settle(visit)
    QApplication.processEvents()
    box = visit.checklist.card.hazards
    assert not box.is_cut
    assert box.text.text() == full_text(GUIDE.hazards_of("charge"))
    press(visit, K.Key_Q)
    assert visit.panel is None
    assert not box.in_full
