"""`restpoint`: the window on the person's own records."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from station.app import style
from station.app.desk import StationDesk
from station.app.display import need_display
from station.app.opening import open_records
from station.app.warm import AFTER_MS, load_beside
from station.records.store import Store
from station.words import figures

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

    from station.ui.window import MainWindow


def run(args: argparse.Namespace) -> int:
    """Open the window; returns when it is closed."""
    need_display()
    app, window = make_window(theme=args.theme, watch=True)
    _welcome_soon(window)
    return app.exec()


def _welcome_soon(window: MainWindow) -> None:
    """Once what it needs was loaded beside."""
    from PySide6.QtCore import QTimer

    QTimer.singleShot(2 * AFTER_MS, window, window.welcome)


def make_window(
    *, theme: str, watch: bool, store: Store | None = None, sample: str = ""
) -> tuple[QApplication, MainWindow]:
    """The application and its window, shown. `sample`: a simulated unit to plug in at once."""
    from PySide6.QtCore import QTimer

    from station.ui.start import make_app
    from station.ui.window import MainWindow

    app = make_app()
    figures.set_screen_style(style.of_window())
    desk = StationDesk(store or open_records(), watch=watch)
    window = MainWindow(desk, theme=theme)
    window.show()
    desk.upkeep.look_after()  # after the window: the back-up of the day must not keep its first picture waiting
    QTimer.singleShot(AFTER_MS, window, load_beside)
    if sample:
        desk.devices.plug_in_sample(sample)
    return app, window
