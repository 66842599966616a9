"""What a certificate that was written still is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.judgement.issued import gaps, states_of
from station.records.types import Issued, Withdrawal


def one(number: int, unit: str = "u1", bench: str = "b1") -> Issued:
    at = f"2026-03-09T10:{number:02d}:00.000Z"
    return Issued(f"{bench}{number}", unit, bench, number, f"{bench}-{number}", at, "", "", "")


def by(reason: str) -> Withdrawal:
    return Withdrawal("w", "certificate", "", "2026-03-10T10:00:00.000Z", reason)


@pytest.mark.parametrize(
    ("issued", "withdrawn", "wanted"),
    [
        pytest.param([one(1)], {}, [("genuine", "", "")], id="the only one"),
        pytest.param(
            [one(1), one(2)], {}, [("replaced", "b1-2", ""), ("genuine", "", "")], id="the latest of a unit holds"
        ),
        pytest.param([one(1), one(2, "u2")], {}, [("genuine", "", "")] * 2, id="of another unit"),
        pytest.param([one(1)], {"b11": "wrong unit"}, [("withdrawn", "", "wrong unit")], id="withdrawn"),
        pytest.param(
            [one(1), one(2)],
            {"b12": "wrong unit"},
            [("replaced", "b1-2", ""), ("withdrawn", "", "wrong unit")],
            id="what was replaced does not hold again when the later one is withdrawn",
        ),
        pytest.param(
            [one(1), one(2)],
            {"b11": "wrong unit"},
            [("withdrawn", "b1-2", "wrong unit"), ("genuine", "", "")],
            id="withdrawn and written again",
        ),
        pytest.param(
            [one(2), one(1)], {}, [("genuine", "", ""), ("replaced", "b1-2", "")], id="in whatever order they come"
        ),
        pytest.param(
            [one(1), replace(one(2), at="2026-03-08T10:00:00.000Z")],
            {},
            [("replaced", "b1-2", ""), ("genuine", "", "")],
            id="the clock was set back between them",
        ),
        pytest.param(
            [one(1), one(2, bench="b2")], {}, [("replaced", "b2-2", ""), ("genuine", "", "")], id="of another bench"
        ),
    ],
)
def test_what_each_is_now(issued, withdrawn, wanted) -> None:
    found = states_of(issued, {row: by(reason) for row, reason in withdrawn.items()})
    assert [(each.state, each.replaced_by, each.reason) for each in found] == wanted


def test_a_number_that_is_missing_or_stands_twice_is_named() -> None:
    assert gaps([one(1), one(2), one(1, bench="b2")]) == ()
    assert gaps([one(1), one(3), one(3, "u2")]) == (("b1", 2), ("b1", 3))
