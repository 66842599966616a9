"""True values of readings: of the unit, expected over placements, without noise, converter and link.

Written apart from the measures: plain definitions on exact paths of the model, a thousand times a second and more.
A placement is where the parts come to lie this time: which way the hand aimed, where friction and a worn seat left the
shaft. The truth is the mean over many of them, never that of the try that was measured. Only what a contact did is
taken from the try itself: a press is an event and no property of the unit.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from scipy.optimize import least_squares
from truth_units import Drawn
from truth_visit import Done

from station.sources.simulated.design import PadDesign
from station.sources.simulated.gates import gauge, inside
from station.sources.simulated.parts import CREEP_FROM_PCT, Lever, Link, Stick, Track
from station.sources.simulated.sensor import clean_output
from station.sources.simulated.shaft import friction_from
from station.sources.simulated.spring import release
from station.sources.simulated.truth import output, rim_reach, settle

BEARINGS = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0}
SECTORS = 72
PLACEMENTS, TIMED = 48, 3
"""how many placements an expectation is of: of returns, of settle times"""
AIM_DEG = 4.0
PULLS = 3
LOOKS = 4000
"""draws of the noise about each resting place"""
SAME_PRESS_S, BOUNCE_S, EDGE_S = 0.06, 0.005, 0.01
Readings = dict[str, float]


def true_values(drawn: Drawn, done: Done) -> Readings:
    """reading → true value, for those that have one."""
    parts = drawn.spec.parts
    if done.control in parts.sticks:
        return true_of_stick(drawn, done.check, done.control)
    if done.check == "link":
        return _link(parts.link)
    if done.control in parts.levers and done.check == "trigger":
        lever = parts.levers[done.control]
        released, full = clean_output(lever.track, np.array([0.0, lever.stop_pct])).tolist()
        found = {"released": released, "full": full, "return_time": 1000.0 * _comes_back_s(lever)}
        return found | _track(drawn.spec.design, lever.track, done.control, "")
    if done.check in ("light", "hold") and done.contact is not None:
        first_s, tick_s, closed = done.contact
        begin, end = (max(0, round((at - first_s) / tick_s)) for at in (done.begin_s, done.end_s))
        if done.check == "hold":  # ended by the bench, not by the finger
            closed = closed & (np.arange(len(closed)) < end)
        presses = [p for p in _presses(first_s, tick_s, closed) if p[0, 0] >= first_s + begin * tick_s]
        if done.check == "light":
            presses = [p for p in presses if p[-1, 1] <= done.end_s]
        return (_light if done.check == "light" else _hold)(presses, 1.0 / parts.link.rate_hz)
    return {}


def _link(part: Link) -> Readings:
    """What drawn moments wait for the next report that arrives: polls come like a clock and go out in bursts, each of
    whose reports is lost by itself; what arrives is late by jitter, and some come together with their successor."""
    if part.gaps[0] or part.away[0]:
        return {}
    rng = np.random.default_rng(7)
    period_ms = 1000.0 * part.burst / part.rate_hz * (1.0 + 1e-6 * part.clock_ppm)
    lost = _chosen(rng, 200_000 * part.burst, part.lost).reshape(-1, part.burst)
    sent = period_ms * np.flatnonzero(~lost.all(axis=1))
    arrive = sent + np.abs(rng.normal(0.0, 1000.0 * part.jitter_s, len(sent)))
    together = np.flatnonzero(_chosen(rng, len(arrive) - 1, part.merged))
    arrive[together] = arrive[together + 1]
    arrive = np.maximum.accumulate(arrive)  # none overtakes another
    moments = np.linspace(0.0, arrive[-1], 3_700_001)[:-1]  # every one, so that chance is no part of the truth
    waits = arrive[np.searchsorted(arrive, moments)] - moments
    between = np.diff(np.unique(arrive))
    extra = float(waits.mean() - np.median(between) / 2.0)
    found = {"wait_mean": float(waits.mean()), "wait_most": float(np.quantile(waits, 0.99)), "wait_extra": extra}
    return {**found, "interval_p99": float(np.quantile(between, 0.99))}


def _chosen(rng: np.random.Generator, n: int, share: float) -> np.ndarray:
    """bool[n], at random places exactly that share: what is rare would else be more or less often by chance."""
    chosen = np.zeros(n, dtype=bool)
    chosen[rng.permutation(n)[: round(share * n)]] = True
    return chosen


def _comes_back_s(lever: Lever) -> float:
    """Let go at the stop: from 80 % of the pull to within 3 % of where it rests; of its pulls the slowest."""
    share, hangs_at, hangs_s = lever.hang
    hangs = share * PULLS >= 1.0 - 1e-9 and hangs_at < lever.stop_pct
    t_s = np.arange(0.0, (hangs_s if hangs else 0.0) + 3.0, 1e-4)
    way = _spring(lever, lever.stop_pct, t_s)
    if hangs:
        again = np.searchsorted(t_s, hangs_s)
        way = np.where(t_s < hangs_s, np.maximum(way, hangs_at), 0.0)
        way[again:] = _spring(lever, hangs_at, t_s[again:] - hangs_s)
    out = clean_output(lever.track, way)
    rest, full = clean_output(lever.track, np.array([0.0, lever.stop_pct])).tolist()
    return float(t_s[np.argmax(out <= rest + 3.0)] - t_s[np.argmax(out < rest + 0.8 * (full - rest))])


def _spring(lever: Lever, start_pct: float, t_s: np.ndarray) -> np.ndarray:
    """A spring that would take it farther than its stop lets it, %."""
    back = release(start_pct + lever.preload_pct, 0.0, lever.natural_hz, lever.damping)
    return np.maximum(back.at(t_s) - lever.preload_pct, 0.0)


def true_of_stick(drawn: Drawn, check: str, control: str) -> Readings:
    """reading of that check → true value of the stick, whatever a try of it came to."""
    part, design = drawn.spec.parts.sticks[control], drawn.spec.design
    if part.x.dead or part.y.dead:
        return {}
    if part.x.play_pct or part.y.play_pct:
        return {"two_way_difference": _two_ways(part)} if check == "rim" else {}
    rng = np.random.default_rng([drawn.hand_seed, 0x54525545])
    match check:
        case "rest":
            return _rest(part)
        case "letgo":
            return _let_go(part, rng)
        case "travel":
            return _travel(part)
        case "rim":
            return _rim(part)
        case "sweep":
            return _track(design, part.x, control, "_x") | _track(design, part.y, control, "_y")
    return {}


def _rest(part: Stick) -> Readings:
    """Friction holds the shaft on whichever side it came from, so that its middle is where it lies on the mean."""
    x, y = output(part, np.zeros((1, 2)))[0].tolist()
    found = {"offset": math.hypot(x, y), "offset_x": x, "offset_y": y}
    if math.hypot(x, y) > 1.0:
        found["offset_angle"] = math.degrees(math.atan2(x, y)) % 360.0
    for axis, track in (("x", part.x), ("y", part.y)):
        # independent parts add as squares; levels spread evenly over J have a variance of J²/12
        found[f"noise_rms_{axis}"] = math.sqrt(track.white_pct**2 + track.wander_pct**2 + track.jumps_pct**2 / 12.0)
    return found


def _aimed(part: Stick, rng: np.random.Generator) -> np.ndarray:
    """Starts at the edge in eight directions, float[8, 2]."""
    angle = np.radians(45.0 * np.arange(8) + rng.normal(0.0, AIM_DEG, 8))
    return inside(200.0 * np.column_stack((np.sin(angle), np.cos(angle))), part.gate, part.cuts)


def _let_go(part: Stick, rng: np.random.Generator) -> Readings:
    ends = np.array([_ends(part, rng) for _ in range(PLACEMENTS)])
    out = output(part, ends.reshape(-1, 2))
    away = np.hypot(out[:, 0], out[:, 1]).reshape(PLACEMENTS, 8)
    seconds = [max(settle(part, start)[1] for start in _aimed(part, rng)) for _ in range(TIMED)]
    apart = np.hypot(*(out - out.mean(axis=0)).T)
    each = out.reshape(PLACEMENTS, 8, 2)
    usual = np.hypot(*np.moveaxis(each - np.median(each, axis=1, keepdims=True), 2, 0))
    noise = np.column_stack([_drawn_noise(track, rng) for track in (part.x, part.y)])
    still = [max(float(np.quantile(np.hypot(*(end + noise).T), 0.99)) for end in one) for one in each[:TIMED]]
    return {
        "return_offset": float(usual.max(axis=1).mean()),
        "still_within": float(np.mean(still)),
        "settle_offset": float(away.max(axis=1).mean()),
        "settle_time": 1000.0 * float(np.mean(seconds)),
        "repeatability": float(apart.mean() + 3.0 * apart.std(ddof=1)),
    }


def _drawn_noise(track: Track, rng: np.random.Generator) -> np.ndarray:
    """Noise at moments far apart, float[LOOKS]: two normal parts and levels spread evenly."""
    normal = rng.normal(0.0, math.hypot(track.white_pct, track.wander_pct), LOOKS)
    return normal + track.jumps_pct * (rng.random(LOOKS) - 0.5)


def _ends(part: Stick, rng: np.random.Generator) -> np.ndarray:
    """Where the shaft stays after a release from each of eight directions, float[8, 2]."""
    ends = []
    for start in _aimed(part, rng):
        centre = rng.normal(0.0, part.scatter_pct, 2) if part.scatter_pct else np.zeros(2)
        away = start - centre
        distance = float(np.hypot(*away))
        friction = friction_from(part, math.degrees(math.atan2(away[0], away[1])))
        ends.append(centre + release(distance, friction, part.natural_hz, part.damping).end * away / distance)
    return np.array(ends)


def _stretches(flag: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flag, [False])).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _travel(part: Stick) -> Readings:
    """Of the unit alone: where its edge crosses each direction, and the time that gum takes from 80 to 98 %."""
    found = {f"reach_{name}": _straight(part, bearing) for name, bearing in BEARINGS.items()}
    return {**found, "creep": 0.0 if part.creep is None else 1000.0 * _gummed_s(part, *part.creep)}


def _straight(part: Stick, bearing: float) -> float:
    """Distance, along the bearing, of the output's edge from the middle of the range, where nothing is across."""
    shaft = np.radians(bearing + np.arange(-60.0, 60.0, 0.01))
    edge = inside(200.0 * np.column_stack((np.sin(shaft), np.cos(shaft))), part.gate, part.cuts)
    out, angle = output(part, edge), math.radians(bearing)
    along = out @ np.array([math.sin(angle), math.cos(angle)])
    across = out @ np.array([math.cos(angle), -math.sin(angle)])
    return float(np.interp(0.0, across, along))


