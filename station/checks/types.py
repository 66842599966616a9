"""What goes into a check and what comes out of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from station.sheets.model import Control, Sheet
from station.sheets.power import Power
from station.sheets.signals import Signal


class Outcome(Enum):
    """Verdict on a check or on a reading."""

    PASS = "pass"
    BORDERLINE = "borderline"
    FAIL = "fail"
    INTERRUPTED = "interrupted"
    NOT_DONE = "not done"


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value. `limit` and `fail_beyond` are None for a value that is only reported.

    `rule` "<=" or ">=" says on which side of the limit the value should be. `uncertainty` is expanded, k = 2.
    A value that could not be had is None, with the reason.
    """

    name: str
    value: float | None
    unit: str
    uncertainty: float = 0.0
    limit: float | None = None
    fail_beyond: float | None = None
    rule: Literal["<=", ">="] = "<="
    n: int = 0
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """What the readings say. `direction`: up/right/down/left or a bearing in degrees (0 = up, clockwise)."""

    code: str
    text: str
    axis: Literal["x", "y"] | None = None
    direction: str | float | None = None


@dataclass(frozen=True, slots=True)
class Take:
    """The evidence of one try at one check: every control's signal from `begin_ns` to `end_ns`.

    Each signal starts with the value held at `begin_ns` (if the control had reported by then). For a live check
    `end_ns` is the present. `beats_ns` are the beats not withdrawn. `report_t_ns` are the arrival times of *all*
    reports in the stretch, `lost` the reports lost in it, `disconnects_ns` the moments the device went away.
    `answer` is the person's word for asks ("pass"/"fail"), `meter` the values typed in. `told` is what the unit said
    of its cell when it was asked; no recording holds it.
    """

    sheet: Sheet
    control: Control | None
    signals: Mapping[str, Signal]
    begin_ns: int
    end_ns: int
    report_t_ns: NDArray[np.int64]
    beats_ns: tuple[int, ...] = ()
    witness: str | None = None
    lost: int = 0
    disconnects_ns: tuple[int, ...] = ()
    answer: str | None = None
    meter: Mapping[str, float] = field(default_factory=dict)
    told: Power = field(default_factory=Power)


@dataclass(frozen=True, slots=True)
class Prompt:
    """What the window says while the check runs. `beats_per_minute` 0: no beats."""

    title: str
    """the check's name, e.g. "Light press" """
    do: str
    """what to do now, one short imperative sentence"""
    hint: str = ""
    beats_per_minute: int = 0


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a running check is. `missing` is a short sentence such as "two directions to go"."""

    complete: bool
    missing: str
    share: float = 0.0
    readings: tuple[Reading, ...] = ()
    marks: Mapping[str, object] = field(default_factory=dict)
    """what the live view may draw: sectors (bool[72]), sector_reach (float[72]), settle points (float[k, 2]), beats"""


@dataclass(frozen=True, slots=True)
class Assessment:
    """The result of a try. `again` is not empty when the movement was incomplete or sloppy: "again, please: …"."""

    outcome: Outcome
    readings: tuple[Reading, ...] = ()
    findings: tuple[Finding, ...] = ()
    again: str = ""


DueAfter = Literal["its control", "any opening"]
"""what a treatment must touch to make a check due again: its control, or, for the quick checks that show a plug left
off or a part put in crooked, anything inside the housing"""

Limits = Mapping[str, Mapping[str, tuple[float, float]]]
"""check → reading's base name → (pass, fail beyond); fail beyond ≥ pass means the rule is "<=", else ">=" """


class Check(Protocol):
    """One check (docs/words.md, "Checks"). Pure: no clock, no files, no Qt."""

    name: str
    """word used in code, records and captures: contact light hold rest letgo travel rim sweep trigger hat link …"""
    title: str
    """words shown: "Light press" """
    due_after: DueAfter

    def applies(self, control: Control | None, sheet: Sheet) -> bool: ...

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt: ...

    def progress(self, take: Take, limits: Limits) -> Progress: ...

    def assess(self, take: Take, limits: Limits) -> Assessment: ...
