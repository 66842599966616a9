"""Claims by where lots come from."""

from __future__ import annotations

from station.lots.sources import claims_of, source_of
from station.records.types import Lot


def lot(name: str, source: str = "", seller: str = "") -> Lot:
    return Lot(name, name, "2026-11-28", seller, source=source)


def test_the_claims_of_a_source_are_counted_over_its_lots() -> None:
    lots = [
        (lot("A", "Market"), ["confirmed", "confirmed", "open"]),
        (lot("B", "market"), ["not found", "something else", "confirmed"]),
        (lot("C", "Wholesaler"), ["not found"] * 9),
        (lot("D", "Market"), []),
    ]
    found = claims_of("Market", lots)
    assert found is not None
    assert (found.lots, found.claims) == (2, 6)
    assert {state: (part.k, part.n) for state, part in found.states} == {
        "confirmed": (3, 5), "not found": (1, 5), "something else": (1, 5),
    }  # fmt: skip
    assert found.sentence() == (
        "Claims of Market, 2 lots: confirmed 3 of 5 (23–88 %), not found 1 of 5 (4–62 %), "
        "something else 1 of 5 (4–62 %); not judged yet: 1."
    )


def test_nothing_is_said_while_none_is_judged_or_nobody_knows_the_source() -> None:
    assert claims_of("Market", [(lot("A", "Market"), ["open", "open"])]) is None
    assert claims_of("", [(lot("A"), ["confirmed"])]) is None


def test_without_a_source_it_is_the_seller() -> None:
    assert source_of(lot("A", seller="Ines")) == "Ines"
    assert source_of(lot("A", "Market", "Ines")) == "Market"
