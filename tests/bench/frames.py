"""Frame time of the window at 1920×1080 while a unit reports at 1 kHz. Run: python tests/bench/frames.py [--seconds 20]

A frame is one tick (events, decoding, keeping) and all painting that it caused, by software raster. Scenes:
light    the generator of the test scenes (two sticks, two triggers, a hat, ten buttons, all moving, 1,000 reports
         a second) while a light press with beats runs
sweep    the same with a slow sweep and its time plot
visit    the whole program: the real desk, a visit in its own thread, the simulated unit SM-07-01 at 1 kHz and its
         hand, all in this one process (a real device has a reader process of its own)
idle     the whole program while nobody does anything: how much of one processor it takes, without a device and with the
         simulated unit plugged in, its reports read and drawn (the window keeps its own clock)
Beside the wall time of a frame stands the time that its thread had the processor: on a machine that is busy with other
work the two differ.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "ui")]

import numpy as np  # noqa: E402
import scenes  # noqa: E402
from PySide6.QtCore import QEvent, QEventLoop, QObject, QTimer  # noqa: E402
from PySide6.QtWidgets import QWidget  # noqa: E402
from workbench import Workbench  # noqa: E402

from station.app import paths  # noqa: E402
from station.app.desk import StationDesk  # noqa: E402
from station.app.samples import demo_unit  # noqa: E402
from station.bench.types import BeatView, Go  # noqa: E402
from station.checks.types import Progress  # noqa: E402
from station.records.types import Unit  # noqa: E402
from station.ui.ports import Desk, LiveView  # noqa: E402
from station.ui.sound import Sound  # noqa: E402
from station.ui.start import make_app  # noqa: E402
from station.ui.window import MainWindow  # noqa: E402
from tests.records.records_kit import open_store  # noqa: E402

FRAME_S = 1 / 60
TARGET_MS = 16.0
SWEEP_P50_MS, VISIT_MAX_MS = 6.0, 33.0
"""half of all frames of a slow sweep; every frame of a visit"""


class Feed:
    """The real desk and window in a scene, whose reports and picture of the visit are made here: the same load for the
    painting on every machine. Its records are in a folder of their own until `close`."""

    def __init__(self, scene: str) -> None:
        self._folder = tempfile.TemporaryDirectory()
        os.environ["RESTPOINT_DATA"] = self._folder.name
        make_app([])
        self._scene, self._unit = scene, scenes.generator_1khz()
        self.desk = Workbench()
        scenes.third_visit(self.desk)
        check, control = {"light": ("light", "left_shoulder"), "sweep": ("sweep", "left_stick")}[scene]
        self.desk.run(check, control)
        self.desk.idle()
        self._view = replace(self.desk.session(), beats=())
        self._live = LiveView(0)
        self.desk.desk.visit.session = lambda: self._view  # type: ignore[method-assign]
        self.desk.desk.live.now = lambda: self._live  # type: ignore[method-assign]
        self.window = shown(self.desk.desk)

    def bring(self, now_ns: int, frame: int) -> int:
        """What a visit brings in one frame: reports, and now and then a beat and a new picture; how many reports."""
        signals = self._unit.signals(self._live.now_ns, now_ns)
        count = len(signals["left_stick"].t_ns) if signals else 0
        self._live = LiveView(now_ns, signals, count)
        if self._scene == "light" and frame % 30 == 0:
            state = "missed" if frame % 180 == 0 else "registered"
            beats = (*self._view.beats, BeatView(now_ns, state))[-60:]
            progress = Progress(False, f"{len(beats)} beats", min(len(beats) / 60, 1))
            self._view = replace(self._view, beats=beats, progress=progress)
        elif frame % 6 == 0:
            self._view = replace(self._view, progress=Progress(False, f"{frame} frames", frame % 100 / 100))
        return count

    def close(self) -> None:
        self.window.close()
        self._folder.cleanup()


def measure(seconds: float, scene: str) -> dict[str, object]:
    """Run for a while in real time; times in ms."""
    feed = Feed(scene)
    began = time.perf_counter()
    found = run(feed.window, seconds, lambda frame: feed.bring(round((time.perf_counter() - began) * 1e9), frame))
    feed.close()
    return found


def measure_visit(seconds: float) -> dict[str, object]:
    """The whole program on a sample unit."""
    with tempfile.TemporaryDirectory() as folder:
        desk, unit = program(Path(folder))
        window = shown(desk)
        desk.devices.plug_in_sample(unit.tag)
        desk.settle()
        desk.visit.start(unit.id, desk.devices.devices()[0], "intake")
        desk.settle()
        now, counted = desk.live.now, [0]

        def counting() -> LiveView:
            view = now()
            counted[0] += view.reports
            return view

        desk.live.now = counting  # type: ignore[method-assign]

        def before(frame: int) -> int:
            view = desk.visit.session()
            if frame % 30 == 0 and view is not None and not view.running:
                desk.visit.do(Go())
            before_now, counted[0] = counted[0], 0
            return before_now

        return run(window, seconds, before)


def measure_idle(seconds: float) -> dict[str, object]:
    """Per cent of one processor, with nothing plugged in and with a unit that reports and that nobody tests."""
    with tempfile.TemporaryDirectory() as folder:
        desk, unit = program(Path(folder))
        window = MainWindow(desk, "dark", Sound({}))
        window.resize(1920, 1080)
        window.show()
        empty = load_pct(seconds)
        desk.devices.plug_in_sample(unit.tag)
        desk.settle()
        plugged = load_pct(seconds)
        window.close()
        return {"empty_cpu_pct": round(empty, 2), "plugged_cpu_pct": round(plugged, 2)}


def load_pct(seconds: float) -> float:
    """Processor time of the whole process while the window's events run, in per cent of the time that went by."""
    for wait_s in (1.0, seconds):  # the first second is the window's own beginning
        began, used = time.perf_counter(), time.process_time()
        events = QEventLoop()  # not the application's own: what ends that closes the window
        QTimer.singleShot(round(wait_s * 1000), events.quit)
        events.exec()
    return 100.0 * (time.process_time() - used) / (time.perf_counter() - began)


