"""A made-up unit history for the certificate's tests (demo scenario of the design; all invented)."""

from __future__ import annotations

from station.bench.types import Step
from station.checks.types import Assessment, Finding, Outcome, Reading
from station.records.types import Lot, Result, Treatment, Unit, UnitHistory, Visit
from station.sheets.model import Control, Sheet

STEPS = (
    Step("rest", "left_stick", "At rest", "Left stick", "left hand"),
    Step("rim", "left_stick", "Round the rim", "Left stick", "left hand"),
    Step("contact", "left_shoulder", "Contact", "Left shoulder", "top"),
    Step("light", "left_shoulder", "Light press", "Left shoulder", "top"),
    Step("look", "", "Look", "", "whole unit", person_answers=True),
)
SHEET = Sheet(
    "Plover T2",
    controls=(
        Control("left_stick", "stick", "Left stick", "left hand"),
        Control("left_shoulder", "button", "Left shoulder", "top"),
    ),
)


def rest(offset: float, outcome: Outcome) -> Assessment:
    findings = (
        () if outcome is Outcome.PASS else (Finding("offset", "left stick: off centre to the left", direction="left"),)
    )
    return Assessment(
        outcome,
        (
            Reading("offset", offset, "%", 0.31, 5.0, 10.0, "<=", 300),
            Reading("offset_x", -offset, "%", 0.31),
            Reading("noise_pp_x", 0.4, "%", 0.23, 1.5, 4.0, "<=", 300),
        ),
        findings,
    )


def make_history() -> UnitHistory:
    unit = Unit(
        "u1", "SM-07-04", "Plover T2", "l1", "PT2-0004", 0x1209, 0x0001, "Plover T2",
        claim="left stick goes by itself", claim_state="confirmed", condition="light marks, left grip worn",
        becomes="ready", rest_until="2026-03-09", created_at="2026-03-06T10:12:00Z",
    )  # fmt: skip
    visits = (
        Visit("v1", "u1", "intake", 1, "2026-03-06T10:12:00Z", "2026-03-06T10:19:00Z", "Ines", "bench 1"),
        Visit("v2", "u1", "after rest", 2, "2026-03-09T09:00:00Z", "2026-03-09T09:07:00Z", "Ines", "bench 1"),
    )
    light = Assessment(
        Outcome.PASS,
        (
            Reading("beats", 31, "count"),
            Reading("missed", 0, "count", 0, 0, 0),
            Reading("miss_rate_upper", 9.2, "%", n=31),
        ),
    )
    contact = Assessment(Outcome.PASS, (Reading("registered", 3, "count", 0, 3, 3, ">="),))
    results = (
        Result("r1", "v1", "rest", "left_stick", 1, "2026-03-06T10:13:00Z", rest(14.8, Outcome.FAIL), "ab" * 32,
               clock="process", stamp_error_p99_us=60.0),
        Result("r2", "v2", "rest", "left_stick", 1, "2026-03-09T09:01:00Z", rest(1.2, Outcome.PASS), "cd" * 32,
               clock="process", stamp_error_p99_us=80.0, lost=2),
        Result("r3", "v2", "contact", "left_shoulder", 1, "2026-03-09T09:02:00Z", contact),
        Result("r4", "v2", "light", "left_shoulder", 1, "2026-03-09T09:03:00Z", light),
        Result("r5", "v2", "look", "", 1, "2026-03-09T09:04:00Z", Assessment(Outcome.PASS), by_hand=True,
               reason="checked under the lamp"),
    )  # fmt: skip
    treatments = (
        Treatment("t1", "u1", "clean the sensor", "2026-03-06T10:30:00Z", "Left stick sensor, horizontal", 9,
                  "contact cleaner", 40, "EUR", "Ines"),
    )  # fmt: skip
    lot = Lot("l1", "SM-07", "2026-03-02", "a closed youth games room", 9600)
    return UnitHistory(unit, lot, visits, results, treatments)
