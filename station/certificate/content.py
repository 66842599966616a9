"""What a certificate says: a pure function of the unit's history. No Qt, no files, no clock.

The items follow the list of ISO/IEC 17025:2017 clause 7.8.2 as far as it fits a second-hand unit (list read in
public copies; no accreditation is claimed): title, bench, unique number on every page and a marked end, method,
description and condition of the item, dates, results with units, uncertainty, decision rule (7.8.6), deviations
(marked by hand, lost reports), what was not tested, and the statement that the results hold for this unit only.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from enum import Enum
from typing import Any

import numpy as np

from station import __version__
from station.bench.types import Step
from station.checks.types import Finding, Outcome, Reading
from station.records.canonical import canonical_json
from station.records.money import format_money
from station.records.types import Result, Treatment, UnitHistory, Visit

FORMAT = "restpoint-certificate"
VERSION = 2
"""1: never signed, numbers as Python prints them; 2: canonical JSON of RFC 8785, the form that is signed"""

DECISION_RULE = (
    "A value passes when it lies inside its limit by at least its expanded uncertainty U; it fails when it lies "
    "outside by more than U, or beyond the fail limit; anything else is borderline (guard band w = U, after JCGM 106 "
    "and ILAC-G8). With k = 2 and a normal distribution, a value that passes is really outside its limit in at most "
    "2.5 % of cases. Counts carry no uncertainty."
)
UNCERTAINTY = (
    "U is expanded with k = 2 (about 95 %) from the resolution of the unit's codes (one code / √12, JCGM 100 F.2.2.1) "
    "and the scatter of the readings, with their correlation in mind (JCGM 100 4.2). Durations include the report "
    "interval. What happens between two reports cannot be seen."
)
SIGNED = (
    "The file is signed: its last line is an Ed25519 signature over all of it, and it carries what is printed here as "
    "JSON with a signature of its own. “restpoint verify FILE.pdf” says whether both hold and whose key it is; compare "
    "the key with the one that the bench gave you by another way. A print-out cannot be checked: its QR code names the "
    "file to ask for."
)
UNSIGNED = "This file is not signed: nothing in it shows who wrote it, or whether it was changed since."
LIMITS = (
    "Limits are customary in the repair trade and have no published source, unless the model sheet gives its own; "
    "each stands beside its value. An axis reads −100 … +100 % of half travel, a trigger 0 … 100 % of travel."
)
SCOPE = (
    "These results hold for this unit only, as it was on the dates given. They say nothing of the life left in it. "
    "A bench test cannot replace the safety tests of cells and chargers. This is no accredited certificate. "
    "Copy it only as a whole."
)


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check of one control as it stands at the end."""

    check: str
    title: str
    outcome: Outcome
    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]
    at: str
    visit: int
    tries: int
    by_hand: bool
    reason: str
    capture_sha256: str


@dataclass(frozen=True, slots=True)
class ControlBlock:
    """All lines of one control, in the order of the checklist."""

    control: str
    name: str
    group: str
    lines: tuple[CheckLine, ...]


@dataclass(frozen=True, slots=True)
class Dial:
    """What a bearing dial is drawn from: `sector_reach_pct` float[72] (NaN: not covered), `settle_pct` float[k, 2]."""

    control: str
    name: str
    rest_pct: tuple[float, float] | None
    rest_limit_pct: float | None
    reach_limit_pct: float | None
    sector_reach_pct: tuple[float, ...] = ()
    settle_pct: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class VisitLine:
    number: int
    kind: str
    started_at: str
    finished_at: str
    person: str
    passed: int
    borderline: int
    failed: int


@dataclass(frozen=True, slots=True)
class TreatmentLine:
    at: str
    kind: str
    part: str
    minutes: int
    materials: str
    cost: str
    note: str


@dataclass(frozen=True, slots=True)
class Change:
    """A reading that failed or was borderline once: its values visit by visit, oldest first."""

    what: str
    unit: str
    values: tuple[tuple[int, float | None, Outcome], ...]


@dataclass(frozen=True, slots=True)
class Certificate:
    """Everything the page shows; the same content is attached as JSON."""

    number: str
    issued_at: str
    bench: str
    person: str
    tag: str
    model: str
    serial: str
    usb_id: str
    claim: str
    claim_state: str
    condition: str
    becomes: str
    received_at: str
    visits: tuple[VisitLine, ...]
    treatments: tuple[TreatmentLine, ...]
    rest: str
    controls: tuple[ControlBlock, ...]
    changes: tuple[Change, ...]
    dials: tuple[Dial, ...]
    not_tested: tuple[str, ...]
    deviations: tuple[str, ...]
    timing: str
    passed: int
    borderline: int
    failed: int
    program: str = f"Restpoint {__version__}"

    def headline(self) -> str:
        """The result in one sentence, without a score."""
        if self.failed:
            return _count(self.failed, "check") + " failed"
        if self.borderline:
            return f"No check failed, {self.borderline} borderline"
        if self.not_tested:
            return f"All {self.passed} checks done passed; {len(self.not_tested)} not done"
        return f"All {self.passed} checks passed"


