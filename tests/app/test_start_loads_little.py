"""What the window does not need for its first picture is loaded when it is needed. Nothing is timed here."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

LATER = {
    "scipy": "measures, learning and the simulation ask it for single functions",
    "scipy.optimize": "learning gives buttons their bits with it",
    "sqlite_utils": "makes and migrates the tables; records that are up to date are read without it",
    "pandas": "sqlite-utils looks for it",
    "cryptography": "a certificate is signed or checked",
    "segno": "a certificate is written",
    "pypdf": "a certificate is checked, in a process of its own",
    "miniaudio": "sound is opened after the first picture",
    "pyqtgraph": "a result is looked at",
    "station.sheets.learn.engine": "a device has been walked through",
    "station.bench.teaching": "a lesson begins",
    "station.sources.simulated": "a sample unit is plugged in",
    "station.certificate": "a certificate is written or checked",
    "station.evidence.assess": "a capture is read again",
    "station.app.samples": "a sample unit is plugged in",
}
"""module → when it is needed"""

START = """
import json, os, sys
from station.app.commands.window import make_window
app, window = make_window(theme="light", watch=True)
app.processEvents()
assert window.isVisible() and not window.grab().isNull()
print(json.dumps(sorted(sys.modules)), flush=True)
os._exit(0)
"""


def loaded(data: Path) -> set[str]:
    """The modules of a process of its own when the window stands."""
    env = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "RESTPOINT_DATA": str(data), "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", START], env=env, cwd=ROOT, capture_output=True, text=True, check=True, timeout=120
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


@pytest.fixture(scope="module")
def at_first_picture(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """Modules at the second start: at the first the records are made, which needs more."""
    data = tmp_path_factory.mktemp("data")
    loaded(data)
    return loaded(data)


@pytest.mark.parametrize("module", LATER)
def test_the_first_picture_is_drawn_without(module: str, at_first_picture: set[str]):
    if not module.startswith("station") and find_spec(module) is None:
        pytest.skip(f"{module} is not installed here")
    assert find_spec(module) is not None, "a name that does not exist proves nothing"
    assert module not in at_first_picture


def test_what_the_first_picture_needs_is_there(at_first_picture: set[str]):
    """The list above is read from the process that really made the window."""
    assert {"PySide6.QtWidgets", "numpy", "sqlite3", "station.ui.window", "station.records.store"} <= at_first_picture


def test_what_a_visit_needs_is_loaded_beside_the_window():
    said = (
        "import sys; from station.app.warm import SOON, load_beside; before = set(sys.modules); load_beside().join(); "
    )
    said += "print(not before & set(SOON), set(SOON) <= set(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", said], cwd=ROOT, capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.split() == ["True", "True"]
