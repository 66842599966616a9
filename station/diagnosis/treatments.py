"""The next treatment for a unit, and why, in words and figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import permutations

from station.checks.said import title_on
from station.diagnosis.evidence import borderline_without_finding, failed_checks
from station.diagnosis.faults import Choice, Fault, case_of, faults_of
from station.diagnosis.guide import Guide, Values
from station.diagnosis.plan import Plan, Stakes, best_plan, shortlist, subset
from station.diagnosis.rates import Trial, interval
from station.diagnosis.types import Proposal, Rate
from station.judgement.look import stopped_by
from station.judgement.treated import untested
from station.judgement.tries import Key
from station.records.types import ShelfPart, Treatment, UnitHistory
from station.sheets.model import Sheet
from station.words import checks, common, figures
from station.words import diagnosis as words

NAMED = 3
"""so many checks are named in a reason, the others counted"""
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
    """The treatment of the greatest expected value, or to stop; None when nothing was found. What the look over the
    unit stopped is not treated: whatever it would bring, it is not opened.

    `trials`: what the shop has tried before (rates.trials_from). `values`: what such a unit brings; the guide's
    if None.
    """
    if sign := stopped_by(history):
        seen = checks.LOOK_SIGNS.get(sign, sign)
        reason = words.STOPPED_BY.format(sign=seen)
        return Proposal(words.STOP_SET_ASIDE, reason, hazards=guide.hazards_of("look"))
    if (last := untested(history, sheet)) is not None:
        return _test_first(last)
    case = case_of(history, sheet, guide, trials, shelf)
    if not case.evidence.seen:
        return None
    worth = values or guide.values_for(history.unit.model)
    stakes = stakes_of(worth, guide)
    fault, plan = first_fault(faults_of(case), stakes)
    found = _treatment(fault, plan, stakes, guide) if plan.round else _stop(plan, worth, guide)
    return replace(found, reason=_with_what_it_is_for(history, fault.control, found, sheet))


def _with_what_it_is_for(history: UnitHistory, control: str, found: Proposal, sheet: Sheet) -> str:
    """The reason, with the checks that it rests on where the findings do not name them: what failed leads, and only
    where nothing did is a borderline result told. To stop is about the whole unit, a treatment about one control."""
    stops = not found.kind
    failed = [key for key in failed_checks(history) if stops or key[1] == control]
    if failed:
        return words.FAILED_SO.format(checks=_some_of(failed, sheet), reason=found.reason) if stops else found.reason
    doubtful = [key for key in borderline_without_finding(history) if key[1] == control]
    if not doubtful:
        return found.reason
    return words.BORDERLINE_SO.format(checks=_some_of(doubtful, sheet), reason=found.reason)


def _some_of(keys: Sequence[Key], sheet: Sheet) -> str:
    """The first few checks by name, the others counted."""
    more = len(keys) - NAMED
    named = [title_on(*key, sheet) for key in keys[: NAMED if more > 0 else None]]
    return words.NEXT_CHECK.join(named) + (words.MORE_CHECKS.format(count=more) if more > 0 else "")


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
    """Which fault to begin with, and how."""
    return best_order(faults, stakes)[0]


def best_order(faults: Sequence[Fault], stakes: Stakes) -> tuple[tuple[Fault, Plan], ...]:
    """The faults in the best order, each with its plan. With several, the unit is only good when all are gone.

    The reward for curing one is what going on with the others is then worth; the order of the greatest value is taken.
    Beyond three faults the most doubtful goes first, so that little is spent on a unit that cannot be saved.
    """
    limit = _OPTIONS.get(len(faults), 5)
    doubtful = tuple(sorted(range(len(faults)), key=lambda i: _plan(faults[i], stakes, limit).value))
    orders = permutations(doubtful) if len(faults) <= _PERMUTED else (doubtful,)
    candidates = []
    for order in orders:
        reward, plans = stakes.cured, []
        for i in reversed(order):
            plan = _plan(faults[i], replace(stakes, cured=reward), limit)
            plans.append((faults[i], plan))
            reward = plan.value
        candidates.append(tuple(reversed(plans)))
    return max(candidates, key=lambda plans: (round(plans[0][1].value, 6), plans[0][1].on or 0.0))


_best_plan = lru_cache(maxsize=1024)(best_plan)
"""units of a lot that show the same have the same plan, and the orders of a unit's faults share theirs"""


def _plan(fault: Fault, stakes: Stakes, limit: int) -> Plan:
    """The best plan for one fault, in terms of its own options."""
    kept = shortlist(fault.weights, fault.options, stakes.open_cost, limit)
    plan = _best_plan(fault.weights, subset(fault.options, kept), stakes)
    then = None if plan.then is None else kept[plan.then]
    course = replace(plan.course, does=tuple((kept[i], chance) for i, chance in plan.course.does))
    return replace(plan, round=tuple(kept[i] for i in plan.round), then=then, course=course)


