"""Frame time of the window at 1920×1080 while a unit reports at 1 kHz. Run: python tests/bench/frames.py [--seconds 20]

A frame is one tick (events, decoding, keeping) and all painting that it caused, by software raster. The unit is the
generator of the test scenes: two sticks, two triggers, a hat and ten buttons, all moving, 1,000 reports a second,
while a light press with beats runs (or a slow sweep, with the time plot: --scene sweep).
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import sys
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "ui")]

import numpy as np  # noqa: E402
import scenes  # noqa: E402
from fake_desk import FakeDesk  # noqa: E402

from station.bench.types import BeatView  # noqa: E402
from station.checks.types import Progress  # noqa: E402
from station.ui.sound import Sound  # noqa: E402
from station.ui.start import make_app  # noqa: E402
from station.ui.strips import ContactStrips  # noqa: E402
from station.ui.window import MainWindow  # noqa: E402

FRAME_S = 1 / 60
TARGET_MS = 16.0


def set_scene(desk: FakeDesk, scene: str) -> None:
    """Which check runs while we measure."""
    check, control = {"light": ("light", "left_shoulder"), "sweep": ("sweep", "left_stick")}[scene]
    scenes.left_shoulder(desk)
    desk._go_to(desk.index_of(check, control))
    desk._start(desk.index_of(check, control))
    desk.now_ns = 0
    desk.pending = {}


def feed(desk: FakeDesk, unit: object, now_ns: int, frame: int, scene: str) -> None:
    """What a visit brings in one frame: reports, and now and then a beat and a new picture of the visit."""
    signals = unit.signals(desk.now_ns, now_ns)  # type: ignore[attr-defined]
    desk.now_ns = now_ns
    if signals:
        desk.feed(**signals)
        desk.reports = len(signals["left_stick"].t_ns)
    if scene == "light" and frame % 30 == 0:
        state = "missed" if frame % 180 == 0 else "registered"
        beats = (*desk.the_session.beats, BeatView(now_ns, state))[-60:]  # type: ignore[union-attr]
        desk.update(beats=beats, progress=Progress(False, f"{len(beats)} beats", min(len(beats) / 60, 1)))
    elif frame % 6 == 0:
        desk.update(progress=Progress(False, f"{frame} frames", frame % 100 / 100))


def measure(seconds: float, scene: str) -> dict[str, object]:
    """Run for a while in real time; times in ms."""
    app = make_app([])
    desk, unit = FakeDesk(), scenes.generator_1khz()
    set_scene(desk, scene)
    window = MainWindow(desk, "dark", Sound({}))
    window.stop_clock()
    window.resize(1920, 1080)
    window.show()
    window.live.trace.load()
    painted = [0]
    paint = ContactStrips.paintEvent

    def counted(self: ContactStrips, event: object) -> None:
        painted[0] += 1
        paint(self, event)  # type: ignore[arg-type]

    ContactStrips.paintEvent = counted  # type: ignore[method-assign,assignment]
    for _ in range(10):
        window.tick()
        app.processEvents()
    frame_ms, cpu_ms, tick_ms, reports = [], [], [], 0
    gc.collect()
    gc.freeze()
    painted[0] = 0
    began = time.perf_counter()
    frame = 0
    while (now := time.perf_counter()) - began < seconds:
        feed(desk, unit, round((now - began) * 1e9), frame, scene)
        reports += desk.reports
        start, cpu = time.perf_counter(), time.thread_time()
        window.tick()
        ticked = time.perf_counter()
        app.processEvents()
        done = time.perf_counter()
        tick_ms.append((ticked - start) * 1e3)
        frame_ms.append((done - start) * 1e3)
        cpu_ms.append((time.thread_time() - cpu) * 1e3)
        frame += 1
        time.sleep(max(0.0, began + frame * FRAME_S - time.perf_counter()))
    elapsed = time.perf_counter() - began
    size = (window.width(), window.height())
    ContactStrips.paintEvent = paint  # type: ignore[method-assign]
    window.close()
    return summary(np.array(frame_ms), np.array(cpu_ms), np.array(tick_ms), elapsed, reports, painted[0], size)


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
    parser.add_argument("--scene", choices=["light", "sweep", "both"], default="both")
    asked = parser.parse_args()
    found: dict[str, object] = {"bench": "frames", "target_p99_ms": TARGET_MS}
    for scene in ("light", "sweep") if asked.scene == "both" else (asked.scene,):
        figures = measure(asked.seconds, scene)
        found[scene] = figures
        print(f"{scene}: " + ", ".join(f"{k} {v}" for k, v in figures.items()))
    worst = max(float(v["frame_ms_p99"]) for v in found.values() if isinstance(v, dict))
    found["frame_ms_p99"] = worst
    found["met"] = worst <= TARGET_MS
    print(json.dumps(found))


if __name__ == "__main__":
    main()
