"""A treatment as work: T, Enter begins it with its caution before, the minutes count, Enter ends it and the re-check
begins."""

from __future__ import annotations

from collections.abc import Callable

import pytest
import scenes
from pad import DEVICE
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QLabel
from workbench import Workbench

from station.app.works import Works
from station.diagnosis.guide import load_guide
from station.records.types import ShelfPart, Treatment, Unit, Visit
from station.ui.painting.hazards import HazardBox
from station.ui.panels.treatment import TreatmentPanel, WorkPanel
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
Write = Callable[..., None]
UNIT = Unit("unit-4", "SM-07-04", "Plover T2", None, "PT2-0419", 0x1209, 1, "Plover T2", "left stick goes by itself")


@pytest.fixture
def found(window: MainWindow, desk: Workbench) -> MainWindow:
    """A unit on the bench in which the left stick was found faulty, not plugged in; its record is shown."""
    scenes.cleaned_in_vain(desk, desk.store.add_unit(UNIT), "left_stick")
    window.bench.open_unit(desk.store.unit(UNIT.id))
    desk.settle(window)
    return window


def treatments(desk: Workbench) -> list[tuple[str, str, int]]:
    return [(t.kind, t.part, t.minutes) for t in desk.store.history(UNIT.id).treatments]


def test_the_proposed_treatment_is_begun_by_two_keys_with_its_caution_before(
    found: MainWindow, desk: Workbench, press: Press
) -> None:
    before = len(treatments(desk))
    proposal = desk.desk.advice.proposal(UNIT.id)
    press(found, K.Key_T)
    panel = found.panel
    assert isinstance(panel, TreatmentPanel)
    assert panel.kind.options[0] == f"{proposal.kind} (next)"
    assert panel.part.options[0] == proposal.part
    box = panel.findChild(HazardBox)
    assert box.in_full
    assert box.stop.text().split("\n") == [h.stop for h in load_guide().hazards_of(proposal.kind)]
    press(found, K.Key_Return)
    assert isinstance(found.panel, WorkPanel)
    assert len(treatments(desk)) == before
    work = desk.desk.work.of_unit(UNIT.id)
    assert (work.treatment.kind, work.treatment.part) == (proposal.kind, proposal.part)
    assert work.treatment.cost_minor == proposal.cost_minor


def test_another_kind_takes_three_keys(found: MainWindow, desk: Workbench, press: Press) -> None:
    for key in (K.Key_T, K.Key_3, K.Key_Return):
        press(found, key)
    work = desk.desk.work.of_unit(UNIT.id)
    assert work.treatment.kind in {m.kind for m in load_guide().treatments}


def test_the_second_press_of_the_enter_that_began_it_does_not_end_it(
    found: MainWindow, desk: Workbench, press: Press
) -> None:
    before = treatments(desk)
    press(found, K.Key_T)
    press(found, K.Key_Return)
    for _ in range(3):
        desk.clock.move(milliseconds=150)
        press(found, K.Key_Return)
    assert treatments(desk) == before
    assert isinstance(found.panel, WorkPanel)
    desk.clock.move(seconds=2)
    press(found, K.Key_Return)
    assert len(treatments(desk)) == len(before) + 1


def test_an_enter_that_is_leaned_on_neither_begins_nor_ends_work(
    found: MainWindow, desk: Workbench, press: Press
) -> None:
    before = treatments(desk)
    press(found, K.Key_T)
    lean_on(found, desk)
    assert isinstance(found.panel, TreatmentPanel)
    press(found, K.Key_Return)
    desk.clock.move(minutes=3)
    lean_on(found, desk)
    assert isinstance(found.panel, WorkPanel)
    assert treatments(desk) == before


def lean_on(window: MainWindow, desk: Workbench) -> None:
    """What the keyboard sends while Enter is held down."""
    held = QKeyEvent(QEvent.Type.KeyPress, K.Key_Return, Qt.KeyboardModifier.NoModifier, "\r", True)
    QApplication.sendEvent(window.focusWidget() or window, held)
    desk.settle(window)


def test_enter_ends_it_with_the_minutes_that_passed(found: MainWindow, desk: Workbench, press: Press) -> None:
    press(found, K.Key_T)
    press(found, K.Key_Return)
    desk.clock.move(minutes=6, seconds=20)
    found.panel._tick()  # type: ignore[union-attr]
    assert found.panel.clock.text().startswith("6:2")  # type: ignore[union-attr]
    press(found, K.Key_Return)
    assert treatments(desk)[-1][2] == 7
    assert desk.desk.work.of_unit(UNIT.id) is None


def test_it_is_paused_and_goes_on(found: MainWindow, desk: Workbench, press: Press) -> None:
    press(found, K.Key_T)
    press(found, K.Key_Return)
    desk.clock.move(minutes=4)
    press(found, K.Key_Space)
    desk.clock.move(minutes=60)
    found.panel._tick()  # type: ignore[union-attr]
    assert "paused" in found.panel.clock.text()  # type: ignore[union-attr]
    press(found, K.Key_Space)
    desk.clock.move(minutes=1)
    press(found, K.Key_Return)
    assert treatments(desk)[-1][2] in (5, 6)


