"""The checklist as rows: grouped by zone, steps of one control that stand alike on one row. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from station.bench.counted import counts_of, was_skipped
from station.bench.types import StepView
from station.checks.decide import deciding, excess, reading_outcome
from station.checks.registry import describe
from station.checks.said import bare_value
from station.checks.strengths import faulty_presses
from station.checks.types import Outcome, Reading
from station.judgement.tries import unmeasured
from station.sheets.model import ZONES
from station.ui.painting.shapes import RUNNING, SKIPPED, Shape
from station.words import checklist as words
from station.words import common, grammar

_WORST_FIRST = (Outcome.FAIL, Outcome.BORDERLINE, Outcome.NOT_DONE, Outcome.PASS)


@dataclass(frozen=True, slots=True)
class Heading:
    """A zone, with how many of its checks are done, and how many were skipped."""

    text: str
    done: int
    total: int
    skipped: int = 0


@dataclass(frozen=True, slots=True)
class Row:
    """One line: the steps it stands for, their common shape, and what is said."""

    steps: tuple[int, ...]
    shape: Shape
    name: str
    said: str
    current: bool = False


def group_order(groups: Sequence[str]) -> list[str]:
    """Zones in the order of the hand, then whatever else there is, the whole unit last."""
    known = [z for z in ZONES if z in groups]
    others = [g for g in dict.fromkeys(groups) if g not in ZONES and g != common.WHOLE_UNIT]
    return known + others + ([common.WHOLE_UNIT] if common.WHOLE_UNIT in groups else [])


def rows_of(steps: Sequence[StepView], current: int, running: bool) -> list[Heading | Row]:
    """All lines of the checklist. Each bears the name of its control, so that it is understood by itself."""
    lines: list[Heading | Row] = []
    for group in group_order([v.step.group for v in steps]):
        members = [k for k, v in enumerate(steps) if v.step.group == group]
        counts = counts_of(steps[k] for k in members)
        lines.append(Heading(common.ZONES.get(group, group), counts.done, counts.asked, counts.skipped))
        lines += _group_rows(steps, members, current, running)
    return lines


def _group_rows(steps: Sequence[StepView], members: list[int], current: int, running: bool) -> list[Row]:
    rows: list[Row] = []
    for k in members:
        view = steps[k]
        alone = k == current or bool(detail_of(view))
        last = rows[-1] if rows else None
        if (
            last is not None
            and not alone
            and not last.current
            and not detail_of(steps[last.steps[-1]])
            and steps[last.steps[-1]].step.control == view.step.control
            and last.shape == shape_of(view)
        ):
            together = (*last.steps, k)
            said = grammar.COMMA.join(describe(steps[m].step.check).short or _title(steps[m]) for m in together)
            rows[-1] = Row(together, last.shape, last.name, said)
            continue
        name = view.step.control_name or view.step.title
        shape = shape_of(view, k == current and running)
        rows.append(Row((k,), shape, name, _said(view, name, shape), k == current))
    return rows


def shape_of(view: StepView, running: bool = False) -> Shape:
    """What a step as it stands is drawn as."""
    if running or view.state == "running":
        return RUNNING
    return SKIPPED if was_skipped(view) else view.outcome


def _title(view: StepView) -> str:
    return grammar.spoken_name(view.step.title)


def _said(view: StepView, name: str, shape: Shape) -> str:
    """The check's name and its detail; the outcome alone where the row is already named after the check."""
    detail = words.RUNNING if shape == RUNNING else detail_of(view)
    if name.casefold() == view.step.title.casefold():
        return detail or common.OUTCOMES[view.outcome.value]
    if not detail:
        return _title(view)
    return words.CHECK_AND_DETAIL.format(check=describe(view.step.check).short or _title(view), detail=detail)


def detail_of(view: StepView) -> str:
    """What is worth reading in the list: the reading that decided a fail, a mark by hand, why it stopped."""
    if was_skipped(view):
        looked_at = view.assessment is not None and unmeasured(view.assessment)
        return view.reason if looked_at else words.SKIPPED
    if view.by_hand or (view.reason and view.state == "done"):
        return words.BY_HAND.format(outcome=common.OUTCOMES[view.outcome.value]) if view.by_hand else view.reason
    if view.outcome is Outcome.INTERRUPTED:
        return common.OUTCOMES[view.outcome.value]
    if view.assessment is None or view.outcome not in (Outcome.FAIL, Outcome.BORDERLINE):
        return ""
    presses = faulty_presses(view.assessment.readings)
    if presses is not None:
        return words.FAULTY.format(faulty=presses[0], counted=presses[1])
    reading = deciding(view.assessment.readings, view.outcome)
    if reading is not None and reading.value is not None and reading.unit not in ("", "count"):
        return bare_value(view.step.check, reading)
    return common.OUTCOMES[view.outcome.value]


def failing_first(readings: Sequence[Reading]) -> list[Reading]:
    """Readings with a limit, worst verdict first, then by how far out they are; the merely reported ones at the end."""
    rank = {outcome: k for k, outcome in enumerate(_WORST_FIRST)}

    def key(reading: Reading) -> tuple[int, float]:
        outcome = reading_outcome(reading)
        return (len(rank) if outcome is None else rank.get(outcome, 2), -excess(reading))

    return sorted(readings, key=key)
