"""Draws the scenes of the tests, to be looked at. Run: python tests/ui/draw_scenes.py --folder F [--only NAME]

`--approve` writes the pictures that test_pictures.py compares with, at half size: look at them before you commit them.

Every picture is the real window on a scene of the demo scenario (invented), drawn without a display.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path[:0] = [str(ROOT), str(HERE)]

import lesson  # noqa: E402
import scenes  # noqa: E402
from pad import DEVICE, button  # noqa: E402
from PySide6.QtCore import QEvent, Qt  # noqa: E402
from PySide6.QtGui import QImage  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402
from workbench import Workbench  # noqa: E402

from station.bench.types import Finish, Go  # noqa: E402
from station.ui.evidence.lay_over import LayOverPanel  # noqa: E402
from station.ui.sound import Sound  # noqa: E402
from station.ui.start import make_app  # noqa: E402
from station.ui.window import MainWindow  # noqa: E402
from tests.lots.made_shop import fill_shop, long_course  # noqa: E402

Scene = Callable[[MainWindow, Workbench], None]


def light_press(window: MainWindow, desk: Workbench) -> None:
    scenes.third_visit(desk)
    scenes.show_rims(desk, window)
    scenes.pressing(desk)


def rim(window: MainWindow, desk: Workbench) -> None:
    scenes.third_visit(desk)
    scenes.rolling(desk)


def sweep(window: MainWindow, desk: Workbench) -> None:
    scenes.third_visit(desk)
    scenes.show_rims(desk, window)
    scenes.sweeping(desk)


def together(window: MainWindow, desk: Workbench) -> None:
    scenes.third_visit(desk)
    scenes.holding(desk)


def ask(window: MainWindow, desk: Workbench) -> None:
    light_press(window, desk)
    desk.go_to("charge")
    settle(window, desk)
    window.checklist.card.meters["V"].setText("4.98")


def graded(window: MainWindow, desk: Workbench) -> None:
    scenes.graded(desk)
    settle(window, desk)
    desk.go_to("rest", "left_stick")


def in_words(window: MainWindow, desk: Workbench) -> None:
    scenes.graded(desk)
    settle(window, desk)
    desk.go_to("letgo", "left_stick")


def again(window: MainWindow, desk: Workbench) -> None:
    light_press(window, desk)
    desk.run("travel", "right_stick")
    desk.flick("right_stick", (0.0, 100.0))
    desk.desk.visit.do(Go())


def away(window: MainWindow, desk: Workbench) -> None:
    light_press(window, desk)
    desk.unplug()


def finished(window: MainWindow, desk: Workbench) -> None:
    light_press(window, desk)
    desk.desk.visit.do(Finish())


def empty(window: MainWindow, desk: Workbench) -> None:
    pass


def new_device(window: MainWindow, desk: Workbench) -> None:
    scenes.workshop(desk)
    desk.plug_in(replace(DEVICE, serial="PT2-0999"))


def known_device(window: MainWindow, desk: Workbench) -> None:
    scenes.workshop(desk)
    desk.plug_in()


def evidence(window: MainWindow, desk: Workbench) -> None:
    """A stick with spikes on its way, at the first of them."""
    scenes.looked_at(desk)
    settle(window, desk)
    window.bench.open_unit(desk.store.unit(scenes.LOOKED_AT.id))
    settle(window, desk)
    window.rooms["evidence"].open_at(("sweep", "left_stick"), "spikes")
    settle(window, desk)
    window.act("evidence.first_cursor")


def evidence_of_presses(window: MainWindow, desk: Workbench) -> None:
    """A shoulder that missed some presses."""
    evidence(window, desk)
    window.rooms["evidence"].open_at(("light", "key_15"))


def no_evidence(window: MainWindow, desk: Workbench) -> None:
    """A result that was set by hand."""
    evidence(window, desk)
    window.rooms["evidence"].open_at(("hold", "key_15"))


def before_and_after(window: MainWindow, desk: Workbench) -> None:
    """A try of a good unit of the model, laid over."""
    scenes.good_one_of_the_model(desk)
    evidence(window, desk)
    scenes.looked_at_again(desk)
    window.rooms["evidence"].open_at(("rest", "left_stick"))
    settle(window, desk)
    window.act("evidence.lay_over")
    assert isinstance(window.panel, LayOverPanel)
    window.panel.list.choose(1)
    window.panel.accept()


def course(window: MainWindow, desk: Workbench) -> None:
    """A stick that was cleaned, rested, and is off again."""
    long_course(desk.store, desk.clock.move, "Plover T2")
    settle(window, desk)
    window.bench.open_unit(desk.store.units()[0])
    settle(window, desk)
    window.rooms["evidence"].open_at(("rest", "left_stick"))
    settle(window, desk)
    window.act("evidence.course")


def figures(window: MainWindow, desk: Workbench) -> None:
    """A made history of sixty units, and one of them on the bench."""
    fill_shop(desk.store, desk.clock.move, 60)
    settle(window, desk)
    window.bench.open_unit(desk.store.units()[20])
    settle(window, desk)
    window.act("view.figures")


def figures_of_claims(window: MainWindow, desk: Workbench) -> None:
    figures(window, desk)
    settle(window, desk)
    window.act("figures.claims")


def figures_of_faults(window: MainWindow, desk: Workbench) -> None:
    figures(window, desk)
    settle(window, desk)
    window.act("figures.faults")


def figures_of_cures(window: MainWindow, desk: Workbench) -> None:
    figures(window, desk)
    settle(window, desk)
    window.act("figures.cures")


def figures_of_money(window: MainWindow, desk: Workbench) -> None:
    figures(window, desk)
    settle(window, desk)
    window.act("figures.money")


def figures_of_one_unit(window: MainWindow, desk: Workbench) -> None:
    figures(window, desk)
    settle(window, desk)
    window.act("figures.standing")


def units_behind(window: MainWindow, desk: Workbench) -> None:
    """The units behind a figure."""
    figures_of_faults(window, desk)
    window.figures._opened(0)


def no_figures(window: MainWindow, desk: Workbench) -> None:
    window.act("view.figures")


def not_here(window: MainWindow, desk: Workbench) -> None:
    """A unit is opened that is not plugged in."""
    scenes.third_visit(desk)
    desk.desk.visit.do(Finish())
    settle(window, desk)
    desk.unplug()
    settle(window, desk)
    window.bench.open_unit(desk.store.unit("unit-4"))


def treatment(window: MainWindow, desk: Workbench) -> None:
    light_press(window, desk)
    settle(window, desk)
    window.act("record.treatment")


def edit(window: MainWindow, desk: Workbench) -> None:
    light_press(window, desk)
    settle(window, desk)
    window.act("record.edit")


def mark(window: MainWindow, desk: Workbench) -> None:
    light_press(window, desk)
    settle(window, desk)
    window.act("visit.mark")


def keys(window: MainWindow, desk: Workbench) -> None:
    light_press(window, desk)
    settle(window, desk)
    window.act("window.keys")


def leave_alone(window: MainWindow, desk: Workbench) -> None:
    light_press(window, desk)
    settle(window, desk)
    window.act("alone.leave")


def left_alone(window: MainWindow, desk: Workbench) -> None:
    """Two units are left alone, one of them did something, while a third is tested."""
    scenes.workshop(desk)
    for number, device in ((9, replace(DEVICE, key="pad:9", serial="PT2-0424")), (4, DEVICE)):
        desk.plug_in(device)
        settle(window, desk)
        desk.desk.alone.leave(f"unit-{number}", device, "intake", 3600.0 * (number == 4))
        settle(window, desk)
    third = replace(DEVICE, key="pad:7", serial="PT2-0422")
    desk.desk.advance(30.0)
    for closed in (True, False, True, False):
        pad = desk.sockets.sources["pad:1"]
        pad.feed(south=button(pad.now_ns() + 1_000_000, closed))  # type: ignore[attr-defined]
        desk.desk.advance(8.0)
    desk.plug_in(third)
    settle(window, desk)
    desk.desk.visit.start("unit-7", third, "intake")
    settle(window, desk)


def came_to(window: MainWindow, desk: Workbench) -> None:
    """A unit that was left alone is at the front again, with what it came to."""
    scenes.workshop(desk)
    desk.plug_in()
    settle(window, desk)
    desk.desk.visit.start("unit-4", DEVICE, "intake")
    settle(window, desk)
    desk.press("south", 1)
    desk.desk.alone.leave("unit-4", DEVICE, "intake", 600.0)
    settle(window, desk)
    for _ in range(130):
        desk.feed(south=button(desk.now_ns + 1_000_000, True))
        desk.feed(south=button(desk.now_ns + 81_000_000, False))
        desk.desk.advance(5.0)
    settle(window, desk)
    desk.desk.visit.start("unit-4", DEVICE, "intake")
    settle(window, desk)
    window.arrival.dismiss()


def lots(window: MainWindow, desk: Workbench) -> None:
    scenes.lot_picture(desk)
    window.act("view.lots")
    settle(window, desk)
    window.lots.show_page()


def donor(window: MainWindow, desk: Workbench) -> None:
    lots(window, desk)
    window.lots.page.donors.setFocus()
    window.act("lots.give_up")


def plan(window: MainWindow, desk: Workbench) -> None:
    """What to do with each unit of the lot."""
    lots(window, desk)
    window.act("lots.plan")
    settle(window, desk)


def new_lot(window: MainWindow, desk: Workbench) -> None:
    lots(window, desk)
    window.act("lots.new_lot")


def shelf(window: MainWindow, desk: Workbench) -> None:
    scenes.workshop(desk)
    window.act("view.shelf")


def due(window: MainWindow, desk: Workbench) -> None:
    scenes.workshop(desk)
    window.act("view.due")


def teach(window: MainWindow, desk: Workbench) -> None:
    lesson.begin(desk, window, lesson.KINDS)
    lesson.until(desk, lambda view: view.number == 4 and view.moved)


def taught(window: MainWindow, desk: Workbench) -> None:
    desk.pad.clumsy.extend(lesson.TWO_IN_DOUBT)
    lesson.answering(desk, window)


SCENES: dict[str, Scene] = {
    f.__name__: f
    for f in (
        *(leave_alone, left_alone, came_to),
        *(light_press, rim, sweep, together, ask, graded, in_words, again, away, finished, empty),
        *(new_device, known_device, not_here),
        *(evidence, evidence_of_presses, no_evidence, before_and_after, course),
        *(figures, figures_of_claims, figures_of_faults, figures_of_cures, figures_of_money, figures_of_one_unit),
        *(units_behind, no_figures),
        *(treatment, edit, mark, keys, lots, donor, plan, new_lot, shelf, due, teach, taught),
    )
}


def settle(window: MainWindow, desk: Workbench) -> None:
    """Let what was asked for, layouts and one tick happen."""
    app = make_app()
    for _ in range(3):
        desk.settle(window)
        app.processEvents()
    window._last_tick = None
    window._late.clear()
    window._ticks = 0
    window.tick()
    app.processEvents()


APPROVED = HERE / "approved"
COMPARED = ("light_press", "sweep", "ask", "new_device", "treatment", "lots", "teach", "taught")


TAUGHT = ("teach", "taught")


@contextmanager
def opened(
    name: str, theme: str, wide: int = 1280, tall: int = 720, scale: float = 1.0
) -> Iterator[tuple[MainWindow, Workbench]]:
    """The window on a scene, and the desk behind it."""
    with tempfile.TemporaryDirectory() as folder:
        before = os.environ.get("RESTPOINT_DATA")
        os.environ["RESTPOINT_DATA"] = folder
        desk = Workbench(pad=lesson.made_up_pad() if name in TAUGHT else None)
        desk.store.set_setting("scale", str(scale))
        window = MainWindow(desk.desk, theme, Sound({}))
        window.stop_clock()
        window.resize(wide, tall)
        window.show()
        SCENES[name](window, desk)
        settle(window, desk)
        yield window, desk
        window.close()
        window.deleteLater()  # in Qt's order; the cycle collector would free its parts in any order
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        if before is None:
            del os.environ["RESTPOINT_DATA"]
        else:
            os.environ["RESTPOINT_DATA"] = before


@contextmanager
def shown(name: str, theme: str, wide: int = 1280, tall: int = 720, scale: float = 1.0) -> Iterator[MainWindow]:
    """The window on a scene."""
    with opened(name, theme, wide, tall, scale) as (window, _):
        yield window


def picture(name: str, theme: str, wide: int = 1280, tall: int = 720, scale: float = 1.0) -> QImage:
    """A scene as it is drawn."""
    with shown(name, theme, wide, tall, scale) as window:
        return window.grab().toImage()


def approved_picture(name: str, theme: str) -> QImage:
    """What is compared: half size, so that a pixel's width does not matter."""
    image = picture(name, theme).convertToFormat(QImage.Format.Format_RGB32)
    return image.scaled(640, 360, Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation)


def approve() -> None:
    APPROVED.mkdir(exist_ok=True)
    for name in COMPARED:
        for theme in ("dark", "light"):
            approved_picture(name, theme).save(str(APPROVED / f"{name}-{theme}.png"))


def main() -> None:
    """Draw what is asked for; without arguments, everything the docs use."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--approve", action="store_true")
    parser.add_argument("--only", action="append", choices=list(SCENES))
    parser.add_argument("--themes", nargs="+", default=["dark", "light"])
    parser.add_argument("--sizes", nargs="+", default=["1280x720", "1920x1080"])
    parser.add_argument("--scale", type=float, default=1.0)
    asked = parser.parse_args()
    make_app([])
    if asked.approve:
        approve()
        return
    if asked.folder is None:
        parser.error("say where the pictures shall go: --folder F")
    asked.folder.mkdir(parents=True, exist_ok=True)
    for name in asked.only or list(SCENES):
        for theme in asked.themes:
            for size in asked.sizes:
                wide, tall = (int(v) for v in size.split("x"))
                file = asked.folder / f"{name}-{theme}-{wide}.png"
                picture(name, theme, wide, tall, asked.scale).save(str(file))
                sys.stdout.write(f"{file}\n")


if __name__ == "__main__":
    main()
