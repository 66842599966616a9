"""Whatever the window says of a measure opens what lies behind it by keys alone: Tab to it, Enter; Esc leads back."""

from __future__ import annotations

import pytest
import scenes
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from workbench import Workbench

from station.records.types import Result
from station.ui.window import MainWindow
from tests.lots.made_shop import fill_shop

K = Qt.Key
MOST_TABS = 80


@pytest.fixture
def bench(window: MainWindow, desk: Workbench) -> MainWindow:
    """A unit with two visits, both compared in full."""
    scenes.looked_at(desk)
    scenes.looked_at_again(desk)
    window.bench.open_unit(desk.store.unit(scenes.LOOKED_AT.id))
    window.act("record.all_rows")
    desk.settle(window)
    QApplication.processEvents()
    return window


def _tab_to(window: MainWindow, qtbot, text: str) -> QWidget:
    """The first place with this text that Tab comes to."""
    for _ in range(MOST_TABS):
        qtbot.keyClick(QApplication.focusWidget() or window, K.Key_Tab)
        there = QApplication.focusWidget()
        if isinstance(there, QLabel) and text in there.text().replace("\N{NO-BREAK SPACE}", " "):
            return there
    raise AssertionError(f"Tab never came to “{text}”")


def _results(desk: Workbench) -> dict[str, list[Result]]:
    found: dict[str, list[Result]] = {}
    for result in desk.store.history(scenes.LOOKED_AT.id).results:
        found.setdefault(result.check, []).append(result)
    return found


@pytest.mark.parametrize(
    ("text", "check", "which"),
    [
        ("Left stick, sweep", "sweep", -1),
        ("25.0", "sweep", 0),
        ("noisy track", "sweep", -1),
        ("misses light presses", "light", -1),
        ("4 of 31", "light", 0),
        ("Left stick, at rest", "rest", -1),
        ("Key 15, hold", "hold", -1),
    ],
    ids=["check", "figure", "finding", "other finding", "other figure", "last of two visits", "set by hand"],
)
def test_tab_and_enter_at_the_bench(bench: MainWindow, desk: Workbench, qtbot, press, text, check, which):
    _tab_to(bench, qtbot, text)
    qtbot.keyClick(QApplication.focusWidget(), K.Key_Return)
    desk.settle(bench)
    view = bench.evidence
    assert bench.view_name() == "evidence"
    assert view.result is not None
    assert view.result.id == _results(desk)[check][which].id
    assert (view.evidence is None) == view.result.by_hand
    assert bool(view.problem.text()) == view.result.by_hand or view.evidence is not None
    press(bench, K.Key_Escape)
    assert bench.view_name() == "bench"


def test_everything_that_opens_at_the_bench_opens(bench: MainWindow, desk: Workbench, qtbot, press):
    """All that Tab comes to, one after the other."""
    opened = list[tuple[str, str]]()
    for number in range(MOST_TABS):
        for _ in range(number + 1):
            qtbot.keyClick(QApplication.focusWidget() or bench, K.Key_Tab)
        there = QApplication.focusWidget()
        assert isinstance(there, QLabel)
        said = (there.text(), str(there.mapTo(bench, there.rect().topLeft())))
        if said in opened:
            break
        opened.append(said)
        qtbot.keyClick(there, K.Key_Return)
        desk.settle(bench)
        assert bench.view_name() == "evidence", said
        press(bench, K.Key_Escape)
        desk.settle(bench)
        bench.setFocus()
    assert len(opened) >= 8


@pytest.mark.parametrize("table", ["came", "claims", "faults", "cures", "money", "standing"])
def test_every_figure_of_the_shop_opens_its_units(window: MainWindow, desk: Workbench, press, table: str):
    fill_shop(desk.store, desk.clock.move, 24, of_lot=8)
    desk.settle(window)
    window.bench.open_unit(desk.store.units()[0])
    window.act("view.figures")
    desk.settle(window)
    QApplication.processEvents()
    view = window.figures
    press(window, getattr(K, f"Key_{list(view.lists).index(table) + 1}"))
    assert view.name == table
    assert view.table is not None
    rows = view.table.rows
    assert rows
    for row in rows:
        press(window, K.Key_Return)
        assert view.behind
        assert len(view.units.lines()) == len(row.units)
        press(window, K.Key_Escape)
        assert not view.behind
        press(window, K.Key_Down)
    shown = next(k for k, row in enumerate(rows) if len(row.units))
    view.lists[table].choose(shown)
    press(window, K.Key_Return)
    press(window, K.Key_Return)
    desk.settle(window)
    assert window.view_name() == "bench"
    assert window.shown.unit is not None
    behind = [view.ready.figures.units.ids[k] for k in rows[shown].units.tolist()] if view.ready is not None else []
    assert window.shown.unit.id in behind
