"""Simulated pads with random report layouts, for learning: what no program can know beforehand is known here.

A pad is made from a seed: which controls it has, where their bits lie, what else is in its reports (counters, time
stamps, checksums, sensors, copies), how often it reports, and which descriptor it shows, if any. `truth` is the sheet
that reads it rightly.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from station.hid.types import ReportBlock
from station.sheets.learn.walk import usual_controls
from station.sheets.model import Control, ExplicitField, Place, Sheet

F64 = NDArray[np.float64]
Rng = np.random.Generator


@dataclass(frozen=True)
class Slot:
    """One field of a report. `low`, `high`: the logical range; `big`: most significant byte first."""

    what: str
    report: int
    bit: int
    bits: int
    signed: bool = False
    big: bool = False
    low: int = 0
    high: int = 1

    @property
    def place(self) -> ExplicitField:
        return ExplicitField(self.report, self.bit, self.bits, self.signed, self.low, self.high, self.big)


@dataclass(frozen=True)
class Motion:
    """What the hand does to the pad at the moments `t_s`: sticks (x, y) right and up positive, 1 = the rim; triggers
    0…1; buttons closed or not; hats 0…7 or −1; `shake` how much the pad itself is moved, 0…1."""

    t_s: F64
    sticks: Mapping[str, tuple[F64, F64]]
    triggers: Mapping[str, F64]
    buttons: Mapping[str, NDArray[np.bool_]]
    hats: Mapping[str, NDArray[np.int8]]
    shake: F64


@dataclass(frozen=True)
class Pad:
    """One simulated model. `every`: each report id is sent on every k-th tick; `checks`: report → (kind, byte); `wire`:
    what else happens to its reports on their way (reports, how much it is moved at each, draw)."""

    seed: int
    controls: tuple[Control, ...]
    truth: Sheet
    slots: tuple[Slot, ...]
    widths: Mapping[int, int]
    every: Mapping[int, int]
    constants: Mapping[int, NDArray[np.uint8]]
    checks: Mapping[int, tuple[str, int]]
    rate_hz: int
    on_change: bool
    noise: float
    descriptor: bytes
    described: str
    traits: Mapping[str, object] = field(default_factory=dict)
    wire: Callable[[ReportBlock, F64, Rng], ReportBlock] | None = None

    @property
    def numbered(self) -> bool:
        return 0 not in self.widths


def sizes(pad: Pad) -> str:
    """A word or two on the pad, for a person who reads the bench's lines."""
    return ", ".join(f"{k} {v}" for k, v in pad.traits.items() if v not in (None, False, "none"))


# --- from a motion to reports ---------------------------------------------------------------------------


def emit(pad: Pad, motion: Motion, seed: int = 0) -> ReportBlock:
    """What the pad sends while the hand does that."""
    rng = np.random.default_rng((pad.seed, seed, 77))
    n = len(motion.t_s)
    codes = {slot: _codes(pad, slot, motion, rng) for slot in pad.slots}
    order = {report: np.flatnonzero(np.arange(n) % every == i % every)
             for i, (report, every) in enumerate(pad.every.items())}  # fmt: skip
    pieces, ticks = [], []
    for report, width in pad.widths.items():
        raw = np.tile(pad.constants[report], (n, 1))
        steady = [s for s in pad.slots if s.report == report and s.what not in ("counter", "time")]
        for slot in steady:
            put(raw, slot, codes[slot])
        at = order[report]
        if pad.on_change:
            rows = raw[at]
            changed = np.ones(len(at), bool)
            changed[1:] = (rows[1:] != rows[:-1]).any(axis=1)
            at = at[changed]
        raw = raw[at]
        for slot in (s for s in pad.slots if s.report == report and s.what in ("counter", "time")):
            put(raw, slot, codes[slot][: len(at)] if slot.what == "counter" else codes[slot][at])
        if report in pad.checks:
            kind, byte = pad.checks[report]
            seal(raw, kind, byte)
        wide = np.zeros((len(at), max(pad.widths.values())), np.uint8)
        wide[:, :width] = raw
        pieces.append(wide)
        ticks.append(np.stack([at, np.full(len(at), width)]))
    raw = np.concatenate(pieces)
    tick, size = np.concatenate(ticks, axis=1)
    sort = np.argsort(tick, kind="stable")
    jitter = np.abs(rng.normal(0, 0.04 / pad.rate_hz, n))
    t_ns = np.maximum.accumulate(((motion.t_s + jitter) * 1e9).astype(np.int64))
    block = ReportBlock(0, t_ns[tick[sort]], size[sort].astype(np.uint16), raw[sort])
    return pad.wire(block, motion.shake[tick[sort]], rng) if pad.wire else block


