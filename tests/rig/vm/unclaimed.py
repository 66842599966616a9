"""Pads that a kernel driver of their own claims, on a real kernel: listed, read, given back, whatever ends the reader.

The kernel's own driver is the witness for what the bits mean: the same reports go to it and to our sheet.
"""

from __future__ import annotations

import os
import signal
import struct
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from station import RESOURCES
from station.bench.auto import AutoPerson
from station.bench.memory import MemoryRecorder
from station.bench.plan import plan
from station.bench.runner import SessionThread
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Event, SessionView, SourceLost
from station.errors import DeviceBusy, DeviceError, DeviceLost
from station.hid.types import Layout, ReportBlock
from station.records.types import Unit
from station.sheets.bind import Binding, bind
from station.sheets.learn import learn, walk
from station.sheets.learn.types import Observed
from station.sheets.library import match, sheets_in
from station.sheets.model import Sheet
from station.sheets.signals import ButtonSignal, Signal, StickSignal, TriggerSignal
from station.sources.conversation import Conversation, Step
from station.sources.devices import Appeared, DeviceWatcher, list_devices
from station.sources.port import DeviceInfo
from station.sources.simulated import PadDesign, SimulatedHand, SimulatedSource, UnitSpec
from station.sources.steady import SteadySource
from station.sources.usb import UsbSource
from station.sources.vendor_class import interfaces
from tests.rig import claimed
from tests.rig.claimed import Held
from tests.rig.handed import Feeder, ShiftedHand
from tests.rig.vm import evdev
from tests.rig.vm.talk import until
from tests.rig.vm.vendor_pad import VendorPad
from tests.sheets.learn_hand import NO_SLIPS, walked
from tests.sheets.learn_pads import Pad
from tests.sheets.learn_truth import judged
from tests.sheets.vendor_pads import vendor_pad

RATES_HZ = (125.0, 250.0, 1000.0)
SECONDS = 2.0
BACK_WITHIN_S = 10.0
RATE_HZ = 125
"""of the simulated pad: the loop-back controller moves no more than some 250 reports a second"""
WANTED = {("rest", "left_stick"), ("rim", "left_stick"), ("light", "left_shoulder"), ("rumble", "")}
LONGEST_VISIT_S = 240.0
TAUGHT = 7008
"""which pad of tests/sheets/vendor_pads.py is taught: 125 reports a second, beside them those of another kind"""
ENDS = 6
"""readers that are ended in turn; `claims` does a hundred"""
NO_LAYOUT = Layout((), (), False)
_KEYS = {
    "south": 0x130, "east": 0x131, "west": 0x133, "north": 0x134, "left_shoulder": 0x136, "right_shoulder": 0x137,
    "centre_left": 0x13A, "centre_right": 0x13B, "middle": 0x13C, "left_stick_press": 0x13D, "right_stick_press": 0x13E,
}  # fmt: skip
"""codes of linux/input-event-codes.h that the driver gives; it calls west and north by letters that stand the other way
round there"""
_PADS = {"pad_up": (0x11, -1), "pad_down": (0x11, 1), "pad_left": (0x10, -1), "pad_right": (0x10, 1)}
_STICKS = {"left_stick": (0x00, 0x01), "right_stick": (0x03, 0x04)}
_TRIGGERS = {"left_trigger": 0x02, "right_trigger": 0x05}


def unclaimed(v: Any) -> None:
    """All of it. `v` is the guest's verdict."""
    with _pad(claimed.WIRED) as device:
        _listed(v)
        _as_the_kernel_reads(v, device, claimed.wired, set(claimed.WIRED_BITS))
        _rates(v, device)
        _given_back(v, ENDS)
        _works_as_before(v, device, claimed.wired)
        _told(v, device)
        _taught(v, device)
    with _pad(claimed.STARTED) as device:
        _as_the_kernel_reads(v, device, claimed.started, set(claimed.STARTED_BITS))
        _spoken_to(v, device)


def claims(v: Any) -> None:
    """A hundred readers ended, every other one by a kill."""
    with _pad(claimed.WIRED) as device:
        _given_back(v, 100)
        _works_as_before(v, device, claimed.wired)


