"""Draws the scenes of the tests, to be looked at. Run: python tests/ui/draw_scenes.py --folder F [--only NAME]

`--approve` writes the pictures that test_pictures.py compares with, at half size: look at them before you commit them.

Every picture is the real window on a scene of the demo scenario (invented), drawn without a display.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path[:0] = [str(ROOT), str(HERE)]

import scenes  # noqa: E402
from fake_desk import FakeDesk, plover  # noqa: E402
from PySide6.QtCore import QEvent, Qt  # noqa: E402
from PySide6.QtGui import QImage  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402

from station.sources.port import SourceStatus  # noqa: E402
from station.ui.sound import Sound  # noqa: E402
from station.ui.start import make_app  # noqa: E402
from station.ui.window import MainWindow  # noqa: E402

Scene = Callable[[MainWindow, FakeDesk], None]


def light_press(window: MainWindow, desk: FakeDesk) -> None:
    scenes.left_shoulder(desk)
    settle(window)
    scenes.show_rims(window)


def rim(window: MainWindow, desk: FakeDesk) -> None:
    scenes.left_shoulder(desk)
    scenes.rolling(desk)


def sweep(window: MainWindow, desk: FakeDesk) -> None:
    scenes.left_shoulder(desk)
    scenes.sweeping(desk)
    settle(window)
    scenes.show_rims(window)


def ask(window: MainWindow, desk: FakeDesk) -> None:
    scenes.left_shoulder(desk)
    desk._go_to(desk.index_of("charge"))
    settle(window)
    window.checklist.card.meters["V"].setText("4.98")


def again(window: MainWindow, desk: FakeDesk) -> None:
    scenes.left_shoulder(desk)
    desk._go_to(desk.index_of("travel", "right_stick"))
    desk.again_please("Again, please: the stick was pushed slowly to the left; push it fast.")


def away(window: MainWindow, desk: FakeDesk) -> None:
    scenes.left_shoulder(desk)
    desk.update(device="lost", running=False, message="The unit was unplugged. Plug it in again: this check goes on.")
    desk.status = SourceStatus("lost", 0, "process", 60.0)


def finished(window: MainWindow, desk: FakeDesk) -> None:
    scenes.left_shoulder(desk)
    desk._finish()


def empty(window: MainWindow, desk: FakeDesk) -> None:
    pass


def new_device(window: MainWindow, desk: FakeDesk) -> None:
    scenes.workshop(desk)
    desk.plug_in()


def known_device(window: MainWindow, desk: FakeDesk) -> None:
    scenes.workshop(desk)
    desk.plug_in(unit=desk.unit_rows[3])


def treatment(window: MainWindow, desk: FakeDesk) -> None:
    light_press(window, desk)
    window.act("record.treatment")


def edit(window: MainWindow, desk: FakeDesk) -> None:
    light_press(window, desk)
    window.act("record.edit")


def mark(window: MainWindow, desk: FakeDesk) -> None:
    light_press(window, desk)
    window.act("visit.mark")


def keys(window: MainWindow, desk: FakeDesk) -> None:
    light_press(window, desk)
    window.act("window.keys")


def lots(window: MainWindow, desk: FakeDesk) -> None:
    scenes.lot_picture(desk)
    window.act("view.lots")
    window.lots.show_page()


def donor(window: MainWindow, desk: FakeDesk) -> None:
    lots(window, desk)
    window.lots.page.donors.setFocus()
    window.act("lots.give_up")


def new_lot(window: MainWindow, desk: FakeDesk) -> None:
    lots(window, desk)
    window.act("lots.new_lot")


def shelf(window: MainWindow, desk: FakeDesk) -> None:
    light_press(window, desk)
    window.act("view.shelf")


def due(window: MainWindow, desk: FakeDesk) -> None:
    light_press(window, desk)
    window.act("view.due")


def teach(window: MainWindow, desk: FakeDesk) -> None:
    desk.the_sheet = plover(drawn_up=True)
    desk.the_lesson = scenes.walking(scenes.SCRIPT[3], left_s=3.4, reports=900, moved=True)


def taught(window: MainWindow, desk: FakeDesk) -> None:
    desk.the_sheet = plover(drawn_up=True)
    desk.the_lesson = scenes.ANSWERING


SCENES: dict[str, Scene] = {
    f.__name__: f
    for f in (
        *(light_press, rim, sweep, ask, again, away, finished, empty, new_device, known_device),
        *(treatment, edit, mark, keys, lots, donor, new_lot, shelf, due, teach, taught),
    )
}


def settle(window: MainWindow) -> None:
    """Let layouts and one tick happen."""
    app = make_app()
    for _ in range(3):
        app.processEvents()
    window._last_tick = None
    window._late.clear()
    window._ticks = 0
    window.tick()
    app.processEvents()


APPROVED = HERE / "approved"
COMPARED = ("light_press", "sweep", "ask", "new_device", "treatment", "lots", "teach", "taught")


def picture(name: str, theme: str, wide: int = 1280, tall: int = 720, scale: float = 1.0) -> QImage:
    """A scene as it is drawn."""
    desk = FakeDesk()
    desk.kept["scale"] = str(scale)
    window = MainWindow(desk, theme, Sound({}))
    window._timer.stop()
    window.resize(wide, tall)
    window.show()
    SCENES[name](window, desk)
    settle(window)
    desk.advance(100)
    desk.reports = 100
    settle(window)
    image = window.grab().toImage()
    window.close()
    window.deleteLater()  # in Qt's order; the cycle collector would free its parts in any order
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    return image


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
