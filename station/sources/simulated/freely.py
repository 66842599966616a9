"""What a hand does for a first look: a free run over the controls, each sort at once or one after the other."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from station.sources.simulated.design import PadControl
from station.sources.simulated.moves import (
    Go,
    Rng,
    aim_around,
    at_once,
    firm,
    force_go,
    in_turn,
    press_shape,
    pulls,
    roll_once,
    rolls_of,
    stick_go,
)
from station.sources.simulated.path import Path
from station.sources.simulated.style import Style

PRESSES, PULLS = 5, 2
HANDS_OFF_S = 2.0
HELD_S = 0.5
ALONE_OFF_S = 3.2
"""hands off where no other control follows: the three seconds that are asked for"""


def free_run(controls: Sequence[PadControl], style: Style, rng: Rng, tick_s: float) -> Go:
    """All sticks at once, hands off, all triggers at once, the hats once round, then button after button, lightly."""
    by_kind = {kind: [c.id for c in controls if c.kind == kind] for kind in ("stick", "trigger", "hat", "button")}
    parts: list[Go] = []
    if by_kind["stick"]:
        parts.append(at_once([_stick(c, style, rng, tick_s) for c in by_kind["stick"]]))
        follows = any(by_kind[kind] for kind in ("trigger", "hat", "button"))
        parts.append(Go(round((HANDS_OFF_S if follows else ALONE_OFF_S) / tick_s)))
    if by_kind["trigger"]:
        parts.append(at_once([pulls(c, PULLS, style, rng, tick_s) for c in by_kind["trigger"]]))
    parts += [rolls_of(c, (1.0,), style, rng, tick_s) for c in by_kind["hat"]]
    parts += [_presses(c, style, rng, tick_s) for c in by_kind["button"]]
    return in_turn(parts)


def _stick(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """To four sides, held; flicked between them; round the rim and back; slowly across both ways and back."""
    path = Path(tick_s)
    for bearing in np.arange(4) * 90.0 + rng.normal(0.0, style.aim_deg, 4):
        short = rng.random() < style.short_of_edge
        far = float(rng.uniform(75.0, 92.0)) if short else firm(rng)
        slow = rng.random() < style.hasty
        path.to(*aim_around(bearing, far), 0.4 if slow else float(rng.uniform(0.09, 0.13)))
        path.stay(float(rng.uniform(0.5, 0.65))).off(float(rng.uniform(0.5, 0.65)))
    for bearing in 45.0 + np.arange(4) * 90.0 + rng.normal(0.0, style.aim_deg, 4):
        path.to(*aim_around(bearing, firm(rng)), 0.1 / style.speed).stay(float(rng.uniform(0.12, 0.22)))
        path.off(float(rng.uniform(0.5, 0.65)))
    path.to(*aim_around(0.0, 160.0), 0.15).stay(0.1)
    angle = 0.0
    for way in (1.0, -1.0):
        turns = float(rng.uniform(1.15, 1.3))
        angle = roll_once(path, angle, way * turns, style, rng, tick_s)
    path.off(0.6)
    for across in ((1.0, 0.0), (0.0, 1.0)):
        path.to(across[0] * -115.0, across[1] * -115.0, 0.3).stay(0.15)
        for side in (1.0, -1.0):
            short = rng.random() < style.short_of_edge
            end = side * (float(rng.uniform(70.0, 88.0)) if short else 115.0)
            seconds = 0.35 if rng.random() < style.hasty else float(rng.uniform(1.4, 1.7)) / math.sqrt(style.speed)
            path.evenly_to(across[0] * end, across[1] * end, seconds, np.exp(0.15 * rng.standard_normal(6)))
            path.stay(float(rng.uniform(0.1, 0.2)))
        path.off(0.3)
    return stick_go(control, path, style, rng)


def _presses(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Light presses in the hand's own rhythm, each as hard as a light press on a beat; the last one is held."""
    typical, spread, least = style.light
    pieces = [np.zeros(round(0.1 / tick_s))]
    period_s = float(rng.uniform(0.3, 0.36))
    for number in range(PRESSES):
        lasts_s = min(style.press_s * float(rng.uniform(0.8, 1.25)), 0.7 * period_s)
        peak = max(least, typical * float(np.exp(spread * rng.standard_normal())))
        pause_s = period_s * float(np.exp(0.1 * rng.standard_normal())) - lasts_s
        lasts_s = HELD_S if number == PRESSES - 1 else lasts_s
        count = round((lasts_s + pause_s) / tick_s)
        pieces.append(press_shape(tick_s * np.arange(count, dtype=np.float64), peak, lasts_s))
    return force_go(control, np.concatenate(pieces), style, rng, tick_s)
