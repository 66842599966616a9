"""The shop in figures: tables by keys, bars as long as their shares, the units behind a row, files."""

from __future__ import annotations

import csv
import threading

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication
from workbench import Workbench

from station.app import paths
from station.app.shop_figures import ShopReader
from station.lots.shop.said import HEADS
from station.ui.figures import bars
from station.ui.painting.look import color, mix
from station.ui.ports import FiguresReading
from station.ui.window import MainWindow
from station.words import shop as words
from tests.lots.made_shop import fill_shop

K = Qt.Key


@pytest.fixture
def shop(window: MainWindow, desk: Workbench) -> MainWindow:
    """The view on a made history, with a unit on the bench."""
    fill_shop(desk.store, desk.clock.move, 24, of_lot=8)
    desk.settle(window)
    window.resize(1280, 720)
    window.show()
    window.bench.open_unit(desk.store.units()[0])
    desk.settle(window)
    window.act("view.figures")
    desk.settle(window)
    QApplication.processEvents()
    return window


def test_it_is_empty_before_anything_came_in(window: MainWindow, desk: Workbench):
    window.act("view.figures")
    desk.settle(window)
    view = window.figures
    assert view.empty.text() == words.EMPTY
    assert not view.stack.isVisibleTo(view)
    window.act("figures.standing")
    assert view.empty.text() == words.NO_UNIT
    window.act("figures.keep_table")
    assert window.foot.message.text() == words.NOTHING_TO_WRITE


def test_each_table_by_its_digit(shop: MainWindow, desk: Workbench, press):
    titles = []
    for key in (K.Key_1, K.Key_2, K.Key_3, K.Key_4, K.Key_5, K.Key_6):
        press(shop, key)
        titles.append(shop.figures.title.text())
        assert shop.figures.lists[shop.figures.name].texts()
        assert shop.figures.lists[shop.figures.name].hasFocus()
    assert titles[:5] == [words.TITLES[name] for name in ("came", "claims", "faults", "cures", "money")]
    assert desk.store.units()[0].tag in titles[5]


def test_the_figures_are_not_worked_out_by_the_thread_of_the_window(
    shop: MainWindow, desk: Workbench, monkeypatch: pytest.MonkeyPatch
):
    by: list[str] = []
    work = ShopReader.figures
    monkeypatch.setattr(ShopReader, "figures", lambda self: by.append(threading.current_thread().name) or work(self))
    shop.figures.fill()
    desk.settle(shop)
    assert by == ["restpoint-figures"]


def test_enter_opens_the_units_behind_a_row_and_one_of_them(shop: MainWindow, desk: Workbench, press):
    press(shop, K.Key_3)
    view = shop.figures
    row = view.table.rows[0]
    press(shop, K.Key_Return)
    assert view.behind
    tags = [cells[0] for cells in view.units.texts()]
    assert len(tags) == len(row.units)
    assert row.whole in view.title.text()
    press(shop, K.Key_Escape)
    assert not view.behind
    assert shop.view_name() == "figures"
    press(shop, K.Key_Return)
    press(shop, K.Key_Return)
    desk.settle(shop)
    assert shop.view_name() == "bench"
    assert shop.shown.unit is not None
    assert shop.shown.unit.tag == tags[0]


def test_backspace_leads_back_and_escape_to_the_bench(shop: MainWindow, press):
    press(shop, K.Key_5)
    press(shop, K.Key_Return)
    press(shop, K.Key_Backspace)
    assert not shop.figures.behind
    press(shop, K.Key_Escape)
    assert shop.view_name() == "bench"


def test_one_key_writes_every_row(shop: MainWindow, desk: Workbench, press):
    press(shop, K.Key_3)
    press(shop, K.Key_G)
    desk.settle(shop)
    file = paths.pictures_folder() / "figures-faults.csv"
    assert str(file) in shop.foot.message.text()
    rows = list(csv.reader(file.read_text("utf-8-sig").splitlines()))
    assert tuple(rows[0]) == HEADS["faults"]
    assert len(rows) - 1 == len(shop.figures.table.rows)


