"""Money that adds up: every amount of a lot as an entry, in whole minor units, and what units, lots and months come to.

What is shared is shared to the cent: the shares of a price come to the price. Every sum is one over the same entries,
so the tables of units and of months come to the same. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from station.records.money import UNLESS_SET
from station.records.types import Comeback, Lot, Treatment, Unit, currency_of

Kind = Literal["price", "postage", "parts", "labour", "sale", "fees", "shipping", "refund", "return"]
KINDS: tuple[Kind, ...] = ("price", "postage", "parts", "labour", "sale", "fees", "shipping", "refund", "return")
"""labour is reckoned at the shop's price of an hour, the others are paid"""
_MINUTES = 60


@dataclass(frozen=True, slots=True)
class Entry:
    """One amount: positive comes in, negative goes out. `day` may be empty where nobody kept it; `unit_id` empty: a
    share of units that are still to come. `minutes`: of work, of labour alone."""

    day: str
    kind: Kind
    minor: int
    currency: str
    lot: Lot | None
    unit_id: str
    tag: str
    minutes: int = 0
    note: str = ""


@dataclass(frozen=True, slots=True)
class Kept:
    """What of a unit bears on money."""

    unit: Unit
    treatments: tuple[Treatment, ...] = ()
    comebacks: tuple[Comeback, ...] = ()


@dataclass(frozen=True, slots=True)
class Sums:
    """What entries come to, by kind, in one currency; amounts as in `Entry`."""

    currency: str
    by_kind: dict[Kind, int] = field(default_factory=dict)
    minutes: int = 0

    def of(self, *kinds: Kind) -> int:
        return sum(self.by_kind.get(kind, 0) for kind in kinds)

    @property
    def profit(self) -> int:
        """All of it, work at the shop's price of an hour among it."""
        return self.of(*KINDS)

    @property
    def per_hour(self) -> int | None:
        """What an hour of work brought: all but the work itself, for each hour; None where nobody worked."""
        return _rounded((self.profit - self.of("labour")) * _MINUTES, self.minutes) if self.minutes else None


@dataclass(frozen=True, slots=True)
class UnitAccount:
    """One unit. `others`: currencies in which there are amounts that are not in its sums."""

    unit: Unit
    lot: Lot | None
    sums: Sums
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LotAccounts:
    """One lot. `to_come`: what units bear that are still to come; `whole`: all of it; `notes`: what is not in it."""

    units: tuple[UnitAccount, ...]
    to_come: Sums
    whole: Sums
    notes: tuple[str, ...] = ()


# --- shares ---------------------------------------------------------------------------------------------------


def equal_shares(total: int, count: int) -> list[int]:
    """`count` whole numbers that come to `total` and differ by one at most, the greater ones first."""
    if count <= 0:
        return []
    whole, over = divmod(abs(total), count)
    sign = -1 if total < 0 else 1
    return [sign * (whole + (k < over)) for k in range(count)]


def shares_by(total: int, weights: Sequence[int]) -> list[int]:
    """Whole numbers in the proportion of the weights (none below 0) that come to `total`: rounded down, and what is
    left goes to the greatest remainders, of alike ones to the first (Hamilton's method). Equal shares where all weigh
    nothing."""
    weight = sum(weights)
    if not weight:
        return equal_shares(total, len(weights))
    parts = [divmod(abs(total) * w, weight) for w in weights]
    left = abs(total) - sum(whole for whole, _ in parts)
    first = sorted(range(len(parts)), key=lambda k: (-parts[k][1], k))[:left]
    sign = -1 if total < 0 else 1
    return [sign * (whole + (k in set(first))) for k, (whole, _) in enumerate(parts)]


def price_shares(lot: Lot, units: Sequence[Unit]) -> tuple[dict[str, int], int]:
    """Unit id → its share of the lot's price, and what is left for units that are still to come.

    What was paid for a unit alone is its own; the rest of the price is shared alike among the others and those to come.
    Where there are none, or the units alone cost more than the lot, what differs is shared alike among all.
    """
    mine = sorted(units, key=lambda unit: unit.id)
    own = {unit.id: unit.cost_minor for unit in mine}
    without = [unit.id for unit in mine if not unit.cost_minor]
    to_come = max(lot.expected - len(mine), 0)
    rest = lot.cost_minor - sum(own.values())
    if rest >= 0 and (without or to_come):
        shares = equal_shares(rest, len(without) + to_come)
        return {**own, **dict(zip(without, shares, strict=False))}, sum(shares[len(without) :])
    if not mine:
        return {}, rest
    over = dict(zip(own, equal_shares(rest, len(mine)), strict=True))
    return {unit_id: cost + over[unit_id] for unit_id, cost in own.items()}, 0


def postage_shares(lot: Lot, units: Sequence[Unit]) -> tuple[dict[str, int], int]:
    """Unit id → its share of the postage, alike for all, and what is left for those that are still to come."""
    ids = sorted(unit.id for unit in units)
    shares = equal_shares(lot.postage_minor, max(lot.expected, len(ids), 1))
    return dict(zip(ids, shares, strict=False)), sum(shares[len(ids) :])


# --- entries ----------------------------------------------------------------------------------------------------


