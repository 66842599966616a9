"""What the records say of one unit of a lot: its next step, what that is worth, and what it needs or could give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from station.bench.plan import wanted_of
from station.checks.house import House
from station.checks.said import title_on
from station.diagnosis.evidence import borderline_without_finding, evidence_of, last_counts
from station.diagnosis.faults import needs_part
from station.diagnosis.guide import Guide, Values
from station.diagnosis.rates import Trial
from station.diagnosis.treatments import propose
from station.judgement.claimed import OPEN, state_of
from station.judgement.claims import lack_of
from station.judgement.grade import Grading, grading_of
from station.judgement.limits import standard
from station.judgement.rest import rest_facts, rest_over
from station.judgement.treated import older, untested
from station.judgement.tries import suspicions, tested_beyond_a_look
from station.lots.money import expected_price
from station.lots.needs import need_of, parts_of
from station.lots.planner import Need
from station.lots.shares import cured_by_cleaning, passed_intake
from station.records.types import Comeback, ShelfPart, Treatment, Unit, UnitHistory
from station.sheets.model import Sheet
from station.words import common, figures, grammar
from station.words import judgement as judged
from station.words import lots as words

Stage = Literal["settled", "test", "rest", "sound", "treat", "stop"]
"""settled: it became something; test: a test comes first; rest: it awaits its second test; sound: nothing is found;
treat: a treatment is worth while; stop: none is"""


@dataclass(frozen=True, slots=True)
class NextStep:
    """What to do next with a unit. `gain_minor`: what going on should bring over stopping now; None: not known yet."""

    title: str
    reason: str = ""
    minutes: int = 0
    gain_minor: int | None = None
    kind: str = ""
    part: str = ""

    @property
    def needs_part(self) -> bool:
        return needs_part(self.kind) and bool(self.part)


@dataclass(frozen=True, slots=True)
class GoodPart:
    """A part that the unit could give. `tested`: something was tested on its control."""

    part_id: str
    name: str
    tested: bool
    listed: bool
    """the model sheet names it among those worth harvesting"""


@dataclass(frozen=True, slots=True)
class UnitOutlook:
    """One unit as the lot sees it. Money in minor units: `as_it_stands` sold now, `worked` once its step is done."""

    unit: Unit
    stage: Stage
    as_it_stands: int
    worked: int
    step: NextStep | None = None
    need: Need | None = None
    gives: tuple[GoodPart, ...] = ()
    treatments: tuple[Treatment, ...] = ()
    passed_intake: bool | None = None
    """None: its intake is not finished"""
    cleaned: bool | None = None
    """whether cleaning alone cured it; None: it was not tried, or not tested since"""
    grading: Grading | None = None
    """what it may be called; None: it was never tested"""
    claim_state: str = OPEN
    """what the seller's claim is, as a person set it or else by the results"""
    comebacks: tuple[Comeback, ...] = ()

    @property
    def grade(self) -> str:
        """The name of its grade; "" where it has none."""
        return _grade(self.grading)


def _grade(grading: Grading | None) -> str:
    return grading.grade.name if grading is not None and grading.grade is not None else ""


def outlook_of(
    history: UnitHistory,
    sheet: Sheet,
    guide: Guide,
    trials: Sequence[Trial] = (),
    shelf: Sequence[ShelfPart] = (),
    today: str = "",
    house: House | None = None,
) -> UnitOutlook:
    """Work out one unit. `today`: YYYY-MM-DD, to say whether a rest is over. `house`: whose grades (None: those that
    ship)."""
    unit = history.unit
    grading = grading_of(history, wanted_of(sheet), sheet, house or standard()) if history.results else None
    now = expected_price(unit, guide, _grade(grading))
    claim = state_of(history, sheet)
    seen = (history.treatments, passed_intake(history), cured_by_cleaning(history), grading, claim, history.comebacks)
    if unit.becomes != "open":
        return UnitOutlook(unit, "settled", now, now, None, None, (), *seen)
    values = guide.values_for(unit.model, _grade(grading))
    stop = max(values.as_is_minor, values.parts_minor)
    stage, step = _next_step(history, sheet, guide, trials, shelf, today, values)
    if stage in ("test", "rest"):
        return UnitOutlook(unit, stage, now, now, step, None, (), *seen)
    worked = values.ready_minor if stage == "sound" else stop + max(step.gain_minor or 0, 0)
    need = need_of(history, sheet, guide, trials) if stage in ("treat", "stop") else None
    gives = _good_parts(history, sheet, guide, need) if need is not None else ()
    return UnitOutlook(unit, stage, now, worked, step, need, gives, *seen)


