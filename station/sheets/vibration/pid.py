"""Vibration by effects, for a physical input device (USB-IF, Device Class Definition for PID 1.0; page 0x0F).

The order of reports: enable the actuators and set the gain where the device has reports for that; Create New Effect
(feature), then PID Block Load, a feature report to be read, tells the block that the device has chosen; Set Effect and
Set Periodic (or Set Constant Force) describe it; Effect Operation starts and stops it; Block Free gives it back. So
does Linux hid-pidff.c (read), whose devices are those that are known to work. Only pools that the device manages.

An effect here is a sine where the device has one: a constant force would push a stick instead of shaking it. It ends
by itself, and is no stronger than `scale.STRENGTH`. One effect for each axis (Axes Enable), with the polar direction
of that axis beside it, since devices differ in which of the two they follow.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

from station.errors import DeviceError
from station.hid.decode import selected_in, value_in
from station.hid.types import Field, Layout, ReportKind, ReportLayout
from station.sheets.vibration.scale import LASTS_S, STRENGTH, of_seconds, selecting, sending, share
from station.sheets.vibration.types import Ask, Ready, Send, Talk, Turn, Vibration
from station.words import vibration as words

PAGE = 0xF_0000
SET_EFFECT, SET_PERIODIC, SET_CONSTANT, OPERATION = PAGE | 0x21, PAGE | 0x6E, PAGE | 0x73, PAGE | 0x77
GAIN_REPORT, LOAD, FREE, CREATE = PAGE | 0x7D, PAGE | 0x89, PAGE | 0x90, PAGE | 0xAB
INDEX = PAGE | 0x22
CONSTANT, SQUARE, SINE, TRIANGLE = PAGE | 0x26, PAGE | 0x30, PAGE | 0x31, PAGE | 0x32
DURATION, GAIN, BUTTON, AXES, DIRECTION_ON, DIRECTION = (PAGE | u for u in (0x50, 0x52, 0x53, 0x55, 0x56, 0x57))
MAGNITUDE, PERIOD = PAGE | 0x70, PAGE | 0x72
START, STOP, LOOPS, DEVICE_GAIN = PAGE | 0x79, PAGE | 0x7B, PAGE | 0x7C, PAGE | 0x7E
LOADED, FULL, REFUSED = PAGE | 0x8C, PAGE | 0x8D, PAGE | 0x8E
CONTROL, ENABLE = PAGE | 0x96, PAGE | 0x97

PERIOD_S = 0.04
"""of the shaking: well below what a stick follows, well above what a hand feels as single pushes"""
BEARINGS = (0.25, 0.0)
"""direction of the first and the second axis, in turns clockwise from away (common practice, no source)"""
TRIES = 20
"""readings of PID Block Load until it says something; devices may need a moment"""


@dataclass(frozen=True, slots=True)
class _Parts:
    """The reports of the protocol, and the type of effect (its usage)."""

    layout: Layout
    create: ReportLayout
    load: ReportLayout
    effect: ReportLayout
    shape: ReportLayout
    operation: ReportLayout
    kind: int
    free: ReportLayout | None
    control: ReportLayout | None
    gain: ReportLayout | None


def by_effects(layout: Layout) -> Vibration | None:
    """The way to vibrate, where the layout has every report that it takes."""
    parts = _parts(layout)
    return None if parts is None else Vibration("PID", lambda: _talk(parts))


def _parts(layout: Layout) -> _Parts | None:
    create, load = _report(layout, CREATE, ("feature",)), _report(layout, LOAD, ("feature",))
    effect, operation = _report(layout, SET_EFFECT), _report(layout, OPERATION)
    if create is None or load is None or effect is None or operation is None:
        return None
    told = any(LOADED in f.usages for f in load.fields) and _find(load, INDEX) is not None
    driven = _choice(operation, START) is not None and _choice(operation, STOP) is not None
    if not told or not driven:
        return None
    for kind in (SINE, SQUARE, TRIANGLE, CONSTANT):
        shape = _report(layout, SET_CONSTANT if kind == CONSTANT else SET_PERIODIC)
        if shape is not None and _choice(create, kind) is not None:
            return _Parts(
                layout, create, load, effect, shape, operation, kind,
                _report(layout, FREE), _report(layout, CONTROL), _report(layout, GAIN_REPORT),
            )  # fmt: skip
    return None


def _report(layout: Layout, usage: int, kinds: tuple[ReportKind, ...] = ("output", "feature")) -> ReportLayout | None:
    """The report whose fields stand in a collection of that usage."""
    found = (r for r in layout.reports for f in r.fields if any(c.usage == usage for c in f.collections))
    return next((report for report in found if report.kind in kinds), None)


def _find(report: ReportLayout, usage: int) -> Field | None:
    return next((field for field in report.fields if field.usage == usage), None)


def _choice(report: ReportLayout, usage: int) -> Field | None:
    """The array of which `usage` is a choice."""
    return next((field for field in report.fields if field.is_array and usage in field.usages), None)


def _within(report: ReportLayout, usage: int) -> list[Field]:
    """The data fields in a collection of that usage."""
    return [f for f in report.fields if not f.is_constant and any(c.usage == usage for c in f.collections)]


# --- the talk ---------------------------------------------------------------------------------------


def _talk(parts: _Parts) -> Talk:
    yield from _waking(parts)
    wanted = 2 if len(_within(parts.effect, AXES)) > 1 else 1
    blocks: list[int] = []
    try:
        while len(blocks) < wanted:
            yield sending(parts.layout, parts.create, _selected(parts.create, parts.kind))
            block = yield from _loaded(parts)
            if block is None:
                break
            blocks.append(block)
            yield _effect(parts, block, len(blocks) - 1)
            yield _shape(parts, block)
        if not blocks:
            raise DeviceError(words.NO_ROOM)
    except DeviceError:
        yield from _released(parts, blocks)
        raise
    return _ready(parts, blocks, len(blocks) < wanted)


def _waking(parts: _Parts) -> Generator[Send, bytes, None]:
    """Actuators on, and the device's own gain full, where it has reports for that."""
    if parts.control is not None and _choice(parts.control, ENABLE) is not None:
        yield sending(parts.layout, parts.control, _selected(parts.control, ENABLE))
    if parts.gain is not None and (gain := _find(parts.gain, DEVICE_GAIN)) is not None:
        yield sending(parts.layout, parts.gain, {gain: gain.logical_max})


