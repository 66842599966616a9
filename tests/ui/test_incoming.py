"""A lot comes in by the keyboard: from a spreadsheet, or unit by unit."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from workbench import Workbench

from station.app.incoming import FOLDER
from station.records import entries
from station.records.types import Lot, Note, Treatment, Unit
from station.ui.panels.incoming import PreviewPanel, QuickPanel
from station.ui.panels.stock import LotPanel
from station.ui.panels.withdraw import WithdrawPanel
from station.ui.window import MainWindow

K = Qt.Key
CONTROL = Qt.KeyboardModifier.ControlModifier
Press = Callable[..., None]
Write = Callable[..., None]


@pytest.fixture
def folder(desk: Workbench, tmp_path: Path) -> Path:
    """Where spreadsheets come from."""
    desk.store.set_setting(FOLDER, str(tmp_path))
    return tmp_path


def save(folder: Path, tags: list[str], price: object = 8.5) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Tag", "Model", "Fault", "Price"])
    for tag in tags:
        sheet.append([tag, "Plover T2", "left stick drifts", price])
    book.save(folder / "stock list.xlsx")


def tags_of(desk: Workbench) -> list[str]:
    return [unit.tag for lot in desk.store.lots() for unit in desk.store.units_of_lot(lot.id)]


TWELVE = [f"SM-08-{k:02}" for k in range(1, 13)]


def test_twelve_units_come_in_with_their_claims_by_eight_keys_at_most(
    window: MainWindow, desk: Workbench, folder: Path, press: Press
) -> None:
    desk.store.add_lot(Lot("", "SM-07", "2026-11-20"))
    save(folder, TWELVE)
    keys = (K.Key_F2, K.Key_O, K.Key_Down, K.Key_Return, K.Key_Return)
    assert len(keys) <= 8
    for key in keys:
        press(window, key)
    assert [lot.name for lot in desk.store.lots()] == ["SM-08", "SM-07"], "the name of the lot is the next one"
    assert tags_of(desk) == TWELVE
    assert {unit.claim for unit in desk.store.units()} == {"left stick drifts"}
    assert [lot.cost_minor for lot in desk.store.lots()] == [12 * 850, 0]
    assert window.foot.text() == "Saved: 12 units came into SM-08."
    press(window, K.Key_Z, CONTROL)
    assert tags_of(desk) == []
    assert [lot.name for lot in desk.store.lots()] == ["SM-07"], "the lot that came with them goes with them"


def test_what_is_wrong_is_shown_by_row_and_nothing_is_kept(
    window: MainWindow, desk: Workbench, folder: Path, press: Press, write: Write
) -> None:
    save(folder, ["A-1", "A-1"], "12,50,1")
    press(window, K.Key_F2)
    press(window, K.Key_O)
    press(window, K.Key_Down)
    press(window, K.Key_Tab)
    write(window, "A")
    press(window, K.Key_Return)
    panel = window.panel
    assert isinstance(panel, PreviewPanel)
    shown = [label.text() for label in panel.findChildren(QLabel)]
    assert any(text.startswith("Row 3: the tag A-1 is in row 2 too") for text in shown)
    assert sum(text.startswith("Row ") for text in shown) == 3
    press(window, K.Key_Return)
    assert window.panel is None
    assert (desk.store.lots(), desk.store.units()) == ((), ())


def test_a_file_that_is_none_is_said_and_nothing_opens(
    window: MainWindow, desk: Workbench, folder: Path, press: Press, write: Write
) -> None:
    (folder / "notes.csv").write_text("a,b\n1,2\n", "utf-8")
    press(window, K.Key_F2)
    press(window, K.Key_O)
    press(window, K.Key_Return)
    assert window.panel is not None, "without a file it stays open"
    press(window, K.Key_Down)
    press(window, K.Key_Tab)
    write(window, "A")
    press(window, K.Key_Return)
    assert window.panel is None
    assert "No row of notes.csv reads like headings" in window.foot.text()


def test_what_came_in_together_is_withdrawn_together_later(
    window: MainWindow, desk: Workbench, folder: Path, press: Press, write: Write
) -> None:
    desk.store.take_in(Lot("", "SM-08", "2026-11-28"), [Unit("", tag, "Plover T2") for tag in TWELVE])
    press(window, K.Key_F2)
    press(window, K.Key_Z)
    panel = window.panel
    assert isinstance(panel, WithdrawPanel)
    assert "12 units, SM-08-01 to SM-08-12" in panel.list.options[0]
    press(window, K.Key_Tab)
    write(window, "the wrong file")
    press(window, K.Key_Return)
    assert tags_of(desk) == []
    press(window, K.Key_Z, CONTROL)
    assert tags_of(desk) == TWELVE


# --- by hand ------------------------------------------------------------------------------------------------------


def test_twelve_units_are_written_up_by_twenty_keys_at_most_beside_their_claims(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    desk.store.add_lot(Lot("", "SM-08", "2026-11-28", expected=12))
    keys = 0

    def key(one: Qt.Key) -> None:
        nonlocal keys
        keys += 1
        press(window, one)

    key(K.Key_F2)
    key(K.Key_I)
    panel = window.panel
    assert isinstance(panel, QuickPanel)
    key(K.Key_P)
    key(K.Key_L)
    key(K.Key_Down)
    assert panel.model.text() == "Plover T2", "the first model that begins so"
    key(K.Key_Tab)
    for k in range(12):
        write(window, "ls dr" if k % 2 else "the south button sticks")
        key(K.Key_Return)
    assert panel.count.text() == "All 12 are in."
    key(K.Key_Escape)
    assert keys <= 20
    assert window.panel is None
    units = desk.store.units_of_lot(desk.store.lots()[0].id)
    assert [unit.tag for unit in units] == TWELVE
    assert {(unit.claim, unit.model, unit.sheet) for unit in units} == {
        ("Left stick drifts", "Plover T2", "Plover T2"),
        ("the south button sticks", "Plover T2", "Plover T2"),
    }


def test_a_new_lot_is_called_like_the_next_one_and_gets_its_units_at_once(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    before = desk.store.add_lot(Lot("", "SM-07", "2026-11-20"))
    desk.store.add_unit(Unit("", "SM-07-01", "Plover T2", before.id))
    for key in (K.Key_F2, K.Key_L, K.Key_Return, K.Key_I):
        press(window, key)
    write(window, "ls dr")
    press(window, K.Key_Return)
    assert [lot.name for lot in desk.store.lots()] == ["SM-08", "SM-07"]
    assert tags_of(desk) == ["SM-08-01", "SM-07-01"]
    press(window, K.Key_Escape)
    press(window, K.Key_L)
    write(window, "another")
    assert isinstance(window.panel, LotPanel)
    assert window.panel.name.text() == "another", "what is typed takes its place"


def test_what_a_claim_is_bound_to_stands_below_it_while_it_is_typed(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    desk.store.add_lot(Lot("", "SM-08", "2026-11-28"))
    press(window, K.Key_F2)
    press(window, K.Key_I)
    panel = window.panel
    assert isinstance(panel, QuickPanel)
    panel.model.setText("Plover T2")
    panel.claim.setText("ls dr")
    assert panel.told.text() == "→ Left stick drifts. Bound to: Left stick."
    panel.claim.setText("rattles")
    assert panel.told.text().startswith("Bound to no control")
    panel.claim.setText("left trigger: rattles")
    assert panel.told.text() == "Bound to: Left trigger."


def test_a_tag_that_is_taken_keeps_the_cursor(window: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    lot = desk.store.add_lot(Lot("", "SM-08", "2026-11-28"))
    desk.store.add_unit(Unit("", "SM-08-01", "Plover T2", lot.id))
    press(window, K.Key_F2)
    press(window, K.Key_I)
    panel = window.panel
    assert isinstance(panel, QuickPanel)
    assert panel.tag.text() == "SM-08-02"
    panel.tag.setText("sm-08-01")
    press(window, K.Key_Return)
    assert panel.isVisible()
    assert panel.tag.hasFocus()
    assert len(desk.store.units()) == 1


def test_a_first_lot_is_in_the_currency_of_the_shop_and_the_next_in_that_of_the_lot_before(
    window: MainWindow, desk: Workbench, folder: Path, press: Press
) -> None:
    desk.store.set_setting("currency", "CHF")
    save(folder, TWELVE)
    for key in (K.Key_F2, K.Key_L):
        press(window, key)
    assert isinstance(window.panel, LotPanel)
    assert window.panel.currency.text() == "CHF"
    for key in (K.Key_Escape, K.Key_O, K.Key_Down, K.Key_Tab, K.Key_A, K.Key_Return, K.Key_Return):
        press(window, key)
    assert [lot.currency for lot in desk.store.lots()] == ["CHF"]
    desk.store.add_lot(Lot("", "SM-09", "2026-11-29", currency="SEK"))
    assert desk.desk.stock.currency_of_new() == "SEK"


def test_what_was_shown_comes_in_though_the_file_is_gone_by_then(
    window: MainWindow, desk: Workbench, folder: Path, press: Press
) -> None:
    desk.store.add_lot(Lot("", "SM-07", "2026-11-20"))
    save(folder, TWELVE)
    for key in (K.Key_F2, K.Key_O, K.Key_Down, K.Key_Return):
        press(window, key)
    (folder / "stock list.xlsx").unlink()
    press(window, K.Key_Return)
    assert tags_of(desk) == TWELVE


def test_a_file_that_is_gone_before_it_is_looked_at_is_said(
    window: MainWindow, desk: Workbench, folder: Path, press: Press
) -> None:
    desk.store.add_lot(Lot("", "SM-07", "2026-11-20"))
    save(folder, TWELVE)
    for key in (K.Key_F2, K.Key_O, K.Key_Down):
        press(window, key)
    (folder / "stock list.xlsx").unlink()
    press(window, K.Key_Return)
    assert "stock list.xlsx cannot be read" in window.foot.text()


def previewed(window: MainWindow, desk: Workbench, folder: Path, press: Press) -> None:
    """The twelve stand in the preview, in a shop that has a lot."""
    desk.store.add_lot(Lot("", "SM-07", "2026-11-20"))
    save(folder, TWELVE)
    for key in (K.Key_F2, K.Key_O, K.Key_Down, K.Key_Return):
        press(window, key)


def test_a_tag_taken_between_preview_and_enter_keeps_all_out(
    window: MainWindow, desk: Workbench, folder: Path, press: Press
) -> None:
    previewed(window, desk, folder, press)
    desk.store.add_unit(Unit("", "SM-08-07", "Plover T2"))
    press(window, K.Key_Return)
    assert "SM-08-07" in window.foot.text()
    assert [lot.name for lot in desk.store.lots()] == ["SM-07"]
    assert [unit.tag for unit in desk.store.units()] == ["SM-08-07"]


def test_a_lot_of_that_name_made_between_preview_and_enter_is_not_made_twice(
    window: MainWindow, desk: Workbench, folder: Path, press: Press
) -> None:
    """Another window, or the command, took the same file in meanwhile."""
    previewed(window, desk, folder, press)
    desk.store.add_lot(Lot("", "sm-08", "2026-11-28"))
    press(window, K.Key_Return)
    assert sorted(lot.name for lot in desk.store.lots()) == ["SM-07", "sm-08"]
    assert tags_of(desk) == []
    assert "sm-08" in window.foot.text()


def test_a_full_disk_while_it_comes_in_keeps_nothing_and_is_said(
    window: MainWindow, desk: Workbench, folder: Path, press: Press, monkeypatch: pytest.MonkeyPatch
) -> None:
    previewed(window, desk, folder, press)
    insert, rows = entries.insert, []

    def full(db: object, table: str, row: object) -> None:
        rows.append(table)
        if len(rows) > 7:
            fault = sqlite3.OperationalError("database or disk is full")
            fault.sqlite_errorcode = sqlite3.SQLITE_FULL
            raise fault
        insert(db, table, row)  # type: ignore[arg-type]

    monkeypatch.setattr(entries, "insert", full)
    press(window, K.Key_Return)
    monkeypatch.undo()
    assert [lot.name for lot in desk.store.lots()] == ["SM-07"]
    assert desk.store.units() == ()
    assert desk.store.verify_log().faults == ()
    assert "room" in window.foot.text()


@pytest.mark.parametrize(
    "work",
    [
        pytest.param(lambda s, u: s.add_note(Note("", u.id, "", "scratched")), id="a note"),
        pytest.param(lambda s, u: s.add_treatment(Treatment("", u.id, "adjust", "")), id="a treatment"),
        pytest.param(lambda s, u: s.start_visit(u.id, "intake"), id="a visit"),
        pytest.param(lambda s, u: s.change_unit(replace(u, becomes="sold", sold_minor=900)), id="a sale"),
        pytest.param(lambda s, u: s.change_unit(replace(u, lot_id=None), reason="not of it"), id="another lot"),
        pytest.param(lambda s, u: s.withdraw("unit", u.id, "not in the box"), id="withdrawn alone"),
    ],
)
def test_an_import_is_not_undone_once_its_units_were_worked_on(
    window: MainWindow, desk: Workbench, folder: Path, press: Press, work: Callable[..., object]
) -> None:
    desk.store.add_lot(Lot("", "SM-07", "2026-11-20"))
    save(folder, TWELVE)
    for key in (K.Key_F2, K.Key_O, K.Key_Down, K.Key_Return, K.Key_Return):
        press(window, key)
    work(desk.store, next(unit for unit in desk.store.units() if unit.tag == "SM-08-07"))
    before = desk.store.units()
    press(window, K.Key_Z, CONTROL)
    assert desk.store.units() == before
    assert "SM-08-07" in window.foot.text()
