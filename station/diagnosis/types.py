"""Values of the diagnosis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from station.diagnosis.hazards import Hazard

Axis = Literal["x", "y"]


@dataclass(frozen=True, slots=True)
class Seen:
    """A finding with its place. `control` is "" for the whole unit."""

    control: str
    check: str
    code: str
    axis: Axis | None = None
    direction: str | float | None = None


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the last count of every check says: findings, and the checks that found nothing."""

    seen: tuple[Seen, ...] = ()
    clear: tuple[tuple[str, str], ...] = ()
    """(check, control)"""


@dataclass(frozen=True, slots=True)
class Suspect:
    """A part that could cause what was found, and how likely it is bad (0…1)."""

    part_id: str
    name: str
    weight: float
    role: str = ""
    control: str = ""
    axis: Axis | None = None


@dataclass(frozen=True, slots=True)
class Rate:
    """How often a treatment cures: Beta(a, b) after a Jeffreys start (a = b = ½) with `cured` of `tried` on top."""

    cured: float
    tried: float
    own: float = 0.0
    """how many of the tries are the shop's own"""

    @property
    def a(self) -> float:
        return self.cured + 0.5

    @property
    def b(self) -> float:
        return self.tried - self.cured + 0.5

    @property
    def mean(self) -> float:
        return self.a / (self.a + self.b)


@dataclass(frozen=True, slots=True)
class Proposal:
    """The next thing to do, and why. `kind` is "" when it is to stop."""

    title: str
    reason: str
    then: str = ""
    hazards: tuple[Hazard, ...] = ()
    kind: str = ""
    part: str = ""
    minutes: int = 0
    cost_minor: int = 0
    cure_mean: float = 0.0
    cure_interval: tuple[float, float] = (0.0, 1.0)
    gain_minor: int = 0
    """expected gain of going on over the best way to stop now"""
    also: tuple[str, ...] = ()
    """further treatments to do before the one test that follows"""