def visit(v: Any) -> None:
    """A visit with a simulated hand."""
    with _pad(claimed.WIRED) as device:
        _visit(v, device)
        _works_as_before(v, device, claimed.wired)


# --- what is there -----------------------------------------------------------------------------------------


@contextmanager
def _pad(protocol: tuple[int, int]) -> Iterator[VendorPad]:
    """A pad that the kernel's driver has."""
    device = VendorPad((claimed.VENDOR, claimed.PRODUCT), protocol, claimed.NAME, claimed.SERIAL)
    try:
        until(lambda: driver() not in ("", "usbfs"), "the kernel's driver")
        yield device
    finally:
        device.remove()
        until(lambda: not interfaces(), "the pad to be gone")


def driver() -> str:
    """Who holds the pad's interface; empty for nobody."""
    return next((one.driver for one in interfaces()), "")


def _info() -> DeviceInfo:
    found: list[DeviceInfo] = []
    until(lambda: found.extend(d for d in list_devices() if d.interface) or found, "the pad in the list")
    return found[0]


def _sheet(info: DeviceInfo) -> Sheet:
    sheet = match(sheets_in(RESOURCES / "sheets"), info.vendor_id, info.product_id, info.product, info.interface)
    assert sheet is not None
    return sheet


@contextmanager
def _opened(talk: Conversation | None = None) -> Iterator[UsbSource]:
    """The pad, open with what its sheet says, and given back at the end."""
    info = _info()
    source = UsbSource(info, _sheet(info).talk if talk is None else talk)
    try:
        source.wait_open(30)
        yield source
    finally:
        source.close()
        source.join(30)
        _back()


def _back() -> float:
    """Until the kernel's driver has it again; the seconds it took."""
    return until(lambda: driver() not in ("", "usbfs"), "the kernel's driver to have it back", BACK_WITHIN_S)


def _listed(v: Any) -> None:
    """Once, with what it says of itself, and without being taken from the kernel's driver."""
    kernels = driver()
    info = _info()
    v.must(driver() == kernels, "it was taken from the kernel's driver to be listed")
    v.must((info.product, info.serial) == (claimed.NAME, claimed.SERIAL), f"it is listed as {info}")
    v.must(not info.problem and not info.descriptor, f"it is listed with {info.problem!r}")
    v.tell(f"listed as {info.key} with interface {info.interface}, held by the kernel's driver", key=info.key)


# --- what the bits mean ------------------------------------------------------------------------------------


def _cases(places: set[str]) -> Iterator[Held]:
    """Every button alone, then sticks and triggers at steps wide enough for the driver's filter."""
    yield Held()
    for name in sorted(places):
        yield Held({name})
        yield Held()
    draw = np.random.default_rng(15)
    for _ in range(12):
        axes = {name: int(draw.integers(-32768, 32768)) for name in claimed.AXES}
        yield Held((), axes, *draw.uniform(0, 1, 2))
    yield Held()


def _as_the_kernel_reads(v: Any, device: VendorPad, packed: Callable[[Held], bytes], places: set[str]) -> None:
    """The same reports through the kernel's driver and through our sheet: the same buttons, sticks and triggers."""
    sheet = _sheet(_info())
    binding = bind(sheet, NO_LAYOUT)
    kernel = evdev.EventDevice(_event_device())
    state: dict[tuple[int, int], int] = {}
    wrong: list[str] = []
    compared = 0
    try:
        time.sleep(0.2)
        for held in _cases(places):
            report = packed(held)
            device.feed(report)
            state |= kernel.events(0.2 if held != Held() else 0.05)
            if held != Held() or compared == 0:
                wrong += _differences(_read(binding, report), state)
                compared += 1
    finally:
        kernel.close()
    v.must(not wrong, f"the sheet {sheet.name} reads otherwise than the kernel's driver: {wrong[:4]}")
    seen = len({c for c in state if state})
    v.must(seen >= len(places) - 2, f"the kernel's driver told of {seen} inputs only")
    v.tell(
        f"{sheet.name}: {compared} reports read as the kernel's driver reads them", **{sheet.interfaces[0]: compared}
    )


