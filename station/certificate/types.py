"""What stands on a certificate, as immutable values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from station import __version__
from station.checks.types import Finding, Outcome, Reading
from station.records.chain import Head


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check of one control as it stands at the end."""

    check: str
    title: str
    outcome: Outcome
    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]
    at: str
    visit: int
    tries: int
    by_hand: bool
    reason: str
    capture_sha256: str
    older: str = ""
    """the treatment since that may have changed it, in words; empty: it still holds"""
    origins: tuple[str, ...] = ()
    """for each reading where its limit comes from (`judgement.limits.Origin`); empty: not told"""
    interrupted: int = 0
    """of the `tries`"""
    attempt: int = 1
    """which of the tries of its visit it is"""


@dataclass(frozen=True, slots=True)
class ControlBlock:
    """All lines of one control, in the order of the checklist."""

    control: str
    name: str
    group: str
    lines: tuple[CheckLine, ...]


@dataclass(frozen=True, slots=True)
class Dial:
    """What a bearing dial is drawn from: `sector_reach_pct` float[72] (NaN: not covered), `settle_pct` float[k, 2]."""

    control: str
    name: str
    rest_pct: tuple[float, float] | None
    rest_limit_pct: float | None
    reach_limit_pct: float | None
    sector_reach_pct: tuple[float, ...] = ()
    settle_pct: tuple[tuple[float, float], ...] = ()
    caption: str = ""
    """what was measured of it, in words; empty if nothing was"""


@dataclass(frozen=True, slots=True)
class GradeLimit:
    """A limit by which the grade was given. `origin`: where it comes from (`judgement.limits.Origin`)."""

    check: str
    reading: str
    unit: str
    limit: float
    fail_beyond: float
    rule: Literal["<=", ">="]
    origin: str


@dataclass(frozen=True, slots=True)
class GradeLine:
    """What the unit is called. `name` "": it has no grade. `said`: the grade in words, or why there is none;
    `kept_from`: what keeps it from the next better grade. `scale`: whose grades they are."""

    name: str
    said: str
    kept_from: str = ""
    scale: Literal["shipped", "shop"] = "shipped"
    faults: bool = False
    """it accepts what is outside its limits"""
    limits: tuple[GradeLimit, ...] = ()


@dataclass(frozen=True, slots=True)
class VisitLine:
    number: int
    kind: str
    started_at: str
    finished_at: str
    person: str
    passed: int
    borderline: int
    failed: int


@dataclass(frozen=True, slots=True)
class TreatmentLine:
    at: str
    kind: str
    part: str
    minutes: int
    materials: str
    cost: str
    note: str


@dataclass(frozen=True, slots=True)
class Change:
    """A reading that failed or was borderline once: its values visit by visit, oldest first."""

    what: str
    unit: str
    values: tuple[tuple[int, float | None, Outcome], ...]
    shown: tuple[str, ...]
    """each value as it is printed, to the place that its uncertainty carries"""


@dataclass(frozen=True, slots=True)
class ControlLine:
    """A control on the first page: its worst outcome, and what that is in words."""

    name: str
    outcome: Outcome
    said: str = ""


@dataclass(frozen=True, slots=True)
class StandingLine:
    """What the unit is sold as (`judgement.standing`), with the headline that says so. `faults` and `left_out` in
    words; `missing` of `asked` checks have no verdict that holds; `simulated`: a program played the unit."""

    kind: Literal["passed", "faults", "incomplete"]
    headline: str
    asked: int
    missing: int
    faults: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    simulated: bool = False


@dataclass(frozen=True, slots=True)
class Certificate:
    """Everything the page shows; the same content is attached as JSON."""

    number: str
    issued_at: str
    bench: str
    person: str
    tag: str
    model: str
    serial: str
    usb_id: str
    claim: str
    claim_state: str
    condition: str
    becomes: str
    received_at: str
    visits: tuple[VisitLine, ...]
    treatments: tuple[TreatmentLine, ...]
    rest: str
    controls: tuple[ControlBlock, ...]
    changes: tuple[Change, ...]
    dials: tuple[Dial, ...]
    not_tested: tuple[str, ...]
    deviations: tuple[str, ...]
    timing: str
    passed: int
    borderline: int
    failed: int
    older: int = 0
    """checks whose verdict is older than a treatment that may have changed it; such a pass is not among `passed`"""
    log: tuple[Head, ...] = ()
    """where the records' log ended when it was written: whoever holds the certificate can show that it was not written
    anew since"""
    grade: GradeLine | None = None
    """None: nobody was asked for it"""
    standing: StandingLine = StandingLine("incomplete", "", 0, 0)
    summary: tuple[ControlLine, ...] = ()
    contact: str = ""
    """how the shop is reached"""
    photo_sha256: str = ""
    """of the file of the unit's photo, in the records; empty: none is on it"""
    program: str = f"Restpoint {__version__}"
