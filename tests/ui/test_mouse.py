"""The mouse can do whatever a key can: every key stands somewhere to be clicked."""

from __future__ import annotations

from collections.abc import Callable

import pytest
import scenes
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel
from workbench import Workbench

from station.bench.types import Go
from station.ui.keys import KEYS, KeyLine
from station.ui.painting.hints import KeyHints, key_hints
from station.ui.panels.keys import KeysPanel
from station.ui.panels.panel import Panel
from station.ui.window import MainWindow

Press = Callable[..., None]
K = Qt.Key
LEFT = Qt.MouseButton.LeftButton


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("Space: next · R: do it again", ["Space", "R"]),
        ("Up, Down: choose a check · ?: all keys", ["Up", "Down", "?"]),
        ("Figures, then Y: good · /: search", ["Y", "/"]),
        ("Its visit is not finished. Enter: go on · Esc: not now", ["Enter", "Esc"]),
        ("1–3: outcome · type a part of it · Shift+W: list", ["Shift+W"]),
        ("Space:\N{NO-BREAK SPACE}start", ["Space"]),
        ("Work on next", []),
    ],
)
def test_keys_are_found_in_a_line_and_no_word_is_lost(text: str, keys: list[str]) -> None:
    assert "".join(part for part, _ in key_hints(text)) == text
    assert [key for _, key in key_hints(text) if key] == keys


def test_what_is_shown_is_no_markup(qapp: QApplication, window: MainWindow) -> None:
    hints = KeyHints("Enter: new unit <img src=x> & more · Esc: not now", window.look)
    assert hints.text() == "Enter: new unit <img src=x> & more · Esc: not now"
    assert "<img" not in QLabel.text(hints)


def test_a_click_on_the_card_does_what_its_key_does(visit: MainWindow, desk: Workbench) -> None:
    keys = visit.checklist.card.keys
    assert "Space" in keys.clickable()
    at = next(
        (x, y) for y in range(0, keys.height(), 4) for x in range(0, keys.width(), 4) if link_at(keys, x, y) == "Space"
    )
    QTest.mouseClick(keys, LEFT, pos=QPointF(*at).toPoint())
    assert desk.commands == [Go()]
    assert visit.hasFocus(), "the keys stay with the bench"


def link_at(label: KeyHints, x: int, y: int) -> str:
    """What lies under a point, as Qt says when the mouse comes there."""
    found: list[str] = []
    label.linkHovered.connect(found.append)
    QTest.mouseMove(label, QPointF(x, y).toPoint())
    QApplication.processEvents()
    label.linkHovered.disconnect(found.append)
    return found[-1] if found else ""


@pytest.mark.parametrize("line", [k for k in KEYS if k.where != "teaching"], ids=lambda k: f"{k.where} {k.key}")
def test_every_key_can_be_clicked_on_the_page_of_keys(
    window: MainWindow, line: KeyLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    QTest.mouseClick(window.foot.help, LEFT)
    page = window.panel
    assert isinstance(page, KeysPanel)
    done: list[str] = []
    monkeypatch.setattr(window, "act", done.append)
    QTest.mouseClick(page.lines[line.where, line.key], LEFT)
    assert done == [line.action]
    assert window.panel is None
    if line.where in ("lots", "shelf"):
        assert window.view_name() == line.where, "it counts there"


def test_a_panel_is_answered_with_the_mouse(visit: MainWindow, desk: Workbench, press: Press) -> None:
    press(visit, K.Key_N)
    panel = visit.panel
    assert isinstance(panel, Panel)
    panel.text.setPlainText("grip worn")  # type: ignore[attr-defined]
    QTest.mouseClick(panel._keys.buttons["Enter"], LEFT)
    desk.settle(visit)
    assert desk.history().notes[0].text == "grip worn"
    press(visit, K.Key_F)
    panel = visit.panel
    assert isinstance(panel, Panel)
    QTest.mouseClick(panel._keys.buttons["Esc"], LEFT)
    assert visit.panel is None


PANELS = (
    *("record.treatment", "record.note", "record.edit", "visit.mark", "visit.skip", "visit.finish", "visit.strength"),
    *("alone.leave", "alone.list", "bench.find", "bench.sample", "window.backups", "window.keys", "bench.save_sheet"),
    *("lots.new_lot", "lots.new_unit", "lots.new_part"),
)


@pytest.mark.parametrize("action", PANELS)
def test_every_panel_can_be_left_with_the_mouse(visit: MainWindow, desk: Workbench, action: str) -> None:
    visit.act(action)
    desk.settle(visit)
    assert visit.panel is not None
    QTest.mouseClick(visit.panel._keys.buttons["Esc"], LEFT)
    assert visit.panel is None


def test_the_free_bench_is_clicked(window: MainWindow) -> None:
    window.grab()  # where the lines stand is known once they are drawn
    box = next(box for box, key in window.splash._boxes if key == "U")
    QTest.mouseClick(window.splash, LEFT, pos=box.center().toPoint())
    assert window.panel is not None


def test_enter_of_a_table_is_clicked(window: MainWindow, desk: Workbench, press: Press) -> None:
    scenes.workshop(desk)
    press(window, K.Key_F4)
    assert window.due.due.lines()
    window.due.keys.click("Enter")
    desk.settle(window)
    assert window.view_name() == "bench"


def test_what_a_panel_says_of_other_keys_is_clicked_too(visit: MainWindow, desk: Workbench) -> None:
    """The caution of a treatment is read, a running one is paused, with the mouse."""
    visit.act("record.treatment")
    desk.settle(visit)
    panel = visit.panel
    assert panel is not None
    box = panel._hazards
    assert box is not None
    before = box.in_full
    assert "Q" in box.signs.clickable()
    box.signs.click("Q")
    assert box.in_full is not before
    QTest.mouseClick(panel._keys.buttons["Enter"], LEFT)
    desk.settle(visit)
    assert desk.desk.work.of_unit("unit-4") is not None, "it has begun"