def _event_device() -> str:
    """The kernel's event device of the pad, whatever the driver calls it."""
    found: list[str] = []

    def look() -> bool:
        for folder in Path("/sys/class/input").glob("event*"):
            ids = [(folder / "device/id" / key).read_text().strip() for key in ("vendor", "product")]
            if ids == [f"{claimed.VENDOR:04x}", f"{claimed.PRODUCT:04x}"]:
                found.append(f"/dev/input/{folder.name}")
        return bool(found)

    until(look, "the event device of the pad")
    return found[0]


def _read(binding: Binding, report: bytes) -> dict[str, Signal]:
    raw = np.frombuffer(report, np.uint8)[None, :]
    return binding.signals(ReportBlock(0, np.zeros(1, np.int64), np.array([len(report)], np.uint16), raw))


def _differences(ours: dict[str, Signal], state: dict[tuple[int, int], int]) -> list[str]:
    """What the kernel's driver says otherwise. It counts down what we count up; nothing told yet is at rest."""
    wrong = []
    for name, read in ours.items():
        if isinstance(read, ButtonSignal):
            code, down = _PADS.get(name, (_KEYS.get(name, 0), 1))
            kind = evdev.EV_ABS if name in _PADS else evdev.EV_KEY
            same = bool(read.closed[0]) == (state.get((kind, code), 0) == down)
        elif isinstance(read, StickSignal):
            x, y = (state.get((evdev.EV_ABS, code)) for code in _STICKS[name])
            same = (x is None or x == read.x_code[0]) and (y is None or ~y == read.y_code[0])
        elif isinstance(read, TriggerSignal):
            same = state.get((evdev.EV_ABS, _TRIGGERS[name]), 0) == read.code[0]
        else:
            same = False
        if not same:
            wrong.append(f"{name}: {read} where the kernel has {state}")
    return wrong


# --- reading -----------------------------------------------------------------------------------------------


def _stamped(n: int) -> bytes:
    """A report with its number and the moment of sending where the sticks stand."""
    return struct.pack("<BBIIQxx", 0x00, 0x14, 0, n, time.perf_counter_ns())


def _rates(v: Any, device: VendorPad) -> None:
    """Nothing lost, and how late the stamps are."""
    for rate_hz in RATES_HZ:
        with _opened() as source:
            v.must(driver() == "usbfs", "the kernel's driver still has it while we read")
            n = int(rate_hz * SECONDS)
            reached_hz = device.feed_at(_stamped, n, rate_hz)
            until(lambda s=source, n=n: s.written() >= n, f"{n} reports at {rate_hz:.0f} Hz")
            block, _ = source.take(0)
            lost_told, state = block.lost, source.status()
        raw = np.ascontiguousarray(block.raw[:, :20])
        numbers = raw[:, 6:10].copy().view("<u4")[:, 0]
        late_us = (block.t_ns + source._origin_ns - raw[:, 10:18].copy().view("<u8")[:, 0].astype(np.int64)) / 1e3
        lost = n - len(np.unique(numbers))
        p50, p99 = (float(x) for x in np.percentile(late_us, (50, 99)))
        v.must(lost == 0 and np.array_equal(numbers, np.arange(n)), f"{lost} of {n} lost at {rate_hz:.0f} Hz")
        v.must(lost_told == 0, f"the source tells of {lost_told} lost reports at {rate_hz:.0f} Hz")
        v.must((late_us >= 0).all(), "stamps lie before the sending")
        v.must(state.state == "live", f"the source says {state.message}")
        v.tell(
            f"asked for {rate_hz:.0f} Hz, at {reached_hz:.0f}: lost {lost} of {n}, late p50 {p50:.0f} p99 {p99:.0f} µs",
            **{f"{rate_hz:.0f}hz": {"sent": n, "lost": lost, "p50_us": round(p50), "p99_us": round(p99)}},
        )


# --- giving back -------------------------------------------------------------------------------------------


