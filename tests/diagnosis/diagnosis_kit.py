"""A model and histories for the diagnosis' tests."""

from __future__ import annotations

from station.checks.types import Assessment, Finding, Outcome
from station.records.types import Result, Treatment, Unit, UnitHistory, Visit
from station.sheets.model import Control, Part, Sheet

SHEET = Sheet(
    "Plover T2",
    controls=(
        Control("left_stick", "stick", "Left stick", "left hand"),
        Control("right_stick", "stick", "Right stick", "right hand"),
        Control("left_shoulder", "button", "Left shoulder", "top"),
        Control("right_shoulder", "button", "Right shoulder", "top"),
        Control("left_trigger", "trigger", "Left trigger", "top"),
        Control("pad", "hat", "Direction pad", "left hand"),
    ),
    parts=(Part("left_stick_x_sensor", "Left stick sensor, horizontal", ("left_stick.x",)),),
)
UNIT = Unit("u", "SM-07-04", "Plover T2")


class Story:
    """Writes a unit's history step by step; every step is a minute later."""

    def __init__(self, unit: Unit = UNIT) -> None:
        self.unit = unit
        self._minute = 0
        self.results: list[Result] = []
        self.treatments: list[Treatment] = []

    def _at(self) -> str:
        self._minute += 1
        return f"2026-03-06T{10 + self._minute // 60:02d}:{self._minute % 60:02d}:00.000Z"

    def check(self, check: str, control: str, *found: Finding | str, outcome: Outcome | None = None) -> Story:
        """A test: it passes when nothing is found."""
        findings = tuple(Finding(f, f) if isinstance(f, str) else f for f in found)
        done = Assessment(outcome or (Outcome.FAIL if findings else Outcome.PASS), (), findings)
        self.results.append(Result(f"r{len(self.results)}", "v", check, control, 1, self._at(), done))
        return self

    def treat(self, kind: str, part: str = "", **other: object) -> Story:
        at = self._at()
        self.treatments.append(Treatment(f"t{len(self.treatments)}", self.unit.id, kind, at, part, **other))  # type: ignore[arg-type]
        return self

    @property
    def history(self) -> UnitHistory:
        visit = Visit("v", self.unit.id, "intake", 1, "2026-03-06T10:00:00.000Z")
        return UnitHistory(self.unit, None, (visit,), tuple(self.results), tuple(self.treatments))


def noisy(axis: str = "x") -> tuple[Finding, ...]:
    return (Finding("spikes", "spikes", axis), Finding("reversal", "reversal", axis))  # type: ignore[arg-type]