def chance_of_cure(fault: Fault, choice: Choice) -> tuple[Rate, float, tuple[float, float]]:
    """(rate on the part it is for, chance to cure the fault, 95 % interval of that rate)."""
    helped = [(s.weight, r) for s, r in zip(fault.suspects, choice.rates, strict=True) if r is not None]
    rate = max(helped, key=lambda h: h[0] * h[1].mean)[1]
    low, high = interval(rate)
    chance = sum(w * r.mean * choice.factor for w, r in helped) / (sum(fault.weights) or 1.0)
    return rate, chance, (low * choice.factor, high * choice.factor)


def _treatment(fault: Fault, plan: Plan, stakes: Stakes, guide: Guide) -> Proposal:
    choice = fault.choices[plan.round[0]]
    rate, chance, (low, high) = chance_of_cure(fault, choice)
    return Proposal(
        _title(choice),
        _cures(choice, rate, low, high, guide),
        _then(fault, plan, guide),
        guide.hazards_of(choice.method.kind),
        choice.method.kind,
        choice.suspect.name,
        choice.method.minutes,
        choice.cost_minor,
        chance,
        (low, high),
        round(plan.value - stakes.stop),
        tuple(_title(fault.choices[i]) for i in plan.round[1:]),
    )


def _title(choice: Choice) -> str:
    return words.TREATMENT_OF_PART.format(part=choice.suspect.name, treatment=choice.method.title)


def _cures(choice: Choice, rate: Rate, low: float, high: float, guide: Guide) -> str:
    """How often it cures, or for a further try on the same unit the chance that is left, and what it takes."""
    bounds, effort = (_percent(low), _percent(high)), _effort(choice, guide)
    if choice.factor < 1:
        return words.CURES_ON_A_FURTHER_TRY.format(
            chance=_percent(rate.mean * choice.factor), low=bounds[0], high=bounds[1], effort=effort
        )
    cured, tried = (figures.number(n, 0) for n in (rate.cured, rate.tried))
    return words.CURES.format(cured=cured, tried=tried, low=bounds[0], high=bounds[1], effort=effort)


def _percent(share: float) -> str:
    return figures.number(100 * share, 0)


def _effort(choice: Choice, guide: Guide, *, is_open: bool = False) -> str:
    """The minutes it takes, and what its parts cost; work without parts costs no money that anybody hands over."""
    effort = words.EFFORT.format(minutes=choice.method.minutes)
    if choice.method.needs_open and not is_open:
        effort = words.EFFORT_WITH_OPENING.format(minutes=choice.method.minutes, opening=guide.open_minutes)
    if not choice.cost_minor:
        return effort
    return words.EFFORT_AND_PARTS.format(effort=effort, cost=figures.money(choice.cost_minor, guide.currency))


def _with_effort(choice: Choice, guide: Guide, *, is_open: bool = False) -> str:
    effort = _effort(choice, guide, is_open=is_open)
    return words.WITH_EFFORT.format(treatment=choice.method.title, effort=effort)


def _then(fault: Fault, plan: Plan, guide: Guide) -> str:
    if len(plan.round) > 1:
        is_open = any(fault.choices[i].method.needs_open for i in plan.round[:-1])
        more = words.THEN.join(_with_effort(fault.choices[i], guide, is_open=is_open) for i in plan.round[1:])
        if is_open:
            return words.BEFORE_TESTING_WHILE_OPEN.format(treatments=more)
        return words.BEFORE_TESTING.format(treatments=more)
    if plan.then is None:
        return words.IF_IT_STAYS_STOP
    return words.IF_IT_STAYS.format(treatment=_with_effort(fault.choices[plan.then], guide))


def _test_first(last: Treatment) -> Proposal:
    done = common.TREATMENT_KINDS.get(last.kind, last.kind)
    if last.part:
        done = words.TREATMENT_OF_PART.format(part=last.part, treatment=done)
    return Proposal(common.TEST_AGAIN, words.NOT_TESTED_SINCE.format(treatment=done))


def _stop(plan: Plan, values: Values, guide: Guide) -> Proposal:
    as_is = values.as_is_minor >= values.parts_minor
    title = words.STOP_SELL if as_is else words.STOP_DONOR
    stop = max(values.as_is_minor, values.parts_minor)
    brings = figures.money(stop, guide.currency)
    if plan.on is None:
        return Proposal(title, words.NO_FURTHER_TREATMENT.format(stop=brings))
    on = figures.money(round(plan.on), guide.currency)
    return Proposal(title, words.NOT_WORTH_WHILE.format(on=on, stop=brings), gain_minor=round(plan.on - stop))
