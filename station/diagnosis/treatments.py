"""The next treatment for a unit, and why, in words and figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import permutations

from station.diagnosis.faults import Choice, Fault, case_of, faults_of
from station.diagnosis.guide import Guide, Values
from station.diagnosis.plan import Plan, Stakes, best_plan, shortlist, subset
from station.diagnosis.rates import Trial, interval
from station.diagnosis.recheck import untested
from station.diagnosis.types import Proposal, Rate
from station.records.money import format_money
from station.records.types import ShelfPart, Treatment, UnitHistory
from station.sheets.model import Sheet

_PERMUTED = 3
"""up to so many faults all orders are compared"""
_OPTIONS = {1: 8, 2: 7}
"""faults → treatments gone through for each; else 5"""


def propose(
    history: UnitHistory,
    sheet: Sheet,
    guide: Guide,
    *,
    trials: Sequence[Trial] = (),
    shelf: Sequence[ShelfPart] = (),
    values: Values | None = None,
) -> Proposal | None:
    """The treatment of the greatest expected value, or to stop; None when nothing was found.

    `trials`: what the shop has tried before (rates.trials_from). `values`: what such a unit brings; the guide's
    if None.
    """
    if (last := untested(history)) is not None:
        return _test_first(last)
    case = case_of(history, sheet, guide, trials, shelf)
    if not case.evidence.seen:
        return None
    worth = values or guide.values_for(history.unit.model)
    stakes = stakes_of(worth, guide)
    fault, plan = first_fault(faults_of(case), stakes)
    if not plan.round:
        return _stop(plan, worth, guide)
    return _words(fault, plan, stakes, guide)


def stakes_of(values: Values, guide: Guide) -> Stakes:
    """What is at stake for a unit, in minor units."""
    per_minute = guide.hour_minor / 60
    return Stakes(
        values.ready_minor,
        max(values.as_is_minor, values.parts_minor),
        values.parts_minor,
        guide.open_minutes * per_minute,
        guide.test_minutes * per_minute,
    )


def first_fault(faults: Sequence[Fault], stakes: Stakes) -> tuple[Fault, Plan]:
    """Which fault to begin with, and how. With several, the unit is only good when all are gone.

    The reward for curing one is what going on with the others is then worth; the order of the greatest value is taken.
    Beyond three faults the most doubtful goes first, so that little is spent on a unit that cannot be saved.
    """
    limit = _OPTIONS.get(len(faults), 5)
    doubtful = tuple(sorted(range(len(faults)), key=lambda i: _plan(faults[i], stakes, limit).value))
    orders = permutations(doubtful) if len(faults) <= _PERMUTED else (doubtful,)
    candidates = []
    for order in orders:
        reward = stakes.cured
        for i in reversed(order):
            plan = _plan(faults[i], replace(stakes, cured=reward), limit)
            reward = plan.value
        candidates.append((plan, order[0]))
    plan, first = max(candidates, key=lambda c: (round(c[0].value, 6), c[0].on or 0.0))
    return faults[first], plan


_best_plan = lru_cache(maxsize=1024)(best_plan)
"""units of a lot that show the same have the same plan, and the orders of a unit's faults share theirs"""


def _plan(fault: Fault, stakes: Stakes, limit: int) -> Plan:
    """The best plan for one fault, in terms of its own options."""
    kept = shortlist(fault.weights, fault.options, stakes.open_cost, limit)
    plan = _best_plan(fault.weights, subset(fault.options, kept), stakes)
    then = None if plan.then is None else kept[plan.then]
    return replace(plan, round=tuple(kept[i] for i in plan.round), then=then)


def chance_of_cure(fault: Fault, choice: Choice) -> tuple[Rate, float, tuple[float, float]]:
    """(rate on the part it is for, chance to cure the fault, 95 % interval of that rate)."""
    helped = [(s.weight, r) for s, r in zip(fault.suspects, choice.rates, strict=True) if r is not None]
    rate = max(helped, key=lambda h: h[0] * h[1].mean)[1]
    low, high = interval(rate)
    chance = sum(w * r.mean * choice.factor for w, r in helped) / (sum(fault.weights) or 1.0)
    return rate, chance, (low * choice.factor, high * choice.factor)


def _words(fault: Fault, plan: Plan, stakes: Stakes, guide: Guide) -> Proposal:
    choice = fault.choices[plan.round[0]]
    rate, chance, (low, high) = chance_of_cure(fault, choice)
    return Proposal(
        f"{choice.suspect.name}: {choice.method.title}",
        f"cures {_count(rate, choice.factor)} ({100 * low:.0f}–{100 * high:.0f} %), {_effort(choice, guide)}",
        _then(fault, plan, guide),
        guide.caution(choice.method),
        choice.method.kind,
        choice.suspect.name,
        choice.method.minutes,
        choice.cost_minor,
        chance,
        (low, high),
        round(plan.value - stakes.stop),
        tuple(f"{fault.choices[i].suspect.name}: {fault.choices[i].method.title}" for i in plan.round[1:]),
    )


def _count(rate: Rate, factor: float) -> str:
    """ "3 of 4 like it", or for a further try on the same unit "about 30 % on a further try"."""
    if factor < 1:
        return f"about {rate.mean * factor:.0%} on a further try".replace("%", " %")
    return f"{rate.cured:.0f} of {rate.tried:.0f} like it"


def _effort(choice: Choice, guide: Guide, *, is_open: bool = False) -> str:
    opening = f" and {guide.open_minutes} to open" if choice.method.needs_open and not is_open else ""
    return f"{choice.method.minutes} min{opening}, {format_money(choice.cost_minor, guide.currency)}"


def _then(fault: Fault, plan: Plan, guide: Guide) -> str:
    if len(plan.round) > 1:
        is_open = any(fault.choices[i].method.needs_open for i in plan.round[:-1])
        lead = "before testing, while it is open" if is_open else "before testing"
        more = (fault.choices[i] for i in plan.round[1:])
        return f"{lead}: " + ", then ".join(f"{c.method.title}, {_effort(c, guide, is_open=is_open)}" for c in more)
    if plan.then is None:
        return "if it stays: stop, sell as is or keep for parts"
    following = fault.choices[plan.then]
    return f"if it stays: {following.method.title}, {_effort(following, guide)}"


def _test_first(last: Treatment) -> Proposal:
    what = f"{last.part}: {last.kind}" if last.part else last.kind
    return Proposal("Test it again", f"nothing was tested since the last treatment ({what})")


def _stop(plan: Plan, values: Values, guide: Guide) -> Proposal:
    as_is = values.as_is_minor >= values.parts_minor
    title = "Stop: sell as is, with its faults named" if as_is else "Stop: keep it as a donor of parts"
    stop = max(values.as_is_minor, values.parts_minor)
    money = format_money(stop, guide.currency)
    if plan.on is None:
        return Proposal(title, f"the guide knows no further treatment for this; stopping brings {money}")
    on = format_money(round(plan.on), guide.currency)
    return Proposal(
        title,
        f"going on is expected to bring {on} after its costs, stopping brings {money}",
        gain_minor=round(plan.on - stop),
    )
