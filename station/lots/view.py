"""A lot as one picture: whether it pays, what to work on next, who gives parts to whom, which parts are waited for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from station.diagnosis.faults import fits
from station.diagnosis.guide import Guide
from station.judgement.grade import short
from station.lots.money import LotMoney, lot_money
from station.lots.outlook import GoodPart, NextStep, UnitOutlook
from station.lots.planner import DonorPlan, Gift, Need, gifts, plan_donors, worth_of
from station.lots.shares import Share, share
from station.lots.sources import ClaimsOfSource, claims_of, source_of
from station.records.types import Lot, ShelfPart, Unit
from station.words import common, figures, grammar
from station.words import lots as words

SHELF, DONOR, NOWHERE = "shelf", "donor", "nowhere"


@dataclass(frozen=True, slots=True)
class WorkRow:
    """A unit with its next step. `part_here`: the part that the step needs lies on the shelf for this unit; a piece is
    there for one unit only."""

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
    grades: Mapping[str, str] = field(default_factory=dict, hash=False)
    """unit id → its grade, or a dash; units that were never tested are not in it"""
    claims: Mapping[str, str] = field(default_factory=dict, hash=False)
    """unit id → what its claim is, of those that have one"""
    of_source: ClaimsOfSource | None = None
    """the claims of all lots from where this one is; None while none is judged"""
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
        if money.units < self.lot.expected:
            here, all_of_it = (figures.number(n, 0) for n in (money.units, self.lot.expected))
            return words.NOT_ALL_ARE_IN.format(here=here, expected=all_of_it, outlook=outlook)
        if self.with_work >= 0:
            return words.PAYS_WITH_WORK.format(outlook=outlook, worked=worked)
        return words.DOES_NOT_PAY.format(outlook=outlook, worked=worked)


def lot_view(
    lot: Lot,
    outlooks: Sequence[UnitOutlook],
    shelf: Sequence[ShelfPart],
    guide: Guide,
    others: Iterable[tuple[Lot, Sequence[str]]] = (),
) -> LotView:
    """Put the picture together; `outlooks`: one for each unit of the lot; `others`: other lots with what the claims of
    their units are."""
    units = tuple(o.unit for o in outlooks)
    comebacks = [c for o in outlooks for c in o.comebacks]
    grades = {o.unit.id: o.grade for o in outlooks}
    money = lot_money(lot, units, [t for o in outlooks for t in o.treatments], guide, comebacks, grades)
    more = sum(o.worked - o.as_it_stands for o in outlooks) if guide.currency == lot.currency else 0
    needs = [o.need for o in outlooks if o.need is not None]
    stock = stock_of(shelf, needs)
    plan = plan_donors(needs, stock)
    given = gifts(needs, plan, stock)
    tags = {u.id: u.tag for u in units}
    pieces = _pieces(outlooks, given, shelf)
    claims = {o.unit.id: o.claim_state for o in outlooks if o.unit.claim}
    return LotView(
        lot,
        units,
        money,
        money.outlook + more,
        _work(outlooks, pieces),
        _donors(outlooks, needs, plan, given, stock),
        _parts(outlooks, given, pieces, tags),
        share(o.passed_intake for o in outlooks),
        share(o.cleaned for o in outlooks),
        {o.unit.id: short(o.grading) for o in outlooks if o.grading is not None},
        claims,
        claims_of(source_of(lot), [(lot, tuple(claims.values())), *others]),
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


_Wait = tuple[str, str]
"""(unit id, name of the part)"""


def _pieces(
    outlooks: Sequence[UnitOutlook], given: Sequence[Gift], shelf: Sequence[ShelfPart]
) -> dict[_Wait, ShelfPart]:
    """Who gets which piece off the shelf, each piece once: as the plan hands them out, then in the order of work."""
    models = {o.unit.id: o.unit.model for o in outlooks}
    waits = [(g.unit_id, g.part) for g in given if not g.giver]
    from_donor = {(g.unit_id, g.part) for g in given if g.giver}
    waits += [(o.unit.id, o.step.part) for o in _in_order(outlooks) if o.step is not None and o.step.needs_part]
    left = Counter({kept.id: kept.count for kept in shelf})
    found: dict[_Wait, ShelfPart] = {}
    for unit_id, part in dict.fromkeys(wait for wait in waits if wait not in from_donor):
        piece = next((kept for kept in shelf if left[kept.id] > 0 and fits(kept, models[unit_id], part)), None)
        if piece is not None:
            left[piece.id] -= 1
            found[unit_id, part] = piece
    return found


def _in_order(outlooks: Sequence[UnitOutlook]) -> list[UnitOutlook]:
    """What is worth most first, then what has to be tested to know, then what is better stopped; rests last."""
    order = {"treat": 0, "sound": 0, "test": 1, "stop": 2, "rest": 3}
    steps = [(o, o.step) for o in outlooks if o.step is not None]
    steps.sort(key=lambda one: (order[one[0].stage], -(one[1].gain_minor or 0), one[0].unit.tag))
    return [o for o, _ in steps]


def _work(outlooks: Sequence[UnitOutlook], pieces: Mapping[_Wait, ShelfPart]) -> tuple[WorkRow, ...]:
    return tuple(
        WorkRow(o.unit, o.step, o.step.needs_part and (o.unit.id, o.step.part) in pieces)
        for o in _in_order(outlooks)
        if o.step is not None
    )


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
    outlooks: Sequence[UnitOutlook],
    given: Sequence[Gift],
    pieces: Mapping[_Wait, ShelfPart],
    tags: Mapping[str, str],
) -> tuple[PartWaited, ...]:
    """The parts that the plan hands out, and those that a unit's next step needs."""
    by_id = {o.unit.id: o.unit for o in outlooks}
    givers = {(g.unit_id, g.part): g.giver for g in given}
    waits = list(givers) + [(o.unit.id, o.step.part) for o in outlooks if o.step is not None and o.step.needs_part]
    rows = []
    for unit_id, part in dict.fromkeys(waits):
        unit = by_id[unit_id]
        kept, giver = pieces.get((unit_id, part)), givers.get((unit_id, part), "")
        if kept is not None:
            rows.append(PartWaited(unit, part, SHELF, tags.get(kept.source_unit_id or "", ""), kept.count))
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
