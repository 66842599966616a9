"""What a certificate says: a pure function of the unit's history. No Qt, no files, no clock.

The items follow the list of ISO/IEC 17025:2017 clause 7.8.2 as far as it fits a second-hand unit (list read in
public copies; no accreditation is claimed): title, bench, unique number on every page and a marked end, method,
description and condition of the item, dates, results with units, uncertainty, decision rule (7.8.6), deviations
(marked by hand, lost reports), what was not tested, and the statement that the results hold for this unit only.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any

from station.bench.types import Step
from station.certificate.grade import grade_line
from station.certificate.summary import control_lines, extras_in_words, skipped_line, standing_line, stands, step_name
from station.certificate.types import Certificate, Change, CheckLine, ControlBlock, Dial, TreatmentLine, VisitLine
from station.checks.house import House
from station.checks.registry import title_of
from station.checks.said import bare_value, reading_name, sentence
from station.checks.types import Outcome, Reading
from station.judgement.claims import Claim, Override, claim_of
from station.judgement.limits import came_from, standard
from station.judgement.links import links_compared
from station.judgement.rest import RestFacts
from station.judgement.standing import Standing
from station.judgement.totals import visit_totals
from station.judgement.tries import counted, gave_verdict, tests
from station.judgement.withdrawn import corrected_since_tested, withdrawn_verdicts
from station.records.canonical import canonical_json
from station.records.chain import Head
from station.records.order import clock_ran_ahead
from station.records.types import Result, Treatment, UnitHistory, Visit
from station.sheets.beyond import NOTHING_BEYOND, Beyond
from station.sheets.model import Sheet
from station.words import certificate as words
from station.words import common, figures, grammar
from station.words import judgement as judged
from station.words.grammar import check_of, count_of, listed

FORMAT = "restpoint-certificate"
VERSION = 5
"""1: never signed, numbers as Python prints them; 2: canonical JSON of RFC 8785, the form that is signed; 3: findings
with the parameters that their text is made of; 4: the grade with its limits, and where each limit comes from; 5: what
it is sold as, with the headline, each control in a line, the shop's contact, and minutes and costs only where the shop
wants them"""


def build_certificate(
    history: UnitHistory,
    steps: Sequence[Step],
    sheet: Sheet,
    *,
    number: str,
    issued_at: str,
    bench: str,
    person: str,
    dials: Sequence[Dial] = (),
    log: Sequence[Head] = (),
    altered: Collection[str] = (),
    house: House | None = None,
    contact: str = "",
    photo_sha256: str = "",
    costs: bool = False,
    declared: Beyond = NOTHING_BEYOND,
) -> Certificate:
    """The certificate of a unit from its whole history and the checklist of its model.

    Which try counts, and whether it still holds, `station.judgement` says; a step without a verdict is listed as not
    tested. `number`: under which the bench writes it. `sheet` tells which controls a treated part belongs to. `log`:
    where the records' log ends. `altered`: results whose recording is not what was recorded. `house`: whose limits and
    grades; None: those that ship, and no grade is given. `costs`: the shop wants minutes and costs on it. `declared`:
    what the unit itself says it has beyond what the sheet names.
    """
    claim = claim_of(history, [(s.check, s.control) for s in steps], sheet)
    blocks = _control_blocks(steps, claim, history, sheet, house or standard())
    keys = [(s.check, s.control) for s in steps]
    found = stands(steps, claim, sheet, history, declared.unnamed)
    grade = grade_line(history, keys, sheet, house, found) if house else None
    standing = standing_line(steps, claim, sheet, grade, history, found)
    return Certificate(
        number=words.SIMULATED_NUMBER.format(number=number) if standing.simulated else number,
        issued_at=issued_at,
        bench=bench,
        person=person,
        tag=history.unit.tag,
        model=history.unit.model,
        serial=history.unit.serial,
        usb_id=_usb_id(history),
        claim=history.unit.claim,
        claim_state=history.unit.claim_state,
        condition=history.unit.condition,
        becomes=history.unit.becomes,
        received_at=history.unit.created_at,
        visits=tuple(_visit_line(v, history.results) for v in history.visits),
        treatments=tuple(_treatment_line(t, history, costs=costs) for t in history.treatments),
        rest=rest_sentence(claim.rest, claim.override),
        controls=blocks,
        changes=_changes(steps, history),
        dials=tuple(dials),
        not_tested=tuple(_not_tested(steps, claim, found)),
        deviations=(
            *_clock_ran_ahead(history),
            *_corrected(history),
            *_withdrawn(history, sheet),
            *_deviations(steps, claim, sheet, house, altered),
            *_absent(declared),
        ),
        timing=words.NEXT_SENTENCE.join(_how_timed(claim, history)),
        passed=claim.totals.passed,
        borderline=claim.totals.borderline,
        failed=claim.totals.failed,
        older=len(claim.older),
        log=tuple(log),
        grade=grade,
        standing=standing,
        summary=control_lines(steps, claim, found),
        contact=contact,
        photo_sha256=photo_sha256,
    )


def to_json(certificate: Certificate) -> bytes:
    """The certificate as canonical JSON (RFC 8785) in UTF-8; no NaN: None instead."""
    told = _plain(certificate)
    if not certificate.log:
        del told["log"]
    body = {"format": FORMAT, "version": VERSION, "certificate": told}
    body["statements"] = {
        "decision_rule": words.DECISION_RULE,
        "uncertainty": words.UNCERTAINTY,
        "limits": words.LIMITS,
        "scope": words.SCOPE,
    }
    return canonical_json(body).encode()


def content_sha256(certificate: Certificate) -> str:
    """Hex SHA-256 of the attached JSON."""
    return hashlib.sha256(to_json(certificate)).hexdigest()


def rest_sentence(rest: RestFacts, override: Override | None) -> str:
    """What the certificate says of the rest between treatment and second test, `override` of why there was none."""
    if not rest.treated:
        return words.NO_TREATMENT
    if rest.second is not None and rest.days is not None:
        said = words.TREATED_SINCE if rest.since else words.TESTED_AGAIN
        days, day = count_of(rest.days, words.DAYS, figures.PAPER), figures.day(rest.second.started_at, figures.PAPER)
        kinds = listed([common.TREATMENT_KINDS.get(t.kind, t.kind) for t in rest.since])
        return said.format(days=days, day=day, kinds=kinds)
    if not rest.until:
        return words.REST_WAIVED if rest.waived else words.NO_REST_ASKED
    if override is not None and override.of == "rest":
        return words.READY_WITHOUT_REST.format(reason=override.reason)
    until = figures.day(rest.until, figures.PAPER)
    if rest.ahead is not None:
        return words.TESTED_AHEAD.format(until=until, **_both_days(rest.ahead))
    return words.NOT_RESTED.format(until=until)


def _both_days(row: Visit | Treatment) -> dict[str, str]:
    """The day by the clock that ran ahead, and the one on which it was set back."""
    said = row.started_at if isinstance(row, Visit) else row.at
    return {"said": figures.day(said, figures.PAPER), "was": figures.day(row.order, figures.PAPER)}


def _clock_ran_ahead(history: UnitHistory) -> Iterable[str]:
    """That dates of this certificate are later than it was, by what the bench's log shows."""
    for visit in filter(clock_ran_ahead, history.visits):
        what = words.VISIT.format(number=visit.number, kind=common.VISIT_KINDS.get(visit.kind, visit.kind))
        yield words.CLOCK_RAN_AHEAD.format(what=grammar.spoken_name(what), **_both_days(visit))
    for one in filter(clock_ran_ahead, history.treatments):
        kind = common.TREATMENT_KINDS.get(one.kind, one.kind)
        yield words.CLOCK_RAN_AHEAD.format(what=grammar.spoken_name(kind), **_both_days(one))