def _gummed_s(part: Stick, bearing: float, tau_s: float) -> float:
    """The shaft jumps to where the gum begins and follows exponentially from there; level is where it ends."""
    t_s = np.arange(0.0, 10.0 * tau_s, 1e-4)
    share = CREEP_FROM_PCT + (100.0 - CREEP_FROM_PCT) * (1.0 - np.exp(-t_s / tau_s))
    angle = math.radians(bearing)
    unit = np.array([math.sin(angle), math.cos(angle)])
    edge = inside(200.0 * unit[None, :], part.gate, part.cuts)[0]
    way = gauge(output(part, share[:, None] / 100.0 * edge), part.gate)
    return float(t_s[np.argmax(way >= 0.98 * way[-1])] - t_s[np.argmax(way >= 0.8 * way[-1])])


@lru_cache(maxsize=4)
def _rim(part: Stick) -> Readings:
    """The gate's own: least reach of any sector, and the least-squares circle through all of them."""
    reach = rim_reach(part)
    centres = np.radians((np.arange(SECTORS) + 0.5) * 360.0 / SECTORS)
    points = reach[:, None] * np.column_stack((np.sin(centres), np.cos(centres)))
    points = points[np.isfinite(reach)]
    fit = least_squares(lambda c: np.hypot(points[:, 0] - c[0], points[:, 1] - c[1]) - c[2], [0.0, 0.0, 100.0])
    x, y, radius = fit.x.tolist()
    apart = np.hypot(points[:, 0] - x, points[:, 1] - y)
    return {
        "least_reach": float(np.nanmin(reach)),
        "least_reach_bearing": (int(np.nanargmin(reach)) + 0.5) * 360.0 / SECTORS,
        "circle_x": x,
        "circle_y": y,
        "circle_radius": radius,
        "roundness": float(np.ptp(apart)),
        "two_way_difference": 0.0,
    }


