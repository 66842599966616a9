"""How much of a visit is done: one count for the card, the list, the plan and the question before it ends."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from station.bench.types import StepView
from station.checks.types import Outcome


@dataclass(frozen=True, slots=True)
class StepCounts:
    """How many steps have which verdict, were left out by a person, and are still to be done. What was only offered
    counts once it was done."""

    passed: int = 0
    borderline: int = 0
    failed: int = 0
    skipped: int = 0
    left: int = 0

    @property
    def done(self) -> int:
        """With a verdict, as `judgement.totals.Totals.done` counts."""
        return self.passed + self.borderline + self.failed

    @property
    def asked(self) -> int:
        return self.done + self.skipped + self.left


def counts_of(steps: Iterable[StepView]) -> StepCounts:
    """The counts over these steps of a visit."""
    found = {Outcome.PASS: 0, Outcome.BORDERLINE: 0, Outcome.FAIL: 0}
    skipped = left = 0
    for view in steps:
        if view.state != "done":
            left += not view.step.offered
        elif view.outcome in found:
            found[view.outcome] += 1
        else:
            skipped += 1
    return StepCounts(found[Outcome.PASS], found[Outcome.BORDERLINE], found[Outcome.FAIL], skipped, left)


def was_skipped(view: StepView) -> bool:
    """A person left it out, which is something else than not having come to it yet."""
    return view.state == "done" and view.outcome is Outcome.NOT_DONE