def build_certificate(
    history: UnitHistory,
    steps: Sequence[Step],
    *,
    issued_at: str,
    bench: str,
    person: str,
    dials: Sequence[Dial] = (),
) -> Certificate:
    """The certificate of a unit from its whole history and the checklist of its model.

    For every step the last counted result of the latest visit holds; a step without one is listed as not tested.
    """
    current = _current_results(history.results)
    numbers = {v.id: v.number for v in history.visits}
    blocks = _control_blocks(steps, current, history.results, numbers)
    outcomes = [line.outcome for block in blocks for line in block.lines]
    content = Certificate(
        number="",
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
        treatments=tuple(_treatment_line(t, history) for t in history.treatments),
        rest=rest_sentence(history),
        controls=blocks,
        changes=_changes(steps, history),
        dials=tuple(dials),
        not_tested=tuple(_not_tested(steps, current)),
        deviations=tuple(_deviations(steps, current, history)),
        timing=_timing(current.values()),
        passed=outcomes.count(Outcome.PASS),
        borderline=outcomes.count(Outcome.BORDERLINE),
        failed=outcomes.count(Outcome.FAIL),
    )
    return _numbered(content)


def to_json(certificate: Certificate) -> bytes:
    """The certificate as canonical JSON (RFC 8785) in UTF-8; no NaN: None instead."""
    body = {"format": FORMAT, "version": VERSION, "certificate": _plain(certificate)}
    body["statements"] = {
        "decision_rule": DECISION_RULE,
        "uncertainty": UNCERTAINTY,
        "limits": LIMITS,
        "scope": SCOPE,
    }
    return canonical_json(body).encode()


def content_sha256(certificate: Certificate) -> str:
    """Hex SHA-256 of the attached JSON."""
    return hashlib.sha256(to_json(certificate)).hexdigest()


def rest_sentence(history: UnitHistory) -> str:
    """What the certificate says of the rest between treatment and second test."""
    if not history.treatments:
        return "No treatment: no rest was asked for."
    last = max(t.at for t in history.treatments)
    later = [v for v in history.visits if v.started_at > last and v.finished_at]
    rested = [v for v in later if v.kind in ("after rest", "final")]
    override = history.extra.get("override", "")
    if rested:
        days = _days_between(last, rested[-1].started_at)
        return f"Tested again {_count(days, 'day')} after the last treatment ({rested[-1].started_at[:10]})."
    if override:
        return f"Declared ready without the rest: {override}."
    return f"Not tested after a rest yet; due from {history.unit.rest_until or 'an open date'}."


def describe_reading(reading: Reading) -> str:
    """Value, uncertainty and unit: "10.2 ± 0.3 %"."""
    if reading.value is None:
        return reading.reason or "no value"
    value = _number(reading.value, reading.uncertainty)
    spread = f" ± {_number(reading.uncertainty, reading.uncertainty)}" if reading.uncertainty > 0 else ""
    unit = f" {reading.unit}" if reading.unit and reading.unit != "count" else ""
    return f"{value}{spread}{unit}"


def describe_limit(reading: Reading) -> str:
    """The limit with its rule: "≤ 5, fails beyond 10"; empty where there is none."""
    if reading.limit is None:
        return ""
    sign = "≤" if reading.rule == "<=" else "≥"
    text = f"{sign} {reading.limit:g}"
    between = reading.fail_beyond is not None and abs(reading.fail_beyond - reading.limit) >= (
        reading.unit in ("", "count")
    )
    if reading.fail_beyond is not None and between and reading.fail_beyond != reading.limit:
        text += f" · fails {'>' if reading.rule == '<=' else '<'} {reading.fail_beyond:g}"
    return text


_NAMES = {
    "miss_rate_upper": "miss rate at most",
    "short": "too short",
    "shortest": "shortest press",
    "others": "others moved",
}


def reading_name(name: str) -> str:
    """A reading's name in words: "reach_up" → "reach up", "noise_pp_x" → "noise p-p, horizontal"."""
    words = _NAMES.get(name, name)
    for suffix, axis in (("_x", ", horizontal"), ("_y", ", vertical")):
        if words.endswith(suffix):
            words = words[: -len(suffix)] + axis
    return words.replace("_pp", " p-p").replace("_", " ")


# --- parts ------------------------------------------------------------------------------------------


def _current_results(results: Iterable[Result]) -> dict[tuple[str, str], Result]:
    current: dict[tuple[str, str], Result] = {}
    for result in results:  # oldest first: the last one stays
        if result.assessment.outcome in (Outcome.NOT_DONE, Outcome.INTERRUPTED):
            continue
        current[(result.check, result.control)] = result
    return current


