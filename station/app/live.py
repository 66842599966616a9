"""What comes in while the window draws: events, reports, and how the source does."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence

from station.app.device_room import DeviceRoom
from station.app.errands import Errands
from station.app.teacher import Teacher
from station.app.undo import Undo
from station.bench.types import ResultCommitted, SessionView, VisitFinished
from station.records.types import Result
from station.sources.port import SourceStatus
from station.ui.ports import DeskEvent, LiveView


class Live:
    """The `LivePort`. `told` holds the events so far, oldest first; `beside`: follow what goes on
    beside the front of the bench; `changed`: the record of this unit changed."""

    def __init__(
        self,
        told: deque[DeskEvent],
        room: DeviceRoom,
        errands: Errands,
        teacher: Teacher,
        beside: Sequence[Callable[[], None]],
        changed: Callable[[str], None],
        undo: Undo,
    ) -> None:
        self._told, self._room, self._errands, self._teacher, self._changed = told, room, errands, teacher, changed
        self._beside, self._undo = beside, undo

    def take_events(self) -> Sequence[DeskEvent]:
        self._room.look()
        for follow in self._beside:
            follow()
        self._errands.tend()
        self.follow()
        found = []
        while self._told:
            found.append(self._told.popleft())
        return found

    def follow(self) -> None:
        """Take what happened in the visit; a simulated unit's hand does what is asked. Part of `take_events`."""
        self._teacher.tick()
        active = self._room.active
        if active is None:
            return
        for event in active.take_events():
            if isinstance(event, ResultCommitted | VisitFinished) and (view := active.view()) is not None:
                self._changed(view.unit.id)
                if isinstance(event, ResultCommitted) and _by_a_person(event.result, view):
                    self._undo.offer_result(event.result, view.unit.id)
            self._told.append(event)

    def now(self) -> LiveView:
        active = self._room.active
        return active.live() if active is not None else LiveView(0)

    def status(self) -> SourceStatus | None:
        active = self._room.active
        return active.status() if active is not None else None


def _by_a_person(result: Result, view: SessionView) -> bool:
    """Whether a key made it: a mark, a skip, an answer. What the unit's reports came to is done again instead."""
    asked = {(one.step.check, one.step.control) for one in view.steps if one.step.person_answers}
    return result.by_hand or (result.check, result.control) in asked
