"""What sold units that come back teach: a cure that was counted as held counts as failed, what a sale should bring is
less by what returns cost, and a treatment whose cures come back asks for a longer rest. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from station.diagnosis.guide import Guide, Values
from station.measure.binomial import wilson
from station.records.types import SAME_FAULT, UnitHistory

MOST_BACK = 0.05
"""share of cures that may come back before a longer rest is proposed: customary, no published source"""
LONGER_DAYS = 7
"""the least that is proposed: customary, no published source"""


@dataclass(frozen=True, slots=True)
class SoldOfModel:
    """How many units of a model were sold, how many of them came back, and what those cost in all."""

    model: str
    sold: int
    came_back: int
    lost_minor: int
    currency: str


@dataclass(frozen=True, slots=True)
class HeldOfKind:
    """How many units that were treated so were sold, how many of those cures came back, and after how many days."""

    kind: str
    sold: int
    days: tuple[int, ...]


def failed_cures(history: UnitHistory) -> frozenset[str]:
    """The treatments of the unit that did not hold, as was seen when it came back."""
    return frozenset(c.treatment_id for c in history.comebacks if c.found == SAME_FAULT and c.treatment_id)


def with_returns(guide: Guide, sold: Sequence[SoldOfModel]) -> Guide:
    """The guide with what a ready unit of each model brings less what returns of that model cost a sale.

    The share that comes back is the mean of Jeffreys' posterior, (k + ½)/(n + 1) (Brown, Cai & DasGupta, Statistical
    Science 16, 2001, 101); of a model of which none came back nothing is taken off.
    """
    found = {s.model: _less(guide.values_for(s.model), s) for s in sold if s.came_back and s.currency == guide.currency}
    return replace(guide, values_of={**guide.values_of, **found}) if found else guide


def _less(values: Values, sold: SoldOfModel) -> Values:
    share = (sold.came_back + 0.5) / (sold.sold + 1)
    cost = round(share * max(sold.lost_minor, 0) / sold.came_back)
    return replace(values, ready_minor=max(values.ready_minor - cost, 0))


def longer_rest(held: HeldOfKind, days: int) -> int:
    """The days of rest to propose in place of `days` after such a treatment; `days` where nothing speaks for more.

    Proposed where two cures or more came back, and the lower bound (Wilson, one-sided 95 %) of their share is above
    MOST_BACK: twice the days, at least LONGER_DAYS.
    """
    back = len(held.days)
    if back < 2 or held.sold < back or wilson(back, held.sold, side="lower")[0] <= MOST_BACK:
        return days
    return max(2 * days, LONGER_DAYS)


def held_by_kind(rows: Iterable[tuple[str, int, int | None]]) -> dict[str, HeldOfKind]:
    """`rows`: (kind, how many sold units were treated so, days until one of them came back or None)."""
    found: dict[str, HeldOfKind] = {}
    for kind, sold, days in rows:
        before = found.get(kind, HeldOfKind(kind, sold, ()))
        found[kind] = replace(before, days=(*before.days, days)) if days is not None else before
    return found