def _colored(picture: bars.FigureBars, tone: str) -> np.ndarray:
    image = picture.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    raw = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    wanted = color(tone)
    return (raw[..., 2] == wanted.red()) & (raw[..., 1] == wanted.green()) & (raw[..., 0] == wanted.blue())


def test_a_bar_is_as_long_as_its_share_and_its_whisker_as_its_interval(shop: MainWindow, press):
    press(shop, K.Key_3)
    view, look = shop.figures, shop.look
    picture = view.bars
    assert picture is not None
    seen = _colored(picture, mix(look.accent, look.pane, bars.BAR_TONE))
    text = _colored(picture, look.text)
    edge = look.px(bars.EDGE_PX)
    wide = picture.width() - 2 * edge
    for k, box in picture.shown_rows():
        row = view.table.rows[k]
        bottom = round(box.bottom() - look.px(bars.GAP_PX) / 2 - look.px(1))
        bar = np.flatnonzero(seen[bottom - 3])
        assert bar.min() == pytest.approx(edge, abs=2)
        assert bar.max() == pytest.approx(edge + wide * row.value / 100.0, abs=3)
        middle = round(bottom - look.px(bars.BAR_PX) / 2)
        line = np.flatnonzero(text[middle - 1 : middle + 1].any(axis=0))
        assert line.min() == pytest.approx(edge + wide * row.low / 100.0, abs=2)
        assert line.max() == pytest.approx(edge + wide * row.high / 100.0, abs=2)


def test_the_row_under_the_cursor_is_always_among_those_drawn(shop: MainWindow, press, qtbot):
    press(shop, K.Key_3)
    view = shop.figures
    picture = view.bars
    assert picture is not None
    picture.setFixedHeight(150)
    QApplication.processEvents()
    for _ in range(len(view.table.rows)):
        assert view.lists["faults"].current() in [k for k, _ in picture.shown_rows()]
        press(shop, K.Key_Down)
    assert view.table.rows[view.lists["faults"].current()].cells[-1] in picture.accessibleDescription()
    (k, box), *_ = picture.shown_rows()
    qtbot.mouseClick(picture, Qt.MouseButton.LeftButton, pos=QPoint(20, round(box.center().y())))
    assert view.lists["faults"].current() == k


def test_the_view_says_how_far_reading_is_and_a_key_stops_it_and_goes_on(
    window: MainWindow, desk: Workbench, press, monkeypatch: pytest.MonkeyPatch
):
    fill_shop(desk.store, desk.clock.move, 12, of_lot=6)
    read = desk.store.histories

    def slow(ids):
        for number, history in enumerate(read(ids)):
            if number == 5:
                desk.desk.figures.stop()  # what the key does
            yield history

    monkeypatch.setattr(desk.store, "histories", slow)
    window.act("view.figures")
    desk.settle(window)
    view = window.figures
    assert view.empty.text() == words.READ_STOPPED.format(done=5, of=12)
    monkeypatch.setattr(desk.store, "histories", read)
    press(window, K.Key_X)
    desk.settle(window)
    assert view.ready is not None
    assert view.reading is None
    assert view.lists["came"].texts()[0][1] == "12"
    press(window, K.Key_X)
    assert window.foot.message.text() == words.NOTHING_TO_STOP
    view.told(FiguresReading(3, 12))
    assert view.progress.text() == words.READ_SO_FAR.format(done=3, of=12)
    stopped: list[bool] = []
    monkeypatch.setattr(desk.desk.figures, "stop", lambda: stopped.append(True))
    press(window, K.Key_X)
    assert stopped == [True]


def test_the_head_names_the_key_that_stops_and_goes_on_while_units_are_read(shop: MainWindow):
    view = shop.figures
    assert "X" not in view.keys.text()
    view.told(FiguresReading(3, 12))
    assert view.keys.text() == words.READING_KEYS
    view.told(FiguresReading(3, 12, stopped=True))
    assert view.keys.text() == words.STOPPED_KEYS
    view.told(view.ready)
    assert view.keys.text() == words.VIEW_KEYS
