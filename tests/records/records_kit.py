"""Tools for the records' tests: a clock that is moved by hand, and ready-made rows."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from station.checks.types import Assessment, Finding, Outcome, Reading
from station.judgement.gate import Rules
from station.records import store
from station.records.types import Result, Unit
from station.sheets.model import Sheet


def rules(sheet: Sheet | None = None) -> Rules:
    """The rules that the program opens records with; every unit is of the model of this sheet, or of none known."""
    return Rules(lambda unit: sheet or Sheet(unit.model))


def open_store(folder: Path, *, sheet: Sheet | None = None, **how: object) -> store.Store:
    """Records for a test, under the rules that the program opens them with."""
    return store.open_store(folder, rules(sheet), **how)  # type: ignore[arg-type]


def restore_records(folder: Path, back_up: Path, **how: object) -> Path | None:
    return store.restore_records(folder, back_up, rules(), **how)  # type: ignore[arg-type]


class HandClock:
    """A clock that stands until it is moved; every reading is a millisecond later."""

    def __init__(self, text: str = "2026-03-06T10:00:00+00:00") -> None:
        self.moment = datetime.fromisoformat(text)

    def __call__(self) -> datetime:
        self.moment += timedelta(milliseconds=1)
        return self.moment.astimezone(UTC)

    def move(self, **by: float) -> None:
        self.moment += timedelta(**by)


FAILED = Assessment(
    Outcome.FAIL,
    (
        Reading("offset", 14.8, "%", 0.31, 5.0, 10.0, "<=", 300),
        Reading("settle", None, "ms", reason="never came back"),
        Reading("reach", 96.0, "%", 0.3, 95.0, 88.0, ">=", 4),
    ),
    (
        Finding("offset", "left stick: off centre to the left", "x", "left"),
        Finding("flat_rim", "left stick: short at 225°", None, 225.0),
        Finding("spikes", "left stick: spikes", "y"),
    ),
)
PASSED = Assessment(Outcome.PASS, (Reading("offset", 1.2, "%", 0.31, 5.0, 10.0, "<=", 300),))


def a_unit(tag: str = "SM-07-04", **other: object) -> Unit:
    return Unit("", tag, "Plover T2", serial=f"PT2-{tag[-4:]}", vendor_id=0x1209, product_id=1, **other)  # type: ignore[arg-type]


def a_result(visit_id: str, check: str = "rest", assessment: Assessment = FAILED, **other: object) -> Result:
    return Result("", visit_id, check, "left_stick", 0, "", assessment, **other)  # type: ignore[arg-type]
