"""Asks a unit for its cell now and then: feature reports with the usages of a cell, and what the system keeps of it.

Asked when the device is there and every half minute after that, never while a check runs: a device that answers a
request may send its reports late meanwhile. What fails is told with the link check, and not asked for ever.
"""

from __future__ import annotations

from collections.abc import Mapping

from station.errors import StationError
from station.hid.types import Layout
from station.sheets.power import Power, cell_reports, power_in, system_power
from station.sources.port import Request, Source
from station.words import bench as words

EVERY_NS = 30_000_000_000
MOST_FAILURES = 3
"""a device that refused so often will not answer the next time"""


class CellWatch:
    """What a unit said of its cell when it was asked. For the thread that ticks."""

    def __init__(self, source: Source, layout: Layout) -> None:
        self._source = source
        self._layout = layout
        self._reports = cell_reports(layout)
        self._open: dict[int | None, Request] = {}
        self._said: dict[int, bytes] = {}
        self._system: Mapping[str, str] = {}
        self._failures: dict[int, int] = {}
        self._problem = ""
        self._due_ns = 0

    def tick(self, now_ns: int, *, live: bool, calm: bool) -> None:
        """Take answers, and ask when it is time and no check runs (`calm`)."""
        if not live:
            self._forget()
            return
        for key in [key for key, request in self._open.items() if request.answer is not None]:
            self._hear(key, self._open.pop(key))
        if calm and not self._open and now_ns >= self._due_ns:
            self._due_ns = now_ns + EVERY_NS
            self._ask()

    def told(self) -> Power:
        """The newest answers; those of the device before those of the system."""
        power = power_in(self._layout, self._said).completed(system_power(self._system))
        if power.level_pct is None and not power.reason and self._reports and self._problem:
            return power.completed(Power(reason=words.CELL_NOT_SAID.format(problem=self._problem)))
        return power

    def _forget(self) -> None:
        """A device that is plugged in again is asked anew."""
        self._open, self._said, self._system, self._failures = {}, {}, {}, {}
        self._problem, self._due_ns = "", 0

    def _ask(self) -> None:
        try:
            for report_id in self._reports:
                if self._failures.get(report_id, 0) < MOST_FAILURES:
                    self._open[report_id] = self._source.ask_feature(report_id)
            self._open[None] = self._source.ask_system()
        except StationError as error:
            self._problem = str(error)

    def _hear(self, key: int | None, request: Request) -> None:
        """`key` is the report asked for, None for the system."""
        answer = request.answer
        if answer is None:
            return
        if key is None:
            self._system = answer.system
        elif answer.problem:
            self._failures[key] = self._failures.get(key, 0) + 1
            self._said.pop(key, None)  # what it said before is too old to be its word now
            self._problem = answer.problem
        else:
            self._said[key] = answer.report
