"""Units unplugged at random moments of a visit: does every running check end as interrupted, with its evidence,
and go on when the unit is back?

    python tests/bench/unplug.py [--rig 200] [--claimed 0] [--simulated 200] [--seed 1]

Three benches, each with the real session and a simulated hand that does what is asked:

rig        in real time: a simulated unit feeds a device of the shim rig, which the unmodified hidapi, our reader
           process, watcher and steady source read (some seconds for each unplug; needs Linux and gcc, else left out)
claimed    the same with a pad that no HID driver presents, read through libusb by the sheet of its class; the kernel's
           driver must have it back after each plug and at the end
simulated  the simulated source on a clock of its own (whole visits in seconds)

Prints human lines, then one JSON line. Exit status 1 when a rule was broken.
"""

from __future__ import annotations

import argparse
import json
import logging
import os
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from station import RESOURCES
from station.bench.auto import AutoPerson
from station.bench.memory import MemoryRecorder
from station.bench.runner import SessionThread
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import (
    AgainPlease,
    Choose,
    Event,
    Fault,
    ResultCommitted,
    SourceBack,
    SourceLost,
    StepStarted,
    VisitFinished,
)
from station.capture.file import read_capture
from station.checks.types import Outcome
from station.errors import StationError
from station.evidence.fitting import NO_LAYOUT
from station.hid.descriptor import parse_descriptor
from station.records.types import Result, Unit
from station.sheets.bind import bind
from station.sheets.drawup import draw_up
from station.sheets.library import match, sheets_in
from station.sheets.model import Sheet
from station.sources.conversation import NOTHING
from station.sources.devices import Appeared, DeviceWatcher, same_device
from station.sources.port import DeviceInfo
from station.sources.simulated import PadDesign, SimulatedHand, SimulatedSource, UnitSpec
from station.sources.steady import SteadySource
from station.sources.usb import UsbSource
from tests.rig import claimed, fakehid
from tests.rig.fakeusb import KERNEL, UsbPad
from tests.rig.handed import Feeder, ShiftedHand

DESIGN = PadDesign("16bit", 250)
TAG = "RIG-01"
STEP_S = 0.02
GAP_S = 15.0
"""mean time between an unplug and the next on the simulated bench: a light press takes longer than that"""
THINKS_S = 1.5
"""a person is up to so long about the next step, so that units are unplugged between checks too"""
KEPT_WITHIN_NS = 1_000_000_000
"""evidence reaches to within this of the moment at which the try was ended"""


@dataclass
class Ledger:
    """The rules, kept from the session's events alone: they come in order, whatever the threads do."""

    captures: dict[str, bytes]
    counts: Counter[str] = field(default_factory=Counter)
    broken: list[str] = field(default_factory=list)
    running: int | None = None
    to_interrupt: int | None = None
    to_resume: int | None = None
    away: bool = False
    chosen: int | None = None
    """the step that was chosen last, until one is started: who chooses another while the unit goes away gets that"""
    checks: Counter[str] = field(default_factory=Counter)
    """the interrupted checks by name"""

    def see(self, event: Event) -> None:
        """Follow one event."""
        if isinstance(event, StepStarted | SourceLost | VisitFinished):
            self.must(self.to_interrupt is None, f"step {self.to_interrupt} was not interrupted")
        match event:
            case StepStarted(index, step) if not step.person_answers:
                if self.to_resume is not None and index == self.chosen != self.to_resume:
                    self.counts["another chosen meanwhile"] += 1
                elif self.to_resume is not None:
                    self.must(index == self.to_resume, f"step {self.to_resume} was interrupted, {index} was started")
                    self.counts["resumed"] += 1
                self.running, self.to_resume, self.chosen = index, None, None
            case SourceLost():
                self.away = True
                self.counts["unplugs"] += 1
                self.counts["in a check" if self.running is not None else "between checks"] += 1
                self.to_interrupt = self.running
            case SourceBack():
                self.away = False  # a slow disk may still be storing what was interrupted
            case ResultCommitted(index, result):
                self._ended(index, result)
            case AgainPlease(index):
                self.must(self.to_interrupt is None, f"step {index} asked for another go instead of being interrupted")
                self.running = None
            case VisitFinished():
                self.counts["visits"] += 1
            case Fault(message):
                self.must(self.away, f"a fault was told: {message}")  # "plug it in, then start again"
            case _:
                pass

    def must(self, right: bool, what: str) -> None:
        """Note a broken rule unless it is right."""
        if not right:
            self.broken.append(what)

    def _ended(self, index: int, result: Result) -> None:
        self.running = None
        if self.to_interrupt is None:
            left = result.assessment.outcome is Outcome.INTERRUPTED  # another step was chosen
            self.counts["checks left" if left else "checks done"] += 1
            return
        self.must(index == self.to_interrupt, f"step {self.to_interrupt} ran, {index} was interrupted")
        self.to_interrupt = None
        self.checks[result.check] += 1
        if result.check == "link":  # the loss is what it looks for
            self.must(result.assessment.outcome is Outcome.FAIL, "a disconnect did not fail the link check")
            self.counts["failed the link"] += 1
            return
        said = f"{result.check} {result.control}"
        self.must(
            result.assessment.outcome is Outcome.INTERRUPTED, f"{said} ended as {result.assessment.outcome.value}"
        )
        self.counts["interrupted"] += 1
        self.to_resume = index
        self._evidence(said, result)

    def _evidence(self, said: str, result: Result) -> None:
        if not result.capture_sha256:
            self.must(False, f"{said}: no evidence was kept")
            return
        capture = read_capture(self.captures[result.capture_sha256])
        t_ns, marks = capture.block.t_ns, capture.marks
        last_ns = max(int(t_ns[-1]) if len(t_ns) else 0, marks[0].time_ns)
        self.must(marks[-1].time_ns - last_ns < KEPT_WITHIN_NS, f"{said}: the evidence stops too early")
        self.counts["reports kept"] += len(t_ns)