def _given_back(v: Any, times: int) -> None:
    """Readers that end in order, and readers that are killed, in turn: the kernel's driver has the pad back."""
    info, back, slowest = _info(), 0, 0.0
    talk = _sheet(info).talk
    for number in range(times):
        source = UsbSource(info, talk)
        try:
            source.wait_open(30)
            held = driver() == "usbfs"
            if number % 2:
                os.kill(source.pid, signal.SIGKILL)
            else:
                source.close()
            slowest = max(slowest, _back())
            back += held
        except (DeviceError, TimeoutError) as error:
            v.must(False, f"reader {number}: {error}")
        finally:
            source.close()
            source.join(30)
    v.must(back == times, f"the kernel's driver had it back {back} of {times} times")
    v.tell(f"given back {back} of {times} times, within {slowest:.1f} s", given_back=back, of=times)


def _works_as_before(v: Any, device: VendorPad, packed: Callable[[Held], bytes]) -> None:
    """The pad is a pad of the system again."""
    kernel = evdev.EventDevice(_event_device())
    try:
        time.sleep(0.2)
        device.feed(packed(Held()))
        device.feed(packed(Held({"south"})))
        told = kernel.events(1.0)
    finally:
        kernel.close()
    v.must(told.get((evdev.EV_KEY, _KEYS["south"])) == 1, f"given back, the kernel's driver tells {told}")


# --- teaching ----------------------------------------------------------------------------------------------


def _taught(v: Any, device: VendorPad) -> None:
    """A hand walks through the prompts on a pad that begins each report with its kind; the sheet learned reads as the
    pad's own does."""
    pad = _some_controls(vendor_pad(TAUGHT))
    observed, cursor = [], 0
    with _opened(Conversation()) as source:
        for told in walked(pad, walk(pad.truth.controls), slips=NO_SLIPS):
            begin_ns = source.now_ns()
            _feed_in_time(device, told.block, source.written)
            block, cursor = source.take(cursor)
            observed.append(Observed(told.step, block, begin_ns, source.now_ns()))
    sent = sum(len(one.block) for one in observed)
    learned = learn(observed, name=pad.truth.name)
    found = judged(pad, learned)
    v.must(set(found.values()) == {"right"}, f"taught, {found}; asked: {[q.text for q in learned.questions]}")
    v.tell(f"taught from {sent} reports of {pad.traits['kinds']} kinds: {', '.join(found)}", taught=len(found))


def _some_controls(pad: Pad) -> Pad:
    """The pad with a stick, a trigger and a button to be taught."""
    first = {control.kind: control for control in reversed(pad.truth.controls)}
    kept = tuple(first[kind] for kind in ("stick", "trigger", "button"))
    return replace(pad, truth=replace(pad.truth, controls=kept))


def _feed_in_time(device: VendorPad, block: ReportBlock, written: Callable[[], int]) -> None:
    """The reports as far apart as they were; when it is over all of them have arrived."""
    before, begin_s = written(), time.perf_counter()
    for t_ns, size, raw in zip(block.t_ns, block.size, block.raw, strict=True):
        while time.perf_counter() - begin_s < (t_ns - block.t_ns[0]) / 1e9:
            time.sleep(0.0005)
        device.feed(raw[:size].tobytes())
    until(lambda: written() >= before + len(block), f"{len(block)} reports")


# --- a visit -----------------------------------------------------------------------------------------------


