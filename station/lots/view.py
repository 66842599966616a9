"""A lot as one picture: whether it pays, what to work on next, who gives parts to whom, which parts are waited for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from station.diagnosis.faults import fits
from station.diagnosis.guide import Guide
from station.lots.money import LotMoney, lot_money
from station.lots.outlook import GoodPart, NextStep, UnitOutlook
from station.lots.planner import DonorPlan, Gift, Need, gifts, plan_donors, worth_of
from station.lots.shares import Share, share
from station.records.types import Lot, ShelfPart, Unit
from station.words import common, figures, grammar
from station.words import lots as words

SHELF, DONOR, NOWHERE = "shelf", "donor", "nowhere"


@dataclass(frozen=True, slots=True)
class WorkRow:
    """A unit with its next step. `part_here`: the part that the step needs lies on the shelf."""

    unit: Unit
    step: NextStep
    part_here: bool = False


@dataclass(frozen=True, slots=True)
class DonorProposal:
    """A unit that is worth most as a donor. `serves`: (unit, part) that its parts mend; `gives`: all its good parts.

    `gain_minor`: how much less the lot would bring without it.
    """

    unit: Unit
    serves: tuple[tuple[Unit, str], ...]
    gives: tuple[GoodPart, ...]
    gain_minor: int

    def reason(self) -> str:
        """Why, in one line: what is kept with the record."""
        given = (words.PART_TO_UNIT.format(part=part, tag=unit.tag) for unit, part in self.serves)
        return words.GIVES.format(parts=grammar.COMMA.join(given))


@dataclass(frozen=True, slots=True)
class PartWaited:
    """A part that a unit waits for. `where`: shelf, donor or nowhere; `giver`: tag of the unit it comes from."""

    unit: Unit
    part: str
    where: str
    giver: str = ""
    count: int = 0
    """pieces on the shelf"""


@dataclass(frozen=True, slots=True)
class LotView:
    """Everything that the window shows of a lot. Money in minor units of the lot's currency."""

    lot: Lot
    units: tuple[Unit, ...]
    money: LotMoney
    with_work: int
    """the result once every unit had the step that is worth most, and the rest is sold as it stands"""
    work: tuple[WorkRow, ...] = ()
    donors: tuple[DonorProposal, ...] = ()
    parts: tuple[PartWaited, ...] = ()
    intake: Share | None = None
    cleaning: Share | None = None
    missing: tuple[str, ...] = ()
    """what nobody wrote down, so that the figures are less than the truth; each a sentence"""
    guide_currency: str = "EUR"
    """of the gains; where it is not the lot's, they are not in its sums"""

    def verdict(self) -> str:
        """Whether the lot pays, in one sentence."""
        money = self.money
        if not money.units:
            return words.NO_UNIT_YET
        if not money.paid:
            return words.NO_PURCHASE_PRICE
        result, expected, outlook, worked = (
            figures.money(abs(m), money.currency) for m in (money.result, money.expected, money.outlook, self.with_work)
        )
        if self.guide_currency != money.currency:
            so_far = words.SO_FAR_ABOVE if money.result >= 0 else words.SO_FAR_SHORT
            return so_far.format(result=result)
        if money.result >= 0 and not money.expected:
            return words.HAS_PAID.format(result=result)
        if money.result >= 0:
            return words.HAS_PAID_AND_MORE.format(result=result, expected=expected)
        if money.outlook >= 0:
            return words.SHOULD_PAY.format(result=result, expected=expected)
        if self.with_work >= 0:
            return words.PAYS_WITH_WORK.format(outlook=outlook, worked=worked)
        return words.DOES_NOT_PAY.format(outlook=outlook, worked=worked)


def lot_view(lot: Lot, outlooks: Sequence[UnitOutlook], shelf: Sequence[ShelfPart], guide: Guide) -> LotView:
    """Put the picture together; `outlooks`: one for each unit of the lot."""
    units = tuple(o.unit for o in outlooks)
    money = lot_money(lot, units, [t for o in outlooks for t in o.treatments], guide)
    more = sum(o.worked - o.as_it_stands for o in outlooks) if guide.currency == lot.currency else 0
    needs = [o.need for o in outlooks if o.need is not None]
    stock = stock_of(shelf, needs)
    plan = plan_donors(needs, stock)
    given = gifts(needs, plan, stock)
    tags = {u.id: u.tag for u in units}
    return LotView(
        lot,
        units,
        money,
        money.outlook + more,
        _work(outlooks, shelf),
        _donors(outlooks, needs, plan, given, stock),
        _parts(outlooks, given, shelf, tags),
        share(o.passed_intake for o in outlooks),
        share(o.cleaned for o in outlooks),
        _missing(lot, outlooks, money, guide),
        guide.currency,
    )