def _control_blocks(
    steps: Sequence[Step],
    current: Mapping[tuple[str, str], Result],
    results: Sequence[Result],
    numbers: Mapping[str, int],
) -> tuple[ControlBlock, ...]:
    order: dict[tuple[str, str, str], list[CheckLine]] = {}
    for step in steps:
        result = current.get((step.check, step.control))
        if result is None:
            continue
        tries = sum(
            1 for r in results if (r.check, r.control, r.visit_id) == (step.check, step.control, result.visit_id)
        )
        line = CheckLine(
            check=step.check,
            title=step.title,
            outcome=result.assessment.outcome,
            readings=result.assessment.readings,
            findings=result.assessment.findings,
            at=result.at,
            visit=numbers.get(result.visit_id, 0),
            tries=tries,
            by_hand=result.by_hand,
            reason=result.reason,
            capture_sha256=result.capture_sha256,
        )
        order.setdefault((step.control, step.control_name, step.group), []).append(line)
    return tuple(ControlBlock(c, n, g, tuple(lines)) for (c, n, g), lines in order.items())


def _visit_line(visit: Visit, results: Sequence[Result]) -> VisitLine:
    last: dict[tuple[str, str], Outcome] = {}
    for r in results:
        if r.visit_id == visit.id:
            last[(r.check, r.control)] = r.assessment.outcome
    found = list(last.values())
    return VisitLine(
        visit.number,
        visit.kind,
        visit.started_at,
        visit.finished_at,
        visit.person,
        found.count(Outcome.PASS),
        found.count(Outcome.BORDERLINE),
        found.count(Outcome.FAIL),
    )


def _treatment_line(treatment: Treatment, history: UnitHistory) -> TreatmentLine:
    cost = format_money(treatment.cost_minor, treatment.currency) if treatment.cost_minor else ""
    part = treatment.part
    if treatment.donor_unit_id:
        donor = history.extra.get(f"tag:{treatment.donor_unit_id}", "another unit")
        part = f"{part} (from donor {donor})".strip()
    return TreatmentLine(
        treatment.at, treatment.kind, part, treatment.minutes, treatment.materials, cost, treatment.note
    )


def _changes(steps: Sequence[Step], history: UnitHistory) -> tuple[Change, ...]:
    """Readings that once missed their limit, as they went from visit to visit (last try of each)."""
    last: dict[tuple[str, str, str], Result] = {}
    for r in history.results:
        last[(r.check, r.control, r.visit_id)] = r
    changes = []
    for step in steps:
        rows = [(v.number, last[key]) for v in history.visits if (key := (step.check, step.control, v.id)) in last]
        if len(rows) < 2:
            continue
        for name, unit in _missed_limits(r for _, r in rows):
            values = tuple((number, _value_of(r, name), r.assessment.outcome) for number, r in rows)
            changes.append(Change(f"{step.control_name}: {step.title.lower()}, {reading_name(name)}", unit, values))
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


def _value_of(result: Result, name: str) -> float | None:
    return next((r.value for r in result.assessment.readings if r.name == name), None)


def _not_tested(steps: Sequence[Step], current: Mapping[tuple[str, str], Result]) -> Iterable[str]:
    for step in steps:
        if (step.check, step.control) not in current:
            yield f"{step.control_name}: {step.title.lower()}" if step.control else step.title


def _deviations(
    steps: Sequence[Step], current: Mapping[tuple[str, str], Result], history: UnitHistory
) -> Iterable[str]:
    for step in steps:
        result = current.get((step.check, step.control))
        if result is None:
            continue
        name = f"{step.control_name}: {step.title.lower()}" if step.control else step.title
        if result.by_hand:
            yield f"{name}: outcome set by hand ({result.reason or 'no reason given'})."
        if result.lost:
            yield f"{name}: {_count(result.lost, 'report')} lost while it ran."
    if override := history.extra.get("override"):
        yield f"Declared ready before the rest was over: {override}."


def _timing(results: Iterable[Result]) -> str:
    measured = [r for r in results if r.clock]
    if not measured:
        return "No timed check."
    errors = [r.stamp_error_p99_us for r in measured if r.stamp_error_p99_us is not None]
    clocks = sorted({r.clock for r in measured})
    text = f"Reports stamped by: {', '.join(clocks)}."
    if errors:
        text += f" Stamp error (99th percentile) at most {max(errors) / 1000:.2f} ms."
    return text


def _usb_id(history: UnitHistory) -> str:
    unit = history.unit
    return f"{unit.vendor_id:04x}:{unit.product_id:04x}" if unit.vendor_id else ""


def _numbered(content: Certificate) -> Certificate:
    """Give it its number: tag, date and the start of the content's hash, so that equal numbers mean equal content."""
    digest = content_sha256(content)[:8]
    return replace(content, number=f"{content.tag}-{content.issued_at[:10].replace('-', '')}-{digest}")


def _days_between(start_iso: str, end_iso: str) -> int:
    start, end = (np.datetime64(s[:10]) for s in (start_iso, end_iso))
    return int((end - start).astype(int))


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" + ("" if n == 1 else "s")


def _number(value: float, uncertainty: float) -> str:
    """Digits that the uncertainty carries: one more than its first significant digit, at most 2 decimals."""
    if uncertainty <= 0:
        return f"{value:g}" if abs(value - round(value)) < 1e-9 else f"{value:.2f}"
    decimals = int(np.clip(1 - np.floor(np.log10(uncertainty)), 0, 2))
    return f"{value:.{decimals}f}".replace("-", "−")


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
        return value if np.isfinite(value) else None
    return value