def program(folder: Path) -> tuple[StationDesk, Unit]:
    """The whole program on an empty folder, and a sample unit in its records."""
    os.environ["RESTPOINT_DATA"] = str(folder)
    make_app([])
    store = open_store(paths.records_folder())
    return StationDesk(store, watch=False), store.add_unit(demo_unit("SM-07-01"))


def shown(desk: Desk) -> MainWindow:
    """The window, full HD, drawing only when we ask."""
    window = MainWindow(desk, "dark", Sound({}))
    window.stop_clock()
    window.resize(1920, 1080)
    window.show()
    return window


class Drawn(QObject):
    """Tells whether anything of the Live pane was painted since it was asked last."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._drawn = False
        for part in (*window.live.findChildren(QWidget), window.live):
            part.installEventFilter(self)

    def any(self) -> bool:
        drawn, self._drawn = self._drawn, False
        return drawn

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        self._drawn = self._drawn or event.type() == QEvent.Type.Paint
        return False


def run(window: MainWindow, seconds: float, before: Callable[[int], int]) -> dict[str, object]:
    """Frames at 60 a second; `before` does what comes ahead of each and returns the reports it brought."""
    app = make_app()
    for _ in range(10):
        window.tick()
        app.processEvents()
    drawn = Drawn(window)
    frame_ms, cpu_ms, tick_ms, reports = [], [], [], 0
    gc.collect()
    gc.freeze()
    painted = 0
    began = time.perf_counter()
    frame = 0
    while time.perf_counter() - began < seconds:
        reports += before(frame)
        start, cpu = time.perf_counter(), time.thread_time()
        window.tick()
        ticked = time.perf_counter()
        app.processEvents()
        done = time.perf_counter()
        painted += drawn.any()
        tick_ms.append((ticked - start) * 1e3)
        frame_ms.append((done - start) * 1e3)
        cpu_ms.append((time.thread_time() - cpu) * 1e3)
        frame += 1
        time.sleep(max(0.0, began + frame * FRAME_S - time.perf_counter()))
    elapsed = time.perf_counter() - began
    size = (window.width(), window.height())
    window.close()
    return summary(np.array(frame_ms), np.array(cpu_ms), np.array(tick_ms), elapsed, reports, painted, size)


def summary(
    frame_ms: np.ndarray,
    cpu_ms: np.ndarray,
    tick_ms: np.ndarray,
    elapsed: float,
    reports: int,
    painted: int,
    size: tuple[int, int],
) -> dict[str, object]:
    return {
        "size": f"{size[0]}x{size[1]}",
        "frames": len(frame_ms),
        "painted": painted,
        "reports_per_s": round(reports / elapsed),
        "frame_ms_median": round(float(np.median(frame_ms)), 2),
        "frame_ms_p99": round(float(np.percentile(frame_ms, 99)), 2),
        "frame_ms_max": round(float(frame_ms.max()), 2),
        "frame_cpu_ms_p99": round(float(np.percentile(cpu_ms, 99)), 2),
        "tick_ms_p99": round(float(np.percentile(tick_ms, 99)), 2),
        "over_16_ms": int((frame_ms > TARGET_MS).sum()),
        "fps": round(len(frame_ms) / elapsed, 1),
    }


def main() -> None:
    """Measure the scenes asked for; human lines, then one JSON line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--scene", choices=["light", "sweep", "visit", "idle", "all"], default="all")
    asked = parser.parse_args()
    found: dict[str, object] = {
        "bench": "frames",
        "target_p99_ms": TARGET_MS,
        "target_sweep_p50_ms": SWEEP_P50_MS,
        "target_visit_max_ms": VISIT_MAX_MS,
    }
    whole = {"visit": measure_visit, "idle": measure_idle}
    for scene in ("light", "sweep", "visit", "idle") if asked.scene == "all" else (asked.scene,):
        figures = whole[scene](asked.seconds) if scene in whole else measure(asked.seconds, scene)
        found[scene] = figures
        print(f"{scene}: " + ", ".join(f"{k} {v}" for k, v in figures.items()))
    drawn = [v for v in found.values() if isinstance(v, dict) and "frames" in v]
    worst = max((float(v["frame_ms_p99"]) for v in drawn), default=0.0)
    found["frame_ms_p99"] = worst
    found["load_1_min"] = round(os.getloadavg()[0], 1) if hasattr(os, "getloadavg") else None
    found["met"] = worst <= TARGET_MS and all(
        float(figures[name]) <= target  # type: ignore[arg-type]
        for scene, name, target in (
            ("sweep", "frame_ms_median", SWEEP_P50_MS),
            ("visit", "frame_ms_max", VISIT_MAX_MS),
        )
        if isinstance(figures := found.get(scene), dict)
    )
    print(json.dumps(found))


if __name__ == "__main__":
    main()
