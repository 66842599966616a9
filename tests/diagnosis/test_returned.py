"""What sold units that come back teach: rates, prices, rest."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.diagnosis.guide import Values, load_guide
from station.diagnosis.learn import trials_from
from station.diagnosis.rates import rate_of
from station.diagnosis.returned import HeldOfKind, SoldOfModel, failed_cures, longer_rest, with_returns
from station.lots.money import expected_price
from station.lots.shares import cured_by_cleaning
from station.records.types import Comeback, Unit, UnitHistory
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy

GUIDE = load_guide()


def cured() -> UnitHistory:
    """A stick that was noisy, cleaned, and passed since; it was sold then."""
    story = Story().check("rest", "left_stick", *noisy())
    return story.treat("clean the sensor").check("rest", "left_stick").history


def came_back(history: UnitHistory, found: str, treatment: str | None = "t0") -> UnitHistory:
    back = Comeback("c", history.unit.id, "2026-04-01", "again", found, treatment_id=treatment)
    return replace(history, comebacks=(back,))


@pytest.mark.parametrize(
    ("found", "held"),
    [("same fault", False), ("another fault", True), ("nothing found", True), ("not looked at", True)],
)
def test_a_cure_that_was_counted_as_held_counts_as_failed_once_the_same_fault_came_back(found: str, held: bool) -> None:
    history = came_back(cured(), found, "t0" if found == "same fault" else None)
    for one in (cured(), history):
        trials = trials_from([one], GUIDE, lambda _: SHEET)
        assert {trial.cured for trial in trials} == ({True} if one is not history else {held})
    assert cured_by_cleaning(history) is (None if cured_by_cleaning(cured()) is None else held)
    assert bool(failed_cures(history)) is not held


def test_the_rate_of_success_learns_from_it() -> None:
    method = next(m for m in GUIDE.treatments if m.kind == "clean the sensor")
    role = next(iter(method.cures))
    codes = frozenset({"spikes", "reversal"})

    def mean(history: UnitHistory) -> float:
        return rate_of(method, role, "Plover T2", codes, trials_from([history], GUIDE, lambda _: SHEET)).mean

    assert mean(came_back(cured(), "same fault")) < rate_of(method, role, "Plover T2", codes, ()).mean < mean(cured())


@pytest.mark.parametrize(
    ("sold", "back", "lost", "price"),
    [
        # by hand: (k + ½)/(n + 1) · lost/k off € 32.00
        pytest.param(9, 0, 0, 3200, id="none came back"),
        pytest.param(9, 1, 1200, 3200 - 180, id="one of nine, 1.5/10 of € 12.00"),
        pytest.param(4, 2, 2000, 3200 - 500, id="two of four, 2.5/5 of € 10.00 each"),
        pytest.param(9, 1, -500, 3200, id="one that was kept at a lower price cost nothing"),
        pytest.param(1, 1, 900_000, 0, id="never less than nothing"),
    ],
)
def test_what_a_sale_should_bring_is_less_by_what_returns_cost(sold: int, back: int, lost: int, price: int) -> None:
    guide = replace(GUIDE, values=Values(3200, 1100, 700), values_of={}, currency="EUR")
    learned = with_returns(guide, [SoldOfModel("Plover T2", sold, back, lost, "EUR")])
    assert expected_price(Unit("u", "A", "Plover T2", becomes="ready"), learned) == price
    assert expected_price(Unit("u", "A", "Another", becomes="ready"), learned) == 3200
    assert with_returns(guide, [SoldOfModel("Plover T2", 9, 3, 900, "CHF")]) == guide, "another currency is not added"


@pytest.mark.parametrize(
    ("sold", "days", "now", "longer"),
    [
        pytest.param(20, (), 3, 3, id="none came back"),
        pytest.param(4, (9,), 3, 3, id="one is no sign"),
        pytest.param(6, (9, 12), 3, 7, id="two of six: lower bound 0.13"),
        pytest.param(6, (9, 12), 5, 10, id="twice what it is"),
        pytest.param(60, (9, 12), 3, 3, id="two of sixty: lower bound 0.01"),
    ],
)
def test_a_longer_rest_is_proposed_where_cures_come_back(
    sold: int, days: tuple[int, ...], now: int, longer: int
) -> None:
    assert longer_rest(HeldOfKind("clean the sensor", sold, days), now) == longer
