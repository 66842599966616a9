"""What is to be drawn of a result, by its kind of check: values only, no Qt. Times are int64 ns on the clock of the
capture, values in the unit that stands beside them; arrays are read-only and never hold a value that is not finite.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from station.checks.looked import NOTHING, Looked, Picture, Spot
from station.checks.types import Outcome
from station.measure.arrays import F64, I64, NS_PER_S
from station.measure.gate import Gate

NO_PLACES: F64 = np.empty((0, 2))
NEAR_NS = 1000
"""a cursor that stands so near to a report stands on it"""


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A value over time: `values[i]` holds from `t_ns[i]` until the next report. `axis`: of a stick."""

    name: str
    unit: str
    t_ns: I64
    values: F64
    axis: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Contact:
    """The stretches over which a contact was closed. `own`: of the control that the check is about; others are its twin
    and what moved along."""

    name: str
    start_ns: I64
    end_ns: I64
    own: bool = True


@dataclass(frozen=True, slots=True)
class Level:
    """A limit at a value of the axis it belongs to."""

    value: float
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class OverTime:
    """`levels` and `span` (low, high) are of the value axis, which all lines share."""

    lines: tuple[Line, ...] = ()
    contacts: tuple[Contact, ...] = ()
    levels: tuple[Level, ...] = ()
    span: tuple[float, float] = (-100.0, 100.0)


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """The way of a stick: two lines over the same times. `limit_pct`: radius of the limit that is drawn, 0 without."""

    x: Line
    y: Line
    gate: Gate = "round"
    limit_pct: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Codes:
    """The values that were seen on a track, each once, in % of its travel, and how often in the stretches used."""

    name: str
    axis: str
    seen: F64
    count: NDArray[np.int64]
    span: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Cloud:
    """Where a stick rested: the values of the stretch that was used, its centre and that one's expanded uncertainty
    (None where no reading tells), and the limit, a radius in %, 0 without. `settled`, `set_aside`: float[k, 2], the
    places it came to after each flick, of which the centre is the mean, and those that are not in it, %."""

    x_pct: F64
    y_pct: F64
    centre: tuple[float, float] | None = None
    uncertainty: tuple[float, float] = (0.0, 0.0)
    limit_pct: float = 0.0
    settled: F64 = field(default_factory=lambda: NO_PLACES)
    set_aside: F64 = field(default_factory=lambda: NO_PLACES)


@dataclass(frozen=True, slots=True, eq=False)
class Waits:
    """How long each report was waited for, ms, from the one before on."""

    t_ns: I64
    ms: F64
    levels: tuple[Level, ...] = ()


@dataclass(frozen=True, slots=True)
class Stop:
    """A place to jump to: the sentence of a finding, and where in the try it shows; `spot` None: all over it."""

    text: str
    begin_ns: int
    end_ns: int
    spot: Spot | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """All that is drawn of one result. `pictures`: what there is, in the order in which it tells most; `silent_ns`
    int64[k, 2]: stretches of which nothing is known, where no line may be drawn. `remark`: what the person should know
    of the reports."""

    title: str
    outcome: Outcome
    begin_ns: int
    end_ns: int
    reports: int
    pictures: tuple[Picture, ...]
    over_time: OverTime = OverTime()
    path: Path | None = None
    codes: tuple[Codes, ...] = ()
    cloud: Cloud | None = None
    waits: Waits | None = None
    looked: Looked = NOTHING
    stops: tuple[Stop, ...] = ()
    silent_ns: I64 = field(default_factory=lambda: np.empty((0, 2), dtype=np.int64))
    lost: int = 0
    remark: str = ""
    counts_from: str = ""
    """what its seconds are counted from, where that is not the beginning of the check"""

    def report_beside(self, at_s: float, step: int) -> float:
        """When the report before (−1) or after (1) a moment came, seconds since the try began; the moment itself where
        there is none."""
        times = self.arrivals_ns
        at_ns = self.begin_ns + round(at_s * NS_PER_S)
        if step > 0:
            k = int(np.searchsorted(times, at_ns + NEAR_NS, side="right"))
        else:
            k = int(np.searchsorted(times, at_ns - NEAR_NS, side="left")) - 1
        return (int(times[k]) - self.begin_ns) / NS_PER_S if 0 <= k < len(times) else at_s

    @property
    def arrivals_ns(self) -> I64:
        """When its reports came, as far as anything is drawn of them."""
        if self.waits is not None:
            return self.waits.t_ns
        return self.over_time.lines[0].t_ns if self.over_time.lines else np.empty(0, dtype=np.int64)

    @property
    def lasted_ns(self) -> int:
        return self.end_ns - self.begin_ns
