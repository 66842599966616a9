"""What the reader asks of the system, as the kernel shows it in /proc (proc(5)); what is refused breaks nothing."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="told by /proc")
SHOW = """
import os, sys
from station.sources.favour import favour_this_process, hold_in_memory
if sys.argv[1] == "refused":
    def refuse(*_): raise PermissionError
    os.sched_setscheduler = os.nice = refuse
favour_this_process()
hold_in_memory()
status = dict(line.split(":", 1) for line in open("/proc/self/status"))
print(os.sched_getscheduler(0), status["VmLck"].split()[0], open("/proc/self/timerslack_ns").read().strip())
"""


def shown(how: str) -> list[int]:
    """Scheduling policy, kB held in memory, timer slack in ns of a process that asked for favours."""
    root = Path(__file__).resolve().parents[2]
    ran = subprocess.run([sys.executable, "-c", SHOW, how], cwd=root, capture_output=True, text=True, check=True)
    return [int(word) for word in ran.stdout.split()]


@pytest.mark.skipif(os.geteuid() != 0, reason="only root is given everything for certain")
def test_root_is_given_real_time_and_memory_that_stays() -> None:
    policy, locked_kb, slack_ns = shown("given")
    assert policy in (os.SCHED_FIFO, os.SCHED_OTHER)  # a container may refuse real time to root as well
    limit = resource.getrlimit(resource.RLIMIT_MEMLOCK)[0]
    assert locked_kb > 1000 or limit != resource.RLIM_INFINITY
    assert slack_ns == 1000 or policy == os.SCHED_FIFO  # the kernel shows 0 for real time


def test_what_is_refused_breaks_nothing() -> None:
    policy, _, slack_ns = shown("refused")
    assert (policy, slack_ns) == (os.SCHED_OTHER, 1000)
