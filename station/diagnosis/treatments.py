"""The next treatment for a unit, and why, in words and figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

from station.diagnosis.evidence import evidence_of
from station.diagnosis.guide import Guide, Method, Values
from station.diagnosis.plan import Option, Plan, Stakes, best_plan, shortlist, subset
from station.diagnosis.rates import Trial, interval, rate_of, target_of
from station.diagnosis.suspects import suspects
from station.diagnosis.types import Evidence, Proposal, Rate, Suspect
from station.records.money import format_money
from station.records.types import ShelfPart, UnitHistory
from station.sheets.model import Sheet

_GROUPS_PERMUTED = 3
_PER_GROUP = {1: 8, 2: 7}
_REPLACES = ("replace sensor", "replace module", "replace board", "replace cap or paddle", "swap with donor part")


@dataclass(frozen=True, slots=True)
class Choice:
    """A treatment of one suspect's part with what is known of it."""

    method: Method
    suspect: Suspect
    rates: tuple[Rate | None, ...]
    """for each suspect of the group; None where it cannot help"""
    factor: float
    """what earlier tries of the same on this unit leave of the rate"""
    cost_minor: int


@dataclass(frozen=True, slots=True)
class Group:
    """A fault: what one control shows, its suspects, and what can be done."""

    control: str
    suspects: tuple[Suspect, ...]
    choices: tuple[Choice, ...]
    options: tuple[Option, ...]


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
    evidence = evidence_of(history)
    if not evidence.seen:
        return None
    groups = _groups(history, evidence, sheet, guide, trials, shelf)
    stakes = _stakes(values or guide.values_for(history.unit.model), guide)
    group, plan = _first_group(groups, stakes)
    if plan.first is None:
        return _stop(plan, stakes, guide, values or guide.values_for(history.unit.model), groups)
    return _words(group, plan, stakes, guide)


def _stakes(values: Values, guide: Guide) -> Stakes:
    per_minute = guide.hour_minor / 60
    return Stakes(
        values.ready_minor,
        max(values.as_is_minor, values.parts_minor),
        values.parts_minor,
        guide.open_minutes * per_minute,
        guide.test_minutes * per_minute,
    )


def _groups(
    history: UnitHistory,
    evidence: Evidence,
    sheet: Sheet,
    guide: Guide,
    trials: Sequence[Trial],
    shelf: Sequence[ShelfPart],
) -> list[Group]:
    found = suspects(evidence, sheet, guide)
    groups = []
    for control in sorted({s.control for s in evidence.seen}):
        mine = tuple(s for s in found if s.control in (control, ""))
        codes = frozenset(s.code for s in evidence.seen if s.control == control)
        groups.append(_group(control, mine, codes, history, evidence, sheet, guide, trials, shelf))
    return groups


def _group(
    control: str,
    mine: tuple[Suspect, ...],
    codes: frozenset[str],
    history: UnitHistory,
    evidence: Evidence,
    sheet: Sheet,
    guide: Guide,
    trials: Sequence[Trial],
    shelf: Sequence[ShelfPart],
) -> Group:
    model = history.unit.model
    tried = [(t.kind, target_of(t, evidence, guide, sheet)) for t in history.treatments]
    choices = []
    for method in guide.treatments:
        rates = tuple(rate_of(method, s.role, model, codes, trials) if s.role in method.cures else None for s in mine)
        helped = [(s.weight * r.mean, s) for s, r in zip(mine, rates, strict=True) if r is not None]
        included = any(
            method.kind in m.includes
            for m in guide.treatments
            for kind, s in tried
            if m.kind == kind and _on(s, control)
        )
        if not helped or included:
            continue
        times = sum(1 for kind, s in tried if kind == method.kind and _on(s, control))
        _, part = max(helped, key=lambda h: h[0])
        choices.append(Choice(method, part, rates, method.again**times, _cost(method, part, model, shelf)))
    weights = _left(mine, choices, tried)
    ranked = tuple(Suspect(s.part_id, s.name, w, s.role, s.control, s.axis) for s, w in zip(mine, weights, strict=True))
    options = tuple(_option(c, choices, guide) for c in choices)
    return Group(control, ranked, tuple(choices), options)


def _on(target: Suspect | None, control: str) -> bool:
    return target is not None and target.control in (control, "")


def _left(
    mine: tuple[Suspect, ...], choices: Sequence[Choice], tried: Sequence[tuple[str, Suspect | None]]
) -> list[float]:
    """Weights after what was already tried on this control without a cure: each loses what that would have cured."""
    weights = [s.weight for s in mine]
    controls = {s.control for s in mine if s.control}
    for choice in choices:
        for kind, target in tried:
            if kind == choice.method.kind and target is not None and target.control in controls:
                weights = [
                    w * (1 - (r.mean if r is not None else 0.0)) for w, r in zip(weights, choice.rates, strict=True)
                ]
    return weights


def _cost(method: Method, part: Suspect, model: str, shelf: Sequence[ShelfPart]) -> int:
    """Materials; for a replacement what the shelf's part cost, if there is one."""
    if method.kind in _REPLACES:
        for kept in shelf:
            fits = kept.model in ("", model) and kept.name.casefold() in (part.name.casefold(), part.part_id)
            if kept.count > 0 and fits:
                return kept.cost_minor
    return method.cost_minor


def _option(choice: Choice, choices: Sequence[Choice], guide: Guide) -> Option:
    return Option(
        tuple(r.mean * choice.factor if r is not None else 0.0 for r in choice.rates),
        choice.method.minutes * guide.hour_minor / 60 + choice.cost_minor,
        choice.method.harm,
        choice.method.needs_open,
        pointless_after=tuple(i for i, c in enumerate(choices) if choice.method.kind in c.method.includes),
    )


