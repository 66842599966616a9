"""Two sets of copied rules had drifted apart; each case here was answered in more than one way."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from station.app.certify import certificate_of, steps_of
from station.app.shop import Shop
from station.certificate.types import Certificate
from station.checks.types import Assessment, Finding, Outcome
from station.diagnosis.guide import load_guide
from station.evidence.assess import assess_capture
from station.judgement.limits import standard
from station.lots.outlook import outlook_of
from station.records.store import Store
from station.records.types import Result, Treatment, Unit
from station.sheets.model import Control, Sheet
from station.ui.record.rows import findings, visit_table
from tests.checks import made_captures
from tests.records.records_kit import HandClock, a_unit, open_store

STICK = Sheet("Plover T2", controls=(Control("left_stick", "stick", "Left stick", "left hand"),))
FAIL = Assessment(Outcome.FAIL, (), (Finding("spikes", "left stick: spikes"),))
PASS = Assessment(Outcome.PASS)


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def store(tmp_path: Path, clock: HandClock):
    with open_store(tmp_path, clock=clock) as opened:
        yield opened


@pytest.fixture
def unit(store: Store) -> Unit:
    return store.add_unit(a_unit())


def visit(store: Store, unit: Unit, kind: str, *tries: Assessment, by_hand: bool = False) -> None:
    """A finished visit with these tries at the slow sweep; `by_hand`: the last one was set by a person."""
    opened = store.start_visit(unit.id, kind)
    for i, done in enumerate(tries):
        last = by_hand and i == len(tries) - 1
        store.add_result(
            Result("", opened.id, "sweep", "left_stick", 0, "", done, by_hand=last, reason="no time" if last else "")
        )
    store.finish_visit(opened.id)


def certificate(store: Store, unit: Unit) -> Certificate:
    steps = steps_of(store.history(unit.id), STICK)
    shop = Shop("bench", "", "Ines")
    return certificate_of(store, unit.id, STICK, steps, standard(), number="1", now=store.now(), shop=shop)


# --- which try counts -------------------------------------------------------------------------------


def test_defect_1_a_fail_stays_a_fail_when_its_retry_is_interrupted(store: Store, unit: Unit):
    """The pane said interrupted, without the finding; the certificate's visit 0/0/0 beside a total of 1 failed."""
    visit(store, unit, "intake", FAIL, Assessment(Outcome.INTERRUPTED))
    history, page = store.history(unit.id), certificate(store, unit)
    (row,) = visit_table(history, {}).rows
    assert (row.outcome, row.cells[-1].outcome) == (Outcome.FAIL, Outcome.FAIL)
    assert findings(history) == (("left stick: spikes", Outcome.FAIL),)
    assert [line.outcome for block in page.controls for line in block.lines] == [Outcome.FAIL]
    assert (page.visits[0].passed, page.visits[0].borderline, page.visits[0].failed) == (0, 0, 1)
    assert page.failed == 1


def test_defect_1_a_fail_that_was_skipped_since_is_not_done(store: Store, unit: Unit):
    """The checklist said not done, the certificate fail."""
    visit(store, unit, "intake", PASS, FAIL, Assessment(Outcome.NOT_DONE), by_hand=True)
    steps = [s for s in steps_of(store.history(unit.id), STICK) if s.check == "sweep"]
    store.add_result(Result("", store.visits(unit.id)[0].id, "rest", "left_stick", 0, "", PASS))
    page = certificate(store, unit)
    assert [line.check for block in page.controls for line in block.lines] == ["rest"]
    assert (page.failed, page.visits[0].failed) == (0, 0)
    assert any(text.startswith(f"Left stick, {steps[0].title.lower()}") for text in page.not_tested)


def test_defect_1_a_pass_stays_a_pass_when_a_recording_ends_in_an_unended_try():
    """Read again it was interrupted, against docs/decisions/which-try-counts.md."""
    press = made_captures.presses([400, 900, 1400], 2500, 120)
    script = made_captures.Script()
    for ended in (True, False):
        script.add("contact", "key_1", {made_captures.button(1): press}, ended=ended)
    done = assess_capture(script.capture(), made_captures.SHEET)
    assert (done.outcome, [c.tries for c in done.checks]) == (Outcome.PASS, [2])


# --- when the second test is done -------------------------------------------------------------------


def test_defect_2_an_empty_final_visit_on_the_day_of_the_treatment_is_no_second_test(store: Store, unit: Unit):
    """The certificate printed "Tested again 0 days after the last treatment", the lots said that it has yet to come."""
    visit(store, unit, "intake", PASS)
    store.add_treatment(Treatment("", unit.id, "clean the sensor", "", "Left stick sensor"))
    visit(store, unit, "final")
    assert certificate(store, unit).rest == "Not tested after a rest yet; due from 2026-03-09."


@pytest.mark.parametrize(
    ("days", "tries"),
    [
        pytest.param(0, [PASS], id="on the day of the treatment"),
        pytest.param(2, [PASS], id="a day too early"),
        pytest.param(5, [], id="an empty visit after the rest"),
        pytest.param(5, [Assessment(Outcome.INTERRUPTED)], id="nothing but interrupted tries"),
        pytest.param(3, [PASS], id="on the rest date"),
    ],
)
def test_defect_2_certificate_lots_and_records_agree_on_the_second_test(
    store: Store, unit: Unit, clock: HandClock, days: int, tries: list[Assessment]
):
    visit(store, unit, "intake", PASS)
    store.add_treatment(Treatment("", unit.id, "clean from outside", "", "Left stick cap"))
    clock.move(days=days, hours=1)
    visit(store, unit, "after treatment", PASS)
    visit(store, unit, "final", *tries)
    done = days == 3
    assert certificate(store, unit).rest.startswith("Tested again 3 days" if done else "Not tested after a rest")
    stage = outlook_of(store.history(unit.id), STICK, load_guide(), today=store.now()[:10]).stage
    assert stage == ("sound" if done else "rest")
    assert bool(store.due(store.now()[:10])) == (not done)
    asked = replace(store.unit(unit.id), becomes="ready")
    if done:
        assert store.change_unit(asked).becomes == "ready"
    else:
        with pytest.raises(Exception, match="second test"):
            store.change_unit(asked)
