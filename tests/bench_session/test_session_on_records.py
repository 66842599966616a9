"""A visit on the real records: what the session calls stored is on the disk."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Go, MarkByHand, Step
from station.capture.file import read_capture
from station.checks.types import Outcome
from station.errors import StationError
from station.sheets.bind import bind
from tests.bench_session.bench_fakes import LAYOUT, SHEET, UNIT, FakeSource, fake_checks
from tests.records.records_kit import open_store

STEPS = (
    Step("contact", "left", "Contact", "Left shoulder", "top"),
    Step("contact", "right", "Contact", "Right shoulder", "top"),
)


def press(session: Session, source: FakeSource, buttons: int) -> None:
    for closed in (0, buttons, 0, buttons, 0):
        source.report(closed)
        source.advance(0.1)
        session.tick()
        source.advance(0.1)
        session.tick()


def test_a_visit_is_gone_on_with_from_the_records(tmp_path: Path) -> None:
    source = FakeSource()
    with open_store(tmp_path) as store:
        unit = store.add_unit(replace(UNIT, id=""))
        session = Session(
            UnitOnBench(unit, source, bind(SHEET, LAYOUT)),
            VisitPlan(steps=STEPS),
            BenchSetup(store, checks=fake_checks(), limits={}),
        )
        session.do(Go())
        session.tick()
        press(session, source, 1)
        session.do(MarkByHand(Outcome.BORDERLINE, "clicks softly"))
        session.tick()
    with open_store(tmp_path) as store:
        (visit,) = store.unfinished_visits()
        session = Session(
            UnitOnBench(unit, source, bind(SHEET, LAYOUT)),
            VisitPlan(steps=STEPS, resume=visit),
            BenchSetup(store, checks=fake_checks(), limits={}),
        )
        assert [v.outcome for v in session.view().steps] == [Outcome.PASS, Outcome.BORDERLINE]
        assert session.view().steps[1].reason == "clicks softly"
        session.do(Go())
        session.tick()
        assert session.finished
        assert store.unfinished_visits() == ()
        first, second = store.results_of_visit(visit.id)
        assert len(read_capture(store.capture_path(first.capture_sha256)).block) >= 4
        assert (second.by_hand, second.capture_sha256) == (True, "")


def test_a_visit_of_a_unit_that_is_not_in_the_records_does_not_start(tmp_path: Path) -> None:
    with open_store(tmp_path) as store, pytest.raises(StationError, match="not in these records"):
        Session(
            UnitOnBench(UNIT, FakeSource(), bind(SHEET, LAYOUT)),
            VisitPlan(steps=STEPS),
            BenchSetup(store, checks=fake_checks(), limits={}),
        )
