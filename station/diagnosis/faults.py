"""The faults of a unit, each with its suspects and what can be done about it in figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from station.diagnosis.evidence import evidence_of
from station.diagnosis.guide import Guide, Method
from station.diagnosis.learn import target_before
from station.diagnosis.plan import Option
from station.diagnosis.rates import Trial, rate_of
from station.diagnosis.suspects import suspects
from station.diagnosis.types import Evidence, Rate, Suspect
from station.records.types import ShelfPart, UnitHistory
from station.sheets.model import Sheet

SWAP = "swap with donor part"


def needs_part(kind: str) -> bool:
    """Whether a kind of treatment needs a part; a shop's own does if it is called so: "replace …"."""
    return kind == SWAP or kind.startswith("replace ")


@dataclass(frozen=True, slots=True)
class Choice:
    """A treatment of one suspect's part with what is known of it."""

    method: Method
    suspect: Suspect
    rates: tuple[Rate | None, ...]
    """for each suspect of the fault; None where it cannot help"""
    factor: float
    """what earlier tries of the same on this unit leave of the rate"""
    cost_minor: int


@dataclass(frozen=True, slots=True)
class Fault:
    """What one control shows, its suspects, and what can be done (`options[i]` is `choices[i]` in figures)."""

    control: str
    suspects: tuple[Suspect, ...]
    choices: tuple[Choice, ...]
    options: tuple[Option, ...]

    @property
    def weights(self) -> tuple[float, ...]:
        return tuple(s.weight for s in self.suspects)


@dataclass(frozen=True, slots=True)
class Case:
    """All that is known of a unit. `trials`: what the shop tried before; `shelf`: parts at hand."""

    history: UnitHistory
    evidence: Evidence
    sheet: Sheet
    guide: Guide
    trials: Sequence[Trial] = ()
    shelf: Sequence[ShelfPart] = ()


def case_of(
    history: UnitHistory, sheet: Sheet, guide: Guide, trials: Sequence[Trial], shelf: Sequence[ShelfPart]
) -> Case:
    return Case(history, evidence_of(history), sheet, guide, trials, shelf)


def faults_of(case: Case) -> list[Fault]:
    """One fault for each control that shows something."""
    found = suspects(case.evidence, case.sheet, case.guide)
    tried = [
        (case.guide.now_called(t.kind), target)
        for t in case.history.treatments
        if (target := target_before(case.history, t, case.guide, case.sheet)) is not None
        and any(r.order > t.order and target.control in ("", r.control) for r in case.history.results)
    ]
    return [_fault(case, control, found, tried) for control in sorted({s.control for s in case.evidence.seen})]


_Tried = Sequence[tuple[str, Suspect]]
"""(kind, target) of what was done and tested since, in vain as the evidence says"""


def _fault(case: Case, control: str, found: Sequence[Suspect], tried: _Tried) -> Fault:
    mine = tuple(s for s in found if s.control in (control, ""))
    codes = frozenset(s.code for s in case.evidence.seen if s.control == control)
    done = [kind for kind, s in tried if s.control in (control, "")]
    included = {kind for m in case.guide.treatments if m.kind in done for kind in m.includes}
    choices = [
        choice
        for method in case.guide.treatments
        if method.kind not in included
        for choice in _choice(case, method, mine, codes, done.count(method.kind))
    ]
    return Fault(
        control,
        _after(mine, choices, done),
        tuple(choices),
        tuple(_option(c, choices, case.guide) for c in choices),
    )


def _choice(
    case: Case, method: Method, mine: Sequence[Suspect], codes: frozenset[str], times: int
) -> tuple[Choice] | tuple[()]:
    """The treatment of the part where it helps most; nothing when it can help none."""
    model = case.history.unit.model
    rates = tuple(rate_of(method, s.role, model, codes, case.trials) if s.role in method.cures else None for s in mine)
    helped = [(s.weight * r.mean, s) for s, r in zip(mine, rates, strict=True) if r is not None]
    if not helped:
        return ()
    part = max(helped, key=lambda h: h[0])[1]
    return (Choice(method, part, rates, method.again**times, _cost(method, part, model, case.shelf)),)


def _after(mine: Sequence[Suspect], choices: Sequence[Choice], done: Sequence[str]) -> tuple[Suspect, ...]:
    """Suspects after what was tried without a cure: each loses the share that it would have cured."""
    weights = [s.weight for s in mine]
    for choice in choices:
        for attempt in range(done.count(choice.method.kind)):
            worth = choice.method.again**attempt
            weights = [
                w * (1 - worth * (r.mean if r is not None else 0.0)) for w, r in zip(weights, choice.rates, strict=True)
            ]
    return tuple(replace(s, weight=w) for s, w in zip(mine, weights, strict=True))


def _cost(method: Method, part: Suspect, model: str, shelf: Sequence[ShelfPart]) -> int:
    """Materials; for a replacement what the shelf's part cost, if there is one."""
    if needs_part(method.kind):
        for kept in shelf:
            if kept.count > 0 and fits(kept, model, part.name, part.part_id):
                return kept.cost_minor
    return method.cost_minor


def fits(kept: ShelfPart, model: str, name: str, part_id: str = "") -> bool:
    """Whether a part on the shelf is the one of that name (or id) for this model; one without a model fits any."""
    return kept.model in ("", model) and kept.name.casefold() in {name.casefold(), part_id.casefold()} - {""}


def _option(choice: Choice, choices: Sequence[Choice], guide: Guide) -> Option:
    return Option(
        tuple(r.mean * choice.factor if r is not None else 0.0 for r in choice.rates),
        choice.method.minutes * guide.hour_minor / 60 + choice.cost_minor,
        choice.method.harm,
        choice.method.needs_open,
        pointless_after=tuple(i for i, c in enumerate(choices) if choice.method.kind in c.method.includes),
    )
