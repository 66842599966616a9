"""How fast reports become columns, against a per-report decode with hid-tools of the same reports in the same run.

    python tests/bench/decode.py [--reports 300000] [--peer 3000]

Three report layouts as pads have them: bytes; 16 bits signed behind a report id; 10 and 12 bits packed. The slowest
counts. Values of both are compared first. Exit status 1 where a bar is missed. The last line is one JSON object.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from hidtools.hid import ReportDescriptor

from station.hid import Layout, ReportBlock, columns, parse_descriptor

BAR_FIELDS_PER_S = 5e6
BAR_RATIO = 100.0

_BUTTONS = "05 09 19 01 29 0C 15 00 25 01 75 01 95 0C 81 02"
_HAT = "05 01 09 39 25 07 35 00 46 3B 01 65 14 75 04 95 01 81 42 65 00 45 00"
LAYOUTS = {
    "8 bits": "05 01 09 05 A1 01"
    + _BUTTONS
    + _HAT
    + "09 30 09 31 09 32 09 35 09 33 09 34 15 00 26 FF 00 75 08 95 06 81 02 C0",
    "16 bits signed, report id": "05 01 09 05 A1 01 85 03"
    + _BUTTONS
    + _HAT
    + "09 30 09 31 09 33 09 34 16 00 80 26 FF 7F 75 10 95 04 81 02"
    + "09 32 09 35 15 00 26 FF 03 75 10 95 02 81 02 C0",
    "10 and 12 bits packed": "05 01 09 05 A1 01"
    + _BUTTONS
    + _HAT
    + "09 30 09 31 09 32 09 35 15 00 26 FF 0F 75 0C 95 04 81 02"
    + "09 33 09 34 26 FF 03 75 0A 95 02 81 02 75 04 95 01 81 03 C0",
}


def reports(layout: Layout, count: int) -> ReportBlock:
    """A block of `count` random reports, one a millisecond."""
    report = next(r for r in layout.reports if r.kind == "input")
    raw = np.random.default_rng(1).integers(0, 256, (count, report.width), np.uint8)
    if report.report_id:
        raw[:, 0] = report.report_id
    return ReportBlock(0, np.arange(count, dtype=np.int64) * 1_000_000, np.full(count, report.width, np.uint16), raw)


def best_s(work: Callable[[], object], rounds: int) -> float:
    """The shortest of some runs, in seconds: what the machine can do when nobody else wants it."""
    times = []
    for _ in range(rounds):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def peer_decode(descriptor: bytes, rows: list[list[int]]) -> list[list[int]]:
    """Every data field of every report, as hid-tools reads them."""
    read = ReportDescriptor.from_bytes(descriptor)
    report = next(iter(read.input_reports.values()))
    fields = [f for f in report.fields if not f.is_const]
    return [[value for f in fields for value in f.get_values(row)] for row in rows]


def measure(name: str, count: int, peer_count: int) -> tuple[float, float]:
    """Fields a second of ours, and the ratio to the peer's."""
    descriptor = bytes.fromhex(LAYOUTS[name])
    layout = parse_descriptor(descriptor)
    block, fields = reports(layout, count), layout.input_fields()
    rows = [row.tolist() for row in block.raw[:peer_count]]
    ours = np.array([c.value[:peer_count] for c in columns(fields, block)]).T.tolist()
    if ours != peer_decode(descriptor, rows):
        raise SystemExit(f"{name}: hid-tools reads other values")
    rate = count * len(fields) / best_s(lambda: columns(fields, block), 5)
    peer_rate = peer_count * len(fields) / best_s(lambda: peer_decode(descriptor, rows), 3)
    live = ReportBlock(0, block.t_ns[:16], block.size[:16], block.raw[:16])
    live_us = best_s(lambda: [columns(fields, live) for _ in range(100)], 5) * 1e4
    print(
        f"{name:26} {len(fields)} fields: {rate / 1e6:7.1f} M fields/s, hid-tools {peer_rate / 1e6:.3f} M, "
        f"{rate / peer_rate:6.0f} ×; live block of 16 reports {live_us:.0f} µs"
    )
    return rate, rate / peer_rate


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--reports", type=int, default=300_000)
    parser.add_argument("--peer", type=int, default=3_000)
    options = parser.parse_args()
    measured = [measure(name, options.reports, options.peer) for name in LAYOUTS]
    rate, ratio = min(rate for rate, _ in measured), min(ratio for _, ratio in measured)
    ok = rate >= BAR_FIELDS_PER_S and ratio >= BAR_RATIO
    result = {
        "bench": "decode",
        "reports": options.reports,
        "fields_per_s": round(rate),
        "fields_per_s_bar": BAR_FIELDS_PER_S,
        "ratio_to_hid_tools": round(ratio, 1),
        "ratio_bar": BAR_RATIO,
        "ok": ok,
    }
    print(json.dumps(result))
    return 0 if ok else 1


if __name__ == "__main__":
    raise SystemExit(main())
