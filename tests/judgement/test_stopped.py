"""What a look saw that keeps a unit from the plug stays until another look, or until it is taken back."""

from __future__ import annotations

import pytest

from station.checks.ask import LOOK, looked_over
from station.checks.types import Assessment, Outcome
from station.judgement.look import stopped_by, to_look_over
from station.records.types import Result, Unit, UnitHistory, Visit

SAW, SKIP, GOOD = looked_over("bulging"), Assessment(Outcome.NOT_DONE), looked_over()
CUT, OTHER = Assessment(Outcome.INTERRUPTED), looked_over("wet")
VISITS = (
    Visit("v1", "u", "intake", 1, "2026-11-20T10:00:00Z", "2026-11-20T10:30:00Z"),
    Visit("v2", "u", "final", 2, "2026-11-21T10:00:00Z"),
)


def told(*looks: Assessment, visits: tuple[str, ...] = ("v1", "v1", "v1")) -> UnitHistory:
    """One answer to the look a minute; what is no verdict was set by hand."""
    results = tuple(
        Result(
            f"r{n}", visit, LOOK.name, "", n + 1, f"2026-11-2{visit[1]}T10:0{n}:00Z", said, by_hand=said is SKIP,
            reason="later" if said is SKIP else "",
        )
        for n, (said, visit) in enumerate(zip(looks, visits, strict=False))
    )  # fmt: skip
    return UnitHistory(Unit("u", "A-1", "Plover T2"), None, VISITS, results)


@pytest.mark.parametrize(
    ("history", "sign"),
    [
        pytest.param(told(SAW), "bulging", id="seen"),
        pytest.param(told(SAW, SKIP), "bulging", id="then skipped"),
        pytest.param(told(SAW, SKIP, SKIP), "bulging", id="skipped twice"),
        pytest.param(told(SAW, SKIP, visits=("v1", "v2")), "bulging", id="skipped in a later visit"),
        pytest.param(told(SAW, CUT), "bulging", id="then interrupted"),
        pytest.param(told(SAW, OTHER), "wet", id="then another sign"),
        pytest.param(told(SAW, SKIP, GOOD), "", id="looked over again"),
        pytest.param(told(SAW, Assessment(Outcome.FAIL)), "", id="then something that stops nothing"),
        pytest.param(told(GOOD, SKIP), "", id="nothing seen, then skipped"),
        pytest.param(told(SKIP), "", id="only skipped: what was withdrawn is not there"),
    ],
)
def test_a_stop_stays_until_another_answer(history: UnitHistory, sign: str) -> None:
    assert stopped_by(history) == sign
    assert not sign or to_look_over(history)