class Errors(logging.Handler):
    """What the program logs as an error: a tick that failed, a child that broke."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(self.format(record))


# --- on a clock of its own -------------------------------------------------------------------------


def simulated(unplugs: int, rng: random.Random) -> Ledger:
    """Visits, one after the other, until there were enough unplugs; the last one is brought to its end in peace."""
    ledger = Ledger({})
    while ledger.counts["unplugs"] < unplugs:
        _simulated_visit(ledger, unplugs, rng)
    return ledger


def _simulated_visit(ledger: Ledger, unplugs: int, rng: random.Random) -> None:
    hand = SimulatedHand(skill=0.9, seed=rng.randrange(1 << 30))
    source = SimulatedSource(UnitSpec(DESIGN, rng.randrange(1 << 30), (), TAG), hand, realtime=False)
    recorder = MemoryRecorder()
    ledger.captures = recorder.captures
    session = _session(source, recorder)
    person = AutoPerson(session.sheet, hand, session.do, source.now_ns)
    thinks_ns, wander = 0, False
    turn_ns, plugged = _after(source, rng.expovariate(1 / GAP_S)), True
    while not session.finished:
        if source.now_ns() >= turn_ns and (not plugged or ledger.counts["unplugs"] < unplugs):
            (source.unplug if plugged else source.replug)()
            plugged = not plugged
            wander = plugged
            turn_ns = _after(source, rng.expovariate(1 / GAP_S) if plugged else rng.uniform(0.05, 3.0))
        wander = wander and not _wander(ledger, session, rng)
        source.advance(STEP_S)
        session.tick()
        for event in session.take_events():
            ledger.see(event)
            person.handle(event, session.view())
            if isinstance(event, ResultCommitted):
                thinks_ns = _after(source, rng.uniform(0, THINKS_S))
        if source.now_ns() >= thinks_ns or session.view().running:
            person.act(session.view())
    _everything_done(ledger, session)


def _wander(ledger: Ledger, session: Session, rng: random.Random) -> bool:
    """Choose some other step once an interrupted one goes on, so that all checks come in for an unplug; but none that
    only watches what goes on, which cannot be begun before it has watched for long enough."""
    if ledger.away or ledger.running is None or ledger.to_resume is not None:
        return False
    ledger.chosen = rng.choice([i for i, view in enumerate(session.view().steps) if not view.step.watches])
    session.do(Choose(ledger.chosen))
    return True


def _after(source: SimulatedSource, seconds: float) -> int:
    return source.now_ns() + round(seconds * 1e9)


def _as_wired(report: bytes) -> bytes:
    return claimed.wired(claimed.as_simulated(report))


def _session(source: Any, recorder: MemoryRecorder, is_claimed: bool = False) -> Session:
    layout = NO_LAYOUT if is_claimed else parse_descriptor(DESIGN.descriptor)
    sheet = claimed.for_the_simulated_hand(_class_sheet(source.info)) if is_claimed else draw_up(layout, source.info)
    return Session(
        UnitOnBench(Unit("unit", TAG, DESIGN.name), source, bind(sheet, layout)), VisitPlan(), BenchSetup(recorder)
    )


def _class_sheet(info: DeviceInfo) -> Sheet:
    sheet = match(sheets_in(RESOURCES / "sheets"), info.vendor_id, info.product_id, info.product, info.interface)
    assert sheet is not None
    return sheet


def _everything_done(ledger: Ledger, session: Session) -> None:
    for view in session.view().steps:
        ledger.must(view.state == "done" or view.step.offered, f"{view.step.check} {view.step.control} was never done")


# --- in real time, through the reader process --------------------------------------------------------


class RigBench:
    """What the window's partner does: watch, open, open again, run visits."""

    def __init__(self, rig: fakehid.Rig, rng: random.Random, journals: Path, is_claimed: bool) -> None:
        self._rig, self._rng, self._journals, self._is_claimed = rig, rng, journals, is_claimed
        self._hand = SimulatedHand(skill=0.9, seed=rng.randrange(1 << 30))
        self._unit = SimulatedSource(UnitSpec(DESIGN, 7, (), TAG), self._hand, clock_ns=time.perf_counter_ns)
        self._feeder = Feeder(self._unit, _as_wired if is_claimed else bytes)
        self._recorder = MemoryRecorder()
        self.ledger = Ledger(self._recorder.captures)
        self.back_s: list[float] = []
        self._plugged_at = 0.0
        self._device: fakehid.Device | UsbPad | None = None
        self._watcher = DeviceWatcher()
        self.plug()
        self._source = SteadySource(self._wait_for_it(), self._open)
        self._shift_ns = self._unit.now_ns() - self._source.now_ns()

    def plug(self) -> None:
        """Plug it in."""
        device: fakehid.Device | UsbPad
        if self._is_claimed:
            device = UsbPad(self._rig, serial=TAG)
        else:
            device = self._rig.plug(DESIGN.descriptor, *DESIGN.ids, DESIGN.name, TAG)
        self._plugged_at = time.perf_counter()
        self._device = self._feeder.device = device

    def unplug(self) -> None:
        """Pull the plug."""
        device, self._device, self._feeder.device = self._device, None, None
        assert device is not None
        device.unplug()

    def run(self, unplugs: int) -> None:
        """Visits until there were enough unplugs; the last one is left when the unit is back."""
        while self.ledger.counts["unplugs"] < unplugs:
            session = _session(self._source, self._recorder, self._is_claimed)
            hand = ShiftedHand(self._hand, self._shift_ns)
            person = AutoPerson(session.sheet, hand, session.do, self._source.now_ns)
            thread = SessionThread(session)
            thread.start()
            self._visit(session, person, unplugs)
            self.ledger.must(thread.is_alive() or session.finished, "the session's thread died")
            thread.stop()
            for event in session.take_events():
                self.ledger.see(event)
            if session.finished:
                _everything_done(self.ledger, session)
            self.ledger.running = self.ledger.to_resume = self.ledger.chosen = None

    def close(self) -> None:
        self._watcher.close()
        self._source.close()
        device = self._device
        self._feeder.stop()
        if isinstance(device, UsbPad):
            end = time.monotonic() + 20.0
            while device.driver != KERNEL and time.monotonic() < end:
                time.sleep(0.01)
            self.ledger.must(device.driver == KERNEL, f"given back, the pad's driver is {device.driver!r}")

    def _visit(self, session: Session, person: AutoPerson, unplugs: int) -> None:
        turn, plugged = time.monotonic() + self._rng.uniform(0.1, 2.5), True
        patience, thinks, wander = time.monotonic() + 60.0, 0.0, False
        while not session.finished:
            now = time.monotonic()
            if now >= turn and (not plugged or not self.ledger.away):
                if plugged and self.ledger.counts["unplugs"] >= unplugs:
                    return
                (self.unplug if plugged else self.plug)()
                plugged, patience = not plugged, now + 60.0
                wander = plugged
                turn = now + (self._rng.uniform(0.1, 2.5) if plugged else self._rng.uniform(0.0, 0.8))
            if now > patience:
                self.ledger.must(False, f"it did not go on: {session.view().message or 'no message'}")
                self.ledger.counts["unplugs"] = unplugs
                return
            wander = wander and not _wander(self.ledger, session, self._rng)
            self._reopen()
            for event in session.take_events():
                self.ledger.see(event)
                if isinstance(event, SourceBack):
                    self.back_s.append(time.perf_counter() - self._plugged_at)
                person.handle(event, session.view())
                if isinstance(event, ResultCommitted):
                    thinks = time.monotonic() + self._rng.uniform(0, THINKS_S)
            if time.monotonic() >= thinks or session.view().running:
                person.act(session.view())
            time.sleep(0.005)

    def _reopen(self) -> None:
        for event in self._watcher.take_events():
            lost = self._source.status().state == "lost"
            if isinstance(event, Appeared) and lost and same_device(self._source.info, event.info):
                try:
                    self._source.reopen(event.info)
                except StationError:
                    self.ledger.counts["gone again before it was open"] += 1

    def _open(self, info: DeviceInfo, origin_ns: int, number: int) -> UsbSource:
        source = UsbSource(info, NOTHING, self._journals / f"{number}.journal", origin_ns=origin_ns)
        try:
            source.wait_open()
        except StationError:
            source.close()
            raise
        return source

    def _wait_for_it(self) -> DeviceInfo:
        while not (found := self._watcher.devices()):
            time.sleep(0.01)
        return found[0]


