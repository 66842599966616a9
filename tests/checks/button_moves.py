"""Presses made up for the tests of buttons: contacts polled by a link, hands that follow beats more or less well."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from station.checks.limits import load_limits
from station.checks.takes import take_between
from station.checks.types import Take
from station.sheets.model import Control, Sheet
from station.sheets.signals import I64, ButtonSignal, HatSignal, Signal, StickSignal, TriggerSignal

MS = 1_000_000
S = 1_000_000_000
LIMITS = load_limits()

LEFT = Control("left_shoulder", "button", "Left shoulder", "top", twin="right_shoulder")
RIGHT = Control("right_shoulder", "button", "Right shoulder", "top", twin="left_shoulder")
LONE = Control("menu", "button", "Menu")
PADDLE = Control("left_paddle", "button", "Left paddle", "back", seen_as="left_shoulder")
STICK = Control("left_stick", "stick", "Left stick", "left hand")
STICK_PRESS = Control("left_stick_press", "button", "Left stick press", "left hand")
TRIGGER = Control("left_trigger", "trigger", "Left trigger", "top")
HAT = Control("d_pad", "hat", "D-pad", "left hand")
SHEET = Sheet("Plover T2", controls=(LEFT, RIGHT, LONE, PADDLE, STICK, STICK_PRESS, TRIGGER, HAT))


def polls(end_ns: int, period_ms: float = 1.0) -> I64:
    """Arrival times of a link that reports all the time."""
    return (np.arange(int(end_ns / (period_ms * MS)) + 1) * period_ms * MS).astype(np.int64)


def contact(closed_ms: Iterable[tuple[float, float]], end_ms: float, period_ms: float = 1.0) -> ButtonSignal:
    """A contact that is closed in each of the stretches, as polled."""
    t_ns = polls(int(end_ms * MS), period_ms)
    closed = np.zeros(len(t_ns), dtype=np.bool_)
    for start, stop in closed_ms:
        closed |= (t_ns >= start * MS) & (t_ns < stop * MS)
    return ButtonSignal(t_ns, closed)


def idle(end_ms: float) -> ButtonSignal:
    """A contact that reported and never closed."""
    return contact([], end_ms)


def presses_at(starts_ms: Sequence[float], length_ms: float = 90.0) -> list[tuple[float, float]]:
    """Clean presses."""
    return [(start, start + length_ms) for start in starts_ms]


def beats(count: int, interval_ms: float = 500.0, first_ms: float = 1000.0) -> list[float]:
    """Moments of the beats, ms."""
    return [first_ms + i * interval_ms for i in range(count)]


def take(
    control: Control | None,
    signals: dict[str, Signal],
    end_ms: float,
    *,
    beats_ms: Sequence[float] = (),
    witness: str | None = None,
    period_ms: float = 1.0,
    sheet: Sheet = SHEET,
    begin_ms: float = 0.0,
    **more: object,
) -> Take:
    """A take over these signals with a link that reports all the time."""
    return take_between(
        sheet,
        signals,
        int(begin_ms * MS),
        int(end_ms * MS),
        polls(int(end_ms * MS), period_ms),
        control=control,
        beats_ns=tuple(int(b * MS) for b in beats_ms),
        witness=witness,
        **more,  # type: ignore[arg-type]
    )


def hat(steps: Iterable[tuple[float, int]]) -> HatSignal:
    """A hat that reports on change: (ms, direction or −1)."""
    times, directions = zip(*steps, strict=True)
    return HatSignal(np.array([t * MS for t in times], dtype=np.int64), np.array(directions, dtype=np.int8))


def stick(xy: Iterable[tuple[float, float, float]]) -> StickSignal:
    """A stick by (ms, x %, y %)."""
    t, x, y = (np.array(column, dtype=np.float64) for column in zip(*xy, strict=True))
    code = lambda v: np.round(v * 127 / 100).astype(np.int64)  # noqa: E731
    return StickSignal((t * MS).astype(np.int64), x, y, code(x), code(y), 100 / 127, 100 / 127)


def trigger(pulls: Iterable[tuple[float, float]]) -> TriggerSignal:
    """A trigger by (ms, % of travel)."""
    t, pct = (np.array(column, dtype=np.float64) for column in zip(*pulls, strict=True))
    return TriggerSignal((t * MS).astype(np.int64), pct, np.round(pct * 2.55).astype(np.int64), 100 / 255)
