"""Simple shares of a lot, each with its Wilson interval: how many units pass at intake, how many cleaning cures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from station.checks.types import Outcome
from station.diagnosis.returned import failed_cures
from station.judgement.totals import unit_totals
from station.judgement.tries import was_tested
from station.measure.binomial import wilson
from station.records.types import Result, UnitHistory
from station.words import figures
from station.words import lots as words

CLEANING = ("clean from outside", "open and clean", "clean the sensor")


@dataclass(frozen=True, slots=True)
class Share:
    """`k` of `n` units, with the 95 % bounds (0…1) of the share in lots like this one."""

    k: int
    n: int
    low: float
    high: float

    def words(self) -> str:
        """ "3 of 12 (9–53 %)"."""
        low, high = (figures.number(100 * bound, 0) for bound in (self.low, self.high))
        return words.SHARE.format(k=self.k, n=self.n, low=low, high=high)


def share(answers: Iterable[bool | None]) -> Share | None:
    """The share of yes among those who know; None when nobody does."""
    known = [a for a in answers if a is not None]
    if not known:
        return None
    return Share(sum(known), len(known), *wilson(sum(known), len(known)))


def passed_intake(history: UnitHistory) -> bool | None:
    """Whether every check of the finished intake that counted passed; None if there was none."""
    intake = next((v for v in history.visits if v.kind == "intake" and v.finished_at), None)
    if intake is None:
        return None
    return _passes(r for r in history.results if r.visit_id == intake.id)


def cured_by_cleaning(history: UnitHistory) -> bool | None:
    """Whether the unit passed after cleaning and before anything else was tried on it.

    None if it had nothing to cure, was not cleaned first, or was not tested since.
    """
    done = history.treatments
    if not done or done[0].kind not in CLEANING:
        return None
    before = _passes(r for r in history.results if r.order <= done[0].order)
    until = next((t.order for t in done if t.kind not in CLEANING), "~")
    if failed_cures(history) & {t.id for t in done if t.order < until}:
        return False
    if before is not False or not was_tested(history.results, done[0].order, until):
        return None
    return _passes(r for r in history.results if r.order <= until)


def _passes(results: Iterable[Result]) -> bool | None:
    """Whether every check that gave a verdict passed; None if none did."""
    outcome = unit_totals(results).outcome
    return None if outcome is Outcome.NOT_DONE else outcome is Outcome.PASS
