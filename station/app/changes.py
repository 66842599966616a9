"""Changes of the records: carried out by the worker, and told to all that was worked out from them."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from station.app.advice import Adviser
from station.app.lots import LotAdviser
from station.app.work import Worker
from station.ui.ports import DeskEvent, RecordChanged


class Changes:
    """Whoever changes the records does it here. A `RecordChanged` event follows each commit."""

    def __init__(self, worker: Worker, adviser: Adviser, lots: LotAdviser) -> None:
        self._worker, self._adviser, self._lots = worker, adviser, lots

    def make(self, change: Callable[[], str], *, shelf: bool = False) -> int:
        """Let the worker make a change; `change` returns the id of the unit that it belongs to, "" for none.

        `shelf`: it changes what lies on the shelf, which bears on the advice for every unit. Returns the number that
        the answer carries.
        """

        def job() -> Iterable[DeskEvent]:
            unit_id = change()
            if shelf:
                self.all_changed()
            else:
                self.happened(unit_id)
            return (RecordChanged(unit_id),)

        return self._worker.submit(job)

    def happened(self, unit_id: str) -> None:
        """The record of this unit changed; "": that of no unit."""
        self._adviser.forget(unit_id)
        self._lots.changed()

    def all_changed(self) -> None:
        """What is known of any unit may be out of date."""
        self._adviser.forget_all()
        self._lots.changed()