def put(raw: NDArray[np.uint8], slot: Slot, codes: NDArray[np.int64]) -> None:
    """Write `codes` into the slot's bits of each row."""
    for k in range(slot.bits):
        at = slot.bit + k if not slot.big else (slot.bit // 8 + slot.bits // 8 - 1 - k // 8) * 8 + k % 8
        byte, shift = divmod(at, 8)
        raw[:, byte] &= np.uint8(~(1 << shift) & 0xFF)
        raw[:, byte] |= ((codes >> k & 1) << shift).astype(np.uint8)


def _codes(pad: Pad, slot: Slot, motion: Motion, rng: Rng) -> NDArray[np.int64]:
    n, what = len(motion.t_s), slot.what
    name, _, part = what.partition(".")
    if what == "counter":
        return (np.arange(n) * int(pad.traits["counts_by"]) + 5) % (1 << slot.bits)
    if what == "time":
        return (motion.t_s * float(pad.traits["clock_hz"]) + 12345).astype(np.int64) % (1 << slot.bits)
    if what.startswith("sensor"):
        drift = np.convolve(rng.normal(0, 1, n + 200), np.hanning(200) / 9, "same")[:n]
        steady = 8192 if part == "2" else 0
        value = steady + rng.normal(0, float(pad.traits["sensor_noise"]), n) + drift * motion.shake * 9000
        return np.clip(np.round(value), -32768, 32767).astype(np.int64)
    if what == "battery":
        return np.full(n, int(0.7 * ((1 << slot.bits) - 1))) - (motion.t_s > 0.6 * motion.t_s[-1])
    if name == "list":
        return _listed(motion, int(part))
    if name in motion.sticks:
        return _axis(pad, slot, motion.sticks[name][part.startswith("y")], part.startswith("y"))
    if name in motion.triggers or name == "triggers":
        return _trigger(pad, slot, motion, name, part, rng)
    if name in motion.hats:
        return _hat(pad, slot, motion.hats[name], part)
    return _button(pad, motion, name)


def _axis(pad: Pad, slot: Slot, value: F64, is_y: bool) -> NDArray[np.int64]:
    name = slot.what.split("_mirror")[0].encode()  # a copy says what the original says, noise and all
    own, noise = np.random.default_rng((pad.seed, *name)), np.random.default_rng((pad.seed, len(value), *name))
    centre, reach = own.uniform(-0.03, 0.03), own.uniform(0.95, 1.08)
    turned = pad.traits["up"] == "low" if is_y else pad.traits["right"] == "low"
    value = np.where(np.abs(value) < float(pad.traits["deadzone"]), 0.0, value)
    noisy = centre + reach * value + noise.normal(0, pad.noise, len(value))
    low, high = (slot.low, slot.high) if "mirror" not in slot.what else (0, 255)
    half, mid = (high - low) / 2, (high + low) / 2
    code = np.round(mid + half * (-noisy if turned else noisy) + 0.25)
    return np.clip(code, low, high).astype(np.int64)


def _trigger(pad: Pad, slot: Slot, motion: Motion, name: str, part: str, rng: Rng) -> NDArray[np.int64]:
    if name == "triggers":  # both on one axis: the left one raises it
        left, right = motion.triggers["left_trigger"], motion.triggers["right_trigger"]
        value = left - right + rng.normal(0, pad.noise / 2, len(left))
        mid = (slot.low + slot.high + 1) // 2
        span = np.where(value > 0, slot.high - mid, mid - slot.low)
        return np.clip(np.round(mid + span * value), slot.low, slot.high).astype(np.int64)
    pulled = motion.triggers[name]
    if part == "click":
        return (pulled > float(pad.traits["click_at"])).astype(np.int64)
    own = np.random.default_rng((pad.seed, *name.encode()))
    value = own.uniform(0, 0.015) + own.uniform(0.97, 1.04) * pulled + rng.normal(0, pad.noise / 2, len(pulled))
    value = np.clip(value, 0, 1)
    value = 1 - value if pad.traits["triggers_rest"] == "high" else value
    return np.round(slot.low + (slot.high - slot.low) * value).astype(np.int64)


def _hat(pad: Pad, slot: Slot, direction: NDArray[np.int8], part: str) -> NDArray[np.int64]:
    d = direction.astype(np.int64)
    if part in ("up", "right", "down", "left"):
        near = ("up", "right", "down", "left").index(part) * 2
        away = np.abs((d - near + 4) % 8 - 4)
        return ((d >= 0) & (away <= 1)).astype(np.int64) ^ int(bool(pad.traits["active_low"]))
    if part in ("x", "y"):
        angle = d * np.pi / 4
        value = np.where(d < 0, 0, np.round(np.sin(angle) if part == "x" else -np.cos(angle)))
        return np.select([value < -0.5, value > 0.5], [0, 255], int(pad.traits["pad_middle"]))
    base, null, count = slot.low, int(pad.traits["hat_null"]), slot.high - slot.low + 1
    return np.where(d < 0, null, base + d * count // 8)


def _button(pad: Pad, motion: Motion, name: str) -> NDArray[np.int64]:
    closed = motion.buttons[name].copy() if name in motion.buttons else np.zeros(len(motion.t_s), bool)
    for paddle, source in dict(pad.traits["copies"]).items():  # type: ignore[call-overload]
        if source == name:
            closed |= motion.buttons[paddle]
    return closed.astype(np.int64) ^ int(bool(pad.traits["active_low"]))


def _listed(motion: Motion, slot: int) -> NDArray[np.int64]:
    """The number of the first or second button that is pressed, from 1 on; 0 for none."""
    pressed = np.stack([motion.buttons[name] for name in sorted(motion.buttons)])
    before = np.cumsum(pressed, axis=0) - pressed
    numbers = np.arange(1, len(pressed) + 1)[:, None]
    return np.where(pressed & (before == slot), numbers, 0).sum(axis=0)


# --- checksums -------------------------------------------------------------------------------------------


def seal(raw: NDArray[np.uint8], kind: str, byte: int) -> None:
    """Fill in the checksum `kind` that begins at `byte`, over all other bytes."""
    width = {"crc16": 2, "crc32": 4}.get(kind, 1)
    columns = [raw[:, i] for i in range(raw.shape[1]) if not byte <= i < byte + width]
    if kind == "sum8":
        raw[:, byte] = sum(c.astype(np.int64) for c in columns) & 0xFF
    elif kind == "minus8":
        raw[:, byte] = -sum(c.astype(np.int64) for c in columns) & 0xFF
    elif kind == "xor8":
        raw[:, byte] = np.bitwise_xor.reduce(np.stack(columns), axis=0)
    else:
        polynomial = {"crc8": 0x07, "crc8b": 0x31, "crc16": 0x1021, "crc32": 0x04C11DB7}[kind]
        value = crc(columns, polynomial, 8 * width, 0xFFFFFFFF & ((1 << 8 * width) - 1))
        for k in range(width):
            raw[:, byte + k] = value >> 8 * k & 0xFF


def crc(columns: list[NDArray[np.uint8]], polynomial: int, bits: int, start: int) -> NDArray[np.int64]:
    """A CRC over the columns, most significant bit first."""
    table = np.zeros(256, np.int64)
    for number in range(256):
        value = number << (bits - 8)
        for _ in range(8):
            value = (value << 1 ^ polynomial if value >> (bits - 1) & 1 else value << 1) & ((1 << bits) - 1)
        table[number] = value
    value = np.full(len(columns[0]), start, np.int64)
    for column in columns:
        value = table[(value >> (bits - 8) ^ column) & 0xFF] ^ value << 8 & ((1 << bits) - 1)
    return value


# --- random layouts --------------------------------------------------------------------------------------


@dataclass
class _Report:
    """A report being filled from its first free bit on."""

    number: int
    bit: int
    slots: list[Slot]

    def add(
        self, what: str, bits: int, aligned: bool = False, room: int = 0, left: bool = False, **more: object
    ) -> Slot:
        """The next field; `room`: the bits kept for it; `left`: it stands at the upper end of them."""
        if aligned:
            self.bit = -(-self.bit // 8) * 8
        room = max(room, bits)
        slot = Slot(what, self.number, self.bit + (room - bits if left else 0), bits, **more)  # type: ignore[arg-type]
        self.bit += room
        self.slots.append(slot)
        return slot


def one_of(rng: Rng, options: Mapping[object, float]) -> object:
    """One key, by its weight."""
    keys, weights = list(options), np.array(list(options.values()))
    return keys[int(rng.choice(len(keys), p=weights / weights.sum()))]


def random_pad(seed: int, **fixed: object) -> Pad:
    """The pad of that seed; `fixed` sets single traits (for tests)."""
    rng = np.random.default_rng((seed, 4))
    traits = {**_traits(rng), **fixed}
    controls = _controls(rng, traits)
    traits["copies"] = _copies(rng, controls, traits)
    ids = _report_ids(rng, traits)
    reports = [_Report(i, 8 if i else 0, []) for i in ids]
    truth = _fill(rng, reports, controls, traits)
    widths, checks, constants = {}, {}, {}
    for report in reports:
        report.bit = -(-report.bit // 8) * 8
        kind = str(traits["checksum"])
        if kind != "none":
            checks[report.number] = (kind, report.bit // 8)
            report.bit += {"crc16": 16, "crc32": 32}.get(kind, 8)
        widths[report.number] = max(report.bit // 8 + int(rng.integers(0, 4)) * (kind == "none"), 2)
        constant = rng.integers(0, 256, widths[report.number], np.uint8) * np.uint8(rng.random() < 0.4)
        if report.number:
            constant[0] = report.number
        constants[report.number] = constant
    every = {report.number: len(reports) if traits["interleaved"] else 1 for report in reports}
    slots = tuple(slot for report in reports for slot in report.slots)
    described = str(traits["descriptor"])
    pad = Pad(
        seed, controls, Sheet(f"Pad {seed}", controls=truth), slots, widths, every, constants, checks,
        int(traits["rate_hz"]), bool(traits["on_change"]), float(traits["noise"]), b"", described, traits,
    )  # fmt: skip
    return replace(pad, descriptor=describe(pad, rng)) if described != "none" else pad


def _traits(rng: Rng) -> dict[str, object]:
    width = one_of(rng, {8: 5, 10: 2, 12: 2, 16: 4})
    aligned = bool(rng.random() < 0.6) or width in (8, 16)
    sensors = bool(rng.random() < 0.3)
    return {
        "width": width,
        "aligned": aligned,
        "left_justified": width in (10, 12) and aligned and rng.random() < 0.25,
        "big": aligned and width != 8 and rng.random() < 0.15,
        "signed": rng.random() < 0.4,
        "symmetric": rng.random() < 0.2,
        "up": one_of(rng, {"low": 3, "high": 1}),
        "right": one_of(rng, {"high": 30, "low": 1}),
        "odd_range": rng.random() < 0.02,
        "deadzone": one_of(rng, {0.0: 3, 0.06: 1}),
        "noise": float(rng.uniform(0.0005, 0.006)),
        "trigger_width": one_of(rng, {8: 5, 10: 2, 16: 1}),
        "trigger_kind": one_of(rng, {"analog": 16, "shared": 1, "digital": 1}),
        "triggers_rest": one_of(rng, {"low": 8, "high": 1}),
        "triggers_signed": rng.random() < 0.1,
        "clicks": rng.random() < 0.4,
        "click_at": float(rng.uniform(0.05, 0.6)),
        "hat": one_of(rng, {"nibble": 6, "byte": 2, "four bits": 3, "four codes": 1, "two axes": 1}),
        "hat_base": one_of(rng, {0: 4, 1: 1}),
        "pad_middle": one_of(rng, {127: 1, 128: 1}),
        "active_low": rng.random() < 0.06,
        "faces": one_of(rng, {4: 4, 6: 1}),
        "paddles": one_of(rng, {0: 4, 2: 2, 4: 1}),
        "centre": int(rng.integers(2, 5)),
        "copying": one_of(rng, {"none": 2, "instead": 1, "as well": 1}),
        "mirror": one_of(rng, {"none": 6, "sticks": 1, "buttons": 1}),
        "reports": one_of(rng, {"plain": 4, "one id": 4, "two ids": 3}),
        "interleaved": rng.random() < 0.5,
        "counter": one_of(rng, {"none": 2, "nibble": 1, "byte": 1, "word": 1}),
        "counts_by": one_of(rng, {1: 6, 3: 1}),
        "clock": one_of(rng, {"none": 3, "16": 1, "32": 1}),
        "clock_hz": one_of(rng, {1e6: 2, 1e4: 1, 187500.0: 1}),
        "sensors": sensors,
        "sensor_noise": float(rng.uniform(3, 40)),
        "battery": rng.random() < 0.3,
        "checksum": one_of(
            rng, {"none": 5, "sum8": 1, "minus8": 0.5, "xor8": 1, "crc8": 1, "crc8b": 0.5, "crc16": 0.5, "crc32": 1}
        ),
        "rate_hz": one_of(rng, {60: 1, 100: 1, 125: 3, 250: 3, 500: 1, 1000: 3}),
        "on_change": not sensors and rng.random() < 0.3,
        "descriptor": one_of(rng, {"none": 4, "right": 4, "wrong": 2}),
    }


def _controls(rng: Rng, traits: Mapping[str, object]) -> tuple[Control, ...]:
    kind = traits["trigger_kind"]
    return usual_controls(
        sticks=int(one_of(rng, {2: 8, 1: 1})),  # type: ignore[call-overload]
        triggers=2 if kind != "none" else 0,
        face=int(traits["faces"]),  # type: ignore[call-overload]
        centre=int(traits["centre"]),  # type: ignore[call-overload]
        paddles=int(traits["paddles"]),  # type: ignore[call-overload]
    )


def _copies(rng: Rng, controls: tuple[Control, ...], traits: Mapping[str, object]) -> dict[str, str]:
    """Paddle → the button that it copies."""
    paddles = [c.id for c in controls if c.zone == "back"]
    if traits["copying"] == "none" or not paddles:
        return {}
    sources = [c.id for c in controls if c.kind == "button" and c.zone in ("right hand", "top")]
    return dict(zip(paddles, rng.permutation(sources).tolist(), strict=False))


def _report_ids(rng: Rng, traits: Mapping[str, object]) -> list[int]:
    if traits["reports"] == "plain":
        return [0]
    first = int(rng.integers(1, 64))
    return [first] if traits["reports"] == "one id" else [first, first + int(rng.integers(1, 5))]


def _fill(
    rng: Rng, reports: list[_Report], controls: tuple[Control, ...], traits: Mapping[str, object]
) -> tuple[Control, ...]:
    """Lay out everything in random order; returns the controls with their places."""
    first, last = reports[0], reports[-1]
    truth: dict[str, Control] = {}
    jobs = [(first, "buttons"), (first, "hat")]
    jobs += [(first, c.id) for c in controls if c.kind == "stick"] + [(last, "triggers")]
    jobs += [(r, "counter") for r in reports] + [(r, "clock") for r in reports]
    jobs += [(last, "sensors"), (first, "battery"), (first, "mirror")]
    by_id = {c.id: c for c in controls}
    for index in rng.permutation(len(jobs)):
        report, job = jobs[index]
        if job in by_id:
            truth[job] = _lay_stick(rng, report, by_id[job], traits)
        else:
            truth.update(_LAY[job](rng, report, controls, traits))
    found = [truth[c.id] for c in controls if c.id in truth]
    extra = [c for i, c in truth.items() if i not in by_id]
    return tuple(found + extra)


def _lay_stick(rng: Rng, report: _Report, control: Control, traits: Mapping[str, object]) -> Control:
    bits, aligned = int(traits["width"]), bool(traits["aligned"])  # type: ignore[call-overload]
    room = (bits + 7) // 8 * 8 if aligned else bits
    signed = bool(traits["signed"])
    low, high = (-(1 << bits - 1), (1 << bits - 1) - 1) if signed else (0, (1 << bits) - 1)
    low += int(signed and bool(traits["symmetric"]))
    if traits["odd_range"]:
        high = int(low + (high - low) * 0.78)
    big, left = bool(traits["big"]), bool(traits["left_justified"])
    slots = []
    for axis in "xy":
        if big:  # the whole two bytes are the field; left-justified values are multiples
            factor = 1 << 16 - bits if left else 1
            slot = report.add(
                f"{control.id}.{axis}", 16, True, signed=signed, big=True, low=low * factor, high=high * factor
            )
        elif aligned and signed and bits in (10, 12) and not left:  # sign-extended into its two bytes
            slot = report.add(f"{control.id}.{axis}", 16, True, signed=True, low=low, high=high)
        else:
            slot = report.add(f"{control.id}.{axis}", bits, aligned, room, left, signed=signed, low=low, high=high)
        slots.append(slot)
    if big and left:
        slots = [replace(s) for s in slots]
    x, y = (Place(field=slot.place) for slot in slots)
    return replace(control, x=replace(x, right=traits["right"]), y=replace(y, up=traits["up"]))


def _lay_triggers(
    rng: Rng, report: _Report, controls: tuple[Control, ...], traits: Mapping[str, object]
) -> dict[str, Control]:
    made: dict[str, Control] = {}
    triggers = [c for c in controls if c.kind == "trigger"]
    bits, kind = int(traits["trigger_width"]), traits["trigger_kind"]  # type: ignore[call-overload]
    if kind == "digital" or traits["clicks"]:
        for c in triggers:
            slot = report.add(f"{c.id}.click", 1)
            switch = Control(f"{c.id}_switch", "button", f"{c.name}, switch", c.zone, at=Place(field=slot.place))
            made[switch.id] = switch
            if kind == "digital":
                del made[switch.id]
                made[c.id] = replace(c, kind="button", at=switch.at)
    if kind == "analog":
        signed = bool(traits["triggers_signed"])
        low, high = (-(1 << bits - 1), (1 << bits - 1) - 1) if signed else (0, (1 << bits) - 1)
        room = (bits + 7) // 8 * 8 if traits["aligned"] else bits
        for c in triggers:
            slot = report.add(c.id, bits, bool(traits["aligned"]), room, signed=signed, low=low, high=high)
            made[c.id] = replace(c, at=Place(field=slot.place, up=traits["triggers_rest"]))  # type: ignore[arg-type]
    if kind == "shared":
        slot = report.add("triggers", bits, True, low=0, high=(1 << bits) - 1)
        mid = (slot.high + 1) // 2
        upper, lower = replace(slot, low=mid), replace(slot, high=mid)
        made[triggers[0].id] = replace(triggers[0], at=Place(field=upper.place))
        made[triggers[1].id] = replace(triggers[1], at=Place(field=lower.place, up="high"))
    return made


def _lay_hat(
    rng: Rng, report: _Report, controls: tuple[Control, ...], traits: Mapping[str, object]
) -> dict[str, Control]:
    hats = [c for c in controls if c.kind == "hat"]
    if not hats:
        return {}
    hat, kind, active_low = hats[0], traits["hat"], bool(traits["active_low"])
    sides = ("up", "right", "down", "left")
    button = {s: Control(f"{hat.id}_{s}", "button", f"{hat.name}, {s}", hat.zone) for s in sides}
    if kind == "four bits":
        for side in rng.permutation(sides).tolist():
            slot = report.add(f"{hat.id}.{side}", 1)
            place = Place(field=slot.place, up="high" if active_low else "low")
            button[side] = replace(button[side], at=place)
        return {c.id: c for c in button.values()}
    if kind == "two axes":
        x, y = (report.add(f"{hat.id}.{axis}", 8, True, low=0, high=255) for axis in "xy")
        middle = int(traits["pad_middle"])  # type: ignore[call-overload]
        for side, slot in zip(sides, (y, x, y, x), strict=True):
            high = side in ("right", "down")
            half = replace(slot, low=middle) if high else replace(slot, high=middle)
            button[side] = replace(button[side], at=Place(field=half.place, up="low" if high else "high"))
        return {c.id: c for c in button.values()}
    base = int(traits["hat_base"]) if kind != "four codes" else 0  # type: ignore[call-overload]
    count = 4 if kind == "four codes" else 8
    null = 0 if base else int(traits.get("hat_null", 0)) or int(rng.choice([8, 15]))  # type: ignore[call-overload]
    traits["hat_null"] = null  # type: ignore[index]
    bits = 8 if kind == "byte" else 4
    slot = report.add(hat.id, bits, kind == "byte", low=base, high=base + count - 1)
    return {hat.id: replace(hat, at=Place(field=slot.place))}


def _lay_buttons(
    rng: Rng, report: _Report, controls: tuple[Control, ...], traits: Mapping[str, object]
) -> dict[str, Control]:
    instead = traits["copying"] == "instead"
    copies: Mapping[str, str] = traits["copies"]  # type: ignore[assignment]
    made, up = {}, "high" if traits["active_low"] else "low"
    buttons = [c for c in controls if c.kind == "button"]
    if traits.get("listed"):  # the numbers of what is pressed, two at a time
        names = sorted(c.id for c in buttons)
        for number in range(2):
            report.add(f"list.{number}", 8, True, low=1, high=len(names))
        return {c.id: replace(c, at=Place(usage=0x90001 + names.index(c.id))) for c in buttons}
    for index in rng.permutation(len(buttons)) if rng.random() < 0.5 else range(len(buttons)):
        c = buttons[index]
        if instead and c.id in copies:
            made[c.id] = replace(c, seen_as=copies[c.id])
            continue
        if rng.random() < 0.08:
            report.bit += int(rng.integers(1, 4))
        slot = report.add(c.id, 1)
        made[c.id] = replace(c, at=Place(field=slot.place, up=up), seen_as=copies.get(c.id))  # type: ignore[arg-type]
    return made


def _lay_mirror(
    rng: Rng, report: _Report, controls: tuple[Control, ...], traits: Mapping[str, object]
) -> dict[str, Control]:
    if traits["mirror"] == "sticks":
        for axis in "xy":
            report.add(f"left_stick.{axis}_mirror", 8, True, low=0, high=255)
    if traits["mirror"] == "buttons":
        for c in [c for c in controls if c.kind == "button"][:6]:
            if traits["copying"] != "instead" or c.id not in traits["copies"]:  # type: ignore[operator]
                report.add(f"{c.id}.mirror", 1)
    return {}


def _lay_counter(
    rng: Rng, report: _Report, controls: tuple[Control, ...], traits: Mapping[str, object]
) -> dict[str, Control]:
    bits = {"none": 0, "nibble": 4, "byte": 8, "word": 16}[str(traits["counter"])]
    if bits:
        report.add("counter", bits, bits > 4)
    return {}


def _lay_clock(
    rng: Rng, report: _Report, controls: tuple[Control, ...], traits: Mapping[str, object]
) -> dict[str, Control]:
    if traits["clock"] != "none":
        report.add("time", int(str(traits["clock"])), True)
    return {}


def _lay_sensors(
    rng: Rng, report: _Report, controls: tuple[Control, ...], traits: Mapping[str, object]
) -> dict[str, Control]:
    for i in range(6 if traits["sensors"] else 0):
        report.add(f"sensor.{i}", 16, True, signed=True, low=-32768, high=32767)
    return {}


def _lay_battery(
    rng: Rng, report: _Report, controls: tuple[Control, ...], traits: Mapping[str, object]
) -> dict[str, Control]:
    if traits["battery"]:
        report.add("battery", 4)
    return {}


_LAY = {
    "buttons": _lay_buttons,
    "hat": _lay_hat,
    "triggers": _lay_triggers,
    "counter": _lay_counter,
    "clock": _lay_clock,
    "sensors": _lay_sensors,
    "battery": _lay_battery,
    "mirror": _lay_mirror,
}


# --- descriptors -----------------------------------------------------------------------------------------

_USAGES = {
    "left_stick.x": 0x10030,
    "left_stick.y": 0x10031,
    "right_stick.x": 0x10032,
    "right_stick.y": 0x10035,
    "left_trigger": 0x10033,
    "right_trigger": 0x10034,
    "triggers": 0x10036,
}


def describe(pad: Pad, rng: Rng) -> bytes:
    """A report descriptor of the pad: the right one, or one that lies in one of the ways devices do."""
    lie = str(rng.choice(["shifted", "ranges", "sizes", "signs"])) if pad.described == "wrong" else ""
    out = bytearray(bytes.fromhex("05 01 09 05 A1 01"))
    number = 0
    for report, width in pad.widths.items():
        if report:
            out += bytes((0x85, report))
        at = 8 if report else 0
        if lie == "shifted":
            out += _item(0, 0, 0, 1, 8, constant=True)
        for slot in sorted((s for s in pad.slots if s.report == report), key=lambda s: s.bit):
            if slot.bit > at:
                out += _item(0, 0, 0, 1, slot.bit - at, constant=True)
            usage = _USAGES.get(slot.what, 0)
            name, _, part = slot.what.partition(".")
            if not usage and (slot.bits == 1):
                number += 1
                usage = 0x90000 | number
            if not usage and name == "direction_pad" and not part:
                usage = 0x10039
            low, high, bits = slot.low, slot.high, slot.bits
            if name == "list":
                out += _list_item(high)
                at = slot.bit + slot.bits
                continue
            if not usage:
                usage, low, high = 0xFF000001, 0, 255
            if lie == "ranges" and bits > 4:
                low, high = 0, (1 << bits - 1) - 1
            if lie == "signs" and bits > 4:
                low, high = (0, (1 << bits) - 1) if low < 0 else (-(1 << bits - 1), (1 << bits - 1) - 1)
            if lie == "sizes" and bits == 16:
                out += _item(usage, 0, 255, 1, 8) + _item(0, 0, 0, 1, 8, constant=True)
            else:
                out += _item(usage, low, high, 1, bits, null=slot.what == "direction_pad")
            at = slot.bit + slot.bits
        if 8 * width > at:
            out += _item(0, 0, 0, 1, 8 * width - at, constant=True)
    return bytes(out + b"\xc0")


def _item(
    usage: int, low: int, high: int, count: int, bits: int, *, constant: bool = False, null: bool = False
) -> bytes:
    if constant:
        size = 8 if bits % 8 == 0 else 1
        return bytes((0x75, size, 0x96, bits // size & 0xFF, bits // size >> 8, 0x81, 0x03))
    if bits > 32:
        raise ValueError(bits)
    return (
        b"\x0b" + usage.to_bytes(4, "little")
        + b"\x17" + low.to_bytes(4, "little", signed=True)
        + b"\x27" + high.to_bytes(4, "little", signed=True)
        + bytes((0x75, bits, 0x95, count, 0x81, 0x42 if null else 0x02))
    )  # fmt: skip


def _list_item(count: int) -> bytes:
    """One slot of an array item with the buttons 1…count."""
    return bytes((0x05, 0x09, 0x19, 0x01, 0x29, count, 0x15, 0x01, 0x25, count, 0x75, 0x08, 0x95, 0x01, 0x81, 0x00))
