"""How long measuring a whole unit takes: 20 controls, 59 checks, some five minutes at 1 kHz.

    python tests/bench/assess.py [--rounds 5]

Compute is the time from the reports in memory to every outcome (decoding included); the command is timed as a whole
process too, file and start included. Exit status 1 where a bar is missed. The last line is one JSON object.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from station.capture.file import read_capture, save_capture
from station.evidence.assess import assess_capture
from station.evidence.fitting import layout_of
from station.sheets.bind import bind
from station.sheets.write import save_sheet
from tests.checks.made_captures import SHEET, whole_unit

ROOT = Path(__file__).resolve().parents[2]
BAR_COMPUTE_S = 0.3
BAR_AFTER_START_S = 1.0


def best_s(work: Callable[[], object], rounds: int) -> float:
    """The shortest of some runs, in seconds: what the machine can do when nobody else wants it."""
    times = []
    for _ in range(rounds):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def command(*arguments: str) -> None:
    """Run `restpoint` as a process of its own."""
    subprocess.run([sys.executable, "-m", "station.app.main", *arguments], cwd=ROOT, check=True, capture_output=True)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    capture = whole_unit().capture()
    layout = layout_of(capture)
    done = assess_capture(capture, SHEET, layout)
    decode_s = best_s(lambda: bind(SHEET, layout).signals(capture.block), rounds)
    compute_s = best_s(lambda: assess_capture(capture, SHEET, layout), rounds)
    with tempfile.TemporaryDirectory() as folder:
        path, sheet = Path(folder) / "unit.npz", Path(folder) / "sheet.toml"
        save_capture(path, capture)
        save_sheet(sheet, SHEET)
        read_s = best_s(lambda: read_capture(path), rounds)
        start_s = best_s(lambda: command("--version"), rounds)
        command_s = best_s(lambda: command("assess", "--json", "--sheet", str(sheet), str(path)), rounds)
    minutes = (int(capture.block.t_ns[-1]) - int(capture.block.t_ns[0])) / 60e9
    found = {
        "bench": "assess",
        "reports": len(capture.block),
        "minutes": round(minutes, 2),
        "controls": len(SHEET.controls),
        "checks": len(done.checks),
        "outcome": done.outcome.value,
        "decode_s": round(decode_s, 4),
        "compute_s": round(compute_s, 4),
        "read_s": round(read_s, 4),
        "start_s": round(start_s, 3),
        "command_after_start_s": round(command_s - start_s, 3),
    }
    print(f"{found['reports']} reports, {minutes:.1f} min, {found['controls']} controls, {found['checks']} checks")
    print(
        f"compute {compute_s * 1000:.0f} ms (bar {BAR_COMPUTE_S * 1000:.0f}), of which decoding {decode_s * 1000:.0f}"
    )
    print(f"reading the file {read_s * 1000:.0f} ms; whole command {command_s:.2f} s, start alone {start_s:.2f} s")
    print(json.dumps(found))
    return int(compute_s > BAR_COMPUTE_S or command_s - start_s > BAR_AFTER_START_S)


if __name__ == "__main__":
    sys.exit(main())
