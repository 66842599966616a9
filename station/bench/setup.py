"""What a visit is made of: the unit on the bench, what is to be done with it, and the bench itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from station.bench.timekeeping import Clocks
from station.bench.types import Recorder, Step
from station.checks.registry import CHECKS
from station.checks.types import Check, Limits
from station.records.clock import system_clock
from station.records.types import Unit, Visit
from station.sheets.bind import Binding
from station.sources.port import Source


@dataclass(frozen=True, slots=True)
class UnitOnBench:
    """A unit, the stream of its reports, and how they are read by its sheet."""

    unit: Unit
    source: Source
    binding: Binding


@dataclass(frozen=True, slots=True)
class VisitPlan:
    """A new visit of this kind, or `resume`: one that goes on, of the kind it is.

    `steps`: what is to be done (None: all that the sheet calls for). `treatment_id`: the treatment that a new visit
    looks at.
    """

    kind: str = "intake"
    steps: Sequence[Step] | None = None
    treatment_id: str | None = None
    resume: Visit | None = None


@dataclass(frozen=True, slots=True)
class BenchSetup:
    """Where and by whom visits are done, with which checks, and where their results go.

    `limits`: those in force (None: those that ship, with the sheet's own in place). `clocks` tell when the computer
    slept or its clock was set (None: this computer's). `auto_go`: each next step starts by itself after a pause.
    `together`: what hands can do at the same time is one step of theirs, else every control is asked for alone.
    """

    recorder: Recorder
    checks: Mapping[str, Check] = field(default_factory=lambda: CHECKS)
    limits: Limits | None = None
    person: str = ""
    bench: str = ""
    wall_clock: Callable[[], datetime] = system_clock
    clocks: Clocks | None = None
    auto_go: bool = False
    together: bool = False
