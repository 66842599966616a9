"""The look over a unit comes first of all, before the plug; a stop there keeps the bench from asking for the plug."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from pad import DEVICE, plover
from PySide6.QtCore import Qt
from workbench import Workbench

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.bench.types import Answer
from station.checks.ask import LOOK, SIGNS
from station.checks.said import sentence
from station.checks.types import Assessment, Outcome
from station.judgement.look import stopped_by, to_look_over
from station.records.types import Result, Treatment, Unit
from station.sheets.model import Ask
from station.ui.window import MainWindow
from station.words import arrival, checklist

K = Qt.Key
Press = Callable[..., None]
UNIT = Unit("unit-4", "SM-07-04", "Plover T2", None, "PT2-0419", 0x1209, 1, "Plover T2")


@pytest.fixture
def unplugged(window: MainWindow, desk: Workbench) -> MainWindow:
    """A unit that is open and not plugged in."""
    window.bench.open_unit(desk.store.add_unit(UNIT))
    desk.settle(window)
    return window


def card(window: MainWindow) -> str:
    return str(window.checklist.card.do.text())


def test_the_look_is_asked_for_before_the_plug_and_one_key_keeps_it(
    unplugged: MainWindow, desk: Workbench, press: Press
) -> None:
    assert card(unplugged) == checklist.LOOK_FIRST
    press(unplugged, K.Key_Y)
    (result,) = desk.history().results
    assert (result.check, result.assessment.outcome, result.by_hand) == ("look", Outcome.PASS, False)
    assert [v.kind for v in desk.history().visits] == ["first look"]
    assert card(unplugged) == checklist.PLUG_IT_IN


@pytest.mark.parametrize(("key", "sign"), [(K.Key_1, "bulging"), (K.Key_4, "smelling")])
def test_a_stop_is_kept_and_nothing_asks_for_the_plug(
    unplugged: MainWindow, desk: Workbench, press: Press, key: Qt.Key, sign: str
) -> None:
    for one in (K.Key_X, key, K.Key_Return):
        press(unplugged, one)
    history = desk.history()
    assert stopped_by(history) == sign
    assert sentence("look", history.results[-1].assessment.findings[0]).lower().startswith(f"look: {sign}")
    assert sign in card(unplugged)
    assert "Plug" not in card(unplugged)
    desk.plug_in(DEVICE)
    desk.settle(unplugged)
    assert unplugged.arrival.said.text() == arrival.STOPPED.format(tag="SM-07-04", sign=sign)
    press(unplugged, K.Key_Return)
    assert desk.calls == []
    assert desk.desk.visit.session() is None


def test_a_unit_that_was_looked_over_again_is_asked_to_be_plugged_in(
    unplugged: MainWindow, desk: Workbench, press: Press
) -> None:
    for key in (K.Key_X, K.Key_1, K.Key_Return, K.Key_Y):
        press(unplugged, key)
    assert stopped_by(desk.history()) == ""
    assert [r.attempt for r in desk.history().results] == [1, 2]
    assert card(unplugged) == checklist.PLUG_IT_IN


def test_the_strip_that_greets_a_unit_warns_until_it_was_looked_over(
    unplugged: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.plug_in(DEVICE)
    desk.settle(unplugged)
    assert unplugged.arrival.caution.text() == arrival.LOOK_FIRST
    assert unplugged.arrival.caution.isVisible()
    desk.unplug()
    desk.settle(unplugged)
    press(unplugged, K.Key_Y)
    desk.plug_in(DEVICE)
    desk.settle(unplugged)
    assert not unplugged.arrival.caution.isVisible()


def test_an_unknown_device_is_greeted_with_the_same_warning(window: MainWindow, desk: Workbench) -> None:
    desk.plug_in(replace(DEVICE, serial="NEW"))
    desk.settle(window)
    assert window.arrival.caution.isVisible()


def test_what_was_looked_at_holds_for_its_visit_and_until_a_treatment(desk: Workbench) -> None:
    unit = desk.store.add_unit(UNIT)
    assert to_look_over(desk.history())
    desk.desk.visit.look_over(unit.id, "intake")
    desk.desk.settle()
    assert not to_look_over(desk.history())
    desk.clock.move(seconds=5)
    desk.store.add_treatment(Treatment("", unit.id, "adjust", ""))
    assert to_look_over(desk.history())
    desk.desk.visit.look_over(unit.id, "intake")
    desk.desk.settle()
    desk.store.finish_visit(desk.history().visits[-1].id)
    assert to_look_over(desk.history())


@pytest.mark.parametrize("sign", SIGNS)
def test_every_sign_has_its_words(sign: str) -> None:
    from station.words import checks

    assert checks.LOOK_SIGNS[sign]
    assert LOOK.about.findings[-1].code == "look_stop"
    assert Answer("fail", {}, sign).sign == sign


def test_a_stop_is_not_skipped_away(unplugged: MainWindow, desk: Workbench, press: Press) -> None:
    for one in (K.Key_X, K.Key_1, K.Key_Return):
        press(unplugged, one)
    visit = desk.history().visits[-1]
    skipped = Assessment(Outcome.NOT_DONE)
    desk.store.add_result(Result("", visit.id, LOOK.name, "", 0, "", skipped, by_hand=True, reason="later"))
    desk.plug_in(DEVICE)
    desk.settle(unplugged)
    press(unplugged, K.Key_Return)
    assert desk.calls == []
    assert desk.desk.visit.session() is None


def test_on_the_bench_too_the_card_says_stop(window: MainWindow, desk: Workbench, press: Press) -> None:
    sheet = replace(plover(), asks=(*plover().asks, Ask("look", "Shell whole")))
    SheetShelf(paths.sheets_folder()).save(sheet)
    unit = desk.store.add_unit(UNIT)
    desk.plug_in()
    desk.settle(window)
    desk.desk.visit.start(unit.id, desk.pad.info, "intake")
    desk.settle(window)
    desk.go_to("look")
    desk.settle(window)
    for one in (K.Key_X, K.Key_1, K.Key_Return):
        press(window, one)
    desk.advance(50)
    desk.settle(window)
    assert "bulging" in card(window)
    assert "set it aside" in card(window)
    assert "looked again" in window.checklist.card.keys.text()
    press(window, K.Key_Y)
    desk.advance(50)
    desk.settle(window)
    assert "bulging" not in card(window)
