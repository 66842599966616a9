"""Records in memory, for tests and for a bench that is only being tried out."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from station.records.clock import system_clock, time_text, unix_ms
from station.records.ids import IdMaker
from station.records.types import Result, Treatment, Visit


class MemoryRecorder:
    """The Recorder port on two lists. `captures` maps SHA-256 → the capture file's bytes."""

    def __init__(self, clock: Callable[[], datetime] = system_clock) -> None:
        self._clock = clock
        self._ids = IdMaker()
        self.visits: dict[str, Visit] = {}
        self.results: list[Result] = []
        self.captures: dict[str, bytes] = {}

    def start_visit(self, unit_id: str, kind: str, person: str, bench: str, treatment_id: str | None) -> Visit:
        now = self._clock()
        number = 1 + sum(visit.unit_id == unit_id for visit in self.visits.values())
        visit = Visit(self._new_id(now), unit_id, kind, number, time_text(now), "", person, bench, treatment_id)
        self.visits[visit.id] = visit
        return visit

    def keep_capture(self, npz: bytes) -> str:
        sha256 = hashlib.sha256(npz).hexdigest()
        self.captures[sha256] = npz
        return sha256

    def add_result(self, result: Result) -> Result:
        now = self._clock()
        kept = replace(result, id=result.id or self._new_id(now), at=result.at or time_text(now))
        self.results.append(kept)
        return kept

    def finish_visit(self, visit_id: str) -> Visit:
        self.visits[visit_id] = replace(self.visits[visit_id], finished_at=time_text(self._clock()))
        return self.visits[visit_id]

    def treatments_of(self, unit_id: str) -> tuple[Treatment, ...]:
        return ()

    def results_of_visit(self, visit_id: str) -> tuple[Result, ...]:
        return tuple(result for result in self.results if result.visit_id == visit_id)

    def _new_id(self, now: datetime) -> str:
        return self._ids.new(unix_ms(now))
