"""Keys that are struck too soon, too often or out of habit cost nothing, and no key is asked for in vain."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from conftest import UNIT
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from workbench import Workbench

from station.bench.types import Again, BeginSoon, Finish, Go, NotSeen
from station.checks.types import Assessment, Finding, Outcome
from station.records.types import FIRST_LOOK, Lot, Treatment
from station.ui.painting.widgets import ChoiceList
from station.ui.panels.bench import VISIT_KINDS, VisitPanel
from station.ui.window import MainWindow
from station.words import panels as panel_words
from station.words import window as words

K = Qt.Key
Press = Callable[..., None]
PASS = Assessment(Outcome.PASS)
DRIFTS = Assessment(Outcome.FAIL, (), (Finding("offset", "it drifts"),))
LOOKED = {("look", ""): PASS}


def step(desk: Workbench) -> str:
    view = desk.session()
    return view.steps[view.current].step.check


def test_the_enter_that_asks_for_a_visit_begins_it_where_the_look_was_answered_before_the_plug(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.store.add_unit(UNIT)
    visit = desk.store.start_visit(UNIT.id, FIRST_LOOK)
    desk.result(visit, "look", "", PASS)
    desk.plug_in()
    desk.settle(window)
    press(window, K.Key_Return)
    assert desk.commands == [BeginSoon()]
    assert step(desk) == "glance"
    desk.advance(700)
    assert desk.session().running


def test_r_asks_before_it_throws_away_what_was_done(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.run("contact", "south")
    desk.press("south", 1)
    visit.tick()
    press(visit, K.Key_R)
    assert Again() not in desk.commands
    assert visit.foot.message.text()
    press(visit, K.Key_R)
    assert desk.commands == [Again()]


def test_an_answer_to_a_check_that_runs_by_itself_names_no_key_that_would_end_it(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.run("contact", "south")
    visit.tick()
    press(visit, K.Key_Y)
    assert visit.foot.message.text() == words.NOTHING_ASKED_RUNNING
    assert "Space" not in words.NOTHING_ASKED_RUNNING


def test_an_answer_to_nothing_says_of_space_what_the_foot_says(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    press(visit, K.Key_Y)
    assert visit.foot.message.text().endswith("Space: start this check.")
    while any(view.state != "done" for view in desk.session().steps):
        desk.mark(Outcome.BORDERLINE)
    visit.tick()
    press(visit, K.Key_Y)
    assert visit.foot.message.text().endswith("Space: finish the visit.")


def test_the_keys_of_a_visit_are_as_many_as_its_kinds() -> None:
    assert panel_words.VISIT_KEYS.startswith(f"1–{len(VISIT_KINDS)}: ")


def test_v_ends_a_visit_of_which_all_is_done_and_asks_for_the_next(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    while any(view.state != "done" for view in desk.session().steps):
        desk.mark(Outcome.BORDERLINE)
    visit.tick()
    before = desk.session().visit.id
    press(visit, K.Key_V)
    assert isinstance(visit.panel, VisitPanel)
    assert not desk.session().finished, "nothing has happened yet"
    press(visit, K.Key_Return)
    assert Finish() in desk.commands
    desk.advance(50)
    desk.settle(visit)
    assert desk.session().visit.id != before


@pytest.mark.parametrize(
    ("repeated", "kind"),
    [pytest.param("trigger", "after treatment", id="another check"), pytest.param("rest", "final", id="what failed")],
)
def test_v_offers_the_test_again_until_what_had_failed_was_repeated(
    window: MainWindow, desk: Workbench, press: Press, repeated: str, kind: str
) -> None:
    desk.store.add_unit(UNIT)
    desk.past_visit(UNIT, "intake", {**LOOKED, ("rest", "left_stick"): DRIFTS})
    desk.clock.move(hours=1)
    desk.store.add_treatment(Treatment("", UNIT.id, "clean from outside", "", "Left stick sensor"))
    desk.clock.move(hours=1)
    desk.past_visit(UNIT, "after treatment", {(repeated, "left_stick" if repeated == "rest" else "left_trigger"): PASS})
    desk.plug_in()
    desk.settle(window)
    window.arrival.dismiss()
    window.bench.choose_unit(UNIT)
    desk.settle(window)
    press(window, K.Key_V)
    assert isinstance(window.panel, VisitPanel)
    assert VISIT_KINDS[window.panel.kind.chosen] == kind


def test_the_first_unit_of_a_series_goes_into_the_lot_in_front(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.store.add_unit(UNIT)
    lot = desk.store.add_lot(Lot("", "NEW", "2026-11-01"))
    press(window, K.Key_F2)
    desk.plug_in(replace(desk.pad.info, serial="another"))
    desk.settle(window)
    assert window.lots.lot() == lot
    window.bench.make_unit(window.arrival.device, "FIRST", "")  # type: ignore[arg-type]
    desk.settle(window)
    assert desk.store.units("FIRST")[0].lot_id == lot.id


def test_a_first_look_says_what_it_did_not_look_for(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.begin(window, desk.store.add_unit(UNIT), FIRST_LOOK, check="glance")
    while any(view.state != "done" for view in desk.session().steps):
        desk.mark(Outcome.PASS)
    desk.settle(window)
    card = window.checklist.card
    assert "weak contact" in card.hint.text()
    assert "ends by itself" in card.do.text()
    press(window, K.Key_Space)
    assert desk.commands[-1] == Go()
    assert "Space:\N{NO-BREAK SPACE}finish" in card.keys.text()
    press(window, K.Key_Space)
    assert "weak contact" in card.hint.text(), "when it is over, too"


def test_a_first_look_answers_the_claim(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.begin(window, desk.store.add_unit(replace(UNIT, claim="Left stick drifts")), FIRST_LOOK, check="glance")
    while any(view.state != "done" for view in desk.session().steps):
        desk.mark(Outcome.PASS)
    desk.settle(window)
    said = "Claim “Left stick drifts”: not found at a first look."
    assert said in window.checklist.card.missing.text()
    press(window, K.Key_Space)
    press(window, K.Key_Space)
    assert window.checklist.card.missing.text() == said, "when it is over, too"
    desk.settle(window)
    assert "“Left stick drifts”, not found at a first look" in window.record.texts()


def test_x_in_a_first_look_says_that_a_press_did_not_come(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.begin(window, desk.store.add_unit(UNIT), FIRST_LOOK, check="glance")
    desk.run("glance", "left_stick")
    desk.press("south", 2)
    window.tick()
    assert "X:\N{NO-BREAK SPACE}pressed, and it did not come" in window.checklist.card.keys.text()
    press(window, K.Key_X)
    assert desk.commands == [NotSeen()]
    desk.settle(window)
    south = next(v for v in desk.session().steps if (v.step.check, v.step.control) == ("glance", "south"))
    assert (south.state, south.outcome, south.by_hand) == ("done", Outcome.BORDERLINE, True)
    assert "South" in window.foot.message.text(), "which one it was taken for"
    press(window, K.Key_Z, Qt.KeyboardModifier.ControlModifier)
    desk.advance(50)
    desk.settle(window)
    assert next(v for v in desk.session().steps if v.step == south.step).state != "done"


def test_v_offers_no_other_kind_while_a_visit_of_the_unit_is_not_finished(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    unit = desk.store.add_unit(UNIT)
    desk.store.start_visit(unit.id, FIRST_LOOK)
    desk.plug_in(replace(desk.pad.info, serial=""))
    desk.settle(window)
    window.arrival.dismiss()
    window.bench.open_unit(unit)
    press(window, K.Key_V)
    assert isinstance(window.panel, VisitPanel)
    assert not window.panel.findChildren(ChoiceList), "it goes on with the first look, whatever were chosen here"
    assert any("“first look”" in label.text() for label in window.panel.findChildren(QLabel))
    press(window, K.Key_Return)
    desk.settle(window)
    assert desk.session().visit.kind == FIRST_LOOK


def test_no_line_of_a_finding_parts_a_figure_from_its_unit(window: MainWindow, desk: Workbench) -> None:
    unit = desk.store.add_unit(UNIT)
    off = Assessment(Outcome.FAIL, (), (Finding("offset", "left stick: rests 14.93 % off centre"),))
    desk.past_visit(unit, "intake", {("rest", "left_stick"): off})
    window.bench.choose_unit(unit)
    desk.settle(window)
    window.tick()
    said = [text for text in window.record.texts() if "off centre" in text]
    assert said
    assert all("14.93\N{NO-BREAK SPACE}%" in text for text in said), said
