"""The reports of a unit that is left alone, thinned out as they come: a night of them must not fill memory or disk.

What is kept is an ordinary recording with fewer reports, so whatever reads recordings reads it:
- the last report of each second (of each report id), so that every control's value is known once a second;
- of each minute the reports in which a stick or trigger stood farthest to either side;
- around a movement of any control all reports of its second and the one before, up to `MOST_SECONDS` such seconds;
- after that only the reports in which a movement began or ended, up to `MOST_EDGES` a minute.

So a minute holds at most 60 reports for each id, two for each axis and `MOST_EDGES`. A night of twelve hours of a sound
pad with six axes is some 52,000 reports, of one that moves all the time 225,000, beside `MOST_SECONDS` whole seconds.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from station.bench.stretch import Held, join_blocks
from station.checks.moving import Movements
from station.hid.types import ReportBlock
from station.sheets.bind import Binding
from station.sheets.power import Power, power_of
from station.sheets.signals import F64, I64, Signal, StickSignal, TriggerSignal

SECOND_NS = 1_000_000_000
MINUTE_NS = 60 * SECOND_NS
MOST_SECONDS = 60
"""whole seconds kept around movements"""
MOST_EDGES = 240
"""reports a minute in which movements begin or end, once the whole seconds are used up: four for each movement"""

_Rows = NDArray[np.int64]


class Thinning:
    """One unit's reports, second by second. For one thread."""

    def __init__(self, binding: Binding) -> None:
        self._binding = binding
        self._movements = Movements()
        self._before: ReportBlock | None = None
        self._seconds_left = MOST_SECONDS
        self._minute: list[ReportBlock] = []
        self._edges = 0
        self.power = Power()
        """what the unit said of its cell in its reports, newest"""
        self._extremes: dict[tuple[str, str], tuple[float, ReportBlock]] = {}
        """(axis of a control, side) → how far, and the report"""

    @property
    def movements(self) -> int:
        """How many movements began so far."""
        return self._movements.count

    def lose(self) -> None:
        """Nobody knows what the controls do from here on."""
        self._movements.lose()
        self._before = None

    def hold(self, block: ReportBlock) -> None:
        """What the controls hold when it begins."""
        if len(block):
            at_ns = int(block.t_ns[-1])
            self._movements.follow(self._binding.signals(block), at_ns, at_ns)

    def second(self, block: ReportBlock, begin_ns: int, end_ns: int) -> None:
        """The reports of a second or so."""
        signals = self._binding.signals(block)
        before = self._movements.count
        over = len(self._movements.moved)
        self._movements.follow(signals, begin_ns, end_ns)
        if not len(block):
            return
        self.power = power_of(self._binding.sheet, signals).completed(self.power)
        newest = Held(self._binding)
        newest.update(block)
        self._minute.append(newest.block())
        self._note_extremes(signals, block)
        if self._movements.count > before or len(self._movements.moved) > over:
            self._keep_around(block, over)
        self._before = block

    def minute(self) -> ReportBlock:
        """What is kept of the time since the last call, in order, each report once."""
        kept = join_blocks([*self._minute, *(row for _, row in self._extremes.values())])
        self._minute, self._extremes, self._edges = [], {}, 0
        self._before = None  # what is handed out is over: nothing of it may come later
        return _rows(kept, _each_once(kept))

    def _note_extremes(self, signals: Mapping[str, Signal], block: ReportBlock) -> None:
        for name, t_ns, values in _axes(signals):
            for side, sign in (("low", -1.0), ("high", 1.0)):
                at = int(np.argmax(sign * values))
                far = sign * float(values[at])
                if (name, side) not in self._extremes or far > self._extremes[name, side][0]:
                    self._extremes[name, side] = far, _rows(block, _of_time(block, t_ns[at : at + 1]))

    def _keep_around(self, block: ReportBlock, over: int) -> None:
        if self._seconds_left > 0:
            whole = [b for b in (self._before, block) if b is not None]
            self._minute += whole
            self._seconds_left -= len(whole)
            return
        times = [m.end_ns for m in self._movements.moved[over:]]
        times += [m.begin_ns for m in (*self._movements.moved[over:], *self._movements.going(int(block.t_ns[-1])))]
        rows = _of_time(block, np.unique(np.array(times, np.int64)))
        rows = np.unique(np.maximum(np.concatenate((rows - 1, rows)), 0))[: max(0, MOST_EDGES - self._edges)]
        self._edges += len(rows)
        self._minute.append(_rows(block, rows))


def _axes(signals: Mapping[str, Signal]) -> Iterator[tuple[str, I64, F64]]:
    for name, signal in signals.items():
        if isinstance(signal, StickSignal):
            yield f"{name} x", signal.t_ns, signal.x_pct
            yield f"{name} y", signal.t_ns, signal.y_pct
        elif isinstance(signal, TriggerSignal):
            yield name, signal.t_ns, signal.pct


def _of_time(block: ReportBlock, t_ns: I64) -> _Rows:
    """Numbers of the reports that arrived at those moments (of several at one moment all)."""
    return np.flatnonzero(np.isin(block.t_ns, t_ns))


def _rows(block: ReportBlock, rows: _Rows) -> ReportBlock:
    return ReportBlock(block.seq0, block.t_ns[rows], block.size[rows], block.raw[rows], block.lost)


def _each_once(block: ReportBlock) -> _Rows:
    """In order of time, those of the same moment and content once."""
    order = np.argsort(block.t_ns, kind="stable")
    t_ns, raw = block.t_ns[order], block.raw[order]
    again = np.concatenate(([False], (t_ns[1:] == t_ns[:-1]) & (raw[1:] == raw[:-1]).all(axis=1)))
    return np.asarray(order[~again[: len(order)]])
