"""What moves although nobody touches it: contacts that close by themselves, tracks that twitch and drift."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
Bool = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Spell:
    """Every `every_s` seconds, first at `first_s`, for `lasts_s` seconds. `every_s` 0: never."""

    every_s: float = 0.0
    lasts_s: float = 0.0
    first_s: float = 0.0

    def at(self, t_s: F64) -> Bool:
        """bool[n]: whether it is on at those times."""
        if self.every_s <= 0.0:
            return np.zeros(len(t_s), dtype=np.bool_)
        since = t_s - self.first_s
        return np.asarray((since >= 0.0) & (since % self.every_s < self.lasts_s))


NEVER = Spell()


@dataclass(frozen=True, slots=True)
class Ramp:
    """By `pct` in `over_s` seconds from the beginning on, evenly, and then no further. `over_s` 0: never."""

    pct: float = 0.0
    over_s: float = 0.0

    def at(self, t_s: F64) -> F64:
        """float[n]: how far at those times."""
        return np.asarray(self.pct * np.minimum(t_s / self.over_s, 1.0))


STEADY = Ramp()


@dataclass(frozen=True, slots=True)
class Push:
    """While `stick` stands at `beyond_pct` of half travel or more from its middle. No stick: never."""

    stick: str = ""
    beyond_pct: float = 100.0

    def at(self, place: F64) -> Bool:
        """bool[n] for the stick's places of the shaft, float[n, 2]."""
        return np.asarray(np.hypot(place[:, 0], place[:, 1]) >= self.beyond_pct)


UNPUSHED = Push()
