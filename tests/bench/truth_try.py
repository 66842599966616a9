"""True values of the readings of one try: from where the shaft really was, without noise, converter and link.

Written apart from the measures: plain definitions on the exact path, a thousand times a second and more.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import least_squares
from truth_units import Drawn
from truth_visit import Done

from station.sources.simulated.gates import gauge
from station.sources.simulated.parts import Stick
from station.sources.simulated.sensor import clean_output
from station.sources.simulated.shaft import Release
from station.sources.simulated.truth import output, rim_reach, settle

BEARINGS = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0}
SECTORS = 72
Readings = dict[str, float]


def true_values(drawn: Drawn, done: Done) -> Readings:
    """reading → true value, for those that have one."""
    parts = drawn.spec.parts
    if done.control in parts.sticks and done.path is not None and done.path.t_s:
        part = parts.sticks[done.control]
        if part.x.play_pct or part.y.play_pct or part.x.dead or part.y.dead:
            return {}
        if done.check == "letgo":
            return _let_go(part, done.releases)
        t_s, place = done.path.joined()
        out = output(part, place)
        inside = (t_s >= done.begin_s) & (t_s <= done.end_s)
        t_s, out = t_s[inside], out[inside]
        return {"rest": _rest, "travel": _travel, "rim": _rim}.get(done.check, _nothing)(part, t_s, out) | _gaps(
            drawn, done
        )
    if done.control in parts.levers:
        lever = parts.levers[done.control]
        released, full = clean_output(lever.track, np.array([0.0, lever.stop_pct])).tolist()
        return {"released": released, "full": full} | _gaps(drawn, done)
    return {}


def _nothing(part: Stick, t_s: np.ndarray, out: np.ndarray) -> Readings:
    return {}


def _gaps(drawn: Drawn, done: Done) -> Readings:
    """Only where the track has one: what a sound track shows as its widest step is its converter's."""
    told = drawn.spec.truth().get((done.check, done.control), {})
    return {name: value for name, value in told.items() if name.startswith("gap") and value > 2.0}


def _rest(part: Stick, t_s: np.ndarray, out: np.ndarray) -> Readings:
    x, y = np.median(out[t_s > t_s[-1] - 1.0], axis=0).tolist()
    found = {"offset": math.hypot(x, y), "offset_x": x, "offset_y": y}
    if math.hypot(x, y) > 1.0:
        found["offset_angle"] = math.degrees(math.atan2(x, y)) % 360.0
    return found


def _let_go(part: Stick, releases: tuple[Release, ...]) -> Readings:
    free = [r for r in releases if np.hypot(*r.start) > 55.0 and r.free_s > 0.36]
    if not free:
        return {}
    settled = [settle(part, r.start) for r in free]
    ends = output(part, np.array([r.end for r in free]))
    return {
        "settle_offset": float(np.hypot(ends[:, 0], ends[:, 1]).max()),
        "settle_time": 1000.0 * max(seconds for _, seconds in settled),
    }


def _stretches(flag: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flag, [False])).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _travel(part: Stick, t_s: np.ndarray, out: np.ndarray) -> Readings:
    """Reach: the mean over the second half of the time within 1 % of the greatest mean over 100 ms.

    Creep: from 80 % to 98 % of that, by the quickest push of each direction; the slowest direction counts.
    """
    reach = gauge(out, part.gate) * 100.0
    bearing = np.degrees(np.arctan2(out[:, 0], out[:, 1]))
    width = max(1, round(0.1 / (t_s[1] - t_s[0])))
    found: Readings = {}
    creep = []
    for name, wanted in BEARINGS.items():
        near = (np.abs((bearing - wanted + 180.0) % 360.0 - 180.0) <= 32.0) & (reach >= 40.0)
        pushes = []
        for a, b in _stretches(near):
            if b - a < 3 * width:
                continue
            greatest = float(np.convolve(reach[a:b], np.ones(width) / width, "valid").max())
            steady = a + np.flatnonzero(reach[a:b] >= greatest - 1.0)
            held = float(reach[steady[len(steady) // 2 :]].mean())
            first, there = np.argmax(reach[a:b] >= 0.8 * held), np.argmax(reach[a:b] >= 0.98 * held)
            pushes.append((held, float(t_s[a + there] - t_s[a + first])))
        if not pushes:
            return {}
        found[f"reach_{name}"] = max(held for held, _ in pushes)
        creep.append(min(seconds for _, seconds in pushes))
    return {**found, "creep": 1000.0 * max(creep)}


def _rim(part: Stick, t_s: np.ndarray, out: np.ndarray) -> Readings:
    """The gate's own: least reach of any sector, and the least-squares circle through all of them."""
    reach = rim_reach(part)
    centres = np.radians((np.arange(SECTORS) + 0.5) * 360.0 / SECTORS)
    points = reach[:, None] * np.column_stack((np.sin(centres), np.cos(centres)))
    points = points[np.isfinite(reach)]
    fit = least_squares(lambda c: np.hypot(points[:, 0] - c[0], points[:, 1] - c[1]) - c[2], [0.0, 0.0, 100.0])
    x, y, radius = fit.x.tolist()
    return {"least_reach": float(np.nanmin(reach)), "circle_x": x, "circle_y": y, "circle_radius": radius}
