"""What a hand does for each check: one go at it, as movements of one or more controls.

A go ends with the hands off, so that goes can follow each other until something else is asked.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from station.sources.simulated.design import PadControl
from station.sources.simulated.path import Move, Path, unsteady
from station.sources.simulated.sensing import Turned, swipe_pad, turn_over
from station.sources.simulated.style import Style

F64 = NDArray[np.float64]
Rng = np.random.Generator
_ROCKS_FROM_S, _ROCKS_HZ, _ROCKS_DEG = 2.7, 1.5, 8.0
"""a held button is rocked from then on, so often and so far (common practice, no source)"""


@dataclass(frozen=True, slots=True)
class HatMove:
    """Where a thumb rocks a hat: bearing float[n] in degrees, force float[n]."""

    bearing_deg: F64
    force: F64


@dataclass(frozen=True, slots=True)
class Go:
    """One go, `count` ticks long: sticks, triggers (place float[n]), forces on buttons and how far they are tilted
    (degrees), hats; the whole unit; a finger on the touch pad (`sensing.swipe_pad`); `flexed`: the cable."""

    count: int
    sticks: dict[str, Move] = field(default_factory=dict)
    triggers: dict[str, Move] = field(default_factory=dict)
    forces: dict[str, F64] = field(default_factory=dict)
    tilts: dict[str, F64] = field(default_factory=dict)
    turned: Turned | None = None
    touched: F64 | None = None
    hats: dict[str, HatMove] = field(default_factory=dict)
    flexed: bool = False


def aim_around(bearing_deg: float, length: float) -> tuple[float, float]:
    """The place at that bearing and distance."""
    angle = math.radians(bearing_deg)
    return length * math.sin(angle), length * math.cos(angle)


def firm(rng: Rng) -> float:
    """How far beyond the gate a thumb aims that presses against it, % of half travel; a square's corner is at 141."""
    return float(rng.uniform(150.0, 175.0))


