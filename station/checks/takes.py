"""Cutting a take out of what the controls did: the same for a recording and for the live bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from station.checks.types import Take
from station.sheets.model import Control, Sheet
from station.sheets.signals import I64, ButtonSignal, HatSignal, MotionSignal, Signal, StickSignal, TouchSignal


def take_between(
    sheet: Sheet,
    signals: Mapping[str, Signal],
    begin_ns: int,
    end_ns: int,
    report_t_ns: I64,
    *,
    control: Control | None = None,
    beats_ns: tuple[int, ...] = (),
    taken_back: int = 0,
    witness: str | None = None,
    lost: int = 0,
    disconnects_ns: tuple[int, ...] = (),
    answer: str | None = None,
    meter: Mapping[str, float] | None = None,
) -> Take:
    """The take from `begin_ns` to `end_ns` (both included).

    Each signal starts with the value that it held at `begin_ns`, stamped `begin_ns`; one that reported only later
    starts with its first report, and one that did not report at all is absent. Values are views of the given
    arrays, so cutting costs two searches a control. `beats_ns` and `disconnects_ns` outside the stretch are left out.
    """
    cut = {name: _cut(signal, begin_ns, end_ns) for name, signal in signals.items()}
    low, high = np.searchsorted(report_t_ns, begin_ns), np.searchsorted(report_t_ns, end_ns, side="right")
    return Take(
        sheet=sheet,
        control=control,
        signals=MappingProxyType({name: signal for name, signal in cut.items() if len(signal.t_ns)}),
        begin_ns=begin_ns,
        end_ns=end_ns,
        report_t_ns=report_t_ns[low:high],
        beats_ns=tuple(b for b in beats_ns if begin_ns <= b <= end_ns),
        taken_back=taken_back,
        witness=witness,
        lost=lost,
        disconnects_ns=tuple(d for d in disconnects_ns if begin_ns <= d <= end_ns),
        answer=answer,
        meter=MappingProxyType(dict(meter or {})),
    )


def reported_in(signals: Mapping[str, Signal], begin_ns: int, end_ns: int) -> dict[str, Signal]:
    """What was reported in [begin, end), and nothing that held from before; controls without a report are absent."""
    found = {}
    for name, signal in signals.items():
        first, last = np.searchsorted(signal.t_ns, (begin_ns, end_ns)).tolist()
        if last > first:
            found[name] = _piece(signal, slice(first, last), signal.t_ns[first:last])
    return found


def where(signal: Signal, kept: NDArray[np.bool_]) -> Signal:
    """The signal at those of its reports only, bool[report]: what is left out is as if it had not been reported."""
    return _piece(signal, kept, signal.t_ns[kept])


def _cut(signal: Signal, begin_ns: int, end_ns: int) -> Signal:
    first = max(0, int(np.searchsorted(signal.t_ns, begin_ns, side="right")) - 1)
    last = int(np.searchsorted(signal.t_ns, end_ns, side="right"))
    piece = slice(first, last)
    t_ns = signal.t_ns[piece]
    if len(t_ns) and t_ns[0] < begin_ns:
        t_ns = t_ns.copy()  # only the times: the first value is the one held, and it counts from here on
        t_ns[0] = begin_ns
    return _piece(signal, piece, t_ns)


def _piece(signal: Signal, piece: slice | NDArray[np.bool_], t_ns: I64) -> Signal:
    if isinstance(signal, StickSignal):
        return replace(
            signal,
            t_ns=t_ns,
            x_pct=signal.x_pct[piece],
            y_pct=signal.y_pct[piece],
            x_code=signal.x_code[piece],
            y_code=signal.y_code[piece],
        )
    if isinstance(signal, ButtonSignal):
        return ButtonSignal(t_ns, signal.closed[piece])
    if isinstance(signal, HatSignal):
        return HatSignal(t_ns, signal.direction[piece])
    if isinstance(signal, MotionSignal):
        return replace(signal, t_ns=t_ns, accel=signal.accel[piece], gyro=signal.gyro[piece])
    if isinstance(signal, TouchSignal):
        return TouchSignal(t_ns, signal.touched[piece], signal.x_pct[piece], signal.y_pct[piece])
    return replace(signal, t_ns=t_ns, pct=signal.pct[piece], code=signal.code[piece])
