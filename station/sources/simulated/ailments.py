"""What a fault does to the parts: from a named magnitude to the parameters of `parts`."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtri

from station.errors import InputError
from station.sources.simulated.by_itself import Push, Ramp, Spell
from station.sources.simulated.design import PadDesign
from station.sources.simulated.faults import CODES, Fault, bearing_of
from station.sources.simulated.parts import CREEP_FROM_PCT, Contact, Hat, Lever, Link, Parts, Spot, Stick, Track
from station.sources.simulated.sensing import Imu, TouchPad, Triple
from station.sources.simulated.spring import step_response
from station.sources.simulated.style import style_of
from station.words import samples as words

_T = TypeVar("_T")
_AXES = ("x", "y", "z")
_FILM_SPREAD = 0.35
"""relative spread of the force a film needs, from press to press (common practice)"""


def with_fault(parts: Parts, fault: Fault, rng: np.random.Generator, design: PadDesign) -> Parts:
    """The parts with one fault more. InputError if the model cannot have it."""
    kind, control = fault.kind, fault.control
    if kind not in CODES:
        raise InputError(words.NO_SUCH_FAULT.format(kind=kind, kinds=", ".join(CODES)))
    if not control:
        return replace(parts, link=_link_fault(parts.link, fault))
    if design.control(control).kind == "motion":
        return replace(parts, imu=_imu_fault(parts.imu, fault))
    if design.control(control).kind == "touch":
        return replace(parts, touch_pad=_touch_fault(parts.touch_pad, fault))
    if design.control(control).kind == "stick":
        return replace(parts, sticks=_changed(parts.sticks, control, lambda part: _stick_fault(part, fault, rng)))
    if design.control(control).kind == "trigger":
        return replace(parts, levers=_changed(parts.levers, control, lambda part: _lever_fault(part, fault, rng)))
    if design.control(control).kind == "hat":
        return replace(parts, hats=_changed(parts.hats, control, lambda part: _hat_fault(part, fault)))
    if kind in ("hidden", "phantom"):  # the part is the line of the one that does it
        return replace(parts, contacts=_changed(parts.contacts, fault.other, lambda part: _matrix_fault(part, fault)))
    return replace(parts, contacts=_changed(parts.contacts, control, lambda part: _contact_fault(part, fault)))


def _changed(parts: dict[str, _T], control: str, change: Callable[[_T], _T]) -> dict[str, _T]:
    return {**parts, control: change(parts[control])}


def _misplaced(fault: Fault) -> InputError:
    return InputError(words.FAULT_MISPLACED.format(control=fault.control, kind=fault.kind))


def _stick_fault(part: Stick, fault: Fault, rng: np.random.Generator) -> Stick:
    match fault.kind:
        case "off_centre":
            angle = math.radians(bearing_of(fault))
            x = replace(part.x, offset_pct=fault.size * math.sin(angle))
            return replace(part, x=x, y=replace(part.y, offset_pct=fault.size * math.cos(angle)))
        case "short_reach" | "flat_rim":
            return replace(part, cuts=(*part.cuts, (bearing_of(fault), _cut(part, bearing_of(fault), fault.size))))
        case "slow_arrival":
            tau_s = _creep_tau_s(part, bearing_of(fault), fault.ms / 1000.0)
            return replace(part, creep=(bearing_of(fault), tau_s))
        case "slow_settle":
            return replace(part, damping=_damping_for(part.natural_hz, fault.ms / 1000.0))
        case "no_return":
            return replace(part, sticky=(None if fault.direction is None else bearing_of(fault), fault.size))
        case "scatter":
            # RP = mean + 3 s of a Rayleigh distribution: √(π/2) + 3 √(2 − π/2) = 3.219 σ
            return replace(part, scatter_pct=fault.size / 3.219)
    if fault.axis == "x":
        return replace(part, x=_track_fault(part.x, fault, rng))
    if fault.axis == "y":
        return replace(part, y=_track_fault(part.y, fault, rng))
    raise _misplaced(fault)


def _track_fault(part: Track, fault: Fault, rng: np.random.Generator) -> Track:
    match fault.kind:
        case "twitches":
            return replace(part, twitch=(_spell(fault), fault.width))
        case "drifts":
            return replace(part, drift=Ramp(fault.size, fault.ms / 1000.0))
        case "noisy_track":
            return replace(part, jumps_pct=fault.size)
        case "worn_track" | "trigger_spikes":
            return replace(part, spots=part.spots + _spots(fault, rng))
        case "code_gap" | "trigger_gap":
            return replace(part, gaps=(*part.gaps, (fault.at, fault.size / part.gain)))
        case "fold" | "trigger_fold":
            return replace(part, folds=(*part.folds, (fault.at, fault.size / part.gain)))
        case "two_way_lag":
            return replace(part, play_pct=fault.size / 0.9)
        case "dead_axis":
            return replace(part, dead=True)
    raise _misplaced(fault)


_SPOT_PITCH_PCT = 2.5


def _spots(fault: Fault, rng: np.random.Generator) -> tuple[Spot, ...]:
    """Bad spots 2.5 % apart over the worn stretch, the middle one of full height, the signs by chance."""
    count = max(1, round(fault.width / _SPOT_PITCH_PCT))
    places = fault.at + _SPOT_PITCH_PCT * (np.arange(count) - (count - 1) / 2)
    heights = fault.size * np.where(np.arange(count) == count // 2, 1.0, rng.uniform(0.8, 1.0, count))
    signs = np.where(rng.random(count) < 0.5, -1.0, 1.0)
    widths = rng.uniform(0.7, 1.1, count)
    return tuple(Spot(float(a), float(w), float(h)) for a, w, h in zip(places, widths, heights * signs, strict=True))


def _cut(part: Stick, bearing: float, pct: float) -> float:
    """Where the shaft has to stop for the output to reach `pct` of the gate's edge at a bearing."""
    angle = math.radians(bearing)
    sin, cos = math.sin(angle), math.cos(angle)
    gain = part.x.gain * sin * sin + part.y.gain * cos * cos
    return (pct - (part.x.offset_pct * sin + part.y.offset_pct * cos)) / gain


