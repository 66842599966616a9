"""A visit in the virtual machine: the real session in its thread, on a device that may come and go."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from types import TracebackType

from station.bench.memory import MemoryRecorder
from station.bench.plan import plan
from station.bench.runner import SessionThread
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Event, Go, SourceBack, SourceLost, Step
from station.capture.file import read_capture
from station.checks.types import Reading
from station.hid.types import Layout
from station.records.types import Result, Unit
from station.sheets.bind import bind
from station.sheets.model import Sheet
from station.sources.devices import Appeared, DeviceWatcher, same_device
from station.sources.port import DeviceInfo
from station.sources.steady import SteadySource
from station.sources.usb import UsbSource
from tests.rig.vm.talk import until


def steps_of(sheet: Sheet, check: str) -> tuple[Step, ...]:
    """The steps of one check."""
    return tuple(step for step in plan(sheet) if step.check == check)


class Bench:
    """What the window's partner does with a device: watch, open, open again, run the visit."""

    def __init__(
        self, info: DeviceInfo, sheet: Sheet, layout: Layout, steps: tuple[Step, ...], private: bool = False
    ) -> None:
        self._journals = tempfile.TemporaryDirectory()
        self._private = private
        self._sheet = sheet
        self.source = SteadySource(info, self._open)
        self.recorder = MemoryRecorder()
        unit = Unit("unit", "RIG-01", sheet.name)
        self._session = Session(
            UnitOnBench(unit, self.source, bind(sheet, layout)), VisitPlan(steps=steps), BenchSetup(self.recorder)
        )
        self._thread = SessionThread(self._session)
        self._watcher = DeviceWatcher(include_private=private)
        self._watcher.wait_first()
        self._watcher.take_events()
        self._events: list[Event] = []
        self._back = info

    def __enter__(self) -> Bench:
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, value: object, trace: TracebackType | None) -> None:
        self._thread.stop()
        self._watcher.close()
        self.source.close()
        self._journals.cleanup()

    def _open(self, info: DeviceInfo, origin_ns: int, number: int) -> UsbSource:
        journal = Path(self._journals.name, f"{number}.journal")
        source = UsbSource(
            info, self._sheet.talk, journal, origin_ns=origin_ns, sheet=self._sheet.name, allow_private=self._private
        )
        try:
            source.wait_open()
        except Exception:
            source.close()
            raise
        return source

    def go(self) -> None:
        """The one key; waits until the check runs."""
        self._session.do(Go())
        until(lambda: self._session.view().running, "the check to run")

    def reports(self) -> int:
        """Reports that have arrived since the beginning."""
        cursor = 0
        while True:
            block, cursor = self.source.take(cursor)
            if not len(block):
                return cursor

    def wait_lost(self) -> float:
        """Until the session tells that the device is away; the seconds it took."""
        return until(lambda: self._seen(SourceLost), "the news that the device is away", 10)

    def wait_back(self) -> tuple[float, float]:
        """Until the device is back, opened again as the window's partner does it, and the check runs.

        The seconds until it was seen, and from then until the check ran.
        """
        seen_s = until(self._appeared, "the device to come back")
        began = time.perf_counter()
        self.source.reopen(self._back)
        until(lambda: self._seen(SourceBack) and self._session.view().running, "the check to go on", 10)
        return seen_s, time.perf_counter() - began

    def wait_finished_steps(self) -> None:
        """Until every step has an outcome."""
        try:
            until(lambda: all(v.state == "done" for v in self._session.view().steps), "the end of the check")
        except TimeoutError as error:
            view = self._session.view()
            missing = view.progress.missing if view.progress else "nothing came"
            raise TimeoutError(f"{error} ({view.device}, {missing}, {view.message or view.again})") from error

    def readings(self, check: str) -> tuple[Reading, ...]:
        """Of the last try at a check."""
        return next(r.assessment.readings for r in reversed(self.recorder.results) if r.check == check)

    def reports_kept(self, result: Result) -> int:
        """Reports in the evidence of a try."""
        return len(read_capture(self.recorder.captures[result.capture_sha256]).block) if result.capture_sha256 else 0

    def _seen(self, kind: type) -> bool:
        self._events += self._session.take_events()
        return any(isinstance(event, kind) for event in self._events)

    def _appeared(self) -> bool:
        for event in self._watcher.take_events():
            if isinstance(event, Appeared) and same_device(self.source.info, event.info):
                self._back = event.info
                return True
        return False
