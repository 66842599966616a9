"""A lot through the real window and records: worked out beside the window, renewed, a donor given up, a unit sold."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from station.app import lots as app_lots
from station.app import paths
from station.app.desk import StationDesk
from station.checks.types import Assessment, Finding, Outcome
from station.lots.outlook import UnitOutlook
from station.records.store import Store
from station.records.types import Lot, Result, ShelfPart, Treatment, Unit, UnitHistory
from station.ui.panels.treatment import WorkPanel
from station.ui.ports import LotChanged
from station.ui.sound import Sound
from station.ui.start import make_app
from station.ui.window import MainWindow
from station.words.figures import NO_BREAK
from tests.app.person import Person
from tests.records.records_kit import open_store

K = Qt.Key
MODEL = "Plover T2"
SENSOR = "Left stick sensor, horizontal"


class Clock:
    def __init__(self) -> None:
        self.now = datetime(2026, 3, 6, 10, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(milliseconds=7)
        return self.now


def visit(store: Store, unit: Unit, kind: str, *found: tuple[str, str, tuple[str, ...]]) -> None:
    """A finished visit: (check, control, finding codes)."""
    begun = store.start_visit(unit.id, kind)
    for check, control, codes in found:
        findings = tuple(Finding(code, code, "x") for code in codes)
        outcome = Outcome.FAIL if codes else Outcome.PASS
        store.add_result(Result("", begun.id, check, control, 0, "", Assessment(outcome, (), findings)))
    store.finish_visit(begun.id)


@pytest.fixture
def store() -> Iterator[Store]:
    """Two units: a worn sensor that cleaning did not help, and one with a broken board and a good left stick."""
    opened = open_store(paths.records_folder(), clock=Clock())
    lot = opened.add_lot(Lot("", "SM-07", "2026-03-02", cost_minor=1600))
    worn, broken = (opened.add_unit(Unit("", tag, MODEL, lot.id, sheet=MODEL)) for tag in ("SM-07-01", "SM-07-02"))
    noisy = ("sweep", "left_stick", ("spikes", "reversal"))
    visit(opened, worn, "intake", noisy)
    opened.add_treatment(Treatment("", worn.id, "clean the sensor", "", SENSOR, minutes=9, cost_minor=40))
    visit(opened, worn, "after treatment", noisy)
    crossed = tuple(("contact", c, ("crosstalk",)) for c in ("left_shoulder", "right_shoulder"))
    visit(opened, broken, "intake", ("sweep", "left_stick", ()), *crossed)
    return opened


@pytest.fixture
def desk(store: Store) -> Iterator[StationDesk]:
    made = StationDesk(store, watch=False, now=Clock())
    yield made
    made.close()


@pytest.fixture
def person(qtbot, desk: StationDesk) -> Person:
    make_app()
    window = MainWindow(desk, theme="light", sound=Sound({}))
    qtbot.addWidget(window)
    window.resize(1280, 720)
    window.show()
    return Person(qtbot, window, desk)


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, threading.Thread]]:
    """(tag, thread) of every unit that is worked out."""
    noted: list[tuple[str, threading.Thread]] = []
    real = app_lots.outlook_of

    def outlook_of(history: UnitHistory, *others: Any) -> UnitOutlook:
        noted.append((history.unit.tag, threading.current_thread()))
        return real(history, *others)

    monkeypatch.setattr(app_lots, "outlook_of", outlook_of)
    return noted


Noted = list[tuple[str, threading.Thread]]


def test_nothing_is_worked_out_in_the_thread_that_asks(store: Store, desk: StationDesk, worked_out: Noted):
    lot = store.lots()[0]
    assert desk.stock.lot_answer(lot.id).view is None
    desk.settle()
    assert LotChanged(lot.id) in desk.live.take_events()
    answer = desk.stock.lot_answer(lot.id)
    assert answer.fresh
    assert answer.view is not None
    assert len(answer.view.units) == 2
    assert sorted(tag for tag, _ in worked_out) == ["SM-07-01", "SM-07-02"]
    assert threading.current_thread() not in [thread for _, thread in worked_out]


def test_a_change_makes_it_old_and_only_what_changed_is_worked_out_again(
    store: Store, desk: StationDesk, worked_out: Noted
):
    lot, unit = store.lots()[0], store.units("SM-07-02")[0]
    desk.stock.lot_answer(lot.id)
    desk.settle()
    worked_out.clear()
    desk.units.change(replace(unit, condition="worn"))
    desk.settle()
    answer = desk.stock.lot_answer(lot.id)
    assert (answer.fresh, answer.view is not None) == (False, True), "the old picture stands meanwhile"
    desk.settle()
    assert desk.stock.lot_answer(lot.id).fresh
    assert [tag for tag, _ in worked_out] == ["SM-07-02"]


def test_asking_many_times_works_it_out_once(store: Store, desk: StationDesk, worked_out: Noted):
    for _ in range(20):
        desk.stock.lot_answer(store.lots()[0].id)
    desk.settle()
    assert len(worked_out) == 2


def test_a_donor_is_given_up_its_part_lies_ready_and_the_mended_unit_is_sold(
    person: Person, desk: StationDesk, store: Store
):
    page = person.window.lots.page
    person.press(K.Key_F2)
    person.settle()
    assert [row[0] for row in page.donors.texts()] == ["SM-07-02"]
    person.press(K.Key_Return, K.Key_Tab, K.Key_G, K.Key_Return)
    person.settle()
    assert store.units("SM-07-02")[0].becomes == "donor"
    pieces = {p.name: p.count for p in store.shelf()}
    assert pieces[SENSOR] == 1
    assert "Right stick sensor, horizontal" not in pieces, "nobody tested its right stick or asked for that"
    assert {p.note for p in store.shelf()} == {"from SM-07-02"}
    assert "SM-07-02 is a donor now" in person.window.foot.message.text()
    assert page.parts.texts() == [("SM-07-01", SENSOR, "on the shelf: 1, from SM-07-02")]
    assert page.donors.texts() == []

    # on the bench its record says so, and the treatment takes the part off the shelf
    page.work.setFocus()
    person.press(K.Key_Return)
    person.settle()
    assert person.window.header.tag.text() == "SM-07-01"
    assert f"on the shelf: {SENSOR} (1 from SM-07-02)" in person.window.record.texts()
    person.press(K.Key_T, K.Key_Return)
    person.window.findChild(WorkPanel).minutes.setText("1")  # what has just begun is not ended by Enter alone
    person.press(K.Key_Return)
    made = store.treatments_of(store.units("SM-07-01")[0].id)
    (treatment,) = (t for t in made if t.kind == "replace sensor")  # desk and store have a clock each: no order
    assert (treatment.part, treatment.donor_unit_id) == (SENSOR, store.units("SM-07-02")[0].id)
    assert {p.name: p.count for p in store.shelf()} == {**pieces, SENSOR: 0}

    # sold for 31.00: by hand 31.00 − 16.00 − 0.40 − the work, and the donor still to come
    person.press(K.Key_B, K.Key_6, K.Key_Tab)
    person.type("31")
    person.press(K.Key_Return)
    person.press(K.Key_F2)
    person.settle()
    answer = desk.stock.lot_answer(store.lots()[0].id)
    assert answer.fresh
    assert answer.view is not None
    money = answer.view.money
    minutes = 9 + treatment.minutes
    assert (money.sold, money.minutes, money.labour) == (3100, minutes, round(minutes * 1800 / 60))
    assert money.materials == 40 + treatment.cost_minor
    assert money.result == 3100 - 1600 - money.materials - money.labour
    assert money.expected == 700, "what the donor brings as parts, by the guide"
    assert store.verify_log().sound


@pytest.mark.usefixtures("german_screen")
def test_the_lot_page_and_a_panel_write_as_the_system_does(person: Person):
    """Bought for 16.00 on 2 March 2026; by hand: 9 minutes at 18.00 an hour are 2.70."""
    page = person.window.lots.page
    person.press(K.Key_F2)
    person.settle()
    said = " | ".join(label.text() for label in page.findChildren(QLabel) if label.text()).replace(NO_BREAK, " ")
    assert "16,00 €" in said
    assert "2,70 €" in said
    assert "02.03.2026" in said
    assert not re.search(r"\d\.\d\d €|€ \d", said)
    (gain,) = [row[2].replace(NO_BREAK, " ") for row in page.donors.texts()]
    assert re.fullmatch(r"\d+,\d\d €", gain)
    person.press(K.Key_Return, K.Key_Tab, K.Key_G)
    panel = person.window.panel
    assert panel is not None
    told = " | ".join(label.text() for label in panel.findChildren(QLabel)).replace(NO_BREAK, " ")
    assert gain in told


def test_a_part_put_on_the_shelf_is_told_of_in_the_advice_for_every_unit(store: Store, desk: StationDesk):
    unit = store.units("SM-07-01")[0]
    desk.advice.proposal(unit.id)
    desk.settle()
    before = desk.advice.proposal(unit.id)
    assert before is not None
    assert before.at_hand == ""
    desk.stock.add_part(ShelfPart("", SENSOR, MODEL, 2, cost_minor=210))
    desk.settle()
    desk.advice.proposal(unit.id)
    desk.settle()
    after = desk.advice.proposal(unit.id)
    assert after is not None
    assert after.at_hand == f"{SENSOR} (2)"