def _two_ways(part: Stick) -> float:
    """Greatest difference between the two ways round, as a median over five neighbouring sectors, with exact play."""
    by_way = []
    for way in (1.0, -1.0):
        radians = way * np.radians(np.arange(0.0, 900.0, 0.1))
        place = inside(200.0 * np.column_stack((np.sin(radians), np.cos(radians))), part.gate, part.cuts)
        place = np.column_stack([_dragged(place[:, k], track.play_pct) for k, track in enumerate((part.x, part.y))])
        out = output(part, place)[3600:]
        reach = gauge(out, part.gate) * 100.0
        sector = (np.degrees(np.arctan2(out[:, 0], out[:, 1])) % 360.0 / (360.0 / SECTORS)).astype(int) % SECTORS
        by_way.append(
            np.array([np.median(reach[sector == k]) if (sector == k).any() else np.nan for k in range(SECTORS)])
        )
    apart = by_way[0] - by_way[1]
    around = np.stack([np.roll(apart, k) for k in range(-2, 3)])
    return float(np.nanmax(np.abs(np.nanmedian(around, axis=0))))


def _dragged(place: np.ndarray, play: float) -> np.ndarray:
    at, out = float(place[0]), []
    for p in place.tolist():
        at = min(max(at, p - play / 2.0), p + play / 2.0)
        out.append(at)
    return np.array(out)


