"""What the window may ask for. `app` implements it; tests use the same implementation on temporary files.

The window draws and forwards. Calls that touch the disk return at once and report through `Desk.take_events`;
calls that return values read small things from memory or a read-only connection in well under a frame.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, Protocol

from station.bench.teaching_types import TeachAnswer, TeachKey, TeachView
from station.bench.types import Command, Event, SessionView
from station.checks.types import Limits
from station.judgement.tries import Key
from station.records.types import Lot, Note, ShelfPart, Treatment, Unit, UnitHistory, Visit
from station.sheets.model import Sheet
from station.sheets.signals import Signal
from station.sources.port import DeviceInfo, SourceStatus
from station.ui.lots.ports import LotChanged, LotDesk


@dataclass(frozen=True, slots=True)
class SuspectView:
    """A suspect part and how likely it is (0…1)."""

    name: str
    weight: float


@dataclass(frozen=True, slots=True)
class ProposalView:
    """The next treatment and why. `caution` stands beside the step whenever it is not empty."""

    title: str
    reason: str
    then: str = ""
    caution: str = ""
    kind: str = ""
    part: str = ""
    minutes: int = 0
    cost_minor: int = 0
    find_out: str = ""
    """the swap with a donor's part that would tell most a minute, where several parts may be bad"""
    at_hand: str = ""
    """the parts for it that lie on the shelf"""
    currency: str = "EUR"
    """of `cost_minor`"""


Described = Literal["by a sheet", "by itself", "by nothing"]


@dataclass(frozen=True, slots=True)
class DeviceAppeared:
    """A device was plugged in. `unit` is set when its serial is known, else the person picks or makes one.

    `described`: what says which controls it has; "by nothing": it cannot be tested before it was taught.
    """

    device: DeviceInfo
    unit: Unit | None
    sheet: str
    described: Described = "by a sheet"


@dataclass(frozen=True, slots=True)
class DeviceGone:
    device: DeviceInfo


@dataclass(frozen=True, slots=True)
class Said:
    """One line for the person. `bad` for a fault."""

    text: str
    bad: bool = False


@dataclass(frozen=True, slots=True)
class RecordChanged:
    """The record of this unit changed: draw it again."""

    unit_id: str


@dataclass(frozen=True, slots=True)
class CertificateReady:
    """`key`: the fingerprint of the key that signed it; empty if it is unsigned, then `problem` says why."""

    unit_id: str
    path: str
    key: str = ""
    problem: str = ""


@dataclass(frozen=True, slots=True)
class SheetLearned:
    """A taught sheet is saved and in force."""

    name: str
    path: str


@dataclass(frozen=True, slots=True)
class SilentListed:
    """Devices that are there and do not say what they are; unopened."""

    devices: tuple[DeviceInfo, ...]


DeskEvent = (
    Event
    | DeviceAppeared
    | DeviceGone
    | Said
    | RecordChanged
    | CertificateReady
    | SheetLearned
    | LotChanged
    | SilentListed
)


@dataclass(frozen=True, slots=True)
class KeptWalk:
    """A guided walk that was stopped; `at_s`: when, in seconds since 1970."""

    name: str
    at_s: float


@dataclass(frozen=True, slots=True)
class LiveView:
    """What arrived since the last tick, decoded. `signals` holds only controls that reported."""

    now_ns: int
    signals: dict[str, Signal] = field(default_factory=dict)
    reports: int = 0


@dataclass(frozen=True, slots=True)
class DueRow:
    unit: Unit
    since: str
    ready: bool


