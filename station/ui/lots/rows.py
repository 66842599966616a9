"""What the page of a lot says, as rows and words. Pure."""

from __future__ import annotations

from station.checks.types import Outcome
from station.lots.view import DONOR, SHELF, DonorProposal, LotView, PartWaited, WorkRow
from station.records.types import Unit
from station.ui.painting.tables import Line
from station.words import common, figures, grammar
from station.words import views as words
from station.words.figures import money, no_break

BECOMES_SHAPE = {
    "open": Outcome.NOT_DONE,
    "ready": Outcome.PASS,
    "sold": Outcome.PASS,
    "sell as is": Outcome.BORDERLINE,
    "donor": Outcome.INTERRUPTED,
    "scrap": Outcome.FAIL,
}


def lot_figures(view: LotView) -> tuple[tuple[str, str], ...]:
    """(name, amount) of the figures under the sentence, in the order of the sum."""
    m = view.money
    shown = [
        (words.PAID, m.paid),
        (words.WORK.format(minutes=figures.number(m.minutes, 0)), m.labour),
        (words.MATERIALS, m.materials),
        (words.SOLD.format(units=grammar.count_of(m.sold_units, common.UNITS)), m.sold),
        *([(words.FEES, m.fees)] if m.fees else []),
        *([(words.RETURNS, m.returns)] if m.returns else []),
        (words.SO_FAR, m.result),
        (words.STILL_HERE, m.expected),
        (words.OUTLOOK, m.outlook),
        (words.OUTLOOK_WITH_WORK, view.with_work),
    ]
    return tuple((no_break(name), money(minor, m.currency)) for name, minor in shown)


def work_line(row: WorkRow, currency: str) -> Line:
    step = row.step
    gain = "" if step.gain_minor is None or step.gain_minor <= 0 else money(step.gain_minor, currency)
    title = words.PART_IS_HERE.format(step=step.title) if row.part_here else step.title
    return Line((row.unit.tag, title, figures.number(step.minutes, 0) if step.minutes else "", gain), row)


def donor_line(proposal: DonorProposal, currency: str) -> Line:
    served = (words.PART_FOR_UNIT.format(part=part, tag=unit.tag) for unit, part in proposal.serves)
    gives = grammar.COMMA.join(served)
    return Line((proposal.unit.tag, gives, money(proposal.gain_minor, currency)), proposal)


def part_line(row: PartWaited) -> Line:
    if row.where == SHELF:
        count = figures.number(row.count, 0)
        from_whom = words.ON_SHELF_FROM.format(count=count, giver=row.giver)
        where = from_whom if row.giver else words.ON_SHELF.format(count=count)
        return Line((row.unit.tag, row.part, where), row, Outcome.PASS)
    if row.where == DONOR:
        return Line((row.unit.tag, row.part, words.IN_DONOR.format(giver=row.giver)), row, Outcome.BORDERLINE)
    return Line((row.unit.tag, row.part, words.TO_BUY), row, Outcome.NOT_DONE)


def unit_line(unit: Unit, grade: str = "", claim_state: str = "") -> Line:
    """`claim_state`: what its claim is by its results; "": as somebody set it."""
    state, becomes = common.CLAIM_STATES[claim_state or unit.claim_state], common.BECOMES[unit.becomes]
    cells = (unit.tag, unit.model, unit.claim, state, figures.day(unit.rest_until), grade, becomes)
    return Line(cells, unit, BECOMES_SHAPE.get(unit.becomes))


def notes(view: LotView, fresh: bool) -> str:
    """The shares, what stands further below, and whether the picture is old."""
    said = []
    if view.intake is not None:
        said.append(words.PASSED_AT_INTAKE.format(share=view.intake.words()))
    if view.cleaning is not None:
        said.append(words.CURED_BY_CLEANING.format(share=view.cleaning.words()))
    shares = grammar.sentence_start(no_break(words.SHARES.format(shares=grammar.COMMA.join(said)))) if said else ""
    below = []
    if view.donors:
        tags = grammar.COMMA.join(d.unit.tag for d in view.donors[:4])
        below.append(words.BETTER_GIVEN_UP.format(tags=tags))
    if view.parts:
        here = sum(p.where == SHELF for p in view.parts)
        below.append(words.PARTS_WAITED_FOR.format(count=len(view.parts), here=here))
    source = view.of_source.sentence() if view.of_source is not None else ""
    return " ".join(s for s in (shares, no_break(source), *below, "" if fresh else words.WORKING_ANEW) if s)
