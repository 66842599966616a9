"""A simulated hand that walks through the prompts: late or early, with tremor, brushing what it should not touch.

Rates of slips (invented, on the high side of what a careful person does): see `SLIPS`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from station.hid.types import ReportBlock
from station.sheets.learn.types import LearnStep, Observed
from tests.sheets.learn_pads import F64, Motion, Pad, Rng, emit

SLIPS = {
    "one press is forgotten": 0.02,
    "another control is pressed": 0.008,
    "late: it is done after the next prompt": 0.008,
    "a neighbour is brushed": 0.03,
    "a trigger is leaned on": 0.05,
    "a direction is left out": 0.01,
    "directions start at the wrong side": 0.004,
    "a control is touched while the pad is moved": 0.03,
}
NO_SLIPS = dict.fromkeys(SLIPS, 0.0)
GRID_HZ = 1000


@dataclass
class Canvas:
    """The motion of every control on a grid of `GRID_HZ`, being drawn."""

    n: int
    sticks: dict[str, tuple[F64, F64]] = field(default_factory=dict)
    triggers: dict[str, F64] = field(default_factory=dict)
    buttons: dict[str, NDArray[np.bool_]] = field(default_factory=dict)
    hats: dict[str, NDArray[np.int8]] = field(default_factory=dict)
    shake: F64 = field(default_factory=lambda: np.zeros(0))

    @classmethod
    def blank(cls, pad: Pad, seconds: float) -> Canvas:
        canvas = cls(int(seconds * GRID_HZ) + 1)
        for c in pad.controls:
            if c.kind == "stick":
                canvas.sticks[c.id] = (np.zeros(canvas.n), np.zeros(canvas.n))
            elif c.kind == "trigger":
                canvas.triggers[c.id] = np.zeros(canvas.n)
            elif c.kind == "hat":
                canvas.hats[c.id] = np.full(canvas.n, -1, np.int8)
            else:
                canvas.buttons[c.id] = np.zeros(canvas.n, bool)
        canvas.shake = np.zeros(canvas.n)
        return canvas

    def span(self, a_s: float, b_s: float) -> slice:
        return slice(max(int(a_s * GRID_HZ), 0), min(int(b_s * GRID_HZ), self.n))

    def motion(self, t_s: F64) -> Motion:
        at = np.clip((t_s * GRID_HZ).astype(int), 0, self.n - 1)
        return Motion(
            t_s,
            {k: (x[at], y[at]) for k, (x, y) in self.sticks.items()},
            {k: v[at] for k, v in self.triggers.items()},
            {k: v[at] for k, v in self.buttons.items()},
            {k: v[at] for k, v in self.hats.items()},
            self.shake[at],
        )


def walked(pad: Pad, steps: Sequence[LearnStep], *, seed: int = 0, slips: dict[str, float] = SLIPS, begin_s: float = 0.0
           ) -> tuple[Observed, ...]:  # fmt: skip
    """What the pad sends while the hand follows the steps, cut into their stretches."""
    rng = np.random.default_rng((pad.seed, seed, 9))
    canvas = Canvas.blank(pad, sum(s.seconds for s in steps) + 4)
    at, cuts = 0.0, []
    for step in steps:
        cuts.append((at, at + step.seconds))
        _act(canvas, pad, step, at, rng, slips)
        at += step.seconds
    ticks = np.arange(int(at * pad.rate_hz)) / pad.rate_hz
    block = emit(pad, canvas.motion(ticks), seed)
    shift = int(begin_s * 1e9)
    return tuple(
        Observed(step, _cut(block, int(a * 1e9), int(b * 1e9), shift), int(a * 1e9) + shift, int(b * 1e9) + shift)
        for step, (a, b) in zip(steps, cuts, strict=True)
    )


def anything(pad: Pad, seconds: float = 12.0, seed: int = 1) -> ReportBlock:
    """A recording in which every control does something of its own all the time: to compare two readings of it."""
    rng = np.random.default_rng((pad.seed, seed, 10))
    canvas = Canvas.blank(pad, seconds)
    knots = np.linspace(0, seconds, int(seconds * 5))
    t = np.arange(canvas.n) / GRID_HZ
    for name in canvas.sticks:
        r, angle = rng.uniform(0, 1.1, len(knots)).clip(0, 1), rng.uniform(0, 2 * np.pi, len(knots))
        canvas.sticks[name] = (np.interp(t, knots, r * np.cos(angle)), np.interp(t, knots, r * np.sin(angle)))
    for name in canvas.triggers:
        canvas.triggers[name] = np.interp(t, knots, rng.uniform(-0.2, 1.2, len(knots)).clip(0, 1))
    for name in canvas.buttons:
        canvas.buttons[name] = (rng.random(len(knots)) < 0.4)[np.searchsorted(knots, t).clip(0, len(knots) - 1)]
    for name in canvas.hats:
        canvas.hats[name] = rng.integers(-1, 8, len(knots)).astype(np.int8)[
            np.searchsorted(knots, t).clip(0, len(knots) - 1)
        ]
    canvas.shake[:] = 0.2
    return emit(pad, canvas.motion(np.arange(int(seconds * pad.rate_hz)) / pad.rate_hz), seed)


def _cut(block: ReportBlock, a: int, b: int, shift: int) -> ReportBlock:
    i, j = np.searchsorted(block.t_ns, (a, b))
    return ReportBlock(int(i), block.t_ns[i:j] + shift, block.size[i:j], block.raw[i:j])


# --- what the hand does ------------------------------------------------------------------------------------


def _act(canvas: Canvas, pad: Pad, step: LearnStep, at: float, rng: Rng, slips: dict[str, float]) -> None:
    canvas.shake[canvas.span(at, at + step.seconds)] = {"rest": 0.0, "move": 1.0}.get(step.action, 0.04)
    if step.action == "rest":
        return
    if step.action == "move":
        if rng.random() < slips["a control is touched while the pad is moved"]:
            _press(canvas, _other(pad, None, "button", rng), at + 2, rng)
        return
    assert step.control is not None
    target = step.control.id
    if rng.random() < slips["another control is pressed"]:
        target = _other(pad, step.control.id, step.control.kind, rng)
    begin = at + float(np.clip(rng.normal(0.85, 0.2), 0.4, 1.4))
    if rng.random() < slips["late: it is done after the next prompt"] and step.action == "press":
        begin = at + step.seconds + float(rng.uniform(0.05, 0.8))
    if rng.random() < slips["a neighbour is brushed"]:
        _press(canvas, _other(pad, target, "button", rng), begin + rng.uniform(0, 1), rng, 0.09)
    if canvas.triggers and rng.random() < slips["a trigger is leaned on"]:
        lean = _other(pad, None, "trigger", rng)
        if lean != target:
            canvas.triggers[lean][canvas.span(at, at + step.seconds)] += rng.uniform(0.02, 0.05)
    _DO[step.action](canvas, pad, target, begin, rng, slips)


def _other(pad: Pad, target: str | None, kind: str, rng: Rng) -> str:
    names = [c.id for c in pad.controls if c.kind == kind and c.id != target]
    return str(rng.choice(names)) if names else str(target)


def _press(canvas: Canvas, name: str, at: float, rng: Rng, hold: float | None = None) -> float:
    """One press with the bounce of a contact; a stick moves along when it is pressed down."""
    hold = float(rng.uniform(0.12, 0.35)) if hold is None else hold
    canvas.buttons[name][canvas.span(at, at + hold)] = True
    if rng.random() < 0.15:
        canvas.buttons[name][canvas.span(at + 0.001, at + 0.003)] = False
    if name.endswith("stick_press") and name[:-6] in canvas.sticks:
        angle, size = rng.uniform(0, 2 * np.pi), rng.uniform(0, 0.5)
        for axis, part in zip(canvas.sticks[name[:-6]], (np.cos(angle), np.sin(angle)), strict=True):
            axis[canvas.span(at - 0.03, at + hold + 0.03)] += size * part
    return at + hold


def _do_press(canvas: Canvas, pad: Pad, name: str, at: float, rng: Rng, slips: dict[str, float]) -> None:
    times = 1 if rng.random() < slips["one press is forgotten"] else 2
    for _ in range(times):
        at = _press(canvas, name, at, rng) + float(rng.uniform(0.18, 0.45))


def _curve(canvas: Canvas, keys: list[tuple[float, float]], rng: Rng) -> tuple[slice, F64]:
    """A smooth curve through (time, value) keys, as a stretch of the grid."""
    times, values = np.array(keys).T
    where = canvas.span(times[0], times[-1])
    t = np.arange(where.start, where.stop) / GRID_HZ
    k = np.clip(np.searchsorted(times, t, "right") - 1, 0, len(times) - 2)
    u = np.clip((t - times[k]) / np.maximum(times[k + 1] - times[k], 1e-6), 0, 1)
    s = u * u * u * (10 - 15 * u + 6 * u * u)
    return where, values[k] + s * (values[k + 1] - values[k])


def _tremor(t: F64, size: float, rng: Rng) -> F64:
    waves = [np.sin(2 * np.pi * rng.uniform(7, 12) * t + rng.uniform(0, 6.3)) for _ in range(3)]
    return size * np.sum(waves, axis=0) / 3


def _do_push(canvas: Canvas, pad: Pad, name: str, at: float, rng: Rng, slips: dict[str, float]) -> None:
    angles = [90.0, 0.0, 270.0, 180.0]
    if rng.random() < slips["directions start at the wrong side"]:
        angles = [270.0, 0.0, 90.0, 180.0]
    if rng.random() < slips["a direction is left out"]:
        angles.pop(int(rng.integers(4)))
    x, y = canvas.sticks[name]
    for angle in angles:
        out, hold, back = rng.uniform(0.06, 0.18), rng.uniform(0.2, 0.5), rng.uniform(0.03, 0.06)
        keys = [(at, 0.0), (at + out, 1.0), (at + out + hold, 1.0), (at + out + hold + back, 0.0)]
        where, radius = _curve(canvas, keys, rng)
        t = np.arange(where.start, where.stop) / GRID_HZ
        bearing = np.radians(angle + rng.normal(0, 9) + _tremor(t, 3, rng))
        x[where] += radius * np.cos(bearing)
        y[where] += radius * np.sin(bearing)
        at += out + hold + back + rng.uniform(0.35, 0.7)


def _do_roll(canvas: Canvas, pad: Pad, name: str, at: float, rng: Rng, slips: dict[str, float]) -> None:
    turns, seconds = rng.uniform(1.7, 2.5), rng.uniform(4.0, 5.5)
    start, way = np.radians(rng.normal(90, 10)), rng.choice([-1, 1])
    if rng.random() < slips["directions start at the wrong side"]:
        start = -start
    where, radius = _curve(
        canvas, [(at, 0.0), (at + 0.2, 1.0), (at + 0.2 + seconds, 1.0), (at + 0.26 + seconds, 0.0)], rng
    )
    t = np.arange(where.start, where.stop) / GRID_HZ
    u = np.clip((t - at - 0.2) / seconds, 0, 1)
    angle = start + way * 2 * np.pi * turns * u + 0.25 * np.sin(2 * np.pi * rng.uniform(0.4, 1.0) * t)
    radius = np.minimum(radius * (1.03 + _tremor(t, 0.04, rng)), 1.0)
    canvas.sticks[name][0][where] += radius * np.cos(angle)
    canvas.sticks[name][1][where] += radius * np.sin(angle)


def _do_pull(canvas: Canvas, pad: Pad, name: str, at: float, rng: Rng, slips: dict[str, float]) -> None:
    for _ in range(1 if rng.random() < slips["one press is forgotten"] else 2):
        out, hold, back = rng.uniform(1.0, 1.6), rng.uniform(0.15, 0.5), rng.uniform(0.06, 0.2)
        keys = [(at, 0.0), (at + out, 1.0), (at + out + hold, 1.0), (at + out + hold + back, 0.0)]
        where, pulled = _curve(canvas, keys, rng)
        t = np.arange(where.start, where.stop) / GRID_HZ
        moving = np.clip(4 * pulled * (1 - pulled), 0, 1)
        canvas.triggers[name][where] = np.clip(pulled + moving * _tremor(t, 0.02, rng), 0, 1)
        at += out + hold + back + rng.uniform(0.3, 0.6)


def _do_tap(canvas: Canvas, pad: Pad, name: str, at: float, rng: Rng, slips: dict[str, float]) -> None:
    order = [0, 2, 4, 6]
    if rng.random() < slips["directions start at the wrong side"]:
        order = [4, 2, 0, 6]
    if rng.random() < slips["a direction is left out"]:
        order.pop(int(rng.integers(4)))
    for direction in order:
        hold = rng.uniform(0.18, 0.45)
        canvas.hats[name][canvas.span(at, at + hold)] = direction
        if rng.random() < 0.2:  # it tips over to a diagonal on the way back
            canvas.hats[name][canvas.span(at + hold - 0.05, at + hold)] = (direction + int(rng.choice([1, 7]))) % 8
        at += hold + rng.uniform(0.3, 0.6)


def _do_ring(canvas: Canvas, pad: Pad, name: str, at: float, rng: Rng, slips: dict[str, float]) -> None:
    way = int(rng.choice([-1, 1]))
    start = 4 if rng.random() < slips["directions start at the wrong side"] else 0
    for k in range(int(rng.integers(15, 20))):
        hold = rng.uniform(0.1, 0.3) if k % 2 == 0 else rng.uniform(0.05, 0.2)
        canvas.hats[name][canvas.span(at, at + hold)] = (start + way * k) % 8
        at += hold


_DO = {
    "press": _do_press,
    "push": _do_push,
    "roll": _do_roll,
    "pull": _do_pull,
    "tap": _do_tap,
    "ring": _do_ring,
}