def stock_of(shelf: Sequence[ShelfPart], needs: Sequence[Need]) -> Counter[tuple[str, str]]:
    """(model, part name) → pieces on the shelf, under the names that the needs use; each piece counts once."""
    stock: Counter[tuple[str, str]] = Counter()
    wanted = list(dict.fromkeys((n.model, part) for n in needs for part in n.parts))
    for kept in shelf:
        key = next(((model, part) for model, part in wanted if fits(kept, model, part)), None)
        if key is not None and kept.count > 0:
            stock[key] += kept.count
    return stock


def _work(outlooks: Sequence[UnitOutlook], shelf: Sequence[ShelfPart]) -> tuple[WorkRow, ...]:
    """What is worth most first, then what has to be tested to know, then what is better stopped; rests last."""
    rows = [
        (o.stage, WorkRow(o.unit, o.step, o.step.needs_part and bool(_on_shelf(shelf, o.unit, o.step.part))))
        for o in outlooks
        if o.step is not None
    ]
    order = {"treat": 0, "sound": 0, "test": 1, "stop": 2, "rest": 3}
    return tuple(
        row for _, row in sorted(rows, key=lambda r: (order[r[0]], -(r[1].step.gain_minor or 0), r[1].unit.tag))
    )


def _on_shelf(shelf: Sequence[ShelfPart], unit: Unit, part: str) -> list[ShelfPart]:
    return [kept for kept in shelf if kept.count > 0 and fits(kept, unit.model, part)]


def _donors(
    outlooks: Sequence[UnitOutlook],
    needs: Sequence[Need],
    plan: DonorPlan,
    given: Sequence[Gift],
    stock: Mapping[tuple[str, str], int],
) -> tuple[DonorProposal, ...]:
    by_id = {o.unit.id: o for o in outlooks}
    found = [
        DonorProposal(
            by_id[donor].unit,
            tuple((by_id[g.unit_id].unit, g.part) for g in given if g.giver == donor),
            by_id[donor].gives,
            worth_of(needs, plan, donor, stock),
        )
        for donor in plan.donors
    ]
    return tuple(sorted((d for d in found if d.serves), key=lambda d: -d.gain_minor))


def _parts(
    outlooks: Sequence[UnitOutlook], given: Sequence[Gift], shelf: Sequence[ShelfPart], tags: Mapping[str, str]
) -> tuple[PartWaited, ...]:
    """The parts that the plan hands out, and those that a unit's next step needs."""
    by_id = {o.unit.id: o.unit for o in outlooks}
    givers = {(g.unit_id, g.part): g.giver for g in given}
    waits = list(givers) + [(o.unit.id, o.step.part) for o in outlooks if o.step is not None and o.step.needs_part]
    rows = []
    for unit_id, part in dict.fromkeys(waits):
        unit = by_id[unit_id]
        kept = _on_shelf(shelf, unit, part)
        giver = givers.get((unit_id, part), "")
        if kept and not giver:
            source = tags.get(kept[0].source_unit_id or "", "")
            rows.append(PartWaited(unit, part, SHELF, source, sum(k.count for k in kept)))
        elif giver:
            rows.append(PartWaited(unit, part, DONOR, tags[giver]))
        else:
            rows.append(PartWaited(unit, part, NOWHERE))
    order = {SHELF: 0, DONOR: 1, NOWHERE: 2}
    return tuple(sorted(rows, key=lambda r: (order[r.where], r.unit.tag, r.part)))


def _missing(lot: Lot, outlooks: Sequence[UnitOutlook], money: LotMoney, guide: Guide) -> tuple[str, ...]:
    said = []
    if not lot.cost_minor:
        said.append(words.WRITE_PURCHASE_PRICE)
    unpriced = [o.unit.tag for o in outlooks if o.unit.becomes == "sold" and not o.unit.sold_minor]
    if unpriced:
        said.append(words.SOLD_WITHOUT_PRICE.format(tags=grammar.COMMA.join(unpriced)))
    if guide.currency != lot.currency:
        said.append(words.TWO_CURRENCIES.format(lot=lot.currency, guide=guide.currency))
    if money.other_currencies:
        said.append(words.OTHER_CURRENCIES.format(currencies=grammar.COMMA.join(money.other_currencies)))
    waiting = sum(o.stage == "test" for o in outlooks)
    if waiting:
        units = grammar.count_of(len(outlooks), common.UNITS)
        said.append(words.TO_TEST_FIRST.format(waiting=waiting, units=units))
    return tuple(said)
