"""A motion sensor: at rest, and on all six sides of the unit."""

from __future__ import annotations

import math

import numpy as np

from station.checks.base import again, count, finding
from station.checks.decide import judged, out_of_limit, outcome_of
from station.checks.types import (
    Assessment,
    Description,
    Finding,
    FindingKind,
    Limits,
    Outcome,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure import gravity, held
from station.measure.arrays import F64, NS_PER_MS, NS_PER_S
from station.measure.means import measured_mean
from station.measure.spread import spread
from station.measure.uncertainty import combined, expanded
from station.sheets.model import ACCEL, GYRO, Control, Sheet
from station.sheets.signals import MotionSignal
from station.words import checks as words
from station.words import unseen

AXES = ("x", "y", "z")
ASKED_NS = 3 * NS_PER_S
QUIET_G, QUIET_DEG_PER_S = 0.15, 30.0
"""a unit that lies moves by less than this over a tenth of a second (common practice, no source)"""
_PIECE_NS = 100 * NS_PER_MS
DEAD_PCT = 80.0
"""an axis of a gyro that shows less than a fifth of a turn does not work"""
DEAD_SPAN, WEAK = 0.15, 0.5
"""an axis whose readings over all sides span less than this of gravity is dead, if a side was weaker than `WEAK`"""
U_TURN_PCT = 3.0
"""standard uncertainty of a quarter turn seen by a gyro: what is turned about other axes on the way (Monte Carlo)"""


def _per_axis(name: str, text: str, unit: str, digits: int, limit: str = "") -> tuple[ReadingKind, ...]:
    return tuple(
        ReadingKind(f"{name}_{a}", text.format(axis=words.AXES_OF_MOTION[a]), unit, digits, limit=limit) for a in AXES
    )


def _motion_of(take: Take) -> MotionSignal | None:
    signal = take.signals.get(take.control.id) if take.control is not None else None
    return signal if isinstance(signal, MotionSignal) and len(signal.t_ns) else None


def _has(control: Control | None, axes: tuple[str, ...]) -> bool:
    return control is not None and control.kind == "motion" and any(name in axes for name, _ in control.axes)


class Still:
    """Three seconds lying: offset of the gyro, norm of the acceleration, noise."""

    name = "still"
    title = words.STILL
    about = Description(
        kinds=("motion",),
        readings=(
            ReadingKind("norm", words.STILL_NORM, "g", 3),
            ReadingKind("norm_error", words.STILL_NORM_ERROR, "g", 3, limit="norm_error"),
            *_per_axis("gyro_offset", words.STILL_GYRO, "°/s", 2, "gyro_offset"),
            *_per_axis("accel_noise", words.STILL_ACCEL_NOISE, "g", 4, "accel_noise"),
            *_per_axis("gyro_noise", words.STILL_GYRO_NOISE, "°/s", 3, "gyro_noise"),
            *_per_axis("accel_rest", words.STILL_ACCEL_REST, "%", 2),
            *_per_axis("gyro_rest", words.STILL_GYRO_REST, "%", 2),
        ),
        findings=(
            FindingKind("accel_norm", words.ACCEL_NORM, {"norm": "norm"}),
            FindingKind("gyro_offset", words.GYRO_OFFSET, {"offset": "gyro_offset_x"}),
            FindingKind("motion_noise", words.MOTION_NOISE, {"noise": "accel_noise_x"}),
        ),
        hands_off=True,
        unseen=unseen.STILL,
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return _has(control, (*ACCEL, *GYRO))

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.STILL_DO, words.STILL_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        quiet_ns = _quiet_ns(take)
        if quiet_ns >= ASKED_NS:
            return Progress(True, "", 1.0)
        left = max(1, math.ceil((ASKED_NS - quiet_ns) / NS_PER_S))
        return Progress(False, words.STILL_MORE.format(seconds=left), quiet_ns / ASKED_NS)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = _motion_of(take)
        if signal is None or _quiet_ns(take) < ASKED_NS:
            return again(words.STILL_MOVED)
        readings = judged(self.name, _at_rest(signal, take.end_ns), limits)
        if all(r.limit is None for r in readings):
            return Assessment(Outcome.PASS, readings)
        return Assessment(outcome_of(readings), readings, _rest_findings(take, readings))


def _quiet_ns(take: Take) -> int:
    """How long it has lain at the end of the take."""
    signal = _motion_of(take)
    if signal is None:
        return 0
    moments = held.grid_ns(take.begin_ns, take.end_ns, _PIECE_NS // 5)
    if len(moments) < 10:
        return 0
    restless = np.zeros(len(moments) // 5, dtype=np.bool_)
    for values, unit, most in ((signal.accel, "g", QUIET_G), (signal.gyro, "°/s", QUIET_DEG_PER_S)):
        known = signal.accel_unit if unit == "g" else signal.gyro_unit
        for k in range(values.shape[1]):
            sampled = held.held_at(signal.t_ns, values[:, k], moments)[: 5 * len(restless)].reshape(-1, 5)
            middle = np.median(sampled, axis=1)
            restless |= np.abs(middle - np.median(middle)) > (most if known else 5.0)
    if not restless.any():
        return take.end_ns - take.begin_ns
    return int((len(restless) - 1 - np.flatnonzero(restless)[-1]) * _PIECE_NS)


def _at_rest(signal: MotionSignal, end_ns: int) -> tuple[Reading, ...]:
    begin_ns = end_ns - ASKED_NS
    found: list[Reading] = []
    if signal.accel.shape[1]:
        found += _rest_of(signal, signal.accel, signal.accel_step, signal.accel_unit, "accel", begin_ns, end_ns)
    if signal.gyro.shape[1]:
        found += _rest_of(signal, signal.gyro, signal.gyro_step, signal.gyro_unit, "gyro", begin_ns, end_ns)
    return tuple(found)


def _rest_of(
    signal: MotionSignal, values: F64, steps: tuple[float, ...], unit: str, sensor: str, begin_ns: int, end_ns: int
) -> list[Reading]:
    means = [measured_mean(signal.t_ns, values[:, k], begin_ns, end_ns, steps[k]) for k in range(3)]
    if not unit:
        return [
            Reading(f"{sensor}_rest_{a}", m.value, "%", expanded(m.u), n=round(m.n), reason=words.NO_UNIT)
            for a, m in zip(AXES, means, strict=True)
        ]
    found = []
    if sensor == "accel":
        norm = math.sqrt(sum(m.value**2 for m in means))
        u = combined(*(m.value / max(norm, 1e-9) * m.u for m in means), gravity.LOCAL_GRAVITY)
        found += [Reading("norm", norm, "g", expanded(u)), Reading("norm_error", abs(norm - 1.0), "g", expanded(u))]
    else:
        found += [
            Reading(f"gyro_offset_{a}", abs(m.value), unit, expanded(m.u), n=round(m.n))
            for a, m in zip(AXES, means, strict=True)
        ]
    for k, a in enumerate(AXES):
        noise = spread(signal.t_ns, values[:, k], begin_ns, end_ns, steps[k])
        found.append(Reading(f"{sensor}_noise_{a}", noise.rms, unit, expanded(noise.u), n=round(noise.n)))
    return found


def _rest_findings(take: Take, readings: tuple[Reading, ...]) -> tuple[Finding, ...]:
    value = {r.name: r for r in readings}
    found = []
    if "norm_error" in value and out_of_limit(value["norm_error"]):
        found.append(finding("accel_norm", take.control, {"norm": value["norm"]}))
    for a in AXES:
        axis = words.AXES_OF_MOTION[a]
        if (r := value.get(f"gyro_offset_{a}")) is not None and out_of_limit(r):
            found.append(finding("gyro_offset", take.control, {"offset": r, "axis": axis}))
        noises = [r for sensor in ("accel", "gyro") if (r := value.get(f"{sensor}_noise_{a}")) is not None]
        found += [
            finding("motion_noise", take.control, {"noise": r, "unit": r.unit, "axis": axis})
            for r in noises
            if out_of_limit(r)
        ]
    return tuple(found)


class Sides:
    """All six sides up in turn: sensitivity and offset of each axis, and what the gyro says of the turns between."""

    name = "sides"
    title = words.SIDES
    about = Description(
        kinds=("motion",),
        grip="turned",
        readings=(
            *_per_axis("sensitivity_error", words.SIDES_ERROR, "%", 1, "sensitivity_error"),
            *_per_axis("accel_offset", words.SIDES_OFFSET, "g", 3, "accel_offset"),
            *_per_axis("turn_error", words.SIDES_TURNED, "%", 1, "turn_error"),
            *_per_axis("sensitivity", words.SIDES_SENSITIVITY, "g/g", 3),
            *_per_axis("relative_sensitivity", words.SIDES_RELATIVE, "%", 1),
            ReadingKind("sides_seen", words.SIDES_SEEN),
        ),
        findings=(
            FindingKind("accel_scale", words.ACCEL_SCALE, {"error": "sensitivity_error_x"}),
            FindingKind("accel_offset", words.ACCEL_OFFSET, {"offset": "accel_offset_x"}),
            FindingKind("gyro_scale", words.GYRO_SCALE, {"error": "turn_error_x"}),
            FindingKind("dead_gyro", words.DEAD_GYRO),
            FindingKind("dead_accel", words.DEAD_ACCEL),
        ),
        works_all=True,
        unseen=unseen.SIDES,
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return _has(control, ACCEL)

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.SIDES_DO, words.SIDES_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        seen = _Sides(take)
        share = len(seen.up) / 6.0
        if seen.dead_accel() is not None:
            return Progress(True, "", 1.0)
        if len(seen.up) < 6:
            return Progress(False, words.SIDES_MORE.format(seen=len(seen.up)), share)
        if seen.scale is None:
            return Progress(False, words.SIDES_NOT_FIT, share)
        if seen.unturned:
            return Progress(False, words.SIDES_TURN, share)
        return Progress(True, "", 1.0)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        seen = _Sides(take)
        readings = judged(self.name, seen.readings(), limits)
        dead = seen.dead_accel()
        if dead is not None:
            params = {"axis": words.AXES_OF_MOTION[AXES[dead]]}
            return Assessment(Outcome.FAIL, readings, (finding("dead_accel", take.control, params),))
        if len(seen.up) < 6:
            return again(words.SIDES_MORE.format(seen=len(seen.up)), readings)
        if seen.scale is None:
            return again(words.SIDES_NOT_FIT, readings)
        if seen.unturned:
            return again(words.SIDES_TURN, readings)
        if all(r.limit is None for r in readings):
            return Assessment(Outcome.PASS, readings)
        return Assessment(outcome_of(readings), readings, _side_findings(take, readings))


class _Sides:
    """What the sides and turns of a take show."""

    def __init__(self, take: Take) -> None:
        signal = self._signal = _motion_of(take)
        there = signal is not None and bool(signal.accel.shape[1])
        self._sides = gravity.sides(signal.t_ns, signal.accel, take.end_ns) if signal is not None and there else ()
        self.up = gravity.seen(self._sides)
        self.scale = gravity.six_sides(self._sides)
        self._turns = self._compared() if signal is not None and signal.gyro.shape[1] else None

    def _compared(self) -> tuple[gravity.Turn, ...]:
        signal, used = self._signal, [s for s in self._sides if s.axis >= 0]
        if self.scale is None or signal is None or not signal.gyro_unit:
            return ()
        still = np.zeros(len(signal.t_ns), dtype=np.bool_)
        for side in used:
            still |= (signal.t_ns >= side.begin_ns) & (signal.t_ns <= side.end_ns)
        offset = np.median(signal.gyro[still], axis=0) if still.any() else np.zeros(3)
        return gravity.turns(used, signal.t_ns, signal.gyro, offset, self.scale)

    @property
    def unturned(self) -> tuple[int, ...]:
        """Axes of the gyro that no turn was about; none where there is no gyro with a unit."""
        if self._turns is None or self._signal is None or not self._signal.gyro_unit:
            return ()
        return tuple(k for k in range(3) if not any(t.axis == k for t in self._turns))

    def dead_accel(self) -> int | None:
        """The axis of the accelerometer that shows nothing: the other sides were up, and the rest were weak."""
        if not self._sides:
            return None
        means = np.array([s.mean for s in self._sides])
        norms = np.sqrt((means**2).sum(axis=1))
        whole = float(norms.max())
        for k in range(3):
            others = {(axis, sign) for axis, sign in self.up if axis != k}
            if len(others) == 4 and float(np.ptp(means[:, k])) < DEAD_SPAN * whole and norms.min() < WEAK * whole:
                return k
        return None

    def readings(self) -> tuple[Reading, ...]:
        found = [count("sides_seen", len(self.up), len(self._sides))]
        scale, signal = self.scale, self._signal
        if scale is None or signal is None:
            return tuple(found)
        mean = float(scale.sensitivity.mean())
        for k, a in enumerate(AXES):
            s, u = float(scale.sensitivity[k]), float(scale.u_sensitivity[k])
            if signal.accel_unit:
                found += [
                    Reading(f"sensitivity_error_{a}", abs(s - 1.0) * 100.0, "%", expanded(100.0 * u)),
                    Reading(f"accel_offset_{a}", abs(float(scale.offset[k])), "g", expanded(float(scale.u_offset[k]))),
                    Reading(f"sensitivity_{a}", s, "g/g", expanded(u)),
                ]
            else:
                share, u_share = 100.0 * s / mean, 100.0 * u / mean
                found.append(Reading(f"relative_sensitivity_{a}", share, "%", expanded(u_share), reason=words.NO_UNIT))
        for k, a in enumerate(AXES):
            ratios = [t.gyro_deg / t.gravity_deg for t in self._turns or () if t.axis == k]
            if ratios:
                error = abs(float(np.mean(ratios)) - 1.0) * 100.0
                u_turn = expanded(U_TURN_PCT / math.sqrt(len(ratios)))
                found.append(Reading(f"turn_error_{a}", error, "%", u_turn, n=len(ratios)))
        return tuple(found)


def _side_findings(take: Take, readings: tuple[Reading, ...]) -> tuple[Finding, ...]:
    value = {r.name: r for r in readings}
    found = []
    for a in AXES:
        axis = words.AXES_OF_MOTION[a]
        for name, code, param in (
            ("sensitivity_error", "accel_scale", "error"),
            ("accel_offset", "accel_offset", "offset"),
            ("turn_error", "gyro_scale", "error"),
        ):
            reading = value.get(f"{name}_{a}")
            if reading is None or not out_of_limit(reading):
                continue
            if name == "turn_error" and (reading.value or 0.0) > DEAD_PCT:
                found.append(finding("dead_gyro", take.control, {"axis": axis}))
            else:
                found.append(finding(code, take.control, {param: reading, "axis": axis}))
    return tuple(found)
