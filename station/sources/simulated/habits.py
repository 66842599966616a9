"""Hands that do not do what they are asked: lazy, wrong, late, leaning, brushing against a neighbour.

Shares and lengths are common practice without a published source. A number of 0 leaves a habit out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from station.sources.simulated.moves import Go, press_shape
from station.sources.simulated.path import Move, Path, unsteady
from station.sources.simulated.style import Style

F64 = NDArray[np.float64]
Rng = np.random.Generator
_PUSHES_STICK = ("letgo", "travel", "rim", "sweep", "link")
_BRUSH_S = (0.05, 0.12)


@dataclass(frozen=True, slots=True)
class Habits:
    """What a hand has taken to.

    lazy       0…1: pushes, sweeps and pulls that stop short, a roll that is not held against the gate, beats let pass
    wrong      share of goes that it does at another control of the same kind, and of beats that it gives to a neighbour
    late_s     so much later than asked it begins, and presses after a beat
    lean_pct   a thumb that rests on a stick pushes it so far off, towards a bearing that it keeps, whenever nothing
               is asked of that stick but to be left alone
    brush      share of goes and beats in which a neighbour in the hand's reach is pressed along for a moment
    """

    lazy: float = 0.0
    wrong: float = 0.0
    late_s: float = 0.0
    lean_pct: float = 0.0
    brush: float = 0.0

    def styled(self, style: Style) -> Style:
        """The style of a hand with these habits."""
        return replace(
            style,
            short_of_edge=max(style.short_of_edge, 0.35 * self.lazy),
            lead_back=max(style.lead_back, 0.3 * self.lazy),
            hasty=max(style.hasty, 0.3 * self.lazy),
            forget=max(style.forget, 0.12 * self.lazy),
            reaction_s=style.reaction_s + 5.0 * self.late_s,
            late_s=style.late_s + self.late_s,
            spread_s=style.spread_s + 0.2 * self.late_s,
        )


def lazy_rim(control: str, style: Style, rng: Rng, tick_s: float) -> Go:
    """Twice round each way, near the gate and not against it: the thumb falls short by some percent for stretches."""
    path = Path(tick_s).to(0.0, 105.0, 0.2).stay(0.1)
    angle = 0.0
    for way in (1.0, -1.0):
        turns = float(rng.uniform(2.15, 2.35))
        count = round(turns / (float(rng.uniform(0.7, 0.9)) * style.speed) / tick_s)
        bearing = angle + way * 360.0 * turns * np.arange(1, count + 1) / count
        length = 98.0 + unsteady((count, 1), tick_s, 0.0, 6.0, rng)[:, 0]
        radians = np.radians(bearing)
        path.follow(np.column_stack((length * np.sin(radians), length * np.cos(radians)))).stay(0.12)
        angle = float(bearing[-1])
    path.off(0.6)
    move = path.move(style.tremor, style.drift, rng)
    return Go(len(move.held), sticks={control: move})


def leaning(check: str, control: str, pct: float, bearing_deg: float, stick: str) -> tuple[float, float] | None:
    """Where a leaning thumb holds `stick` while that is asked; None where it lets go or has to move it."""
    if pct == 0.0 or (check in _PUSHES_STICK and control in (stick, "")):
        return None
    angle = math.radians(bearing_deg)
    return pct * math.sin(angle), pct * math.cos(angle)


def leaned(move: Move | None, place: tuple[float, float], count: int, unsteady_pct: F64) -> Move:
    """The movement of a stick on which a thumb rests while it is not moved otherwise."""
    rest = np.array(place) + unsteady_pct
    if move is None:
        return Move(rest, np.ones(count, dtype=np.bool_))
    return Move(np.where(move.held[:, None], move.place, rest), np.ones(count, dtype=np.bool_))


def brushed(go: Go, neighbours: Sequence[str], rng: Rng, tick_s: float) -> Go:
    """The same go, in which a finger presses a neighbour along for a moment."""
    others = [n for n in neighbours if n not in go.forces]
    if not others:
        return go
    lasts_s = float(rng.uniform(*_BRUSH_S))
    begin_s = float(rng.uniform(0.0, max(go.count * tick_s - lasts_s, tick_s)))
    force = press_shape(tick_s * np.arange(go.count, dtype=np.float64) - begin_s, 1.6, lasts_s, lasts_s / 3.0)
    return replace(go, forces={**go.forces, others[int(rng.integers(len(others)))]: force})
