"""Labels from the window: by key and by mouse, read back by a decoder that we did not make (zxing-cpp), and scanned."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
import scenes
import zxingcpp
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from scanner import Keyboard
from workbench import Workbench

from station.app.labels import SIZES
from station.records.types import Lot
from station.ui.painting.hints import KeyHints
from station.ui.panels.labels import LabelPanel
from station.ui.window import MainWindow
from station.words import labels as words
from station.words import window as window_words
from tests.certificate.test_qr import page_image

K = Qt.Key
CTRL = Qt.KeyboardModifier.ControlModifier
Press = Callable[..., None]
Write = Callable[..., None]


@pytest.fixture
def lots(window: MainWindow, desk: Workbench, press: Press, monkeypatch: pytest.MonkeyPatch) -> MainWindow:
    """The window with lot SM-07 on the Lots view; `shown_files` are those that the system was asked to show."""
    scenes.workshop(desk)
    monkeypatch.setattr(window, "show_file", lambda path: shown_files.append(Path(path)))
    shown_files.clear()
    press(window, K.Key_F2)
    return window


shown_files: list[Path] = []


def panel_of(window: MainWindow) -> LabelPanel:
    assert isinstance(window.panel, LabelPanel)
    return window.panel


def tags(path: Path) -> list[str]:
    return [
        line for page in pypdf.PdfReader(path).pages for line in page.extract_text().split("\n") if "SM-07-" in line
    ]


def test_ctrl_p_and_enter_print_the_lot_in_the_order_of_the_shelf(lots: MainWindow, press: Press, desk: Workbench):
    press(lots, K.Key_P, CTRL)
    assert panel_of(lots).what.options == ("the lot SM-07: 12 labels",)
    press(lots, K.Key_Return)
    (path,) = shown_files
    assert (path.name, path.parent) == ("labels-SM-07.pdf", desk.store.folder / "labels")
    assert tags(path) == [f"SM-07-{n:02}" for n in range(1, 13)]
    assert lots.foot.text() == words.READY.format(labels="12 labels", path=path)
    assert lots.panel is None


def test_of_the_row_under_the_cursor_one_label_is_a_choice(lots: MainWindow, press: Press):
    press(lots, K.Key_Return)
    lots.lots.page.units.setFocus()
    press(lots, K.Key_Down)
    press(lots, K.Key_P, CTRL)
    assert panel_of(lots).what.options == ("the lot SM-07: 12 labels", "SM-07-02 alone")
    press(lots, K.Key_2)
    press(lots, K.Key_Return)
    assert [path.name for path in shown_files] == ["labels-SM-07-02.pdf"]
    assert tags(shown_files[0]) == ["SM-07-02"]


def test_the_next_time_the_size_is_chosen_and_the_sheet_goes_on(lots: MainWindow, press: Press):
    press(lots, K.Key_P, CTRL)
    press(lots, K.Key_Return)
    press(lots, K.Key_P, CTRL)
    panel = panel_of(lots)
    assert (panel.size_of.chosen, panel.start.text()) == (0, "13")
    assert "12 labels on 1 sheet, from label 13 of 24 on." in panel.labels()
    press(lots, K.Key_Return)
    press(lots, K.Key_P, CTRL)
    assert panel_of(lots).start.text() == "1", "that sheet is used up"
    press(lots, K.Key_Tab)
    press(lots, K.Key_4)
    assert not panel_of(lots).start.isVisible(), "a printer of single labels has no sheet that was begun"
    press(lots, K.Key_Return)
    assert len(pypdf.PdfReader(shown_files[-1]).pages) == 12
    press(lots, K.Key_P, CTRL)
    assert panel_of(lots).size_of.options[panel_of(lots).size_of.chosen] == "single 62 × 29"


def test_it_is_worked_with_the_mouse(lots: MainWindow, desk: Workbench):
    """The key stands on the view; a click on the sheet is where it begins."""
    hints = next(h for h in lots.lots.findChildren(KeyHints) if "Ctrl+P" in h.clickable())
    hints.click("Ctrl+P")
    desk.settle(lots)
    panel = panel_of(lots)
    sheet, boxes = panel.sheet._boxes()
    assert len(boxes) == 24
    assert all(sheet.adjusted(-1, -1, 1, 1).contains(box) for box in boxes)
    QTest.mouseClick(panel.sheet, Qt.MouseButton.LeftButton, pos=boxes[4].center().toPoint())
    assert panel.start.text() == "5"
    panel.key_clicked("Enter")
    desk.settle(lots)
    assert len(tags(shown_files[0])) == 12


@pytest.mark.parametrize("typed", ["0", "25", "x", "-1", "9999999999"])
def test_a_start_that_the_sheet_has_not_keeps_the_panel_open(lots: MainWindow, press: Press, write: Write, typed: str):
    press(lots, K.Key_P, CTRL)
    press(lots, K.Key_Tab)
    press(lots, K.Key_Tab)
    panel = panel_of(lots)
    assert panel.start.hasFocus()
    panel.start.selectAll()
    write(lots, typed)
    press(lots, K.Key_Return)
    assert lots.panel is panel
    assert words.NO_SUCH_START.format(most="24") in panel.labels()
    assert shown_files == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[label]]\nname = "mine"\npage = [60, 30]\nlabel = [70, 30]\ncolumns = 1\nrows = 1\n', "lie on the page"),
        (
            '[[label]]\nname = "mine"\npage = [20, 12]\nlabel = [20, 12]\ncolumns = 1\nrows = 1\n',
            "could not be scanned",
        ),
        ("[[label", "mend"),
    ],
    ids=["the page is too small", "the label is too small", "no table"],
)
def test_a_table_of_sizes_that_is_wrong_is_told_in_a_sentence(
    lots: MainWindow, desk: Workbench, press: Press, text: str, said: str
):
    (desk.store.folder / SIZES).write_text(text, "utf-8")
    press(lots, K.Key_P, CTRL)
    assert lots.panel is None
    assert said in lots.foot.text()
    (desk.store.folder / SIZES).unlink()
    press(lots, K.Key_P, CTRL)
    panel_of(lots)


def test_a_tag_that_is_too_long_for_the_label_is_told_and_the_place_stays(
    lots: MainWindow, desk: Workbench, press: Press
):
    desk.store.add_unit(scenes.unit(99, id="long", tag="क" * 60, serial=""))
    press(lots, K.Key_P, CTRL)
    press(lots, K.Key_Tab)
    press(lots, K.Key_2)
    press(lots, K.Key_Return)
    assert "choose a larger one" in lots.foot.text()
    assert shown_files == []
    assert desk.desk.labels.last_sheet() == ("", 1)


def test_without_units_or_without_a_unit_it_says_what_is_missing(window: MainWindow, desk: Workbench, press: Press):
    press(window, K.Key_P, CTRL)
    assert window.foot.text() == window_words.NO_UNIT_CHOSEN
    desk.store.add_lot(Lot("l1", "SM-08", "2026-11-18", "", 0))
    press(window, K.Key_F2)
    press(window, K.Key_P, CTRL)
    assert window.foot.text() == words.NOTHING


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's tools are not installed")
@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", ["2", "4"])
def test_a_printed_label_that_is_scanned_opens_its_unit(
    lots: MainWindow, desk: Workbench, press: Press, tmp_path: Path, dpi: int, size: str
):
    """From the unit at hand to the paper, at the resolution of a printer, and from the paper back."""
    unit = next(u for u in desk.store.units("SM-07-09") if u.tag == "SM-07-09")
    lots.bench.open_unit(unit)
    desk.settle(lots)
    press(lots, K.Key_P, CTRL)
    assert panel_of(lots).what.options == ("SM-07-09 alone", "the lot SM-07: 12 labels")
    press(lots, K.Key_Tab)
    press(lots, K(ord(size)))
    press(lots, K.Key_Return)
    (read,) = zxingcpp.read_barcodes(page_image(shown_files[0].read_bytes(), tmp_path, dpi))
    lots.bench.open_unit(next(u for u in desk.store.units("SM-07-01") if u.tag == "SM-07-01"))
    desk.settle(lots)
    Keyboard(lots).scan(read.text)
    desk.settle(lots)
    assert lots.shown.unit is not None
    assert lots.shown.unit.tag == "SM-07-09"