# --- parts ------------------------------------------------------------------------------------------


def _control_blocks(
    steps: Sequence[Step], claim: Claim, history: UnitHistory, sheet: Sheet, house: House
) -> tuple[ControlBlock, ...]:
    numbers = {v.id: v.number for v in history.visits}
    tries = Counter((r.check, r.control, r.visit_id, r.assessment.outcome) for r in history.results)
    order: dict[tuple[str, str, str], list[CheckLine]] = {}
    for step in steps:
        key = (step.check, step.control)
        result, treatment = claim.verdicts.get(key), claim.older.get(key)
        if result is None:
            continue
        line = CheckLine(
            check=step.check,
            title=step.title,
            outcome=result.assessment.outcome,
            readings=result.assessment.readings,
            findings=tuple(replace(f, text=sentence(step.check, f, figures.PAPER)) for f in result.assessment.findings),
            at=result.at,
            visit=numbers.get(result.visit_id, 0),
            tries=sum(tries[*key, result.visit_id, outcome] for outcome in Outcome),
            by_hand=result.by_hand,
            reason=result.reason,
            capture_sha256=result.capture_sha256,
            older=_older(treatment),
            interrupted=tries[*key, result.visit_id, Outcome.INTERRUPTED],
            attempt=result.attempt,
            origins=tuple(came_from(step.check, r, sheet, house) or "" for r in result.assessment.readings),
        )
        order.setdefault((step.control, step.control_name, step.group), []).append(line)
    return tuple(ControlBlock(c, n, g, tuple(lines)) for (c, n, g), lines in order.items())


