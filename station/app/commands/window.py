"""`restpoint`: the window on the person's own records."""

from __future__ import annotations

import argparse
import sys

from station.app import paths
from station.app.desk import StationDesk
from station.app.display import need_display
from station.records.store import Store, open_store


def run(args: argparse.Namespace) -> int:
    """Open the window; returns when it is closed."""
    need_display()
    return show(open_store(paths.records_folder()), theme=args.theme, watch=True)


def show(store: Store, *, theme: str, watch: bool, sample: str = "") -> int:
    """Show the window on these records until it is closed; `sample`: a simulated unit to plug in at once."""
    from station.ui.start import make_app
    from station.ui.window import MainWindow

    app = make_app()
    desk = StationDesk(store, watch=watch)
    window = MainWindow(desk, theme=theme)
    window.show()
    if sample:
        desk.open_simulated(sample)
    try:
        return int(app.exec())
    finally:
        desk.close()
        sys.stdout.flush()
