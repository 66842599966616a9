"""A press that did not come: which control a person means who says so while everything is pressed in any order."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from station.sheets.signals import I64, ButtonSignal, Signal

AT_IT_NS = 5_000_000_000
"""so long after a button came last the hand is still at it (common practice, no source)"""


def came_last(signals: Mapping[str, Signal], since_ns: int = 0) -> tuple[str, int] | None:
    """The button that closed last, after `since_ns`, and when; None where none did."""
    found = [(at, control) for control, signal in signals.items() if (at := _closed_last(signal)) is not None]
    at, control = max(found, default=(-1, ""))
    return (control, at) if control and at > since_ns else None


def came_first(signals: Mapping[str, Signal], since_ns: int) -> str:
    """The button that was the first to close after `since_ns`; "" while none did."""
    found = []
    for control, signal in signals.items():
        if isinstance(signal, ButtonSignal):
            begun = _closings(signal)
            found += [(int(begun[k]), control) for k in [int(np.searchsorted(begun, since_ns))] if k < len(begun)]
    return min(found, default=(0, ""))[1]


def _closed_last(signal: Signal) -> int | None:
    if not isinstance(signal, ButtonSignal):
        return None
    begun = _closings(signal)
    return int(begun[-1]) if len(begun) else None


def _closings(signal: ButtonSignal) -> I64:
    """When it closed, but for what was closed from before."""
    begins = np.flatnonzero(signal.closed[1:] & ~signal.closed[:-1]) + 1
    return signal.t_ns[begins]