def test_the_clock_goes_on_behind_a_closed_panel_and_t_comes_back_to_it(
    found: MainWindow, desk: Workbench, press: Press
) -> None:
    press(found, K.Key_T)
    press(found, K.Key_Return)
    press(found, K.Key_Escape)
    assert found.panel is None
    assert found.checklist.card.do.text().startswith("Under way")
    desk.clock.move(minutes=9)
    press(found, K.Key_T)
    assert isinstance(found.panel, WorkPanel)
    press(found, K.Key_Return)
    assert treatments(desk)[-1][2] in (9, 10)


def test_it_survives_the_end_of_the_program(found: MainWindow, desk: Workbench, press: Press) -> None:
    press(found, K.Key_T)
    press(found, K.Key_Return)
    desk.clock.move(minutes=30)
    again = Works(desk.store, desk.clock, desk.desk.work._changes, desk.desk.work._undo)
    work = again.of_unit(UNIT.id)
    assert work is not None
    assert again.minutes(work) in (30, 31)


def test_a_forgotten_clock_asks_for_the_minutes(found: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    press(found, K.Key_T)
    press(found, K.Key_Return)
    desk.clock.move(hours=14)
    before = len(treatments(desk))
    press(found, K.Key_Return)
    assert len(treatments(desk)) == before
    assert any("write how many minutes" in text for text in found.panel.labels())  # type: ignore[union-attr]
    write(found, "12")
    press(found, K.Key_Return)
    assert treatments(desk)[-1][2] == 12


def test_what_did_not_come_to_pass_is_dropped(found: MainWindow, desk: Workbench, press: Press) -> None:
    before = treatments(desk)
    for key in (K.Key_T, K.Key_Return, K.Key_X):
        press(found, key)
    assert desk.desk.work.of_unit(UNIT.id) is None
    assert treatments(desk) == before
    assert found.panel is None


def test_minutes_that_are_written_in_say_that_it_is_done_already(
    found: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    press(found, K.Key_T)
    found.panel.minutes.setFocus()  # type: ignore[union-attr]
    write(found, "15")
    press(found, K.Key_Return)
    assert treatments(desk)[-1][2] == 15
    assert desk.desk.work.of_unit(UNIT.id) is None


def test_the_re_check_begins_where_the_unit_is_plugged_in(found: MainWindow, desk: Workbench, press: Press) -> None:
    press(found, K.Key_T)
    press(found, K.Key_Return)
    desk.clock.move(minutes=3)
    desk.plug_in(DEVICE)
    desk.settle(found)
    found.panel.setFocus()  # type: ignore[union-attr]
    press(found, K.Key_Return)
    session = desk.desk.visit.session()
    assert session is not None
    assert session.visit.kind == "after treatment"
    assert session.visit.treatment_id == desk.store.history(UNIT.id).treatments[-1].id


def test_a_unit_that_came_back_while_its_work_ran_is_not_asked_about_once_its_re_check_began(
    found: MainWindow, desk: Workbench, press: Press
) -> None:
    press(found, K.Key_T)
    press(found, K.Key_Return)
    desk.clock.move(minutes=3)
    desk.plug_in(DEVICE)
    desk.settle(found)
    assert found.arrival.isVisible()
    press(found, K.Key_Return)
    assert desk.session().visit.kind == "after treatment"
    assert (found.arrival.device, found.arrival.isVisible()) == (None, False)


def test_under_the_clock_of_the_work_neither_strip_nor_foot_names_keys_that_are_the_clocks(
    found: MainWindow, desk: Workbench, press: Press
) -> None:
    press(found, K.Key_T)
    press(found, K.Key_Return)
    desk.plug_in(DEVICE)
    desk.settle(found)
    assert (found.arrival.keys.text(), found.foot.panes.text()) == ("", "")
    press(found, K.Key_Escape)
    assert found.panel is None
    assert "Enter" in found.arrival.keys.text()
    assert found.foot.panes.text().startswith("Space: ")


def test_the_enter_that_ends_the_work_begins_the_first_check_after_it(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    press(visit, K.Key_T)
    press(visit, K.Key_Return)
    desk.clock.move(minutes=3)
    press(visit, K.Key_Return)
    session = desk.session()
    assert session.visit.kind == "after treatment"
    desk.advance(1)
    assert desk.session().running


def test_a_visit_that_was_open_is_put_aside_when_work_begins_and_ends_with_it(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    press(visit, K.Key_T)
    press(visit, K.Key_Return)
    assert visit.shown.visit_unit() is None
    assert isinstance(visit.panel, WorkPanel)
    desk.clock.move(minutes=3)
    press(visit, K.Key_Return)
    opened, after = desk.history().visits
    assert opened.finished_at
    assert (after.kind, after.finished_at) == ("after treatment", "")


def test_a_visit_goes_on_where_the_work_did_not_come_to_pass(visit: MainWindow, desk: Workbench, press: Press) -> None:
    was = desk.session().visit
    for key in (K.Key_T, K.Key_Return, K.Key_X):
        press(visit, key)
    assert desk.session().visit == was
    assert not desk.session().finished
    assert len(desk.history().visits) == 1


def test_work_that_was_dropped_by_mistake_is_taken_up_again(visit: MainWindow, desk: Workbench, press: Press) -> None:
    press(visit, K.Key_T)
    press(visit, K.Key_Return)
    work = desk.desk.work.of_unit(UNIT.id)
    press(visit, K.Key_X)
    press(visit, K.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert desk.desk.work.of_unit(UNIT.id) == work
    assert visit.shown.visit_unit() is None


def test_a_part_from_the_shelf_goes_into_it_when_it_is_done(found: MainWindow, desk: Workbench, press: Press) -> None:
    part = desk.store.add_shelf_part(ShelfPart("", "Left stick sensor, horizontal", "Plover T2", 1))
    press(found, K.Key_T)
    panel = found.panel
    assert isinstance(panel, TreatmentPanel)
    kinds = [k.kind for k in panel._kinds]
    panel.kind.choose(kinds.index("replace sensor"))
    panel.source.choose(1)
    press(found, K.Key_Return)
    assert [p.count for p in desk.store.shelf() if p.id == part.id] == [1]
    desk.clock.move(minutes=1)
    press(found, K.Key_Return)
    assert [p.count for p in desk.store.shelf() if p.id == part.id] == [0]


def begun_on_an_open_visit(window: MainWindow, desk: Workbench, part: str = "") -> Visit:
    """Work under way and a visit that was left open: both ends are the records' alone."""
    treatment = Treatment("", UNIT.id, "replace sensor", "", "Left stick sensor, horizontal")
    desk.desk.work.begin(treatment, part)
    desk.settle(window)
    return desk.store.start_visit(UNIT.id, "intake")


def test_a_part_that_somebody_else_took_leaves_work_and_visit_as_they_were(
    found: MainWindow, desk: Workbench, press: Press
) -> None:
    part = desk.store.add_shelf_part(ShelfPart("", "Left stick sensor, horizontal", "Plover T2", 1))
    visit = begun_on_an_open_visit(found, desk, part.id)
    desk.store.take_shelf_part(part.id)
    before = treatments(desk)
    desk.desk.work.end(UNIT.id, 5)
    desk.settle(found)
    assert treatments(desk) == before
    assert desk.desk.work.of_unit(UNIT.id) is not None
    assert [v.id for v in desk.store.unfinished_visits()] == [visit.id]


def test_an_open_visit_ends_with_the_work(found: MainWindow, desk: Workbench) -> None:
    begun_on_an_open_visit(found, desk)
    before = len(treatments(desk))
    desk.desk.work.end(UNIT.id, 5)
    desk.settle(found)
    assert len(treatments(desk)) == before + 1
    assert desk.desk.work.of_unit(UNIT.id) is None
    assert desk.store.unfinished_visits() == ()


def test_work_on_a_unit_that_was_withdrawn_is_kept_and_said(found: MainWindow, desk: Workbench) -> None:
    begun_on_an_open_visit(found, desk)
    desk.store.withdraw("unit", UNIT.id, "written up twice")
    desk.desk.work.end(UNIT.id, 5)
    desk.settle(found)
    assert "Unit SM-07-04 was withdrawn (written up twice)" in found.foot.message.text()
    assert desk.desk.work.of_unit(UNIT.id) is not None


def test_the_digit_of_a_kind_that_ships_stays_where_nothing_is_proposed(visit: MainWindow, press: Press) -> None:
    press(visit, K.Key_T)
    panel = visit.panel
    assert isinstance(panel, TreatmentPanel)
    assert panel.kind.options[:3] == ("clean from outside", "open and clean", "clean the sensor")


@pytest.mark.parametrize(("size", "scale"), [((520, 640), 1.0), ((1280, 720), 1.5), ((520, 480), 1.0)])
def test_the_stop_rule_is_in_view_where_enter_begins(
    found: MainWindow, desk: Workbench, press: Press, size: tuple[int, int], scale: float
) -> None:
    found.resize(*size)
    found.scale = scale
    found.apply_look()
    press(found, K.Key_T)
    panel = found.panel
    assert isinstance(panel, TreatmentPanel)
    QApplication.processEvents()
    proposal = desk.desk.advice.proposal(UNIT.id)
    stops = "\n".join(h.stop for h in load_guide().hazards_of(proposal.kind))
    shown = [label for label in panel.findChildren(QLabel) if label.text() == stops and label.isVisible()]
    assert len(shown) == 1
    assert shown[0].visibleRegion().boundingRect() == shown[0].rect(), "not scrolled away, not cut"
