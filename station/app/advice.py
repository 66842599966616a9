"""What the diagnosis says of a unit, worked out beside the window and kept until the record changes."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass

from station.app.shelf_of_sheets import SheetShelf
from station.diagnosis.evidence import evidence_of
from station.diagnosis.guide import Guide, guide_for
from station.diagnosis.learn import trials_from
from station.diagnosis.suspects import suspects
from station.diagnosis.treatments import propose
from station.errors import StationError
from station.records.store import Store
from station.records.types import UnitHistory
from station.sheets.model import Sheet
from station.ui.ports import ProposalView, SuspectView

MOST_SUSPECTS = 8
LEAST_WEIGHT = 0.02
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Advice:
    """Suspects, likeliest first, and the next treatment (None when nothing was found)."""

    suspects: tuple[SuspectView, ...] = ()
    proposal: ProposalView | None = None


class Adviser:
    """`advice` never computes: it gives what is known and asks `later` to work out what is not.

    `forget` is called with a unit whenever its record changed; `later` runs a job elsewhere and then says that the
    record changed, so that the window draws again.
    """

    def __init__(self, store: Store, sheets: SheetShelf, later: Callable[[str, Callable[[], None]], None]) -> None:
        self._store = store
        self._sheets = sheets
        self._later = later
        self._known: dict[str, Advice] = {}
        self._asked: set[str] = set()
        self._guide: Guide | None = None

    def advice(self, unit_id: str) -> Advice:
        """What is known now; empty while it is being worked out."""
        found = self._known.get(unit_id)
        if found is None and unit_id not in self._asked:
            self._asked.add(unit_id)
            self._later(unit_id, lambda: self._work_out(unit_id))
        return found or Advice()

    def forget(self, unit_id: str) -> None:
        """The record of this unit changed."""
        self._known.pop(unit_id, None)
        self._asked.discard(unit_id)

    def guide(self) -> Guide:
        """The shop's own fault guide, else the one that ships."""
        self._guide = self._guide or guide_for(self._store.folder)
        return self._guide

    def _work_out(self, unit_id: str) -> None:
        try:
            self._known[unit_id] = self.advise(unit_id)
        except StationError:
            self._known[unit_id] = Advice()
            raise

    def advise(self, unit_id: str) -> Advice:
        """Work it out now."""
        guide = self.guide()
        history = self._store.history(unit_id)
        sheet = self._sheet_of(history)
        evidence = evidence_of(history)
        if not evidence.seen:
            return Advice()
        named = [s for s in suspects(evidence, sheet, guide) if s.weight >= LEAST_WEIGHT]
        trials = trials_from(self._store.treated(history.unit.model), guide, self._sheet_of)
        found = propose(history, sheet, guide, trials=trials, shelf=self._store.shelf())
        proposal = None
        if found is not None:
            proposal = ProposalView(
                found.title, found.reason, found.then, found.caution, found.kind, found.part, found.minutes,
                found.cost_minor,
            )  # fmt: skip
        return Advice(tuple(SuspectView(s.name, s.weight) for s in named[:MOST_SUSPECTS]), proposal)

    def _sheet_of(self, history: UnitHistory) -> Sheet:
        unit = history.unit
        return self._sheets.named(unit.sheet) or Sheet(unit.sheet or unit.model)
