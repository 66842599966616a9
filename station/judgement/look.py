"""What a look over the unit says before it is plugged in: whether it may be, and whether anybody looked yet."""

from __future__ import annotations

from station.checks.ask import LOOK, STOP
from station.judgement.tries import gave_verdict, verdicts
from station.records.types import UnitHistory


def stopped_by(history: UnitHistory) -> str:
    """What the last look saw that keeps the unit from being plugged in, one of `ask.SIGNS`; empty: nothing of it.

    A look that is skipped afterwards saw nothing else: only another answer lifts a stop, or its withdrawal.
    """
    answered = [r for r in history.results if r.check == LOOK.name and gave_verdict(r)]
    result = answered[-1] if answered else None
    found = result.assessment.findings if result is not None else ()
    return next((str((f.params or {}).get("sign", "")) for f in found if f.code == STOP), "")


def to_look_over(history: UnitHistory) -> bool:
    """Whether it is to be looked over before it is plugged in: in each visit once, and again after a treatment."""
    result = verdicts(history.results).get((LOOK.name, ""))
    if result is None:
        return True
    over = {v.id for v in history.visits if v.finished_at}
    began = next((v.order for v in history.visits if v.id == result.visit_id), "")
    since = result.visit_id in over or any(v.id in over and v.order > began for v in history.visits)
    return since or any(t.order >= result.order for t in history.treatments) or bool(stopped_by(history))
