"""What the readings (docs/METHOD.md) should be for a unit, computed from its parts without hand, noise or link.

Only readings that are the unit's alone: how often a hand missed a beat, or where friction left a stick the last
time, is not. Those that depend on where the stick was let go are worst cases over the eight directions.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from station.sources.simulated.design import PadDesign
from station.sources.simulated.gates import edge, gauge, inside
from station.sources.simulated.parts import CREEP_FROM_PCT, Lever, Link, Parts, Stick, Track
from station.sources.simulated.sensor import clean_output
from station.sources.simulated.shaft import friction_from
from station.sources.simulated.spring import release

F64 = NDArray[np.float64]
Readings = dict[str, float]

_DIRECTIONS = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0}
_BAND_PCT = 3.0
_FROM, _WITHIN = 0.8, 0.98
_SECTORS = 72


def unit_truth(design: PadDesign, parts: Parts) -> dict[tuple[str, str], Readings]:
    """(check, control) → reading → true value; control "" for the whole unit."""
    found: dict[tuple[str, str], Readings] = {("link", ""): _link(parts.link)}
    for control, stick in parts.sticks.items():
        found["rest", control] = _rest(stick)
        found["letgo", control] = _let_go(stick)
        found["travel", control] = _travel(stick)
        found["rim", control] = _rim(stick)
        found["sweep", control] = {**_track(stick.x, "_x"), **_track(stick.y, "_y")}
    for control, lever in parts.levers.items():
        found["trigger", control] = _trigger(lever)
    return found


def output(part: Stick, place: F64) -> F64:
    """float[n, 2]: what both tracks say at places of the shaft."""
    return np.column_stack((clean_output(part.x, place[:, 0]), clean_output(part.y, place[:, 1])))


def _rest(part: Stick) -> Readings:
    """At the middle of where friction can leave it. Noise: contact noise over a long time."""
    x, y = output(part, np.zeros((1, 2)))[0].tolist()
    found = {"offset": math.hypot(x, y), "offset_x": x, "offset_y": y}
    for axis, track in (("x", part.x), ("y", part.y)):
        if track.jumps_pct and not track.dead:
            found[f"noise_pp_{axis}"] = track.jumps_pct
    return found


def _let_go(part: Stick) -> Readings:
    """Released at the edge in eight directions; scatter apart."""
    settled, times = [], []
    for bearing in 45.0 * np.arange(8):
        angle = math.radians(bearing)
        start = inside(np.array([[200.0 * math.sin(angle), 200.0 * math.cos(angle)]]), part.gate, part.cuts)[0]
        place, seconds = settle(part, start)
        settled.append(place)
        times.append(seconds)
    found = {"settle_offset": float(np.hypot(*np.array(settled).T).max()), "settle_time": 1000.0 * max(times)}
    if part.scatter_pct < 0.3:
        off = np.hypot(*(np.array(settled) - np.mean(settled, axis=0)).T)
        found["repeatability"] = float(off.mean() + 3.0 * off.std(ddof=1))
    return found


def settle(part: Stick, start: F64) -> tuple[F64, float]:
    """Let go at `start` (of the shaft, float[2]): where the output settles, and the time from 80 % to within 3 %."""
    distance = float(np.hypot(start[0], start[1]))
    unit = start[None, :] / distance
    friction = friction_from(part, math.degrees(math.atan2(start[0], start[1])))
    motion = release(distance, friction, part.natural_hz, part.damping)
    place = output(part, unit * motion.end)[0]
    t_s = np.arange(0.0, motion.end_s + 0.05, 2e-4)
    away = np.hypot(*(output(part, motion.at(t_s)[:, None] * unit) - place).T)
    left = t_s[np.flatnonzero(away >= _FROM * away[0])[-1]]
    outside = np.flatnonzero(away > _BAND_PCT)
    return place, float(t_s[outside[-1]] - left) if len(outside) else 0.0


def _travel(part: Stick) -> Readings:
    found: Readings = {}
    for name, bearing in _DIRECTIONS.items():
        found[f"reach_{name}"] = float(_reach(part, np.array([bearing]))[0])
    found["creep"] = 0.0 if part.creep is None else 1000.0 * _creep_s(part, *part.creep)
    return found


def _reach(part: Stick, bearings: F64) -> F64:
    """Reach of the output at bearings of the shaft, as the gate measures it, %."""
    radians = np.radians(bearings)
    far = 200.0 * np.column_stack((np.sin(radians), np.cos(radians)))
    return gauge(output(part, inside(far, part.gate, part.cuts)), part.gate) * 100.0


def _creep_s(part: Stick, bearing: float, tau_s: float) -> float:
    """From 80 % to within 2 % of the end, for a shaft that jumps to where the gum begins."""
    angle = math.radians(bearing)
    t_s = np.linspace(0.0, 8.0 * tau_s, 20001)
    place = CREEP_FROM_PCT + (100.0 - CREEP_FROM_PCT) * -np.expm1(-t_s / tau_s)
    place = place / 100.0 * edge(bearing, part.gate)
    way = gauge(output(part, place[:, None] * np.array([[math.sin(angle), math.cos(angle)]])), part.gate)
    return float(t_s[np.argmax(way >= _WITHIN * way[-1])] - t_s[np.argmax(way >= _FROM * way[-1])])


def rim_reach(part: Stick) -> F64:
    """Reach by sector of 5° of the output's bearing (0 = up, clockwise), float[72]: the median over the sector."""
    radians = np.radians(np.arange(0.0, 360.0, 0.05))
    far = 200.0 * np.column_stack((np.sin(radians), np.cos(radians)))
    out = output(part, inside(far, part.gate, part.cuts))
    reach = gauge(out, part.gate) * 100.0
    sector = (np.degrees(np.arctan2(out[:, 0], out[:, 1])) % 360.0 / (360.0 / _SECTORS)).astype(int) % _SECTORS
    return np.array([np.median(reach[sector == k]) if (sector == k).any() else np.nan for k in range(_SECTORS)])


def _rim(part: Stick) -> Readings:
    reach = rim_reach(part)
    least = int(np.nanargmin(reach))
    return {"least_reach": float(reach[least]), "least_reach_bearing": (least + 0.5) * 360.0 / _SECTORS}


def _track(part: Track, suffix: str = "") -> Readings:
    """The widest step of the output, the height of the worst spot, and how deep the output runs back."""
    low, high = (-95.0, 95.0) if part.low_pct < 0 else (5.0, 95.0)
    way = clean_output(part, np.arange(low, high, 0.01))
    found = {f"gap{suffix}": float(np.abs(np.diff(way)).max())}
    spot = max((abs(s.height_pct) for s in part.spots), default=0.0)
    found[f"largest_spike{suffix}"] = max(spot, part.jumps_pct / 2)
    found[f"backwards{suffix}"] = float((np.maximum.accumulate(way) - way).max())
    return found


def _trigger(part: Lever) -> Readings:
    released, full = clean_output(part.track, np.array([0.0, part.stop_pct])).tolist()
    return {"released": released, "full": full, **_track(part.track)}


def _link(part: Link) -> Readings:
    """Without gaps: bursts come like a clock, and each is lost with a probability that all of its reports are. The mean
    wait for the next that arrives is half a period and as many whole ones as are lost in a row."""
    period_ms = 1000.0 * part.burst / part.rate_hz * (1.0 + part.clock_ppm * 1e-6)
    gone = part.lost**part.burst
    found = {"interval_median": period_ms}
    if not part.gaps[0] and not part.away[0]:
        found["wait_mean"] = period_ms * (0.5 + gone / (1.0 - gone))
    return found
