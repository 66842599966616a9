"""Rows of the records as immutable values. Ids are UUIDv7 text, times UTC ISO 8601, money integer minor units."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from station.checks.strengths import PressStrength, strength_of
from station.checks.types import Assessment
from station.records.money import UNLESS_SET

FIRST_LOOK = "first look"
VISIT_KINDS = (FIRST_LOOK, "intake", "after treatment", "after rest", "final")
CLAIM_STATES = ("open", "confirmed", "not found", "something else")
BECOMES = ("open", "ready", "donor", "sell as is", "scrap", "sold")
GONE = ("sold", "scrap", "donor")
"""what a unit became when its tag is free again"""
TREATMENT_KINDS = (
    "clean from outside",
    "open and clean",
    "clean the sensor",
    "contact cleaner",
    "replace sensor",
    "replace module",
    "replace contact pad",
    "replace membrane or flex",
    "replace spring",
    "replace cap or paddle",
    "replace board",
    "replace battery",
    "replace cable",
    "replace motor",
    "replace housing",
    "resolder",
    "re-seat connector",
    "swap with donor part",
    "adjust",
    "calibrate",
    "other",
)
"""the kinds that ship; a shop's fault guide may have more of its own"""
BOXES = ("", "box", "no box")
"""whether a unit came in its box; empty: nobody said"""
FOUND = ("not looked at", "same fault", "another fault", "nothing found", "damaged on the way")
"""what was found of a unit that came back"""
SAME_FAULT = "same fault"
WITHDRAWABLE = (
    *("result", "treatment", "note", "override", "part", "move", "comeback", "unit", "lot", "values", "certificate"),
    "withdrawal",
)
"""what a withdrawal takes back: a row of a table, "values" that stood in a unit, or another withdrawal"""


def _kept_nowhere() -> Any:
    """A field that stands in no table: where the row stands among results, treatments and visits, where its time does
    not tell (`station.records.order`); a text that sorts as times do, empty: by its time."""
    return field(default="", compare=False, repr=False, metadata={"kept": False})


@dataclass(frozen=True, slots=True)
class Lot:
    id: str
    name: str
    bought_on: str
    seller: str = ""
    cost_minor: int = 0
    currency: str = "EUR"
    note: str = ""
    source: str = ""
    """where such lots are bought: a market place, a wholesaler, a house clearance"""
    postage_minor: int = 0
    expected: int = 0
    """how many units should come; 0: nobody said"""

    @property
    def paid_minor(self) -> int:
        """What the whole of it cost until it was here."""
        return self.cost_minor + self.postage_minor


def currency_of(lot: Lot | None, of_shop: str) -> str:
    """In which money a unit of this lot is reckoned; None: of none, then in the shop's."""
    return lot.currency if lot is not None else of_shop


@dataclass(frozen=True, slots=True)
class Unit:
    """One device. `becomes` is one of BECOMES, `claim_state` one of CLAIM_STATES. `sheet` is the model sheet's name."""

    id: str
    tag: str
    model: str
    lot_id: str | None = None
    serial: str = ""
    vendor_id: int = 0
    product_id: int = 0
    sheet: str = ""
    claim: str = ""
    claim_state: str = "open"
    condition: str = ""
    becomes: str = "open"
    rest_until: str = ""
    """date (YYYY-MM-DD) from which the second test may be made; empty: none asked for"""
    created_at: str = ""
    sold_minor: int = 0
    """what it was sold for, in the currency of its lot; 0 while unsold"""
    accessories: str = ""
    """what came with it: cable, dongle"""
    box: str = ""
    """one of BOXES"""
    cost_minor: int = 0
    """what was paid for it alone, as part of its lot's price; 0: nobody said"""
    sold_on: str = ""
    """day of the sale; empty while unsold, and of sales of which nobody kept it"""
    channel: str = ""
    """where it was sold"""
    fees_minor: int = 0
    """what the channel and the payment kept of it"""
    shipping_minor: int = 0
    """what it cost to send it"""


@dataclass(frozen=True, slots=True)
class Visit:
    id: str
    unit_id: str
    kind: str
    number: int
    started_at: str
    finished_at: str = ""
    person: str = ""
    bench: str = ""
    treatment_id: str | None = None
    ordered: str = _kept_nowhere()

    @property
    def order(self) -> str:
        """When it began, for what asks whether something was before or after."""
        return self.ordered or self.started_at


