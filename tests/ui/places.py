"""Every place of the window: each scene of `draw_scenes.py`, and over some of them the panels that open there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import draw_scenes
from PySide6.QtWidgets import QApplication
from workbench import Workbench

from station.app import paths
from station.records.types import Comeback, Treatment, Unit
from station.ui.cautions import HazardPanel
from station.ui.painting.hazards import Cautions
from station.ui.panels.bench import WhosePanel
from station.ui.panels.look import LookPanel
from station.ui.panels.panel import Panel
from station.ui.panels.shop import ShopPanel
from station.ui.panels.stock import NewUnitPanel
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


def _welcome(window: MainWindow, desk: Workbench) -> None:
    """As on empty records, whatever the scene has."""
    options = desk.desk.options
    window.open_panel(lambda look, over: ShopPanel(options, None, look, over))


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


def _new_unit(window: MainWindow, desk: Workbench) -> None:
    """A tag that nobody has was scanned."""
    lots = desk.desk.stock.lots()
    window.open_panel(lambda look, over: NewUnitPanel(desk.desk.units, "SM-07-13", lots, lots[0], look, over))


def _came_back(window: MainWindow, desk: Workbench) -> None:
    """A treated unit was sold, and comes back."""
    unit = _sell(desk)
    window.bench.open_unit(desk.store.unit(unit))
    window.act("record.came_back")


def _found(window: MainWindow, desk: Workbench) -> None:
    """It came back, and the same fault was found."""
    unit = desk.store.unit(_sell(desk))
    desk.store.come_back(Comeback("", unit.id, "", "the left stick drifts again", "same fault"))
    window.bench.open_unit(desk.store.unit(unit.id))
    window.act("record.came_back")


def _sell(desk: Workbench) -> str:
    units = desk.store.units()
    unit = next((u for u in units if u.tag == "SM-07-04"), units[0])
    if unit.becomes != "sold":
        desk.store.add_treatment(Treatment("", unit.id, "clean the sensor", "", "left stick sensor", 9))
        unit = desk.store.unit(unit.id)
        desk.store.change_unit(replace(unit, becomes="sold", sold_minor=3100, channel="market"))
    return unit.id


def _hazards(window: MainWindow, desk: Workbench) -> None:
    cautions = Cautions(desk.desk.advice.hazards)
    window.open_panel(lambda look, over: HazardPanel("replace sensor", cautions, look, over))


def _preview(rows: str) -> Open:
    """A spreadsheet with these rows was looked through."""

    def open_it(window: MainWindow, desk: Workbench) -> None:
        file = paths.records_folder() / "stock list.csv"
        file.write_text(rows, "utf-8")
        window.act("lots.import_lot")
        assert window.panel is not None
        window.panel.file.setText(str(file))  # type: ignore[attr-defined]
        window.panel.accept()
        settle(window, desk)

    return open_it


SOUND_ROWS = "Tag,Model,Fault,Price,Colour\n" + "".join(
    f"SM-08-{k:02},Plover T2,{'left stick drifts' if k % 2 else ''},8.50,grey\n" for k in range(1, 21)
)
WRONG_ROWS = (
    'Tag,Model,Fault,Price,Box,Qty\nSM-08-01,Plover T2,drifts,12,yes,1\nsm-08-01,Plover T2,,"12,50,1",perhaps,3\n'
    "SM-08-03,Plover T2,,$ 4.00,,\n"
)


def _certificate(window: MainWindow, desk: Workbench) -> None:
    """The shop is known, and the visit is not at its end."""
    desk.desk.settings.put("bench", "Mill Lane Repairs")
    settle(window, desk)  # it is kept
    window.act("record.write_certificate")


def _lay_over(window: MainWindow, desk: Workbench) -> None:
    """What lies over is taken away, and the next key asks what to lay over."""
    if window.evidence.other is not None:
        window.act("evidence.lay_over")
    window.act("evidence.lay_over")


_PANELS: dict[str, dict[str, Open]] = {
    "light_press": {
        name: _key(name)
        for name in (
            *("record.treatment", "record.note", "settings.open", "record.edit", "record.becomes"),
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
        **{name: _key(name) for name in ("lots.import_lot", "lots.withdraw", "lots.money", "lots.plan")},
        "a scanned tag": _new_unit,
        "preview": _preview(SOUND_ROWS),
        "preview of what is wrong": _preview(WRONG_ROWS),
        "labels.of_lot": _key("labels.of_lot"),
        "lots.give_up": _over("donors", "lots.give_up"),
        "lots.becomes": _over("units", "lots.becomes"),
        "lots.part_came": _over("parts", "lots.part_came"),
    },
    "before_and_after": {"evidence.lay_over": _lay_over},
    "due": {"came back": _came_back, "what was found": _found},
    "empty": {"welcome": _welcome},
    "shelf": {"shelf.new_part": _key("lots.new_part"), "undo.withdraw_part": _key("undo.withdraw_part")},
    "new_device": {"teaching.begin": _key("teaching.begin")},
    "taught": {"save": _save_taught},
}
PANEL_SCENES = ("treatment", "edit", "mark", "keys", "leave_alone", "donor", "plan", "new_lot")
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