def _track(design: PadDesign, track: Track, control: str, suffix: str) -> Readings:
    """The widest step between neighbouring values: that of the output or of the converter. Spikes if there are any."""
    usage = design.control(control).usages["_x_y".index(suffix) // 2 if suffix else 0]
    span = design.fields[usage].logical_max - design.fields[usage].logical_min
    step = (track.high_pct - track.low_pct) / min(span, (1 << design.adc_bits) - 1)
    low, high = (-92.0, 92.0) if track.low_pct < 0 else (6.0, 92.0)
    way = clean_output(track, np.arange(low, high, 0.02))
    # codes under a worn spot are missing too, and are the spot's: of such a track there is no truth of a gap
    found = {} if track.spots else {f"gap{suffix}": max(float(np.abs(np.diff(way)).max()), step)}
    if not (track.spots or track.jumps_pct):
        found[f"largest_spike{suffix}"] = 0.0
    if track.spots:
        at = clean_output(track, np.array([s.at_pct for s in track.spots]))
        off = np.clip(at + np.array([s.height_pct for s in track.spots]), track.low_pct, track.high_pct) - at
        found[f"largest_spike{suffix}"] = float(np.abs(off).max())
    return found


# --- what a contact did -----------------------------------------------------------------------------------


def _presses(first_s: float, tick_s: float, closed: np.ndarray) -> list[np.ndarray]:
    """Of each press its closures, float[k, 2] in s, bounce at its edges filled."""
    runs = np.array([(first_s + a * tick_s, first_s + b * tick_s) for a, b in _stretches(closed)]).reshape(-1, 2)
    if not len(runs):
        return []
    breaks = np.flatnonzero(runs[1:, 0] - runs[:-1, 1] >= SAME_PRESS_S) + 1
    found = []
    for press in np.split(runs, breaks):
        opens, closes = press[:-1, 1], press[1:, 0]
        edge = (closes <= press[0, 0] + EDGE_S) | (opens >= press[-1, 1] - EDGE_S)
        real = ~((closes - opens <= BOUNCE_S + tick_s / 2) & edge)
        found.append(np.column_stack((press[np.append(True, real), 0], press[np.append(real, True), 1])))
    return found


def _light(presses: list[np.ndarray], period_s: float) -> Readings:
    """What a poll can pass over is left out."""
    lengths = [float((p[:, 1] - p[:, 0]).sum()) for p in presses]
    lengths = [length for length in lengths if length >= period_s]
    return {"shortest": 1000.0 * min(lengths)} if lengths else {}


def _hold(presses: list[np.ndarray], period_s: float) -> Readings:
    """The longest opening of the longest go that closed again within a second, in each half of its five seconds."""
    if not presses:
        return {}
    runs = np.concatenate(presses)
    goes = np.split(runs, np.flatnonzero(runs[1:, 0] - runs[:-1, 1] > 1.0) + 1)
    go = max(goes, key=lambda g: float(g[-1, 1] - g[0, 0]))
    found = {"held": float(go[-1, 1] - go[0, 0])}
    lasts, at = go[1:, 0] - go[:-1, 1], go[:-1, 1] - go[0, 0]
    for name, begin, end in (("longest_dropout", 0.0, 2.5), ("longest_rocking", 2.5, 5.0)):
        lost = lasts[(at >= begin) & (at < end) & (lasts >= period_s)]
        if len(lost):
            found[name] = 1000.0 * float(lost.max())
    return found
