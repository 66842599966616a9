"""What was measured last says of a bad check what was bad about it."""

from __future__ import annotations

import pytest

from station.checks.types import Assessment, Outcome, Reading
from station.records.types import Result, Unit, UnitHistory, Visit
from station.ui.live.last import last_lines

UNIT = Unit("unit-4", "SM-07-04", "Plover T2")
VISIT = Visit("visit-1", "unit-4", "intake", 1, "2026-11-25T09:00:00Z")
COUNTED = (Reading("beats", 6.0, "count"), Reading("missed", 2.0, "count"))
NEITHER = Reading("slips", 0.0, "count", limit=0.0)
"""a reading of the same try that is as it should be"""


@pytest.mark.parametrize("check", ["light", "firm_press"])
def test_of_presses_that_fail_the_faulty_ones_are_told(check: str) -> None:
    failed = Assessment(Outcome.FAIL, (*COUNTED, NEITHER))
    result = Result("r-1", VISIT.id, check, "left_shoulder", 1, "2026-11-25T09:01:00Z", failed)
    (line,) = last_lines(
        UnitHistory(UNIT, None, visits=(VISIT,), results=(result,)), {"left_shoulder": "Left shoulder"}
    )
    assert line.cells[2:4] == ("2 of 6 faulty", "")
