"""What a key saved can be taken back, a key that was meant for what has just ended saves nothing, and what is said of
both is so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from conftest import UNIT
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit
from workbench import Workbench

from station.bench.types import Answer, StepView
from station.checks.types import Outcome
from station.records.types import FIRST_LOOK, Note, ShelfPart, Treatment, Unit
from station.ui.painting.widgets import has_keys
from station.ui.panels.stock import NewUnitPanel
from station.ui.window import MainWindow
from station.words import checklist, undo
from station.words import window as words

K = Qt.Key
CONTROL = Qt.KeyboardModifier.ControlModifier
Press = Callable[..., None]
ASKED = ("rumble", "charge")
"""the asks of the pad's sheet"""


def step(desk: Workbench, check: str) -> StepView:
    return desk.session().steps[desk.index_of(check)]


def struck(window: MainWindow) -> list[str]:
    return [label.text() for label in window.record.findChildren(QLabel) if label.property("role") == "struck"]


def undo_it(window: MainWindow, desk: Workbench, press: Press) -> None:
    press(window, K.Key_Z, CONTROL)
    desk.advance(50)
    desk.settle(window)


def ask(window: MainWindow, desk: Workbench, check: str) -> None:
    desk.go_to(check)
    desk.settle(window)


@pytest.fixture
def looked(window: MainWindow, desk: Workbench) -> MainWindow:
    """A first look whose free run has just ended before a question."""
    desk.begin(window, desk.store.add_unit(UNIT), FIRST_LOOK, check="glance")
    desk.run("glance", "left_stick")
    desk.settle(window)
    window.shown.late_key_s = 60.0
    ask(window, desk, "charge")
    window.shown.late_key_s = 12.0
    desk.commands.clear()
    return window


# --- a key that comes late --------------------------------------------------------------------------------------


def test_x_for_a_press_that_did_not_come_answers_nothing_once_the_free_run_is_over(
    looked: MainWindow, desk: Workbench, press: Press
) -> None:
    press(looked, K.Key_X)
    assert desk.commands == []
    assert step(desk, "charge").outcome is Outcome.NOT_DONE
    assert looked.foot.text() == words.LOOK_HAS_ENDED


def test_struck_again_it_is_the_answer_but_not_in_haste(looked: MainWindow, desk: Workbench, press: Press) -> None:
    press(looked, K.Key_X)
    press(looked, K.Key_X)
    assert desk.commands == [], "two strokes in a row are one"
    looked.shown.late_key_s = 0.0
    press(looked, K.Key_X)
    assert desk.commands == [Answer("fail", {}, of="charge")]


def test_y_meant_nothing_in_the_free_run_and_answers_at_once(looked: MainWindow, desk: Workbench, press: Press) -> None:
    press(looked, K.Key_Y)
    assert desk.commands == [Answer("pass", {}, of="charge")]


