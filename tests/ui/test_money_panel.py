"""The money of a lot unit by unit, and the table that is written from there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import openpyxl
from PySide6.QtCore import Qt
from workbench import Workbench

from station.records.types import Lot, Treatment, Unit
from station.ui.panels.money import MoneyPanel
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]


def test_each_unit_has_its_share_and_the_sum_stands_first(
    window: MainWindow, desk: Workbench, press: Press, tmp_path: Path
) -> None:
    lot = desk.store.add_lot(Lot("", "SM-08", "2026-11-01", cost_minor=1000, expected=3))
    units = [desk.store.add_unit(Unit("", f"SM-08-0{k}", "Plover T2", lot.id)) for k in (1, 2)]
    desk.store.add_treatment(Treatment("", units[0].id, "clean the sensor", "", minutes=10, cost_minor=40))
    desk.store.change_unit(replace(desk.store.unit(units[0].id), becomes="sold", sold_minor=3100, fees_minor=310))
    press(window, K.Key_F2)
    press(window, K.Key_M)
    panel = window.panel
    assert isinstance(panel, MoneyPanel)
    # by hand: 10.00 for three, 3.34 + 3.33 + 3.33; 10 min at € 18.00 an hour = 3.00; 31.00 − 3.10
    assert panel.units.texts() == [
        ("Sum", "−10.40", "−3.00", "27.90", "14.50", "105.00"),
        ("SM-08-01", "−3.74", "−3.00", "27.90", "21.16", "144.96"),
        ("SM-08-02", "−3.33", "0.00", "0.00", "−3.33", ""),
        ("Units still to come", "−3.33", "0.00", "0.00", "−3.33", ""),
    ]
    panel.path.setText(str(tmp_path / "a.xlsx"))
    press(window, K.Key_Return)
    assert window.panel is None
    assert "2 units" in window.foot.text()
    assert openpyxl.load_workbook(tmp_path / "a.xlsx").sheetnames == ["Units", "Lots", "Months", "Accounts"]


def test_a_table_that_a_person_worked_in_is_not_written_over(
    window: MainWindow, desk: Workbench, press: Press, tmp_path: Path
) -> None:
    lot = desk.store.add_lot(Lot("", "SM-08", "2026-11-20", cost_minor=1000))
    desk.store.add_unit(Unit("", "SM-08-01", "Plover T2", lot.id))
    press(window, K.Key_F2)

    def write() -> None:
        press(window, K.Key_M)
        assert isinstance(window.panel, MoneyPanel)
        window.panel.path.setText(str(tmp_path / "a.csv"))
        press(window, K.Key_Return)

    write()
    write()
    assert [file.name for file in tmp_path.glob("*.csv")] == ["a.csv"], "what was written before is renewed"
    (tmp_path / "a.csv").write_text("worked in", "utf-8")
    write()
    assert (tmp_path / "a.csv").read_text("utf-8") == "worked in"
    assert "SM-08-01" in (tmp_path / "a-2.csv").read_text("utf-8")
    assert "a-2.csv" in window.foot.text()
    write()
    assert sorted(file.name for file in tmp_path.glob("*.csv")) == ["a-2.csv", "a.csv"]