def _first_group(groups: Sequence[Group], stakes: Stakes) -> tuple[Group, Plan]:
    """With several faults a unit is only good when all are gone: the order of faults of the greatest value.

    The reward for curing one is then what going on with the others is worth. Beyond three faults the order is that
    of the greatest doubt first, so that little is spent on a unit that cannot be saved.
    """
    limit = _PER_GROUP.get(len(groups), 5)
    alone = [_plan(g, stakes, limit) for g in groups]
    order = sorted(range(len(groups)), key=lambda i: alone[i].value)
    orders = permutations(order) if len(groups) <= _GROUPS_PERMUTED else [tuple(order)]
    best: tuple[float, int, Plan] | None = None
    for one in orders:
        reward, plan = stakes.cured, Plan(None, stakes.stop)
        for i in reversed(one):
            plan = _plan(groups[i], _with_reward(stakes, reward), limit)
            reward = plan.value
        if best is None or plan.value > best[0] + 1e-9:
            best = (plan.value, one[0], plan)
    assert best is not None
    return groups[best[1]], best[2]


def _with_reward(stakes: Stakes, cured: float) -> Stakes:
    return Stakes(cured, stakes.stop, stakes.ruined, stakes.open_cost, stakes.test_cost)


def _plan(group: Group, stakes: Stakes, limit: int) -> Plan:
    """The best plan in terms of the group's own options."""
    weights = [s.weight for s in group.suspects]
    if not group.suspects:
        return Plan(None, stakes.stop)
    kept = shortlist(weights, group.options, stakes.open_cost, limit)
    plan = best_plan(weights, subset(group.options, kept), stakes)
    back = [*kept]
    return Plan(
        None if plan.first is None else back[plan.first],
        plan.value,
        plan.tested,
        None if plan.then is None else back[plan.then],
    )


def cure(group: Group, choice: Choice) -> tuple[Rate, float, tuple[float, float]]:
    """(rate on the likeliest part it helps, chance to cure the fault, interval of that rate)."""
    helped = [(s.weight, r) for s, r in zip(group.suspects, choice.rates, strict=True) if r is not None]
    _, rate = max(helped, key=lambda h: h[0] * h[1].mean)
    low, high = interval(rate)
    total = sum(s.weight for s in group.suspects) or 1.0
    chance = sum(w * r.mean * choice.factor for w, r in helped) / total
    return rate, chance, (low * choice.factor, high * choice.factor)


def _words(group: Group, plan: Plan, stakes: Stakes, guide: Guide) -> Proposal:
    assert plan.first is not None
    choice = group.choices[plan.first]
    rate, chance, (low, high) = cure(group, choice)
    return Proposal(
        f"{choice.suspect.name}: {choice.method.title}",
        f"cures {_count(rate, choice.factor)} ({100 * low:.0f}–{100 * high:.0f} %), {_effort(choice, guide)}",
        _then(group, plan, guide),
        guide.caution(choice.method),
        choice.method.kind,
        choice.suspect.name,
        choice.method.minutes,
        choice.cost_minor,
        chance,
        (low, high),
        round(plan.value - stakes.stop),
    )


def _count(rate: Rate, factor: float) -> str:
    """ "3 of 4 like it", "12 of 15 like it", or for a further try "about 30 % on a further try"."""
    if factor < 1:
        return f"about {rate.mean * factor:.0%} on a further try"
    return f"{rate.cured:.0f} of {rate.tried:.0f} like it"


def _effort(choice: Choice, guide: Guide) -> str:
    opening = f" and {guide.open_minutes} to open" if choice.method.needs_open else ""
    return f"{choice.method.minutes} min{opening}, {format_money(choice.cost_minor, guide.currency)}"


def _then(group: Group, plan: Plan, guide: Guide) -> str:
    if plan.then is None:
        return "if it stays: stop, sell as is or keep for parts"
    following = group.choices[plan.then]
    if plan.tested:
        return f"if it stays: {following.method.title}, {_effort(following, guide)}"
    money = format_money(following.cost_minor, guide.currency)
    return f"before testing, while it is open: {following.method.title}, {following.method.minutes} min, {money}"


def _stop(plan: Plan, stakes: Stakes, guide: Guide, values: Values, groups: Sequence[Group]) -> Proposal:
    as_is = values.as_is_minor >= values.parts_minor
    title = "Stop: sell as is, with its faults named" if as_is else "Stop: keep it as a donor of parts"
    money = format_money(round(stakes.stop), guide.currency)
    forced = [_forced(g, stakes) for g in groups]
    best_on = min((v for v in forced if v is not None), default=None)
    if best_on is None:
        reason = f"the guide knows no treatment for this; stopping brings {money}"
    else:
        on = format_money(round(best_on), guide.currency)
        reason = f"going on is expected to bring {on} after its costs, stopping brings {money}"
    return Proposal(title, reason, gain_minor=round((best_on if best_on is not None else stakes.stop) - stakes.stop))


def _forced(group: Group, stakes: Stakes) -> float | None:
    """Value of going on all the same: the best single treatment, tested, then stop."""
    total = sum(s.weight for s in group.suspects) or 1.0
    values = []
    for option in group.options:
        p = sum(s.weight * q for s, q in zip(group.suspects, option.cures, strict=True)) / total
        cost = option.cost + stakes.test_cost + (stakes.open_cost if option.needs_open else 0.0)
        on = p * stakes.cured + (1 - p) * stakes.stop
        values.append(-cost + option.harm * stakes.ruined + (1 - option.harm) * on)
    return max(values, default=None)
