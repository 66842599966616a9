"""Which units of a lot to part out, so that the others can be mended with their parts.

A unit that needs a part is worth mending if the part is at hand: from the shelf, or from a unit given up for parts
(a donor), whose good parts of the same model serve the others. All choices of donors are gone through for up to
`EXACT` units that need something; beyond that donors are added one by one while that helps.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

EXACT = 12


@dataclass(frozen=True, slots=True)
class Need:
    """A unit that is not ready. `parts`: what it needs (names), `has`: good parts it could give, by name.

    `mended`: expected proceeds once it has the parts, after the work; `as_is` and `as_donor`: proceeds without.
    """

    unit_id: str
    tag: str
    model: str
    parts: tuple[str, ...]
    has: tuple[str, ...]
    mended: int
    as_is: int
    as_donor: int


@dataclass(frozen=True, slots=True)
class DonorPlan:
    """Who gives, who is mended, who is sold as it is; `value` in minor units, `plain`: the value without any donor."""

    donors: tuple[str, ...]
    mend: tuple[str, ...]
    sell_as_is: tuple[str, ...]
    value: int
    plain: int


@dataclass(frozen=True, slots=True)
class Gift:
    """A part for a unit that is mended with it. `giver`: the donor's unit id; empty: from the shelf."""

    part: str
    unit_id: str
    giver: str


def plan_donors(needs: Sequence[Need], shelf: Mapping[tuple[str, str], int] | None = None) -> DonorPlan:
    """The choice of donors of the greatest value. `shelf`: (model, part name) → pieces at hand."""
    stock, needs = Counter(shelf or {}), _of_use(needs)
    plain = _value(needs, frozenset(), stock)
    if len(needs) <= EXACT:
        sets = (frozenset(c) for n in range(len(needs) + 1) for c in combinations(range(len(needs)), n))
        best = max((_value(needs, donors, stock) for donors in sets), key=lambda v: (v[0], -len(v[1])))
    else:
        best = _one_by_one(needs, stock, plain)
    value, donors, mend = best
    rest = [n.unit_id for i, n in enumerate(needs) if i not in donors and i not in mend]
    return DonorPlan(
        tuple(needs[i].unit_id for i in sorted(donors)),
        tuple(needs[i].unit_id for i in sorted(mend)),
        tuple(rest),
        value,
        plain[0],
    )


def _of_use(needs: Sequence[Need]) -> list[Need]:
    """The same with only those parts to give that a unit needs which is worth mending."""
    wanted = {(n.model, part) for n in needs if n.mended > n.as_is for part in n.parts}
    return [replace(n, has=tuple(name for name in n.has if (n.model, name) in wanted)) for n in needs]


_Valued = tuple[int, frozenset[int], frozenset[int]]


def _one_by_one(needs: Sequence[Need], stock: Counter[tuple[str, str]], best: _Valued) -> _Valued:
    while True:
        useful = (i for i, n in enumerate(needs) if n.has and i not in best[1])
        more = (_value(needs, best[1] | {i}, stock) for i in useful)
        better = max(more, key=lambda v: v[0], default=best)
        if better[0] <= best[0]:
            return best
        best = better


def _value(needs: Sequence[Need], donors: frozenset[int], stock: Counter[tuple[str, str]]) -> _Valued:
    """Value of a choice of donors: parts go to the units that gain most from being mended."""
    parts = Counter(stock)
    total = 0
    for i in donors:
        total += needs[i].as_donor
        parts.update((needs[i].model, name) for name in needs[i].has)
    mend = set()
    others = (i for i in range(len(needs)) if i not in donors)
    for i in sorted(others, key=lambda i: needs[i].as_is - needs[i].mended):
        need = needs[i]
        wanted = Counter((need.model, name) for name in need.parts)
        if need.mended > need.as_is and all(parts[k] >= n for k, n in wanted.items()):
            parts.subtract(wanted)
            mend.add(i)
            total += need.mended
        else:
            total += need.as_is
    return total, donors, frozenset(mend)


def gifts(needs: Sequence[Need], plan: DonorPlan, shelf: Mapping[tuple[str, str], int] | None = None) -> list[Gift]:
    """Where each part of the mended units comes from: the shelf first, then the donors in their order."""
    stock = Counter(shelf or {})
    by_id = {n.unit_id: n for n in needs}
    left = [(d, Counter((by_id[d].model, name) for name in by_id[d].has)) for d in plan.donors]
    found = []
    for unit_id in plan.mend:
        for part in by_id[unit_id].parts:
            key = (by_id[unit_id].model, part)
            giver, pieces = next(((d, c) for d, c in [("", stock), *left] if c[key] > 0), ("", stock))
            pieces[key] -= 1
            found.append(Gift(part, unit_id, giver))
    return found


def worth_of(
    needs: Sequence[Need], plan: DonorPlan, donor: str, shelf: Mapping[tuple[str, str], int] | None = None
) -> int:
    """How much less the plan would bring, in minor units, if this donor were not given up."""
    kept = frozenset(i for i, n in enumerate(needs) if n.unit_id in plan.donors and n.unit_id != donor)
    return plan.value - _value(needs, kept, Counter(shelf or {}))[0]
