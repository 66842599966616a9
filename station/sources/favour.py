"""Asks the system to run this process promptly. Nothing depends on being given it: the lateness is measured."""

from __future__ import annotations

import contextlib
import ctypes
import gc
import os
import signal
import sys

SWITCH_S = 0.0002
"""a thread of ours that computes hands over after this long"""
SLACK_NS = 1000
"""how late the kernel may wake a sleeper to save power"""
REAL_TIME = 10
HIGH_PRIORITY_CLASS = 0x80
MCL_CURRENT, MCL_ONFAULT = 1, 4


def favour_this_process() -> None:
    """Prompt scheduling for the calling thread and those it starts; no collector's pauses; no Ctrl-C."""
    gc.disable()
    sys.setswitchinterval(SWITCH_S)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the parent, which then ends us in order
    if sys.platform == "win32":
        kernel = ctypes.WinDLL("kernel32")
        kernel.SetPriorityClass(ctypes.c_void_p(-1), HIGH_PRIORITY_CLASS)  # -1: this process
    else:
        with contextlib.suppress(OSError), open("/proc/self/timerslack_ns", "w", encoding="ascii") as slack:
            slack.write(str(SLACK_NS))
        if not _in_real_time():
            with contextlib.suppress(OSError):
                os.nice(-10)


def hold_in_memory() -> None:
    """Keep what is loaded now from being taken out of memory, where the system allows: to read a page of the program
    back from the disk takes longer than the kernel's queue of reports lasts at 8 kHz. Call when everything is set up.

    mlockall(2) with MCL_CURRENT only: future allocations must not fail at the limit of locked memory.
    """
    if sys.platform == "linux":
        with contextlib.suppress(OSError, AttributeError):
            ctypes.CDLL(None).mlockall(MCL_CURRENT | MCL_ONFAULT)


def _in_real_time() -> bool:
    if sys.platform == "linux":
        try:
            os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(REAL_TIME))
        except OSError:
            return False
        return True
    else:  # noqa: RET505 - the type checker follows the branches of one `if` only
        return False
