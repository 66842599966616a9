"""Two tries at one check beside each other: which one to lay over, and what changed, in words."""

from __future__ import annotations

from station.checks.decide import reading_outcome
from station.checks.said import bare_value, reading_name
from station.checks.types import Outcome, Reading
from station.records.types import Result, UnitHistory
from station.words import evidence_room as words

_ORDER = (Outcome.FAIL, Outcome.BORDERLINE, Outcome.PASS)


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


def change_told(before: Result, after: Result) -> tuple[str, ...]:
    """ "offset 9.8 % → 1.2 %, now passes", a line for each reading that is judged, those that changed sides first."""
    was = {r.name: r for r in before.assessment.readings}
    lines: list[tuple[bool, str]] = []
    for now in after.assessment.readings:
        then = was.get(now.name)
        if then is None or then.value is None or now.value is None or (now.limit is None and then.limit is None):
            continue
        outcomes = reading_outcome(then), reading_outcome(now)
        text = words.CHANGE.format(
            name=reading_name(after.check, now.name),
            was=bare_value(before.check, then),
            now=bare_value(after.check, now),
            verdict=_verdict(*outcomes),
        )
        lines.append((outcomes[0] is outcomes[1], text))
    return tuple(text for _, text in sorted(lines, key=lambda line: line[0]))


def _verdict(was: Outcome | None, now: Outcome | None) -> str:
    if was not in _ORDER or now not in _ORDER:
        return words.VERDICT_UNKNOWN
    return (words.STILL if was is now else words.NOW)[now.value]


def same_value(one: Reading, other: Reading) -> bool:
    """Whether two readings say the same, but for what floats cannot hold."""
    if one.value is None or other.value is None:
        return one.value is other.value
    return abs(one.value - other.value) <= 1e-9 * max(abs(one.value), abs(other.value), 1.0)
