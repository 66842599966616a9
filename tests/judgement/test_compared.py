"""What counts as better or worse than before."""

from __future__ import annotations

import pytest

from station.checks.types import Assessment, Outcome, Reading
from station.judgement.compared import change
from station.records.types import Result

PASS, NEAR, FAIL, CUT = Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL, Outcome.INTERRUPTED


def tried(outcome: Outcome, value: float | None = None, u: float = 0.3, rule: str = "<=") -> Result:
    readings = () if value is None else (Reading("r", value, "%", u, 5.0, 10.0, rule),)  # type: ignore[arg-type]
    return Result("1", "v", "rest", "left_stick", 1, "2026-11-20", Assessment(outcome, readings))


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        pytest.param(tried(FAIL), tried(PASS), "better", id="cured"),
        pytest.param(tried(PASS), tried(NEAR), "worse", id="no longer a clear pass"),
        pytest.param(tried(PASS, 1.0), tried(PASS, 4.0), "", id="both pass: nothing to tell"),
        # hand-worked: root of 0.3 squared + 0.4 squared = 0.5
        pytest.param(tried(FAIL, 12.0, 0.3), tried(FAIL, 11.4, 0.4), "better", id="0.6 less, the uncertainty is 0.5"),
        pytest.param(tried(FAIL, 12.0, 0.3), tried(FAIL, 11.6, 0.4), "", id="0.4 less is within it"),
        pytest.param(tried(FAIL, 80.0, rule=">="), tried(FAIL, 84.0, rule=">="), "better", id="more reach is better"),
        pytest.param(tried(FAIL, 80.0, rule=">="), tried(FAIL, 70.0, rule=">="), "worse", id="less reach is worse"),
        pytest.param(tried(FAIL, 9, 0.0), tried(FAIL, 2, 0.0), "", id="counts that fail both times say nothing"),
        pytest.param(tried(FAIL), tried(CUT), "", id="an interrupted try has no verdict"),
        pytest.param(None, tried(PASS), "", id="nothing before"),
    ],
)
def test_better_or_worse(before: Result | None, after: Result, expected: str) -> None:
    assert change(before, after, "r") == expected