def entries_of(
    lot: Lot | None, kept: Sequence[Kept], hour_minor: int, guide_currency: str, of_shop: str = UNLESS_SET
) -> tuple[Entry, ...]:
    """Every amount of a lot (None: of units that belong to none, of which each paid what was paid for it alone).

    `hour_minor`: the price of an hour, in the guide's currency; where that is not the lot's, work is not in money.
    `of_shop`: the shop's currency, of units that belong to no lot.
    """
    currency = currency_of(lot, of_shop)
    hour = hour_minor if guide_currency == currency else 0
    return (
        *_bought(lot, [one.unit for one in kept], currency),
        *_worked(lot, kept, hour, currency),
        *(entry for one in kept for entry in _traded(lot, one, currency)),
    )


def _bought(lot: Lot | None, units: Sequence[Unit], currency: str) -> Iterable[Entry]:
    tags = {unit.id: unit.tag for unit in units}
    if lot is None:
        for unit in units:
            if unit.cost_minor:
                yield Entry(unit.created_at[:10], "price", -unit.cost_minor, currency, None, unit.id, unit.tag)
        return
    both: tuple[tuple[Kind, tuple[dict[str, int], int]], ...] = (
        ("price", price_shares(lot, units)),
        ("postage", postage_shares(lot, units)),
    )
    for kind, (shares, left) in both:
        for unit_id, share in (*shares.items(), ("", left)):
            if share:
                yield Entry(lot.bought_on, kind, -share, currency, lot, unit_id, tags.get(unit_id, ""))


def _worked(lot: Lot | None, kept: Sequence[Kept], hour: int, currency: str) -> Iterable[Entry]:
    """Parts, and work at the price of an hour: rounded once for the lot, and shared by the minutes."""
    done = [(one.unit, t) for one in kept for t in one.treatments]
    total = _rounded(sum(t.minutes for _, t in done) * hour, _MINUTES)
    labour = shares_by(total, [t.minutes for _, t in done])
    for (unit, t), cost in zip(done, labour, strict=True):
        if t.cost_minor:
            yield Entry(t.at[:10], "parts", -t.cost_minor, t.currency, lot, unit.id, unit.tag, 0, t.kind)
        if t.minutes:
            yield Entry(t.at[:10], "labour", -cost, currency, lot, unit.id, unit.tag, t.minutes, t.kind)


def _traded(lot: Lot | None, one: Kept, currency: str) -> Iterable[Entry]:
    """The sale that stands, and each that was undone with its end."""
    unit = one.unit
    sales = [(c.sold_on, c.sold_minor, c.fees_minor, c.shipping_minor, c.channel) for c in one.comebacks]
    if unit.becomes == "sold":
        sales.append((unit.sold_on, unit.sold_minor, unit.fees_minor, unit.shipping_minor, unit.channel))
    for day, price, fees, shipping, channel in sales:
        of_sale: tuple[tuple[Kind, int], ...] = (("sale", price), ("fees", -fees), ("shipping", -shipping))
        for kind, minor in of_sale:
            if minor:
                yield Entry(day, kind, minor, currency, lot, unit.id, unit.tag, 0, channel)
    for back in one.comebacks:
        of_return: tuple[tuple[Kind, int], ...] = (("refund", -back.refund_minor), ("return", -back.cost_minor))
        for kind, minor in of_return:
            if minor:
                yield Entry(back.at[:10], kind, minor, currency, lot, unit.id, unit.tag, 0, back.reason)


# --- sums -------------------------------------------------------------------------------------------------------


def sums_of(entries: Iterable[Entry], currency: str) -> Sums:
    """What the entries in this currency come to; minutes count whatever their currency."""
    by_kind: dict[Kind, int] = {}
    minutes = 0
    for entry in entries:
        minutes += entry.minutes
        if entry.currency == currency:
            by_kind[entry.kind] = by_kind.get(entry.kind, 0) + entry.minor
    return Sums(currency, by_kind, minutes)


def unit_accounts(
    lot: Lot | None, kept: Sequence[Kept], entries: Sequence[Entry], of_shop: str = UNLESS_SET
) -> tuple[UnitAccount, ...]:
    """Each unit of the lot, by its tag. `of_shop`: as in `entries_of`."""
    currency = currency_of(lot, of_shop)
    mine: dict[str, list[Entry]] = {one.unit.id: [] for one in kept}
    for entry in entries:
        if entry.unit_id:
            mine[entry.unit_id].append(entry)
    found = (
        UnitAccount(
            one.unit,
            lot,
            sums_of(mine[one.unit.id], currency),
            tuple(sorted({entry.currency for entry in mine[one.unit.id]} - {currency})),
        )
        for one in kept
    )
    return tuple(sorted(found, key=lambda account: (account.unit.tag, account.unit.id)))


def months_of(entries: Iterable[Entry]) -> dict[tuple[str, str], Sums]:
    """(month as YYYY-MM, currency) → what its entries come to, in order; "" stands for those of no day."""
    found: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        found.setdefault((entry.day[:7], entry.currency), []).append(entry)
    return {key: sums_of(found[key], key[1]) for key in sorted(found)}


def _rounded(total: int, by: int) -> int:
    """total / by, rounded half away from nought."""
    whole = (2 * abs(total) + by) // (2 * by)
    return -whole if total < 0 else whole
