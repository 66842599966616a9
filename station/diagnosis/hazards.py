"""What can hurt at the bench: one table, in the fault guide, that every panel reads."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

Step = Literal["harvest", "look", "charge", "alone"]
STEPS: tuple[Step, ...] = ("harvest", "look", "charge", "alone")
"""what is done at the bench besides treatments and can hurt"""
OPENED = ("cell", "static", "sharp")
"""what every opened housing brings with it"""


@dataclass(frozen=True, slots=True)
class Hazard:
    """One hazard: its name in the guide, its sign in one line, when to stop, what to do before, what to mind during.

    `stop` and `during` may be empty, `before` may not.
    """

    name: str
    sign: str
    before: str
    stop: str = ""
    during: str = ""

    def text(self) -> str:
        """All of it, in the order in which it is wanted."""
        return " ".join(part for part in (self.stop, self.before, self.during) if part)


def sharpened(ships: Hazard, own: Hazard) -> Hazard:
    """A hazard that ships with what a shop says of it: no rule to stop by is lost, and what the shop leaves empty stays
    as it ships."""
    stop = own.stop if ships.stop in own.stop else " ".join(part for part in (ships.stop, own.stop) if part)
    return replace(own, stop=stop, during=own.during or ships.during)
