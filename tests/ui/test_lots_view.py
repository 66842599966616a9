"""The Lots view by the keyboard alone."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace

import pytest
import scenes
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit
from pytestqt.qtbot import QtBot
from workbench import Workbench

from station.records.types import Lot, ShelfPart, Unit
from station.ui.panels.record import UnitPanel
from station.ui.sound import Sound
from station.ui.window import MainWindow
from station.words import views as words

K = Qt.Key
Press = Callable[..., None]
Write = Callable[..., None]


@pytest.fixture
def lots(window: MainWindow, desk: Workbench, press: Press) -> MainWindow:
    """The window with lot SM-07 on the Lots view."""
    scenes.lot_picture(desk)
    press(window, K.Key_F2)
    return window


def shown(window: MainWindow) -> list[str]:
    labels = [w for w in window.lots.page.findChildren(QLabel) if w.isVisible() and w.text()]
    return [w.text().replace("\N{NO-BREAK SPACE}", " ") for w in labels]


def test_the_sentence_comes_first_and_the_figures_beneath(lots: MainWindow):
    texts = shown(lots)
    sentence = next(k for k, t in enumerate(texts) if t.startswith("The lot should pay"))
    assert texts[sentence] == (
        "The lot should pay: € 112.10 are still out, and what is still here should bring € 159.00."
    )
    names = ("Paid", "Work, 47 min", "Materials", "So far", "Still here, as it stands")
    figures = {name: texts[texts.index(name) + 1] for name in names}
    # by hand: 4 × 9 + 11 min at € 18.00 an hour = 14.10; 5 × 0.40 = 2.00; −96.00 − 14.10 − 2.00 = −112.10;
    # 2 ready at 32.00, a donor at 7.00, 8 open at 11.00 = 159.00
    assert figures == {
        "Paid": "€ 96.00",
        "Work, 47 min": "€ 14.10",
        "Materials": "€ 2.00",
        "So far": "−€ 112.10",
        "Still here, as it stands": "€ 159.00",
    }
    assert any("Passed at intake: 1 of 7 (3–51" in t for t in texts)
    assert any("Sold without a price: SM-07-06" in t for t in texts)
    below = "Better given up for parts: SM-07-08. Parts waited for: 4, on the shelf: 1."
    assert any(below in t for t in texts), "what a small window has no room for is announced"


def test_the_worklist_gives_step_minutes_and_gain_and_why(lots: MainWindow, press: Press):
    rows = lots.lots.page.work.texts()
    assert rows[0] == ("SM-07-07", "Call it ready", "", "€\N{NO-BREAK SPACE}21.00")
    assert rows[1] == (
        "SM-07-04",
        f"{scenes.SENSOR}: replace the sensor · part on the shelf",
        "25",
        "€\N{NO-BREAK SPACE}6.82",
    )
    assert rows[5] == ("SM-07-10", "Test it: intake", "", "")
    assert "SM-07-07: nothing was found in what was tested" in shown(lots)
    press(lots, K.Key_Return)
    press(lots, K.Key_Down)
    assert any(t.startswith("SM-07-04: cures 6 of 7 like it (50–98 %)") for t in shown(lots))


def test_enter_on_a_line_of_work_opens_the_unit_on_the_bench(lots: MainWindow, press: Press):
    press(lots, K.Key_Return)
    assert lots.lots.page.work.hasFocus()
    press(lots, K.Key_Return)
    assert lots.view_name() == "bench"
    assert lots.header.tag.text() == "SM-07-07"


def test_tab_goes_through_the_tables_in_the_order_of_the_page(lots: MainWindow, press: Press):
    press(lots, K.Key_Return)
    order = []
    for _ in range(4):
        order.append(next(t for t in lots.lots.page.tables() if t.hasFocus()))
        press(lots, K.Key_Tab)
    assert tuple(order) == lots.lots.page.tables()


def test_a_unit_is_given_up_only_after_its_parts_were_shown(lots: MainWindow, desk: Workbench, press: Press):
    press(lots, K.Key_Return)
    press(lots, K.Key_Tab)
    press(lots, K.Key_G)
    assert lots.panel is not None
    assert "Its parts mend SM-07-09, SM-07-11" in lots.panel.labels()[1]
    signs = lots.panel.labels()[2]
    assert "iron" in signs
    assert desk.calls == []
    press(lots, K.Key_Down)
    press(lots, K.Key_Space)
    press(lots, K.Key_Return)
    ((name, given, parts, reason),) = desk.calls
    assert (name, given.tag, [p.name for p in parts]) == ("give_up", "SM-07-08", [scenes.SENSOR])
    assert reason == f"gives {scenes.SENSOR} to SM-07-09, {scenes.OTHER_SENSOR} to SM-07-11"
    (part,) = (p for p in desk.store.shelf() if p.source_unit_id == "unit-8")
    assert (part.model, part.count, part.note) == ("Plover T2", 1, "from SM-07-08")
    assert desk.store.unit("unit-8").becomes == "donor"
    assert lots.lots.page.hasFocus() or any(t.hasFocus() for t in lots.lots.page.tables()), "the keys are on the page"


def test_escape_leaves_the_unit_as_it_was(lots: MainWindow, desk: Workbench, press: Press):
    press(lots, K.Key_Return)
    press(lots, K.Key_Tab)
    press(lots, K.Key_G)
    press(lots, K.Key_Escape)
    assert (lots.panel, desk.calls) == (None, [])


def test_only_a_proposed_donor_can_be_given_up(lots: MainWindow, press: Press):
    press(lots, K.Key_Return)
    press(lots, K.Key_G)
    assert lots.panel is None
    assert "better given up" in lots.foot.message.text()


def test_a_unit_is_sold_with_its_price(lots: MainWindow, desk: Workbench, press: Press, write: Write):
    lots.lots.units.setFocus()
    press(lots, K.Key_B)
    press(lots, K.Key_6)
    press(lots, K.Key_Tab)
    write(lots, "31,5")
    press(lots, K.Key_Return)
    unit = desk.store.unit("unit-1")
    assert (unit.becomes, unit.sold_minor) == ("sold", 3150)


def test_a_sale_says_what_is_open_and_asks_for_its_price(lots: MainWindow, desk: Workbench, press: Press) -> None:
    lots.lots.units.setFocus()
    press(lots, K.Key_B)
    press(lots, K.Key_6)
    panel = lots.panel
    assert isinstance(panel, UnitPanel)
    assert panel.open.isVisible()
    assert "It would be sold incomplete" in panel.open.text()
    assert "not tested" in panel.open.text()
    for _ in range(2):  # the second in haste
        press(lots, K.Key_Return)
        assert any("Write what it was sold for" in text for text in panel.labels())
        assert desk.store.unit("unit-1").becomes != "sold"
    assert panel._asked_s is not None
    panel._asked_s -= 1.0
    press(lots, K.Key_Return)
    unit = desk.store.unit("unit-1")
    assert (unit.becomes, unit.sold_minor) == ("sold", 0)


def test_a_price_without_a_sale_is_asked_about(lots: MainWindow, desk: Workbench, press: Press, write: Write):
    lots.lots.units.setFocus()
    press(lots, K.Key_B)
    press(lots, K.Key_Tab)
    write(lots, "31")
    press(lots, K.Key_Return)
    assert lots.panel is not None
    assert any("choose “sold”" in text for text in lots.panel.labels())
    assert desk.calls == []


def test_the_purchase_price_is_written_down_later(lots: MainWindow, desk: Workbench, press: Press, write: Write):
    press(lots, K.Key_E)
    write(lots, "")
    press(lots, K.Key_A, Qt.KeyboardModifier.ControlModifier)
    write(lots, "120.50")
    press(lots, K.Key_Return)
    lot = next(x for x in desk.store.lots() if x.id == "lot-7")
    assert (lot.name, lot.cost_minor) == ("SM-07", 12_050)


def test_a_lot_that_is_being_worked_out_says_so_and_then_shows(window: MainWindow, desk: Workbench, qtbot: QtBot):
    scenes.lot_picture(desk)
    working = desk.desk._lots._worker
    hold = threading.Event()
    working.submit(lambda: hold.wait(20.0) and None)
    qtbot.keyClick(window, K.Key_F2)
    window.tick()
    assert words.WORKING in shown(window)
    assert len(window.lots.units.texts()) == 12, "the units are there meanwhile"
    hold.set()
    desk.settle(window)
    assert words.WORKING not in shown(window)
    hold.clear()
    working.submit(lambda: hold.wait(20.0) and None)
    desk.desk.stock.add_part(ShelfPart("", "Stick cap, pair", "Plover T2", 1))
    desk.desk._worker.settle()
    window.tick()
    assert any("Being worked out anew" in t for t in shown(window))
    hold.set()
    desk.settle(window)
    assert not any("worked out anew" in t for t in shown(window))


def test_the_chosen_lot_is_remembered(qtbot: QtBot, lots: MainWindow, desk: Workbench, press: Press):
    press(lots, K.Key_Down)
    assert "SM-06" in shown(lots)[0]
    again = MainWindow(desk.desk, "dark", Sound({}))
    again.stop_clock()
    qtbot.addWidget(again)
    again.show()
    again.act("view.lots")
    found = again.lots.lot()
    assert found is not None
    assert found.name == "SM-06"


def test_the_sizes_of_the_two_sides_are_remembered(qtbot: QtBot, lots: MainWindow, desk: Workbench):
    lots.lots._sides.setSizes([500, 700])
    lots.lots._remember()
    desk.desk.settle()
    sizes = [int(s) for s in desk.store.get_setting("lot_panes").split(",")]
    again = MainWindow(desk.desk, "dark", Sound({}))
    again.stop_clock()
    qtbot.addWidget(again)
    again.resize(1280, 720)
    again.show()
    again.act("view.lots")
    QApplication.processEvents()
    assert again.lots._sides.sizes() == pytest.approx(sizes, abs=3)


def test_in_a_narrow_window_one_side_stands_in_front(lots: MainWindow, press: Press):
    lots.resize(640, 480)
    QApplication.processEvents()
    assert (lots.lots.lots.isVisible(), lots.lots.page.isVisible()) == (True, False)
    press(lots, K.Key_Return)
    assert (lots.lots.lots.isVisible(), lots.lots.page.isVisible()) == (False, True)
    assert lots.lots.page.work.hasFocus()
    press(lots, K.Key_F6)
    assert lots.lots.lots.hasFocus()


def test_a_lot_of_more_units_than_a_search_finds_is_shown_whole(window: MainWindow, desk: Workbench, press: Press):
    desk.store.add_lot(Lot("l", "SM-09", "2026-11-18"))
    for n in range(230):
        desk.store.add_unit(Unit(f"u{n}", f"SM-09-{n:03d}", "Plover T2", "l"))
    press(window, K.Key_F2)
    assert window.lots.lots.texts() == [("SM-09", "230", "230", "2026-11-18")]
    assert len(window.lots.units.texts()) == 230


def open_worn_unit(lots: MainWindow, press: Press) -> None:
    """SM-07-04, whose sensor is to be replaced, on the bench: the second line of the worklist."""
    press(lots, K.Key_Return)
    press(lots, K.Key_Down)
    press(lots, K.Key_Return)
    assert lots.header.tag.text() == "SM-07-04"


def test_a_part_from_the_shelf_is_taken_off_it_by_the_treatment(lots: MainWindow, desk: Workbench, press: Press):
    open_worn_unit(lots, press)
    press(lots, K.Key_T)
    press(lots, K.Key_Return)
    desk.clock.move(minutes=1)
    press(lots, K.Key_Return)
    made = desk.store.treatments_of("unit-4")[-1]
    assert (made.kind, made.part, made.donor_unit_id) == ("replace sensor", scenes.SENSOR, "unit-3")
    assert [p.count for p in desk.store.shelf()] == [0]


def test_a_treatment_without_a_part_leaves_the_shelf_alone(lots: MainWindow, desk: Workbench, press: Press):
    open_worn_unit(lots, press)
    press(lots, K.Key_T)
    press(lots, K.Key_2)
    press(lots, K.Key_Return)
    assert [p.count for p in desk.store.shelf()] == [1]
    assert desk.store.treatments_of("unit-4")[-1].donor_unit_id is None


def test_the_record_says_that_a_part_lies_on_the_shelf(lots: MainWindow, press: Press):
    open_worn_unit(lots, press)
    assert f"on the shelf: {scenes.SENSOR} (1 from SM-07-03)" in lots.record.texts()


def test_the_figures_are_reached_by_keys_in_a_small_window(lots: MainWindow, press: Press):
    lots.resize(640, 400)
    press(lots, K.Key_Return)
    bar = lots.lots.page._area.verticalScrollBar()
    for _ in range(4):
        press(lots, K.Key_Up)
    assert bar.value() == 0
    assert lots.lots.page.work.hasFocus()


def test_what_a_narrow_row_has_no_room_for_stands_under_the_table(lots: MainWindow, press: Press):
    whole = f"SM-07-04: {scenes.SENSOR}: replace the sensor: cures 6 of 7 like it (50–98 %), 25 min and 6 to open"
    assert f"SM-07-08 gives {scenes.SENSOR} to SM-07-09, {scenes.OTHER_SENSOR} to SM-07-11" in shown(lots)
    press(lots, K.Key_Return)
    press(lots, K.Key_Down)
    assert whole not in shown(lots)
    lots.resize(640, 480)
    assert whole in shown(lots)


def test_a_part_that_came_goes_on_the_shelf_under_the_name_that_is_waited_for(
    lots: MainWindow, desk: Workbench, press: Press
):
    lots.lots.page.parts.setFocus()
    press(lots, K.Key_End)
    press(lots, K.Key_A)
    press(lots, K.Key_Return)
    ((_, part),) = desk.calls
    assert (part.name, part.model, part.count, part.currency) == (scenes.OTHER_SENSOR, "Plover T2", 1, "EUR")
    assert scenes.OTHER_SENSOR in [p.name for p in desk.store.shelf()]


def test_a_currency_without_cents_is_read_and_written_without(
    lots: MainWindow, desk: Workbench, press: Press, write: Write
):
    """ISO 4217 gives the yen no minor unit (from memory)."""
    lot = next(x for x in desk.store.lots() if x.id == "lot-7")
    desk.store.change_lot(replace(lot, currency="JPY", cost_minor=9600))
    lots.lots.fill()
    press(lots, K.Key_E)
    assert "9600" in [w.text() for w in lots.panel.findChildren(QLineEdit)]  # type: ignore[union-attr]
    press(lots, K.Key_A, Qt.KeyboardModifier.ControlModifier)
    write(lots, "12000")
    press(lots, K.Key_Return)
    assert next(x for x in desk.store.lots() if x.id == "lot-7").cost_minor == 12_000


def test_a_treatment_is_priced_in_the_money_of_its_lot(lots: MainWindow, desk: Workbench, press: Press, write: Write):
    lot = next(x for x in desk.store.lots() if x.id == "lot-7")
    desk.store.change_lot(replace(lot, currency="GBP"))
    open_worn_unit(lots, press)
    press(lots, K.Key_T)
    lots.panel.cost.setFocus()  # type: ignore[union-attr]
    lots.panel.cost.clear()  # type: ignore[union-attr]
    write(lots, "1.50")
    press(lots, K.Key_Return)
    desk.clock.move(minutes=1)
    press(lots, K.Key_Return)
    made = desk.store.treatments_of("unit-4")[-1]
    assert (made.cost_minor, made.currency) == (150, "GBP")


def test_the_first_unit_of_a_lot_is_offered_a_tag_after_the_lot(lots: MainWindow, desk: Workbench, press: Press):
    press(lots, K.Key_Down)
    press(lots, K.Key_I)
    press(lots, K.Key_Return)
    assert [u.tag for u in desk.store.units_of_lot("lot-6")] == ["SM-06-01"]
    press(lots, K.Key_I)
    press(lots, K.Key_Return)
    assert {u.tag for u in desk.store.units_of_lot("lot-6")} == {"SM-06-01", "SM-06-02"}


def test_without_a_lot_the_page_says_how_to_begin(window: MainWindow, press: Press):
    press(window, K.Key_F2)
    assert shown(window)[0].startswith("No lot yet: L")
    for key in (K.Key_Return, K.Key_F6, K.Key_F6, K.Key_E, K.Key_G, K.Key_A, K.Key_B, K.Key_Tab, K.Key_Up, K.Key_Down):
        press(window, key)
    assert (window.panel, window.view_name()) == (None, "lots")


def test_escape_puts_the_search_away_before_it_leaves(lots: MainWindow, desk: Workbench, press: Press, write: Write):
    press(lots, K.Key_Slash)
    write(lots, "07-1")
    assert [row[0] for row in lots.lots.units.texts()] == ["SM-07-10", "SM-07-11", "SM-07-12"]
    press(lots, K.Key_Return)
    assert lots.lots.units.hasFocus()
    press(lots, K.Key_Escape)
    assert (len(lots.lots.units.texts()), lots.view_name()) == (12, "lots")
    press(lots, K.Key_Escape)
    assert lots.pages.currentWidget() is not lots.lots


def test_at_twice_the_size_what_has_the_keys_is_in_sight(qtbot: QtBot, desk: Workbench, press: Press):
    scenes.lot_picture(desk)
    desk.store.set_setting("scale", "2.0")
    window = MainWindow(desk.desk, "light", Sound({}))
    window.stop_clock()
    qtbot.addWidget(window)
    window.resize(1280, 720)
    window.show()
    window.activateWindow()
    press(window, K.Key_F2)
    press(window, K.Key_Return)
    QApplication.processEvents()
    work, area = window.lots.page.work, window.lots.page._area.viewport()
    row = work.visualRect(work.currentIndex())
    top = work.viewport().mapTo(window, row.topLeft()).y()
    assert area.mapTo(window, area.rect().topLeft()).y() <= top
    assert top + row.height() <= area.mapTo(window, area.rect().bottomLeft()).y()
    press(window, K.Key_B)
    QApplication.processEvents()
    assert window.panel is not None
    assert window.panel.focusWidget().visibleRegion().boundingRect().height() > 40, "what it becomes is in sight"
