"""Every save can be taken back with one key for some seconds, and later with a reason; what a unit is is put right."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from conftest import UNIT
from pad import plover
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot
from workbench import Workbench

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.bench.types import StepView
from station.checks.types import Assessment, Outcome
from station.records.types import Lot, Note, ShelfPart, Treatment, Unit
from station.ui.panels.withdraw import CorrectPanel, WithdrawPanel
from station.ui.record.pane import LogLabel
from station.ui.window import MainWindow

K = Qt.Key
SHIFT = Qt.KeyboardModifier.ShiftModifier
CONTROL = Qt.KeyboardModifier.ControlModifier
Press = Callable[..., None]
Write = Callable[..., None]


def step(desk: Workbench, check: str, control: str) -> StepView:
    return desk.session().steps[desk.index_of(check, control)]


def struck(window: MainWindow) -> list[str]:
    return [label.text() for label in window.record.findChildren(QLabel) if label.property("role") == "struck"]


def skip(window: MainWindow, press: Press) -> None:
    press(window, K.Key_S)
    press(window, K.Key_2)
    press(window, K.Key_Return)


# --- at once ------------------------------------------------------------------------------------------------


def test_a_skip_is_taken_back_with_one_key_and_its_check_is_next_again(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    at = desk.session().current
    skip(visit, press)
    assert visit.foot.undo.isVisible()
    assert visit.foot.text().startswith("Saved: Left stick, at rest")
    assert step(desk, "rest", "left_stick").attempts == 1
    press(visit, K.Key_Z, CONTROL)
    assert not visit.foot.undo.isVisible()
    assert (step(desk, "rest", "left_stick").attempts, desk.session().current) == (0, at)
    assert desk.history().results == ()
    assert [w.by.reason for w in desk.history().withdrawn] == ["undone at once"]
    assert struck(visit) == ["Left stick, at rest, not done"]
    skip(visit, press)
    assert step(desk, "rest", "left_stick").attempts == 1, "the visit goes on"


def test_the_button_does_what_the_key_does(visit: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    press(visit, K.Key_N)
    write(visit, "grip worn")
    press(visit, K.Key_Return)
    assert [n.text for n in desk.history().notes] == ["grip worn"]
    visit.foot.undo.click()
    desk.settle(visit)
    assert desk.history().notes == ()
    assert struck(visit) == ["grip worn"]


def test_a_treatment_is_taken_back_with_its_rest_and_its_part(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    unit = desk.store.add_unit(UNIT)
    part = desk.store.add_shelf_part(ShelfPart("", "Left stick sensor", "Plover T2", 1))
    window.bench.open_unit(unit)
    desk.desk.units.treat(Treatment("", unit.id, "replace sensor", ""), part.id)
    desk.settle(window)
    assert (desk.store.shelf()[0].count, desk.store.unit(unit.id).rest_until != "") == (0, True)
    press(window, K.Key_Z, CONTROL)
    assert (desk.store.shelf()[0].count, desk.store.unit(unit.id)) == (1, unit)


def test_a_sale_and_any_other_change_of_a_unit_is_taken_back(window: MainWindow, desk: Workbench, press: Press) -> None:
    unit = desk.store.add_unit(UNIT)
    window.bench.open_unit(unit)
    desk.desk.units.change(replace(unit, becomes="sold", sold_minor=3100))
    desk.settle(window)
    assert window.foot.text() == "Saved: unit SM-07-04: sold."
    press(window, K.Key_Z, CONTROL)
    assert desk.store.unit(unit.id) == unit


def test_a_unit_taken_in_by_mistake_is_taken_back_and_its_visit_stops(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.plug_in()
    desk.settle(window)
    press(window, K.Key_Return)
    (unit,) = desk.store.units()
    assert desk.session().unit.id == unit.id
    press(window, K.Key_Z, CONTROL)
    assert desk.store.units() == ()
    assert desk.desk.visit.session() is None
    assert "This unit was withdrawn" in struck(window)


def test_a_donor_and_a_part_are_taken_back(window: MainWindow, desk: Workbench, press: Press) -> None:
    unit = desk.store.add_unit(UNIT)
    desk.desk.stock.give_up(unit, [ShelfPart("", "Left stick sensor", "Plover T2", 1)], "")
    desk.settle(window)
    press(window, K.Key_Z, CONTROL)
    assert (desk.store.unit(unit.id), desk.store.shelf()) == (unit, ())
    desk.desk.stock.add_part(ShelfPart("", "Left trigger", "Plover T2", 1))
    desk.settle(window)
    press(window, K.Key_Z, CONTROL)
    assert desk.store.shelf() == ()


def test_the_offer_ends_and_then_the_key_says_what_to_do(
    visit: MainWindow, desk: Workbench, press: Press, qtbot: QtBot
) -> None:
    skip(visit, press)
    visit.undo._timer.setInterval(1)
    visit.undo._timer.start()
    qtbot.waitUntil(lambda: not visit.foot.undo.isVisible())
    assert visit.foot.text() == ""
    press(visit, K.Key_Z, CONTROL)
    assert "Z withdraws what is older, with a reason" in visit.foot.text()
    assert len(desk.history().results) == 1


# --- later ------------------------------------------------------------------------------------------------------


def test_what_is_older_is_withdrawn_with_a_reason_that_is_asked_for(
    visit: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    skip(visit, press)
    press(visit, K.Key_Z)
    panel = visit.panel
    assert isinstance(panel, WithdrawPanel)
    press(visit, K.Key_Return)
    assert visit.panel is panel, "a reason is needed"
    assert any("Say why" in text for text in panel.labels())
    write(visit, "wrong unit in hand")
    press(visit, K.Key_Return)
    assert visit.panel is None
    (gone,) = desk.history().withdrawn
    assert (gone.by.what, gone.by.reason) == ("result", "wrong unit in hand")
    assert any("wrong unit in hand" in text for text in visit.record.texts())
    press(visit, K.Key_Z, CONTROL)
    assert (len(desk.history().results), desk.history().withdrawn) == (1, ())
    assert step(desk, "rest", "left_stick").attempts == 1


def test_a_click_on_an_entry_of_the_log_chooses_it(visit: MainWindow, desk: Workbench, qtbot: QtBot) -> None:
    for text in ("grip worn", "case cracked"):
        desk.desk.units.note(_note(desk, text))
        desk.settle(visit)
    label = next(x for x in visit.record.findChildren(LogLabel) if x.text() == "grip worn")
    qtbot.mouseClick(label, Qt.MouseButton.LeftButton)
    desk.settle(visit)
    assert isinstance(visit.panel, WithdrawPanel)
    assert visit.panel.list.options[visit.panel.list.chosen].endswith("grip worn")


def _note(desk: Workbench, text: str) -> Note:
    return Note("", desk.store.units()[0].id, "", text)


def test_older_entries_are_found_by_a_word(visit: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    for n in range(12):
        desk.store.add_note(_note(desk, f"note {n}"))
    press(visit, K.Key_Z)
    panel = visit.panel
    assert isinstance(panel, WithdrawPanel)
    press(visit, K.Key_Tab)
    assert panel.reason.hasFocus(), "what was chosen needs a reason, not a filter"
    press(visit, K.Key_Tab)
    assert panel.search.hasFocus()
    press(visit, K.Key_Tab)
    assert panel.reason.hasFocus()
    assert len(panel.list.options) == 9
    panel.search.setText("note 1")
    assert [o.partition(": ")[2] for o in panel.list.options] == ["note 11", "note 10", "note 1"]
    panel.search.setText("nothing like it")
    panel.reason.setText("twice")
    press(visit, K.Key_Return)
    assert any("No entry has these words" in text for text in panel.labels())


def test_what_a_person_wrote_stands_above_what_was_measured_and_the_arrows_reach_all_of_it(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    unit = desk.store.units()[0]
    wrong = desk.store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    desk.clock.move(minutes=1)
    checks = [(check, side) for check in ("rest", "return", "speed", "sweep") for side in ("left_stick", "right_stick")]
    desk.past_visit(unit, "intake", {key: Assessment(Outcome.PASS) for key in (*checks, ("links", ""), ("pad", ""))})
    press(visit, K.Key_Z)
    panel = visit.panel
    assert isinstance(panel, WithdrawPanel)
    assert "clean the sensor" in panel.list.options[0]
    seen = list(panel.list.options)
    for _ in range(len(panel._every)):
        press(visit, K.Key_Down)
        if panel.list.options[panel.list.chosen] not in seen:
            seen += panel.list.options
    assert seen == [e.said for e in panel._every]
    assert len(seen) > 10
    for _ in range(len(panel._every)):
        press(visit, K.Key_Up)
    assert panel._listed[panel._start + panel.list.chosen].row_id == wrong.id


def test_a_tag_that_was_put_right_stands_at_once_where_the_visit_is(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    press(visit, K.Key_E, SHIFT)
    panel = visit.panel
    assert isinstance(panel, CorrectPanel)
    panel.tag.setText("SM-07-40")
    panel.reason.setText("label misread")
    press(visit, K.Key_Return)
    desk.advance(50)
    desk.settle(visit)
    assert desk.session().unit.tag == "SM-07-40"
    visit.bench.open_unit(desk.store.add_unit(Unit("", "SM-07-41", "Plover T2")))
    assert visit.header.tag.text() == "SM-07-40"
    visit.bench.back_to_visit()
    press(visit, K.Key_Z, CONTROL)
    desk.advance(50)
    desk.settle(visit)
    assert visit.header.tag.text() == desk.session().unit.tag == UNIT.tag


def test_a_part_on_the_shelf_is_withdrawn(window: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    desk.store.add_shelf_part(ShelfPart("", "Left stick sensor", "Plover T2", 1))
    press(window, K.Key_F3)
    press(window, K.Key_Z)
    assert isinstance(window.panel, WithdrawPanel)
    window.panel.reason.setText("counted twice")
    press(window, K.Key_Return)
    assert desk.store.shelf() == ()


# --- corrections ------------------------------------------------------------------------------------------------


def test_tag_model_and_lot_are_put_right(window: MainWindow, desk: Workbench, press: Press) -> None:
    unit = desk.store.add_unit(UNIT)
    desk.store.add_unit(replace(UNIT, id="", tag="SM-07-05", serial="other"))
    lot = desk.store.add_lot(Lot("", "SM-08", "2026-03-03"))
    window.bench.open_unit(unit)
    press(window, K.Key_E, SHIFT)
    panel = window.panel
    assert isinstance(panel, CorrectPanel)
    press(window, K.Key_Return)
    assert any("Nothing was changed" in text for text in panel.labels())
    panel.tag.setText("SM-07-06")
    panel.lot.choose(1)
    press(window, K.Key_Return)
    assert any("Say why" in text for text in panel.labels())
    panel.reason.setText("label read wrong")
    press(window, K.Key_Return)
    assert (desk.store.unit(unit.id).tag, desk.store.unit(unit.id).lot_id) == ("SM-07-06", lot.id)
    assert struck(window) == ["lot: none, tag: SM-07-04"]
    assert window.header.tag.text() == "SM-07-06"
    press(window, K.Key_Z, CONTROL)
    assert desk.store.unit(unit.id).tag == "SM-07-04"


def test_a_tag_that_another_unit_has_is_refused_with_a_sentence(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    unit = desk.store.add_unit(UNIT)
    desk.store.add_unit(replace(UNIT, id="", tag="SM-07-05", serial="other"))
    window.bench.open_unit(unit)
    press(window, K.Key_E, SHIFT)
    assert isinstance(window.panel, CorrectPanel)
    window.panel.tag.setText("SM-07-05")
    window.panel.reason.setText("label read wrong")
    press(window, K.Key_Return)
    assert window.foot.text() == "The tag SM-07-05 is on another unit (Plover T2); give this one a tag of its own."
    assert desk.store.unit(unit.id) == unit


def test_another_model_brings_its_sheet_and_what_was_measured_stays_to_be_read(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    """The next visit goes by the sheet of the model that the person named, not by that which the device matches."""
    skip(visit, press)
    unit = desk.store.units()[0]
    other = replace(plover(), name="Plover T3", match=(), controls=plover().controls[:2], parts=())
    SheetShelf(paths.sheets_folder()).save(other)
    press(visit, K.Key_E, SHIFT)
    assert isinstance(visit.panel, CorrectPanel)
    visit.panel.model.setText("Plover T3")
    visit.panel.reason.setText("another board")
    press(visit, K.Key_Return)
    changed = desk.store.unit(unit.id)
    assert (changed.model, changed.sheet) == ("Plover T3", "Plover T3")
    desk.desk.visit.start(unit.id, desk.pad.info, "final")
    desk.settle(visit)
    sheet = desk.desk.sheets.sheet()
    assert sheet is not None
    assert (sheet.name, len(desk.history().results)) == ("Plover T3", 1)
    assert {v.step.control for v in desk.session().steps if v.step.control} <= {c.id for c in other.controls}
    assert desk.store.unit(unit.id).sheet == "Plover T3"