def _creep_tau_s(part: Stick, bearing: float, seconds: float) -> float:
    """Time constant at which the output takes so long from 80 % to 98 % of where it ends."""
    track = part.y if bearing in (0.0, 180.0) else part.x
    sign = 1.0 if bearing in (0.0, 90.0) else -1.0
    ends = min(100.0, track.gain * 100.0 + sign * track.offset_pct)
    first, last = (min((share * ends - sign * track.offset_pct) / track.gain, 99.8) for share in (0.8, 0.98))
    rest = 100.0 - CREEP_FROM_PCT
    left = [(100.0 - max(place, CREEP_FROM_PCT)) / rest for place in (first, last)]
    return seconds / math.log(left[0] / left[1])


def _damping_for(natural_hz: float, seconds: float) -> float:
    """Damping at which the return takes so long from 80 % to 3 %."""
    times = np.linspace(0.0, 4.0 * seconds, 20001)

    def error(damping: float) -> float:
        left = step_response(times, natural_hz, damping)
        begin, end = (float(np.interp(-share, -left, times)) for share in (0.8, 0.03))  # past the end: its last moment
        return end - begin - seconds

    most = 8.0 * natural_hz * seconds  # its slow pole alone takes longer than that
    if error(1.0) > 0.0 or error(most) < 0.0:
        raise InputError(words.SETTLE_OUTSIDE.format(ms=seconds * 1000))
    return float(brentq(error, 1.0, most, xtol=1e-3))


def _lever_fault(part: Lever, fault: Fault, rng: np.random.Generator) -> Lever:
    match fault.kind:
        case "rest_high":
            return replace(part, track=replace(part.track, offset_pct=fault.size))
        case "short_pull":
            return replace(part, stop_pct=(fault.size - part.track.offset_pct) / part.track.gain)
        case "hanging_trigger":
            place = (fault.at - part.track.offset_pct) / part.track.gain
            return replace(part, hang=(fault.size, place, fault.ms / 1000.0))
    return replace(part, track=_track_fault(part.track, fault, rng))