def on_the_rig(unplugs: int, rng: random.Random, is_claimed: bool = False) -> tuple[Ledger, dict[str, Any]]:
    """The same in real time; also what is left behind and how fast it was back."""
    with tempfile.TemporaryDirectory() as journals, fakehid.Rig() as rig:
        os.environ.update(rig.variables())
        before = len(os.listdir("/proc/self/fd"))
        bench = RigBench(rig, rng, Path(journals), is_claimed)
        try:
            bench.run(unplugs)
            files = len(os.listdir("/proc/self/fd")) - before
        finally:
            bench.close()
        for name in rig.variables():
            del os.environ[name]
    back = sorted(bench.back_s)
    numbers = {
        "back_s_median": round(back[len(back) // 2], 2) if back else None,
        "back_s_most": round(back[-1], 2) if back else None,
        "files_left_open": files,
    }
    return bench.ledger, numbers


def report(name: str, ledger: Ledger, errors: Errors, more: dict[str, Any], began: float) -> dict[str, Any]:
    """Human lines and the numbers."""
    broken = ledger.broken + errors.lines
    counts = {key.replace(" ", "_"): n for key, n in sorted(ledger.counts.items())}
    print(f"{name}: {', '.join(f'{n} {key}' for key, n in sorted(ledger.counts.items()))}")
    print(f"{name}: interrupted were {', '.join(f'{n} {check}' for check, n in ledger.checks.most_common())}")
    for what in broken[:20]:
        print(f"{name}: BROKEN {what}")
    return {
        **counts,
        "by_check": dict(ledger.checks),
        **more,
        "broken": len(broken),
        "seconds": round(time.monotonic() - began, 1),
    }


def main() -> int:
    """Both benches."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rig", type=int, default=200, help="unplugs in real time, through the reader process")
    parser.add_argument("--claimed", type=int, default=0, help="unplugs of a pad that no HID driver presents")
    parser.add_argument("--simulated", type=int, default=200, help="unplugs on a clock of its own")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    errors = Errors()
    logging.getLogger().addHandler(errors)
    out: dict[str, Any] = {"bench": "unplug", "seed": args.seed}
    ways: dict[str, Callable[[], tuple[Ledger, dict[str, Any]]]] = {
        "simulated": lambda: (simulated(args.simulated, random.Random(args.seed)), {}),
        "rig": lambda: on_the_rig(args.rig, random.Random(args.seed)),
        "claimed": lambda: on_the_rig(args.claimed, random.Random(args.seed), is_claimed=True),
    }
    for name, way in ways.items():
        if not getattr(args, name):
            continue
        if name != "simulated" and (reason := fakehid.unavailable()):
            print(f"{name}: left out, {reason}")
            continue
        errors.lines.clear()
        began = time.monotonic()
        ledger, more = way()
        out[name] = report(name, ledger, errors, more, began)
    broken = sum(out[name]["broken"] for name in ways if name in out)
    print(json.dumps({**out, "broken": broken}))
    return 1 if broken else 0


if __name__ == "__main__":
    raise SystemExit(main())
