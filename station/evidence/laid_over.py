"""Two tries at one check beside each other: which ones may be laid over, and what is otherwise, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from station.checks.decide import reading_outcome
from station.checks.registry import title_of
from station.checks.said import bare_value, reading_name, sentence
from station.checks.types import Outcome, Reading
from station.judgement.totals import unit_totals
from station.judgement.tries import Key, standing
from station.records.types import Result, Unit, UnitHistory, Visit
from station.words import common, figures
from station.words import evidence_room as words
from station.words.grammar import spoken_name

_ORDER = (Outcome.FAIL, Outcome.BORDERLINE, Outcome.PASS)


@dataclass(frozen=True, slots=True)
class OtherTry:
    """A try that may be laid over another one at the same check: of which unit, in which visit."""

    unit: Unit
    visit: Visit
    result: Result


def may_lie_over(one: Result, other: Result) -> bool:
    """Whether both are tries at the same check of the same control, and both have reports."""
    same = (one.check, one.control) == (other.check, other.control)
    return same and one.id != other.id and bool(one.capture_sha256 and other.capture_sha256)


def try_before(history: UnitHistory, result: Result) -> Result | None:
    """The try to compare with: the last one of an earlier visit, else the one before in the same visit."""
    order = {visit.id: k for k, visit in enumerate(history.visits)}
    mine = [r for r in history.results if may_lie_over(r, result) and r.at <= result.at]
    earlier = [r for r in mine if order.get(r.visit_id, 0) < order.get(result.visit_id, 0)]
    return earlier[-1] if earlier else mine[-1] if mine else None


def tries_beside(history: UnitHistory, result: Result) -> tuple[OtherTry, ...]:
    """The other tries of the unit that may be laid over: first the one to compare with (`try_before`), then the newest
    first."""
    visits = {visit.id: visit for visit in history.visits}
    mine = [r for r in reversed(history.results) if may_lie_over(r, result) and r.visit_id in visits]
    first = try_before(history, result)
    mine.sort(key=lambda r: first is None or r.id != first.id)
    return tuple(OtherTry(history.unit, visits[r.visit_id], r) for r in mine)


def good_try(results: Sequence[Result], key: Key) -> Result | None:
    """The try that stands at this check of a unit that passed everything it was tested for, where its reports were
    kept; None of any other unit. `results`: all of the unit, oldest first; they need no readings."""
    stands = standing(results).get(key)
    if stands is None or stands.by_hand or not stands.capture_sha256:
        return None
    return stands if unit_totals(results).outcome is Outcome.PASS else None


def other_told(other: OtherTry, unit: Unit) -> str:
    """ "intake, 2026-11-28", with the tag before it where it is of another unit than `unit`."""
    visit = words.VISIT.format(kind=common.VISIT_KINDS[other.visit.kind], day=figures.when(other.result.at))
    return visit if other.unit.id == unit.id else words.GOOD_UNIT.format(tag=other.unit.tag, visit=visit)


def beside_told(other: OtherTry, result: Result, unit: Unit) -> tuple[str, ...]:
    """What is otherwise: from the earlier to the later try on this unit, or from the good one to this one."""
    if other.unit.id == unit.id:
        return change_told(*sorted((other.result, result), key=lambda r: r.at))
    return difference_told(other.result, result)


def difference_told(good: Result, here: Result) -> tuple[str, ...]:
    """ "off centre 1.2 % there, 9.8 % here, which fails", a line for each reading that is judged, what does not pass
    first."""
    lines: list[tuple[bool, str]] = []
    for there, now in _judged(good, here):
        outcome = reading_outcome(now)
        text = words.DIFFERENCE.format(
            name=reading_name(here.check, now.name),
            there=bare_value(good.check, there),
            here=bare_value(here.check, now),
            verdict=words.HERE[outcome.value] if outcome in _ORDER else words.VERDICT_UNKNOWN,
        )
        lines.append((outcome is Outcome.PASS, text))
    found = _found(here) if all(passes for passes, _ in lines) else []
    told = [words.FOUND_HERE.format(finding=text) for text in found]
    return (*told, *(text for _, text in sorted(lines, key=lambda line: line[0])))


def _found(result: Result) -> list[str]:
    return [sentence(result.check, f) for f in result.assessment.findings]


def _judged(one: Result, other: Result) -> Iterable[tuple[Reading, Reading]]:
    """The readings that both have and that are judged in at least one of them."""
    first = {r.name: r for r in one.assessment.readings}
    for now in other.assessment.readings:
        then = first.get(now.name)
        if then is None or then.value is None or now.value is None or (now.limit is None and then.limit is None):
            continue
        yield then, now


def change_told(before: Result, after: Result) -> tuple[str, ...]:
    """ "offset 9.8 % → 1.2 %, now passes", a line for each reading that is judged, those that changed sides first.

    Where none did, verdict and findings say it: presses are judged by what is counted together, not by one reading.
    """
    lines: list[tuple[bool, str]] = []
    for then, now in _judged(before, after):
        outcomes = reading_outcome(then), reading_outcome(now)
        text = words.CHANGE.format(
            name=reading_name(after.check, now.name),
            was=bare_value(before.check, then),
            now=bare_value(after.check, now),
            verdict=_verdict(*outcomes),
        )
        lines.append((outcomes[0] is outcomes[1], text))
    whole = _whole_change(before, after) if all(same for same, _ in lines) else []
    return (*whole, *(text for _, text in sorted(lines, key=lambda line: line[0])))


def _whole_change(before: Result, after: Result) -> list[str]:
    """What became of the verdict, and the findings that only one of them has."""
    told: list[str] = []
    was, now = before.assessment.outcome, after.assessment.outcome
    if was is not now:
        names = common.OUTCOMES[was.value], common.OUTCOMES[now.value]
        told.append(words.VERDICT_CHANGE.format(check=spoken_name(title_of(after.check)), was=names[0], now=names[1]))
    then, since = _found(before), _found(after)
    told += [words.FOUND_BEFORE.format(finding=text) for text in then if text not in since]
    return told + [words.FOUND_AFTER.format(finding=text) for text in since if text not in then]


def _verdict(was: Outcome | None, now: Outcome | None) -> str:
    if was not in _ORDER or now not in _ORDER:
        return words.VERDICT_UNKNOWN
    return (words.STILL if was is now else words.NOW)[now.value]


def same_value(one: Reading, other: Reading) -> bool:
    """Whether two readings say the same, but for what floats cannot hold."""
    if one.value is None or other.value is None:
        return one.value is other.value
    return abs(one.value - other.value) <= 1e-9 * max(abs(one.value), abs(other.value), 1.0)
