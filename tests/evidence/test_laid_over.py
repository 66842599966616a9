"""Two tries beside each other, and today's measure on kept reports."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.checks.types import Assessment, Finding, Outcome, Reading
from station.errors import CaptureError
from station.evidence.again import differences, measured_again
from station.evidence.assess import assess_capture
from station.evidence.kept import take_from
from station.evidence.laid_over import (
    OtherTry,
    beside_told,
    change_told,
    difference_told,
    good_try,
    may_lie_over,
    other_told,
    tries_beside,
    try_before,
)
from station.judgement.limits import in_force
from station.records.types import Result, Unit, UnitHistory, Visit
from station.words import evidence_room as words
from tests.checks import axis_moves
from tests.checks.made_captures import BEATS_MS, SHEET, Script, X, Y, button, presses, stick_moves

HASH = "0" * 64


def _offset(value: float, u: float = 0.3, limit: float | None = 5.0) -> Reading:
    return Reading("offset", value, "%", u, limit, None if limit is None else 2 * limit)


def _rest(outcome: Outcome, *readings: Reading, **more) -> Result:
    made = Result("r", "v2", "rest", "left_stick", 1, "2026-11-28T10:00:00Z", Assessment(outcome, readings), HASH)
    return replace(made, **more)


def test_what_changed_is_said_with_the_verdict():
    before, after = _rest(Outcome.FAIL, _offset(12.8)), _rest(Outcome.PASS, _offset(1.2))
    assert change_told(before, after) == ("off centre 12.80\u00a0% → 1.20\u00a0%, now passes",)
    assert change_told(after, before) == ("off centre 1.20\u00a0% → 12.80\u00a0%, now fails",)
    assert change_told(after, after) == ("off centre 1.20\u00a0% → 1.20\u00a0%, passes as before",)


def test_what_changed_sides_comes_first_and_what_is_not_judged_is_left_out():
    noise = Reading("noise_rms_x", 0.1, "%", 0.01, 0.5, 1.0)
    angle = Reading("offset_angle", 90.0, "°")
    told = change_told(
        _rest(Outcome.FAIL, noise, _offset(12.0), angle), _rest(Outcome.PASS, noise, _offset(1.0), angle)
    )
    assert [line.split(" ")[-1] for line in told] == ["passes", "before"]


def test_a_reading_that_could_not_be_had_is_not_compared():
    unknown = _rest(Outcome.FAIL, replace(_offset(1.0), value=None))
    assert change_told(unknown, _rest(Outcome.PASS, _offset(1.0))) == ("at rest: fail → pass",)


def _light(outcome: Outcome, missed: int, at: str) -> Result:
    """A press check, which is judged by what is counted together: its readings have no limits of their own."""
    found = (
        Finding("misses", "", params={"who": "left shoulder", "strength": "light", "faulty": missed, "counted": 20}),
    )
    readings = (Reading("missed", missed, "count"), Reading("beats", 20, "count"))
    return _rest(outcome, check="light", at=at, assessment=Assessment(outcome, readings, found if missed else ()))


def test_what_no_single_reading_decides_is_told_by_its_findings():
    before, after = (_light(o, n, "2026-11-28T10:00:00Z") for o, n in ((Outcome.FAIL, 7), (Outcome.PASS, 0)))
    first, second = change_told(before, after)
    assert first == "light press: fail → pass"
    assert second.startswith("before: left shoulder: ")
    assert "7 of 20" in second
    assert change_told(before, _light(Outcome.FAIL, 3, "2026-11-28T11:00:00Z"))[0].startswith("before: left shoulder: ")
    assert change_told(after, after) == ()
    (here,) = difference_told(after, before)
    assert here.startswith("here: left shoulder: ")


@pytest.mark.parametrize("looked_at", [0, 1])
def test_the_earlier_try_is_the_one_before_whichever_is_looked_at(looked_at: int):
    unit, visit = Unit("u", "A-1", "m"), Visit("v1", "u", "intake", 1, "2026-11-21T10:00:00Z")
    tries = (
        _rest(Outcome.FAIL, _offset(12.8), at="2026-11-21T10:00:00Z"),
        _rest(Outcome.PASS, _offset(1.2), at="2026-11-22T10:00:00Z"),
    )
    told = beside_told(OtherTry(unit, visit, tries[1 - looked_at]), tries[looked_at], unit)
    assert told == ("off centre 12.80\u00a0% → 1.20\u00a0%, now passes",)


def _history(*results: Result) -> UnitHistory:
    visits = tuple(Visit(f"v{k}", "u", "intake", k, f"2026-11-2{k}T10:00:00Z") for k in (1, 2))
    return UnitHistory(Unit("u", "A-1", "m"), None, visits, results)


def test_the_try_of_the_visit_before_is_laid_over():
    first, second = (_rest(Outcome.FAIL, id=n, visit_id="v1", at=f"2026-11-21T1{n}:00:00Z") for n in "12")
    third, now = (_rest(Outcome.PASS, id=n, visit_id="v2", at=f"2026-11-22T1{n}:00:00Z") for n in "34")
    history = _history(first, second, third, now)
    assert try_before(history, now) == second
    assert try_before(_history(third, now), now) == third
    assert try_before(_history(now), now) is None
    assert try_before(_history(replace(second, capture_sha256=""), now), now) is None
    assert not may_lie_over(now, replace(second, control="right_stick"))


def test_every_other_try_of_the_unit_may_be_chosen_the_one_to_compare_with_first():
    results = [
        _rest(Outcome.PASS, id=n, visit_id=f"v{v}", at=f"2026-11-2{v}T1{n}:00:00Z")
        for n, v in (("1", 1), ("2", 1), ("3", 2), ("4", 2))
    ]
    history = _history(*results)
    assert [o.result.id for o in tries_beside(history, results[3])] == ["2", "3", "1"]
    assert [o.visit.id for o in tries_beside(history, results[3])] == ["v1", "v2", "v1"]
    assert [o.result.id for o in tries_beside(history, results[0])] == ["4", "3", "2"]


def test_the_difference_to_a_good_unit_is_said_with_what_fails_first():
    noise = Reading("noise_rms_x", 0.1, "%", 0.01, 0.5, 1.0)
    told = difference_told(_rest(Outcome.PASS, noise, _offset(1.2)), _rest(Outcome.FAIL, noise, _offset(12.8)))
    assert told[0] == "off centre 1.20\u00a0% there, 12.80\u00a0% here, which fails"
    assert told[1].endswith("which passes too")


REST = ("rest", "left_stick")


@pytest.mark.parametrize(
    ("results", "good"),
    [
        ((_rest(Outcome.PASS),), True),
        ((_rest(Outcome.FAIL),), False),
        ((_rest(Outcome.PASS, capture_sha256=""),), False),
        ((_rest(Outcome.PASS, by_hand=True),), False),
        ((_rest(Outcome.PASS), _rest(Outcome.FAIL, check="look", control="")), False),
        ((_rest(Outcome.FAIL, visit_id="v1"), _rest(Outcome.PASS)), True),
        ((_rest(Outcome.PASS, control="right_stick"),), False),
        ((), False),
    ],
    ids=[
        "passed", "failed", "no reports", "set by hand", "failed elsewhere", "mended since", "another stick", "nothing",
    ],
)  # fmt: skip
def test_a_good_unit_is_one_that_passed_everything(results, good):
    assert (good_try(results, REST) is not None) is good


def test_whose_try_it_is_is_said_where_it_is_another_unit():
    result, visit = _rest(Outcome.PASS), Visit("v2", "u", "intake", 1, "2026-11-22T10:00:00Z")
    mine, other = Unit("u", "A-1", "m"), Unit("w", "B-2", "m")
    assert other_told(OtherTry(mine, visit, result), mine).startswith("intake, ")
    assert other_told(OtherTry(other, visit, result), mine).startswith("B-2, which passed everything (intake, ")


# --- measured again ------------------------------------------------------------------------------------------


def _measured(check: str, control: str, moves, **more):
    capture = Script().add(check, control, moves, **more).capture()
    (done,) = assess_capture(capture, SHEET).checks
    result = Result("r", "v", check, control, 1, "2026-11-28T10:00:00Z", done.assessment, HASH)
    return take_from(capture, result, SHEET), done.assessment


@pytest.mark.parametrize(
    ("check", "control", "moves", "more"),
    [
        ("sweep", "left_stick", stick_moves(axis_moves.sweeps(), X, Y), {}),
        ("rest", "left_stick", stick_moves(axis_moves.rest(0.5, 0.2), X, Y), {}),
        ("light", "key_15", {button(15): presses([b + 40 for b in BEATS_MS], 14_000, 120)}, {"beats_ms": BEATS_MS}),
    ],
    ids=["sweep", "rest", "light"],
)
def test_the_same_measure_says_the_same(check, control, moves, more):
    kept, recorded = _measured(check, control, moves, **more)
    now = measured_again(kept, in_force(SHEET))
    assert now == recorded
    (line,) = differences(recorded, now, check)
    assert "the same in every reading" in line


def test_other_limits_are_told_and_what_they_change():
    kept, recorded = _measured("rest", "left_stick", stick_moves(axis_moves.rest(2.0, 0.0), X, Y))
    assert recorded.outcome is Outcome.PASS
    limits = in_force(SHEET)
    tighter = {**limits, "rest": {**limits["rest"], "offset": (1.0, 1.5)}}
    told = differences(recorded, measured_again(kept, tighter), "rest")
    assert any("the limit was" in line and "off centre" in line for line in told)
    assert not any("the reports are the same" in line for line in told)


def test_another_value_is_told_as_another_measure():
    was, now = Assessment(Outcome.FAIL, (_offset(9.8),)), Assessment(Outcome.PASS, (_offset(1.2),))
    told = differences(was, now, "rest")
    assert words.AGAIN_OTHER.split("{")[0] in told[0]
    assert told.count(words.WHY_OTHER) == 1


def test_a_reading_or_finding_that_came_or_went_is_told():
    was = Assessment(
        Outcome.FAIL,
        (_offset(9.8), Reading("gone", 1.0, "")),
        (Finding("offset", "off", params={"who": "a", "offset": 9.8}),),
    )
    now = Assessment(Outcome.PASS, (_offset(9.8), Reading("offset_angle", 3.0, "°")), ())
    told = " ".join(differences(was, now, "rest"))
    assert "not recorded then" in told
    assert "not in the reports alone" in told
    assert "No longer found" in told


def test_what_a_person_answered_is_not_measured_again():
    kept, _ = _measured("rest", "left_stick", stick_moves(axis_moves.rest(0.5, 0.2), X, Y))
    asked = replace(kept, result=replace(kept.result, check="look"))
    with pytest.raises(CaptureError, match="cannot be measured again"):
        measured_again(asked, in_force(SHEET))


def test_a_recording_longer_than_any_try_is_drawn_and_not_judged(monkeypatch):
    from station.evidence import kept as module
    from station.evidence.draw import evidence_of

    capture = Script().add("sweep", "left_stick", stick_moves(axis_moves.sweeps(), X, Y)).capture()
    result = Result("r", "v", "sweep", "left_stick", 1, "2026-11-28T10:00:00Z", Assessment(Outcome.PASS), HASH)
    whole = evidence_of(take_from(capture, result, SHEET), in_force(SHEET))
    monkeypatch.setattr(module, "MOST_REPORTS", 1000)
    monkeypatch.setattr(module, "PIECE", 777)
    kept = take_from(capture, result, SHEET)
    long = evidence_of(kept, in_force(SHEET))
    for a, b in zip(long.over_time.lines, whole.over_time.lines, strict=True):
        np.testing.assert_array_equal(a.values, b.values)
        np.testing.assert_array_equal(a.t_ns, b.t_ns)
    assert long.looked.parts == ()
    assert words.TOO_LONG_TO_MARK in long.remark
    with pytest.raises(CaptureError):
        measured_again(kept, in_force(SHEET))
