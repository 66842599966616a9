"""Every place of the window: each scene of `draw_scenes.py`, and over some of them the panels that open there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import draw_scenes
from PySide6.QtWidgets import QApplication
from workbench import Workbench

from station.records.types import Unit
from station.ui.cautions import HazardPanel
from station.ui.painting.hazards import Cautions
from station.ui.panels.bench import WhosePanel
from station.ui.panels.look import LookPanel
from station.ui.panels.panel import Panel
from station.ui.window import MainWindow

Open = Callable[[MainWindow, Workbench], None]


def _key(action: str) -> Open:
    return lambda window, desk: window.act(action)


def _over(table: str, action: str) -> Open:
    """With the keys in a table of the lot."""

    def open_it(window: MainWindow, desk: Workbench) -> None:
        window.lots.show_page()
        getattr(window.lots.page, table).setFocus()
        window.act(action)

    return open_it


def _save_taught(window: MainWindow, desk: Workbench) -> None:
    """Every question is answered, so that the next key saves."""
    lesson = window.shown.lesson
    assert lesson is not None
    for _ in lesson.doubts:
        window.act("teaching.second")
        settle(window, desk)
        window.act("teaching.down")
    window.act("teaching.next")


def _work(window: MainWindow, desk: Workbench) -> None:
    """A treatment is begun."""
    window.act("record.treatment")
    assert window.panel is not None
    window.panel.accept()
    settle(window, desk)
    window.act("record.treatment")  # its clock


def _look_over(window: MainWindow, desk: Workbench) -> None:
    cautions = Cautions(desk.desk.advice.hazards)
    window.open_panel(lambda look, over: LookPanel("SM-07-04", cautions, lambda sign: None, look, over, worn=True))


def _whose(window: MainWindow, desk: Workbench) -> None:
    one, other = Unit("u1", "SM-07-04", "Plover T2"), Unit("u2", "A tag of another series 12", "Plover T2")
    window.open_panel(lambda look, over: WhosePanel(one, other, lambda: None, look, over))


def _hazards(window: MainWindow, desk: Workbench) -> None:
    cautions = Cautions(desk.desk.advice.hazards)
    window.open_panel(lambda look, over: HazardPanel("replace sensor", cautions, look, over))


def _certificate(window: MainWindow, desk: Workbench) -> None:
    """The shop is known, and the visit is not at its end."""
    desk.desk.settings.put("bench", "Mill Lane Repairs")
    window.act("record.write_certificate")


_PANELS: dict[str, dict[str, Open]] = {
    "light_press": {
        name: _key(name)
        for name in (
            *("record.treatment", "record.note", "record.shop", "record.edit", "record.becomes"),
            *("visit.mark", "visit.strength"),
            *("visit.skip", "visit.finish", "window.keys", "window.backups", "alone.leave", "alone.list"),
            *("bench.sample", "bench.silent", "bench.find", "bench.save_sheet"),
            *("undo.withdraw", "undo.correct", "record.write_certificate", "labels.of_unit"),
        )
    },
    "ask": {"look over": _look_over, "hazards": _hazards, "work": _work, "certificate": _certificate, "whose": _whose},
    "left_alone": {"alone.list": _key("alone.list")},
    "known_device": {"bench.visit": _key("bench.visit")},
    "lots": {
        **{name: _key(name) for name in ("lots.new_lot", "lots.edit_lot", "lots.new_unit", "bench.find")},
        "labels.of_lot": _key("labels.of_lot"),
        "lots.give_up": _over("donors", "lots.give_up"),
        "lots.becomes": _over("units", "lots.becomes"),
        "lots.part_came": _over("parts", "lots.part_came"),
    },
    "shelf": {"shelf.new_part": _key("lots.new_part"), "undo.withdraw_part": _key("undo.withdraw_part")},
    "new_device": {"teaching.begin": _key("teaching.begin")},
    "taught": {"save": _save_taught},
}
PANEL_SCENES = ("treatment", "edit", "mark", "keys", "leave_alone", "donor", "new_lot")
"""scenes that are a panel over another one: they are among the panels"""
SCENES = tuple(name for name in draw_scenes.SCENES if name not in PANEL_SCENES)


@dataclass(frozen=True, slots=True)
class Place:
    """A panel, and the name of the scene and the key that bring it up."""

    name: str
    panel: Panel


def settle(window: MainWindow, desk: Workbench) -> None:
    """Let what was asked for and the layouts happen."""
    for _ in range(2):
        desk.settle(window)
        QApplication.processEvents()
    QApplication.processEvents()


def dress(window: MainWindow, desk: Workbench, wide: int, tall: int, scale: float, theme: str) -> None:
    """The window at this size, type and look."""
    window.scale, window.theme = scale, theme
    window.resize(wide, tall)
    window.apply_look()
    settle(window, desk)


def panels(name: str, window: MainWindow, desk: Workbench) -> Iterator[Place]:
    """Each panel over a scene that stands."""
    for action, open_it in _PANELS.get(name, {}).items():
        open_it(window, desk)
        desk.settle(window)
        QApplication.processEvents()
        panel = window.panel
        assert panel is not None, f"{action} opens no panel on {name}"
        yield Place(f"{name}, {action}", panel)
        panel.close_panel()
        QApplication.processEvents()