def _spell(fault: Fault) -> Spell:
    return Spell(fault.size, fault.ms / 1000.0, fault.at)


def _contact_fault(part: Contact, fault: Fault) -> Contact:
    match fault.kind:
        case "weak_contact":
            light = style_of(1.0).light[0]
            return replace(part, film=(light * math.exp(_FILM_SPREAD * float(ndtri(fault.size))), _FILM_SPREAD))
        case "split":
            return replace(part, split=(fault.size, fault.ms / 1000.0))
        case "short_contact":
            return replace(part, short=(fault.size, fault.ms / 1000.0))
        case "missed_in_runs":
            return replace(part, runs=(fault.size, fault.width))
        case "missed_together":
            return replace(part, blind=(fault.size, round(fault.at)))
        case "stays_closed":
            return replace(part, stays=(fault.size, fault.ms / 1000.0))
        case "axis_short" if fault.axis is not None:
            return replace(part, pulls=(*part.pulls, (fault.other, fault.axis)))
        case "dropouts":
            return replace(part, dropouts=(fault.size, fault.ms / 1000.0))
        case "wobbly":
            return replace(part, tilt_deg=fault.size)
        case "closes_at_times":
            return replace(part, spells=_spell(fault))
        case "closes_when_pushed":
            return replace(part, pushed=Push(fault.other, fault.size))
        case "stuck":
            return replace(part, stuck=True)
        case "never":
            return replace(part, never=True)
        case "crosstalk":
            return replace(part, into=(*part.into, fault.other))
    raise _misplaced(fault)


def _imu_fault(part: Imu, fault: Fault) -> Imu:
    if fault.axis not in _AXES:
        raise _misplaced(fault)

    def put(values: Triple) -> Triple:
        x, y, z = (fault.size if name == fault.axis else value for name, value in zip(_AXES, values, strict=True))
        return x, y, z

    match fault.kind:
        case "accel_scale":
            return replace(part, accel_gain=put(part.accel_gain))
        case "accel_off":
            return replace(part, accel_offset=put(part.accel_offset))
        case "gyro_scale":
            return replace(part, gyro_gain=put(part.gyro_gain))
        case "gyro_off":
            return replace(part, gyro_offset=put(part.gyro_offset))
    raise _misplaced(fault)


def _touch_fault(part: TouchPad, fault: Fault) -> TouchPad:
    match fault.kind:
        case "ghost_touch":
            return replace(part, ghost=_spell(fault))
        case "dead_zone_of_touch":
            half = fault.size / 2.0
            return replace(part, dead=(fault.at - half, fault.at + half, fault.at - half, fault.at + half))
        case "lifts":
            return replace(part, lifts=(fault.size, fault.ms / 1000.0))
    raise _misplaced(fault)


def _matrix_fault(part: Contact, fault: Fault) -> Contact:
    if fault.kind == "hidden":
        return replace(part, hides=(*part.hides, fault.control))
    return replace(part, joins=(*part.joins, (fault.third, fault.control)))


def _hat_fault(part: Hat, fault: Fault) -> Hat:
    eighth = round(bearing_of(fault) / 45.0) % 8
    if fault.kind == "hat_missing":
        return replace(part, missing=part.missing | {eighth})
    if fault.kind == "hat_no_null":
        return replace(part, stuck=eighth // 2 * 2)
    raise _misplaced(fault)


def _link_fault(part: Link, fault: Fault) -> Link:
    match fault.kind:
        case "link_gaps":
            return replace(part, gaps=(fault.size, fault.ms / 1000.0))
        case "disconnect":
            return replace(part, away=(fault.size, fault.ms / 1000.0))
        case "drops_out":
            return replace(part, leaves=_spell(fault))
        case "slow_rate":
            return replace(part, rate_hz=round(fault.size))
    raise _misplaced(fault)
