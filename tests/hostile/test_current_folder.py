"""Nothing that lies in the folder one happens to be in is run: neither by devices, nor by verify, nor by a bundle."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from station.sources import apart

ROOT = Path(__file__).resolve().parents[2]
TRACE = "import pathlib; pathlib.Path({trace!r}).write_text('run'); raise SystemExit(9)\n"
AS_INSTALLED = "import sys; from station.app.main import main; sys.exit(main())"
"""how the command `restpoint` starts: without the current folder"""


@pytest.fixture
def trap(tmp_path: Path) -> Path:
    """A folder full of modules that leave a trace when they are run."""
    folder = tmp_path / "downloads"
    (folder / "station" / "sources").mkdir(parents=True)
    program = TRACE.format(trace=str(tmp_path / "trace"))
    places = ("json.py", "contextlib.py", "runpy.py", "station/__init__.py", "station/sources/__init__.py",
              "station/sources/child.py", "station/sources/watch.py")  # fmt: skip
    for name in places:
        (folder / name).write_text(program)
    return folder


def restpoint(folder: Path, *arguments: str, python_path: str = str(ROOT)) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "RESTPOINT_DATA": str(folder.parent / "data"), "PYTHONPATH": python_path}
    env |= {"RESTPOINT_LANGUAGE": "en", "QT_QPA_PLATFORM": "offscreen"}
    command = [sys.executable, "-P", "-c", AS_INSTALLED, *arguments]
    return subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, timeout=120)


def test_devices_runs_nothing_of_the_current_folder(trap: Path):
    done = restpoint(trap, "devices")
    assert not (trap.parent / "trace").exists()
    assert "Traceback" not in done.stdout + done.stderr


def test_an_empty_place_in_the_search_path_is_not_the_current_folder(trap: Path):
    """PYTHONPATH="…:" names the current folder, whoever left the colon there."""
    env = {**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{os.pathsep}downloads"}
    tell = "import json; from station.sources import apart; print(json.dumps(apart.environment()['PYTHONPATH']))"
    done = subprocess.run([sys.executable, "-P", "-c", tell], env=env, capture_output=True, text=True, cwd=ROOT)
    assert done.stdout.strip() == f'"{ROOT}"', done.stderr


@pytest.mark.parametrize("module", apart.MODULES)
def test_a_process_apart_starts_in_any_folder(trap: Path, module: str):
    """Whether or not the package is installed: the child is told where it lies."""
    env = {k: v for k, v in apart.environment().items() if k != "PYTHONPATH"}
    command = apart.command(module, *(["station.sources.watch"] if module.endswith("child") else []))
    given = b'{"once": true, "also": [], "private": false, "others": false}\n'
    done = subprocess.run(command, input=given, cwd=trap, env=env, capture_output=True, timeout=60)
    assert not (trap.parent / "trace").exists()
    assert b"ModuleNotFoundError" not in done.stdout + done.stderr


def test_a_bundle_is_started_again_by_its_own_name_and_hands_on(trap: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(sys, "frozen", True, raising=False)
    monkeypatch.setattr(sys, "executable", "/opt/restpoint/restpoint")
    command = apart.command("station.sources.child", "station.sources.watch")
    assert command == ["/opt/restpoint/restpoint", apart.MARK, "station.sources.child", "station.sources.watch"]
    monkeypatch.undo()
    done = restpoint(trap, apart.MARK, "station.certificate.unpack")
    assert done.returncode != 0  # nothing was given to it that is a PDF
    assert "pypdf" in done.stderr


def test_a_bundle_hands_on_to_its_own_modules_alone(trap: Path):
    with pytest.raises(ValueError, match="not started so"):
        apart.run(["http.server"])
