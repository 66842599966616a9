"""From the shop's histories to trials of treatments.

A treatment that did not help says little when it may have gone for the wrong part. So each repair is read as a whole:
which part was bad is weighed by Bayes' rule from the findings *and* from what helped and what did not, and every
treatment counts as a try on each part with the probability that this part was the bad one. As that needs the rates that
are to be learned, both are worked out in turns (expectation and maximisation; Dempster, Laird and Rubin 1977, from
memory) until they settle.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from station.checks.types import Outcome
from station.diagnosis.evidence import evidence_of, last_counts
from station.diagnosis.guide import Guide, Method
from station.diagnosis.rates import Trial
from station.diagnosis.returned import failed_cures
from station.diagnosis.suspects import suspects
from station.diagnosis.types import Evidence, Rate, Suspect
from station.judgement.tries import was_tested
from station.records.types import Treatment, UnitHistory
from station.sheets.model import Sheet

_TURNS = 12


@dataclass(frozen=True, slots=True)
class Tried:
    """One treatment of a repair with its outcome; `attempt` counts tries of the same kind from 1."""

    kind: str
    attempt: int
    cured: bool


@dataclass(frozen=True, slots=True)
class Repair:
    """What was tried on one fault of one unit, in order. `weights`: role → how likely it was by the findings alone;
    `checks`: those that found it."""

    model: str
    codes: frozenset[str]
    weights: Mapping[str, float]
    tried: tuple[Tried, ...]
    checks: frozenset[str] = frozenset()


def trials_from(
    histories: Iterable[UnitHistory], guide: Guide, sheet_of: Callable[[UnitHistory], Sheet]
) -> tuple[Trial, ...]:
    """All trials in these histories."""
    return learn([r for h in histories for r in repairs_in(h, guide, sheet_of(h))], guide)


def learn(repairs: Sequence[Repair], guide: Guide) -> tuple[Trial, ...]:
    """Trials with the probability that each was a try on the bad part."""
    methods = {(m.kind, role): m for m in guide.treatments for role in m.cures}
    means = {key: Rate(*m.cures[key[1]]).mean for key, m in methods.items()}
    shares = [_shares(r, means, methods) for r in repairs]
    for _ in range(_TURNS):
        cured: dict[tuple[str, str], float] = defaultdict(float)
        tried: dict[tuple[str, str], float] = defaultdict(float)
        for repair, share in zip(repairs, shares, strict=True):
            for t in repair.tried:
                for role, weight in share.items():
                    if (t.kind, role) in methods and t.attempt == 1:
                        tried[t.kind, role] += weight
                        cured[t.kind, role] += weight * t.cured
        for key, m in methods.items():
            start_cured, start_tried = m.cures[key[1]]
            means[key] = Rate(start_cured + cured[key], start_tried + tried[key]).mean
        shares = [_shares(r, means, methods) for r in repairs]
    return tuple(
        Trial(r.model, t.kind, role, r.codes, t.cured, t.attempt, weight)
        for r, share in zip(repairs, shares, strict=True)
        for t in r.tried
        for role, weight in share.items()
        if (t.kind, role) in methods and weight > 0.0
    )


def _shares(
    repair: Repair, means: Mapping[tuple[str, str], float], methods: Mapping[tuple[str, str], Method]
) -> dict[str, float]:
    """role → probability that it was the bad one, given the findings and what helped and what did not."""
    shares = {}
    for role, weight in repair.weights.items():
        for t in repair.tried:
            key = (t.kind, role)
            rate = means[key] * methods[key].again ** (t.attempt - 1) if key in methods else 0.0
            weight *= rate if t.cured else 1.0 - rate
        shares[role] = weight
    total = sum(shares.values())
    return {role: w / total for role, w in shares.items()} if total > 0 else {}


def repairs_in(history: UnitHistory, guide: Guide, sheet: Sheet) -> Iterator[Repair]:
    """One repair for each control that was treated and tested again.

    Left out: a treatment after which not every failed check was done again, and those of a round with one test for
    several of them on one control, since nobody knows which of them it was.
    """
    targets = (target_before(history, t, guide, sheet) for t in history.treatments)
    return _repairs(history, guide, sheet, [None if target is None else target.control for target in targets])


def all_repairs_in(history: UnitHistory, guide: Guide, sheet: Sheet) -> Iterator[Repair]:
    """The same with treatments of kinds of which the guide does not say what they cure, where one control alone had
    failed before. They teach the guide nothing; the shop may want to know all the same."""
    controls = [_control_gone_for(history, t, guide, sheet) for t in history.treatments]
    return _repairs(history, guide, sheet, controls)


def _control_gone_for(history: UnitHistory, treatment: Treatment, guide: Guide, sheet: Sheet) -> str | None:
    target = target_before(history, treatment, guide, sheet)
    if target is not None:
        return target.control
    kind = guide.now_called(treatment.kind)
    if any(m.kind == kind and m.cures for m in guide.treatments):
        return None
    failing = {s.control for s in evidence_of(_between(history, "", treatment.order)).seen}
    return failing.pop() if len(failing) == 1 else None


def _repairs(history: UnitHistory, guide: Guide, sheet: Sheet, controls: Sequence[str | None]) -> Iterator[Repair]:
    """`controls`: which one each treatment went for, None where nobody knows."""
    on_control: dict[str, list[tuple[Tried, Evidence]]] = defaultdict(list)
    failed = failed_cures(history)
    for i, (treatment, gone_for) in enumerate(zip(history.treatments, controls, strict=True)):
        if gone_for is None or _shares_its_test(history, controls, i):
            continue
        until = history.treatments[i + 1].order if i + 1 < len(history.treatments) else "~"
        before = evidence_of(_between(history, "", treatment.order))
        cured = _cured(before, _between(history, treatment.order, until), gone_for)
        if treatment.id in failed:
            cured = False  # it passed, was sold, and came back
        if cured is not None:
            earlier = sum(1 for k in range(i) if _same(history, controls, k, i))
            on_control[gone_for].append((Tried(guide.now_called(treatment.kind), 1 + earlier, cured), before))
    for control, steps in on_control.items():
        first = steps[0][1]
        weights: dict[str, float] = defaultdict(float)
        for s in suspects(first, sheet, guide):
            if s.control in (control, "") or not control:
                weights[s.role] += s.weight
        mine = [s for s in first.seen if s.control == control or not control]
        codes, checks = frozenset(s.code for s in mine), frozenset(s.check for s in mine)
        yield Repair(history.unit.model, codes, dict(weights), tuple(t for t, _ in steps), checks)


def _same(history: UnitHistory, controls: Sequence[str | None], k: int, i: int) -> bool:
    """Whether treatments k and i are of one kind on one control."""
    alike = history.treatments[k].kind == history.treatments[i].kind
    return alike and controls[k] is not None and controls[k] == controls[i]


def _shares_its_test(history: UnitHistory, controls: Sequence[str | None], i: int) -> bool:
    """Whether a neighbouring treatment of the same control had no test in between."""
    for k in (i - 1, i + 1):
        if 0 <= k < len(controls):
            one, other = controls[i], controls[k]
            start, end = sorted((history.treatments[i].order, history.treatments[k].order))
            if not was_tested(history.results, start, end) and (one is None or other is None or one == other):
                return True
    return False


def target_before(history: UnitHistory, treatment: Treatment, guide: Guide, sheet: Sheet) -> Suspect | None:
    """The suspect that a treatment went for, by what was known when it was done: the one it names, else the likeliest
    that such a treatment can cure."""
    kind = guide.now_called(treatment.kind)
    cures = {role for m in guide.treatments if m.kind == kind for role in m.cures}
    ranked = suspects(evidence_of(_between(history, "", treatment.order)), sheet, guide)
    wanted = treatment.part.casefold()
    named = [s for s in ranked if wanted and wanted in (s.name.casefold(), s.part_id.casefold())]
    return next(iter(named or [s for s in ranked if s.role in cures]), None)


def _between(history: UnitHistory, start: str, end: str) -> UnitHistory:
    return replace(history, results=tuple(r for r in history.results if start < r.order <= end))


def _cured(before: Evidence, after: UnitHistory, control: str) -> bool | None:
    """Whether all checks that found something on the control pass now; None if one was not done again."""
    wanted = {(s.check, s.control) for s in before.seen if not control or s.control == control}
    last = last_counts(after)
    outcomes = [last[k].assessment.outcome for k in wanted if k in last]
    if Outcome.FAIL in outcomes:
        return False
    if len(outcomes) < len(wanted) or not wanted:
        return None
    return all(o is Outcome.PASS for o in outcomes)
