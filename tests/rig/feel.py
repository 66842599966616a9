"""Devices that vibrate by the standards: their descriptors, and what they do with the reports they get.

The PID pad is written after the example descriptor of USB-IF's PID 1.0 (structure and usages read in public copies of
it, the rest from memory): the same reports, collections, ranges and units, without envelopes and conditions. Report ids
are ours. Ids of vendor and product are those of `pad`.

A device says which of its motors run: `felt` gets the set of running motors each time it changes.
"""

from __future__ import annotations

from station.hid.decode import selected_in, value_in
from station.hid.descriptor import parse_descriptor
from station.hid.types import Field, Layout, ReportLayout

_PAD = "05 01 09 05 A1 01 85 01 09 30 09 31 15 00 26 FF 00 75 08 95 02 81 02"
PAD_HEAD = bytes.fromhex(_PAD)
_BLOCK = "09 22 15 01 25 28 35 01 45 28 75 08 95 01"
"""Effect Block Index 1…40"""
_MS = "15 00 26 FF 7F 35 00 46 FF 7F 66 03 10 55 FD 75 10"
"""0…32767 ms: English linear system, seconds, exponent −3"""
_PLAIN = "55 00 66 00 00"
_TYPES = "09 25 A1 02 {types} 15 01 25 {count:02X} 35 01 45 {count:02X} 75 08 95 01 {item} 00 C0"
_EFFECT = (
    "05 0F 09 21 A1 02 85 11" + _BLOCK + "91 02" + _TYPES
    + "09 50 09 54 09 51" + _MS + "95 03 91 02" + _PLAIN
    + "09 52 15 00 26 FF 00 35 00 46 10 27 75 08 95 01 91 02"  # Gain
    + "09 53 15 01 25 08 35 01 45 08 75 08 95 01 91 02"  # Trigger Button
    + "09 55 A1 02 05 01 {axes} 15 00 25 01 35 00 45 01 75 01 95 {motors:02X} 91 02 C0"
    + "05 0F 09 56 95 01 91 02 95 {pad:02X} 91 03"
    + "09 57 A1 02 0B 01 00 0A 00 0B 02 00 0A 00 15 00 26 FF 00 35 00 46 68 01 75 08 95 02 91 02 C0"
    + "05 0F 09 58 A1 02 0B 01 00 0A 00 0B 02 00 0A 00 26 FD 7F 75 10 95 02 91 02 C0"  # not for a managed pool
    + "05 0F 09 A7" + _MS + "95 01 91 02" + _PLAIN + "C0"
)  # fmt: skip
_PERIODIC = (
    "09 6E A1 02 85 14" + _BLOCK + "91 02 09 70 15 00 26 FF 00 35 00 46 10 27 91 02"
    + "09 6F 15 80 25 7F 36 F0 D8 46 10 27 91 02 09 71 15 00 26 FF 00 35 00 46 68 01 91 02"
    + "09 72" + _MS + "95 01 91 02" + _PLAIN + "C0"
)  # fmt: skip
_CONSTANT = "09 73 A1 02 85 15" + _BLOCK + "91 02 09 70 16 01 FF 26 FF 00 36 F0 D8 46 10 27 75 10 95 01 91 02 C0"
_OPERATION = (
    "09 77 A1 02 85 1A" + _BLOCK + "91 02 09 78 A1 02 09 79 09 7A 09 7B 15 01 25 03 75 08 95 01 91 00 C0"
    "09 7C 15 00 26 FF 00 35 00 46 FF 00 91 02 C0"
)
_FREE = "09 90 A1 02 85 1B" + _BLOCK + "91 02 C0"
_CONTROL = "09 95 A1 02 85 1C 09 96 A1 02 09 97 09 98 09 99 09 9A 09 9B 09 9C 15 01 25 06 75 08 95 01 91 00 C0 C0"
_GAIN = "09 7D A1 02 85 1D 09 7E 15 00 26 FF 00 35 00 46 10 27 75 08 95 01 91 02 C0"
_CREATE = (
    "09 AB A1 02 85 01" + _TYPES + "05 01 09 3B 15 00 26 FF 01 35 00 46 FF 01 75 0A 95 01 B1 02 75 06 B1 01 C0 05 0F"
)
_LOAD = (
    "09 89 A1 02 85 02" + _BLOCK + "B1 02 09 8B A1 02 09 8C 09 8D 09 8E 15 01 25 03 35 01 45 03 75 08 95 01 B1 00 C0"
    "09 AC 15 00 27 FF FF 00 00 35 00 47 FF FF 00 00 75 10 95 01 B1 02 C0"
)
CONSTANT, RAMP, SQUARE, SINE = 0x26, 0x27, 0x30, 0x31
PID_PAGE = 0xF_0000


