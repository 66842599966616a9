"""What a lot cost, what was put into it, what it brought, and what it may still bring. Integer minor units."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from station.diagnosis.guide import Guide
from station.records.types import Comeback, Lot, Treatment, Unit

DONE_FOR = ("sold", "scrap")
_PER_HOUR = 60


@dataclass(frozen=True, slots=True)
class LotMoney:
    """Money of one lot, minor units of `currency`. `expected`: of the units that are still here, by the guide."""

    currency: str
    units: int
    paid: int
    materials: int
    minutes: int
    labour: int
    sold: int
    sold_units: int
    expected: int
    other_currencies: tuple[str, ...] = ()
    """currencies of treatments that could not be added up"""
    fees: int = 0
    """fees and shipping of all sales, those that came back among them"""
    returns: int = 0
    """what was paid back and what the way back cost, less the price of those sales"""

    @property
    def result(self) -> int:
        """What it brought so far, after all costs."""
        return self.sold - self.paid - self.materials - self.labour - self.fees - self.returns

    @property
    def outlook(self) -> int:
        """The result once the rest is sold as the guide expects."""
        return self.result + self.expected


def lot_money(
    lot: Lot,
    units: Sequence[Unit],
    treatments: Iterable[Treatment],
    guide: Guide,
    comebacks: Iterable[Comeback] = (),
    grades: Mapping[str, str] = MappingProxyType({}),
) -> LotMoney:
    """Add up a lot; it comes to what its entries do (`lots.accounts`). Treatments in another currency than the lot's
    are left out and named. `grades`: unit id → the grade of those that have one."""
    done, back = list(treatments), list(comebacks)
    counted = [t for t in done if t.currency == lot.currency]
    minutes = sum(t.minutes for t in done)
    sold = [u for u in units if u.becomes == "sold"]
    return LotMoney(
        lot.currency,
        len(units),
        lot.paid_minor,
        sum(t.cost_minor for t in counted),
        minutes,
        (minutes * guide.hour_minor + _PER_HOUR // 2) // _PER_HOUR if guide.currency == lot.currency else 0,
        sum(u.sold_minor for u in sold),
        len(sold),
        sum(expected_price(u, guide, grades.get(u.id, "")) for u in units) if guide.currency == lot.currency else 0,
        tuple(sorted({t.currency for t in done} - {lot.currency})),
        sum(u.fees_minor + u.shipping_minor for u in sold) + sum(c.fees_minor + c.shipping_minor for c in back),
        sum(c.refund_minor + c.cost_minor - c.sold_minor for c in back),
    )


def expected_price(unit: Unit, guide: Guide, grade: str = "") -> int:
    """What a unit that is still here should bring as it stands. `grade`: what it may be called."""
    values = guide.values_for(unit.model, grade)
    by_state: Mapping[str, int] = {
        "ready": values.ready_minor,
        "donor": values.parts_minor,
        "open": values.as_is_minor,
        "sell as is": values.as_is_minor,
    }
    return 0 if unit.becomes in DONE_FOR else by_state.get(unit.becomes, 0)