def let_go(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Flick to eight directions and let go."""
    return _flicks([45.0 * k for k in range(8)], control, style, rng, tick_s)


def flick_corners(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """The same to the four corners, where pushes to the sides were let go before, the last of them just now."""
    return _flicks([45.0, 135.0, 225.0, 315.0], control, style, rng, tick_s, after_s=0.35)


def _flicks(towards: Sequence[float], control: str, style: Style, rng: Rng, tick_s: float, after_s: float = 0.0) -> Go:
    path = Path(tick_s).off(after_s) if after_s else Path(tick_s)
    for bearing in np.array(towards) + rng.normal(0.0, style.aim_deg, len(towards)):
        path.to(*aim_around(bearing, firm(rng)), 0.1 / style.speed).stay(float(rng.uniform(0.12, 0.22)))
        if rng.random() < style.lead_back:
            path.to(0.0, 0.0, float(rng.uniform(0.25, 0.4)))
        rushed = rng.random() < style.lead_back / 2
        path.off(0.2 if rushed else float(rng.uniform(0.55, 0.7)))
    return stick_go(control, path, style, rng)


def travel(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Push fast to up, right, down, left; hold each against the edge."""
    path = Path(tick_s)
    for bearing in np.arange(4) * 90.0 + rng.normal(0.0, style.aim_deg, 4):
        short = rng.random() < style.short_of_edge
        far = float(rng.uniform(75.0, 92.0)) if short else firm(rng)
        slow = rng.random() < style.hasty
        path.to(*aim_around(bearing, far), 0.4 if slow else float(rng.uniform(0.09, 0.13)))
        path.stay(float(rng.uniform(0.85, 1.0)) / math.sqrt(style.speed)).off(float(rng.uniform(0.4, 0.55)))
    return stick_go(control, path, style, rng)


def rim(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Twice round the rim clockwise, twice back."""
    path = Path(tick_s).to(*aim_around(0.0, 160.0), 0.15).stay(0.1)
    angle = 0.0
    for way in (1.0, -1.0):
        angle = roll_once(path, angle, way * float(rng.uniform(2.15, 2.35)), style, rng, tick_s)
    path.off(0.6)
    return stick_go(control, path, style, rng)


def roll_once(path: Path, angle: float, turns: float, style: Style, rng: Rng, tick_s: float) -> float:
    """So many turns round the rim from that bearing, clockwise where they are positive; the bearing then."""
    seconds = abs(turns) / (float(rng.uniform(0.75, 0.95)) * style.speed)
    count = round(seconds / tick_s)
    speed = np.exp(unsteady((count, 1), tick_s, 0.0, 0.2, rng)[:, 0])
    run = np.cumsum(speed)
    bearing = angle + 360.0 * turns * run / run[-1]
    length = 160.0 - _corners(bearing, style, rng)
    radians = np.radians(bearing)
    path.follow(np.column_stack((length * np.sin(radians), length * np.cos(radians)))).stay(0.12)
    return float(bearing[-1])


def _corners(bearing: F64, style: Style, rng: Rng) -> F64:
    """By how much the thumb falls short of where it should be along a roll, %: corners that it cuts."""
    out = np.zeros(len(bearing))
    for _ in range(int(rng.poisson(style.cut_corner / 2))):
        middle = rng.uniform(bearing.min(), bearing.max())
        depth, width = rng.uniform(65.0, 85.0), rng.uniform(8.0, 25.0)
        out = np.maximum(out, depth * np.exp(-0.5 * ((bearing - middle) / width) ** 2))
    return out


def sweep(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Slowly across each axis and back, three times: first left and right, then down and up."""
    path = Path(tick_s)
    for across in ((1.0, 0.0), (0.0, 1.0)):
        side = -1.0
        path.to(across[0] * -115.0, across[1] * -115.0, 0.3).stay(0.15)
        for _ in range(6):
            side = -side
            short = rng.random() < style.short_of_edge
            end = side * (float(rng.uniform(70.0, 88.0)) if short else 115.0)
            seconds = float(rng.uniform(*style.sweep_s)) / style.speed
            seconds = 0.35 if rng.random() < style.hasty else seconds
            path.evenly_to(across[0] * end, across[1] * end, seconds, np.exp(0.15 * rng.standard_normal(6)))
            path.stay(float(rng.uniform(0.1, 0.2)))
        path.off(0.3)
    return stick_go(control, path, style, rng)


def circle(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Circle a stick for ten seconds while the cable is flexed."""
    count = round(10.6 / tick_s)
    speed = np.exp(unsteady((count, 1), tick_s, 0.0, 0.15, rng)[:, 0])
    radians = np.cumsum(speed) * tick_s * 2.0 * np.pi * 0.9
    length = np.minimum(80.0, 160.0 * np.arange(count) * tick_s)
    path = Path(tick_s).follow(np.column_stack((length * np.sin(radians), length * np.cos(radians)))).off(0.3)
    one = stick_go(control, path, style, rng)
    return Go(one.count, sticks=one.sticks, flexed=True)


def pull(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Pull a trigger slowly to its stop and let it go, three times."""
    return pulls(control, 3, style, rng, tick_s)


def pulls(control: str, number: int, style: Style, rng: Rng, tick_s: float) -> Go:
    """So many slow pulls to the stop, each let go."""
    path = Path(tick_s)
    for _ in range(number):
        short = rng.random() < style.short_of_edge
        end = float(rng.uniform(70.0, 88.0)) if short else 112.0
        seconds = 0.25 if rng.random() < style.hasty else float(rng.uniform(1.8, 2.3)) / style.speed
        path.evenly_to(end, 0.0, seconds, np.exp(0.15 * rng.standard_normal(6)))
        path.stay(float(rng.uniform(0.3, 0.4))).off(float(rng.uniform(0.6, 0.75)))
    both = path.move(style.tremor / 2, style.drift / 4, rng)
    return Go(len(both.held), triggers={control: Move(both.place[:, 0], both.held)})


def roll_hat(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Roll a hat through its eight directions once each way, letting go in between."""
    return rolls_of(control, (1.0, -1.0), style, rng, tick_s)


def rolls_of(control: str, ways: Sequence[float], style: Style, rng: Rng, tick_s: float) -> Go:
    """Roll a hat through its eight directions once each of these ways (1 clockwise, −1 back), letting go after each."""
    bearings, forces = [], []
    for way in ways:
        count = round(float(rng.uniform(2.0, 2.6)) / style.speed / tick_s)
        speed = np.exp(unsteady((count, 1), tick_s, 0.0, 0.2, rng)[:, 0])
        run = np.cumsum(speed)
        bearings += [way * 420.0 * run / run[-1] - way * 25.0, np.zeros(round(0.35 / tick_s))]
        forces += [_press_force(count, tick_s, 2.5, 0.05), np.zeros(round(0.35 / tick_s))]
    bearing = np.concatenate(bearings)
    return Go(len(bearing), hats={control: HatMove(bearing, np.concatenate(forces))})


def press_three(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Three firm presses."""
    pieces = [np.zeros(round(0.1 / tick_s))]
    for _ in range(3):
        count = round(float(rng.uniform(0.16, 0.28)) / tick_s)
        pause = round(float(rng.uniform(0.22, 0.4)) / tick_s)
        pieces += [_press_force(count, tick_s, float(rng.uniform(2.2, 3.5)), 0.03), np.zeros(pause)]
    return force_go(control, np.concatenate(pieces), style, rng, tick_s)


def hold(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """One light press, held for some five and a half seconds, the second half of it rocked."""
    count = round(float(rng.uniform(5.4, 5.9)) / tick_s)
    wavering = 1.0 + unsteady((count, 1), tick_s, 0.01, 0.2 * style.light[1], rng)[:, 0]
    force = _press_force(count, tick_s, style.light[0] + 0.1, 0.05)
    force = np.where(force > style.light[2], np.maximum(force * wavering, style.light[2]), force)
    go = force_go(control, np.concatenate((force, np.zeros(round(0.4 / tick_s)))), style, rng, tick_s)
    since_s = np.clip(np.arange(go.count) * tick_s - _ROCKS_FROM_S, 0.0, None)
    return replace(go, tilts={control: _ROCKS_DEG * np.sin(2.0 * np.pi * _ROCKS_HZ * since_s)})


def hold_together(controls: Sequence[PadControl], style: Style, rng: Rng, tick_s: float) -> Go:
    """Shoulder and back buttons held, and each tapped; with them held, the left thumb goes from place to place, and at
    each of them the right one presses all of its own; then those of the right one are held flat while the others are
    let go and tapped, and at last one of them is held and the rest tapped."""
    tip_s, pause_s = 0.16 / style.speed, 0.08 / style.speed
    spans: dict[str, list[tuple[float, float]]] = {}
    lefts = [c for c in controls if c.zone == "left hand" and c.kind in ("button", "hat")]
    rights = [c.id for c in controls if c.zone == "right hand" and c.kind == "button"]
    hats: list[tuple[float, float, float]] = []
    fingers = [c.id for c in controls if c.zone in ("top", "back") and c.kind == "button"]
    again_s: dict[str, float] = {}
    at = 0.5
    for finger in fingers:  # taps one with the others held
        spans[finger] = [(0.1, at)]
        at = _tap_twice(spans, finger, at + 0.1)
        again_s[finger] = at
    for left in [(c, k) for c in lefts for k in range(4 if c.kind == "hat" else 1)]:
        begin = at
        at += 0.12
        for right in rights:
            lasts = tip_s * float(rng.uniform(0.85, 1.25))
            spans.setdefault(right, []).append((at, at + lasts))
            at += lasts + pause_s * float(rng.uniform(0.8, 1.5))
        if left[0].kind == "hat":
            hats.append((begin, at, 90.0 * left[1]))
        else:
            spans.setdefault(left[0].id, []).append((begin, at))
        at += 0.12
    flat = [c for c in rights if not c.endswith("_press")]
    begin = at
    at += 0.4
    for finger in fingers:
        at += 0.2
        spans[finger].append((again_s[finger], at))
    at += 0.2
    for tapped in fingers:
        at = _tap_twice(spans, tapped, at)
    apart_s = 0.02 if rng.random() < 2.0 * style.short_of_edge else 0.2
    for k, control in enumerate(flat):
        at += apart_s
        spans.setdefault(control, []).append((begin + 0.03 * k, at))
    order = [flat[i] for i in rng.permutation(len(flat))]
    for k, held in enumerate(order[:-1]):
        at += 0.15
        begin = at
        at += 0.15
        for tapped in order[k + 1 :]:
            at = _tap_twice(spans, tapped, at)
        spans[held].append((begin, at))
    count = round((at + 0.4) / tick_s)
    t_s: F64 = tick_s * np.arange(count, dtype=np.float64)
    forces = {c: np.zeros(count) for c in spans}
    for pressed, some in spans.items():
        for a, b in some:
            forces[pressed] += press_shape(t_s - a, 2.2, b - a)
    moved = {}
    for hat in (c for c in lefts if c.kind == "hat"):
        bearing, force = np.zeros(count), np.zeros(count)
        for a, b, towards in hats:
            inside = (t_s >= a) & (t_s < b)
            bearing[inside], force[inside] = towards, press_shape(t_s[inside] - a, 2.5, b - a, 0.05)
        moved[hat.id] = HatMove(bearing, force)
    return Go(count, forces=forces, hats=moved)


def _tap_twice(spans: dict[str, list[tuple[float, float]]], control: str, at: float) -> float:
    for _ in range(2):
        spans.setdefault(control, []).append((at, at + 0.14))
        at += 0.23
    return at


def idle(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Hands off."""
    return Go(round(1.0 / tick_s))


def flick_and_leave(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Flick to the left and to the right, then hands off."""
    return _flick_to((270.0, 90.0), control, style, rng, tick_s)


def flick_up_and_leave(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """The same up and down, when it is asked for more."""
    return _flick_to((0.0, 180.0), control, style, rng, tick_s)


def _flick_to(towards: tuple[float, float], control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    path = Path(tick_s)
    for bearing in np.array(towards) + rng.normal(0.0, style.aim_deg, 2):
        path.to(*aim_around(bearing, firm(rng)), 0.1 / style.speed).stay(float(rng.uniform(0.12, 0.22)))
        path.off(float(rng.uniform(0.5, 0.65)))
    if rng.random() < 2.0 * style.lead_back + 0.05:
        _touch(path, style, rng)
    return stick_go(control, path.off(3.2), style, rng)


def flick_and_lean(place: tuple[float, float]) -> Callable[[str, Style, Rng, float], Go]:
    """Flick as asked, and then the thumb rests on the stick again, at that place."""

    def go(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
        path = Path(tick_s)
        for bearing in np.array([270.0, 90.0]) + rng.normal(0.0, style.aim_deg, 2):
            path.to(*aim_around(bearing, firm(rng)), 0.1 / style.speed).stay(float(rng.uniform(0.12, 0.22)))
            path.off(float(rng.uniform(0.4, 0.6)))
        path.to(*place, 0.25).stay(4.0)
        move = path.move(0.3 * style.tremor, 0.0, rng)
        return Go(len(move.held), sticks={control: move})

    return go


def _touch(path: Path, style: Style, rng: Rng) -> None:
    """A hand that is slow to leave a stick before a rest: it still touches it for a moment."""
    path.to(float(rng.normal(0.0, 8.0)), float(rng.normal(0.0, 8.0)), 0.2)
    path.stay(float(rng.uniform(0.05, 0.2 + 2.0 * style.lead_back))).off(0.4)


MOVES: dict[str, Callable[[str, Style, Rng, float], Go]] = {
    "contact": press_three,
    "hold": hold,
    "rest": flick_and_leave,
    "letgo": let_go,
    "travel": travel,
    "rim": rim,
    "sweep": sweep,
    "trigger": pull,
    "hat": roll_hat,
    "link": circle,
}


def turn_unit(controls: Sequence[PadControl], style: Style, rng: Rng, tick_s: float) -> Go:
    """All six sides."""
    turned = turn_over(style, rng, tick_s)
    return Go(len(turned.force_g), turned=turned)


def swipe_all(controls: Sequence[PadControl], style: Style, rng: Rng, tick_s: float) -> Go:
    """All over the touch pad."""
    touched = swipe_pad(style, rng, tick_s)
    return Go(len(touched), touched=touched)


def leave(controls: Sequence[PadControl], style: Style, rng: Rng, tick_s: float) -> Go:
    """Hands off."""
    return Go(round(1.0 / tick_s))


WHOLE: dict[str, Callable[[Sequence[PadControl], Style, Rng, float], Go]] = {
    "together": hold_together,
    "still": leave,
    "sides": turn_unit,
    "untouched": leave,
    "swipe": swipe_all,
}
"""those that take the whole unit"""


def press_shape(at_s: F64, peak: float, lasts_s: float, rise_s: float = 0.03) -> F64:
    """Force of one press at times since it began: up and down by half-cosines, level in between."""
    up = np.clip(at_s / rise_s, 0.0, 1.0)
    down = np.clip((lasts_s - at_s) / rise_s, 0.0, 1.0)
    return np.asarray(peak * 0.25 * (1.0 - np.cos(np.pi * up)) * (1.0 - np.cos(np.pi * down)))


def _press_force(count: int, tick_s: float, peak: float, rise_s: float) -> F64:
    return press_shape(tick_s * np.arange(count, dtype=np.float64), peak, count * tick_s, rise_s)


def stick_go(control: str, path: Path, style: Style, rng: Rng) -> Go:
    """A path of one stick."""
    move = path.move(style.tremor, style.drift, rng)
    return Go(len(move.held), sticks={control: move})


def force_go(control: str, force: F64, style: Style, rng: Rng, tick_s: float) -> Go:
    """A press; where it is a stick's, the stick is nudged."""
    if not control.endswith("_press"):
        return Go(len(force), forces={control: force})
    nudge = unsteady((len(force), 2), tick_s, 0.0, 2.0 * style.drift, rng)
    move = Move(nudge, force > 0.0)
    return Go(len(force), sticks={control.removesuffix("_press"): move}, forces={control: force})


# --- several controls -----------------------------------------------------------------------------------


def at_once(goes: Sequence[Go]) -> Go:
    """Goes at different controls begun at the same moment; who is done first waits with the hand off."""
    return _laid(goes, [0] * len(goes), max(go.count for go in goes))


def in_turn(goes: Sequence[Go]) -> Go:
    """Goes one after the other."""
    ends = np.cumsum([go.count for go in goes]).tolist()
    return _laid(goes, [0, *ends[:-1]], ends[-1])


def _laid(goes: Sequence[Go], begins: Sequence[int], count: int) -> Go:
    """One go of `count` ticks in which each goes on from its tick; what two of them move, the later one moves."""
    sticks: dict[str, Move] = {}
    triggers: dict[str, Move] = {}
    forces: dict[str, F64] = {}
    tilts: dict[str, F64] = {}
    hats: dict[str, HatMove] = {}
    for go, begin in zip(goes, begins, strict=True):
        part = slice(begin, begin + go.count)
        for moves, into in ((go.sticks, sticks), (go.triggers, triggers)):
            for control, move in moves.items():
                whole = into.setdefault(
                    control, Move(np.zeros((count, *move.place.shape[1:])), np.zeros(count, dtype=np.bool_))
                )
                whole.place[part], whole.held[part] = move.place, move.held
        for by_control, laid in ((go.forces, forces), (go.tilts, tilts)):
            for control, course in by_control.items():
                laid.setdefault(control, np.zeros(count))[part] = course
        for control, hat in go.hats.items():
            rolled = hats.setdefault(control, HatMove(np.zeros(count), np.zeros(count)))
            rolled.bearing_deg[part], rolled.force[part] = hat.bearing_deg, hat.force
    return Go(count, sticks, triggers, forces, tilts, hats=hats, flexed=any(go.flexed for go in goes))
