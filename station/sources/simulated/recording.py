"""A whole unit recorded in one go: what a hand does for a list of checks, with the marks of a capture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from station.capture.types import Capture, CaptureMeta, Mark
from station.hid.types import ReportBlock
from station.sources.simulated.hand import SimulatedHand
from station.sources.simulated.spec import UnitSpec
from station.sources.simulated.unit import SimulatedUnit
from station.sources.simulated.wire import I64, NS, U8

SECONDS: dict[str, float] = {
    "contact": 2.9,
    "hold": 6.6,
    "rest": 6.6,
    "letgo": 8.0,
    "travel": 7.4,
    "rim": 8.5,
    "sweep": 32.0,
    "trigger": 10.6,
    "hat": 6.8,
    "link": 11.4,
    "together": 20.0,
    "still": 4.0,
    "sides": 14.0,
    "untouched": 4.0,
    "swipe": 10.0,
}
"""how long one go of a careful hand takes at most, its reaction included"""
_LEAD_S = 1.5
"""of a light press: before the first beat"""
_TAKES_BACK_NS = 300_000_000
"""so long after a beat that it let pass the hand takes it back"""
_SAME_BEAT_NS = 1_000_000
_TAIL_S = 0.8


@dataclass(frozen=True, slots=True)
class Item:
    """One stretch of a recording: a check of a control ("" for the whole unit); `witness` is pressed along.

    `seconds` overrides how long it lasts; `beats` and `beats_per_minute` are for the light press.
    """

    check: str
    control: str = ""
    witness: str | None = None
    seconds: float = 0.0
    beats: int = 36
    beats_per_minute: int = 120

    def lasts_s(self) -> float:
        if self.check == "light":
            return _LEAD_S + (self.beats - 1) * 60.0 / self.beats_per_minute + _TAIL_S
        return self.seconds or SECONDS[self.check]


def make_capture(
    spec: UnitSpec,
    hand: SimulatedHand,
    plan: Sequence[Item],
    *,
    sheet: str | None = None,
    started_at: str = "2026-03-02T09:00:00Z",
    pause_s: float = 0.5,
) -> Capture:
    """The recording of `plan`, item after item, one go at each. Deterministic in `spec`, the hand's seed and `plan`."""
    unit = SimulatedUnit(spec, hand)
    hand.repeats = False
    kinds = {control.id: control.kind for control in spec.design.controls}
    marks: list[Mark] = []
    pieces: list[tuple[I64, U8]] = []
    at_s = 0.4
    for item in plan:
        begin_ns, end_ns = round(at_s * NS), round((at_s + item.lasts_s()) * NS)
        beats_ns = _beats_ns(item, at_s)
        hand.ask(item.check, item.control, item.witness, kinds.get(item.control, ""), item.beats_per_minute, begin_ns)
        hand.rest(end_ns)
        marks.append(Mark(begin_ns, "begin", item.check, item.control, item.witness))
        marks += [Mark(t, "beat", item.check, item.control, item.witness) for t in beats_ns]
        marks.append(Mark(end_ns, "end", item.check, item.control, item.witness))
        at_s += item.lasts_s() + pause_s
        let_pass = _run(unit, hand, list(beats_ns), round((at_s - pause_s / 2) * NS), pieces)
        marks += [
            Mark(beat + _TAKES_BACK_NS, "void", item.check, item.control)
            for beat in beats_ns
            if any(abs(beat - t) < _SAME_BEAT_NS for t in let_pass)
        ]
    vendor_id, product_id = spec.design.ids
    meta = CaptureMeta(vendor_id, product_id, spec.design.name, spec.tag, "simulated", started_at, sheet)
    return Capture(spec.design.descriptor, _joined(pieces, spec.design.report.width), meta, tuple(marks))


def _beats_ns(item: Item, at_s: float) -> list[int]:
    if item.check != "light":
        return []
    return [round((at_s + _LEAD_S + k * 60.0 / item.beats_per_minute) * NS) for k in range(item.beats)]


def _run(
    unit: SimulatedUnit, hand: SimulatedHand, beats_ns: list[int], until_ns: int, pieces: list[tuple[I64, U8]]
) -> list[int]:
    """Run the unit up to a moment, in pieces of at most half a second; beats are told a little ahead, as they sound.

    Returns the beats that the hand let pass and takes back.
    """
    let_pass: list[int] = []
    piece = max(1, unit.rate_hz // 2)
    end = unit.polls_until(until_ns)
    while unit.polls < end:
        polls = min(piece, end - unit.polls)
        until = float(unit.wire.poll_ns(unit.polls + polls, 1)[0]) + 0.3 * NS
        while beats_ns and beats_ns[0] < until:
            hand.beat(beats_ns.pop(0))
        pieces.append(unit.run(polls))
        let_pass += hand.noticed()
    return let_pass


def _joined(pieces: list[tuple[I64, U8]], width: int) -> ReportBlock:
    t_ns = np.concatenate([t for t, _ in pieces]) if pieces else np.empty(0, np.int64)
    raw = np.concatenate([r for _, r in pieces]) if pieces else np.empty((0, width), np.uint8)
    return ReportBlock(0, t_ns, np.full(len(t_ns), width, np.uint16), raw)
