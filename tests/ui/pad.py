"""A made-up pad whose reports the test makes, each control in a report of its own, on a clock moved by hand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from station.errors import DeviceLost
from station.hid.types import ReportBlock
from station.sheets.model import Ask, Control, Part, Place, Sheet
from station.sheets.signals import ButtonSignal, HatSignal, Signal, StickSignal, TriggerSignal
from station.sources.port import Answer, DeviceInfo, Request, SourceStatus

VENDOR, PRODUCT = 0x1209, 0x0001
WIDTH = 5
FULL, PULLED, NO_DIRECTION = 32767, 65535, 8
_X, _Y, _Z, _RX, _RY, _RZ, _HAT = 0x30, 0x31, 0x32, 0x33, 0x34, 0x35, 0x39
STICKS = {"left_stick": (_X, _Y), "right_stick": (_Z, _RZ)}
TRIGGERS = {"left_trigger": _RX, "right_trigger": _RY}
HAT = "direction_pad"
BUTTONS = (
    ("left_shoulder", "Left shoulder", "top", "right_shoulder"),
    ("right_shoulder", "Right shoulder", "top", "left_shoulder"),
    ("south", "South", "right hand", "north"),
    ("east", "East", "right hand", "west"),
    ("west", "West", "right hand", "east"),
    ("north", "North", "right hand", "south"),
    ("left_stick_press", "Left stick press", "left hand", "right_stick_press"),
    ("right_stick_press", "Right stick press", "right hand", "left_stick_press"),
    ("back_left", "Back left", "back", "back_right"),
    ("back_right", "Back right", "back", "back_left"),
)
CONTROLS = (*STICKS, *TRIGGERS, HAT, *(b[0] for b in BUTTONS))
REPORT_ID = {control: number for number, control in enumerate(CONTROLS, start=1)}


def _desktop(usage: int) -> Place:
    return Place(usage=0x0001_0000 | usage)


def plover(name: str = "Plover T2", drawn_up: bool = False) -> Sheet:
    """Its model sheet."""
    (left_x, left_y), (right_x, right_y) = ((_desktop(x), _desktop(y)) for x, y in STICKS.values())
    controls = [
        Control("left_stick", "stick", "Left stick", "left hand", "right_stick", x=left_x, y=left_y),
        Control("right_stick", "stick", "Right stick", "right hand", "left_stick", x=right_x, y=right_y),
        Control("left_trigger", "trigger", "Left trigger", "top", "right_trigger", at=_desktop(_RX)),
        Control("right_trigger", "trigger", "Right trigger", "top", "left_trigger", at=_desktop(_RY)),
        *(
            Control(i, "button", n, z, t, at=Place(usage=0x0009_0000 | k))  # type: ignore[arg-type]
            for k, (i, n, z, t) in enumerate(BUTTONS, start=1)
        ),
        Control(HAT, "hat", "Direction pad", "left hand", at=_desktop(_HAT)),
    ]  # fmt: skip
    return Sheet(
        name,
        match=((VENDOR, PRODUCT),),
        controls=tuple(controls),
        asks=(
            Ask("rumble", "Does it rumble left and right?"),
            Ask("charge", "Charge light on, and the meter's reading.", ("V", "A")),
        ),
        parts=(Part("left_stick_x", "Left stick sensor, horizontal", ("left_stick.x",)),),
        drawn_up=drawn_up,
    )


def _descriptor() -> bytes:
    """A game pad: each control an input report of its own (USB HID 1.11, §6.2.2)."""
    items = bytes.fromhex("0501 0905 a101")
    for control, number in REPORT_ID.items():
        items += bytes((0x85, number))
        if control in STICKS:
            x, y = STICKS[control]
            items += bytes((0x09, x, 0x09, y)) + bytes.fromhex("160180 26ff7f 7510 9502 8102")
        elif control in TRIGGERS:
            items += bytes((0x09, TRIGGERS[control])) + bytes.fromhex("1500 27ffff0000 7510 9501 8102")
        elif control == HAT:
            items += bytes((0x09, _HAT)) + bytes.fromhex("1500 2507 7504 9501 8142 7504 9501 8103")
        else:
            usage = next(k for k, b in enumerate(BUTTONS, start=1) if b[0] == control)
            items += bytes((0x05, 0x09, 0x09, usage)) + bytes.fromhex("1500 2501 7501 9501 8102 7507 9501 8103 0501")
    return items + b"\xc0"


DEVICE = DeviceInfo("pad:1", VENDOR, PRODUCT, "Plover T2", "PT2-0419", "usb", _descriptor(), (0x0001_0005,))


class Pad:
    """The Source port. `feed` sends reports; `advance` moves its clock; `unplug` and `reopen` are the cable."""

    realtime = False

    def __init__(self, info: DeviceInfo = DEVICE) -> None:
        self.info = info
        self.now = 0
        self.state = "live"
        self._t = np.zeros(0, np.int64)
        self._raw = np.zeros((0, WIDTH), np.uint8)
        self._due = self._t, self._raw

    # --- for tests ---------------------------------------------------------------------------------------

    def feed(self, **signals: Signal) -> None:
        """These controls report that, each report when its time has come. None may come before one that is sent."""
        blocks = [self._due, *((s.t_ns, _reports(control, s)) for control, s in signals.items())]
        t, raw = np.concatenate([b[0] for b in blocks]), np.concatenate([b[1] for b in blocks])
        order = np.argsort(t, kind="stable")
        assert not len(self._t) or t.min() >= self._t[-1], "reports come in order of time"
        self._due = t[order], raw[order]
        self._send()

    def advance(self, seconds: float) -> None:
        self.now += round(seconds * 1e9)
        self._send()

    def _send(self) -> None:
        t, raw = self._due
        n = int(np.searchsorted(t, self.now, side="right"))
        if n:
            self._t, self._raw = np.concatenate((self._t, t[:n])), np.concatenate((self._raw, raw[:n]))
            self._due = t[n:], raw[n:]

    def unplug(self) -> None:
        self.state = "lost"

    def reopen(self, info: DeviceInfo) -> None:
        self.info, self.state = info, "live"

    # --- the port ----------------------------------------------------------------------------------------

    def now_ns(self) -> int:
        return self.now

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        cursor = min(cursor, len(self._t))
        end = min(cursor + limit, len(self._t))
        t = self._t[cursor:end]
        return ReportBlock(cursor, t, np.full(len(t), WIDTH, np.uint16), self._raw[cursor:end]), end

    def status(self) -> SourceStatus:
        message = "The unit was unplugged; plug it in again." if self.state == "lost" else ""
        return SourceStatus(self.state, 0, "process", 60.0, message)  # type: ignore[arg-type]

    def send(self, report: bytes, *, feature: bool = False) -> None:
        raise DeviceLost("The pad takes no reports.")

    def at_end(self, reports: Sequence[tuple[bytes, bool]]) -> None:
        """Nothing has to be sent."""

    def ask_feature(self, report_id: int) -> Request:
        return Request(Answer(problem="the pad has none"))

    def ask_system(self) -> Request:
        return Request(Answer(problem="the system keeps nothing of it"))

    def close(self) -> None:
        self.state = "ended"


def _reports(control: str, signal: Signal) -> np.ndarray:
    """uint8[n, WIDTH]: how the pad says that."""
    raw = np.zeros((len(signal.t_ns), WIDTH), np.uint8)
    raw[:, 0] = REPORT_ID[control]
    if isinstance(signal, StickSignal):
        for at, share in ((1, signal.x_pct), (3, -signal.y_pct)):
            codes = np.clip(np.round(share / 100 * FULL), -FULL, FULL).astype("<i2")
            raw[:, at : at + 2] = codes.view(np.uint8).reshape(-1, 2)
    elif isinstance(signal, TriggerSignal):
        raw[:, 1:3] = np.round(signal.pct / 100 * PULLED).astype("<u2").view(np.uint8).reshape(-1, 2)
    elif isinstance(signal, ButtonSignal):
        raw[:, 1] = signal.closed
    elif isinstance(signal, HatSignal):
        raw[:, 1] = np.where(signal.direction < 0, NO_DIRECTION, signal.direction)
    return raw


def button(t_ns: int, closed: bool) -> ButtonSignal:
    return ButtonSignal(np.array([t_ns]), np.array([closed]))


def stick(t_ns: object, x: object, y: object) -> StickSignal:
    """A stick at those places, in %; arrays or single values."""
    t, a, b = (np.atleast_1d(v) for v in (t_ns, x, y))
    code = np.zeros(len(t), np.int64)
    return StickSignal(t.astype(np.int64), a.astype(float), b.astype(float), code, code, 0.4, 0.4)


def trigger(t_ns: object, pct: object) -> TriggerSignal:
    t, a = np.atleast_1d(t_ns), np.atleast_1d(pct)
    return TriggerSignal(t.astype(np.int64), a.astype(float), np.zeros(len(t), np.int64), 0.4)


def hat(t_ns: int, direction: int) -> HatSignal:
    return HatSignal(np.array([t_ns]), np.array([direction], np.int8))