def _older(treatment: Treatment | None) -> str:
    if treatment is None:
        return ""
    kind = common.TREATMENT_KINDS.get(treatment.kind, treatment.kind)
    return judged.OLDER_THAN_TREATMENT.format(kind=kind, day=figures.day(treatment.at, figures.PAPER))


def _visit_line(visit: Visit, results: Sequence[Result]) -> VisitLine:
    came_to = visit_totals(tests(results), visit.id)
    return VisitLine(
        visit.number,
        visit.kind,
        visit.started_at,
        visit.finished_at,
        visit.person,
        came_to.passed,
        came_to.borderline,
        came_to.failed,
    )


def _treatment_line(treatment: Treatment, history: UnitHistory, *, costs: bool) -> TreatmentLine:
    told = costs and treatment.cost_minor
    cost = figures.money(treatment.cost_minor, treatment.currency, figures.PAPER) if told else ""
    part = treatment.part
    if treatment.donor_unit_id:
        donor = history.extra.get(f"tag:{treatment.donor_unit_id}", words.ANOTHER_UNIT)
        from_donor = words.PART_FROM_DONOR.format(part=part, donor=donor)
        part = from_donor if part else words.FROM_DONOR.format(donor=donor)
    return TreatmentLine(
        treatment.at, treatment.kind, part, treatment.minutes if costs else 0, treatment.materials, cost, treatment.note
    )


def _changes(steps: Sequence[Step], history: UnitHistory) -> tuple[Change, ...]:
    """Readings that once missed their limit, as they went from visit to visit (in each the try that counts)."""
    by_visit = {v: counted(r for r in history.results if r.visit_id == v.id) for v in history.visits}
    changes = []
    for step in steps:
        key = (step.check, step.control)
        rows = [(v.number, r) for v, found in by_visit.items() if (r := found.get(key)) and gave_verdict(r)]
        if len(rows) < 2:
            continue
        for name, unit in _missed_limits(r for _, r in rows):
            what = words.READING_OF.format(what=step_name(step), reading=reading_name(step.check, name))
            readings = [(number, _reading_of(r, name), r.assessment.outcome) for number, r in rows]
            values = tuple((number, r.value if r else None, outcome) for number, r, outcome in readings)
            shown = tuple(bare_value(step.check, r, figures.PAPER, unit=False) if r else "" for _, r, _ in readings)
            changes.append(Change(what, unit, values, shown))
    return tuple(changes)


def _missed_limits(results: Iterable[Result]) -> list[tuple[str, str]]:
    names: dict[str, str] = {}
    for result in results:
        for r in result.assessment.readings:
            if r.value is None or r.limit is None:
                continue
            if r.value > r.limit if r.rule == "<=" else r.value < r.limit:
                names[r.name] = r.unit
    return list(names.items())


def _reading_of(result: Result, name: str) -> Reading | None:
    return next((r for r in result.assessment.readings if r.name == name), None)


def _not_tested(steps: Sequence[Step], claim: Claim, found: Standing) -> Iterable[str]:
    for step in steps:
        if (step.check, step.control) in claim.verdicts:
            result = claim.verdicts[step.check, step.control]
            if (step.check, step.control) in found.unmeasured and not result.by_hand:  # those are deviations
                yield words.UNMEASURED.format(what=step_name(step), reason=words.NO_READING)
            continue
        skipped = claim.skipped.get((step.check, step.control))
        name = step_name(step)
        yield skipped_line(name, skipped) if skipped else name
    if found.unnamed:
        yield words.UNNAMED.format(extras=extras_in_words(found.unnamed))


