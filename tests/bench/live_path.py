"""The live path: decoding small blocks with a sheet, and one tick of a visit while a stick is rolled at 1 kHz.

    python tests/bench/live_path.py

Prints human lines, then one JSON line.
"""

from __future__ import annotations

import json
import math
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from station import RESOURCES
from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Go, Step
from station.hid.types import Field, Layout, ReportBlock, ReportLayout
from station.records.types import Unit
from station.sheets.bind import bind
from station.sheets.load import load_sheet
from station.sources.port import Answer, DeviceInfo, Request, SourceStatus

WIDTH = 16


def layout() -> Layout:
    axes = [Field("input", 0, 0x10030 + n, 16 * n, 16, False, 0, 65535) for n in range(6)]
    hat = Field("input", 0, 0x10039, 96, 4, False, 0, 7, has_null=True)
    buttons = [Field("input", 0, 0x90001 + n, 100 + n, 1, False, 0, 1) for n in range(12)]
    return Layout((ReportLayout("input", 0, WIDTH, (*axes, hat, *buttons)),), (0x10005,), False)


def rolling(count: int) -> ReportBlock:
    """`count` reports 1 ms apart: the left stick goes round once in four seconds."""
    bearing = np.arange(count) * (2 * math.pi / 4000)
    raw = np.zeros((count, WIDTH), np.uint8)
    for column, value in ((0, np.sin(bearing)), (2, -np.cos(bearing))):
        codes = np.round(32767.5 + 32767.5 * value).astype("<u2")
        raw[:, column : column + 2] = codes.view(np.uint8).reshape(-1, 2)
    return ReportBlock(0, np.arange(count, dtype=np.int64) * 1_000_000, np.full(count, WIDTH, np.uint16), raw)


class Rolling:
    """A source that has `rolling` reports, its clock moved by hand."""

    def __init__(self, seconds: int) -> None:
        self.info = DeviceInfo("bench:", 0x1209, 1, "bench", "", "simulated", b"")
        self._block = rolling(seconds * 1000)
        self.time_ns = 0

    def now_ns(self) -> int:
        return self.time_ns

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        end = min(cursor + limit, int(np.searchsorted(self._block.t_ns, self.time_ns, side="right")))
        rows = slice(cursor, end)
        return ReportBlock(cursor, self._block.t_ns[rows], self._block.size[rows], self._block.raw[rows]), end

    def status(self) -> SourceStatus:
        return SourceStatus("live", 0, "simulated", 0.0)

    def send(self, report: bytes, *, feature: bool = False) -> None:
        pass

    def at_end(self, reports: Sequence[tuple[bytes, bool]]) -> None:
        pass

    def ask_feature(self, report_id: int) -> Request:
        return Request(Answer(problem="it is made up"))

    def ask_system(self) -> Request:
        return Request(Answer())

    def close(self) -> None:
        pass


def percentiles(ms: list[float]) -> tuple[float, float]:
    return float(np.median(ms)), float(np.percentile(ms, 99))


def decode_ms() -> tuple[float, float, int]:
    binding = bind(load_sheet(RESOURCES / "sheets" / "two_stick_pad.toml"), layout())
    block = rolling(16)
    took = []
    for _ in range(3000):
        begin = time.perf_counter()
        signals = binding.signals(block)
        took.append((time.perf_counter() - begin) * 1e3)
    return *percentiles(took), len(signals)


def tick_ms(seconds: int) -> tuple[float, float, float]:
    """Ticks every 5 ms while the let-go check listens to a stick that never does what is asked."""
    sheet = load_sheet(RESOURCES / "sheets" / "two_stick_pad.toml")
    source = Rolling(seconds)
    step = Step("letgo", "left_stick", "Let go", "Left stick", "left hand")
    session = Session(
        UnitOnBench(Unit("u", "T", "m"), source, bind(sheet, layout())),
        VisitPlan(steps=(step,)),
        BenchSetup(MemoryRecorder()),
    )
    session.do(Go())
    took = []
    while source.time_ns < seconds * 1_000_000_000:
        source.time_ns += 5_000_000
        begin = time.perf_counter()
        session.tick()
        took.append((time.perf_counter() - begin) * 1e3)
        if not session.view().running:
            break
    return *percentiles(took), max(took)


def main() -> None:
    median, p99, controls = decode_ms()
    print(f"decode 16 reports into {controls} controls: median {median:.3f} ms, p99 {p99:.3f} ms")
    tick, tick_p99, tick_max = tick_ms(60)
    print(f"tick during one minute at 1 kHz: median {tick:.3f} ms, p99 {tick_p99:.3f} ms, worst {tick_max:.2f} ms")
    print(
        json.dumps(
            {
                "decode_median_ms": round(median, 4),
                "decode_p99_ms": round(p99, 4),
                "controls": controls,
                "tick_median_ms": round(tick, 4),
                "tick_p99_ms": round(tick_p99, 4),
                "tick_max_ms": round(tick_max, 3),
            }
        )
    )


if __name__ == "__main__":
    main()