class Desk(LotDesk, Protocol):
    """The window's one partner."""

    # live: called every frame
    def take_events(self) -> Sequence[DeskEvent]: ...
    def session(self) -> SessionView | None: ...
    def sheet(self) -> Sheet | None: ...
    def live(self) -> LiveView: ...
    def source_status(self) -> SourceStatus | None: ...
    def limits(self) -> Limits:
        """The limits in force: those that ship, with the sheet's own in their place."""
        ...

    def devices(self) -> Sequence[DeviceInfo]: ...

    # a visit
    def do(self, command: Command) -> None: ...
    def start_visit(self, unit_id: str, device: DeviceInfo, kind: str) -> None: ...
    def open_simulated(self, unit_name: str) -> None:
        """Plug in a simulated sample unit by name."""
        ...

    def simulated_units(self) -> Sequence[str]: ...

    # teaching a device that no sheet describes
    def list_silent(self) -> None:
        """Look for devices that do not say that they are game controllers; a `SilentListed` event follows."""
        ...

    def open_silent(self, device: DeviceInfo) -> None:
        """The person says that this is a game controller: it appears as if it was plugged in now."""
        ...

    def kept_walk(self, device: DeviceInfo) -> KeptWalk | None:
        """The walk with this kind of device that was stopped, if there is one."""
        ...

    def begin_teaching(self, device: DeviceInfo, counts: Mapping[str, int], *, go_on: bool) -> None:
        """Begin the guided walk; `counts` as `sheets.learn.usual_controls` takes them. `go_on`: with the kept one."""
        ...

    def teaching(self) -> TeachView | None:
        """The lesson as it stands; None when none is under way."""
        ...

    def teach(self, key: TeachKey) -> None: ...
    def answer_teaching(self, control: str, answer: TeachAnswer) -> None: ...
    def taught_name(self) -> str:
        """The name to propose for the sheet of this lesson."""
        ...

    def save_taught(self, name: str) -> None:
        """Save what was learned; a `SheetLearned` event follows, and the sheet is in force."""
        ...

    # records
    def units(self, search: str = "") -> Sequence[Unit]: ...
    def lots(self) -> Sequence[Lot]: ...
    def shelf(self) -> Sequence[ShelfPart]: ...
    def due(self) -> Sequence[DueRow]: ...
    def history(self, unit_id: str) -> UnitHistory: ...
    def unfinished_visit(self, unit_id: str) -> Visit | None: ...
    def add_unit(self, unit: Unit) -> None:
        """`unit.id` empty: a new one is given; a `Said`/`RecordChanged` event follows the commit."""
        ...

    def change_unit(self, unit: Unit, reason: str = "") -> None:
        """`reason`: why it becomes ready before its rest is over, or why the rest is cut short."""
        ...

    def today(self) -> date:
        """The date on the desk's clock."""
        ...

    def backups(self) -> Sequence[str]:
        """Names of the back-ups of the records, newest first."""
        ...

    def restore(self, name: str) -> None:
        """Put a back-up in the place of the records; what is there now is set aside, not lost."""
        ...

    def add_lot(self, lot: Lot) -> None: ...
    def add_treatment(self, treatment: Treatment, shelf_part_id: str = "") -> None:
        """`shelf_part_id`: the part that came from the shelf, which has one piece less then."""
        ...

    def add_note(self, note: Note, photo: str = "") -> None:
        """`photo`: the path of a JPEG, PNG or WebP to keep with the note."""
        ...

    def photos(self) -> Sequence[str]:
        """Paths of the newest pictures in the folder that a photo was taken from last, newest first."""
        ...

    def add_shelf_part(self, part: ShelfPart) -> None: ...
    def suspects(self, unit_id: str) -> Sequence[SuspectView]: ...
    def proposal(self, unit_id: str) -> ProposalView | None: ...
    def older(self, unit_id: str) -> Mapping[Key, Treatment]:
        """The checks whose result is older than a treatment that may have changed it."""
        ...

    def save_sheet(self, sheet: Sheet) -> None: ...
    def certificate(self, unit_id: str) -> CertificateReady | None:
        """The unit's last certificate, if one was written here."""
        ...

    def write_certificate(self, unit_id: str) -> None: ...

    # settings that the window remembers
    def setting(self, key: str, default: str = "") -> str: ...
    def set_setting(self, key: str, value: str) -> None: ...

    def close(self) -> None: ...