def test_after_any_other_check_x_answers_at_once(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.run("contact", "south")
    desk.settle(visit)
    ask(visit, desk, "charge")
    visit.shown.late_key_s = 60.0
    desk.commands.clear()
    press(visit, K.Key_X)
    assert desk.commands == [Answer("fail", {}, of="charge")]


# --- answers ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("check", "key"), [(c, k) for c in ASKED for k in (K.Key_Y, K.Key_X)])
def test_every_answer_is_taken_back_with_one_key_and_asked_again(
    visit: MainWindow, desk: Workbench, press: Press, check: str, key: K
) -> None:
    ask(visit, desk, check)
    press(visit, key)
    assert step(desk, check).attempts == 1
    assert visit.foot.undo.isVisible()
    undo_it(visit, desk, press)
    assert desk.history().results == ()
    assert step(desk, check).attempts == 0
    assert (desk.session().current, desk.session().running) == (desk.index_of(check), True), "asked again"
    assert struck(visit), "as it says"


def test_a_check_that_has_begun_meanwhile_gives_way_to_the_question(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    ask(visit, desk, "charge")
    press(visit, K.Key_Y)
    desk.advance(700)
    desk.settle(visit)
    begun = desk.session().current
    assert (desk.session().running, step(desk, "charge").state) == (True, "done")
    undo_it(visit, desk, press)
    assert desk.session().current == desk.index_of("charge")
    assert desk.session().steps[begun].state == "waiting"


def test_the_look_before_the_plug_is_taken_back_too(window: MainWindow, desk: Workbench, press: Press) -> None:
    window.bench.open_unit(desk.store.add_unit(UNIT))
    desk.settle(window)
    press(window, K.Key_Y)
    assert "looked over" in window.foot.text()
    assert window.checklist.card.do.text() != checklist.LOOK_FIRST
    undo_it(window, desk, press)
    assert desk.history().results == ()
    assert window.checklist.card.do.text() == checklist.LOOK_FIRST


def test_of_a_visit_that_is_over_the_answer_is_taken_back_and_that_is_said(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    ask(visit, desk, "charge")
    press(visit, K.Key_X)
    press(visit, K.Key_F)
    press(visit, K.Key_Return)
    desk.settle(visit)
    assert desk.session().finished
    undo_it(visit, desk, press)
    assert visit.foot.text() == undo.TAKEN_BACK_OVER
    assert step(desk, "charge").attempts == 0
    assert "fail" not in visit.checklist.card.do.text()


# --- what is said of it -------------------------------------------------------------------------------------------


def skipped(window: MainWindow, desk: Workbench, press: Press) -> None:
    for key in (K.Key_S, K.Key_2, K.Key_Return):
        press(window, key)


def treated(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.desk.units.treat(Treatment("", UNIT.id, "adjust", ""))
    desk.settle(window)


def noted(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.desk.units.note(Note("", UNIT.id, "", "grip worn"))
    desk.settle(window)


def changed(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.desk.units.change(replace(desk.store.unit(UNIT.id), condition="scratched"))
    desk.settle(window)


def sold(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.desk.units.change(replace(desk.store.unit(UNIT.id), becomes="sold", sold_minor=3100))
    desk.settle(window)


def corrected(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.desk.undo.correct(replace(desk.store.unit(UNIT.id), tag="SM-07-40"), "label misread")
    desk.settle(window)


def withdrawn(window: MainWindow, desk: Workbench, press: Press) -> None:
    noted(window, desk, press)
    press(window, K.Key_Z)
    assert window.panel is not None
    press(window, K.Key_Tab)
    QApplication.processEvents()
    field = window.focusWidget()
    assert isinstance(field, QLineEdit)
    field.setText("another unit")
    press(window, K.Key_Return)


def shelved(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.desk.stock.add_part(ShelfPart("", "Left trigger", "Plover T2", 1))
    desk.settle(window)


def dropped(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.desk.work.begin(Treatment("", UNIT.id, "adjust", ""))
    desk.settle(window)
    desk.desk.work.drop(UNIT.id)
    desk.settle(window)


SAVES = (skipped, treated, noted, changed, sold, corrected, withdrawn, shelved, dropped)


@pytest.mark.parametrize("save", SAVES, ids=lambda save: save.__name__)
def test_that_it_stands_struck_through_is_said_where_it_does(
    visit: MainWindow, desk: Workbench, press: Press, save: Callable[..., None]
) -> None:
    save(visit, desk, press)
    assert visit.foot.undo.isVisible()
    before = struck(visit)
    undo_it(visit, desk, press)
    assert visit.foot.text().startswith("Taken back")
    more = len(struck(visit)) > len(before)
    assert ("struck through" in visit.foot.text()) == more


def test_work_that_was_dropped_by_mistake_is_under_way_again(visit: MainWindow, desk: Workbench, press: Press) -> None:
    dropped(visit, desk, press)
    assert desk.desk.work.of_unit(UNIT.id) is None
    undo_it(visit, desk, press)
    assert desk.desk.work.of_unit(UNIT.id) is not None
    assert visit.foot.text() == undo.TAKEN_BACK_ALONE


# --- a question while the unit is away ------------------------------------------------------------------------------


def test_unplugged_the_question_stands_with_its_keys_and_beside_it_that_it_is_unplugged(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    ask(visit, desk, "charge")
    card = visit.checklist.card
    do, keys = card.do.text(), card.keys.text()
    desk.unplug()
    desk.advance(50)
    desk.settle(visit)
    assert (card.do.text(), card.keys.text()) == (do, keys)
    assert "plug it in again" in card.hint.text()
    assert card.property("away")
    press(visit, K.Key_Y)
    assert step(desk, "charge").attempts == 1


def test_unplugged_nothing_vibrates_so_nobody_can_say_how(visit: MainWindow, desk: Workbench, press: Press) -> None:
    ask(visit, desk, "rumble")
    desk.unplug()
    desk.advance(50)
    desk.settle(visit)
    assert "Y:" not in visit.checklist.card.keys.text()
    press(visit, K.Key_Y)
    desk.advance(50)
    desk.settle(visit)
    assert step(desk, "rumble").attempts == 0
    assert "cannot vibrate unplugged" in visit.foot.text()


# --- where one types -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("first", ["tag", "claim"])
def test_only_the_field_with_the_keys_shows_a_selection(window: MainWindow, desk: Workbench, first: str) -> None:
    window.open_panel(
        lambda look, over: NewUnitPanel(desk.desk.units, "DAY-01", (), None, look, over, first=first)  # type: ignore[arg-type]
    )
    panel = window.panel
    assert panel is not None
    selected = [f for f in panel.findChildren(QLineEdit) if f.hasSelectedText()]
    assert all(has_keys(f) for f in selected)
    assert bool(selected) == (first == "tag")


def test_tab_goes_on_in_a_window_that_is_not_the_active_one(window: MainWindow, desk: Workbench, qtbot) -> None:
    """As under no window manager, where none ever is."""
    other = QLabel()
    qtbot.addWidget(other)
    other.show()
    other.activateWindow()
    qtbot.waitUntil(lambda: not window.isActiveWindow())
    unit: Unit = desk.store.add_unit(UNIT)
    window.open_panel(lambda look, over: NewUnitPanel(desk.desk.units, unit.tag, (), None, look, over))
    panel = window.panel
    assert isinstance(panel, NewUnitPanel)
    order = []
    for _ in range(len(panel._order) + 1):
        order.append(window.focusWidget())
        qtbot.keyClick(window.focusWidget(), K.Key_Tab)
    assert order == [*panel._order, panel._order[0]]
    qtbot.keyClick(window.focusWidget(), K.Key_Tab, Qt.KeyboardModifier.ShiftModifier)
