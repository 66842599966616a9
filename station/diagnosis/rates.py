"""How often treatments cure, learned from the shop's own records: Beta–binomial with a Jeffreys start.

The posterior of a rate after k cures in n tries from Beta(½, ½) is Beta(½ + k, ½ + n − k). The guide's counts are the
first tries; the shop's tries on the same model with a finding in common count in full; its tries of the same treatment
on the same sort of part elsewhere count for at most `FAR_WORTH` tries together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from scipy.special import betaincinv

from station.checks.types import Outcome
from station.diagnosis.evidence import evidence_of
from station.diagnosis.guide import Guide, Method
from station.diagnosis.suspects import suspects
from station.diagnosis.types import Evidence, Rate, Suspect
from station.records.types import Result, Treatment, UnitHistory
from station.sheets.model import Sheet

FAR_WORTH = 6.0


@dataclass(frozen=True, slots=True)
class Trial:
    """A treatment that was tried and tested again."""

    model: str
    kind: str
    role: str
    codes: frozenset[str]
    cured: bool
    attempt: int = 1


def interval(rate: Rate, coverage: float = 0.95) -> tuple[float, float]:
    """Central credible interval of the rate: quantiles of Beta(a, b)."""
    tail = (1 - coverage) / 2
    return float(betaincinv(rate.a, rate.b, tail)), float(betaincinv(rate.a, rate.b, 1 - tail))


def rate_of(method: Method, role: str, model: str, codes: frozenset[str], trials: Sequence[Trial]) -> Rate:
    """The rate of first tries of this treatment on this sort of part."""
    cured, tried = method.cures[role]
    like = [t for t in trials if t.kind == method.kind and t.role == role and t.attempt == 1]
    near = [t for t in like if t.model == model and t.codes & codes]
    far_tried = len(like) - len(near)
    worth = min(FAR_WORTH, far_tried) / far_tried if far_tried else 0.0
    far_cured = sum(t.cured for t in like) - sum(t.cured for t in near)
    return Rate(
        cured + sum(t.cured for t in near) + worth * far_cured,
        tried + len(near) + worth * far_tried,
        len(like),
    )


def trials_from(
    histories: Iterable[UnitHistory], guide: Guide, sheet_of: Callable[[UnitHistory], Sheet]
) -> tuple[Trial, ...]:
    """Every treatment in these histories whose failed checks were done again before the next treatment."""
    return tuple(t for h in histories for t in _trials_of(h, guide, sheet_of(h)))


def _trials_of(history: UnitHistory, guide: Guide, sheet: Sheet) -> Iterable[Trial]:
    done: list[tuple[str, str, str]] = []
    for i, treatment in enumerate(history.treatments):
        until = history.treatments[i + 1].at if i + 1 < len(history.treatments) else "9"
        before = evidence_of(_between(history, "", treatment.at))
        after = _between(history, treatment.at, until)
        target = target_of(treatment, before, guide, sheet)
        if target is None:
            continue
        key = (treatment.kind, target.role, target.control)
        cured = _cured(before, after, target.control)
        if cured is not None:
            codes = frozenset(s.code for s in before.seen if s.control == target.control)
            yield Trial(history.unit.model, treatment.kind, target.role, codes, cured, 1 + done.count(key))
        done.append(key)


def target_of(treatment: Treatment, before: Evidence, guide: Guide, sheet: Sheet) -> Suspect | None:
    """The suspect that a treatment went for: the one it names, else the likeliest that such a treatment can cure."""
    cures = {role for m in guide.treatments if m.kind == treatment.kind for role in m.cures}
    ranked = suspects(before, sheet, guide)
    wanted = treatment.part.casefold()
    named = [s for s in ranked if wanted and wanted in (s.name.casefold(), s.part_id.casefold())]
    return next(iter(named or [s for s in ranked if s.role in cures]), None)


def target_before(history: UnitHistory, treatment: Treatment, guide: Guide, sheet: Sheet) -> Suspect | None:
    """The suspect that a treatment went for, by what was known when it was done."""
    return target_of(treatment, evidence_of(_between(history, "", treatment.at)), guide, sheet)


def _between(history: UnitHistory, start: str, end: str) -> UnitHistory:
    return replace(history, results=tuple(r for r in history.results if start < r.at <= end))


def _cured(before: Evidence, after: UnitHistory, control: str) -> bool | None:
    """Whether all checks that found something on the control pass now; None if one was not done again."""
    wanted = {(s.check, s.control) for s in before.seen if not control or s.control == control}
    last: dict[tuple[str, str], Result] = {(r.check, r.control): r for r in after.results if not r.assessment.again}
    outcomes = [last[k].assessment.outcome for k in wanted if k in last]
    if Outcome.FAIL in outcomes:
        return False
    if len(outcomes) < len(wanted) or not wanted:
        return None
    return all(o is Outcome.PASS for o in outcomes)