def pid_descriptor(types: tuple[int, ...] = (CONSTANT, RAMP, SQUARE, SINE), motors: int = 2) -> bytes:
    """A pad with a PID part that offers these types of effects and so many axes."""
    listed = " ".join(f"09 {usage:02X}" for usage in types)
    axes = " ".join(f"09 {0x30 + n:02X}" for n in range(motors))
    effect = _EFFECT.format(types=listed, count=len(types), item="91", axes=axes, motors=motors, pad=7 - motors)
    create = _CREATE.format(types=listed, count=len(types), item="B1")
    parts = (_PAD, effect, _PERIODIC, _CONSTANT, _OPERATION, _FREE, _CONTROL, _GAIN, create, _LOAD, "C0")
    return bytes.fromhex("".join(parts))


class Vibrating:
    """What both kinds of devices share: which motors run."""

    def __init__(self, descriptor: bytes) -> None:
        self.layout: Layout = parse_descriptor(descriptor)
        self.felt: list[frozenset[int]] = []
        self.faults: list[str] = []
        """what a real device would not have understood"""

    def runs(self, motors: frozenset[int]) -> None:
        if motors != (self.felt[-1] if self.felt else frozenset()):
            self.felt.append(motors)

    def report(self, kind: str, report_id: int) -> ReportLayout:
        return next(r for r in self.layout.reports if (r.kind, r.report_id) == (kind, report_id))

    def number(self, report: ReportLayout, usage: int, data: bytes, place: int = 0) -> int:
        field = [f for f in report.fields if f.usage == usage][place]
        value = value_in(field, data)
        assert value is not None
        return value


class PidPad(Vibrating):
    """A PID device with a pool of `room` effects. `answers` of Block Load before the true one can be set."""

    def __init__(self, descriptor: bytes, room: int = 4) -> None:
        super().__init__(descriptor)
        self.room = room
        self.slow = 0
        """how often Block Load says nothing yet"""
        self.refuses = False
        self.effects: dict[int, dict[str, int]] = {}
        self.playing: set[int] = set()
        self.enabled = False
        self.gain = 0
        self._next = 7
        """blocks are numbered from here, so that nobody can guess them"""
        self._loaded: bytes = bytes(5)

    def written(self, data: bytes) -> None:
        """An output report."""
        report = self.report("output", data[0])
        if len(data) != report.width:
            self.faults.append(f"report {data[0]:02x} has {len(data)} bytes, not {report.width}")
        named = {c.usage & 0xFF for f in report.fields for c in f.collections}
        if 0x21 in named:
            self._set_effect(report, data)
        elif named & {0x6E, 0x73}:
            self._block(report, data)["magnitude"] = self.number(report, PID_PAGE | 0x70, data)
            if 0x6E in named:
                self._block(report, data)["period"] = self.number(report, PID_PAGE | 0x72, data)
        elif 0x77 in named:
            self._operate(report, data)
        elif 0x90 in named:
            index = self.number(report, PID_PAGE | 0x22, data)
            if self.effects.pop(index, None) is None:
                self.faults.append(f"block {index} is freed and was not taken")
            self.playing.discard(index)
        elif 0x95 in named:
            self.enabled = self._chosen(report, data) == 0x97
        elif 0x7D in named:
            self.gain = self.number(report, PID_PAGE | 0x7E, data)
        self._run()

    def feature(self, data: bytes) -> None:
        """A feature report: Create New Effect."""
        chosen = self._chosen(self.report("feature", data[0]), data)
        if self.refuses:
            self._loaded = bytes((2, 0, 3, 0, 0))
        elif len(self.effects) >= self.room:
            self._loaded = bytes((2, 0, 2, 0, 0))
        else:
            self.effects[self._next] = {"type": chosen}
            self._loaded = bytes((2, self._next, 1, 9, 0))
            self._next += 3

    def get(self, report_id: int) -> bytes | None:
        """Block Load is the only report to read."""
        if report_id != 2:
            return None
        if self.slow:
            self.slow -= 1
            return bytes((2, 0, 0, 0, 0))
        return self._loaded

    def _set_effect(self, report: ReportLayout, data: bytes) -> None:
        effect = self._block(report, data)
        if self._chosen(report, data) != effect.get("type"):
            self.faults.append("the type differs from that of the block")
        axes = [f for f in report.fields if any(c.usage == PID_PAGE | 0x55 for c in f.collections)]
        directions = [f for f in report.fields if any(c.usage == PID_PAGE | 0x57 for c in f.collections)]
        effect["axes"] = sum((value_in(f, data) or 0) << n for n, f in enumerate(axes))
        effect["direction"] = value_in(directions[0], data) or 0
        for name, usage in (("duration", 0x50), ("gain", 0x52), ("button", 0x53), ("delay", 0xA7), ("repeat", 0x54)):
            effect[name] = self.number(report, PID_PAGE | usage, data)

    def _operate(self, report: ReportLayout, data: bytes) -> None:
        index, chosen = self.number(report, PID_PAGE | 0x22, data), self._chosen(report, data)
        if index not in self.effects:
            self.faults.append(f"block {index} is operated and was not taken")
        elif chosen == 0x79:
            self.playing.add(index)
        elif chosen == 0x7B:
            self.playing.discard(index)

    def _run(self) -> None:
        """An effect is felt that is started, on an enabled device, with magnitude, gains and duration above 0."""
        told = [self.effects[index] for index in self.playing]
        strong = [e for e in told if e.get("magnitude") and e.get("gain") and e.get("duration") and self.gain]
        axes = {n for e in strong for n in range(2) if e["axes"] >> n & 1}
        self.runs(frozenset(axes if self.enabled else ()))

    def _block(self, report: ReportLayout, data: bytes) -> dict[str, int]:
        index = self.number(report, PID_PAGE | 0x22, data)
        if index not in self.effects:
            self.faults.append(f"block {index} is set and was not taken")
        return self.effects.get(index, {})

    def _chosen(self, report: ReportLayout, data: bytes) -> int:
        array = next(f for f in report.fields if f.is_array)
        return selected_in(array, data) & 0xFF


