"""From readings to an outcome."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from station.checks.types import Limits, Outcome, Reading
from station.measure.decision import decide, rule_of
from station.words import checks as words

_SUFFIXES = ("_x", "_y", "_z", "_up", "_right", "_down", "_left")
_WORST_FIRST = (Outcome.FAIL, Outcome.INTERRUPTED, Outcome.NOT_DONE, Outcome.BORDERLINE, Outcome.PASS)


def base_name(name: str) -> str:
    """A reading's name without its axis or direction: "reach_up" → "reach"."""
    for suffix in _SUFFIXES:
        if name.endswith(suffix):
            return name.removesuffix(suffix)
    return name


def judged(check: str, readings: Iterable[Reading], limits: Limits) -> tuple[Reading, ...]:
    """The readings with limit, fail limit and rule of their name, or else of their base name; the reason of one that is
    borderline says why.

    Those without a limit stay as they are, and so do the parts of a value that is judged itself: where there is an
    "offset", "offset_x" and "offset_y" are only reported.
    """
    table = limits.get(check, {})
    readings = tuple(readings)
    names = {reading.name for reading in readings}
    return tuple(_with_limit(reading, table, names) for reading in readings)


def _with_limit(reading: Reading, table: Mapping[str, tuple[float, float]], names: set[str]) -> Reading:
    pair = table.get(reading.name)
    if pair is None and base_name(reading.name) not in names:
        pair = table.get(base_name(reading.name))
    if pair is None:
        return reading
    limit, fail_beyond = pair
    limited = replace(reading, limit=limit, fail_beyond=fail_beyond, rule=rule_of(limit, fail_beyond))
    why = _why_borderline(limited)
    if not why or reading.reason.startswith(why):
        return limited
    return replace(
        limited, reason=words.BORDERLINE_AND.format(why=why, reason=reading.reason) if reading.reason else why
    )


def _why_borderline(reading: Reading) -> str:
    """Why a reading is neither passed nor failed, in words; "" where it is."""
    if reading_outcome(reading) is not Outcome.BORDERLINE:
        return ""
    if not out_of_limit(reading):
        return words.BORDERLINE_INSIDE
    return words.BORDERLINE_OUTSIDE if reading.uncertainty > 0 else words.BORDERLINE_COUNT


def reading_outcome(reading: Reading) -> Outcome | None:
    """Verdict on one reading; None for one that is only reported. A limited value that could not be had: not done."""
    if reading.limit is None:
        return None
    if reading.value is None:
        return Outcome.NOT_DONE
    fail_beyond = reading.limit if reading.fail_beyond is None else reading.fail_beyond
    return Outcome(decide(reading.value, reading.uncertainty, reading.limit, fail_beyond, reading.rule))


def out_of_limit(reading: Reading) -> bool:
    """Whether the value itself lies outside its limit: what a finding needs. One inside it by less than its
    uncertainty makes the check borderline, and there is nothing to be found."""
    if reading.limit is None or reading.value is None:
        return False
    return reading.value > reading.limit if reading.rule == "<=" else reading.value < reading.limit


def outcome_of(readings: Iterable[Reading]) -> Outcome:
    """The worst verdict among the readings; not done if none of them has a limit."""
    return worst(verdict for reading in readings if (verdict := reading_outcome(reading)) is not None)


def worst(outcomes: Iterable[Outcome]) -> Outcome:
    """The outcome that decides: fail before interrupted, not done, borderline, pass; not done if there is none."""
    found = set(outcomes)
    for outcome in _WORST_FIRST:
        if outcome in found:
            return outcome
    return Outcome.NOT_DONE


def deciding(readings: Sequence[Reading], outcome: Outcome) -> Reading | None:
    """The reading that made the outcome: furthest outside its limit among those that share the verdict."""
    same = [r for r in readings if r.value is not None and r.limit is not None and reading_outcome(r) is outcome]
    return max(same, key=excess, default=None)


def excess(reading: Reading) -> float:
    """How far outside, in lengths of the way from the limit to the fail limit."""
    if reading.value is None or reading.limit is None:
        return 0.0
    span = abs((reading.fail_beyond if reading.fail_beyond is not None else 0.0) - reading.limit) or 1.0
    sign = 1.0 if reading.rule == "<=" else -1.0
    return sign * (reading.value - reading.limit) / span
