"""Presses of other strengths on the certificate: their own lines, with the force, as long as they still hold."""

from __future__ import annotations

from dataclasses import replace

from station.app.certify import steps_of
from station.certificate.content import build_certificate
from station.checks.said import value_text
from station.checks.types import Assessment, Finding, Outcome, Reading
from station.records.types import Result, UnitHistory
from station.sheets.model import Control, Place, Sheet
from tests.certificate.sample_history import make_history

SHEET = Sheet("Plover T2", controls=(Control("left_shoulder", "button", "Left shoulder", "top", at=Place(0x90001)),))
PAIR = "left shoulder: light presses fail, firm ones pass: weak contact or worn actuator"
FORCE = Reading("force", 2.5497, "N", 0.0098, reason="260 g")


def press(check: str, visit: str, outcome: Outcome, at: str, *findings: Finding) -> Result:
    readings = (FORCE, Reading("missed", 0.0, "", n=31))
    return Result(f"{check}{visit}", visit, check, "left_shoulder", 1, at, Assessment(outcome, readings, findings))


def history(*results: Result) -> UnitHistory:
    return replace(make_history(), results=results)


def lines(one: UnitHistory) -> dict[str, tuple[str, ...]]:
    content = build_certificate(
        one, steps_of(one, SHEET), SHEET, number="8D9E0F-00042", issued_at="2026-03-09T10:00:00Z", bench="b", person="p"
    )
    return {
        line.title: (line.outcome.value, *(f.text for f in line.findings))
        for block in content.controls
        for line in block.lines
    }


def test_a_firm_press_has_a_line_and_does_not_stand_in_for_the_light_one() -> None:
    one = history(
        press("light", "v1", Outcome.FAIL, "2026-03-06T10:13:00Z", Finding("misses", "left shoulder: misses")),
        press("firm_press", "v1", Outcome.PASS, "2026-03-06T10:14:00Z", Finding("misses", PAIR)),
    )
    assert lines(one) == {"Light press": ("fail", "left shoulder: misses"), "Firm press": ("pass", PAIR)}


def test_after_a_treatment_and_a_new_light_press_the_old_firm_one_is_gone() -> None:
    one = history(
        press("light", "v1", Outcome.FAIL, "2026-03-06T10:13:00Z"),
        press("firm_press", "v1", Outcome.PASS, "2026-03-06T10:14:00Z", Finding("misses", PAIR)),
        press("light", "v2", Outcome.PASS, "2026-03-09T09:03:00Z"),
    )
    assert lines(one) == {"Light press": ("pass",)}


def test_an_offered_press_that_was_not_made_is_no_gap() -> None:
    one = history(
        press("light", "v1", Outcome.FAIL, "2026-03-06T10:13:00Z"),
        press("firm_press", "v1", Outcome.INTERRUPTED, "2026-03-06T10:14:00Z"),
    )
    content = build_certificate(
        one, steps_of(one, SHEET), SHEET, number="8D9E0F-00042", issued_at="2026-03-09T10:00:00Z", bench="b", person="p"
    )
    assert not [text for text in content.not_tested if "irm" in text]


def test_the_force_is_printed_in_newtons() -> None:
    assert value_text("light", FORCE) == "2.5497 ± 0.0098\N{NO-BREAK SPACE}N"
