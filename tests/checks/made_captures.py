"""A whole unit at the bench, made up: 20 controls, every check, one movement after the other, as real HID reports.

Only movements and contacts are made here; packing them into reports and reading them back is the program's own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from station.capture.types import Capture, CaptureMeta, Mark
from station.hid import encode_many, parse_descriptor
from station.hid.types import ReportBlock
from station.sheets.model import Control, Place, Sheet
from tests.checks import axis_moves

MS = 1_000_000
HZ = 1000
NULL_HAT = 8

DESCRIPTOR = bytes.fromhex(
    "05 01 09 05 A1 01 85 01"
    "09 30 09 31 09 32 09 35 16 00 80 26 FF 7F 75 10 95 04 81 02"  # X Y Z Rz, 16 bits signed
    "05 02 09 C4 09 C5 15 00 26 FF 00 75 08 95 02 81 02"  # accelerator, brake, 8 bits
    "05 01 09 39 15 00 25 07 35 00 46 3B 01 65 14 75 04 95 01 81 42 65 00 45 00"  # hat with null state
    "05 09 19 01 29 0F 15 00 25 01 75 01 95 0F 81 02 75 01 95 05 81 03 C0"  # 15 buttons, padding
)
X, Y, Z, RZ = 0x01_0030, 0x01_0031, 0x01_0032, 0x01_0035
PULL, BRAKE, HAT = 0x02_00C4, 0x02_00C5, 0x01_0039


def button(number: int) -> int:
    """The usage of a button."""
    return 0x09_0000 | number


def _button(number: int) -> Control:
    twin = {1: 2, 2: 1, 3: 4, 4: 3, 5: 6, 6: 5, 7: 8, 8: 7, 9: 10, 10: 9, 11: 12, 12: 11, 13: 14, 14: 13}.get(number)
    return Control(
        f"key_{number}",
        "button",
        f"Key {number}",
        twin=None if twin is None else f"key_{twin}",
        at=Place(usage=button(number)),
    )


SHEET = Sheet(
    "Plover T2",
    match=((0x1209, 0x0001),),
    controls=(
        Control("left_stick", "stick", "Left stick", "left hand", x=Place(usage=X), y=Place(usage=Y)),
        Control("right_stick", "stick", "Right stick", "right hand", x=Place(usage=Z), y=Place(usage=RZ)),
        Control("left_trigger", "trigger", "Left trigger", "top", at=Place(usage=PULL)),
        Control("right_trigger", "trigger", "Right trigger", "top", at=Place(usage=BRAKE)),
        Control("d_pad", "hat", "D-pad", "left hand", at=Place(usage=HAT)),
        *(_button(n) for n in range(1, 16)),
    ),
)


@dataclass
class Script:
    """What happens, one stretch after the other; `add` brackets each with the marks of its check."""

    segments: list[dict[int, np.ndarray]] = field(default_factory=list)
    lengths: list[int] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)

    @property
    def now(self) -> int:
        """Ticks of 1 ms so far."""
        return sum(self.lengths)

    def add(
        self,
        check: str,
        control: str,
        moves: Mapping[int, np.ndarray],
        *,
        beats_ms: Sequence[float] = (),
        witness: str | None = None,
        also: str = "",
        ended: bool = True,
    ) -> Script:
        """A stretch of one check. `also`: a second control at which the same check runs in the same stretch."""
        length = max(len(v) for v in moves.values())
        begin, end = self.now * MS, (self.now + length - 1) * MS
        for name, other in [(control, witness), *([(also, control)] if also else [])]:
            self.marks.append(Mark(begin, "begin", check, name, other))
            self.marks += [Mark(begin + int(b * MS), "beat", check, name, other) for b in beats_ms]
            if ended:
                self.marks.append(Mark(end, "end", check, name))
        self.segments.append({usage: np.asarray(v, dtype=np.float64) for usage, v in moves.items()})
        self.lengths.append(length)
        return self

    def capture(self, noise: float = 0.05, **meta: object) -> Capture:
        """The recording of it all."""
        n = self.now
        rng = np.random.default_rng(11)
        values: dict[int, np.ndarray] = {}
        for usage in (X, Y, Z, RZ):
            pct = self._channel(usage, 0.0) + noise * rng.standard_normal(n)
            up = -1.0 if usage in (Y, RZ) else 1.0  # HID: Y grows towards the user
            values[usage] = np.clip(np.round(up * pct * 327.67), -32768, 32767).astype(np.int64)
        for usage in (PULL, BRAKE):
            values[usage] = np.clip(np.round(self._channel(usage, 0.0) * 2.55), 0, 255).astype(np.int64)
        values[HAT] = self._channel(HAT, NULL_HAT).astype(np.int64)
        for number in range(1, 16):
            values[button(number)] = self._channel(button(number), 0.0).astype(np.int64)
        report = parse_descriptor(DESCRIPTOR).reports[0]
        raw = encode_many(report, values, n)
        t_ns = (np.arange(n, dtype=np.int64) * MS + rng.integers(0, 40_000, n)).astype(np.int64)
        block = ReportBlock(0, t_ns, np.full(n, report.width, np.uint16), raw)
        told = {"vendor_id": 0x1209, "product_id": 0x0001, "product": "Plover T2", "bus": "simulated", **meta}
        return Capture(DESCRIPTOR, block, CaptureMeta(**told), tuple(self.marks))  # type: ignore[arg-type]

    def _channel(self, usage: int, rest: float) -> np.ndarray:
        pieces = []
        for moves, length in zip(self.segments, self.lengths, strict=True):
            piece = np.full(length, rest)
            if usage in moves:
                piece[: len(moves[usage])] = moves[usage]
            pieces.append(piece)
        return np.concatenate(pieces) if pieces else np.empty(0)


# --- movements ------------------------------------------------------------------------------------------


def at_1_khz(values: np.ndarray) -> np.ndarray:
    """A path of `axis_moves` (4 kHz) at the rate of the reports."""
    return values[:: axis_moves.GRID_HZ // HZ]


def stick_moves(path: axis_moves.Path, x: int, y: int) -> dict[int, np.ndarray]:
    """A path on two usages."""
    return {x: at_1_khz(path[1]), y: at_1_khz(path[2])}


def closed(stretches_ms: Sequence[tuple[float, float]], length_ms: float) -> np.ndarray:
    """A contact over time."""
    state = np.zeros(int(length_ms))
    for start, stop in stretches_ms:
        state[int(start) : int(stop)] = 1
    return state


def presses(starts_ms: Sequence[float], length_ms: float, held_ms: float = 90.0) -> np.ndarray:
    """Clean presses over time."""
    return closed([(s, s + held_ms) for s in starts_ms], length_ms)


def rolled_hat() -> np.ndarray:
    """Null, twice round, null."""
    round_ = np.repeat(np.arange(8.0), 150)
    return np.concatenate([np.full(300, NULL_HAT), round_, round_, np.full(300, NULL_HAT)])


BEATS_MS = [800.0 + 400.0 * i for i in range(31)]


def whole_unit() -> Script:
    """Every check of every control of `SHEET`, a sound unit: some five minutes."""
    script = Script()
    length = BEATS_MS[-1] + 900
    for one, other in ((1, 2), (3, 4), (5, 6), (7, 8), (9, 10), (11, 12), (13, 14), (15, 0)):
        twin = f"key_{other}" if other else ""
        both = [button(n) for n in (one, other) if n]
        for alone in both:
            name = f"key_{alone & 0xFF}"
            script.add("contact", name, {alone: presses([400, 900, 1400], 2000, 120)})
        lit = presses([b + 60 for b in BEATS_MS], length)
        script.add("light", f"key_{one}", dict.fromkeys(both, lit), beats_ms=BEATS_MS, witness=twin or None, also=twin)
        held = closed([(400, 5700)], 6000)
        script.add("hold", f"key_{one}", dict.fromkeys(both, held), also=twin)
    for name, x, y in (("left_stick", X, Y), ("right_stick", Z, RZ)):
        quick = axis_moves.push()
        paths = {
            "rest": axis_moves.rest(0.5, -0.8, 3.5),
            "letgo": axis_moves.flicks(axis_moves.flick()),
            "travel": axis_moves.pushes(quick, quick, quick, quick),
            "rim": axis_moves.roll(),
            "sweep": axis_moves.sweeps(),
        }
        for check, path in paths.items():
            script.add(check, name, stick_moves(path, x, y))
    for name, usage in (("left_trigger", PULL), ("right_trigger", BRAKE)):
        script.add("trigger", name, {usage: at_1_khz(axis_moves.pulls()[1])})
    script.add("hat", "d_pad", {HAT: rolled_hat()})
    script.add("link", "", stick_moves(axis_moves.roll(turns=5.0), X, Y))
    return script
