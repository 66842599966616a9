"""The virtual machine as a test: with RESTPOINT_VM=1, root and apt (some minutes on a busy machine)."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

RUN = Path(__file__).with_name("vm.sh")


@pytest.mark.skipif(os.environ.get("RESTPOINT_VM") != "1", reason="takes minutes; set RESTPOINT_VM=1 to run it")
def test_devices_on_a_real_kernel_are_seen_read_lost_and_found_again() -> None:
    run = subprocess.run(
        ["bash", str(RUN)], env={**os.environ, "PYTHON": sys.executable}, capture_output=True, text=True, check=False
    )
    found = json.loads(run.stdout.splitlines()[-1])
    if "skipped" in found:
        pytest.skip(found["skipped"])
    assert found["faults"] == []
    assert run.returncode == 0
    assert {"tablet", "uhid", "told", "gadget", "events"} <= found.keys()