def _visit(v: Any, device: VendorPad) -> None:
    """The session with a simulated hand on it: a stick, a light press, the motors; unplugged in the middle and back."""
    hand = SimulatedHand(skill=0.95, seed=15)
    unit = SimulatedSource(UnitSpec(PadDesign("16bit", RATE_HZ), 7, (), "RIG"), hand, clock_ns=time.perf_counter_ns)
    info = _info()
    sheet = claimed.for_the_simulated_hand(_sheet(info))
    steps = tuple(step for step in plan(sheet) if (step.check, step.control) in WANTED)
    source = SteadySource(info, _opener(sheet))
    recorder = MemoryRecorder()
    on_bench = UnitOnBench(Unit("unit", "RIG-02", sheet.name), source, bind(sheet, NO_LAYOUT))
    session = Session(on_bench, VisitPlan(steps=steps), BenchSetup(recorder))
    person = AutoPerson(sheet, ShiftedHand(hand, unit.now_ns() - source.now_ns()), session.do, source.now_ns)
    watcher, thread = DeviceWatcher(), SessionThread(session)
    feeder = Feeder(unit, lambda report: claimed.wired(claimed.as_simulated(report)))
    device.written.clear()
    unplugs = _Unplugs(device, feeder)
    try:
        watcher.wait_first()
        feeder.device = device
        thread.start()
        end = time.monotonic() + LONGEST_VISIT_S
        while not session.finished and time.monotonic() < end:
            view = session.view()
            unplugs.turn(view, session.take_events(), person)
            for event in watcher.take_events():
                if isinstance(event, Appeared) and source.status().state == "lost":
                    source.reopen(event.info)
            if not _feels(view) or _felt(device, sheet):
                person.act(view)
            time.sleep(0.01)
        v.must(session.finished, f"the visit came to no end: {session.view().message or session.view().again}")
    finally:
        thread.stop()
        watcher.close()
        feeder.device = None
        source.close()
        _back()
    tries = [(r.check, r.assessment.outcome.value) for r in recorder.results]
    done = {check for check, outcome in tries if outcome == "pass"}
    v.must(done == {check for check, _ in WANTED}, f"the visit came to {tries}")
    v.must(("rim", "interrupted") in tries, f"the unplug interrupted nothing: {tries}")
    until(lambda: _to_motors(device, sheet)[-1:] == [sheet.rumble["off"]], "the motors to be stopped last")
    said = ", ".join(f"{check} {outcome}" for check, outcome in tries)
    v.tell(f"visit: {said}; motors felt and stopped", visit=tries)


class _Unplugs:
    """Pulls the plug once, a second into the rim, and puts it in again when that was told."""

    def __init__(self, device: VendorPad, feeder: Feeder) -> None:
        self._device, self._feeder = device, feeder
        self._at: float | None = None
        self._over = False

    def turn(self, view: SessionView, events: Sequence[Event], person: AutoPerson) -> None:
        """What happened since the last turn."""
        for event in events:
            person.handle(event, view)
            if isinstance(event, SourceLost):
                self._device.plug()
        check = view.steps[view.current].step.check if view.current >= 0 else ""
        if check == "rim" and view.running and not self._over:
            self._at = self._at or time.monotonic() + 1.0
            if time.monotonic() >= self._at:
                self._over = True
                self._device.unplug()


def _opener(sheet: Sheet) -> Callable[[DeviceInfo, int, int], UsbSource]:
    def piece(info: DeviceInfo, origin_ns: int, number: int) -> UsbSource:
        source = UsbSource(info, sheet.talk, origin_ns=origin_ns, sheet=sheet.name)
        try:
            source.wait_open(30)
        except DeviceError:
            source.close()
            raise
        return source

    return piece


def _feels(view: SessionView) -> bool:
    """Whether the person has a hand on the motors."""
    return view.running and view.current >= 0 and view.steps[view.current].step.check == "rumble"


def _to_motors(device: VendorPad, sheet: Sheet) -> list[bytes]:
    """What was said to its motors. The kernel's driver says other things as soon as it has the pad back: which of its
    lamps shall shine."""
    return [report for report in device.written if report in sheet.rumble.values()]


def _felt(device: VendorPad, sheet: Sheet) -> bool:
    """Whether one motor ran, and then the other."""
    return all(sheet.rumble[motor] in device.written for motor in ("left", "right"))


# --- a conversation ----------------------------------------------------------------------------------------


def _spoken_to(v: Any, device: VendorPad) -> None:
    """It says nothing before it was started, wants an answer, and is started again after each plug."""
    running = [False]

    def heard(report: bytes) -> None:
        running[0] = running[0] or report.startswith(claimed.START)

    for plug in range(2):
        device.written.clear()
        device.heard, running[0] = heard, False
        with _opened() as source:
            until(lambda: running[0], f"the start after plug {plug}")
            for number in range(50):
                device.feed(claimed.started(Held(), number))
            device.feed(claimed.middle(True, 0x77))
            until(lambda s=source: s.written() >= 51, "its reports")
            until(lambda: any(w[:1] == b"\x01" for w in device.written), "the answer")
            answer = next(w for w in device.written if w[:1] == b"\x01")
            v.must(answer[2] == 0x77, f"the answer bears another number: {answer.hex(' ')}")
            source.send(bytes.fromhex("09 00 00 09 00 0f 00 00 40 40 ff 00 ff"))
            until(lambda: any(w[:1] == b"\x09" for w in device.written), "the motors' report")
            numbers = [w[2] for w in device.written if w[:1] in (b"\x05", b"\x09")]
            v.must(len(set(numbers)) == len(numbers), f"what was sent bears the numbers {numbers}")
            v.must(not source.status().message, f"it says {source.status().message}")
        device.unplug()
        device.plug()
        until(lambda: driver() not in ("", "usbfs"), "the kernel's driver after a plug")
    silent = Conversation((Step(claimed.START, expect=b"\x20", within_ms=150, tries=2),))
    with _opened(silent) as source:
        until(lambda: "step 1" in source.status().message, "the word that it stays silent")
        v.tell(f"silent: {source.status().message}", spoken=True)


