"""What goes into a check and what comes out of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from station.checks.looked import Looked, Picture
from station.checks.watched import Watched
from station.sheets.model import Control, Kind, Sheet
from station.sheets.power import Power
from station.sheets.signals import Signal
from station.words.figures import Style


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


ParamValue = str | int | float | tuple[str, ...]
Params = Mapping[str, ParamValue]
Given = Mapping[str, "ParamValue | Reading"]
"""what a finding is made from: a parameter may be a reading"""
UNCERTAINTY_OF = "{name}_u"
"""the parameter of a finding that holds the expanded uncertainty of another"""


@dataclass(frozen=True, slots=True)
class Finding:
    """What the readings say. `direction`: up/right/down/left or a bearing in degrees (0 = up, clockwise).

    `params` are what the sentence is made of when it is read (`checks.said.sentence`); `who` among them is the name of
    the control inside a sentence, "" for the whole unit, and "x_u" the expanded uncertainty of "x". `text` is the
    sentence as it was written down: all there is of a finding from before they had parameters, and no part of what one
    is.
    """

    code: str
    text: str = field(default="", compare=False)
    axis: Literal["x", "y"] | None = None
    direction: str | float | None = None
    params: Params = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True)
class Absence:
    """From `begin_ns` to `end_ns` nothing is known of the unit: it was `away`, or nobody watched."""

    begin_ns: int
    end_ns: int
    away: bool


@dataclass(frozen=True, slots=True)
class CellSaid:
    """What the unit said of its charge, and in which steps it says so."""

    t_ns: int
    level_pct: float
    step_pct: float


@dataclass(frozen=True, slots=True)
class Take:
    """The evidence of one try at one check: every control's signal from `begin_ns` to `end_ns`.

    Each signal starts with the value held at `begin_ns` (if the control had reported by then). For a live check
    `end_ns` is the present. `beats_ns` are the beats not withdrawn, `taken_back` is how many were. `report_t_ns` are
    the arrival times of *all* reports in the stretch, `lost` the reports lost in it, `disconnects_ns` the moments the
    device went away.
    `answer` is the person's word for asks ("pass"/"fail"), `meter` the values typed in. `told` is what the unit said
    of its cell when it was asked, `watched` the whole visit so far; no recording holds them. `bus`: the link in use, a
    word of `capture.types.BUSES`; "" where nobody knows. `absences` and `cell` are what happened to a unit that was
    left alone.
    """

    sheet: Sheet
    control: Control | None
    signals: Mapping[str, Signal]
    begin_ns: int
    end_ns: int
    report_t_ns: NDArray[np.int64]
    beats_ns: tuple[int, ...] = ()
    taken_back: int = 0
    witness: str | None = None
    lost: int = 0
    disconnects_ns: tuple[int, ...] = ()
    answer: str | None = None
    meter: Mapping[str, float] = field(default_factory=dict)
    told: Power = field(default_factory=Power)
    watched: Watched | None = None
    bus: str = ""
    absences: tuple[Absence, ...] = ()
    cell: tuple[CellSaid, ...] = ()


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
    """what the live view may draw: sectors (bool[72]), sector_reach (float[72]), settle points (float[k, 2]), beats,
    and for the tempo which of them were answered"""


@dataclass(frozen=True, slots=True)
class Assessment:
    """The result of a try. `again` is not empty when the movement was incomplete or sloppy: "again, please: …"."""

    outcome: Outcome
    readings: tuple[Reading, ...] = ()
    findings: tuple[Finding, ...] = ()
    again: str = ""


Limits = Mapping[str, Mapping[str, tuple[float, float]]]
"""check → reading's base name → (pass, fail beyond); fail beyond ≥ pass means the rule is "<=", else ">=" """


# --- a check describes itself -------------------------------------------------------------------------

LimitTable = Mapping[str, tuple[float, float]]
"""the limits of one check: reading's base name → (pass, fail beyond)"""
Show = Callable[[ParamValue, Style | None], str]
"""how a parameter of a finding stands in its sentence; style None: that of the screen"""
DueAfter = Literal["its control", "any opening"]
"""what a treatment must touch to make a check due again: its control, or, for the quick checks that show a plug left
off or a part put in crooked, anything inside the housing"""


@dataclass(frozen=True, slots=True)
class ReadingKind:
    """A reading as a check makes it.

    `name` is its base name in code and records, `words` its name for a person, `short` that where room is short.
    `digits`: decimal places where it has no uncertainty (counts: 0). `limit`: the limit that judges it, "" if it is
    only reported; `shipped`: (pass, fail beyond) where resources/limits.toml gives none; `sheet_limit`: one that judges
    it only where a sheet gives it. `parts`: the axes or directions in which it comes besides, as "reach" does in
    "reach_up". `noted`: what its `reason` says is printed even where it has a value. `unseen`: what it cannot see,
    where that is not what its check cannot.
    """

    name: str
    words: str
    unit: str = ""
    digits: int = 0
    limit: str = ""
    short: str = ""
    shipped: tuple[float, float] | None = None
    parts: tuple[str, ...] = ()
    sheet_limit: str = ""
    noted: bool = False
    unseen: str = ""


