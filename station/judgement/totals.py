"""What a visit comes to, and what a unit comes to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from station.checks.decide import worst
from station.checks.types import Outcome
from station.judgement.tries import by_key, last_that_counts, tests, up_to_date
from station.records.types import Result


@dataclass(frozen=True, slots=True)
class Totals:
    """How many checks passed, were borderline, failed, and were tried or skipped without a verdict."""

    passed: int = 0
    borderline: int = 0
    failed: int = 0
    not_done: int = 0

    @property
    def done(self) -> int:
        """How many checks have a verdict: what “done” means wherever a person reads it."""
        return self.passed + self.borderline + self.failed

    @property
    def outcome(self) -> Outcome:
        """The worst verdict; not done if there is none."""
        verdicts = {Outcome.FAIL: self.failed, Outcome.BORDERLINE: self.borderline, Outcome.PASS: self.passed}
        return worst(outcome for outcome, number in verdicts.items() if number)


def totals(results: Iterable[Result]) -> Totals:
    """The counts over the checks in these results, oldest first: each by its try that counts."""
    found: Counter[Outcome] = Counter()
    for tries in by_key(results).values():
        last = last_that_counts(tries)
        found[last.assessment.outcome if last else Outcome.NOT_DONE] += 1
    verdicts = found[Outcome.PASS], found[Outcome.BORDERLINE], found[Outcome.FAIL]
    return Totals(*verdicts, found.total() - sum(verdicts))


def visit_totals(results: Iterable[Result], visit_id: str) -> Totals:
    """What one visit comes to, out of a unit's results; what it only looked at is among it."""
    return totals(r for r in results if r.visit_id == visit_id)


def unit_totals(results: Iterable[Result]) -> Totals:
    """What a unit comes to over all its visits, whatever was done to it since."""
    return totals(up_to_date(tests(results)))