def _absent(declared: Beyond) -> Iterable[str]:
    if declared.absent:
        yield words.ABSENT.format(extras=extras_in_words(declared.absent))


def _deviations(
    steps: Sequence[Step], claim: Claim, sheet: Sheet, house: House | None, altered: Collection[str]
) -> Iterable[str]:
    if house is not None and house.problem:
        yield words.SHOPS_LIMITS_UNUSABLE
    for step in steps:
        result = claim.verdicts.get((step.check, step.control))
        if result is None:
            continue
        name = step_name(step)
        if result.by_hand:
            yield words.OUTCOME_BY_HAND.format(what=name, reason=result.reason or words.NO_REASON)
        if result.id in altered:
            yield words.ALTERED.format(what=name)
        if result.lost:
            yield words.LOST.format(what=name, reports=count_of(result.lost, words.REPORT, figures.PAPER))
    for result in claim.unlisted.values():
        yield words.NOT_LISTED.format(
            what=_name_of_result(result, sheet), outcome=common.OUTCOMES[result.assessment.outcome.value]
        )
    if claim.override is not None:
        yield words.OVERRIDES[claim.override.of].format(reason=claim.override.reason)


def _corrected(history: UnitHistory) -> Iterable[str]:
    """What the unit was taken for while it was tested."""
    for column, template in (("model", words.MODEL_CORRECTED), ("serial", words.SERIAL_CORRECTED)):
        for by in corrected_since_tested(history, column):
            was, day = by.values[column], figures.day(by.at, figures.PAPER)
            yield template.format(was=was, day=day, reason=by.reason.rstrip("."))


def _withdrawn(history: UnitHistory, sheet: Sheet) -> Iterable[str]:
    """What was withdrawn counts nowhere, and is not passed over in silence."""
    for result, by in withdrawn_verdicts(history):
        yield words.WITHDRAWN.format(
            what=_name_of_result(result, sheet),
            outcome=common.OUTCOMES[result.assessment.outcome.value],
            day=figures.day(result.at, figures.PAPER),
            withdrawn=figures.day(by.at, figures.PAPER),
            reason=by.reason.rstrip("."),
        )


def _name_of_result(result: Result, sheet: Sheet) -> str:
    """The check of a result as it is named on the page; of a control that is gone, by what it was called inside."""
    title = title_of(result.check)
    if not result.control:
        return title
    name = next((c.name for c in sheet.controls if c.id == result.control), result.control.replace("_", " "))
    return check_of(words.CHECK_OF, name, title)


def _how_timed(claim: Claim, history: UnitHistory) -> Iterable[str]:
    """Whose clock it was, and how the links compare over which the unit was measured."""
    yield _timing(claim.verdicts.values())
    compared = links_compared(history.results)
    if compared is not None:
        said = words.LINKS_ALIKE
        if abs(compared.difference_ms) > compared.uncertainty_ms:
            said = words.RADIO_SLOWER if compared.difference_ms > 0 else words.RADIO_QUICKER
        apart = figures.figure(abs(compared.difference_ms), compared.uncertainty_ms, 2, figures.PAPER)
        yield said.format(difference=figures.with_unit(apart, "ms"))


def _timing(results: Iterable[Result]) -> str:
    measured = [r for r in results if r.clock]
    if not measured:
        return words.NO_TIMED_CHECK
    errors = [r.stamp_error_p99_us for r in measured if r.stamp_error_p99_us is not None]
    clocks = listed([words.CLOCKS.get(clock, clock) for clock in sorted({r.clock for r in measured})])
    if not errors:
        return words.STAMPED.format(clocks=clocks)
    return words.STAMPED_WITHIN.format(clocks=clocks, error=figures.number(max(errors) / 1000, 2, figures.PAPER))


def _usb_id(history: UnitHistory) -> str:
    unit = history.unit
    return f"{unit.vendor_id:04x}:{unit.product_id:04x}" if unit.vendor_id else ""


def bare_number(certificate: Certificate) -> str:
    """Its number in letters, digits and hyphens of ASCII, "_" for anything else: for the file's title."""
    return _bare(certificate.number)


def file_stem(certificate: Certificate) -> str:
    """The name of its file: tag and number, in the same signs."""
    return _bare(f"{certificate.tag}-{certificate.number}")


def _bare(text: str) -> str:
    return re.sub(r"[^A-Za-z0-9-]+", "_", text)


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return value
