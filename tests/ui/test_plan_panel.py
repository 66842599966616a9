"""The plan of a lot in the window: by one key, with other hours, stopped, and what cannot be planned."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator

import pytest
import scenes
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from workbench import Workbench

from station.app import plan as app_plan
from station.lots import agenda
from station.records.types import Lot
from station.ui.panels.plan import PlanPanel
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]


@pytest.fixture
def panel(window: MainWindow, desk: Workbench, press: Press) -> PlanPanel:
    """The plan of the lot of the scenes, worked out."""
    scenes.lot_picture(desk)
    press(window, K.Key_F2)
    press(window, K.Key_W)
    desk.settle(window)
    found = window.panel
    assert isinstance(found, PlanPanel)
    return found


def test_one_key_says_what_to_do_with_each_unit(panel: PlanPanel) -> None:
    assert panel.verdict.text().startswith("Of 8 h it takes")
    assert "No other plan brings more." in panel.quality.text()
    assert "One more hour would bring" in panel.quality.text()
    units = [row[0] for row in panel.tasks.texts()]
    # ready, sold and donor units are settled, SM-07-10 is not tested
    assert sorted(units) == ["SM-07-04", "SM-07-05", "SM-07-07", "SM-07-08", "SM-07-09", "SM-07-11", "SM-07-12"]
    assert panel.tasks.texts()[0][:2] == ("SM-07-07", "Call it ready")
    assert len(panel.moves.texts()) == 6
    assert panel._keys.text().startswith("Enter: work it out")


def test_the_line_below_tells_all_of_the_row_under_the_cursor(panel: PlanPanel) -> None:
    rows = panel.tasks.texts()
    panel.tasks.choose(next(k for k, row in enumerate(rows) if row[0] == "SM-07-04"))
    assert any(
        text.startswith("SM-07-04: Left stick sensor, horizontal: replace the sensor") for text in panel.labels()
    )


def test_enter_on_a_row_opens_its_unit_on_the_bench(panel: PlanPanel, window: MainWindow, press: Press) -> None:
    press(window, K.Key_Tab)
    assert panel.tasks.hasFocus()
    assert panel._keys.text().startswith("Enter: open the unit")
    press(window, K.Key_Down)
    tag = panel.tasks.texts()[1][0]
    press(window, K.Key_Return)
    assert window.panel is None
    assert window.shown.unit is not None
    assert window.shown.unit.tag == tag
    assert window.view_name() == "bench"


def test_other_hours_are_planned_by_enter_and_remembered(
    panel: PlanPanel, window: MainWindow, desk: Workbench, press: Press
) -> None:
    panel.hours.setText("0,5")
    press(window, K.Key_Return)
    desk.settle(window)
    assert "Of 0.5" in panel.verdict.text()
    press(window, K.Key_Escape)
    assert window.panel is None
    press(window, K.Key_W)
    assert isinstance(window.panel, PlanPanel)
    assert window.panel.hours.text() == "0,5"


def test_what_is_typed_stands_in_place_of_the_hours_of_last_time(
    panel: PlanPanel, window: MainWindow, desk: Workbench, press: Press
) -> None:
    press(window, K.Key_4)
    assert panel.hours.text() == "4"
    press(window, K.Key_Return)
    desk.settle(window)
    assert "Of 4 h" in panel.verdict.text()


@pytest.mark.parametrize(("typed", "said"), [("-1", "less than no hours"), ("many", "“many” is no number of hours")])
def test_hours_that_cannot_be_are_said_in_the_panel_and_nothing_is_lost(
    panel: PlanPanel, window: MainWindow, press: Press, typed: str, said: str
) -> None:
    before = panel.tasks.texts()
    panel.hours.setText(typed)
    press(window, K.Key_Return)
    assert window.panel is panel
    assert any(said in text for text in panel.labels())
    assert panel.tasks.texts() == before


def test_an_empty_lot_is_said_in_the_panel(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.store.add_lot(Lot("", "SM-08", "2026-11-01"))
    press(window, K.Key_F2)
    press(window, K.Key_W)
    desk.settle(window)
    assert isinstance(window.panel, PlanPanel)
    assert any("There is no unit in SM-08 yet" in text for text in window.panel.labels())
    assert window.panel._keys.text().startswith("Enter: work it out")


def test_without_a_lot_the_key_says_what_to_do(window: MainWindow, press: Press) -> None:
    press(window, K.Key_F2)
    press(window, K.Key_W)
    assert window.panel is None
    assert "Put the cursor on a lot first." in window.foot.text()


# --- stopped --------------------------------------------------------------------------------------------------


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Iterator[threading.Event]:
    """The solver gives its first plan and then waits until it is let go on."""
    go_on = threading.Event()
    really = agenda.improving

    def improving(*given: object, **more: object) -> Iterator[object]:
        for k, plan in enumerate(really(*given, **more)):  # type: ignore[arg-type]
            if k:
                go_on.wait(20)
            yield plan

    monkeypatch.setattr(agenda, "improving", improving)
    yield go_on
    go_on.set()


def test_enter_stops_it_and_keeps_the_best_so_far(
    window: MainWindow, desk: Workbench, slow: threading.Event, qtbot: QtBot
) -> None:
    panel = _begun(window, desk, qtbot)
    assert "not known yet" in panel.quality.text()
    assert panel._keys.text().startswith("Enter: stop")
    panel.accept()
    assert window.panel is panel
    assert panel.quality.text().startswith("Stopped. The best so far")
    rows = panel.tasks.texts()
    slow.set()
    desk.settle(window)
    assert panel.tasks.texts() == rows, "what came later was not waited for"
    assert panel.moves.texts() == []


def test_a_panel_that_is_closed_ends_the_work(
    window: MainWindow, desk: Workbench, slow: threading.Event, qtbot: QtBot
) -> None:
    panel = _begun(window, desk, qtbot)
    panel.close_panel()
    slow.set()
    desk.settle(window)
    assert window.panel is None
    planner = desk.desk.stock._planner  # type: ignore[attr-defined]
    assert isinstance(planner, app_plan.Planner)
    assert planner._stopped.is_set()


def _begun(window: MainWindow, desk: Workbench, qtbot: QtBot) -> PlanPanel:
    """The panel with the first plan, while the solver is at work: nothing may wait for it here."""
    scenes.lot_picture(desk)
    window.act("view.lots")
    window.act("lots.plan")
    panel = window.panel
    assert isinstance(panel, PlanPanel)

    def there() -> None:
        window.tick()
        assert panel.tasks.texts()

    qtbot.waitUntil(there, timeout=20_000)
    return panel
