"""The picture of a lot, worked out beside the window and beside the records' own work, and kept until they change."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from station.app.shelf_of_sheets import SheetShelf
from station.app.work import Worker
from station.checks.house import House
from station.diagnosis.guide import Guide
from station.diagnosis.learn import trials_from
from station.diagnosis.rates import Trial
from station.errors import InputError
from station.judgement.claimed import state_of
from station.judgement.limits import standard
from station.lots.outlook import UnitOutlook, outlook_of
from station.lots.plan import Candidate
from station.lots.sources import source_of
from station.lots.view import LotView, lot_view
from station.lots.ways import LotProblem, candidate_of, problem_of
from station.records.store import Store
from station.records.types import Lot, ShelfPart, UnitHistory
from station.sheets.model import Sheet
from station.ui.ports import DeskEvent, LotAnswer, LotChanged
from station.words import plan as words

MOST_LOTS = 20
"""of one source whose claims are counted, the newest: customary, no published source"""
BREATH_S = 0.004
"""pause after each unit, in which the window draws"""


@dataclass(frozen=True, slots=True)
class _Known:
    """A picture, and how often the records had changed when it was begun."""

    view: LotView
    change: int


class LotAdviser:
    """`answer` never computes: it gives what is known and, when that is old, has it worked out anew.

    `changed` is called whenever anything in the records changed. Units whose own record, shelf and learned rates are
    as they were are not worked out again.
    """

    def __init__(
        self,
        store: Store,
        sheets: SheetShelf,
        guide: Callable[[], Guide],
        today: Callable[[], str],
        tell: Callable[[DeskEvent], None],
        house: Callable[[], House] = standard,
    ) -> None:
        self._store, self._sheets, self._guide, self._today = store, sheets, guide, today
        self._house = house
        self._of_house: House | None = None
        self._worker = Worker(tell, "restpoint-lots")
        self._lock = threading.Lock()
        self._known: dict[str, _Known] = {}
        self._asked: set[str] = set()
        self._outlooks: dict[str, tuple[object, UnitOutlook]] = {}
        self._candidates: dict[str, tuple[object, Candidate | None]] = {}
        self._claims: dict[str, tuple[object, tuple[str, ...]]] = {}
        """lot → its mark and the states of its claims"""
        self._change = 0
        self._closed = False

    def answer(self, lot_id: str) -> LotAnswer:
        """What is known now, and whether it is up to date."""
        house = self._house()
        with self._lock:
            if house is not self._of_house:
                self._of_house = house
                self._change += 1
            found = self._known.get(lot_id)
            fresh = found is not None and found.change == self._change
            if not fresh and lot_id not in self._asked:
                self._asked.add(lot_id)
                self._worker.submit(lambda: self._work_out(lot_id))
        return LotAnswer(found.view if found is not None else None, fresh)

    def changed(self) -> None:
        """Something in the records changed."""
        with self._lock:
            self._change += 1

    def settle(self) -> None:
        """Wait for what was asked (tests)."""
        self._worker.settle()

    def close(self) -> None:
        """Stop after the unit that is being worked out."""
        self._closed = True
        self._worker.close()

    def _work_out(self, lot_id: str) -> Iterable[DeskEvent]:
        with self._lock:
            change = self._change
        try:
            view = self.view(lot_id)
        finally:
            with self._lock:
                self._asked.discard(lot_id)
        if view is None:
            return ()
        with self._lock:
            self._known[lot_id] = _Known(view, change)
        return (LotChanged(lot_id),)

    def view(self, lot_id: str) -> LotView | None:
        """Work it out now, in the calling thread; None when there is no such lot, or the program ends meanwhile."""
        lot = next((x for x in self._store.lots() if x.id == lot_id), None)
        if lot is None:
            return None
        guide, shelf = self._guide(), self._store.shelf()
        run = _Run(self._store, self._sheets, guide, shelf, self._today(), self._house())
        outlooks = []
        for history in self._store.histories_of_lot(lot_id):
            if self._closed:
                return None
            outlooks.append(self._outlook(history, run, run.key(history)))
        return lot_view(lot, outlooks, shelf, guide, self._others(lot, run))

    def problem(self, lot_id: str, stopped: Callable[[], bool] = lambda: False) -> LotProblem:
        """The problem of the lot's plan, in the calling thread. InputError where there is nothing to plan. Once it is
        `stopped` it is of those units that were worked out by then."""
        lot = next((x for x in self._store.lots() if x.id == lot_id), None)
        if lot is None:
            raise InputError(words.NO_LOT)
        guide, shelf = self._guide(), self._store.shelf()
        run = _Run(self._store, self._sheets, guide, shelf, self._today(), self._house())
        outlooks, candidates = [], []
        for history in self._store.histories_of_lot(lot_id):
            if self._closed or stopped():
                break
            key, unit_id = run.key(history), history.unit.id
            outlook = self._outlook(history, run, key)
            known = self._candidates.get(unit_id)
            if known is None or known[0] != key:
                known = self._candidates[unit_id] = (key, run.candidate(outlook, history))
                time.sleep(BREATH_S)
            outlooks.append(outlook)
            candidates += [known[1]] if known[1] is not None else []
        return problem_of(lot, outlooks, candidates, shelf, guide)

    def _outlook(self, history: UnitHistory, run: _Run, key: object) -> UnitOutlook:
        """What is known of the unit, worked out anew where that is old."""
        kept = self._outlooks.get(history.unit.id)
        if kept is None or kept[0] != key:
            kept = self._outlooks[history.unit.id] = (key, run.outlook(history))
            time.sleep(BREATH_S)
        return kept[1]

    def _others(self, lot: Lot, run: _Run) -> Iterator[tuple[Lot, tuple[str, ...]]]:
        """The newest other lots from where this one is, with what the claims of their units are; one that is as it was
        is not read again."""
        source = source_of(lot).casefold()
        others = [other for other in self._store.lots() if other.id != lot.id and source_of(other).casefold() == source]
        for other in others[:MOST_LOTS] if source else ():
            if self._closed:
                return
            mark = self._store.mark_of_lot(other.id)
            kept = self._claims.get(other.id)
            if kept is None or kept[0] != mark:
                histories = self._store.histories_of_lot(other.id)
                states = tuple(state_of(h, run.sheet_of(h)) for h in histories if h.unit.claim)
                kept = self._claims[other.id] = (mark, states)
                time.sleep(BREATH_S)
            yield other, kept[1]


class _Run:
    """What all units of one computation share, read once: sheets, learned rates, the shelf."""

    def __init__(
        self,
        store: Store,
        sheets: SheetShelf,
        guide: Guide,
        shelf: tuple[ShelfPart, ...],
        today: str,
        house: House,
    ) -> None:
        self._store, self._named = store, {s.name: s for s in reversed(sheets.sheets())}
        self._guide, self._shelf, self._today, self._house = guide, shelf, today, house
        self._trials: dict[str, tuple[Trial, ...]] = {}

    def sheet_of(self, history: UnitHistory) -> Sheet:
        name = history.unit.sheet
        return self._named.get(name) or Sheet(name or history.unit.model)

    def trials(self, model: str) -> tuple[Trial, ...]:
        if model not in self._trials:
            self._trials[model] = trials_from(self._store.treated(model), self._guide, self.sheet_of)
        return self._trials[model]

    def key(self, history: UnitHistory) -> object:
        """All that the outlook of the unit depends on."""
        unit = history.unit
        here = tuple((p.name, p.cost_minor) for p in self._shelf if p.count > 0 and p.model in ("", unit.model))
        last = history.results[-1].id if history.results else ""
        record = (unit, len(history.results), last, history.treatments, history.visits, history.comebacks)
        return (*record, here, self._today, self.trials(unit.model), self.sheet_of(history), self._guide, self._house)

    def outlook(self, history: UnitHistory) -> UnitOutlook:
        trials = self.trials(history.unit.model)
        sheet = self.sheet_of(history)
        return outlook_of(history, sheet, self._guide, trials, self._shelf, self._today, self._house)

    def candidate(self, outlook: UnitOutlook, history: UnitHistory) -> Candidate | None:
        trials = self.trials(history.unit.model)
        return candidate_of(outlook, history, self.sheet_of(history), self._guide, trials)
