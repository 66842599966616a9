"""What the first page says: how the unit stands, each control in a line, what was not tested. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from station.bench.types import Step
from station.certificate.types import ControlLine, GradeLine, StandingLine
from station.checks.said import sentence, title_on
from station.checks.types import Outcome
from station.judgement.claims import Claim
from station.judgement.grade import by_wider_limits
from station.judgement.standing import Standing, stands_as
from station.judgement.tries import Key, unmeasured
from station.records.types import Result, UnitHistory
from station.sheets.beyond import Extra, counts
from station.sheets.model import Sheet
from station.words import certificate as words
from station.words import common, figures, grammar

NAMED = 4
"""so many faults or reasons stand in the headline, the others are counted"""
_WORST = (Outcome.FAIL, Outcome.BORDERLINE, Outcome.PASS)


def standing_line(
    steps: Sequence[Step], claim: Claim, sheet: Sheet, grade: GradeLine | None, history: UnitHistory, found: Standing
) -> StandingLine:
    """The headline, and what has to be told beside it. `found`: how the unit stands."""
    simulated = any(result.clock == "simulated" for result in history.results)
    faults = tuple(_fault(key, claim, sheet) for key in found.failed)
    named = {(s.check, s.control): step_name(s) for s in steps}
    left_out = tuple(skipped_line(named[key], claim.skipped[key]) for key in found.left_out)
    said = _headline(found, faults, grade) + _beside(found, claim, named)
    if simulated:
        said = words.SIMULATED_HEADLINE.format(headline=said)
    return StandingLine(found.kind, said, len(found.required), len(found.missing), faults, left_out, simulated)


def stands(
    steps: Sequence[Step], claim: Claim, sheet: Sheet, history: UnitHistory, unnamed: Sequence[Extra] = ()
) -> Standing:
    """How the unit stands by the steps of its plan; those that are only offered are not asked for."""
    required = tuple(dict.fromkeys((s.check, s.control) for s in steps if not s.offered))
    return stands_as(claim, required, history, sheet, unnamed)


def skipped_line(what: str, skip: Result) -> str:
    """What a person left out, and why; what was looked at and not measured was not skipped."""
    template = words.UNMEASURED if unmeasured(skip.assessment) else words.SKIPPED
    return template.format(what=what, reason=skip.reason or words.NO_REASON)


def step_name(step: Step) -> str:
    """The check as it is named on the page: "Left stick, at rest"; of the whole unit "Look"."""
    if not step.control:
        return step.title
    return grammar.check_of(words.CHECK_OF, step.control_name, step.title)


def _headline(found: Standing, faults: Sequence[str], grade: GradeLine | None) -> str:
    if found.kind == "incomplete":
        return words.INCOMPLETE.format(why=_why_open(found))
    named = ""
    told = grade is not None and grade.faults and found.kind == "faults" and grade.scale == "shipped"
    if grade is not None and grade.name and not told:  # else the headline says it already
        template = words.GRADE_OF_SHOP if grade.scale == "shop" else words.GRADED
        named = template.format(grade=grade.said)
    if found.kind == "faults":
        return words.DECLARED.format(grade=named, faults=_listed(faults))
    return words.PASSED.format(grade=named)


def _beside(found: Standing, claim: Claim, named: Mapping[Key, str]) -> str:
    """What a headline that says passed, or names faults, must not be silent about."""
    if found.kind == "incomplete":
        return ""
    told = []
    if near := claim.totals.borderline:
        told.append(words.NEAR_LIMIT.format(checks=grammar.count_of(near, words.CHECK, figures.PAPER)))
    if found.by_hand:
        told.append(
            words.DECIDED_BY_HAND.format(checks=grammar.count_of(len(found.by_hand), words.CHECK, figures.PAPER))
        )
    if wider := by_wider_limits(claim):
        told.append(words.WIDER_LIMITS.format(checks=grammar.count_of(len(wider), words.CHECK, figures.PAPER)))
    if found.early or claim.rest.waived:
        told.append(words.WITHOUT_SECOND_TEST)
    if found.left_out:
        told.append(words.LEFT_OUT.format(checks=grammar.COMMA.join(named[key] for key in found.left_out)))
    return "".join(told)


def _why_open(found: Standing) -> str:
    if found.missing:
        before = sum(key in found.missing for key in found.failed)  # told apart, so that no check counts twice
        failed = len(found.failed) - before
        count, of = (figures.number(len(keys), 0, figures.PAPER) for keys in (found.missing, found.required))
        said = words.OPEN.format(missing=count, required=of)
        if before:
            said = words.FAILED_BEFORE.format(open=said, before=figures.number(before, 0, figures.PAPER))
        if failed:
            said = words.AND_FAILED.format(open=said, failed=grammar.count_of(failed, words.CHECK, figures.PAPER))
        return words.AND_UNNAMED.format(open=said, extras=extras_in_words(found.unnamed)) if found.unnamed else said
    if found.unnamed:
        said = words.UNNAMED_OPEN.format(extras=extras_in_words(found.unnamed))
        if not found.failed:
            return said
        many = grammar.count_of(len(found.failed), words.CHECK, figures.PAPER)
        return words.AND_FAILED.format(open=said, failed=many)
    return words.SECOND_TEST_OPEN if found.rest_due else words.NOTHING_ASKED


def extras_in_words(extras: Sequence[Extra]) -> str:
    """What a device declares, counted by sort: "2 buttons and 1 hat"."""
    return grammar.listed(
        [grammar.count_of(many, words.EXTRAS[sort], figures.PAPER) for sort, many in counts(extras).items()]
    )


def _listed(faults: Sequence[str]) -> str:
    more = len(faults) - NAMED
    if more > 0:
        return words.AND_MORE_FAULTS.format(faults=words.NEXT_NOT_TESTED.join(faults[:NAMED]), count=more)
    return words.NEXT_NOT_TESTED.join(faults)


def _fault(key: Key, claim: Claim, sheet: Sheet) -> str:
    """The control and what is wrong with it, in the words of the first finding and in those of a player."""
    result = claim.verdicts.get(key) or claim.unlisted[key]
    said = _named_fault(key, result, sheet)
    felt = words.FELT.get(result.assessment.findings[0].code) if result.assessment.findings else None
    return words.AS_FELT.format(fault=said, felt=felt) if felt else said


def _named_fault(key: Key, result: Result, sheet: Sheet) -> str:
    name = next((c.name for c in sheet.controls if c.id == key[1]), common.WHOLE_UNIT)
    said = _in_words(result)
    if said.lower().startswith(name.lower()):  # most findings name their control
        return grammar.sentence_start(said)
    if not said:  # marked by hand: the check is all that can be named, its control with it
        return grammar.sentence_start(title_on(*key, sheet))
    return words.FAULT_OF.format(control=name, fault=said)


def _in_words(result: Result) -> str:
    found = [sentence(result.check, one, figures.PAPER) for one in result.assessment.findings]
    return found[0].rstrip(".") if found else ""


def _after(name: str, said: str) -> str:
    """What a finding says, where the control's name stands before it already."""
    return said[len(name) :].lstrip(" :,") if said.lower().startswith(name.lower()) else said