def _loaded(parts: _Parts) -> Generator[Ask, bytes, int | None]:
    """The block that the device has chosen; None when it has no room. DeviceError when it refuses or never says."""
    index = _find(parts.load, INDEX)
    status = _choice(parts.load, LOADED)
    assert index is not None and status is not None  # noqa: PT018 - `_parts` has seen both
    for _ in range(TRIES):
        answer = yield Ask(parts.load.report_id)
        said, block = selected_in(status, answer), value_in(index, answer)
        if said == LOADED and block:
            return block
        if said == FULL:
            return None
        if said == REFUSED:
            raise DeviceError(words.REFUSED)
    raise DeviceError(words.SAYS_NOTHING)


def _ready(parts: _Parts, blocks: list[int], short: bool) -> Ready:
    operate = [(_operation(parts, block, START), _operation(parts, block, STOP)) for block in blocks]
    start, stop = tuple(on for on, _ in operate), tuple(off for _, off in operate)
    names = (words.ONLY,) if len(blocks) == 1 else (words.FIRST, words.SECOND)
    turns = [Turn(name, (on,)) for name, on in zip(names, start, strict=True)]
    if len(blocks) > 1:
        turns.append(Turn(words.BOTH, start))
    remark = words.IT_MAY_MOVE_ONE_ONLY if short else words.IT_MAY_MOVE
    return Ready(tuple(turns), stop, tuple(_released(parts, blocks)), remark)


def _released(parts: _Parts, blocks: list[int]) -> Generator[Send, bytes, None]:
    if parts.free is not None and (index := _find(parts.free, INDEX)) is not None:
        for block in blocks:
            yield sending(parts.layout, parts.free, {index: block})


# --- the reports ------------------------------------------------------------------------------------


def _selected(report: ReportLayout, usage: int) -> dict[Field, int]:
    field = _choice(report, usage)
    return {} if field is None else {field: selecting(field, usage)}


def _effect(parts: _Parts, block: int, axis: int) -> Send:
    """Set Effect: how long, how strong, on which axis. No button triggers it."""
    report = parts.effect
    numbers = _selected(report, parts.kind)
    for field in report.fields:
        if field.usage == INDEX:
            numbers[field] = block
        elif field.usage == DURATION:
            numbers[field] = of_seconds(field, LASTS_S)
        elif field.usage == GAIN:
            numbers[field] = share(field, STRENGTH)
        elif field.usage == BUTTON:
            numbers[field] = _no_button(field)
        elif field.usage == DIRECTION_ON:
            numbers[field] = 1
    axes, directions = _within(report, AXES), _within(report, DIRECTION)
    numbers |= {field: int(number == axis) for number, field in enumerate(axes)}
    if directions:
        numbers[directions[0]] = share(directions[0], BEARINGS[axis])
    return sending(parts.layout, report, numbers)


def _no_button(field: Field) -> int:
    """A number out of the range of buttons, 0 if possible."""
    if field.logical_min > 0:
        return 0
    most = (1 << field.bit_width) - 1
    return most if most > field.logical_max else 0


def _shape(parts: _Parts, block: int) -> Send:
    """Set Periodic or Set Constant Force: full magnitude (the gain of the effect holds it down), the period."""
    numbers = {}
    for field in parts.shape.fields:
        if field.usage == INDEX:
            numbers[field] = block
        elif field.usage == MAGNITUDE:
            numbers[field] = field.logical_max
        elif field.usage == PERIOD:
            numbers[field] = of_seconds(field, PERIOD_S)
    return sending(parts.layout, parts.shape, numbers)


def _operation(parts: _Parts, block: int, usage: int) -> Send:
    numbers = _selected(parts.operation, usage)
    for field in parts.operation.fields:
        if field.usage == INDEX:
            numbers[field] = block
        elif field.usage == LOOPS:
            numbers[field] = 1
    return sending(parts.layout, parts.operation, numbers)