@dataclass(frozen=True, slots=True)
class FindingKind:
    """A finding as a check makes it: its code and its sentence.

    `says` is the template, or picks it by the parameters. Its fields are `who`, `where` (who, with the axis or
    direction of the finding) and the parameters, each put into words by `shown` (default: as it is). A parameter that
    is the value of a reading names it there, and is said to the place that is shown of the reading.
    """

    code: str
    says: str | Callable[[Params], str]
    shown: Mapping[str, Show | str] = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True)
class Plot:
    """The time plot beside the running check: level lines and the range of the value axis, % of the control's range."""

    lines: Callable[[LimitTable], tuple[float, ...]] = lambda limits: ()
    span: Callable[[LimitTable], tuple[float, float]] = lambda limits: (-100.0, 100.0)


Shows = Literal["rest", "sectors", "settled"]
Grip = Literal[
    "before the plug",
    "everywhere",
    "fingers",
    "sticks",
    "left thumb",
    "right thumb",
    "middle",
    "touch pad",
    "laid down",
    "turned",
    "answered",
]
"""where the hands are: with the unit in hand before it is plugged in, all over it, with the fingers on triggers,
shoulders and back, with both thumbs on the sticks, on what lies under the left or the right one, in the middle, on the
touch pad; off it; turning it over; at the keyboard"""
Look = Callable[["Take", "Limits"], Looked]


@dataclass(frozen=True, slots=True)
class Dial:
    """What a check puts on a stick's bearing dial, on screen and on the certificate.

    `shows`: "rest" is the point of the readings `point` (x, y), "sectors" the reach all round, "settled" the settle
    points; the latter two are the marks that `progress` gives. `ring`: the limit drawn, `reading`: what its caption
    tells.
    """

    shows: Shows
    ring: str = ""
    reading: str = ""
    point: tuple[str, str] = ("", "")


@dataclass(frozen=True, slots=True)
class Description:
    """Everything that the rest of the program needs to know of a check.

    `kinds`: the kinds of control it applies to, () for the whole unit. `rates`: limits of its own that judge no
    reading. `short`: its name where several stand on one row. `counts`: its readings are counts and fit on one row of
    a page. `copies`: also done on a control that only repeats another. `unplug_counts`: a device that goes away is
    what it is about, and does not interrupt it. `motors`: they run while it is asked. `released_and_full`: the limits
    drawn beside a trigger's column. `hands_off`: nothing is to be touched while it runs. `watches`: nothing is done for
    it; it is judged from the whole visit, when all else is done: from what moved, or from what the unit told of its
    cell. `when_seen`: no plan has it; it comes in where a visit shows something of it. `unseen`: what it cannot
    see, for every reading that does not say its own. `together`: it can be
    done on all its controls at the same time, or on a button and its twin, or on those and on all that one grip holds
    with a finger or a thumb for each; `do_together` says so ({who}: the controls)
    where "{do} {who} at the same time" would not do. `left_alone`: done
    away from the front of the bench, on request or where the shop wants it. `works_all`: the hand
    may be on every control. `first_look`: done in a first look only, and never counted as a test. `followed_by`: the
    checks that go on from its movement without a pause, in this order, each on the same controls or on the whole unit:
    they run along from its beginning, and what they still lack is done when it is complete. `then_do`: what the window
    says of that while the one before runs; `then_s`: it goes on for so many seconds after that, whatever it has seen by
    then.
    `grip`: where the hands are for it, where that is not where the control lies.
    `pictures`: how its reports are drawn when a result is looked at, what tells most first; () as its control is drawn
    anyway. `looked`: what it looked at in them, by the limits that judged it; None: at all of them alike.
    """

    kinds: tuple[Kind, ...]
    readings: tuple[ReadingKind, ...] = ()
    findings: tuple[FindingKind, ...] = ()
    rates: tuple[str, ...] = ()
    short: str = ""
    plot: Plot | None = None
    dial: Dial | None = None
    released_and_full: tuple[str, str] | None = None
    due_after: DueAfter = "its control"
    strength: Literal["light", "normal", "firm"] | None = None
    counts: bool = False
    copies: bool = False
    unplug_counts: bool = False
    motors: bool = False
    person_answers: bool = False
    hands_off: bool = False
    watches: Literal["", "moves", "cell"] = ""
    left_alone: bool = False
    when_seen: bool = False
    unseen: str = ""
    works_all: bool = False
    first_look: bool = False
    together: Literal["", "all", "twins", "fingers"] = ""
    do_together: str = ""
    followed_by: tuple[str, ...] = ()
    then_do: str = ""
    then_s: float = 0.0
    grip: Grip | Literal[""] = ""
    pictures: tuple[Picture, ...] = ()
    looked: Look | None = None

    @property
    def sheet_limits(self) -> tuple[str, ...]:
        """The names of limits that only a sheet gives."""
        return tuple(r.sheet_limit for r in self.readings if r.sheet_limit)

    @property
    def limits(self) -> tuple[str, ...]:
        """The names of its limits, each once."""
        return tuple(dict.fromkeys([*(r.limit for r in self.readings if r.limit), *self.rates]))


class Check(Protocol):
    """One check (docs/METHOD.md §8). Pure: no clock, no files, no Qt."""

    name: str
    """word used in code, records and captures: contact light hold rest letgo travel rim sweep trigger hat link …"""
    title: str
    """words shown: "Light press" """
    about: Description

    def applies(self, control: Control | None, sheet: Sheet) -> bool: ...

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt: ...

    def progress(self, take: Take, limits: Limits) -> Progress: ...

    def assess(self, take: Take, limits: Limits) -> Assessment: ...