@dataclass(frozen=True, slots=True)
class Result:
    """One try at one check. `control` is "" for the whole unit. `reason` says why it was marked by hand or interrupted.

    `replaces` names the result that this one corrects. `sheet_limits` are in the readings themselves.
    """

    id: str
    visit_id: str
    check: str
    control: str
    attempt: int
    at: str
    assessment: Assessment
    capture_sha256: str = ""
    by_hand: bool = False
    reason: str = ""
    replaces: str | None = None
    clock: str = ""
    stamp_error_p99_us: float | None = None
    lost: int = 0
    ordered: str = _kept_nowhere()

    @property
    def order(self) -> str:
        """When it was recorded, for what asks whether something was before or after."""
        return self.ordered or self.at

    @property
    def strength(self) -> PressStrength | None:
        """How hard the control was pressed; None where nothing was pressed on beats."""
        return strength_of(self.check)


@dataclass(frozen=True, slots=True)
class Treatment:
    id: str
    unit_id: str
    kind: str
    at: str
    part: str = ""
    minutes: int = 0
    materials: str = ""
    cost_minor: int = 0
    currency: str = "EUR"
    person: str = ""
    note: str = ""
    donor_unit_id: str | None = None
    ordered: str = _kept_nowhere()

    @property
    def order(self) -> str:
        """When it was done, for what asks whether something was before or after."""
        return self.ordered or self.at


@dataclass(frozen=True, slots=True)
class ShelfPart:
    id: str
    name: str
    model: str
    count: int
    source_unit_id: str | None = None
    cost_minor: int = 0
    currency: str = "EUR"
    note: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    id: str
    unit_id: str
    at: str
    text: str
    person: str = ""
    photo_sha256: str = ""


@dataclass(frozen=True, slots=True)
class Comeback:
    """A sold unit that came back. `at`: the day; `reason`: why, as the buyer says; `found`: one of FOUND.

    `sold_on` … `shipping_minor`: the sale that it undoes. Money in the currency of the unit's lot.
    """

    id: str
    unit_id: str
    at: str
    reason: str = ""
    found: str = "not looked at"
    refund_minor: int = 0
    cost_minor: int = 0
    """what its way back cost"""
    sold_on: str = ""
    sold_minor: int = 0
    channel: str = ""
    fees_minor: int = 0
    shipping_minor: int = 0
    treatment_id: str | None = None
    """the cure that did not hold"""
    certificate_id: str | None = None
    """its certificate, if that was withdrawn with it"""
    person: str = ""

    @property
    def lost_minor(self) -> int:
        """What the sale and its end cost in all, less what was kept of the price."""
        return self.fees_minor + self.shipping_minor + self.cost_minor - (self.sold_minor - self.refund_minor)


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """Somebody takes back what was recorded. `what`: one of WITHDRAWABLE; `row_id`: of which row, of "values" the unit.

    `was`: JSON of the unit's columns and what stood in them, of "values" only.
    """

    id: str
    what: str
    row_id: str
    at: str
    reason: str
    person: str = ""
    was: str = ""

    @property
    def values(self) -> dict[str, Any]:
        """Columns of the unit and what they held."""
        return dict(json.loads(self.was)) if self.was else {}


@dataclass(frozen=True, slots=True)
class Issued:
    """A certificate that a bench wrote. `number` counts those of the bench, from 1 without a gap; `name`: as it is
    printed; `file_sha256`, `content_sha256`: of the file and of the content in it; `fingerprint`: of the key that
    signed it, empty if none did."""

    id: str
    unit_id: str
    bench_id: str
    number: int
    name: str
    at: str
    person: str
    file_sha256: str
    content_sha256: str
    fingerprint: str = ""


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """What was withdrawn, to be shown struck through: it is counted nowhere. `entry`: None of values and of the unit
    itself."""

    by: Withdrawal
    entry: Result | Treatment | Note | Issued | Comeback | None = None


@dataclass(frozen=True, slots=True)
class UnitHistory:
    """Everything about one unit, oldest first: what the record pane and the certificate are drawn from.

    What was withdrawn stands in `withdrawn` and nowhere else, so that nobody can count it.
    """

    unit: Unit
    lot: Lot | None
    visits: tuple[Visit, ...] = ()
    results: tuple[Result, ...] = ()
    treatments: tuple[Treatment, ...] = ()
    notes: tuple[Note, ...] = ()
    extra: dict[str, str] = field(default_factory=dict)
    withdrawn: tuple[Withdrawn, ...] = ()
    certificates: tuple[Issued, ...] = ()
    comebacks: tuple[Comeback, ...] = ()
    currency_of_shop: str = UNLESS_SET

    @property
    def currency(self) -> str:
        """In which the unit is reckoned."""
        return currency_of(self.lot, self.currency_of_shop)

    @property
    def unit_withdrawn(self) -> Withdrawal | None:
        """The withdrawal of the unit itself; nothing of it counts then."""
        return next((w.by for w in self.withdrawn if w.by.what == "unit"), None)
