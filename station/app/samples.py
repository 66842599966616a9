"""The demo lot: its units plugged in live, or worked through in seconds by a simulated hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.bench.auto import run_visit
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Event, Fault, ResultCommitted
from station.checks.decide import worst
from station.checks.said import sentence, title_on
from station.checks.types import Outcome
from station.errors import RecordError
from station.judgement.tries import shown_by_key
from station.records.store import Store
from station.records.types import Lot, Unit
from station.sheets.model import Sheet
from station.sources.simulated.samples import SAMPLES, sample, sample_hand
from station.sources.simulated.source import SimulatedSource
from station.words import command_line, common, grammar
from station.words import samples as words

DEMO_LOT = Lot(
    id="",
    name="SM-07",
    bought_on="2026-03-02",
    seller=words.LOT_SELLER,
    cost_minor=9600,
    note=words.LOT_NOTE,
)
DEMO_SHOP = {"bench": words.SHOP_NAME, "contact": words.SHOP_CONTACT, "person": words.SHOP_PERSON}
"""whose certificates the demo writes, as settings"""
STEP_S = 0.02


@dataclass(frozen=True, slots=True)
class SampleVisit:
    """What working through a sample unit gave."""

    sheet: Sheet
    outcome: Outcome
    findings: tuple[str, ...]


def sample_tags() -> tuple[str, ...]:
    """The tags of all sample units."""
    return tuple(one.tag for one in SAMPLES)


def demo_unit(tag: str) -> Unit:
    """The record of a sample unit as it came in."""
    found = sample(tag)
    design = found.spec.design
    vendor_id, product_id = design.ids
    return Unit(
        id="",
        tag=tag,
        model=design.name,
        serial=found.spec.tag,
        vendor_id=vendor_id,
        product_id=product_id,
        sheet=design.name,
        claim=found.claim,
    )


def open_sample(tag: str) -> SimulatedSource:
    """Plug the unit in: it reports in real time and its hand waits to be asked."""
    found = sample(tag)
    return SimulatedSource(found.spec, sample_hand(found))


def work_through(store: Store, unit: Unit, *, say: Callable[[str], None] = lambda line: None) -> SampleVisit:
    """A whole visit of a sample unit, as fast as it goes, into these records."""
    found = sample(unit.tag)
    hand = sample_hand(found)
    source = SimulatedSource(found.spec, hand, realtime=False)
    known = SheetShelf(paths.sheets_folder()).know(source.info)
    session = Session(
        UnitOnBench(unit, source, known.binding),
        VisitPlan(),
        BenchSetup(store, person="demo", bench="demo", together=True),
    )

    def watch(event: Event) -> None:
        if isinstance(event, Fault):  # nobody is there to make room and go on
            raise RecordError(event.message)
        if not isinstance(event, ResultCommitted):
            return
        result, outcome = event.result, event.result.assessment.outcome
        if outcome not in (Outcome.PASS, Outcome.NOT_DONE):
            title = title_on(result.check, result.control, known.sheet)
            say(command_line.DEMO_RESULT.format(title=title, outcome=common.OUTCOMES[outcome.value]))

    checks = grammar.count_of(len(session.view().steps), command_line.DEMO_CHECKS)
    say(command_line.DEMO_BEGINS.format(tag=unit.tag, model=unit.model, checks=checks))
    run_visit(session, source, hand, STEP_S, watch=watch)
    source.close()
    results = shown_by_key(store.results_of_visit(session.view().visit.id)).values()
    found_in = tuple(sentence(r.check, f) for r in results for f in r.assessment.findings)
    return SampleVisit(known.sheet, worst(r.assessment.outcome for r in results), found_in)