# --- haptics ----------------------------------------------------------------------------------------

_CONTROLLER = (
    "05 0E 09 01 A1 02 85 {list:02X} 09 10 A1 02 05 0A 09 03 09 04 09 05 15 00 27 FF FF 00 00 75 10 95 03 B1 02 C0"
    "05 0E 09 11 A1 02 05 0A 09 03 09 04 09 05 95 03 B1 02 C0"
    "05 0E 85 {out:02X} 09 21 15 01 25 05 75 08 95 01 91 02 09 23 15 00 25 64 91 02 09 24 25 0F 91 02"
    "09 25 26 E8 03 66 01 10 55 FD 75 10 91 02 09 28 26 10 27 91 02 66 00 00 55 00 C0"
)
"""Waveform List and Duration List of ordinals 3…5; Manual Trigger, Intensity 0…100, Repeat Count 0…15, Retrigger Period
0…1000 ms, Waveform Cutoff Time 0…10000 ms"""


def haptic_descriptor(motors: int = 2, *, one_report: bool = False) -> bytes:
    """A pad with so many Simple Haptic Controllers; `one_report`: their triggers stand in one output report."""
    made = (_CONTROLLER.format(list=0x30 + n, out=0x40 if one_report else 0x40 + n) for n in range(motors))
    return bytes.fromhex(_PAD + "".join(made) + "C0")


class HapticPad(Vibrating):
    """Simple Haptic Controllers; `waves` are the wave forms of ordinals 3…5, the same for each."""

    def __init__(self, descriptor: bytes, waves: tuple[int, int, int] = (0x1003, 0x1005, 0x1004)) -> None:
        super().__init__(descriptor)
        self.waves = waves
        self.played: list[dict[str, int]] = []
        self._running: set[int] = set()

    def written(self, data: bytes) -> None:
        """An output report; motors are counted over the reports in order."""
        report = self.report("output", data[0])
        if len(data) != report.width:
            self.faults.append(f"report {data[0]:02x} has {len(data)} bytes, not {report.width}")
        first = sum(len(self._triggers(r)) for r in self.layout.reports if r.kind == "output" and r.report_id < data[0])
        for place in range(len(self._triggers(report))):
            told = {
                name: self.number(report, 0xE_0000 | usage, data, place)
                for name, usage in (
                    ("trigger", 0x21), ("intensity", 0x23), ("repeats", 0x24), ("period", 0x25), ("cutoff", 0x28),
                )
            }  # fmt: skip
            if told["trigger"] == 2:
                self._running.discard(first + place)
            elif told["trigger"] > 2:
                self._running.add(first + place)
                self.played.append(told | {"wave": self.waves[told["trigger"] - 3]})
        self.runs(frozenset(self._running))

    def feature(self, data: bytes) -> None:
        self.faults.append(f"feature report {data[0]:02x} was set")

    def get(self, report_id: int) -> bytes | None:
        """The list of wave forms and their durations, 0 for those that last."""
        durations = (10, 0, 0)
        return bytes((report_id,)) + b"".join(n.to_bytes(2, "little") for n in self.waves + durations)

    def _triggers(self, report: ReportLayout) -> list[Field]:
        return [f for f in report.fields if f.usage == 0xE_0021]
