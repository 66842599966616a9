"""Which signal answers to which control's steps, as scores: what the parts that give buttons their bits share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from station.sheets.learn.pulses import Signal
from station.sheets.learn.types import PRESSES
from station.sheets.learn.walked import Walked
from station.sheets.model import Control
from station.sheets.signals import F64

EXACT, NEAR, MISSED, FOREIGN = 3.0, 1.0, -1.0, -1.0
"""what a step says: as many pulses as asked; some; none; pulses in the step of another control"""
LEAST = 1.0
CLEAR = 1.5
"""by how much the second best must lie behind"""
MOST_SHARED = 8
"""steps that a signal may answer to; more, and it is a bit of some sum, no slip"""
MOST_PULLS = 8
"""pulses of a trigger's switch in a step: a slow pull may cross its threshold several times"""


@dataclass(frozen=True, slots=True)
class Pick:
    """What a control's steps showed.

    `signal`: the one that is its own; `copies`: the control whose signal answers to it (too); `doubt`: why this is not
    sure ("nothing", "copy", "contested", "two", "weak", "late", "waits", "list"), or empty; `rivals`: other controls in
    the same doubt.
    """

    control: Control
    signal: Signal | None = None
    copies: str | None = None
    doubt: str = ""
    rivals: tuple[str, ...] = ()
    exact: bool = True
    foreign: int = 0


@dataclass(slots=True, eq=False)
class Board:
    """Scores of every control (row) with every signal (column); `given`: row → the column that is its own."""

    controls: Sequence[Control]
    steps: Mapping[str, list[int]]
    signals: Sequence[Signal]
    score: F64
    given: dict[int, int]


def board_of(walked: Walked, controls: Sequence[Control], signals: Sequence[Signal]) -> Board:
    """The scores; every control is given a signal where that fits all of them together best."""
    steps = {c.id: walked.steps_of(c.id) for c in controls}
    score = np.zeros((len(controls), len(signals)))
    for row, control in enumerate(controls):
        own = steps[control.id]
        for column, signal in enumerate(signals):
            said = sum(_says(control, int(signal.count[i])) for i in own)
            foreign = _foreign(walked, signal, own)
            behind = 0.1 * (control.zone == "back") + 0.001 * row  # of equals, the one on the back is the copy
            score[row, column] = said + FOREIGN * foreign - behind
    given: dict[int, int] = {}
    if len(signals):
        from scipy.optimize import linear_sum_assignment  # slow to load, and wanted only here

        rows, columns = linear_sum_assignment(np.maximum(score, 0.0), maximize=True)
        given = {int(r): int(c) for r, c in zip(rows, columns, strict=True) if score[r, c] >= LEAST - 0.2}
    return Board(controls, steps, signals, score, given)


def _foreign(walked: Walked, signal: Signal, own: Sequence[int]) -> int:
    """How many other controls it answers to (each once: what repeats is no slip); the device itself too."""
    asked = [walked.steps[i].step for i in np.flatnonzero(signal.count).tolist() if i not in own]
    return len({s.control.id if s.control is not None else s.id for s in asked})


def is_exact(control: Control, pulses: int) -> bool:
    """Whether a step has the pulses that were asked for."""
    return 1 <= pulses <= MOST_PULLS if control.kind == "trigger" else pulses == PRESSES


def _says(control: Control, pulses: int) -> float:
    if is_exact(control, pulses):
        return EXACT
    return NEAR if 0 < pulses <= PRESSES + 1 else MISSED
