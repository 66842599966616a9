"""A unit's own swaps as a search for the bad part."""

from __future__ import annotations

from station.checks.types import Assessment, Finding, Outcome
from station.diagnosis.guide import load_guide
from station.diagnosis.isolate import next_swap, search_by_swaps
from station.diagnosis.types import Suspect
from station.records.types import Result, Treatment, Unit, UnitHistory, Visit

GUIDE = load_guide()
FOUND = (
    Suspect("lever", "Lever", 0.25, control="south"),
    Suspect("board", "Little board", 0.62, control="south"),
    Suspect("housing", "Housing", 0.13, control="south"),
)


def result(at: str, fails: bool) -> Result:
    outcome = Outcome.FAIL if fails else Outcome.PASS
    return Result(at, "v", "light", "south", 1, at, Assessment(outcome, (), (Finding("misses", "x"),) if fails else ()))


def swap(at: str, part: str) -> Treatment:
    return Treatment(at, "u", "swap with donor part", at, part)


def history(*events: Result | Treatment) -> UnitHistory:
    results = tuple(e for e in events if isinstance(e, Result))
    treatments = tuple(e for e in events if isinstance(e, Treatment))
    return UnitHistory(Unit("u", "A-1", "Plover T2"), None, (Visit("v", "u", "intake", 1, "1"),), results, treatments)


def test_without_swaps_one_is_proposed():
    search = search_by_swaps(history(result("1", True)), "south", FOUND, GUIDE)
    assert search is not None
    assert not search.tests
    advice = next_swap(search)
    assert advice is not None
    assert advice.bits > 0.4


def test_a_swap_that_did_not_help_clears_the_part_and_a_cure_convicts_it():
    still = history(result("1", True), swap("2", "Lever"), result("3", True))
    search = search_by_swaps(still, "south", FOUND, GUIDE)
    assert search.weights()["lever"] < 0.05 < search.weights()["board"]
    cured = history(result("1", True), swap("2", "Lever"), result("3", True), swap("4", "board"), result("5", False))
    search = search_by_swaps(cured, "south", FOUND, GUIDE)
    assert [t.swapped for t in search.tests] == [frozenset({"lever"}), frozenset({"lever", "board"})]
    assert search.verdict().part_id == "board"
    assert next_swap(search) is None


def test_a_swap_not_tested_yet_tells_nothing():
    search = search_by_swaps(history(result("1", True), swap("2", "Lever")), "south", FOUND, GUIDE)
    assert not search.tests


def test_one_suspect_needs_no_search():
    assert search_by_swaps(history(result("1", True)), "south", FOUND[:1], GUIDE) is None
