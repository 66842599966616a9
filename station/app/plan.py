"""The plan for a lot, worked out on a thread of its own, so that neither the window nor the records wait for it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator

from station.app.work import Worker
from station.errors import StationError
from station.lots.ways import LotProblem
from station.ui.ports import DeskEvent, PlanMade


class Planner:
    """One plan at a time: what is asked anew stops what was asked before. `problem`: of the lot with this id, until it
    is stopped; it may take its time and raises InputError."""

    def __init__(
        self, problem: Callable[[str, Callable[[], bool]], LotProblem], tell: Callable[[DeskEvent], None]
    ) -> None:
        self._problem = problem
        self._worker = Worker(tell, "restpoint-plan")
        self._stopped = threading.Event()

    def plan(self, lot_id: str, hours: float | None) -> int:
        """Begin; returns the number that the answers carry."""
        self._stopped.set()
        self._stopped = stopped = threading.Event()
        return self._worker.submit(lambda: self._work_out(lot_id, hours, stopped))

    def stop(self) -> None:
        """End what is being worked out, within one slice of the solver's."""
        self._stopped.set()

    def settle(self) -> None:
        """Wait for what was asked (tests)."""
        self._worker.settle()

    def close(self) -> None:
        """Stop, and wait for the slice that is under way."""
        self.stop()
        self._worker.close()

    def _work_out(self, lot_id: str, hours: float | None, stopped: threading.Event) -> Iterator[DeskEvent]:
        from station.lots.agenda import stopped as ended  # with what it draws in, loaded when first used
        from station.lots.agenda import worked_out

        try:
            lot = self._problem(lot_id, stopped.is_set)
        except StationError as error:
            yield PlanMade(problem=str(error))
            return
        if stopped.is_set():
            return  # nobody waits for it any more
        told = None
        for better in worked_out(lot, hours):
            told = better
            if stopped.is_set():
                told = ended(told)
                break
            yield PlanMade(told, over=False)
        yield PlanMade(told)
