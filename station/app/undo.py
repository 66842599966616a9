"""What was saved last can be taken back for some seconds, and everything later with a reason."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass, replace

from station.app.changes import Changes
from station.app.device_room import DeviceRoom
from station.app.settings import Settings
from station.app.shelf_of_sheets import SheetShelf
from station.app.who import person_here
from station.bench.types import ReadAgain
from station.checks.registry import title_of
from station.checks.said import title_on
from station.errors import InputError
from station.judgement.tries import unmeasured
from station.records.store import Store
from station.records.types import Result, Treatment, Unit
from station.ui.ports import DeskEvent, Undoable, Withdrawable
from station.words import common
from station.words import records as refusals
from station.words import undo as words
from station.words.grammar import sentence_start

Back = Callable[[], object]
"""takes a save back in the records; for the worker"""


@dataclass(frozen=True, slots=True)
class _Last:
    number: int
    unit_ids: tuple[str, ...]
    back: Back
    logged: bool
    visit_id: str


class Undo:
    """The `UndoPort`. Whoever saves offers here, from the worker, how that is taken back."""

    def __init__(
        self,
        store: Store,
        changes: Changes,
        settings: Settings,
        room: DeviceRoom,
        shelf: SheetShelf,
        tell: Callable[[DeskEvent], None],
    ) -> None:
        self._store, self._changes, self._settings = store, changes, settings
        self._room, self._shelf, self._tell = room, shelf, tell
        self._numbers = itertools.count(1)
        self._last: _Last | None = None

    def person(self) -> str:
        """Who withdraws."""
        return self._settings.get("person", person_here())

    def offer(
        self, said: str, unit_ids: tuple[str, ...], back: Back, *, logged: bool = False, visit_id: str = ""
    ) -> None:
        """Something was saved (`said` in a few words); `back` takes it back. `logged`: the unit's log shows it then,
        struck through. `visit_id`: of the visit that asks for it again then."""
        self._last = _Last(next(self._numbers), unit_ids, back, logged, visit_id)
        self._tell(Undoable(said, self._last.number, logged))

    def offer_row(self, said: str, what: str, row_id: str, unit_id: str, visit_id: str = "") -> None:
        """The same of a row that was added, of a unit or (`unit_id` empty) of none."""
        self.offer(
            said,
            (unit_id,),
            lambda: self._store.withdraw(what, row_id, words.AT_ONCE, self.person()),
            logged=bool(unit_id),
            visit_id=visit_id,
        )

    def offer_treatment(self, added: Treatment) -> None:
        """A treatment was logged."""
        tag, kind = self._store.unit(added.unit_id).tag, common.TREATMENT_KINDS.get(added.kind, added.kind)
        self.offer_row(words.TREATED.format(kind=kind, tag=tag), "treatment", added.id, added.unit_id)

    def offer_result(self, result: Result, unit_id: str) -> None:
        """A mark, a skip or an answer was stored."""
        outcome = common.OUTCOMES[result.assessment.outcome.value]
        if unmeasured(result.assessment):
            outcome = result.reason
        sheet = self._shelf.of_unit(self._store.unit(unit_id))
        check = title_on(result.check, result.control, sheet) if result.control else title_of(result.check)
        said = words.MARKED.format(check=sentence_start(check), outcome=outcome)
        self.offer_row(said, "result", result.id, unit_id, result.visit_id)

    def offer_change(self, before: Unit, after: Unit) -> None:
        """A unit was changed."""
        if before == after:
            return
        said = words.UNIT_CHANGED.format(tag=after.tag)
        if before.becomes != after.becomes:
            said = words.UNIT_BECAME.format(tag=after.tag, becomes=common.BECOMES[after.becomes])
        self.offer(
            said,
            (after.id,),
            lambda: self._store.undo_change(before, after, words.AT_ONCE, self.person()),
            logged=True,
        )

    def undo(self, number: int) -> None:
        def change() -> str:
            last = self._last
            if last is None or last.number != number:
                return ""
            self._last = None
            last.back()
            over = bool(last.visit_id) and all(v.id != last.visit_id for v in self._store.unfinished_visits())
            self._tell(Undoable("", number, last.logged, over))
            for unit_id in last.unit_ids:
                self._mind_the_visit(unit_id)
            return last.unit_ids[0] if len(last.unit_ids) == 1 else ""

        self._changes.make(change, shelf=True)

    def withdraw(self, one: Withdrawable, reason: str) -> None:
        def change() -> str:
            if one.what == "arrival":
                return self._withdraw_arrival(one, reason)
            if one.what == "sale":
                done = self._store.withdraw_sale(one.row_id, reason, self.person())
            else:
                done = self._store.withdraw(one.what, one.row_id, reason, self.person())
            said = words.WITHDRAWN.format(what=one.said)
            self.offer(said, (one.unit_id,), lambda: self._store.take_back(done.id, words.AT_ONCE, self.person()))
            self._mind_the_visit(one.unit_id)
            return one.unit_id

        self._changes.make(change, shelf=True)

    def _withdraw_arrival(self, one: Withdrawable, reason: str) -> str:
        lot = next((lot for lot in self._store.lots() if lot.id == one.row_id), None)
        came = next((a for a in (self._store.arrivals(lot) if lot is not None else ()) if a.at == one.at), None)
        if came is None:
            raise InputError(refusals.NOTHING_TO_WITHDRAW)
        person = self.person()
        done = self._store.withdraw_arrival(came, reason, person)
        said = words.WITHDRAWN.format(what=one.said)
        self.offer(said, (), lambda: self._store.take_back_all(done, words.AT_ONCE, person))
        for unit in came.units:
            self._mind_the_visit(unit.id)
        return ""

    def correct(self, unit: Unit, reason: str) -> None:
        def change() -> str:
            sheet = self._shelf.named(unit.model)
            before = self._store.unit(unit.id)
            named = unit if unit.model == before.model else _of_sheet(unit, sheet.name if sheet else "")
            changed, done = self._store.correct_unit(named, reason, self.person())
            if done is not None:
                said = words.CORRECTED.format(tag=changed.tag)
                self.offer(said, (unit.id,), lambda: self._store.take_back(done.id, words.AT_ONCE, self.person()))
                self._mind_the_visit(unit.id)
            return unit.id

        self._changes.make(change, shelf=True)

    def models(self) -> tuple[str, ...]:
        return tuple(sorted({sheet.name for sheet in self._shelf.sheets()}))

    def put_visit_aside(self, unit_id: str) -> None:
        """The unit's visit, if it is on the bench, leaves it unfinished. For the worker."""
        active = self._room.active
        view = active.view() if active is not None else None
        if active is not None and view is not None and view.unit.id == unit_id:
            active.stop()

    def _mind_the_visit(self, unit_id: str) -> None:
        """The visit on the bench reads anew what counts of it; that of a unit which was withdrawn stops."""
        active = self._room.active
        view = active.view() if active is not None else None
        if active is None or view is None or unit_id != view.unit.id:
            return
        history = self._store.history(unit_id)
        if history.unit_withdrawn is not None:
            active.stop()
        else:
            active.do(ReadAgain(history.unit))


def _of_sheet(unit: Unit, sheet: str) -> Unit:
    return replace(unit, sheet=sheet)
