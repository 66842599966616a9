"""Today's measure on kept reports: the same while nothing changed, and told where sheet, limits or measure did."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.checks.types import Assessment, Finding, Reading
from station.evidence.again import differences, measured_again, with_doubt
from station.evidence.assess import assess_capture
from station.evidence.draw import evidence_of
from station.evidence.kept import Kept, take_from
from station.evidence.told import summary
from station.judgement.limits import in_force
from station.records.types import Result
from station.sheets.model import Sheet
from station.words import evidence_room as words
from tests.checks import axis_moves
from tests.checks.made_captures import SHEET, Script, X, Y, stick_moves

LIMITS = in_force(SHEET)
SWAPPED = replace(
    SHEET, controls=tuple(replace(c, x=c.y, y=c.x) if c.id == "left_stick" else c for c in SHEET.controls)
)
"""another sheet of the same name, which the reports still fit"""


@pytest.fixture(scope="module")
def capture():
    moves = stick_moves(axis_moves.rest(0.5, 0.2), X, Y)
    moves[X] = moves[X] + 3.0
    return Script().add("rest", "left_stick", moves).capture()


@pytest.fixture(scope="module")
def recorded(capture) -> Assessment:
    (done,) = assess_capture(capture, SHEET).checks
    return done.assessment


def _kept(capture, recorded: Assessment, sheet: Sheet = SHEET, check: str = "rest") -> Kept:
    result = Result("r", "v", check, "left_stick", 1, "2026-11-28T10:00:00Z", recorded)
    return take_from(capture, result, sheet)


def test_reports_that_read_as_then_have_no_remark(capture, recorded):
    kept = _kept(capture, recorded)
    assert with_doubt(kept, LIMITS).remark == ""
    (line,) = differences(recorded, measured_again(kept, LIMITS), "rest")
    assert "the same in every reading" in line


def test_a_sheet_that_changed_and_still_fits_is_told_with_the_picture(capture, recorded):
    kept = with_doubt(_kept(capture, recorded, SWAPPED), LIMITS)
    assert kept.remark == words.READS_OTHERWISE
    assert words.READS_OTHERWISE in summary(evidence_of(kept, LIMITS))
    lines = differences(recorded, measured_again(kept, LIMITS), "rest")
    assert any(line.startswith("off centre, horizontal: recorded") for line in lines)
    assert lines.count(words.WHY_OTHER) == 1


def test_a_reading_that_was_recorded_otherwise_is_told(capture, recorded):
    first = recorded.readings[0]
    other = replace(recorded, readings=(replace(first, value=first.value + 0.5), *recorded.readings[1:]))
    assert with_doubt(_kept(capture, other), LIMITS).remark == words.READS_OTHERWISE


def test_other_limits_alone_cast_no_doubt_and_are_told(capture, recorded):
    """A limit says what is good, not what was read."""
    limited = next(r for r in recorded.readings if r.limit is not None)
    stricter = tuple(replace(r, limit=r.limit / 2) if r is limited else r for r in recorded.readings)
    kept = _kept(capture, replace(recorded, readings=stricter))
    assert with_doubt(kept, LIMITS).remark == ""
    assert any("the limit was" in line for line in differences(kept.result.assessment, recorded, "rest"))


def test_what_no_report_tells_again_casts_no_doubt(capture, recorded):
    more = (*recorded.readings, Reading("mass", 60.0, "g"))
    assert with_doubt(_kept(capture, replace(recorded, readings=more)), LIMITS).remark == ""
    too_long = replace(_kept(capture, recorded, SWAPPED), whole=False)
    assert with_doubt(too_long, LIMITS) is too_long


def test_what_several_tries_told_is_not_called_gone(recorded):
    """That light presses fail and firm ones pass stands in no recording of the firm ones."""
    both = Finding("misses", "", params={"who": "left shoulder", "failing": ("light",), "passing": "firm"})
    (line,) = differences(replace(recorded, findings=(both,)), replace(recorded, findings=()), "firm_press")
    assert "No longer found" not in line
