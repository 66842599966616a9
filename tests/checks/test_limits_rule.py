"""The limits of a sheet decide: nothing fails, and nothing is found, of a count that they allow."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from station.checks.contact import ContactCheck
from station.checks.decide import judged, reading_outcome
from station.checks.hat import HatCheck
from station.checks.hold import HoldCheck
from station.checks.light import LightCheck
from station.checks.sweep import Sweep
from station.checks.types import Assessment, Check, Limits, Outcome, Reading, Take
from tests.checks import axis_moves
from tests.checks.button_moves import HAT, LEFT, LIMITS, beats, contact, hat, presses_at, take

THREE = presses_at([500, 1000, 1500])


def _with(check: str, table: Mapping[str, tuple[float, float]], limits: Limits = LIMITS) -> Limits:
    return {**limits, check: {**limits[check], **table}}


def _crosstalk(others: int) -> Take:
    also = contact([(a + 5, b + 5) for a, b in THREE], 3000.0)
    signals = {
        LEFT.id: contact(THREE, 3000.0),
        **dict.fromkeys(("right_shoulder", "menu", "left_paddle")[:others], also),
    }
    return take(LEFT, signals, 3000.0)


def _hold(dropouts: int) -> Take:
    edges = [500.0, *(1000.0 + 500.0 * k + d for k in range(dropouts) for d in (0.0, 30.0)), 6500.0]
    return take(LEFT, {LEFT.id: contact(list(zip(edges[::2], edges[1::2], strict=True)), 6500.0)}, 6500.0)


def _hat(directions: list[int], end: int = -1) -> Take:
    steps = [(0.0, -1), *((500.0 + 120.0 * k, d) for k, d in enumerate(directions))]
    return take(HAT, {HAT.id: hat([*steps, (500.0 + 120.0 * len(directions), end)])}, 4000.0)


def _fold() -> Take:
    return axis_moves.DEVICES[0].stick(
        axis_moves.sweeps(), fault=lambda t, x: x - 18.0 * np.exp(-0.5 * ((x - 40.0) / 4.0) ** 2)
    )


NO_UP = [-1, 2, 3, 4, 5, 6, -1]
CASES = {
    "one control moves along, one is allowed": (ContactCheck(), _crosstalk(1), "others", (1, 2), Outcome.PASS),
    "two move along, one is allowed": (ContactCheck(), _crosstalk(2), "others", (1, 2), Outcome.BORDERLINE),
    "one dropout, one is allowed": (HoldCheck(), _hold(1), "dropouts", (1, 2), Outcome.PASS),
    "two dropouts, one is allowed": (HoldCheck(), _hold(2), "dropouts", (1, 2), Outcome.BORDERLINE),
    "five directions, five are asked for": (HatCheck(), _hat(NO_UP), "directions", (5, 4.5), Outcome.PASS),
    "never at rest, and need not be": (HatCheck(), _hat(list(range(8)), end=7), "null_returns", (0, 0), Outcome.PASS),
}


@pytest.mark.parametrize(("check", "evidence", "name", "pair", "outcome"), CASES.values(), ids=CASES)
def test_a_sheet_that_allows_it_is_obeyed(
    check: Check, evidence: Take, name: str, pair: tuple[float, float], outcome: Outcome
) -> None:
    shipped = check.assess(evidence, LIMITS)
    assert shipped.outcome is Outcome.FAIL
    assert shipped.findings
    found = check.assess(evidence, _with(check.name, {name: pair}))
    assert (found.outcome, found.again) == (outcome, "")
    assert bool(found.findings) == (outcome is not Outcome.PASS)


def test_reversals_that_a_sheet_allows_are_no_finding() -> None:
    shipped = Sweep().assess(_fold(), axis_moves.LIMITS)
    assert "reversal" in {f.code for f in shipped.findings}
    allowed = Sweep().assess(_fold(), _with("sweep", {"reversals": (12, 20)}, axis_moves.LIMITS))
    assert "reversal" not in {f.code for f in allowed.findings}


def test_a_contact_that_stays_closed_in_the_end_has_not_been_released_three_times() -> None:
    evidence = take(LEFT, {LEFT.id: contact([*THREE, (2000, 9000)], 6000.0)}, 6000.0)
    found = ContactCheck().assess(evidence, LIMITS)
    assert (found.outcome, [f.code for f in found.findings]) == (Outcome.FAIL, ["stuck"])
    released = next(r for r in found.readings if r.name == "released")
    assert released.value == 2
    assert released.reason


@pytest.mark.parametrize(
    ("value", "u", "pair", "outcome", "said"),
    [
        (4.8, 0.4, (5.0, 10.0), Outcome.BORDERLINE, "inside its limit by less than its uncertainty"),
        (5.2, 0.4, (5.0, 10.0), Outcome.BORDERLINE, "outside its limit by less than its uncertainty"),
        (94.9, 0.4, (95.0, 88.0), Outcome.BORDERLINE, "outside its limit by less than its uncertainty"),
        (1.0, 0.0, (0.0, 2.0), Outcome.BORDERLINE, "outside its limit and not beyond where it fails"),
        (4.0, 0.4, (5.0, 10.0), Outcome.PASS, ""),
        (11.0, 0.4, (5.0, 10.0), Outcome.FAIL, ""),
    ],
)
def test_what_is_borderline_says_why(
    value: float, u: float, pair: tuple[float, float], outcome: Outcome, said: str
) -> None:
    (plain,) = judged("rest", [Reading("offset", value, "%", u)], {"rest": {"offset": pair}})
    assert (reading_outcome(plain), plain.reason) == (outcome, said)
    (noted,) = judged("rest", [Reading("offset", value, "%", u, reason="as it is")], {"rest": {"offset": pair}})
    assert noted.reason == (f"{said}; as it is" if said else "as it is")
    assert judged("rest", [noted], {"rest": {"offset": pair}}) == (noted,)


# --- a finger on another button -------------------------------------------------------------------------------


def _on_beats(missed: set[int], elsewhere: set[int], brushed: set[int] = frozenset(), count: int = 40) -> Assessment:
    at = beats(count)
    end = at[-1] + 600.0
    own = presses_at([b for k, b in enumerate(at) if k not in missed])
    other = presses_at([b for k, b in enumerate(at) if k in elsewhere | brushed])
    return LightCheck().assess(
        take(LEFT, {LEFT.id: contact(own, end), "menu": contact(other, end)}, end, beats_ms=at), LIMITS
    )


def test_beats_given_to_another_button_are_left_out_and_said() -> None:
    found = _on_beats({3, 9, 15, 22}, {3, 9, 15, 22})
    counts = {r.name: r.value for r in found.readings}
    assert (found.outcome, counts["missed"], counts["beats"]) == (Outcome.PASS, 0, 36)
    assert "four beats on which another button was pressed" in next(
        r.reason for r in found.readings if r.name == "beats"
    )


def test_a_button_that_is_brushed_along_excuses_no_miss() -> None:
    found = _on_beats({3, 9, 15, 22}, {3, 9}, brushed={1, 2, 4, 5})
    assert {r.name: r.value for r in found.readings}["missed"] == 4
    assert found.outcome is Outcome.FAIL


def test_a_person_who_presses_another_button_all_the_time_is_told_so() -> None:
    all_but_two = set(range(40)) - {0, 1}
    assert "press left shoulder" in _on_beats(all_but_two, all_but_two).again


def test_three_presses_of_another_button_are_no_dead_contact() -> None:
    signals = {LEFT.id: contact([], 3000.0), "menu": contact(THREE, 3000.0)}
    found = ContactCheck().assess(take(LEFT, signals, 3000.0), LIMITS)
    assert found.outcome is Outcome.NOT_DONE
    assert "menu was pressed" in found.again
