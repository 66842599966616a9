"""The reports behind results, for the window: read, cut and described by a thread of its own, so that neither the
window nor the records wait for a long recording.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.app.whole_file import write_whole
from station.app.work import Worker
from station.checks.house import House
from station.checks.types import Assessment
from station.errors import InputError, StationError
from station.judgement.limits import in_force, standard
from station.records.store import Store
from station.records.types import Result, Unit
from station.ui.ports import DeskEvent, EvidenceRead, MeasuredAgain, Said
from station.words import evidence_room as words
from station.words import grammar

if TYPE_CHECKING:
    from station.app.active import ActiveUnit
    from station.evidence.drawing import Evidence
    from station.evidence.laid_over import OtherTry
    from station.hid.types import ReportBlock
    from station.sheets.bind import Binding

MANY_REPORTS = 200_000
"""of so many the first picture comes before what the check looked at is worked out"""

MOST_GOOD, MOST_ASKED = 9, 200
"""so many good units are offered to be laid over, out of so many of the model that came last"""


class EvidenceReader:
    """The `EvidencePort`. Only what was asked for last is read."""

    def __init__(
        self,
        store: Store,
        sheets: SheetShelf,
        house: Callable[[], House],
        tell: Callable[[DeskEvent], None],
        front: Callable[[], ActiveUnit | None] = lambda: None,
    ) -> None:
        """`front`: what is worked at."""
        self._store, self._sheets, self._house, self._tell, self._front = store, sheets, house, tell, front
        self._lock = threading.Lock()
        self._worker: Worker | None = None
        self._last = 0

    def look_at(self, unit_id: str, result_id: str) -> None:
        asked, worker = self._begin()
        worker.submit(lambda: self._read(unit_id, result_id, asked))

    def _begin(self) -> tuple[int, Worker]:
        """The number of what is asked now, and who does it."""
        with self._lock:
            self._last += 1
            if self._worker is None:
                self._worker = Worker(self._tell, "restpoint-evidence")
            return self._last, self._worker

    def freeze(self) -> Result | None:
        from station.evidence.frozen import frozen_result

        active = self._front()
        view = active.view() if active is not None else None
        if active is None or view is None or not view.running or not 0 <= view.current < len(view.steps):
            return None
        asked, worker = self._begin()
        step = view.steps[view.current].step
        result = frozen_result(f"frozen-{asked}", view.visit.id, (step.check, step.control), self._store.now())
        block, now_ns = active.kept_reports()  # before the ring goes on; what is drawn of it is worked out later
        binding = active.known.binding
        worker.submit(lambda: self._draw_frozen(result, block, binding, now_ns))
        return result

    def _draw_frozen(self, result: Result, block: ReportBlock, binding: Binding, now_ns: int) -> Iterable[DeskEvent]:
        from station.evidence.draw import evidence_of
        from station.evidence.frozen import frozen_kept

        try:
            kept = frozen_kept(result, block, binding, now_ns)
            limits = in_force(kept.sheet, self._usable_house())
            drawn = evidence_of(kept, limits, looked=False)
            yield EvidenceRead(result.id, replace(drawn, counts_from=words.FROZEN_AXIS))
        except StationError as error:
            yield EvidenceRead(result.id, problem=str(error))

    def good_tries(self, unit_id: str, result_id: str) -> tuple[OtherTry, ...]:
        from station.evidence.laid_over import OtherTry, good_try

        store, found = self._store, list["OtherTry"]()
        result, unit = self.result(unit_id, result_id), self._store.unit(unit_id)
        for other in store.units_of_model(unit.model, MOST_ASKED):
            good = good_try(store.tries_of(other.id), (result.check, result.control)) if other.id != unit_id else None
            if good is None:
                continue
            visit = next(v for v in store.visits(other.id) if v.id == good.visit_id)
            whole = next(r for r in store.results_of_visit(visit.id) if r.id == good.id)
            found.append(OtherTry(other, visit, whole))
            if len(found) == MOST_GOOD:
                break
        return tuple(found)

    def measure_again(self, unit_id: str, result_id: str) -> None:
        worker = self._worker
        if worker is not None:  # the result is shown, so it was read
            worker.submit(lambda: self._again(unit_id, result_id))

    def keep_picture(self, name: str, files: Mapping[str, bytes]) -> None:
        worker = self._worker
        if worker is not None:
            worker.submit(lambda: self._keep(name, files))

    def _keep(self, name: str, files: Mapping[str, bytes]) -> Iterable[DeskEvent]:
        folder = paths.pictures_folder()
        try:
            for ending, content in files.items():
                write_whole(folder / f"{name}.{ending}", content)
        except OSError as error:
            yield Said(words.NOT_WRITTEN.format(folder=folder, reason=error.strerror or error), bad=True)
            return
        yield Said(words.WRITTEN.format(path=folder / name, endings=grammar.listed(tuple(files))))

    def _again(self, unit_id: str, result_id: str) -> Iterable[DeskEvent]:
        from station.evidence.again import differences, measured_again
        from station.evidence.kept import kept_of

        try:
            result, sheet = self.result(unit_id, result_id), self._sheets.of_unit(self._store.unit(unit_id))
            kept = kept_of(result, self._store.folder / "captures", sheet)
            now = measured_again(kept, in_force(sheet, self._usable_house()), _tries_before(self._store, result))
            lines = differences(result.assessment, now, result.check)
        except StationError as error:
            lines = (str(error),)
        yield MeasuredAgain(result_id, lines)

    def settle(self) -> None:
        """Wait for what was asked (tests)."""
        if self._worker is not None:
            self._worker.settle()

    def close(self) -> None:
        with self._lock:
            self._last += 1
        if self._worker is not None:
            self._worker.close()

    def _is_old(self, asked: int) -> bool:
        with self._lock:
            return asked != self._last

    def _read(self, unit_id: str, result_id: str, asked: int) -> Iterable[DeskEvent]:
        from station.evidence.again import with_doubt  # what a recording is read with is loaded when one is
        from station.evidence.draw import evidence_of
        from station.evidence.kept import kept_of

        if self._is_old(asked):
            return
        try:
            result, sheet = self.result(unit_id, result_id), self._sheets.of_unit(self._store.unit(unit_id))
            kept = kept_of(result, self._store.folder / "captures", sheet)
            limits = in_force(sheet, self._usable_house())
            if kept.whole and len(kept.take.report_t_ns) > MANY_REPORTS:
                yield EvidenceRead(result_id, evidence_of(kept, limits, looked=False), whole=False)
            if not self._is_old(asked):
                kept = with_doubt(kept, limits, _tries_before(self._store, result))
                yield EvidenceRead(result_id, evidence_of(kept, limits))
        except StationError as error:
            yield EvidenceRead(result_id, problem=str(error))
        except MemoryError:
            yield EvidenceRead(result_id, problem=words.NO_MEMORY)

    def result(self, unit_id: str, result_id: str) -> Result:
        """A result of the unit that counts. InputError where there is none any more."""
        found = next((r for r in self._store.history(unit_id).results if r.id == result_id), None)
        if found is None:
            raise InputError(words.WITHDRAWN)
        return found

    def _usable_house(self) -> House:
        try:
            return self._house()
        except StationError:
            return standard()


def read_evidence(store: Store, sheets: SheetShelf, house: House, unit: Unit, result: Result) -> Evidence:
    """What is to be drawn of a result, read now. CaptureError with one sentence where nothing can be shown."""
    from station.evidence.again import with_doubt
    from station.evidence.draw import evidence_of
    from station.evidence.kept import kept_of

    sheet = sheets.of_unit(unit)
    limits, kept = in_force(sheet, house), kept_of(result, store.folder / "captures", sheet)
    return evidence_of(with_doubt(kept, limits, _tries_before(store, result)), limits)


def _tries_before(store: Store, result: Result) -> list[Assessment]:
    """Earlier tries of the visit at the same check, oldest first."""
    tries = store.results_of_visit(result.visit_id)
    mine = (r for r in tries if (r.check, r.control) == (result.check, result.control))
    return [r.assessment for r in mine if r.attempt < result.attempt]
