"""Starting a process of our own that runs nothing of the folder one happens to be in, which may be full of downloads.

Python alone would put that folder first (`-m`, or an empty place in PYTHONPATH), so a `json.py` that lies there would
be run. A bundle that carries its own Python has no `-m`: it is started again with MARK, and `station.app.main` hands
that on.
"""

from __future__ import annotations

import os
import runpy
import sys
from collections.abc import Sequence
from pathlib import Path

import station

MARK = "--process-apart"
MODULES = ("station.sources.child", "station.certificate.unpack")
"""what may be started so"""
_START = (
    "import sys; root = sys.argv[1]; root in sys.path or sys.path.insert(0, root); "
    "from station.sources.apart import run; run(sys.argv[2:])"
)


def command(module: str, *arguments: str) -> list[str]:
    """What starts `module` of ours in a process apart."""
    if getattr(sys, "frozen", False):
        return [sys.executable, MARK, module, *arguments]
    root = str(Path(station.__file__).resolve().parent.parent)
    return [sys.executable, "-u", "-P", "-X", "faulthandler", "-c", _START, root, module, *arguments]


def environment() -> dict[str, str]:
    """Ours, but of PYTHONPATH only what is the same place wherever one is."""
    places = [place for place in os.environ.get("PYTHONPATH", "").split(os.pathsep) if os.path.isabs(place)]
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    return {**kept, "PYTHONPATH": os.pathsep.join(places)} if places else kept


def run(arguments: Sequence[str]) -> None:
    """In the process apart: be that module. ValueError for any other than MODULES."""
    module = arguments[0] if arguments else ""
    if module not in MODULES:
        raise ValueError(f"{module!r} is not started so")
    sys.argv = list(arguments)
    runpy.run_module(module, run_name="__main__", alter_sys=True)
