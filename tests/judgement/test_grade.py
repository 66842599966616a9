"""What a unit may be called, case by case."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.checks.house import Grade, House
from station.checks.types import Assessment, Outcome, Reading
from station.judgement.grade import Grading, grading_of, headline, kept_from
from station.judgement.limits import standard
from station.records.types import Result, Treatment, Unit, UnitHistory, Visit
from station.sheets.model import Control, Part, Sheet

SHEET = Sheet(
    "Plover T2",
    controls=(
        Control("left_stick", "stick", "Left stick", "left hand"),
        Control("left_shoulder", "button", "Left shoulder", "top"),
    ),
    parts=(Part("left_stick_x_sensor", "Stick sensor, horizontal", ("left_stick.x",)),),
)
REST, LIGHT, LOOK = ("rest", "left_stick"), ("light", "left_shoulder"), ("look", "")
WANTED = (REST, LIGHT, LOOK)
HOUSE = House(
    standard().limits,
    (
        Grade("as new", {"rest": {"offset": (3.0, 6.0)}}, second_test=True),
        Grade("good"),
        Grade("fair", {"rest": {"offset": (10.0, 15.0)}}),
        Grade("sold with faults", faults=True),
    ),
)
PASS, BORDERLINE, FAIL = Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL


def rest(value: float, u: float, outcome: Outcome, limit: tuple[float, float] = (5.0, 10.0)) -> Assessment:
    return Assessment(
        outcome,
        (
            Reading("offset", value, "%", u, *limit),
            Reading("offset_x", value, "%", u),
            Reading("noise_rms_x", 0.1, "%", 0.01, 0.45, 1.2),
        ),
    )


def light(outcome: Outcome, stays: float = 0.0, limit: tuple[float, float] = (0.0, 2.0)) -> Assessment:
    return Assessment(outcome, (Reading("beats", 31.0, ""), Reading("stays_closed", stays, "", 0.0, *limit)))


SOUND = {REST: rest(1.0, 0.3, PASS), LIGHT: light(PASS), LOOK: Assessment(PASS)}


def history(
    found: dict[tuple[str, str], Assessment], *by_hand: tuple[str, str], unit: Unit | None = None,
    treatments: tuple[Treatment, ...] = (),
) -> UnitHistory:  # fmt: skip
    visit = Visit("v", "u", "intake", 1, "2026-03-06T10:00:00Z", "2026-03-06T10:30:00Z")
    results = tuple(
        Result(str(n), "v", *key, 1, f"2026-03-06T10:{n:02d}:00Z", done, by_hand=key in by_hand)
        for n, (key, done) in enumerate(found.items(), 1)
    )
    return UnitHistory(unit or Unit("u", "SM-01", "Plover T2"), None, (visit,), results, treatments)


def graded(told: UnitHistory, house: House = HOUSE, sheet: Sheet = SHEET, wanted=WANTED) -> Grading:
    return grading_of(told, wanted, sheet, house)


BY_A_HAIR = "left stick, at rest: off centre 2.80 ± 0.30 %, should be at most 3 % (borderline)"
ALL_FAIL = {REST: rest(14.0, 0.3, FAIL), LIGHT: light(FAIL), LOOK: Assessment(FAIL)}
CASES: dict[str, tuple[dict[tuple[str, str], Assessment], str, str]] = {
    "sound": ({}, "as new", ""),
    "inside by less than U": ({REST: rest(2.8, 0.3, PASS)}, "good", BY_A_HAIR),
    "inside by just U": ({REST: rest(2.69, 0.3, PASS)}, "as new", ""),
    "outside as new": ({REST: rest(4.0, 0.3, PASS)}, "good", "should be at most 3 %"),
    "borderline": ({REST: rest(4.8, 0.3, BORDERLINE)}, "fair", "4.80 ± 0.30 %, should be at most 5 % (borderline)"),
    "failed, within fair": ({REST: rest(7.0, 0.3, FAIL)}, "fair", "not “good”: left stick, at rest"),
    "failed for good": ({REST: rest(14.0, 0.3, FAIL)}, "sold with faults", "should be at most 10 %"),
    "misses": ({LIGHT: light(FAIL)}, "sold with faults", "left shoulder, light press: fail"),
    "misses cannot be told": ({LIGHT: light(BORDERLINE)}, "sold with faults", "left shoulder, light press: borderline"),
    "two reasons": (ALL_FAIL, "sold with faults", "and 1 more"),
    "earlier limit was stricter": ({REST: rest(4.0, 0.3, FAIL, (2.0, 3.0))}, "good", ""),
    "earlier limit was looser": ({REST: rest(7.0, 0.3, PASS, (9.0, 12.0))}, "fair", "should be at most 5 %"),
}  # fmt: skip


@pytest.mark.parametrize(("found", "grade", "why"), CASES.values(), ids=CASES)
def test_the_best_grade_whose_limits_are_kept(found, grade: str, why: str):
    grading = graded(history(SOUND | found))
    assert headline(grading) == grade
    assert why in kept_from(grading, SHEET).replace("\N{NO-BREAK SPACE}", " ")
    assert bool(kept_from(grading, SHEET)) == (grade != "as new")


WITHOUT = {
    "never tried": {key: done for key, done in SOUND.items() if key != LOOK},
    "again": SOUND | {REST: replace(SOUND[REST], outcome=Outcome.NOT_DONE, again="again, please: slower")},
    "interrupted": SOUND | {REST: replace(SOUND[REST], outcome=Outcome.INTERRUPTED)},
}


@pytest.mark.parametrize("found", WITHOUT.values(), ids=WITHOUT)
def test_a_unit_with_a_check_missing_has_no_grade(found):
    grading = graded(history(found))
    assert grading.grade is None
    assert headline(grading) == "not graded: 1 of 3 not tested"


def test_one_that_was_skipped_is_missing():
    skipped = SOUND | {LOOK: Assessment(Outcome.NOT_DONE)}
    assert headline(graded(history(skipped, LOOK))) == "not graded: 1 of 3 not tested"


def test_one_that_is_older_than_a_treatment_is_missing():
    after = Treatment("t", "u", "clean from outside", "2026-03-07T10:00:00Z", "Stick sensor, horizontal")
    assert headline(graded(history(SOUND, treatments=(after,)))) == "not graded: 1 of 3 not tested"


def test_a_result_set_by_hand_stands_as_it_was_set():
    out = SOUND | {REST: rest(14.0, 0.3, PASS)}
    assert headline(graded(history(out, REST))) == "as new"
    bad = graded(history(SOUND | {REST: rest(1.0, 0.3, FAIL)}, REST))
    assert headline(bad) == "sold with faults"
    assert "left stick, at rest: fail, set by hand" in kept_from(bad, SHEET)


def test_presses_on_request_are_not_asked_for_but_count():
    wanted = (*WANTED, ("firm_press", "left_shoulder"))
    assert headline(graded(history(SOUND), wanted=wanted)) == "as new"
    failed = graded(history(SOUND | {("firm_press", "left_shoulder"): light(FAIL)}), wanted=wanted)
    assert headline(failed) == "sold with faults"


def test_a_check_that_is_no_longer_listed_counts():
    gone = SOUND | {("sweep", "left_stick"): Assessment(FAIL, (Reading("gap_x", 9.0, "%", 0.1, 3.0, 8.0),))}
    assert headline(graded(history(gone))) == "sold with faults"


def test_the_second_test_is_asked_for():
    unit = Unit("u", "SM-01", "Plover T2", rest_until="2026-04-01")
    grading = graded(history(SOUND, unit=unit))
    assert headline(grading) == "good"
    assert kept_from(grading, SHEET) == "not “as new”: the second test is still due"


def test_the_sheet_has_the_last_word_over_a_grade():
    sheet = replace(SHEET, limits={"rest": {"offset": (6.0, 9.0)}})
    assert headline(graded(history(SOUND | {REST: rest(4.0, 0.3, PASS)}), sheet=sheet)) == "as new"


def test_what_the_check_chose_not_to_judge_no_grade_judges():
    unjudged = Reading("noise_rms_x", 9.0, "%", 0.1)
    quiet = replace(SOUND[REST], readings=(SOUND[REST].readings[0], unjudged))
    assert headline(graded(history(SOUND | {REST: quiet}))) == "as new"


def test_a_limit_that_only_a_grade_gives_is_asked():
    house = replace(HOUSE, grades=(Grade("silent", {"rest": {"noise_pp": (1.0, 2.0)}}), *HOUSE.grades[1:]))
    noisy = replace(SOUND[REST], readings=(*SOUND[REST].readings, Reading("noise_pp_y", 1.5, "%", 0.1)))
    assert headline(graded(history(SOUND | {REST: noisy}), house)) == "good"
    assert headline(graded(history(SOUND), house)) == "silent"


def test_below_the_lowest_grade_there_is_none():
    grading = graded(history(SOUND | {REST: rest(14.0, 0.3, FAIL)}), replace(HOUSE, grades=HOUSE.grades[:3]))
    assert headline(grading) == "not graded: outside “fair”, the lowest grade"
    assert kept_from(grading, SHEET).startswith("not “fair”: left stick, at rest: off centre 14.00")


def test_with_limits_that_cannot_be_used_nothing_is_graded():
    assert (
        headline(graded(history(SOUND), replace(HOUSE, problem="no"))) == "not graded: the shop's limits cannot be used"
    )


def test_with_a_sheet_whose_limits_cannot_be_used_nothing_is_graded():
    sheet = replace(SHEET, limits={"rest": {"offset": (9.0, 1.0)}})
    assert headline(graded(history(SOUND), sheet=sheet)) == "not graded: the limits of its model sheet cannot be used"


def test_without_a_list_of_checks_nothing_is_graded():
    assert headline(graded(history(SOUND), wanted=())) == "not graded: no model sheet says what is to be tested"