def _next_step(
    history: UnitHistory,
    sheet: Sheet,
    guide: Guide,
    trials: Sequence[Trial],
    shelf: Sequence[ShelfPart],
    today: str,
    values: Values,
) -> tuple[Stage, NextStep]:
    unit = history.unit
    if (lack := lack_of(history.results)) is not None:
        claimed = unit.claim and lack != "skipped"
        reason = words.CLAIM.format(claim=unit.claim) if claimed else words.NOTHING_STANDS[lack]
        return "test", NextStep(words.TEST_INTAKE, reason)
    if history.visits and not history.visits[-1].finished_at:
        kind = common.VISIT_KINDS[history.visits[-1].kind]
        return "test", NextStep(words.GO_ON, words.VISIT_NOT_FINISHED.format(kind=kind))
    if (last := untested(history, sheet)) is not None:
        since = words.NOT_TESTED_SINCE.format(treatment=common.TREATMENT_KINDS.get(last.kind, last.kind))
        return "test", NextStep(common.TEST_AGAIN, since, guide.test_minutes)
    if evidence_of(history).seen:
        found = propose(history, sheet, guide, trials=trials, shelf=shelf)
        assert found is not None
        stage: Stage = "treat" if found.kind else "stop"
        return stage, NextStep(found.title, found.reason, found.minutes, found.gain_minor, found.kind, found.part)
    if rest_facts(history).still_due:
        day = figures.day(unit.rest_until)
        if not rest_over(unit, today):
            return "rest", NextStep(words.REST_UNTIL.format(day=day), words.THEN_SECOND_TEST)
        return "rest", NextStep(words.SECOND_TEST, words.HAS_RESTED.format(day=day), guide.test_minutes)
    if stale := older(history, sheet):
        treatment = max(stale.values(), key=lambda t: t.order)
        kind = common.TREATMENT_KINDS.get(treatment.kind, treatment.kind)
        since = judged.OLDER_THAN_TREATMENT.format(kind=kind, day=figures.day(treatment.at))
        checks = grammar.count_of(len(stale), judged.CHECKS)
        still_due = judged.CHECKS_OLDER.format(checks=checks, older=since)
        return "test", NextStep(common.TEST_AGAIN, still_due, guide.test_minutes)
    if suspected := suspicions(history.results):
        where = judged.NEXT_CHECK.join(title_on(*key, sheet) for key in suspected)
        return "test", NextStep(words.TEST_INTAKE, words.SUSPECTED.format(checks=where))
    if not tested_beyond_a_look(history, history.results):
        return "test", NextStep(words.TEST_INTAKE, words.ONLY_LOOKED)
    gain = values.ready_minor - max(values.as_is_minor, values.parts_minor)
    doubtful = judged.NEXT_CHECK.join(title_on(*key, sheet) for key in borderline_without_finding(history))
    reason = words.BORDERLINE.format(checks=doubtful) if doubtful else words.NOTHING_FOUND
    return "sound", NextStep(words.CALL_READY, reason, 0, gain)


def _good_parts(history: UnitHistory, sheet: Sheet, guide: Guide, need: Need) -> tuple[GoodPart, ...]:
    touched = {control for _, control in last_counts(history)}
    listed = {part.id for part in sheet.parts}
    return tuple(
        GoodPart(part.part_id, part.name, part.control in touched, part.part_id in listed)
        for part in parts_of(sheet, guide)
        if part.name in need.has
    )