def control_lines(steps: Sequence[Step], claim: Claim, found: Standing) -> tuple[ControlLine, ...]:
    """Every control of the plan in a line, in its order: its worst outcome, and what that is."""
    own: dict[str, list[Step]] = {}
    for step in steps:
        own.setdefault(step.control, []).append(step)
    return tuple(_control_line(control, its, claim, found) for control, its in own.items())


def _control_line(control: str, steps: Sequence[Step], claim: Claim, found: Standing) -> ControlLine:
    name = steps[0].control_name if control else common.WHOLE_UNIT
    results = [r for s in steps if (r := claim.verdicts.get((s.check, s.control))) is not None]
    out = {*claim.older, *found.unmeasured}
    held = [r for r in results if (r.check, r.control) not in out]
    asked = [s for s in steps if not s.offered]
    missing = sum((s.check, s.control) not in claim.verdicts or (s.check, s.control) in out for s in asked)
    if not held:
        older = any((r.check, r.control) in claim.older for r in results)
        return ControlLine(name, Outcome.NOT_DONE, words.OLDER_ONLY if older else "")
    worst = next(one for one in _WORST if any(r.assessment.outcome is one for r in held))
    bad = (r for r in held if r.assessment.outcome is worst and worst is not Outcome.PASS)
    said = next((_after(name, _in_words(r)) for r in bad), "")
    if missing:
        rest = words.PARTLY.format(missing=missing, asked=len(asked))
        if worst is not Outcome.PASS:  # the mark alone says it to nobody who hears the page
            said = said or words.OUTCOMES[worst.value]
        said = words.NEXT_NOT_TESTED.join(filter(None, (said, rest)))
    return ControlLine(name, worst, said)
