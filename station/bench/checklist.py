"""The steps of a visit with all tries at them: which one counts, and what comes next."""

from __future__ import annotations

from collections.abc import Iterable

from station.bench.types import Step, StepView
from station.checks.types import Assessment, Outcome
from station.records.types import Result

_COUNT = (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL)


def counts(result: Result) -> bool:
    """A try counts if it led to a verdict, or if the person set its outcome by hand."""
    return result.by_hand or result.assessment.outcome in _COUNT


class Checklist:
    """Every try is kept; the last one that counts is the step's outcome."""

    def __init__(self, steps: tuple[Step, ...], earlier: Iterable[Result] = ()) -> None:
        self.steps = steps
        self._tries: list[list[Result]] = [[] for _ in steps]
        place = {(step.check, step.control): i for i, step in enumerate(steps)}
        for result in earlier:
            if (result.check, result.control) in place:
                self.add(place[result.check, result.control], result)

    def add(self, index: int, result: Result) -> None:
        """One more try at a step."""
        self._tries[index].append(result)

    def attempts(self, index: int) -> int:
        """How many tries there were."""
        return len(self._tries[index])

    def counted(self, index: int) -> Result | None:
        """The try that counts, None while there is none."""
        return next((r for r in reversed(self._tries[index]) if counts(r)), None)

    def next_after(self, index: int) -> int | None:
        """The next step that still waits, round the end of the list; None when everything is done."""
        order = [*range(index + 1, len(self.steps)), *range(index + 1)]
        return next((i for i in order if self.counted(i) is None), None)

    def result(
        self,
        index: int,
        visit_id: str,
        at: str,
        assessment: Assessment,
        *,
        by_hand: bool,
        reason: str,
        clock: str,
        stamp_error_p99_us: float | None,
        lost: int,
    ) -> Result:
        """The row for the next try at a step. One set by hand names the try that it corrects."""
        step, counted = self.steps[index], self.counted(index)
        return Result(
            id="",
            visit_id=visit_id,
            check=step.check,
            control=step.control,
            attempt=self.attempts(index) + 1,
            at=at,
            assessment=assessment,
            by_hand=by_hand,
            reason=reason,
            replaces=counted.id if by_hand and counted else None,
            clock=clock,
            stamp_error_p99_us=stamp_error_p99_us,
            lost=lost,
        )

    def view(self, index: int, running: bool) -> StepView:
        """A step as it stands."""
        tries, counted = self._tries[index], self.counted(index)
        shown = counted or (tries[-1] if tries else None)
        return StepView(
            self.steps[index],
            "running" if running else "done" if counted else "waiting",
            shown.assessment.outcome if shown else Outcome.NOT_DONE,
            len(tries),
            counted.assessment if counted else None,
            shown.by_hand if shown else False,
            shown.reason if shown else "",
        )
