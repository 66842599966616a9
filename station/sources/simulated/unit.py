"""A simulated unit at work: hand → shafts and contacts → sensors → reports → link. Stretch by stretch."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from station.hid.pack import encode_many
from station.sources.simulated.design import PadControl
from station.sources.simulated.firmware import AxisFirmware
from station.sources.simulated.hand import Acts, SimulatedHand
from station.sources.simulated.path import Move
from station.sources.simulated.sensing import LYING, Turned, motion_codes, touch_codes
from station.sources.simulated.sensor import TrackSensor, codes
from station.sources.simulated.shaft import LeverShaft, StickShaft
from station.sources.simulated.spec import UnitSpec, stream
from station.sources.simulated.switch import Switch, hat_direction
from station.sources.simulated.wire import I64, U8, Wire

Bool = NDArray[np.bool_]
F64 = NDArray[np.float64]

LEAST_TICKS_PER_S = 1000
"""the mechanics are computed at least so often, whatever the rate of the reports"""


class SimulatedUnit:
    """State of a unit that is plugged in. Time and memory grow with the polls computed, and nothing is kept."""

    def __init__(self, spec: UnitSpec, hand: SimulatedHand) -> None:
        self.spec = spec
        self._hand = hand
        design, parts = spec.design, spec.parts
        self.rate_hz = parts.link.rate_hz
        self._ticks_per_poll = math.ceil(LEAST_TICKS_PER_S / self.rate_hz)
        self._tick_s = (1.0 + parts.link.clock_ppm * 1e-6) / (self.rate_hz * self._ticks_per_poll)
        poll_s = 1.0 / self.rate_hz

        def rng(name: str) -> np.random.Generator:
            return stream(spec.seed, f"run {name}")

        self.sticks = {i: StickShaft(p, self._tick_s, rng(i)) for i, p in parts.sticks.items()}
        self._levers = {i: LeverShaft(p, self._tick_s, rng(f"{i} hang")) for i, p in parts.levers.items()}
        self.switches = {i: Switch(p, self._tick_s, rng(i)) for i, p in parts.contacts.items()}
        self._sensors = {
            (i, axis): TrackSensor(track, poll_s, rng(f"{i} {axis}"))
            for i, p in parts.sticks.items()
            for axis, track in (("x", p.x), ("y", p.y))
        }
        self._sensors.update({(i, ""): TrackSensor(p.track, poll_s, rng(i)) for i, p in parts.levers.items()})
        self._touches = bool(design.touch_report.fields)
        self._sensed_rng = rng("sensed")
        habits = spec.firmware
        self._firmware = {(i, axis): AxisFirmware(habits, poll_s) for i in parts.sticks for axis in "xy"}
        self._places: dict[str, F64] = {}
        self.wire = Wire(parts.link, design.on_change, rng("link"))
        self.polls = 0
        self.true_pct: dict[tuple[str, str], float] = {}
        """(control, axis) → what the track says now, without noise, bad spots and converter"""
        self.watch: Callable[[str, float, float, F64], None] | None = None
        """gets each stick's places of the shaft, float[n, 2], with control, time of the first and step, in s"""
        self.watch_contacts: Callable[[float, float, dict[str, NDArray[np.bool_]]], None] | None = None
        """gets the state of every contact at each tick, bool[n], with time of the first and step, in s"""
        hand.meet(design.controls)

    def polls_until(self, at_ns: float) -> int:
        """How many polls there are up to that moment."""
        return int(at_ns / self.wire.poll_ns(0, 1)[0])

    def run(self, polls: int) -> tuple[I64, U8]:
        """Arrival times in ns and reports of the next `polls` polls (at least one)."""
        count = polls * self._ticks_per_poll
        acts = self._hand.act(self.polls * self._ticks_per_poll, count, self._tick_s)
        values = self._values(acts, count, slice(self._ticks_per_poll - 1, None, self._ticks_per_poll))
        raw = encode_many(self.spec.design.report, values, polls)
        if self._touches:
            at = slice(self._ticks_per_poll - 1, None, self._ticks_per_poll)
            touched = np.zeros((polls, 3)) if acts.touched is None else acts.touched[at]
            raw |= encode_many(self.spec.design.touch_report, self._touch(touched, polls), polls)
        delivered = self.wire.deliver(self.polls, raw, acts.flexed)
        self.polls += polls
        return delivered

    def _values(self, acts: Acts, count: int, at: slice) -> dict[int, I64]:
        """The numbers of the report by usage at the polls, which are the ticks `at`."""
        values: dict[int, I64] = {}
        self._places = {i: shaft.run(*_led(acts.sticks.get(i)), count) for i, shaft in self.sticks.items()}
        closed = self._closed(acts, count)
        pulled = self._pulled(closed, at)
        for control in self.spec.design.controls:
            match control.kind:
                case "stick":
                    values.update(self._stick(control, at, pulled))
                case "trigger":
                    move = acts.triggers.get(control.id)
                    travel = self._levers[control.id].run(*_led(move), count)[at]
                    values[control.usages[0]] = self._code(control, "", travel, 0)
                case "hat":
                    values[control.usages[0]] = self._hat(control, acts, count)[at]
                case "motion":
                    values.update(self._motion(control, acts, count, at))
                case "button" | "touch":
                    pass
        usages = {c.id: c.usages[0] for c in self.spec.design.controls}
        values.update({usages[i]: state[at].astype(np.int64) for i, state in closed.items()})
        return values

    def _stick(self, control: PadControl, at: slice, pulled: dict[tuple[str, str], Bool]) -> dict[int, I64]:
        whole = self._places[control.id]
        if self.watch is not None:
            self.watch(control.id, (self.polls * self._ticks_per_poll + 1) * self._tick_s, self._tick_s, whole)
        place = whole[at]
        found = {}
        for k, usage in enumerate(control.usages):
            codes = self._code(control, "xy"[k], place[:, k], k)
            short = pulled.get((control.id, "xy"[k]))
            top = self.spec.design.fields[usage].logical_max
            found[usage] = codes if short is None else np.where(short, top, codes)
        return found

    def _code(self, control: PadControl, axis: str, place: F64, k: int) -> I64:
        """The codes of one axis of a control, its k-th usage."""
        design = self.spec.design
        seen, true = self._sensors[control.id, axis].run(place)
        self.true_pct[control.id, axis] = float(true[-1])
        if axis:
            seen = self._firmware[control.id, axis].run(seen)
        turned = axis == "y" and control.up == "low"
        low_pct = -100.0 if axis else 0.0
        return codes(seen, design.fields[control.usages[k]], low_pct, 100.0, design.adc_bits, turned)

    def _motion(self, control: PadControl, acts: Acts, count: int, at: slice) -> dict[int, I64]:
        turned = acts.turned or Turned(np.tile(LYING, (count, 1)), np.zeros((count, 3)))
        seen = Turned(turned.force_g[at], turned.turning[at])
        fields = tuple(self.spec.design.fields[usage] for usage in control.usages)
        return dict(zip(control.usages, motion_codes(self.spec.parts.imu, seen, fields, self._sensed_rng), strict=True))

    def _touch(self, touched: F64, polls: int) -> dict[int, I64]:
        """The fields of the first contact; the second one never touches."""
        poll_s = 1.0 / self.rate_hz
        at_s = poll_s * (self.polls + np.arange(1.0, polls + 1.0, dtype=np.float64))
        felt = touch_codes(self.spec.parts.touch_pad, touched, at_s, poll_s, self._sensed_rng)
        tip, _, x, y = self.spec.design.touch_report.fields[:4]
        found = {tip.usage: felt[:, 0].astype(np.int64)}
        for f, place in ((x, felt[:, 1]), (y, felt[:, 2])):
            found[f.usage] = np.rint(place / 100.0 * f.logical_max).astype(np.int64)
        return found

    def _hat(self, control: PadControl, acts: Acts, count: int) -> I64:
        hat = acts.hats.get(control.id)
        bearing, force = (None, None) if hat is None else (hat.bearing_deg, hat.force)
        direction = hat_direction(self.spec.parts.hats[control.id], bearing, force, count)
        return np.array(self.spec.design.hat_codes, dtype=np.int64)[direction]  # the last one is that of the null state

    def _closed(self, acts: Acts, count: int) -> dict[str, Bool]:
        """Control → state of its contact at each tick, with what it shorts to."""
        closed = {i: s.run(acts.forces.get(i), count, acts.tilts.get(i)) for i, s in self.switches.items()}
        at_s = self._tick_s * (self.polls * self._ticks_per_poll + np.arange(1.0, count + 1.0, dtype=np.float64))
        for one, contact in self.spec.parts.contacts.items():
            if contact.spells.every_s:
                closed[one] = closed[one] | contact.spells.at(at_s)
            if contact.pushed.stick:
                closed[one] = closed[one] | contact.pushed.at(self._places[contact.pushed.stick])
            for other in contact.into:
                closed[other] = closed[other] | closed[one]
        touched = dict(closed)
        for one, contact in self.spec.parts.contacts.items():
            for other, third in contact.joins:
                closed[third] = closed[third] | (touched[one] & touched[other])
            for other in contact.hides:
                closed[other] = closed[other] & ~touched[one]
        if self.watch_contacts is not None:
            self.watch_contacts(float(at_s[0]), self._tick_s, closed)
        return closed

    def _pulled(self, closed: dict[str, Bool], at: slice) -> dict[tuple[str, str], Bool]:
        """(stick, axis) → whether a button's short pulls it to its end, at each poll."""
        pulled: dict[tuple[str, str], Bool] = {}
        for one, contact in self.spec.parts.contacts.items():
            for axis in contact.pulls:
                pulled[axis] = closed[one][at] | pulled.get(axis, np.zeros(1, dtype=np.bool_))
        return pulled


def _led(move: Move | None) -> tuple[F64 | None, NDArray[np.bool_] | None]:
    return (None, None) if move is None else (move.place, move.held)
