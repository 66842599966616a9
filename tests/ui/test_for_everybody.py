"""For everybody: what is shown is told to a screen reader too, by name and role; what is focused or chosen is seen."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from types import SimpleNamespace

import draw_scenes
import numpy as np
import places
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QAccessibleInterface, QColor, QImage
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QApplication,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QWidget,
)
from pytestqt.qtbot import QtBot
from workbench import Workbench

from station.checks.types import Outcome
from station.ui.checklist.step_card import StepCard
from station.ui.painting.look import REDUCED
from station.ui.painting.told import PaintedList
from station.ui.panels.panel import Panel
from station.ui.sound import Sound
from station.ui.teaching.card import TeachCard
from station.ui.teaching.taught import TeachList
from station.ui.window import MainWindow

Role, Text = QAccessible.Role, QAccessible.Text
SILENT_ROLES = (Role.NoRole, Role.Client)
"""what Qt says of a widget that it knows nothing of"""
CARDS = (StepCard, TeachCard, TeachList, Panel)
TELLS = (QAbstractButton, QLineEdit, QPlainTextEdit, QAbstractItemView, PaintedList, *CARDS)


def paints_itself(widget: QWidget) -> bool:
    """It draws words or figures of its own: its class, or one of ours below it, has a paintEvent that paints."""
    ours = (c for c in type(widget).__mro__ if c.__module__.startswith("station."))
    return any("paintEvent" in vars(c) for c in ours) and type(widget).__name__ not in GROUNDS


GROUNDS = ("HeaderLine", "LivePane")
"""these paint a ground, or a word in the place of parts that are not there"""


def interface(widget: QWidget) -> QAccessibleInterface:
    found = QAccessible.queryAccessibleInterface(widget)
    assert found is not None
    return found


def untold(root: QWidget) -> Iterator[str]:
    """A sentence for each visible widget that has something to tell and no name or role to tell it by."""
    for widget in (root, *root.findChildren(QWidget)):
        if not widget.isVisible() or isinstance(widget, QHeaderView):
            continue
        if isinstance(widget.parentWidget(), QAbstractScrollArea) or type(widget).__name__ == "QScrollBar":
            continue
        name = type(widget).__name__
        told = interface(widget)
        if isinstance(widget, TELLS) or (paints_itself(widget) and not widget.size().isEmpty()):
            if not told.text(Text.Name).strip():
                yield f"{name} has no name"
            if told.role() in SILENT_ROLES:
                yield f"{name} “{told.text(Text.Name)}” has no role"
        elif isinstance(widget, QLabel) and widget.text() and not told.text(Text.Name).strip():
            yield f"{name} “{widget.text()}” is not told"
        yield from (f"{name}: {text}" for text in _untold_rows(widget, told))


def _untold_rows(widget: QWidget, told: QAccessibleInterface) -> Iterator[str]:
    """Rows of tables and lists, painted ones too."""
    if isinstance(widget, PaintedList) and len(getattr(widget, "options", ())) > told.childCount():
        yield "not every option is told"
    if isinstance(widget, PaintedList):
        for k in range(told.childCount()):
            row = told.child(k)
            if not row.text(Text.Name).strip() or row.role() in SILENT_ROLES:
                yield f"row {k} has no name or role"
    elif isinstance(widget, QAbstractItemView):
        model = widget.model()
        for row_number in range(model.rowCount()):
            index = model.index(row_number, 0)
            if not str(index.data() or "").strip():
                yield f"row {row_number} has no name"


@pytest.mark.parametrize("name", places.SCENES)
def test_everything_that_tells_something_is_told_by_name_and_role(qapp: QApplication, name: str) -> None:
    said = []
    with draw_scenes.opened(name, "light") as (window, desk):
        said += [f"{name}: {text}" for text in untold(window)]
        for place in places.panels(name, window, desk):
            said += [f"{place.name}: {text}" for text in untold(place.panel)]
    assert not said, "\n".join(dict.fromkeys(said))


def test_what_is_not_told_is_found(qapp: QApplication) -> None:
    class Silent(QWidget):
        def paintEvent(self, event: object) -> None:
            """Would paint."""

    Silent.__module__ = "station.ui.made_up"
    window = QWidget()
    for part in (Silent(), QLineEdit()):
        part.setParent(window)
        part.resize(50, 20)
    window.show()
    found = list(untold(window))
    assert any("Silent has no name" in text for text in found)
    assert any("Silent “” has no role" in text for text in found)
    assert any("QLineEdit has no name" in text for text in found)


# --- seen ------------------------------------------------------------------------------------------------------------


def pixels(widget: QWidget) -> np.ndarray:
    """Colours of a widget as it is drawn, uint8[height, width, 3]."""
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).copy()


def luminances(colours: np.ndarray) -> np.ndarray:
    """Relative luminance of each, WCAG 2.2 (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    share = colours / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


def contrasts(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    a, b = luminances(first), luminances(second)
    return (np.maximum(a, b) + 0.05) / (np.minimum(a, b) + 0.05)


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_what_has_the_keys_is_seen(qapp: QApplication, theme: str) -> None:
    """Where the keys come, as many pixels as the widget's short sides change by 3 : 1 or more (WCAG 2.2, 1.4.11)."""
    seen = set()
    with draw_scenes.opened("light_press", theme) as (window, desk):
        window.activateWindow()
        for place in places.panels("light_press", window, desk):
            for field in place.panel._order:
                if not field.isVisible() or not field.isEnabled():
                    continue
                place.panel.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
                place.panel.setFocus()
                before = pixels(field)
                field.setFocus()
                changed = contrasts(pixels(field), before) >= 3
                assert changed.sum() >= 2 * min(field.width(), field.height()), f"{place.name}: {type(field).__name__}"
                seen.add(type(field).__name__)
    assert {"QLineEdit", "ChoiceList", "NoteEdit"} <= seen


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_the_row_with_the_cursor_is_seen(qapp: QApplication, theme: str) -> None:
    """A line of 3 : 1 or more runs along it, above and below; none along another row."""
    with draw_scenes.opened("shelf", theme) as (window, _):
        table = window.shelf.parts
        table.selectRow(1)
        drawn, lines = pixels(table.viewport()), []
        for row in range(3):
            box = table.visualRect(table.model().index(row, 0))
            column = drawn[box.top() : box.bottom() + 1, box.left() + 3]
            lines.append(int((contrasts(column[1:], column[:-1]) >= 3).sum()))
        assert lines == [0, 2, 0]


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_what_stands_in_an_empty_field_reads(qapp: QApplication, theme: str) -> None:
    """WCAG 2.2, 1.4.3: 4.5 : 1 or more."""
    with draw_scenes.opened("lots", theme) as (window, _):
        colour = window.lots.search.palette().placeholderText().color()
        assert colour.alpha() == 255
        here, ground = (np.array(QColor(c).getRgb()[:3]) for c in (colour, window.look.ground))
        assert contrasts(here, ground) >= 4.5


@pytest.mark.parametrize(("motion", "flashes"), [("reduced", False), ("full", True)])
def test_a_beat_flashes_only_where_motion_is_wanted(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch, motion: str, flashes: bool
) -> None:
    monkeypatch.setenv(REDUCED, motion)
    with draw_scenes.opened("light_press", "light") as (window, _):
        window.checklist.tick(1_000_000, 1_000_000)
        assert (window.checklist.card.beats._flash > 0.5) is flashes


# --- no larger than the screen --------------------------------------------------------------------------------------


def test_the_window_opens_no_larger_than_the_screen(qapp: QApplication, desk: Workbench, qtbot: QtBot) -> None:
    desk.store.set_setting("window", "5000x4000")
    window = MainWindow(desk.desk, "dark", Sound({}))
    window.stop_clock()
    qtbot.addWidget(window)
    window.show()
    QApplication.processEvents()
    room = window.screen().availableGeometry()
    assert room.contains(window.frameGeometry())
    kept: dict[str, str] = {}
    window._settings = SimpleNamespace(put=kept.__setitem__, get=desk.desk.settings.get)
    window.resize(5000, 4000)
    window.close()
    wide, tall = (int(part) for part in kept["window"].split("x"))
    assert wide <= room.width()
    assert tall <= room.height()


def test_a_frame_that_comes_late_does_not_push_the_window_off_the_screen(
    qapp: QApplication, desk: Workbench, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.store.set_setting("window", "5000x4000")
    window = MainWindow(desk.desk, "dark", Sound({}))
    window.stop_clock()
    qtbot.addWidget(window)
    window.show()
    QApplication.processEvents()
    room = window.screen().availableGeometry()
    monkeypatch.setattr(window, "frameGeometry", lambda: window.geometry().adjusted(-1, -20, 1, 5))
    qtbot.waitUntil(lambda: window.frameGeometry().height() <= room.height(), timeout=5000)
    assert window.frameGeometry().width() <= room.width()


# --- said aloud -------------------------------------------------------------------------------------------------


@pytest.fixture
def aloud(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is announced."""
    heard: list[str] = []

    def hear(event: object) -> None:
        if isinstance(event, QAccessibleAnnouncementEvent):
            heard.append(event.message())

    monkeypatch.setattr(QAccessible, "updateAccessibility", hear)
    return heard


def test_an_outcome_is_said_aloud(visit: MainWindow, desk: Workbench, aloud: list[str]) -> None:
    desk.mark(Outcome.FAIL)
    desk.settle(visit)
    assert "Left stick, at rest: fail." in aloud


def test_a_message_is_said_aloud(visit: MainWindow, aloud: list[str], press: Callable[..., None]) -> None:
    visit.say("The disk is full", bad=True)
    visit.say("")
    assert aloud == ["The disk is full"]
