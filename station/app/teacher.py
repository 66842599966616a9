"""The desk's part of teaching: begins a lesson on a device, drives it, keeps what was seen, saves what was learned."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from station.app.shelf_of_sheets import SheetShelf
from station.app.walks import WalkShelf, kept_steps, layout_of
from station.app.work import Job
from station.bench.teaching_types import TeachAnswer, TeachKey, TeachState, TeachView
from station.errors import InputError
from station.sheets.learn import Observed, usual_controls, walk
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo, Source
from station.ui.ports import DeskEvent, KeptWalk
from station.words import desk as words

if TYPE_CHECKING:
    from station.bench.teaching import Teaching

Submit = Callable[[Job], object]
KEEP_EVERY = 8
"""steps: so many are lost at most when the program or the machine dies in the middle of a walk"""


@dataclass(frozen=True, slots=True)
class Prepared:
    """A lesson that can begin: where its walk is kept, and how many of its steps are there already."""

    lesson: Teaching
    path: Path
    kept: int


class Teacher:
    """One lesson at a time. `submit` runs a job beside the window; `tell` hands the window an event."""

    def __init__(self, sheets: SheetShelf, folder: Path, submit: Submit) -> None:
        self._sheets, self._walks, self._submit = sheets, WalkShelf(folder), submit
        self._lesson: Teaching | None = None
        self._path: Path | None = None
        self._state: TeachState = "walking"
        self._kept = 0

    @property
    def busy(self) -> bool:
        """A lesson is under way."""
        return self._lesson is not None

    def kept(self, info: DeviceInfo) -> KeptWalk | None:
        """The walk with this kind of device that was stopped, if there is one."""
        path = self._walks.open_walk(info)
        return KeptWalk(path.name, path.stat().st_mtime) if path is not None else None

    def prepare(self, source: Source, counts: Mapping[str, int], *, go_on: bool) -> Prepared:
        """A lesson on this source, for any thread. `go_on`: with the walk that was kept.

        InputError: a number is out of its range.
        """
        from station.bench.teaching import Teaching  # learning is loaded when something is taught

        info = source.info
        path = self._walks.open_walk(info) if go_on else None
        seen: Sequence[Observed] = kept_steps(path) if path is not None else ()
        script = walk(usual_controls(**counts))
        lesson = Teaching(source, script, layout=layout_of(info.descriptor), later=self._later, seen=seen)
        return Prepared(lesson, path or self._walks.new(info), len(seen))

    def begin(self, prepared: Prepared) -> None:
        """It is the lesson now."""
        self._path, self._kept, self._state = prepared.path, prepared.kept, "walking"
        self._lesson = prepared.lesson

    def tick(self) -> None:
        """Once a frame. What was seen is kept whenever the walk stands still."""
        lesson = self._lesson
        if lesson is None:
            return
        lesson.tick(lesson.source.now_ns())
        state = lesson.view().state
        stands = state != self._state and state != "walking"
        if stands or len(lesson.seen) >= self._kept + KEEP_EVERY:
            self._keep(lesson)
        self._state = state

    def view(self) -> TeachView | None:
        return self._lesson.view() if self._lesson is not None else None

    def press(self, key: TeachKey) -> None:
        """One key of the lesson; "stop" keeps what was seen and ends it."""
        lesson = self._lesson
        if lesson is None:
            return
        lesson.press(key)
        if key == "stop":
            self._keep(lesson)
            self._lesson = None

    def answer(self, control: str, answer: TeachAnswer) -> None:
        if self._lesson is not None:
            self._lesson.answer(control, answer)

    def learned(self, name: str) -> Sheet:
        """The sheet as it is to be saved. InputError when nothing was learned."""
        result = self._lesson.result() if self._lesson is not None else None
        if result is None or not result.sheet.controls:
            raise InputError(words.NOTHING_LEARNED)
        return replace(result.sheet, name=name)

    def saved(self) -> None:
        """The sheet is on the shelf: the lesson is over."""
        lesson, self._lesson = self._lesson, None
        if lesson is not None:
            info = lesson.source.info
            self._submit(lambda: self._walks.close(info.vendor_id, info.product_id))

    def _later(self, job: Callable[[], None]) -> None:
        self._submit(job)

    def _keep(self, lesson: Teaching) -> None:
        seen, path, info = lesson.seen, self._path, lesson.source.info
        if path is None or not seen or len(seen) == self._kept:
            return
        self._kept = len(seen)

        def job() -> Iterable[DeskEvent]:
            before = self._sheets.blank(info).sheet
            self._walks.keep(path, seen, info, info.descriptor, None if before.drawn_up else before.name)
            return ()

        self._submit(job)