# --- what can go wrong -------------------------------------------------------------------------------------


def _told(v: Any, device: VendorPad) -> None:
    """One sentence each, and the kernel's driver has it back."""
    info = _info()
    with _another_program():
        said = _info().problem
        v.must("Another program holds" in said, f"held by another program, it is listed with {said!r}")
        v.must(_refused(info, DeviceBusy), "held by another program, it was opened")
    _back()
    source = UsbSource(info)
    device.unplug()
    try:
        source.wait_open(30)
        until(lambda: source.status().state == "lost", "the news that it is gone")
        said = source.status().message
    except DeviceLost as error:
        said = str(error)
    v.must("plug it in again" in said, f"unplugged while being claimed, it says {said!r}")
    source.close()
    source.join(30)
    device.plug()
    until(lambda: driver() not in ("", "usbfs"), "the kernel's driver after a plug")
    with _opened() as source:
        for report in (b"\x01\x03\x02", b"\x00", bytes(64), claimed.wired(Held({"south"}))):
            device.feed(report)
        until(lambda: source.written() >= 4, "reports of all lengths")
        block, _ = source.take(0)
        closed = bind(_sheet(info), NO_LAYOUT).signals(block)["south"]
        right = isinstance(closed, ButtonSignal) and closed.closed.tolist() == [True]
        v.must(right, f"of four reports it reads {closed}")
        _reset()
        until(lambda: device.feed(claimed.wired(Held())) and _goes_on_or_is_lost(source, 4), "life after a reset")
        v.tell(f"after a reset: {source.status().state}, {source.status().message or 'reading goes on'}")


def _goes_on_or_is_lost(source: UsbSource, reports: int) -> bool:
    return source.written() > reports or source.status().state == "lost"


def _refused(info: DeviceInfo, kind: type[DeviceError]) -> bool:
    source = UsbSource(info)
    try:
        source.wait_open(30)
    except kind:
        return True
    finally:
        source.close()
        source.join(30)
    return False


_CLAIM = """
import fcntl, struct, sys, os
handle = os.open(sys.argv[1], os.O_RDWR)
fcntl.ioctl(handle, 0xC0105512, struct.pack("iiP", 0, 0x5516, 0))  # USBDEVFS_DISCONNECT
fcntl.ioctl(handle, 0x8004550F, struct.pack("I", 0))               # USBDEVFS_CLAIMINTERFACE
print("claimed", flush=True)
sys.stdin.read()
fcntl.ioctl(handle, 0x80045510, struct.pack("I", 0))               # USBDEVFS_RELEASEINTERFACE
fcntl.ioctl(handle, 0xC0105512, struct.pack("iiP", 0, 0x5517, 0))  # USBDEVFS_CONNECT
"""


@contextmanager
def _another_program() -> Iterator[None]:
    """A program that is none of ours has the interface. It is the child of another process than ours."""
    inner = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {_CLAIM!r}, sys.argv[1]])"
    command = [sys.executable, "-c", inner, interfaces()[0].node]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as program:
        assert program.stdout is not None
        assert program.stdin is not None
        program.stdout.readline()
        try:
            yield
        finally:
            program.stdin.close()
            program.wait()


def _reset() -> None:
    """As a device does that loses its footing: the bus resets it while it is open."""
    import fcntl

    handle = os.open(interfaces()[0].node, os.O_RDWR)
    try:
        fcntl.ioctl(handle, 0x5514)  # USBDEVFS_RESET
    finally:
        os.close(handle)
