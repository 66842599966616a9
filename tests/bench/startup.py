"""Cold start to a usable window, against the bare imports of PySide6, pyqtgraph and numpy, in the same run.

    python tests/bench/startup.py [--runs N]

Each run is a process of its own; the two kinds take turns. Usable: shown, painted once, a key press handled.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
IMPORTS = "import PySide6.QtWidgets, pyqtgraph, numpy"
WINDOW = """
import time
from station.app import crash, paths
crash.install(paths.log_folder())
from station.app.commands.window import make_window
app, window = make_window(theme="light", watch=True)
from PySide6.QtTest import QTest
from PySide6.QtCore import Qt
app.processEvents()
QTest.keyClick(window, Qt.Key.Key_F2)
app.processEvents()
assert window.view_name() == "lots", "the key was not handled"
import os
print("usable", flush=True)
os._exit(0)
"""


def seconds(code: str, data: str) -> float:
    """Wall time of a fresh process up to its end (the window's ends when it is usable)."""
    env = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "RESTPOINT_DATA": data, "PYTHONPATH": str(ROOT)}
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], env=env, check=True, capture_output=True, cwd=ROOT)
    return time.perf_counter() - began


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=7)
    runs = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as data:
        seconds(WINDOW, data)  # the first start makes the records and fills the caches of the disk
        pairs = [(seconds(WINDOW, data), seconds(IMPORTS, data)) for _ in range(runs)]
    window = statistics.median(w for w, _ in pairs)
    imports = statistics.median(i for _, i in pairs)
    print(f"window usable after {window:.2f} s, bare imports {imports:.2f} s, {runs} runs of each, medians")
    print(
        json.dumps(
            {
                "bench": "startup",
                "window_s": round(window, 3),
                "imports_s": round(imports, 3),
                "ratio": round(window / imports, 2),
                "target": 1.7,
            }
        )
    )


if __name__ == "__main__":
    main()
