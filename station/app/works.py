"""Treatments under way, kept with the records so that neither a closed window nor a crash costs the minutes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from station.app.changes import Changes
from station.app.undo import Undo
from station.bench import work as rules
from station.bench.work import Work
from station.errors import InputError
from station.records.clock import Clock
from station.records.ids import IdMaker
from station.records.store import Store
from station.records.types import Treatment
from station.words import common
from station.words import desk as words
from station.words import undo as undoing

KEY = "work_under_way"


class Works:
    """The `WorkPort`."""

    def __init__(self, store: Store, now: Clock, changes: Changes, undo: Undo) -> None:
        self._store, self._now, self._changes, self._undo = store, now, changes, undo
        self._ids = IdMaker()

    def under_way(self) -> Sequence[Work]:
        return rules.from_text(self._store.get_setting(KEY))

    def of_unit(self, unit_id: str) -> Work | None:
        return next((work for work in self.under_way() if work.unit_id == unit_id), None)

    def seconds(self, work: Work) -> float:
        return rules.seconds(work, self._now())

    def minutes(self, work: Work) -> int | None:
        return rules.minutes(work, self._now())

    def begin(self, treatment: Treatment, shelf_part_id: str = "") -> None:
        now = self._now()
        named = replace(treatment, id=self._ids.new(round(now.timestamp() * 1000)))
        self._changes.make(lambda: self._under_way(rules.begin(named, now, shelf_part_id)))

    def pause(self, work: Work) -> Work:
        now = self._now()
        changed = rules.gone_on(work, now) if work.paused else rules.paused(work, now)
        self._put(changed)
        return changed

    def drop(self, unit_id: str) -> None:
        def change() -> str:
            work = self.of_unit(unit_id)
            self._keep(unit_id, None)
            if work is not None:
                said = undoing.WORK_DROPPED.format(
                    kind=common.TREATMENT_KINDS.get(work.treatment.kind, work.treatment.kind),
                    tag=self._store.unit(unit_id).tag,
                )
                self._undo.offer(said, (unit_id,), lambda: self._under_way(work))
            return unit_id

        self._changes.make(change)

    def end(self, unit_id: str, minutes: int) -> None:
        now = self._now()

        def change() -> str:
            work = self.of_unit(unit_id)
            if work is None:
                raise InputError(words.NO_WORK)
            history = self._store.history(unit_id)
            if (withdrawn := history.unit_withdrawn) is not None:
                reason = withdrawn.reason.rstrip(".")
                raise InputError(words.WORK_ON_WITHDRAWN.format(tag=history.unit.tag, reason=reason))
            if work.treatment.id not in {t.id for t in history.treatments}:  # or the program ended before `_keep`
                # what an open visit had still to test is not that unit any more
                ends = [visit for visit in self._store.unfinished_visits() if visit.unit_id == unit_id]
                treatment = rules.ended(work, now, minutes)
                shelf = work.shelf_part_id
                self._undo.offer_treatment(self._store.add_treatment(treatment, shelf_part_id=shelf, ends=ends))
            return self._keep(unit_id, None)

        self._changes.make(change, shelf=True)

    def _under_way(self, work: Work) -> str:
        """For the worker: the unit is worked at. Its open visit is put aside, to go on if it does not come to it."""
        self._undo.put_visit_aside(work.unit_id)
        return self._keep(work.unit_id, work)

    def _put(self, work: Work) -> None:
        self._changes.make(lambda: self._keep(work.unit_id, work))

    def _keep(self, unit_id: str, work: Work | None) -> str:
        """For the worker: this is the unit's work now, or it has none."""
        others = [one for one in self.under_way() if one.unit_id != unit_id]
        self._store.set_setting(KEY, rules.to_text([*others, *([work] if work is not None else [])]))
        return unit_id
