"""How a unit does that is left alone: what the window shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

AloneState = Literal["settles", "watched", "away"]


@dataclass(frozen=True, slots=True)
class AloneView:
    """How a unit does that is left alone. `left_s` None: until it is ended. `problem`: why it cannot be saved."""

    id: str
    unit_id: str
    tag: str
    state: AloneState
    passed_s: float
    left_s: float | None
    movements: int
    disconnects: int
    problem: str = ""
