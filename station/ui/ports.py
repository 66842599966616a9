"""What the window may ask for, and what it is told. `app` implements the ports; the window knows nothing else of it.

The window draws and forwards. Calls that change something, open a device or work something out return at once; what
comes of them follows as an event from `LivePort.take_events`. Calls that return values read memory, the settings or a
short query of the records. A pane, a panel or a room takes the port that it needs, not the whole desk.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Literal, Protocol

from station.bench.alone_view import AloneView
from station.bench.types import Command, Event, PlannedVisit, SessionView
from station.bench.work import Work
from station.checks.types import Limits, Reading
from station.diagnosis.hazards import Hazard
from station.judgement.limits import Origin
from station.judgement.standing import Standing
from station.judgement.tries import Key
from station.records.types import Comeback, Lot, Note, Result, ShelfPart, Treatment, Unit, UnitHistory, Visit
from station.sheets.model import Sheet
from station.sheets.signals import Signal
from station.sources.port import DeviceInfo, SourceStatus

if TYPE_CHECKING:
    # what these bring with them (learning, diagnosis) is loaded when it is first used, not at the start
    from station.bench.teaching_types import TeachAnswer, TeachKey, TeachView
    from station.certificate.labels import Size
    from station.evidence.drawing import Evidence
    from station.evidence.laid_over import OtherTry
    from station.lots.accounts import LotAccounts
    from station.lots.agenda import PlanTold
    from station.lots.incoming.draft import Draft
    from station.lots.shop.figures import ShopFigures, Stands
    from station.lots.view import LotView
    from station.records.arriving import Arrival


@dataclass(frozen=True, slots=True)
class SuspectView:
    """A suspect part and how likely it is (0…1)."""

    name: str
    weight: float


@dataclass(frozen=True, slots=True)
class TreatmentView:
    """A kind of treatment as the fault guide has it."""

    kind: str
    title: str
    needs_part: bool


@dataclass(frozen=True, slots=True)
class GradeView:
    """What a unit may be called, and what keeps it from the next better grade. `grade` "": it has none, `none` says
    why."""

    grade: str
    none: str = ""
    kept_from: str = ""


@dataclass(frozen=True, slots=True)
class ProposalView:
    """The next treatment and why. `hazards` stand beside the step."""

    title: str
    reason: str
    then: str = ""
    hazards: tuple[Hazard, ...] = ()
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


Described = Literal["sheet", "class", "descriptor", "nothing"]


@dataclass(frozen=True, slots=True)
class DeviceAppeared:
    """A device was plugged in that can be opened. `unit` is set when its serial is known, else the person picks or
    makes one.

    `described`: what says which controls it has ("class": the sheet of its interface's class, not of its model);
    "nothing": it cannot be tested before it was taught.
    """

    device: DeviceInfo
    unit: Unit | None
    sheet: str
    described: Described = "sheet"

    @property
    def model(self) -> str:
        """What is written of a new unit as its model. The sheet of a class is none, nor is the name of a receiver that
        of its pads."""
        if self.described == "class" and not self.device.place and self.device.product:
            return self.device.product
        return self.sheet or self.device.product


@dataclass(frozen=True, slots=True)
class DeviceGone:
    device: DeviceInfo


@dataclass(frozen=True, slots=True)
class TroubleOver:
    """What was said of a device that could not be opened holds no longer: it can be opened, or went away."""


@dataclass(frozen=True, slots=True)
class PadMoved:
    """A device that is plugged in beside the one at the front was picked up and worked for a second."""

    device: DeviceInfo


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence for the person. `bad` for a fault. `answers`: the number of the call that it answers; 0 for none.
    `about`: "limits" where it is of the shop's own limits, and goes when they are mended; "opening" where it is of a
    device that cannot be opened, until `TroubleOver`."""

    text: str
    bad: bool = False
    answers: int = 0
    about: Literal["", "limits", "opening"] = ""


@dataclass(frozen=True, slots=True)
class RecordChanged:
    """The record of this unit changed: draw it again. Empty: that of no single unit. `answers` as in `Said`."""

    unit_id: str
    answers: int = 0


@dataclass(frozen=True, slots=True)
class CertificateReady:
    """`key`: the fingerprint of the key that signed it; empty if it is unsigned, then `problem` says why. `withdrawn`:
    why it was taken back; `note`: what had to be left out of it."""

    unit_id: str
    path: str
    key: str = ""
    problem: str = ""
    withdrawn: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class OfferReady:
    """The text of an offer, from the unit's last certificate; pictures of its sticks lie beside that. `note`: what had
    to be left out of it."""

    unit_id: str
    text: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class LabelsReady:
    """`count` labels wait for the printer in the PDF at `path`."""

    path: str
    count: int


@dataclass(frozen=True, slots=True)
class SheetLearned:
    """A taught sheet is saved and in force."""

    name: str
    path: str


@dataclass(frozen=True, slots=True)
class SilentListed:
    """Devices that are there and do not say what they are; unopened. `answers` as in `Said`."""

    devices: tuple[DeviceInfo, ...]
    answers: int = 0


@dataclass(frozen=True, slots=True)
class LotChanged:
    """The picture of this lot was worked out anew."""

    lot_id: str


@dataclass(frozen=True, slots=True)
class AloneEnded:
    """A unit that was left alone is done with; `text` says what it came to, `bad`: it has to be left alone again."""

    unit_id: str
    text: str
    bad: bool = False


@dataclass(frozen=True, slots=True)
class Undoable:
    """Something was saved and can be taken back for some seconds; `said` empty: what has this number was taken back.
    `logged`: what was taken back stands in the log. `over`: the visit that would ask for it again is over."""

    said: str
    number: int
    logged: bool = True
    over: bool = False


@dataclass(frozen=True, slots=True)
class SettingView:
    """One row of the settings: an option, or with `file` a file of the shop's.

    `value`: what it is now, in words; `typed`: as one types it; `stored`: as it is kept. `own`: it is not what ships;
    `shipped`: what does, empty for nothing. `counts`: from when on a change counts, empty: at once. `problem`: why
    what is stored is not used. `choices`: (as typed, in words), all that it may be; "": what ships. `picture`: the path
    of one.
    """

    name: str
    group: str
    title: str
    value: str
    own: bool
    typed: str = ""
    stored: str = ""
    shipped: str = ""
    counts: str = ""
    problem: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    hint: str = ""
    picture: bool = False
    file: bool = False


@dataclass(frozen=True, slots=True)
class SettingChanged:
    """What the settings hold under this key is another thing now."""

    key: str


@dataclass(frozen=True, slots=True)
class ShopFileReady:
    """A file of the shop's is there, to be opened in an editor."""

    path: str


@dataclass(frozen=True, slots=True)
class Withdrawable:
    """Something in the records that can be withdrawn. `what`: as in `records.types.WITHDRAWABLE`, "sale", or "arrival"
    (what came into the lot `row_id` at the time `at`); `said`: in a few words; `unit_id` empty: it is of no unit."""

    what: str
    row_id: str
    unit_id: str
    said: str
    at: str = ""


@dataclass(frozen=True, slots=True)
class SpreadsheetRead:
    """What a spreadsheet would bring into a lot. `answers`: the number of the question."""

    draft: Draft
    answers: int = 0


@dataclass(frozen=True, slots=True)
class PlanMade:
    """A plan for a lot, as good as it is by now; `problem`, one sentence: there is none. `over`: no better one
    follows. `answers`: the number of the question."""

    told: PlanTold | None = None
    problem: str = ""
    over: bool = True
    answers: int = 0


@dataclass(frozen=True, slots=True)
class ClaimRead:
    """A claim as it is understood. `text`: in full, where it was typed short; `controls`: names of those it is bound
    to."""

    text: str
    controls: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class EvidenceRead:
    """The reports of a result were read, or cannot be shown: `problem` is one sentence then. `whole`: with what the
    check looked at in them; that takes as long as measuring, so the reports come first."""

    result_id: str
    evidence: Evidence | None = None
    problem: str = ""
    whole: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class FiguresReady:
    """The shop in figures. `standing`: where the unit `unit_id` stands among all of its model."""

    figures: ShopFigures
    unit_id: str = ""
    standing: tuple[Stands, ...] = ()


@dataclass(frozen=True, slots=True)
class FiguresReading:
    """So many of the units that have to be read for the shop's figures are read; `stopped`: no more for now."""

    done: int
    of: int
    stopped: bool = False


@dataclass(frozen=True, slots=True)
class MeasuredAgain:
    """What today's measure makes of the reports of a result: where it differs from what is recorded, and why."""

    result_id: str
    lines: tuple[str, ...]


DeskEvent = (
    Event
    | EvidenceRead
    | FiguresReading
    | FiguresReady
    | MeasuredAgain
    | DeviceAppeared
    | DeviceGone
    | TroubleOver
    | PadMoved
    | Said
    | RecordChanged
    | CertificateReady
    | OfferReady
    | LabelsReady
    | SheetLearned
    | LotChanged
    | SilentListed
    | AloneEnded
    | Undoable
    | SpreadsheetRead
    | PlanMade
    | SettingChanged
    | ShopFileReady
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


@dataclass(frozen=True, slots=True)
class LotAnswer:
    """What is known of a lot (None: nothing yet), and whether it is up to date; a `LotChanged` follows if not."""

    view: LotView | None = None
    fresh: bool = False


class LivePort(Protocol):
    """What comes in from the device on the bench. Asked every frame."""

    def take_events(self) -> Sequence[DeskEvent]:
        """Everything that happened since the last call, in order."""
        ...

    def now(self) -> LiveView: ...
    def status(self) -> SourceStatus | None:
        """How the source does; None while nothing is open."""
        ...


class SheetPort(Protocol):
    """The model sheet of the device on the bench."""

    def sheet(self) -> Sheet | None: ...
    def limits(self) -> Limits:
        """The limits in force: those that ship, with the shop's and the sheet's own in their place."""
        ...

    def limits_problem(self) -> str:
        """Why the shop's own limits cannot be used, in a sentence; empty if nothing is wrong."""
        ...

    def limit_origin(self, check: str, reading: Reading) -> Origin | None:
        """Where the limit comes from by which a reading of the device on the bench was judged; None without one."""
        ...

    def save_sheet(self, sheet: Sheet) -> None:
        """Keep it in the shop's own folder; a `Said` event follows."""
        ...


class DevicePort(Protocol):
    """What is plugged in."""

    def devices(self) -> Sequence[DeviceInfo]: ...
    def to_front(self, device: DeviceInfo) -> None:
        """Read this one at the front from now on; the visit on the bench stops there and can go on later. A
        `DeviceAppeared` event follows."""
        ...

    def samples(self) -> Sequence[str]:
        """Tags of the simulated sample units."""
        ...

    def plug_in_sample(self, tag: str) -> None:
        """Plug in a simulated sample unit; a `DeviceAppeared` event follows."""
        ...

    def list_silent(self) -> int:
        """Look for devices that do not say that they are game controllers; a `SilentListed` event follows.

        Returns the number that the answer carries.
        """
        ...

    def open_silent(self, device: DeviceInfo) -> None:
        """The person says that this is a game controller: it appears as if it was plugged in now."""
        ...


class VisitPort(Protocol):
    """The visit on the bench."""

    def session(self) -> SessionView | None:
        """The visit as it stands; the same object until something changed."""
        ...

    def do(self, command: Command) -> None:
        """Hand it to the visit; nothing happens when there is none."""
        ...

    def whose(self, device: DeviceInfo) -> Unit | None:
        """The unit that this device is known to be: by its serial number, or by the visit that ran on it since it is
        plugged in."""
        ...

    def hold(self, on: bool) -> None:
        """Something stands in front of the bench, or no longer: until then the visit begins nothing by itself."""
        ...

    def is_unit(self, device: DeviceInfo, unit: Unit) -> None:
        """A person says that this device is that unit, whatever was known; it holds until it is unplugged."""
        ...

    def start(self, unit_id: str, device: DeviceInfo, kind: str) -> None:
        """Start, or go on with, a visit of the unit on this device. One that is known to be another is refused."""
        ...

    def look_over(self, unit_id: str, kind: str, sign: str = "") -> None:
        """Keep that the unit was looked over before it is plugged in, in its open visit or a new one of that kind.
        `sign`: what stops it, one of `checks.ask.SIGNS`. A `RecordChanged` event follows."""
        ...

    def wind_up(self) -> str:
        """The window is about to close: end the running try, and put by in a file what cannot be stored. Waits for it.

        Why something would be lost, in a sentence; empty when nothing is.
        """
        ...

    def unfinished(self, unit_id: str) -> Visit | None:
        """The visit of this unit that was not finished, if there is one."""
        ...


class AlonePort(Protocol):
    """Units that are left alone while the bench goes on with others."""

    def views(self) -> Sequence[AloneView]:
        """How they do, in the order in which they were left. Asked a few times a second."""
        ...

    def leave(self, unit_id: str, device: DeviceInfo, kind: str, seconds: float) -> None:
        """Leave this unit, plugged in as this device, alone for so long (0: until it is ended).

        Its visit goes on, or one of that kind begins; the front of the bench is free then. A `Said` event follows.
        """
        ...

    def end(self, alone_id: str) -> None:
        """End it now; an `AloneEnded` event follows, and the unit is at the bench again."""
        ...


class TeachingPort(Protocol):
    """The lesson by which a device is taught that no sheet describes."""

    def lesson(self) -> TeachView | None:
        """The lesson as it stands; None when none is under way."""
        ...

    def kept_walk(self, device: DeviceInfo) -> KeptWalk | None:
        """The walk with this kind of device that was stopped, if there is one."""
        ...

    def begin(self, device: DeviceInfo, counts: Mapping[str, int], *, go_on: bool) -> None:
        """Begin the guided walk; `counts` as `sheets.learn.usual_controls` takes them. `go_on`: with the kept one.

        InputError while a check runs, and for a simulated unit.
        """
        ...

    def press(self, key: TeachKey) -> None: ...
    def answer(self, control: str, answer: TeachAnswer) -> None: ...
    def proposed_name(self) -> str:
        """The name to propose for the sheet of this lesson."""
        ...

    def save_taught(self, name: str) -> None:
        """Save what was learned; a `SheetLearned` event follows, and the sheet is in force.

        InputError when nothing was learned that could be saved.
        """
        ...


class UnitPort(Protocol):
    """The units and their records. A `RecordChanged` event follows the commit of each change."""

    def find(self, search: str = "") -> Sequence[Unit]:
        """Units whose tag, model, serial number or claim holds the text; without a text the newest ones."""
        ...

    def history(self, unit_id: str) -> UnitHistory:
        """RecordError when there is no such unit."""
        ...

    def due(self) -> Sequence[DueRow]: ...
    def today(self) -> date:
        """The date on the desk's clock."""
        ...

    def add(self, unit: Unit) -> int:
        """`unit.id` empty: a new one is given. Returns the number that the answer carries, be it a refusal."""
        ...

    def change(self, unit: Unit, reason: str = "") -> None:
        """`reason`: why it becomes ready before its rest is over, or why the rest is cut short."""
        ...

    def treat(self, treatment: Treatment, shelf_part_id: str = "") -> None:
        """`shelf_part_id`: the part that came from the shelf, which has one piece less then."""
        ...

    def note(self, note: Note, photo: str = "", *, on_certificate: bool = False) -> int:
        """`photo`: the path of a JPEG, PNG or WebP to keep with the note, and to put `on_certificate` of the unit.

        Returns the number that the answer carries.
        """
        ...

    def come_back(self, comeback: Comeback) -> None:
        """A sold unit came back."""
        ...

    def look_at_comeback(self, comeback: Comeback, found: str, treatment_id: str | None) -> None:
        """What was found of a unit that came back; `treatment_id`: the cure that did not hold."""
        ...

    def channels(self) -> Sequence[str]:
        """Where units were sold, the newest sale first."""
        ...

    def photos(self) -> Sequence[str]:
        """Paths of the newest pictures in the folder that a photo was taken from last, newest first."""
        ...


class UndoPort(Protocol):
    """Mistakes taken back. A `RecordChanged` event follows the commit of each change, and an `Undoable` each save."""

    def undo(self, number: int) -> None:
        """Take back what was saved last, if it has this number."""
        ...

    def withdraw(self, one: Withdrawable, reason: str) -> None:
        """It stays in the records and counts nowhere."""
        ...

    def correct(self, unit: Unit, reason: str) -> None:
        """Put right tag, model and lot; the sheet is that of the model, where there is one."""
        ...

    def models(self) -> Sequence[str]:
        """Names of the model sheets."""
        ...


class AdvicePort(Protocol):
    """What the diagnosis says of a unit: what is known now; a `RecordChanged` event follows when more is known."""

    def suspects(self, unit_id: str) -> Sequence[SuspectView]: ...
    def proposal(self, unit_id: str) -> ProposalView | None: ...
    def grade(self, unit_id: str) -> GradeView | None:
        """None while it is being worked out, and of a unit that was never tested."""
        ...

    def plan(self, unit_id: str) -> PlannedVisit | None:
        """What the next visit of the unit asks, or the one that is open; None while that is worked out, and where no
        sheet says which controls it has."""
        ...

    def sheet(self, unit_id: str) -> Sheet | None:
        """The model sheet of the unit, be it plugged in or not; None while it is looked for."""
        ...

    def older(self, unit_id: str) -> Mapping[Key, Treatment]:
        """The checks whose result is older than a treatment that may have changed it."""
        ...

    def standing(self, unit_id: str) -> Standing | None:
        """What it may be sold as, by its record now; None where no sheet describes it."""
        ...

    def treatments(self) -> Sequence[TreatmentView]:
        """The kinds of treatment of the fault guide, in its order."""
        ...

    def parts(self, unit_id: str, kind: str) -> Sequence[str]:
        """The parts of the unit that a kind of treatment can help, the likeliest bad ones first."""
        ...

    def hazards(self, what: str) -> Sequence[Hazard]:
        """What can hurt in a kind of treatment or a step of the bench (`diagnosis.hazards.STEPS`)."""
        ...


class WorkPort(Protocol):
    """Treatments under way. A `RecordChanged` event follows the commit of each change."""

    def of_unit(self, unit_id: str) -> Work | None: ...
    def seconds(self, work: Work) -> float:
        """For how long it was worked at until now."""
        ...

    def minutes(self, work: Work) -> int | None:
        """The same in minutes; None where the clock was forgotten and somebody has to say."""
        ...

    def begin(self, treatment: Treatment, shelf_part_id: str = "") -> None: ...
    def pause(self, work: Work) -> Work:
        """Pause the clock, or let it go on; the work as it is then."""
        ...

    def drop(self, unit_id: str) -> None:
        """It did not come to it: nothing is recorded."""
        ...

    def end(self, unit_id: str, minutes: int) -> None:
        """It is done: the treatment is recorded, and a visit of the unit that is open ends."""
        ...


class StockPort(Protocol):
    """Lots and the shelf of good parts. A `RecordChanged` event follows the commit of each change."""

    def lots(self) -> Sequence[Lot]: ...
    def lot_states(self) -> Mapping[str, Mapping[str, int]]:
        """Lot id → what its units became → how many; "" stands for those that belong to no lot."""
        ...

    def units_of_lot(self, lot_id: str) -> Sequence[Unit]:
        """With "" those that belong to no lot."""
        ...

    def lot_answer(self, lot_id: str) -> LotAnswer: ...
    def currency_of_new(self) -> str:
        """In which a new lot is paid for, unless somebody says another."""
        ...

    def add_lot(self, lot: Lot) -> None: ...
    def change_lot(self, lot: Lot) -> None: ...
    def spreadsheets(self) -> Sequence[str]:
        """Paths of the newest spreadsheets in the folder from which one came last, newest first."""
        ...

    def look_into(self, path: str, lot: str) -> int:
        """Look a spreadsheet through for the lot of that name; a `SpreadsheetRead` event follows. Returns the number
        that the answer carries, be it a refusal."""
        ...

    def take_in(self, draft: Draft) -> None:
        """Take in all that it would bring, to be taken back as one."""
        ...

    def accounts_of(self, lot: Lot) -> LotAccounts:
        """What each unit of the lot cost and brought."""
        ...

    def write_accounts(self, path: str) -> None:
        """Write the accounts of all lots; a `Said` event follows."""
        ...

    def plan(self, lot: Lot, hours: float | None) -> int:
        """Work out what to do with each unit of the lot in so many hours, or in as many as it takes; `PlanMade` events
        follow, the better the later. What was asked before is stopped. Returns the number that the answers carry."""
        ...

    def stop_plan(self) -> None:
        """Work no further at what was asked; the best so far was told."""
        ...

    def arrivals(self, lot: Lot) -> Sequence[Arrival]:
        """What came into the lot together, newest first."""
        ...

    def sheets(self) -> Sequence[Sheet]:
        """The model sheets of this bench, by name."""
        ...

    def sheet_named(self, model: str) -> Sheet | None:
        """The model sheet that is called so, whatever the case of its letters."""
        ...

    def claim_of(self, text: str, model: str) -> ClaimRead:
        """How a claim about a unit of this model is understood."""
        ...

    def shelf(self) -> Sequence[ShelfPart]: ...
    def add_part(self, part: ShelfPart) -> None: ...
    def give_up(self, unit: Unit, parts: Sequence[ShelfPart], reason: str) -> None:
        """Make the unit a donor and put its parts on the shelf, both or neither."""
        ...


class CertificatePort(Protocol):
    def last_certificate(self, unit_id: str) -> CertificateReady | None:
        """The unit's last certificate, if one was written here."""
        ...

    def write_offer(self, unit_id: str) -> None:
        """The text of an offer from its last certificate; an `OfferReady` event follows."""

    def write_certificate(self, unit_id: str) -> None:
        """A `CertificateReady` event follows."""
        ...


class EvidencePort(Protocol):
    """The reports behind results, read beside the window."""

    def look_at(self, unit_id: str, result_id: str) -> None:
        """Read the reports of a result; `EvidenceRead` events follow. What was asked for before and is not read yet is
        dropped."""
        ...

    def freeze(self) -> Result | None:
        """The last seconds of the check that runs, in the place of a result; an `EvidenceRead` follows. None while none
        runs."""
        ...

    def good_tries(self, unit_id: str, result_id: str) -> Sequence[OtherTry]:
        """What of units of the same model that passed everything may be laid over a result, the newest units first."""
        ...

    def keep_picture(self, name: str, files: Mapping[str, bytes]) -> None:
        """Write a picture and its numbers, ending → content; a `Said` event names the place."""
        ...

    def measure_again(self, unit_id: str, result_id: str) -> None:
        """Today's measure on the reports of a result; a `MeasuredAgain` event follows. Nothing recorded changes."""
        ...


class FiguresPort(Protocol):
    """The shop in figures, worked out beside the window."""

    def ask(self, unit_id: str = "") -> None:
        """A `FiguresReady` event follows, with where this unit stands; before it `FiguresReading` while units are
        read. What was stopped goes on."""
        ...

    def stop(self) -> None:
        """Read no further for now; what was read is kept. A `FiguresReading` event says how far it came."""
        ...

    def keep_table(self, name: str, content: bytes) -> None:
        """Write a table (CSV); a `Said` event names the place."""
        ...


class LabelPort(Protocol):
    def sizes(self) -> Sequence[Size]:
        """The sizes of labels, those of the shop first. InputError names what is wrong with its table."""
        ...

    def last_sheet(self) -> tuple[str, int]:
        """The size that was printed last, and the first label of its sheet that is still there; "" and 1 before."""
        ...

    def write_labels(self, units: Sequence[Unit], name: str, size: Size, start: int) -> None:
        """A PDF of that name from label `start` of a sheet on; a `LabelsReady` event follows."""


class UpkeepPort(Protocol):
    """Back-ups of the records."""

    def backups(self) -> Sequence[str]:
        """Names of the back-ups, newest first."""
        ...

    def restore(self, name: str) -> None:
        """Put a back-up in the place of the records; what is there now is set aside, not lost."""
        ...


class SettingsPort(Protocol):
    """What the window remembers."""

    def get(self, key: str, default: str = "") -> str: ...
    def put(self, key: str, value: str) -> None: ...
    def own_keys(self) -> str:
        """The text of the shop's file of keys, "" if there is none. InputError says why it cannot be read."""
        ...


class OptionsPort(Protocol):
    """What a shop can set, by the table that the command has too."""

    def views(self) -> Sequence[SettingView]:
        """All of them as they are now, group by group."""
        ...

    def put(self, name: str, text: str, seen: str) -> int:
        """Set an option to what was typed; "": as it ships. InputError says at once what it may be. `seen`: what was
        stored when the person looked; where that changed meanwhile, the answer is a refusal. Returns the number that
        the answer carries: a `RecordChanged`, or a `Said`; before it come `SettingChanged` and an `Undoable`."""
        ...

    def open_file(self, name: str) -> int:
        """A `ShopFileReady` event follows; where there is no such file, a first one is made that changes nothing."""
        ...

    def set_aside(self, name: str) -> int:
        """Give a file of the shop's another name, so that what ships counts."""
        ...


class Desk(Protocol):
    """The window's one partner: one port for each thing that a pane or a panel needs."""

    @property
    def live(self) -> LivePort: ...
    @property
    def sheets(self) -> SheetPort: ...
    @property
    def devices(self) -> DevicePort: ...
    @property
    def visit(self) -> VisitPort: ...
    @property
    def alone(self) -> AlonePort: ...
    @property
    def teaching(self) -> TeachingPort: ...
    @property
    def units(self) -> UnitPort: ...
    @property
    def advice(self) -> AdvicePort: ...
    @property
    def work(self) -> WorkPort: ...
    @property
    def stock(self) -> StockPort: ...
    @property
    def undo(self) -> UndoPort: ...
    @property
    def certificates(self) -> CertificatePort: ...
    @property
    def evidence(self) -> EvidencePort: ...
    @property
    def figures(self) -> FiguresPort: ...
    @property
    def labels(self) -> LabelPort: ...
    @property
    def upkeep(self) -> UpkeepPort: ...
    @property
    def settings(self) -> SettingsPort: ...
    @property
    def options(self) -> OptionsPort: ...
    def close(self) -> None:
        """Stop the visit, finish what was asked for, let go of device and records."""
        ...
