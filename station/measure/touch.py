"""A finger on a touch pad: how much of it feels, where it does not, where it loses the finger or makes it jump."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from station.measure.arrays import F64, I64, NS_PER_MS

COLUMNS, ROWS = 8, 6
"""a coarse grid for where the finger has been: a cell is about as large as a fingertip on a pad of 6 cm (common
practice, no source)"""
FINER = 2
"""what feels nothing is looked for in cells of half that width and height"""
LOST_NS = 300 * NS_PER_MS
"""a finger that is back within this has not been lifted to begin another stroke (common practice, no source)"""
NEAR_PCT = 12.0
"""so near to where it would be by then, % of the pad, and it is the same stroke"""
JUMP_PCT = 10.0
"""a step that is longer than this and than five usual ones is a jump (common practice, no source)"""


@dataclass(frozen=True, slots=True)
class Swiped:
    """`felt` bool[ROWS, COLUMNS] (first row: low y): cells with a point.

    `dead` bool[FINER · ROWS, FINER · COLUMNS]: cells without one although two strokes or more went across. `lost`: how
    often the finger was lost on its way elsewhere, `longest_lost_ns`; `jumps`: steps too long.
    """

    felt: NDArray[np.bool_]
    dead: NDArray[np.bool_]
    lost: int
    longest_lost_ns: int
    jumps: int

    @property
    def left(self) -> NDArray[np.bool_]:
        """bool[ROWS, COLUMNS]: cells that no finger has been to, as far as one can tell."""
        dead = self.dead.reshape(ROWS, FINER, COLUMNS, FINER).any(axis=(1, 3))
        return np.asarray(~self.felt & ~dead)


def cell(x_pct: F64, y_pct: F64, finer: int = 1) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Row and column of the grid of places in %."""
    rows, columns = finer * ROWS, finer * COLUMNS
    column = np.clip((x_pct / 100.0 * columns).astype(np.intp), 0, columns - 1)
    return np.clip((y_pct / 100.0 * rows).astype(np.intp), 0, rows - 1), column


def swiped(t_ns: I64, touched: NDArray[np.bool_], x_pct: F64, y_pct: F64) -> Swiped:
    """What the strokes of one contact show. O(n)."""
    felt = np.zeros((ROWS, COLUMNS), dtype=np.bool_)
    fine = np.zeros((FINER * ROWS, FINER * COLUMNS), dtype=np.bool_)
    crossed = np.zeros(fine.shape, dtype=np.int64)
    on = np.flatnonzero(touched)
    if not len(on):
        return Swiped(felt, fine, 0, 0, 0)
    felt[cell(x_pct[on], y_pct[on])] = True
    fine[cell(x_pct[on], y_pct[on], FINER)] = True
    gaps: list[tuple[int, NDArray[np.bool_]]] = []
    breaks = np.flatnonzero(np.diff(on) > 1)
    for k in breaks.tolist():
        before, after = int(on[k]), int(on[k + 1])
        gap_ns = int(t_ns[after] - t_ns[before + 1])
        if gap_ns > LOST_NS or not _goes_on(t_ns, x_pct, y_pct, touched, before, after):
            continue
        way = np.linspace(0.0, 1.0, 60)
        row, column = cell(
            x_pct[before] + way * (x_pct[after] - x_pct[before]),
            y_pct[before] + way * (y_pct[after] - y_pct[before]),
            FINER,
        )
        across = np.zeros_like(fine)
        across[row, column] = True
        crossed += across
        gaps.append((gap_ns, across))
    dead = ~fine & (crossed > 1)
    lost = [gap_ns for gap_ns, across in gaps if not (across & dead).any()]
    steps = np.hypot(np.diff(x_pct), np.diff(y_pct))[touched[1:] & touched[:-1]]
    moving = steps[steps > 0]
    usual = float(np.median(moving)) if len(moving) else 0.0
    return Swiped(felt, dead, len(lost), max(lost, default=0), int((steps > max(JUMP_PCT, 5.0 * usual)).sum()))


def _goes_on(t_ns: I64, x_pct: F64, y_pct: F64, touched: NDArray[np.bool_], before: int, after: int) -> bool:
    """Is the point after a gap where the stroke before it would be by then?"""
    back = before
    while back > 0 and touched[back - 1] and t_ns[before] - t_ns[back] < 60 * NS_PER_MS:
        back -= 1
    past = int(t_ns[before] - t_ns[back])
    if past <= 0:
        return False
    ahead = (t_ns[after] - t_ns[before]) / past
    at = np.array([x_pct[before], y_pct[before]])
    speed = at - np.array([x_pct[back], y_pct[back]])
    there = np.array([x_pct[after], y_pct[after]])
    gone = there - at
    allowed = NEAR_PCT + 0.5 * float(np.hypot(*gone))
    return bool(np.hypot(*(there - at - ahead * speed)) <= allowed) and float(gone @ speed) > 0.0
