"""Does the window go on drawing while a walk is worked out? Run: python tests/bench/teach_frames.py [pad]

The real desk and window, without a display; a whole walk with a made-up pad is worked out in the desk's own thread.
Prints one JSON line: how long it took, and the time between frames before and during it.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["RESTPOINT_DATA"] = tempfile.mkdtemp(prefix="restpoint-bench-")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from PySide6.QtCore import QEventLoop

from station.app import paths
from station.app.desk import StationDesk
from station.bench.teaching import Teaching
from station.sheets.learn import walk
from station.ui.sound import Sound
from station.ui.start import make_app
from station.ui.window import MainWindow
from tests.app.taught_pad import PadSource
from tests.records.records_kit import open_store
from tests.sheets.learn_hand import walked
from tests.sheets.learn_pads import random_pad


def gaps_ms(window: MainWindow, goes_on: object) -> list[float]:
    """Time between frames while `goes_on()`."""
    app, stamps = make_app(), [time.perf_counter()]
    tick = window.tick

    def counted() -> None:
        tick()
        stamps.append(time.perf_counter())

    window._timer.timeout.disconnect()
    window._timer.timeout.connect(counted)
    while goes_on():  # type: ignore[operator]
        app.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 5)
    return (np.diff(stamps) * 1e3).tolist()


def main() -> None:
    """Idle for two seconds, then while a walk is worked out."""
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 9000
    pad = random_pad(seed, rate_hz=1000)
    source = PadSource(pad)
    desk = StationDesk(open_store(paths.records_folder()), watch=False, plug_in_sample=lambda _: source)
    make_app()
    window = MainWindow(desk, "dark", Sound({}))
    window.resize(1280, 720)
    window.show()
    desk.devices.plug_in_sample("")
    desk.settle()
    seen = walked(pad, walk(pad.controls))
    end = time.perf_counter() + 2.0
    idle = gaps_ms(window, lambda: time.perf_counter() < end)
    began = time.perf_counter()
    submit = desk._worker.submit
    desk._teacher._lesson = Teaching(source, walk(pad.controls), layout=None, later=submit, seen=seen)
    busy = gaps_ms(window, lambda: desk.teaching.lesson().state == "learning")
    took_s = time.perf_counter() - began
    figures = {
        name: {f"p{q}": round(float(np.percentile(gaps, q)), 1) for q in (50, 99, 100)}
        for name, gaps in (("idle ms", idle), ("learning ms", busy))
    }
    print(json.dumps({"reports": sum(len(o.block) for o in seen), "learned in s": round(took_s, 2), **figures}))
    window.close()


if __name__ == "__main__":
    main()
