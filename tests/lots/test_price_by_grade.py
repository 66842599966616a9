"""What a unit brings by its grade, where the shop says so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.checks.house import Grade
from station.diagnosis.guide import Values, load_guide
from station.judgement.grade import Grading
from station.lots.money import expected_price, lot_money
from station.lots.outlook import outlook_of
from station.lots.ways import candidate_of
from station.records.types import Lot, Unit
from tests.diagnosis.diagnosis_kit import SHEET, Story

GUIDE = replace(
    load_guide(),
    values=Values(3200, 1100, 700),
    values_of={"Heron 4": Values(8000, 3000, 900)},
    ready_of={"fair": 2400, "as new": 4000},
)


@pytest.mark.parametrize(
    ("model", "grade", "ready"),
    [
        ("Plover T2", "", 3200),
        ("Plover T2", "fair", 2400),
        ("Plover T2", "as new", 4000),
        ("Plover T2", "good", 3200),
        ("Heron 4", "", 8000),
        ("Heron 4", "fair", 6000),
    ],
)
def test_a_grade_with_a_price_brings_it_and_a_dearer_model_the_same_share(model: str, grade: str, ready: int) -> None:
    assert GUIDE.values_for(model, grade).ready_minor == ready
    assert GUIDE.values_for(model, grade).as_is_minor == GUIDE.values_for(model).as_is_minor


def test_where_ready_units_have_no_price_that_of_the_grade_stands() -> None:
    free = replace(GUIDE, values=Values(0, 0, 0))
    assert free.values_for("Plover T2", "fair").ready_minor == 2400


def test_a_ready_unit_of_the_lot_is_expected_to_bring_what_its_grade_does() -> None:
    unit = Unit("u", "SM-07-01", "Plover T2", "l", becomes="ready")
    assert expected_price(unit, GUIDE, "fair") == 2400
    lot = Lot("l", "SM-07", "2026-03-02")
    assert lot_money(lot, [unit], [], GUIDE, (), {"u": "fair"}).expected == 2400
    assert lot_money(lot, [unit], [], GUIDE).expected == 3200


def test_in_the_plan_a_sound_unit_brings_what_its_grade_does_and_a_faulty_one_what_any_ready_one_does() -> None:
    story = Story(Unit("u", "SM-07-01", "Plover T2")).check("contact", "left_shoulder")
    history = replace(
        story.history, visits=tuple(replace(v, finished_at="2026-03-06T10:30:00.000Z") for v in story.history.visits)
    )
    graded = replace(outlook_of(history, SHEET, GUIDE), grading=Grading(Grade("fair")))
    for stage, ready in (("sound", 2400), ("treat", 3200)):
        found = candidate_of(replace(graded, stage=stage), history, SHEET, GUIDE)  # type: ignore[arg-type]
        assert found is not None
        assert found.prices.ready_minor == ready
