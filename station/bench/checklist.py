"""The steps of a visit with all tries at them: which one counts, and what comes next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from station.bench.strengths import at_strength, place_of, with_strengths
from station.bench.types import Step, StepView
from station.checks.strengths import contrast
from station.checks.types import Assessment, Outcome
from station.judgement.tries import counts, last_that_counts, shown, unmeasured
from station.records.types import Result
from station.words.grammar import spoken_name


def views_of(steps: Iterable[Step], earlier: Iterable[Result] = ()) -> tuple[StepView, ...]:
    """The steps of a visit that is not under way, with what was done of them `earlier`."""
    listed = Checklist(tuple(steps), earlier)
    return tuple(listed.view(k, running=False) for k in range(len(listed.steps)))


class Checklist:
    """Every try is kept; the last one that counts is the step's outcome. Presses of other strengths can come in."""

    def __init__(self, steps: tuple[Step, ...], earlier: Iterable[Result] = ()) -> None:
        earlier = tuple(earlier)
        self.steps = with_strengths(steps, earlier)
        self._tries: list[list[Result]] = []
        self.read(earlier)

    def read(self, results: Iterable[Result]) -> None:
        """Take these for all tries that there were; those at no step of the list are passed over."""
        self._tries = [[] for _ in self.steps]
        place = {(step.check, step.control): i for i, step in enumerate(self.steps)}
        for result in results:
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
        return last_that_counts(self._tries[index])

    def tries(self, step: Step) -> tuple[Result, ...]:
        """All tries at a step, oldest first."""
        keys = [(s.check, s.control) for s in self.steps]
        key = step.check, step.control
        return tuple(self._tries[keys.index(key)]) if key in keys else ()

    def next_after(self, index: int) -> int | None:
        """The next step that still waits, by their turns and round the end; None when everything is done.

        What was only offered is not waited for.
        """
        order = sorted(range(len(self.steps)), key=lambda i: self.steps[i].turn)
        here = order.index(index) + 1 if index >= 0 else 0
        order = [*order[here:], *order[:here]]
        order.sort(key=lambda i: self.steps[i].watches)  # judged from all the others: it comes last
        return next((i for i in order if self.counted(i) is None and not self.steps[i].offered), None)

    # --- presses of other strengths -------------------------------------------------------------------

    @property
    def all_passed(self) -> bool:
        """Whether all that was asked has passed, and nothing that was let in besides came out otherwise. What a person
        called good without a figure is nothing to look at again."""
        counted = [(step, self.counted(i)) for i, step in enumerate(self.steps)]
        asked = [one for step, one in counted if one or not step.offered]
        return all(
            one is not None and (one.assessment.outcome is Outcome.PASS or unmeasured(one.assessment)) for one in asked
        )

    def put(self, step: Step) -> int:
        """Let a press into the list, in its place; one that is there already takes the new mass. Returns its index."""
        keys = [(s.check, s.control) for s in self.steps]
        if (step.check, step.control) in keys:
            index = keys.index((step.check, step.control))
            step = replace(self.steps[index], mass_g=step.mass_g)
            self.steps = (*self.steps[:index], step, *self.steps[index + 1 :])
            return index
        index = place_of(self.steps, step)
        self.steps = (*self.steps[:index], step, *self.steps[index:])
        self._tries.insert(index, [])
        return index

    def offer_after(self, index: int) -> int | None:
        """The firm press that a failed light press calls for, if it was not offered before: its index."""
        step, counted = self.steps[index], self.counted(index)
        failed = counted is not None and not counted.by_hand and counted.assessment.outcome is Outcome.FAIL
        if step.strength != "light" or not failed:
            return None
        firm = at_strength(step, "firm", offered=True)
        if any((s.check, s.control) == (firm.check, firm.control) for s in self.steps):
            return None
        return self.put(firm)

    def contrasted(self, index: int, assessment: Assessment) -> Assessment:
        """The assessment of a press with what it and the control's presses of other strengths say together."""
        step = self.steps[index]
        if step.strength is None:
            return assessment
        done = {
            s.check: counted.assessment
            for i, s in enumerate(self.steps)
            if s.control == step.control and s.strength and (counted := self.counted(i)) is not None
        }
        finding = contrast(spoken_name(step.control_name), step.check, {**done, step.check: assessment})
        return assessment if finding is None else replace(assessment, findings=(*assessment.findings, finding))

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
        by = shown(tries, counts) if tries else None
        return StepView(
            self.steps[index],
            "running" if running else "done" if counted else "waiting",
            by.assessment.outcome if by else Outcome.NOT_DONE,
            len(tries),
            counted.assessment if counted else None,
            by.by_hand if by else False,
            by.reason if by else "",
        )
