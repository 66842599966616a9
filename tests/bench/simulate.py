"""How much faster than real time a unit is simulated, and what one in real time costs beside a window.

    python tests/bench/simulate.py [--seconds 60]

Each report layout at 1 kHz with a hand at work. `times_real_time`: recording in large pieces; `live_core_share`: the
processor time of a source that is read two hundred times a second, per second of its own clock. Exit status 1 where
a bar is missed. The last line is one JSON object.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from station.sources.simulated import Item, PadDesign, SimulatedHand, SimulatedSource, UnitSpec, make_capture

BAR_TIMES = 50.0
BAR_SHARE = 0.15
READ_EVERY_S = 0.005
KITS = ("8bit", "16bit", "packed")


def times_real_time(design: PadDesign, seconds: float) -> float:
    """Seconds of recording for each second of processor time."""
    plan = [Item("rim", "left_stick", seconds=seconds / 2), Item("letgo", "right_stick", seconds=seconds / 2)]
    began = time.process_time()
    capture = make_capture(UnitSpec(design, 1), SimulatedHand(0.9, 1), plan)
    return float(capture.block.t_ns[-1]) / 1e9 / (time.process_time() - began)


def live_core_share(design: PadDesign, seconds: float) -> float:
    """Processor seconds for each second of a source that is read as a window reads it; its clock is moved here."""
    now = [0]
    source = SimulatedSource(UnitSpec(design, 1), SimulatedHand(0.9, 1), clock_ns=lambda: now[0])
    source.hand.ask("rim", "left_stick", None, "stick", 0, 0)
    cursor = 0
    began = time.process_time()
    for _ in range(round(seconds / READ_EVERY_S)):
        now[0] += round(READ_EVERY_S * 1e9)
        _, cursor = source.take(cursor)
        source.status()
    return (time.process_time() - began) / seconds


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=60.0)
    seconds = parser.parse_args().seconds
    times, shares = {}, {}
    for kit in KITS:
        design = PadDesign(kit, 1000)  # type: ignore[arg-type]
        times[kit], shares[kit] = times_real_time(design, seconds), live_core_share(design, seconds / 4)
        print(f"{kit}: {times[kit]:.0f} times real time; live {100 * shares[kit]:.1f} % of one core")
    good = min(times.values()) >= BAR_TIMES and max(shares.values()) <= BAR_SHARE
    line = {
        "bench": "simulate",
        "times_real_time": {kit: round(value, 1) for kit, value in times.items()},
        "live_core_share": {kit: round(value, 4) for kit, value in shares.items()},
        "bar_times": BAR_TIMES,
        "bar_share": BAR_SHARE,
        "ok": good,
    }
    print(json.dumps(line))
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
