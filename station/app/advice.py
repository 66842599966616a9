"""What the diagnosis says of a unit, worked out beside the window and kept until the record changes."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from station.app.declared import beyond_of
from station.app.prices import grade_names, with_prices, with_sales
from station.app.shelf_of_sheets import SheetShelf
from station.bench.plan import wanted_of
from station.bench.types import PlannedVisit
from station.checks.house import House
from station.diagnosis.evidence import evidence_of
from station.diagnosis.faults import fits, needs_part
from station.diagnosis.guide import Guide, Method, guide_for, load_guide
from station.diagnosis.hazards import Hazard
from station.diagnosis.isolate import next_swap, search_by_swaps
from station.diagnosis.learn import trials_from
from station.diagnosis.parts import parts_for
from station.diagnosis.suspects import suspects
from station.diagnosis.swaps import SwapSearch
from station.diagnosis.treatments import propose
from station.diagnosis.types import Suspect
from station.errors import StationError
from station.judgement.grade import grading_of, headline, kept_from
from station.judgement.limits import standard
from station.judgement.standing import Standing, standing_of
from station.judgement.treated import older
from station.judgement.tries import Key
from station.lots.needs import NEEDED
from station.records.store import Store
from station.records.types import TREATMENT_KINDS, ShelfPart, Treatment, UnitHistory
from station.sheets.model import Sheet
from station.ui.ports import GradeView, ProposalView, SuspectView, TreatmentView
from station.words import common, grammar
from station.words import desk as words

MOST_SUSPECTS = 8
LEAST_WEIGHT = 0.02
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Advice:
    """Suspects, likeliest first, the next treatment (None when nothing was found), which results are older than a
    treatment that may have changed them, the grade (None of a unit that was never tested), what its next visit asks,
    and its model sheet."""

    suspects: tuple[SuspectView, ...] = ()
    proposal: ProposalView | None = None
    older: Mapping[Key, Treatment] = field(default_factory=dict)
    grade: GradeView | None = None
    plan: PlannedVisit | None = None
    sheet: Sheet | None = None


class Adviser:
    """The `AdvicePort`. `advice` never computes: it gives what is known and asks `later` to work out what is not.

    `forget` is called with a unit whenever its record changed, from any thread; `later` runs a job elsewhere and then
    says that the record changed, so that the window draws again. Advice belongs to the record as it was when it was
    begun: when that changed meanwhile, it is dropped and worked out anew.
    """

    def __init__(
        self,
        store: Store,
        sheets: SheetShelf,
        later: Callable[[str, Callable[[], None]], None],
        house: Callable[[], House] = standard,
        plan_of: Callable[[UnitHistory, Sheet], PlannedVisit | None] = lambda history, sheet: None,
    ) -> None:
        """`plan_of`: what the next visit of a unit will ask."""
        self._plan_of = plan_of
        self._store = store
        self._sheets = sheets
        self._later = later
        self._lock = threading.Lock()
        self._known: dict[str, Advice] = {}
        self._asked: dict[str, int] = {}
        """for each unit, as of which change its advice was asked for"""
        self._changes = 0
        self._guide: Guide | None = None
        self._house = house
        self._of_house: House | None = None

    def advice(self, unit_id: str) -> Advice:
        """What is known now; empty while it is being worked out."""
        house = self._house()
        with self._lock:
            if house is not self._of_house:
                self._of_house = house
                self._forget_all()
            found, change = self._known.get(unit_id), self._changes
            ask = found is None and unit_id not in self._asked
            if ask:
                self._asked[unit_id] = change
        if ask:
            self._later(unit_id, lambda: self._work_out(unit_id, change))
        return found or Advice()

    def suspects(self, unit_id: str) -> tuple[SuspectView, ...]:
        return self.advice(unit_id).suspects

    def proposal(self, unit_id: str) -> ProposalView | None:
        return self.advice(unit_id).proposal

    def grade(self, unit_id: str) -> GradeView | None:
        return self.advice(unit_id).grade

    def older(self, unit_id: str) -> Mapping[Key, Treatment]:
        return self.advice(unit_id).older

    def plan(self, unit_id: str) -> PlannedVisit | None:
        return self.advice(unit_id).plan

    def sheet(self, unit_id: str) -> Sheet | None:
        return self.advice(unit_id).sheet

    def forget(self, unit_id: str) -> None:
        """The record of this unit changed."""
        with self._lock:
            self._changes += 1
            self._known.pop(unit_id, None)
            self._asked.pop(unit_id, None)

    def forget_all(self) -> None:
        """What lies on the shelf changed."""
        with self._lock:
            self._forget_all()

    def _forget_all(self) -> None:
        self._changes += 1
        self._known.clear()
        self._asked.clear()

    def guide(self) -> Guide:
        """The shop's own fault guide, else the one that ships, with the shop's prices."""
        self._guide = self._guide or guide_for(self._store.folder)
        return with_prices(self._guide, self._store.get_setting, grade_names(self._house()))

    def learned_guide(self) -> Guide:
        """The guide with what sold units that came back teach of prices; for a thread that may wait."""
        return with_sales(self.guide(), self._store)

    def hazards(self, what: str) -> Sequence[Hazard]:
        return self._usable_guide().hazards_of(what)

    def standing(self, unit_id: str) -> Standing | None:
        history = self._store.history(unit_id)
        sheet = self._sheet_of(history)
        if not sheet.controls:
            return None
        return standing_of(history, wanted_of(sheet), sheet, beyond_of(self._store, history, sheet).unnamed)

    def treatments(self) -> Sequence[TreatmentView]:
        guide = self._usable_guide()
        order = sorted(guide.treatments, key=lambda m: _place(m.kind))
        return tuple(TreatmentView(m.kind, kind_words(m), needs_part(m.kind)) for m in order)

    def parts(self, unit_id: str, kind: str) -> Sequence[str]:
        history = self._store.history(unit_id)
        weights = {suspect.name: suspect.weight for suspect in self.suspects(unit_id)}
        return parts_for(kind, self._sheet_of(history), self._usable_guide(), weights)

    def _usable_guide(self) -> Guide:
        """The shop's own guide; while that cannot be read, the one that ships."""
        try:
            return self.guide()
        except StationError:
            return load_guide()

    def _work_out(self, unit_id: str, change: int) -> None:
        found = Advice()
        try:
            found = self.advise(unit_id)
        finally:
            with self._lock:
                if self._asked.get(unit_id) == change:
                    self._known[unit_id] = found

    def advise(self, unit_id: str) -> Advice:
        """Work it out now."""
        history = self._store.history(unit_id)
        sheet = self._sheet_of(history)
        plan = self._plan_of(history, sheet) if sheet.controls else None
        return replace(self._advise(history, sheet), plan=plan, sheet=sheet)

    def _advise(self, history: UnitHistory, sheet: Sheet) -> Advice:
        guide = self.learned_guide()
        evidence, stale, grade = evidence_of(history), older(history, sheet), self._grade_of(history, sheet)
        if not evidence.seen:
            return Advice(older=stale, grade=grade)
        ranked = suspects(evidence, sheet, guide)
        search = _search(history, ranked, guide)
        if search is not None and search.tests:
            known = search.weights()
            ranked = tuple(replace(s, weight=known.get(s.part_id, s.weight)) for s in ranked)
        named = sorted((s for s in ranked if s.weight >= LEAST_WEIGHT), key=lambda s: -s.weight)
        trials = trials_from(self._store.treated(history.unit.model), guide, self._sheet_of)
        shelf = self._store.shelf()
        found = propose(history, sheet, guide, trials=trials, shelf=shelf)
        proposal = None
        if found is not None:
            proposal = ProposalView(
                found.title, found.reason, found.then, found.hazards, found.kind, found.part, found.minutes,
                found.cost_minor, swap.text if (swap := next_swap(search)) is not None else "",
                self._at_hand(history.unit.model, ranked, shelf), guide.currency,
            )  # fmt: skip
        return Advice(tuple(SuspectView(s.name, s.weight) for s in named[:MOST_SUSPECTS]), proposal, stale, grade)

    def _grade_of(self, history: UnitHistory, sheet: Sheet) -> GradeView | None:
        if not history.results:
            return None
        found = grading_of(history, wanted_of(sheet), sheet, self._house())
        kept = kept_from(found, sheet)
        return GradeView(headline(found), "", kept) if found.grade else GradeView("", headline(found), kept)

    def _at_hand(self, model: str, ranked: Sequence[Suspect], shelf: Sequence[ShelfPart]) -> str:
        """The parts on the shelf that the unit may need, with the units they come from."""
        said = []
        for suspect in (s for s in ranked if s.weight >= NEEDED):
            kept = [k for k in shelf if k.count > 0 and fits(k, model, suspect.name, suspect.part_id)]
            tags = [self._store.unit(k.source_unit_id).tag for k in kept if k.source_unit_id]
            if kept:
                count, units = sum(k.count for k in kept), grammar.COMMA.join(dict.fromkeys(tags))
                line = words.PART_AT_HAND_FROM if units else words.PART_AT_HAND
                said.append(line.format(part=suspect.name, count=count, units=units))
        return words.NEXT_PART.join(said)

    def _sheet_of(self, history: UnitHistory) -> Sheet:
        return self._sheets.of_unit(history.unit)


def _place(kind: str) -> int:
    """Of a kind of treatment in the lists that people choose from: a shop's own come last."""
    return TREATMENT_KINDS.index(kind) if kind in TREATMENT_KINDS else len(TREATMENT_KINDS)


def kind_words(method: Method) -> str:
    """What a kind is called; a shop's own by its title."""
    return common.TREATMENT_KINDS.get(method.kind, method.title)


def _search(history: UnitHistory, found: Sequence[Suspect], guide: Guide) -> SwapSearch | None:
    """The search by swaps on the control whose part is suspected most."""
    first = max(found, key=lambda s: s.weight, default=None)
    if first is None or not first.control:
        return None
    return search_by_swaps(history, first.control, [s for s in found if s.control in (first.control, "")], guide)
