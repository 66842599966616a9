"""What the page of a lot says, as rows and words. Pure."""

from __future__ import annotations

from station.checks.types import Outcome
from station.lots.view import DONOR, SHELF, DonorProposal, LotView, PartWaited, WorkRow
from station.records.types import Unit
from station.ui.painting.tables import Line
from station.ui.words import count_of, no_break
from station.words.figures import money

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
        ("Paid", m.paid),
        (f"Work, {m.minutes} min", m.labour),
        ("Materials", m.materials),
        (f"Sold, {count_of(m.sold_units, 'unit')}", m.sold),
        ("So far", m.result),
        ("Still here, as it stands", m.expected),
        ("Outlook, as it stands", m.outlook),
        ("Outlook with the work", view.with_work),
    ]
    return tuple((no_break(name), money(minor, m.currency)) for name, minor in shown)


def work_line(row: WorkRow, currency: str) -> Line:
    step = row.step
    gain = "" if step.gain_minor is None or step.gain_minor <= 0 else money(step.gain_minor, currency)
    title = f"{step.title} · part on the shelf" if row.part_here else step.title
    return Line((row.unit.tag, title, str(step.minutes) if step.minutes else "", gain), row)


def donor_line(proposal: DonorProposal, currency: str) -> Line:
    gives = ", ".join(f"{part} → {unit.tag}" for unit, part in proposal.serves)
    return Line((proposal.unit.tag, gives, money(proposal.gain_minor, currency)), proposal)


def part_line(row: PartWaited) -> Line:
    if row.where == SHELF:
        where = f"on the shelf: {row.count}" + (f", from {row.giver}" if row.giver else "")
        return Line((row.unit.tag, row.part, where), row, Outcome.PASS)
    if row.where == DONOR:
        return Line((row.unit.tag, row.part, f"in {row.giver}, if it is given up"), row, Outcome.BORDERLINE)
    return Line((row.unit.tag, row.part, "not here: buy it"), row, Outcome.NOT_DONE)


def unit_line(unit: Unit) -> Line:
    cells = (unit.tag, unit.model, unit.claim, unit.claim_state, unit.rest_until, unit.becomes)
    return Line(cells, unit, BECOMES_SHAPE.get(unit.becomes))


def notes(view: LotView, fresh: bool) -> str:
    """The shares, what stands further below, and whether the picture is old."""
    said = []
    if view.intake is not None:
        said.append(f"Passed at intake: {view.intake.words()}")
    if view.cleaning is not None:
        said.append(f"cured by cleaning: {view.cleaning.words()}")
    shares = no_break(", ".join(said) + "; 95 % intervals.") if said else ""
    below = []
    if view.donors:
        below.append(f"Better given up for parts: {', '.join(d.unit.tag for d in view.donors[:4])}.")
    if view.parts:
        here = sum(p.where == SHELF for p in view.parts)
        below.append(f"Parts waited for: {len(view.parts)}, on the shelf: {here}.")
    return " ".join(s for s in (shares, *below, "" if fresh else "Being worked out anew …") if s)
