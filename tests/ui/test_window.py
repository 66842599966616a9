"""The window through a visit, by the keyboard alone."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from conftest import UNIT
from fake_desk import DEVICE, FakeDesk, plover
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel
from pytestqt.qtbot import QtBot

from station.bench.types import (
    Again,
    Answer,
    Choose,
    Fault,
    Finish,
    Go,
    MarkByHand,
    Skip,
    SourceBack,
    SourceLost,
    TakeBack,
)
from station.checks.types import Outcome, Progress, Reading
from station.records.types import TREATMENT_KINDS, Lot, Treatment
from station.ui.checklist.rows import Row
from station.ui.keys import KEYS, VIEWS, find_key
from station.ui.panels.cautions import caution_for
from station.ui.panels.record import TreatmentPanel
from station.ui.ports import ProposalView, Said, SuspectView
from station.ui.sound import Sound
from station.ui.window import MainWindow

K = Qt.Key
SHIFT = Qt.KeyboardModifier.ShiftModifier
CONTROL = Qt.KeyboardModifier.ControlModifier
Press = Callable[..., None]
Write = Callable[..., None]


def shape_of(window: MainWindow, index: int) -> object:
    rows = [r for r in window.checklist.list.rows() if isinstance(r, Row) and index in r.steps]
    return rows[0].shape


# --- first run and plugging in -----------------------------------------------------------------------------


def test_an_empty_bench_says_what_to_do(window: MainWindow) -> None:
    assert window.pages.currentIndex() == 1
    assert {key for key, _ in window.splash.lines()} >= {"D", "U", "F2", "?"}
    assert window.header.tag.text() == "Restpoint"


def test_a_sample_unit_is_two_keys_away(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    press(window, K.Key_D)
    press(window, K.Key_2)
    press(window, K.Key_Return)
    assert ("open_simulated", "off-centre") in desk.calls
    assert window.arrival.device is not None


def test_a_device_that_does_not_say_what_it_is_can_be_chosen(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.silent = tuple(
        replace(
            DEVICE, key=f"fake:{i}", product=name, serial="", problem="It does not say that it is a game controller."
        )
        for i, name in enumerate(("Plover T2, odd mode", "Desk lamp"))
    )
    press(window, K.Key_O)
    window.tick()
    press(window, K.Key_1)
    press(window, K.Key_Return)
    window.tick()
    assert window.arrival.device is not None
    assert window.arrival.device.device.product == "Plover T2, odd mode"


def test_without_such_a_device_it_says_what_to_try(window: MainWindow, press: Press) -> None:
    press(window, K.Key_O)
    window.tick()
    assert window.panel is not None
    said = [label.text() for label in window.panel.findChildren(QLabel)]
    assert any("another mode" in text for text in said)
    assert "Enter or Esc: back" in said
    press(window, K.Key_Return)
    assert window.panel is None


def test_a_new_device_becomes_a_new_unit_with_the_next_tag(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.unit_rows = [replace(UNIT, serial="other")]
    desk.plug_in()
    window.tick()
    press(window, K.Key_Return)
    window.tick()
    made = desk.unit_rows[-1]
    assert (made.tag, made.model, made.serial) == ("SM-07-05", "Plover T2", "PT2-0419")
    assert ("start_visit", made.id, "fake:1", "intake") in desk.calls
    assert window.header.tag.text() == "SM-07-05"


def test_a_new_device_can_be_given_a_tag_and_a_claim(
    window: MainWindow, desk: FakeDesk, press: Press, write: Write
) -> None:
    desk.plug_in()
    window.tick()
    write(window, "B-77")
    press(window, K.Key_Tab)
    write(window, "dead")
    press(window, K.Key_Return)
    assert (desk.unit_rows[-1].tag, desk.unit_rows[-1].claim) == ("B-77", "dead")


def test_a_device_is_taken_for_a_known_unit_when_its_tag_is_typed(
    window: MainWindow, desk: FakeDesk, press: Press, write: Write
) -> None:
    desk.unit_rows = [UNIT]
    desk.plug_in()
    window.tick()
    write(window, "sm-07-04")
    assert "left stick goes by itself" in window.arrival.keys.text()
    press(window, K.Key_Return)
    assert ("start_visit", UNIT.id, "fake:1", "intake") in desk.calls
    assert len(desk.unit_rows) == 1


def test_a_known_unit_is_recognised_and_one_key_starts_its_visit(
    window: MainWindow, desk: FakeDesk, press: Press
) -> None:
    desk.unit_rows = [UNIT]
    desk.plug_in(UNIT)
    window.tick()
    assert "SM-07-04" in window.arrival.said.text()
    press(window, K.Key_Return)
    assert ("start_visit", UNIT.id, "fake:1", "intake") in desk.calls
    assert window.pages.currentIndex() == 0


def test_an_unfinished_visit_is_offered_to_go_on(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.unit_rows = [UNIT]
    desk.start_visit(UNIT.id, DEVICE, "after rest")
    desk.the_session = None
    desk.plug_in(UNIT)
    window.tick()
    assert "not finished" in window.arrival.keys.text()
    press(window, K.Key_Return)
    assert desk.calls[-1] == ("start_visit", UNIT.id, "fake:1", "after rest")
    assert len(desk.visits) == 1


def test_a_device_that_cannot_be_opened_says_why(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.plug_in(device=replace(DEVICE, problem="The system does not let you open it; install the udev rule."))
    window.tick()
    assert "udev rule" in window.arrival.said.text()
    press(window, K.Key_Return)
    assert desk.calls == []
    assert window.arrival.device is None


def test_a_device_plugged_in_during_a_check_does_not_take_the_keys(
    visit: MainWindow, desk: FakeDesk, press: Press
) -> None:
    press(visit, K.Key_Space)
    desk.plug_in(device=replace(DEVICE, key="fake:2", serial="X"))
    visit.tick()
    press(visit, K.Key_Space)
    assert desk.commands == [Go(), Go()]
    press(visit, K.Key_P)
    assert visit.arrival.tag.hasFocus()
    press(visit, K.Key_Escape)
    assert visit.arrival.device is None


def test_markup_in_a_device_name_is_shown_as_it_is(window: MainWindow, desk: FakeDesk) -> None:
    desk.plug_in(device=replace(DEVICE, product="<b>Evil</b> & <img src=x>"))
    window.tick()
    assert "<b>Evil</b> & <img src=x>" in window.arrival.said.text()
    assert all(label.textFormat() is Qt.TextFormat.PlainText for label in window.findChildren(QLabel) if label.text())


def test_a_device_is_seen_at_once_before_anybody_says_whose_it_is(window: MainWindow, desk: FakeDesk) -> None:
    desk.the_sheet = plover()
    desk.plug_in()
    window.tick()
    assert window.live.isVisible()
    assert window.checklist.card.control.text() == "Whose unit is it?"


def test_another_units_record_is_shown_without_leaving_the_visit(
    visit: MainWindow, desk: FakeDesk, press: Press, write: Write
) -> None:
    desk.unit_rows.append(replace(UNIT, id="u9", tag="SM-07-09", serial=""))
    press(visit, K.Key_U)
    write(visit, "09")
    press(visit, K.Key_Return)
    assert visit.header.tag.text() == "SM-07-04"
    assert "SM-07-09" in visit.record._title.text()
    assert visit.checklist.card.control.text() == "Left stick"
    press(visit, K.Key_T)
    assert visit.panel is not None
    assert visit.panel.title.text() == "Treatment of SM-07-09"
    press(visit, K.Key_Escape)
    press(visit, K.Key_Escape)
    assert not visit.record._title.isVisible()


def test_a_unit_without_a_visit_says_how_to_begin_one(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.unit_rows = [UNIT]
    press(window, K.Key_U)
    press(window, K.Key_Return)
    assert window.checklist.card.control.text() == "SM-07-04"
    assert "Plug it in" in window.checklist.card.do.text()


def test_the_size_of_the_window_is_remembered(qtbot: QtBot, window: MainWindow, desk: FakeDesk) -> None:
    window.resize(1111, 777)
    window.close()
    again = MainWindow(desk, "dark", Sound({}))
    again.stop_clock()
    qtbot.addWidget(again)
    assert (again.width(), again.height()) == (1111, 777)


# --- working through the checklist ---------------------------------------------------------------------------


def test_one_key_starts_ends_and_goes_on(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    for key in (K.Key_Space, K.Key_Space, K.Key_Return, K.Key_Enter):
        press(visit, key)
    assert desk.commands == [Go()] * 4
    assert visit.shown.session is not None
    assert visit.shown.session.current == 2


def test_holding_the_key_down_counts_once(visit: MainWindow, desk: FakeDesk) -> None:
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QKeyEvent

    for repeated in (False, True, True):
        event = QKeyEvent(QEvent.Type.KeyPress, K.Key_Space, Qt.KeyboardModifier.NoModifier, " ", repeated)
        QApplication.sendEvent(visit, event)
    assert desk.commands == [Go()]


@pytest.mark.parametrize(
    ("key", "command"),
    [(K.Key_Backspace, TakeBack()), (K.Key_R, Again()), (K.Key_Down, Choose(1))],
    ids=["backspace", "R", "down"],
)
def test_each_key_forwards_its_command(
    visit: MainWindow, desk: FakeDesk, press: Press, key: Qt.Key, command: object
) -> None:
    press(visit, key)
    assert desk.commands == [command]


def test_the_card_says_what_to_do_what_is_missing_and_how_far(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk._go_to(desk.index_of("letgo", "left_stick"))
    press(visit, K.Key_Space)
    reading = Reading("settle_offset", 8.0, "%", 0.3, 6, 12)
    desk.update(progress=Progress(False, "two directions to go", 0.75, (reading,)))
    visit.tick()
    card = visit.checklist.card
    assert card.title.text() == "Let go"
    assert card.control.text() == "Left stick"
    assert "Flick it" in card.do.text()
    assert card.missing.text() == "two directions to go"
    assert card.readings.readings == (reading,)
    assert "Space:\u00a0end" in card.keys.text()


def test_the_control_is_the_largest_type_in_the_window(visit: MainWindow) -> None:
    sizes = {label: label.fontInfo().pixelSize() for label in visit.findChildren(QLabel) if label.isVisible()}
    assert sizes[visit.checklist.card.control] == max(sizes.values()) == 34
    assert min(sizes.values()) >= 12.5


def test_again_please_keeps_the_step_and_says_why(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    press(visit, K.Key_Space)
    desk.again_please("Again, please: it was pressed twice only.")
    visit.tick()
    assert "pressed twice" in visit.checklist.card.missing.text()
    assert visit.shown.session is not None
    assert visit.shown.session.current == 0


def test_the_list_follows_the_current_step(visit: MainWindow, desk: FakeDesk) -> None:
    for k in range(len(desk.the_session.steps)):  # type: ignore[union-attr]
        desk._go_to(k)
        visit.tick()
        QApplication.processEvents()
        assert visit.checklist.list.current_visible()


def test_outcomes_reach_the_list_as_shapes(visit: MainWindow, desk: FakeDesk) -> None:
    desk.finish_step(Outcome.FAIL)
    desk.finish_step(Outcome.INTERRUPTED)
    visit.tick()
    assert shape_of(visit, 0) is Outcome.FAIL
    assert shape_of(visit, 1) is Outcome.INTERRUPTED


def test_pointing_at_a_step_chooses_it(visit: MainWindow, desk: FakeDesk, qtbot: QtBot) -> None:
    view = visit.checklist.list
    row = next(k for k, r in enumerate(view.rows()) if isinstance(r, Row) and not r.current)
    box = view.visualRect(view.model().index(row, 0))
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=box.center())
    assert isinstance(desk.commands[0], Choose)


def test_a_beat_clicks_and_flashes(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    played: list[str] = []
    visit.sound.play = played.append  # type: ignore[method-assign]
    desk._go_to(desk.index_of("light", "left_shoulder"))
    press(visit, K.Key_Space)
    desk.beat()
    visit.tick()
    assert played == ["beat"]
    assert visit.checklist.card.beats.states == ("waiting",)
    desk.finish_step(Outcome.FAIL)
    visit.tick()
    desk.finish_step(Outcome.PASS)
    visit.tick()
    desk.again_please("Again, please.")
    visit.tick()
    assert played == ["beat", "fail", "done", "again"]


def test_marking_by_hand_asks_for_a_reason(visit: MainWindow, desk: FakeDesk, press: Press, write: Write) -> None:
    press(visit, K.Key_M)
    press(visit, K.Key_3)
    press(visit, K.Key_Return)
    assert visit.panel is not None
    assert any("needs a reason" in text for text in visit.panel.labels())
    write(visit, "cracked")
    press(visit, K.Key_Return)
    assert desk.commands == [MarkByHand(Outcome.FAIL, "cracked")]
    assert visit.panel is None


def test_skipping_takes_a_ready_reason_or_an_own_one(
    visit: MainWindow, desk: FakeDesk, press: Press, write: Write
) -> None:
    press(visit, K.Key_S)
    press(visit, K.Key_2)
    press(visit, K.Key_Return)
    press(visit, K.Key_S)
    press(visit, K.Key_Tab)
    write(visit, "glued")
    press(visit, K.Key_Return)
    assert desk.commands == [Skip("part is missing"), Skip("glued")]


def test_an_ask_is_answered_with_y_or_n(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk._go_to(desk.index_of("rumble"))
    visit.tick()
    assert "Y:\u00a0good" in visit.checklist.card.keys.text()
    assert visit.record.note.text() == "Shift+N note"
    press(visit, K.Key_N)
    assert desk.commands == [Answer("fail", {})]


def test_a_meter_takes_figures_and_leaves_the_other_keys_to_the_bench(
    visit: MainWindow, desk: FakeDesk, press: Press, write: Write
) -> None:
    desk._go_to(desk.index_of("charge"))
    visit.tick()
    write(visit, "4,98")
    press(visit, K.Key_Tab)
    write(visit, "0.46")
    press(visit, K.Key_Y)
    assert desk.commands == [Answer("pass", {"V": 4.98, "A": 0.46})]


def test_n_is_a_note_where_nothing_is_asked(visit: MainWindow, desk: FakeDesk, press: Press, write: Write) -> None:
    press(visit, K.Key_N)
    write(visit, "grip worn")
    press(visit, K.Key_Return)
    assert desk.notes[0].text == "grip worn"
    assert "grip worn" in visit.record.texts()


def test_a_unit_that_goes_away_is_said_and_comes_back(visit: MainWindow, desk: FakeDesk) -> None:
    desk.events.append(SourceLost("The unit was unplugged; plug it in again."))
    desk.update(device="lost", running=False, message="The unit was unplugged; plug it in again.")
    visit.tick()
    assert "unplugged" in visit.checklist.card.do.text()
    assert "unplugged" in visit.foot.message.text()
    desk.events.append(SourceBack())
    desk.update(device="live", message="")
    visit.tick()
    assert "Hands off" in visit.checklist.card.do.text()


def test_ending_the_visit_says_what_stays_undone(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    press(visit, K.Key_F)
    assert visit.panel is not None
    assert any("stay “not done”" in text for text in visit.panel.labels())
    press(visit, K.Key_Return)
    assert desk.commands == [Finish()]
    assert visit.checklist.card.control.text() == "Visit finished"


def test_a_whole_visit_by_the_keyboard_ends_with_the_certificate(
    visit: MainWindow, desk: FakeDesk, press: Press
) -> None:
    for _ in range(200):
        if visit.shown.session is None or visit.shown.session.finished:
            break
        press(visit, K.Key_Y if visit.shown.asked() is not None else K.Key_Space)
    assert visit.shown.session is not None
    assert visit.shown.session.finished
    assert all(v.outcome is Outcome.PASS for v in visit.shown.session.steps)
    press(visit, K.Key_C)
    assert ("write_certificate", UNIT.id) in desk.calls
    assert "SM-07-04.pdf" in visit.foot.message.text()


# --- the record ----------------------------------------------------------------------------------------------


def test_the_record_is_drawn_again_after_each_committed_result(visit: MainWindow, desk: FakeDesk) -> None:
    desk._go_to(desk.index_of("rest", "left_stick"))
    desk.finish_step(Outcome.FAIL, (Reading("offset", 14.8, "%", 0.3, 5, 10),))
    visit.tick()
    texts = visit.record.texts()
    assert "Left stick, at rest" in texts
    assert "14.8 %" in texts


def test_suspects_and_the_next_treatment_stand_with_reason_and_caution(visit: MainWindow, desk: FakeDesk) -> None:
    desk.suspect_rows = (SuspectView("Left stick sensor", 0.71),)
    desk.the_proposal = ProposalView(
        "clean the sensor", "cures 3 of 4, 9 min, € 0.40", caution="Unplug first. Air it.", minutes=9, cost_minor=40
    )
    visit.bench.draw_record()
    texts = visit.record.texts()
    assert "Next: clean the sensor" in texts
    assert "cures 3 of 4, 9\u00a0min, €\u00a00.40" in texts
    assert "Air it." in texts
    assert "Left stick sensor" in texts


def test_the_usual_treatment_takes_three_keys(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    press(visit, K.Key_T)
    press(visit, K.Key_2)
    press(visit, K.Key_Return)
    assert [t.kind for t in desk.treatments] == ["open and clean"]
    assert any("open and clean" in text for text in visit.record.texts())


def test_the_proposed_treatment_brings_part_minutes_and_cost(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.the_proposal = ProposalView(
        "x", "", kind="replace sensor", part="Left stick sensor", minutes=25, cost_minor=210
    )
    press(visit, K.Key_T)
    press(visit, K.Key_Return)
    made = desk.treatments[0]
    assert (made.kind, made.part, made.minutes, made.cost_minor) == ("replace sensor", "Left stick sensor", 25, 210)


@pytest.mark.parametrize("kind", TREATMENT_KINDS)
def test_every_treatment_shows_its_caution(visit: MainWindow, press: Press, kind: str) -> None:
    press(visit, K.Key_T)
    assert isinstance(visit.panel, TreatmentPanel)
    visit.panel.kind.choose(TREATMENT_KINDS.index(kind))
    assert caution_for(kind) in visit.panel.labels()


def test_cautions_never_tell_anyone_to_open_a_cell_or_an_adapter() -> None:
    for kind in TREATMENT_KINDS:
        text = caution_for(kind)
        assert text
        assert not re.search(r"(?<!Never )open a (cell|mains)", text, re.IGNORECASE)


def test_a_wrong_amount_keeps_the_panel_open_and_says_why(
    visit: MainWindow, desk: FakeDesk, press: Press, write: Write
) -> None:
    press(visit, K.Key_T)
    for _ in range(3):
        press(visit, K.Key_Tab)
    write(visit, "cheap")
    press(visit, K.Key_Return)
    assert desk.treatments == []
    assert visit.panel is not None
    assert any("not an amount" in text for text in visit.panel.labels())


def test_claim_condition_rest_and_becomes_are_edited_by_keys(
    visit: MainWindow, desk: FakeDesk, press: Press, write: Write
) -> None:
    press(visit, K.Key_E)
    press(visit, K.Key_Tab)
    press(visit, K.Key_2)
    press(visit, K.Key_Tab)
    write(visit, "scratched")
    press(visit, K.Key_Tab)
    write(visit, "2026-12-01")
    press(visit, K.Key_Tab)
    press(visit, K.Key_3)
    press(visit, K.Key_Return)
    unit = desk.unit_rows[0]
    assert (unit.claim_state, unit.condition, unit.rest_until, unit.becomes) == (
        "confirmed",
        "scratched",
        "2026-12-01",
        "donor",
    )
    assert any("until 2026-12-01" in text for text in visit.record.texts())


def test_all_checks_or_the_few_that_matter(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    for _ in range(12):
        desk.finish_step(Outcome.PASS)
    visit.tick()
    assert "A: 8 more" in visit.record.texts()
    press(visit, K.Key_A)
    assert "A: fewer" in visit.record.texts()


def test_a_unit_is_found_by_a_part_of_its_tag(visit: MainWindow, desk: FakeDesk, press: Press, write: Write) -> None:
    desk.unit_rows.append(replace(UNIT, id="u9", tag="SM-07-09", serial=""))
    press(visit, K.Key_U)
    write(visit, "09")
    press(visit, K.Key_Return)
    assert "SM-07-09" in visit.record._title.text()


def test_another_visit_starts_with_the_kind_that_lies_nearest(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    visit.bench.device = DEVICE
    desk.do(Finish())
    desk.treatments.append(Treatment("t", UNIT.id, "adjust", "2099-01-01T00:00:00+00:00"))
    visit.tick()
    press(visit, K.Key_V)
    press(visit, K.Key_Return)
    assert desk.calls[-1] == ("start_visit", UNIT.id, "fake:1", "after treatment")


def test_a_sheet_that_was_drawn_up_can_be_saved(visit: MainWindow, desk: FakeDesk, press: Press, write: Write) -> None:
    press(visit, K.Key_S, CONTROL)
    write(visit, " v2")
    press(visit, K.Key_Return)
    name, sheet = desk.calls[-1]
    assert name == "save_sheet"
    assert sheet.name == "Plover T2 v2"  # type: ignore[attr-defined]


# --- the other views -----------------------------------------------------------------------------------------


def test_a_lot_and_its_units_are_written_up_by_keys(
    window: MainWindow, desk: FakeDesk, press: Press, write: Write
) -> None:
    press(window, K.Key_F2)
    press(window, K.Key_L)
    write(window, "SM-08")
    for _ in range(3):
        press(window, K.Key_Tab)
    write(window, "96")
    press(window, K.Key_Return)
    assert (desk.lot_rows[0].name, desk.lot_rows[0].cost_minor) == ("SM-08", 9600)
    press(window, K.Key_I)
    write(window, "SM-08-01")
    press(window, K.Key_Return)
    assert (desk.unit_rows[0].tag, desk.unit_rows[0].lot_id) == ("SM-08-01", desk.lot_rows[0].id)
    assert window.lots.units.texts()[0][0] == "SM-08-01"
    assert window.lots.lots.texts()[0][1] == "1"


def test_a_tag_is_given_once(window: MainWindow, desk: FakeDesk, press: Press, write: Write) -> None:
    desk.unit_rows = [UNIT]
    desk.lot_rows = [Lot("l", "SM-07", "2026-11-18")]
    press(window, K.Key_F2)
    press(window, K.Key_I)
    assert window.panel is not None
    press(window, K.Key_A, CONTROL)
    write(window, "SM-07-04")
    press(window, K.Key_Return)
    assert len(desk.unit_rows) == 1
    assert any("is taken" in text for text in window.panel.labels())


def test_enter_opens_a_unit_of_a_lot_on_the_bench(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.lot_rows = [Lot("l", "SM-07", "2026-11-18")]
    desk.unit_rows = [replace(UNIT, lot_id="l")]
    press(window, K.Key_F2)
    press(window, K.Key_Return)
    press(window, K.Key_Return)
    assert window.pages.currentIndex() == 0
    assert window.header.tag.text() == "SM-07-04"


def test_units_are_searched_from_the_lots_view(window: MainWindow, desk: FakeDesk, press: Press, write: Write) -> None:
    desk.unit_rows = [UNIT, replace(UNIT, id="u9", tag="SM-07-09")]
    press(window, K.Key_F2)
    press(window, K.Key_Slash)
    write(window, "09")
    assert [t[0] for t in window.lots.units.texts()] == ["SM-07-09"]


def test_a_part_is_put_on_the_shelf(window: MainWindow, desk: FakeDesk, press: Press, write: Write) -> None:
    press(window, K.Key_F3)
    press(window, K.Key_I)
    write(window, "Stick sensor")
    press(window, K.Key_Return)
    assert window.shelf.parts.texts() == [("Stick sensor", "", "1", "€\u00a00.00", "")]


def test_what_is_ready_for_its_second_test_stands_first(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    import scenes

    scenes.workshop(desk)
    press(window, K.Key_F4)
    assert [(t[0], t[4]) for t in window.due.due.texts()] == [
        ("SM-07-08", "ready now"),
        ("SM-07-02", "still resting"),
        ("SM-07-05", "still resting"),
    ]


# --- keys, messages, looks -----------------------------------------------------------------------------------


def test_every_key_of_the_table_has_its_action(window: MainWindow) -> None:
    for line in KEYS:
        room, _, name = line.action.partition(".")
        assert name in {view.name for view in VIEWS} if room == "view" else callable(getattr(window.rooms[room], name))


def test_no_key_means_two_things_in_one_view() -> None:
    for view in ("bench", "lots", "shelf", "due"):
        keys = [k.key for k in KEYS if k.where in (view, "everywhere")]
        assert len(keys) == len(set(keys))
        assert all(find_key(key, view) is not None for key in keys)


def test_all_keys_are_shown_and_escape_goes_back(visit: MainWindow, press: Press) -> None:
    press(visit, K.Key_F12)
    assert visit.panel is not None
    shown = visit.panel.labels()
    assert all(line.key in shown for line in KEYS)
    press(visit, K.Key_Escape)
    assert visit.panel is None


@pytest.mark.parametrize(
    "key", [K.Key_M, K.Key_S, K.Key_F, K.Key_T, K.Key_N, K.Key_E, K.Key_B, K.Key_U, K.Key_D, K.Key_F12]
)
def test_escape_leaves_every_panel_and_nothing_is_done(
    visit: MainWindow, desk: FakeDesk, press: Press, key: Qt.Key
) -> None:
    calls = list(desk.calls)
    press(visit, key)
    assert visit.panel is not None
    press(visit, K.Key_Escape)
    assert visit.panel is None
    assert (desk.commands, desk.calls) == ([], calls)
    press(visit, K.Key_Space)
    assert desk.commands == [Go()]


def test_keys_behind_a_panel_do_nothing(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    press(visit, K.Key_F)
    for key in (K.Key_Space, K.Key_R, K.Key_M, K.Key_F2):
        press(visit, key)
    assert desk.commands == []
    assert visit.pages.currentIndex() == 0


def test_tab_stays_inside_a_panel(visit: MainWindow, press: Press) -> None:
    press(visit, K.Key_E)
    for _ in range(12):
        press(visit, K.Key_Tab)
        focus = visit.focusWidget()
        assert focus is not None
        assert visit.panel is not None
        assert visit.panel.isAncestorOf(focus)


def test_a_fault_is_said_until_it_is_put_away(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.events += [Said("Saved."), Fault("The disk is full; make room, then press Space.")]
    visit.tick()
    assert "disk is full" in visit.foot.message.text()
    assert visit.foot.mark.isVisible()
    press(visit, K.Key_Escape)
    assert visit.foot.message.text() == ""


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_theme_is_switched_by_a_key_and_remembered(
    visit: MainWindow, desk: FakeDesk, press: Press, theme: str
) -> None:
    visit.set_theme("auto" if theme == "light" else "light")
    press(visit, K.Key_F9)
    assert visit.look.dark is (theme == "dark")
    assert desk.kept["theme"] == theme


def test_larger_type_is_remembered_and_folds_the_panes(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    for _ in range(5):
        press(visit, K.Key_Plus, CONTROL)
    assert desk.kept["scale"] == "2.0"
    assert [p.isVisible() for p in (visit.live, visit.checklist, visit.record)].count(True) == 1
    press(visit, K.Key_F6)
    press(visit, K.Key_F6)
    assert visit.record.isVisible()


def test_pane_sizes_are_remembered(qtbot: QtBot, visit: MainWindow, desk: FakeDesk) -> None:
    visit.panes.setSizes([500, 400, 340])
    visit.panes.remember()
    sizes = [int(s) for s in desk.kept["panes"].split(",")]
    again = MainWindow(desk, "dark", Sound({}))
    again.stop_clock()
    qtbot.addWidget(again)
    again.resize(1280, 720)
    again.show()
    again.tick()
    assert again.panes.sizes() == pytest.approx(sizes, abs=3)


@pytest.mark.parametrize("size", [(1280, 720), (960, 540), (640, 400)], ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("scale", ["1.0", "2.0"])
def test_no_word_is_cut_off_in_a_button_or_a_line(
    qtbot: QtBot, desk: FakeDesk, size: tuple[int, int], scale: str
) -> None:
    import scenes
    from PySide6.QtWidgets import QPushButton

    scenes.left_shoulder(desk)
    desk.kept["scale"] = scale
    window = MainWindow(desk, "light", Sound({}))
    window.stop_clock()
    qtbot.addWidget(window)
    window.resize(*size)
    window.show()
    for _ in range(3):
        window.tick()
        QApplication.processEvents()
        window.next_pane()
        for button in window.findChildren(QPushButton):
            if button.isVisible():
                needed = button.fontMetrics().horizontalAdvance(button.text().replace("&&", "&"))
                assert button.width() >= needed, button.text()
        for label in window.checklist.card.findChildren(QLabel):
            if label.isVisible() and label.text():
                assert label.height() >= label.heightForWidth(label.width()) - 1, label.text()


def test_the_window_closes_its_desk(visit: MainWindow, desk: FakeDesk) -> None:
    visit.close()
    assert desk.closed
