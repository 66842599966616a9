"""The window through a visit, by the keyboard alone."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
import scenes
from conftest import UNIT
from pad import DEVICE
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel
from pytestqt.qtbot import QtBot
from workbench import Workbench

from station.bench.types import (
    Again,
    Answer,
    Choose,
    Fault,
    Finish,
    Go,
    MarkByHand,
    Skip,
    TakeBack,
)
from station.checks.types import Outcome
from station.diagnosis.guide import load_guide
from station.errors import RecordError
from station.records.types import FIRST_LOOK, TREATMENT_KINDS, Lot, Treatment, Unit
from station.ui.checklist.rows import Row
from station.ui.keys import KEYS, VIEWS, cap_of, find_key
from station.ui.painting.hints import KeyHints
from station.ui.panels.bench import VisitPanel
from station.ui.panels.keys import KeysPanel
from station.ui.panels.open_points import CertificatePanel
from station.ui.panels.record import NotePanel
from station.ui.panels.shop import ShopPanel
from station.ui.panels.treatment import TreatmentPanel
from station.ui.ports import Said
from station.ui.sound import Sound
from station.ui.window import MainWindow
from station.words import shortcuts
from station.words.grammar import sentence_start

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


def test_a_sample_unit_is_two_keys_away(window: MainWindow, desk: Workbench, press: Press) -> None:
    press(window, K.Key_D)
    press(window, K.Key_2)
    press(window, K.Key_Return)
    assert ("plug_in_sample", desk.desk.devices.samples()[1]) in desk.calls
    assert window.arrival.device is not None


def test_a_device_that_does_not_say_what_it_is_can_be_chosen(window: MainWindow, desk: Workbench, press: Press) -> None:
    problem = "It does not say that it is a game controller."
    desk.sockets.others = tuple(
        replace(DEVICE, key=f"pad:{i}", product_id=i, product=name, serial="", usages=(), problem=problem)
        for i, name in enumerate(("Plover T2, odd mode", "Desk lamp"), start=7)
    )
    press(window, K.Key_O)
    press(window, K.Key_1)
    press(window, K.Key_Return)
    assert window.arrival.device is not None
    assert window.arrival.device.device.product == "Plover T2, odd mode"


def test_without_such_a_device_it_says_what_to_try(window: MainWindow, press: Press) -> None:
    press(window, K.Key_O)
    assert window.panel is not None
    said = [label.text() for label in window.panel.findChildren(QLabel)]
    assert any("another mode" in text for text in said)
    assert window.panel._keys.text() == "Enter or Esc: back"
    press(window, K.Key_Return)
    assert window.panel is None


def test_a_new_device_becomes_a_new_unit_with_the_next_tag(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.store.add_unit(replace(UNIT, serial="other"))
    desk.plug_in()
    desk.settle(window)
    press(window, K.Key_Return)
    made = desk.store.units("SM-07-05")[0]
    assert (made.tag, made.model, made.serial) == ("SM-07-05", "Plover T2", "PT2-0419")
    assert ("start", made.id, DEVICE, FIRST_LOOK) in desk.calls
    assert desk.session().unit == made
    assert window.header.tag.text() == "SM-07-05"


def test_a_refusal_of_something_else_does_not_keep_a_new_unit_from_its_visit(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.plug_in()
    desk.settle(window)
    desk.desk.units.add(Unit("", "", ""))  # refused: it has no tag
    press(window, K.Key_Return)
    assert "has no tag" in window.foot.message.text()
    assert desk.session().unit.tag == "unit-1"


def test_a_new_unit_whose_device_left_meanwhile_begins_no_visit(
    qtbot: QtBot, window: MainWindow, desk: Workbench
) -> None:
    desk.plug_in()
    desk.settle(window)
    with desk.held():
        qtbot.keyClick(window.focusWidget(), K.Key_Return)
        desk.unplug()
        window.tick()
    desk.settle(window)
    assert [u.tag for u in desk.store.units()] == ["unit-1"], "it is written up all the same"
    assert not any(call[0] == "start" for call in desk.calls)


def test_an_answer_that_nobody_waits_for_any_more_opens_nothing(
    qtbot: QtBot, window: MainWindow, desk: Workbench
) -> None:
    with desk.held():
        qtbot.keyClick(window, K.Key_O)
        qtbot.keyClick(window, K.Key_F12)
        other = window.panel
    desk.settle(window)
    assert window.panel is other
    assert isinstance(other, KeysPanel)


def test_a_new_device_can_be_given_a_tag_and_a_claim(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    desk.plug_in()
    desk.settle(window)
    write(window, "B-77")
    press(window, K.Key_Tab)
    write(window, "dead")
    press(window, K.Key_Return)
    assert [(u.tag, u.claim) for u in desk.store.units()] == [("B-77", "dead")]


def test_a_device_is_taken_for_a_known_unit_when_its_tag_is_typed(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    desk.store.add_unit(replace(UNIT, serial="", vendor_id=0, product_id=0))
    desk.plug_in()
    desk.settle(window)
    write(window, "sm-07-04")
    assert "left stick goes by itself" in window.arrival.keys.text()
    press(window, K.Key_Return)
    assert ("start", UNIT.id, DEVICE, "first look") in desk.calls
    assert [u.serial for u in desk.store.units()] == [DEVICE.serial], "its serial number is known from now on"


def test_a_known_unit_is_recognised_and_one_key_starts_its_visit(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.store.add_unit(UNIT)
    desk.plug_in()
    desk.settle(window)
    assert "SM-07-04" in window.arrival.said.text()
    press(window, K.Key_Return)
    assert ("start", UNIT.id, DEVICE, "first look") in desk.calls
    assert window.pages.currentIndex() == 0


def test_an_unfinished_visit_is_offered_to_go_on(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.store.add_unit(UNIT)
    begun = desk.store.start_visit(UNIT.id, "after rest")
    desk.plug_in()
    desk.settle(window)
    assert "not finished" in window.arrival.keys.text()
    press(window, K.Key_Return)
    assert desk.calls[-1] == ("start", UNIT.id, DEVICE, "after rest")
    assert desk.session().visit.id == begun.id
    assert len(desk.store.history(UNIT.id).visits) == 1


def test_a_device_that_cannot_be_opened_says_why(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.plug_in(replace(DEVICE, problem="The system does not let you open it; install the udev rule."))
    desk.settle(window)
    assert "udev rule" in window.foot.message.text()
    press(window, K.Key_Return)
    assert desk.calls == []
    assert window.arrival.device is None


def test_a_device_plugged_in_during_a_check_does_not_take_the_keys(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    press(visit, K.Key_Space)
    desk.plug_in(replace(DEVICE, key="pad:2", serial="X"))
    desk.settle(visit)
    press(visit, K.Key_Space)
    assert desk.commands == [Go(), Go()]
    press(visit, K.Key_P)
    assert visit.arrival.tag.hasFocus()
    press(visit, K.Key_Escape)
    assert visit.arrival.device is None


def test_markup_in_a_device_name_is_shown_as_it_is(window: MainWindow, desk: Workbench) -> None:
    desk.plug_in(replace(DEVICE, product="<b>Evil</b> & <img src=x>"))
    desk.settle(window)
    assert "<b>Evil</b> & <img src=x>" in window.arrival.said.text()
    for label in window.findChildren(QLabel):
        if isinstance(label, KeyHints):  # these write markup themselves, and nothing else gets through
            assert re.sub(r"</?(a|b)( [^<>]*)?>", "", QLabel.text(label)).count("<") == 0
        elif label.text():
            assert label.textFormat() is Qt.TextFormat.PlainText


def test_no_markup_gets_through_a_line_of_keys(window: MainWindow) -> None:
    hints = KeyHints("Enter: new unit <b>A</b> & <img src=x> · R: <a href=y>z</a> · <i>", window.look)
    assert re.sub(r"</?(a|b)( [^<>]*)?>", "", QLabel.text(hints)).count("<") == 0
    assert "&lt;img src=x&gt;" in QLabel.text(hints)
    assert "&lt;i&gt;" in QLabel.text(hints)


def test_a_device_is_seen_at_once_before_anybody_says_whose_it_is(window: MainWindow, desk: Workbench) -> None:
    desk.plug_in()
    desk.settle(window)
    assert window.live.isVisible()
    assert window.checklist.card.control.text() == "Whose unit is it?"


def test_another_units_record_is_shown_without_leaving_the_visit(
    visit: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    desk.store.add_unit(replace(UNIT, id="u9", tag="SM-07-09", serial=""))
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


def test_a_unit_without_a_visit_says_how_to_begin_one(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.store.add_unit(UNIT)
    press(window, K.Key_U)
    press(window, K.Key_Return)
    assert window.checklist.card.control.text() == "SM-07-04"
    assert window.checklist.card.do.text().startswith("Look it over before you plug it in")


def test_the_size_of_the_window_is_remembered(qtbot: QtBot, window: MainWindow, desk: Workbench) -> None:
    window.resize(711, 577)
    window.close()
    desk = Workbench(desk.store.folder)
    again = MainWindow(desk.desk, "dark", Sound({}))
    again.stop_clock()
    qtbot.addWidget(again)
    assert (again.width(), again.height()) == (711, 577)


# --- working through the checklist ---------------------------------------------------------------------------


def test_one_key_starts_ends_and_goes_on(visit: MainWindow, desk: Workbench, press: Press) -> None:
    index = desk.index_of("contact", "south")
    desk.go_to("contact", "south")
    press(visit, K.Key_Space)
    assert desk.session().running
    desk.press("south", times=2)
    press(visit, K.Key_Return)
    assert not desk.session().running, "ended before it was complete: it asks for more"
    press(visit, K.Key_G)  # each check waits for the key
    desk.commands.clear()
    press(visit, K.Key_Enter)
    desk.press("south", times=3)
    desk.settle(visit)
    assert desk.commands == [Go()]
    assert visit.shown.session is not None
    assert visit.shown.session.steps[index].outcome is Outcome.PASS


def test_holding_the_key_down_counts_once(visit: MainWindow, desk: Workbench) -> None:
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QKeyEvent

    for repeated in (False, True, True):
        event = QKeyEvent(QEvent.Type.KeyPress, K.Key_Space, Qt.KeyboardModifier.NoModifier, " ", repeated)
        QApplication.sendEvent(visit, event)
    assert desk.commands == [Go()]


@pytest.mark.parametrize(
    ("key", "command"),
    [(K.Key_Backspace, TakeBack()), (K.Key_R, Again()), (K.Key_Down, Choose(9))],
    ids=["backspace", "R", "down"],
)
def test_each_key_forwards_its_command(
    visit: MainWindow, desk: Workbench, press: Press, key: Qt.Key, command: object
) -> None:
    press(visit, key)
    assert desk.commands == [command]


def test_the_card_says_what_to_do_what_is_missing_and_how_far(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.go_to("rim", "right_stick")
    press(visit, K.Key_Space)
    scenes.roll_round(desk, "right_stick")
    desk.settle(visit)
    progress = desk.session().progress
    assert progress is not None
    assert 0 < progress.share < 1
    card = visit.checklist.card
    assert card.title.text() == "Round the rim"
    assert card.control.text() == "Left stick and right stick"
    assert "round the rim" in card.do.text()
    assert "Both at the same time." in card.do.text()
    assert progress.missing
    assert card.missing.text() == sentence_start(progress.missing)
    assert "Space:\u00a0end" in card.keys.text()


def test_the_card_of_a_check_that_was_made_shows_its_readings_failing_first(visit: MainWindow, desk: Workbench) -> None:
    desk.rest_at("left_stick", 14.8)
    desk.go_to("rest", "left_stick")
    desk.settle(visit)
    first, *others = visit.checklist.card.readings.readings
    assert (first.name, first.value) == ("offset", pytest.approx(14.8, abs=0.05))
    assert others
    assert all(r.limit is not None for r in others)


def test_the_control_is_the_largest_type_in_the_window(visit: MainWindow) -> None:
    sizes = {label: label.fontInfo().pixelSize() for label in visit.findChildren(QLabel) if label.isVisible()}
    assert sizes[visit.checklist.card.control] == max(sizes.values()) == 34
    assert min(sizes.values()) >= 12.5


def test_again_please_keeps_the_step_and_says_why(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.run("contact", "south")
    desk.press("south", times=2)
    press(visit, K.Key_Space)
    again = desk.session().again
    assert again
    assert visit.checklist.card.missing.text().casefold() == again.casefold()
    assert visit.shown.session is not None
    assert visit.shown.session.current == desk.index_of("contact", "south")


def test_the_list_follows_the_current_step(visit: MainWindow, desk: Workbench) -> None:
    for view in desk.session().steps:
        desk.go_to(view.step.check, view.step.control)
        visit.tick()
        QApplication.processEvents()
        assert visit.checklist.list.current_visible()


def test_outcomes_reach_the_list_as_shapes(visit: MainWindow, desk: Workbench) -> None:
    failed, cut = desk.index_of("rest", "left_stick"), desk.index_of("link", "")
    desk.mark(Outcome.FAIL)
    desk.run("link", "")
    desk.go_to("travel", "left_stick")
    visit.tick()
    assert shape_of(visit, failed) is Outcome.FAIL
    assert shape_of(visit, cut) is Outcome.INTERRUPTED


def test_pointing_at_a_step_chooses_it(visit: MainWindow, desk: Workbench, qtbot: QtBot) -> None:
    view = visit.checklist.list
    row = next(k for k, r in enumerate(view.rows()) if isinstance(r, Row) and not r.current)
    box = view.visualRect(view.model().index(row, 0))
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=box.center())
    assert isinstance(desk.commands[0], Choose)


def test_a_beat_clicks_and_flashes(visit: MainWindow, desk: Workbench, press: Press) -> None:
    played: list[str] = []
    visit.sound.play = played.append  # type: ignore[method-assign]
    desk.run("light", "left_shoulder")
    desk.press("left_shoulder", times=1)
    while not any(b.state == "waiting" for b in desk.session().beats):
        desk.advance(20)
    desk.settle(visit)
    assert set(played) == {"beat"}
    assert visit.checklist.card.beats.states[-1] == "waiting"
    played.clear()
    desk.rest_at("left_stick", 14.8)
    desk.settle(visit)
    desk.mark(Outcome.PASS)
    desk.settle(visit)
    desk.run("contact", "south")
    desk.press("south", times=1)
    press(visit, K.Key_Space)
    assert set(played) == {"done", "fail", "again"}
    assert played[-1] == "again"


def test_a_key_that_comes_as_a_check_ends_starts_nothing(visit: MainWindow, desk: Workbench, press: Press) -> None:
    visit.shown.late_key_s = 60.0
    desk.run("contact", "south")
    for control in [v.step.control for v in desk.session().steps if v.step.check == "contact"]:
        desk.press(control, times=3)
    desk.settle(visit)
    assert not desk.session().running
    commands = len(desk.commands)
    press(visit, K.Key_Space)
    assert len(desk.commands) == commands
    visit.shown.late_key_s = 0.0
    press(visit, K.Key_Space)
    assert desk.commands[commands:] == [Go()]


def test_g_makes_each_check_wait_and_is_remembered(visit: MainWindow, desk: Workbench, press: Press) -> None:
    assert desk.session().by_itself
    press(visit, K.Key_G)
    assert not desk.session().by_itself
    assert "waits for Space" in visit.foot.message.text()
    assert desk.store.get_setting("by_itself", "on") == "off"
    press(visit, K.Key_G)
    assert desk.session().by_itself


def test_marking_by_hand_asks_for_a_reason(visit: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    press(visit, K.Key_M)
    press(visit, K.Key_3)
    press(visit, K.Key_Return)
    assert visit.panel is not None
    assert any("needs a reason" in text for text in visit.panel.labels())
    write(visit, "cracked")
    press(visit, K.Key_Return)
    assert desk.commands == [MarkByHand(Outcome.FAIL, "cracked", ("rest", "left_stick"))]
    assert visit.panel is None


def test_skipping_takes_a_ready_reason_or_an_own_one(
    visit: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    press(visit, K.Key_S)
    press(visit, K.Key_2)
    press(visit, K.Key_Return)
    press(visit, K.Key_S)
    press(visit, K.Key_Tab)
    write(visit, "glued")
    press(visit, K.Key_Return)
    assert [command for command in desk.commands if isinstance(command, Skip)] == [
        Skip("part is missing", ("rest", "left_stick")),
        Skip("glued", ("travel", "right_stick")),  # its rest goes on from its pushes
    ]


def test_a_mark_is_that_of_the_step_that_the_panel_names(
    visit: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    desk.go_to("contact", "left_shoulder")
    press(visit, K.Key_Space)
    press(visit, K.Key_M)
    desk.press("left_shoulder", times=3)  # it ends no check behind the panel, and no other one comes to the front
    desk.settle(visit)
    assert desk.session().current == desk.index_of("contact", "left_shoulder")
    press(visit, K.Key_3)
    press(visit, K.Key_Tab)
    write(visit, "cracked")
    press(visit, K.Key_Return)
    marked = {v.step.control: v.by_hand for v in desk.session().steps if v.step.check == "contact"}
    assert [control for control, by_hand in marked.items() if by_hand] == ["left_shoulder"]


def test_a_second_stroke_answers_no_further_question(visit: MainWindow, desk: Workbench, press: Press) -> None:
    asked = [i for i, v in enumerate(desk.session().steps) if v.step.person_answers]
    desk.go_to(desk.session().steps[asked[0]].step.check, "")
    desk.settle(visit)
    visit.shown.late_key_s = 60.0
    press(visit, K.Key_Y)
    press(visit, K.Key_Y)
    outcomes = [desk.session().steps[i].outcome for i in asked]
    assert outcomes.count(Outcome.NOT_DONE) == len(asked) - 1


def test_an_ask_is_answered_with_y_or_x(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.go_to("rumble")
    desk.settle(visit)
    assert "Y:\u00a0good" in visit.checklist.card.keys.text()
    assert "X:\u00a0not good" in visit.checklist.card.keys.text()
    press(visit, K.Key_X)
    assert desk.commands == [Answer("fail", {}, of="rumble")]


def test_n_is_a_note_where_something_is_asked_too(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.go_to("rumble")
    desk.settle(visit)
    press(visit, K.Key_N)
    assert isinstance(visit.panel, NotePanel)
    assert desk.commands == []


def test_x_marks_nothing_where_nothing_is_asked(visit: MainWindow, desk: Workbench, press: Press) -> None:
    press(visit, K.Key_X)
    assert desk.commands == []
    assert "Nothing is asked" in visit.foot.message.text()


def test_a_meter_takes_figures_and_leaves_the_other_keys_to_the_bench(
    visit: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    desk.go_to("charge")
    desk.settle(visit)
    write(visit, "4,98")
    press(visit, K.Key_Tab)
    write(visit, "0.46")
    press(visit, K.Key_Y)
    assert desk.commands == [Answer("pass", {"V": 4.98, "A": 0.46}, of="charge")]


@pytest.mark.parametrize("typed", ["5.0.2", "-", "9" * 320], ids=["two points", "a sign", "more than a number holds"])
def test_what_is_no_figure_is_said_and_nothing_is_answered(
    typed: str, visit: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.go_to("charge")
    desk.settle(visit)
    visit.checklist.card.meters["V"].setText(typed)
    desk.commands.clear()
    press(visit, K.Key_Y)
    assert desk.commands == []
    said = visit.foot.message.text()
    assert "is no figure that a meter shows" in said


def test_good_without_a_figure_is_told_as_a_look_on_the_line_and_in_the_list(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.go_to("charge")
    desk.settle(visit)
    press(visit, K.Key_Y)
    assert "looked at, not measured" in visit.foot.message.text()
    desk.settle(visit)
    stands = next(v for v in desk.session().steps if v.step.check == "charge")
    assert (stands.state, stands.outcome) == ("done", Outcome.NOT_DONE)
    said = [row.said for row in visit.checklist.list.rows() if isinstance(row, Row)]
    assert "charge · looked at, not measured" in said


def test_a_visit_begins_by_key_on_a_device_whose_strip_was_put_away(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.store.add_unit(UNIT)
    desk.plug_in(replace(desk.pad.info, serial=""))
    desk.settle(window)
    window.arrival.dismiss()
    window.bench.open_unit(desk.store.units()[0])
    press(window, K.Key_V)
    assert isinstance(window.panel, VisitPanel)


def test_closing_is_refused_once_where_a_result_would_be_lost(
    visit: MainWindow, desk: Workbench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desk.desk.visit, "wind_up", lambda: "1 result would be lost; make room.")
    assert not visit.close()
    assert visit.foot.message.text().startswith("1 result")
    assert visit.close()


def test_n_is_a_note_where_nothing_is_asked(visit: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    press(visit, K.Key_N)
    write(visit, "grip worn")
    press(visit, K.Key_Return)
    assert desk.history().notes[0].text == "grip worn"
    assert "grip worn" in visit.record.texts()


def test_a_unit_that_goes_away_is_said_and_comes_back(visit: MainWindow, desk: Workbench) -> None:
    desk.unplug()
    desk.settle(visit)
    assert "unplugged" in visit.checklist.card.do.text()
    assert "unplugged" in visit.foot.message.text()
    desk.plug_in()
    desk.settle(visit)
    assert "is back" in visit.foot.message.text()
    assert "Hands off" in visit.checklist.card.do.text()


def test_ending_the_visit_says_what_stays_undone(visit: MainWindow, desk: Workbench, press: Press) -> None:
    press(visit, K.Key_F)
    assert visit.panel is not None
    assert any("stay “not done”" in text for text in visit.panel.labels())
    press(visit, K.Key_Return)
    assert desk.commands == [Finish()]
    assert visit.checklist.card.control.text() == "Visit finished"


def test_the_certificate_is_written_by_a_key_and_said(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.rest_at("left_stick", 0.4)
    press(visit, K.Key_C)  # the first one asks who issues it
    panel = visit.findChild(ShopPanel)
    press(visit, K.Key_Return)
    assert "needs the name of a shop" in " ".join(panel.labels())
    panel.fields["shop"].setText("Mill Lane Repairs")
    press(visit, K.Key_Return)
    QApplication.processEvents()
    asked = visit.panel
    assert isinstance(asked, CertificatePanel)
    assert "The certificate will say incomplete." in asked.labels()
    assert any("checks are not tested" in text for text in asked.labels())
    assert ("write_certificate", UNIT.id) not in desk.calls
    press(visit, K.Key_Escape)
    press(visit, K.Key_C)
    press(visit, K.Key_Return)
    assert desk.calls.count(("write_certificate", UNIT.id)) == 1
    (file,) = (desk.store.folder / "certificates").glob("*.pdf")
    assert str(file) in visit.foot.message.text()
    assert any(file.name in text.replace("\u200b", "") for text in visit.record.texts())
    (first,) = desk.history().certificates
    press(visit, K.Key_C)
    asked = visit.panel
    assert isinstance(asked, CertificatePanel)
    assert any(f"replaces certificate {first.name}" in text for text in asked.labels()), "said before it is done"
    press(visit, K.Key_Escape)
    assert len(desk.history().certificates) == 1


# --- the record ----------------------------------------------------------------------------------------------


def test_the_record_is_drawn_again_after_each_committed_result(visit: MainWindow, desk: Workbench) -> None:
    desk.rest_at("left_stick", 14.8)
    desk.settle(visit)
    texts = visit.record.texts()
    assert "Left stick, at rest" in texts
    assert "14.8\u00a0%" in texts


def test_suspects_and_the_next_treatment_stand_with_reason_and_caution(visit: MainWindow, desk: Workbench) -> None:
    desk.rest_at("left_stick", 14.8)
    desk.settle(visit)
    suspects, proposal = desk.desk.advice.suspects(UNIT.id), desk.desk.advice.proposal(UNIT.id)
    assert proposal is not None
    assert proposal.hazards
    assert suspects[0].name.startswith("Left stick")
    texts = [text.replace("\u00a0", " ") for text in visit.record.texts()]
    assert f"Next: {proposal.title}" in texts
    assert proposal.reason.replace("\u00a0", " ") in texts
    stops = " ".join(hazard.stop for hazard in proposal.hazards)
    assert texts.count(stops) == 1
    assert suspects[0].name in texts


def test_the_usual_treatment_is_logged_and_begun_by_three_keys(
    visit: MainWindow, desk: Workbench, press: Press
) -> None:
    press(visit, K.Key_T)
    press(visit, K.Key_2)
    press(visit, K.Key_Return)
    assert desk.history().treatments == ()
    desk.clock.move(minutes=1)
    press(visit, K.Key_Return)
    assert [t.kind for t in desk.history().treatments] == ["open and clean"]
    assert any("open and clean" in text for text in visit.record.texts())


def test_the_proposed_treatment_brings_part_and_cost(window: MainWindow, desk: Workbench, press: Press) -> None:
    scenes.cleaned_in_vain(desk, desk.store.add_unit(UNIT), "left_stick")
    window.bench.open_unit(UNIT)
    desk.settle(window)
    proposal = desk.desk.advice.proposal(UNIT.id)
    assert proposal is not None
    assert proposal.part
    assert proposal.minutes > 0
    assert proposal.cost_minor > 0
    press(window, K.Key_T)
    press(window, K.Key_Return)
    desk.clock.move(seconds=50)
    press(window, K.Key_Return)
    made = desk.history().treatments[-1]
    assert (made.kind, made.part, made.cost_minor) == (proposal.kind, proposal.part, proposal.cost_minor)
    assert made.minutes == 1


@pytest.mark.parametrize("kind", TREATMENT_KINDS)
def test_every_treatment_shows_its_caution(visit: MainWindow, press: Press, kind: str) -> None:
    press(visit, K.Key_T)
    assert isinstance(visit.panel, TreatmentPanel)
    visit.panel.kind.choose([k.kind for k in visit.panel._kinds].index(kind))
    stops = "\n".join(hazard.stop for hazard in load_guide().hazards_of(kind))
    assert stops == "" or stops in visit.panel.labels()


def test_a_wrong_amount_keeps_the_panel_open_and_says_why(
    visit: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    press(visit, K.Key_T)
    visit.panel.cost.setFocus()  # type: ignore[union-attr]
    write(visit, "cheap")
    press(visit, K.Key_Return)
    assert desk.history().treatments == ()
    assert visit.panel is not None
    assert any("not an amount" in text for text in visit.panel.labels())


def test_claim_condition_rest_and_becomes_are_edited_by_keys(
    visit: MainWindow, desk: Workbench, press: Press, write: Write
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
    unit = desk.history().unit
    assert (unit.claim_state, unit.condition, unit.rest_until, unit.becomes) == (
        "confirmed",
        "scratched",
        "2026-12-01",
        "donor",
    )
    assert any("until 2026-12-01" in text for text in visit.record.texts())


def test_all_checks_or_the_few_that_matter(visit: MainWindow, desk: Workbench, press: Press) -> None:
    for check, control in (("rest", "left_stick"), ("contact", "south"), ("rest", "right_stick")):
        desk.go_to(check, control)
        for _ in range(4):
            desk.mark(Outcome.PASS)
    desk.settle(visit)
    assert any(text.startswith("Everything that was tested passed. A: ") for text in visit.record.texts())
    for _ in range(4):
        desk.go_to("contact", "east")
        desk.mark(Outcome.FAIL)
    desk.settle(visit)
    assert any(text.startswith("A: ") and text.endswith(" more") for text in visit.record.texts())
    assert not any("Left stick, at rest" in text for text in visit.record.texts()), "what passed says nothing"
    press(visit, K.Key_A)
    assert "A: fewer" in visit.record.texts()


def test_a_unit_is_found_by_a_part_of_its_tag(visit: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    desk.store.add_unit(replace(UNIT, id="u9", tag="SM-07-09", serial=""))
    press(visit, K.Key_U)
    write(visit, "09")
    press(visit, K.Key_Return)
    assert "SM-07-09" in visit.record._title.text()


def test_another_visit_starts_with_the_kind_that_lies_nearest(visit: MainWindow, desk: Workbench, press: Press) -> None:
    visit.bench.device = DEVICE
    desk.rest_at("left_stick", 14.8)
    press(visit, K.Key_F)
    press(visit, K.Key_Return)
    desk.store.add_treatment(Treatment("", UNIT.id, "adjust", ""))
    desk.settle(visit)
    press(visit, K.Key_V)
    press(visit, K.Key_Return)
    assert desk.calls[-1] == ("start", UNIT.id, DEVICE, "after treatment")


def test_a_sheet_that_was_drawn_up_can_be_saved(visit: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    press(visit, K.Key_S, CONTROL)
    write(visit, " v2")
    press(visit, K.Key_Return)
    name, sheet = desk.calls[-1]
    assert name == "save_sheet"
    assert sheet.name == "Plover T2 v2"  # type: ignore[attr-defined]


# --- the other views -----------------------------------------------------------------------------------------


def test_a_lot_and_its_units_are_written_up_by_keys(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    press(window, K.Key_F2)
    press(window, K.Key_L)
    write(window, "SM-08")
    for _ in range(5):
        press(window, K.Key_Tab)
    write(window, "96")
    press(window, K.Key_Return)
    (lot,) = desk.store.lots()
    assert (lot.name, lot.cost_minor) == ("SM-08", 9600)
    press(window, K.Key_I)
    for _ in range(2):  # the model, what the seller says, the tag
        press(window, K.Key_Tab)
    press(window, K.Key_A, CONTROL)
    write(window, "SM-08-01")
    press(window, K.Key_Return)
    assert [(u.tag, u.lot_id) for u in desk.store.units()] == [("SM-08-01", lot.id)]
    assert window.lots.units.texts()[0][0] == "SM-08-01"
    assert window.lots.lots.texts()[0][1] == "1"


def test_a_tag_is_given_once(window: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    desk.store.add_unit(UNIT)
    desk.store.add_lot(Lot("l", "SM-07", "2026-11-18"))
    press(window, K.Key_F2)
    press(window, K.Key_I)
    assert window.panel is not None
    press(window, K.Key_Tab)  # the model is carried on; what the seller says, the tag
    press(window, K.Key_A, CONTROL)
    write(window, "SM-07-04")
    press(window, K.Key_Return)
    assert len(desk.store.units()) == 1
    assert any("is taken" in text for text in window.panel.labels())


def test_enter_opens_a_unit_of_a_lot_on_the_bench(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.store.add_lot(Lot("l", "SM-07", "2026-11-18"))
    desk.store.add_unit(replace(UNIT, lot_id="l"))
    press(window, K.Key_F2)
    press(window, K.Key_Return)
    press(window, K.Key_Return)
    assert window.pages.currentIndex() == 0
    assert window.header.tag.text() == "SM-07-04"


def test_units_are_searched_from_the_lots_view(window: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    desk.store.add_unit(UNIT)
    desk.store.add_unit(replace(UNIT, id="u9", tag="SM-07-09", serial="another"))
    press(window, K.Key_F2)
    press(window, K.Key_Slash)
    write(window, "09")
    assert [t[0] for t in window.lots.units.texts()] == ["SM-07-09"]


def test_a_part_is_put_on_the_shelf(window: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    press(window, K.Key_F3)
    press(window, K.Key_I)
    write(window, "Stick sensor")
    press(window, K.Key_Return)
    assert window.shelf.parts.texts() == [("Stick sensor", "", "1", "€\u00a00.00", "")]


def test_what_is_ready_for_its_second_test_stands_first(window: MainWindow, desk: Workbench, press: Press) -> None:
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


def test_keys_bear_what_the_language_writes_on_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shortcuts, "CAPS", {"Ctrl": "Strg", "PgUp": "Bild auf"})
    assert [cap_of(key) for key in ("Ctrl+B", "Ctrl++", "Ctrl+-", "PgUp", "F12", "?")] == [
        "Strg+B",
        "Strg++",
        "Strg+-",
        "Bild auf",
        "F12",
        "?",
    ]


def test_every_key_that_writes_nothing_has_a_name() -> None:
    parts = {part for line in KEYS for part in re.split(r"\+(?=.)", line.key)}
    assert {p for p in parts if len(p) > 1 and not re.fullmatch(r"F\d+", p)} <= set(shortcuts.CAPS)


def test_no_key_means_two_things_in_one_view() -> None:
    for view in ("bench", "lots", "shelf", "due"):
        keys = [k.key for k in KEYS if k.where in (view, "everywhere")]
        assert len(keys) == len(set(keys))
        assert all(find_key(key, view) is not None for key in keys)


def test_all_keys_are_shown_and_escape_goes_back(visit: MainWindow, press: Press) -> None:
    press(visit, K.Key_F12)
    assert visit.panel is not None
    shown = visit.panel.labels()
    assert all(cap_of(line.key) in shown for line in KEYS)
    press(visit, K.Key_Escape)
    assert visit.panel is None


@pytest.mark.parametrize(
    "key", [K.Key_M, K.Key_S, K.Key_F, K.Key_T, K.Key_N, K.Key_E, K.Key_B, K.Key_U, K.Key_D, K.Key_F12]
)
def test_escape_leaves_every_panel_and_nothing_is_done(
    visit: MainWindow, desk: Workbench, press: Press, key: Qt.Key
) -> None:
    calls = list(desk.calls)
    press(visit, key)
    assert visit.panel is not None
    press(visit, K.Key_Escape)
    assert visit.panel is None
    assert (desk.commands, desk.calls) == ([], calls)
    press(visit, K.Key_Space)
    assert desk.commands == [Go()]


def test_keys_behind_a_panel_do_nothing(visit: MainWindow, desk: Workbench, press: Press) -> None:
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


def test_a_fault_is_said_until_it_is_put_away(visit: MainWindow, desk: Workbench, press: Press) -> None:
    visit.events.take([Said("Saved."), Fault("The disk is full; make room, then press Space.")])
    assert "disk is full" in visit.foot.message.text()
    assert visit.foot.mark.isVisible()
    press(visit, K.Key_Escape)
    assert visit.foot.message.text() == ""


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_theme_is_switched_by_a_key_and_remembered(
    visit: MainWindow, desk: Workbench, press: Press, theme: str
) -> None:
    visit.set_theme("auto" if theme == "light" else "light")
    press(visit, K.Key_F9)
    assert visit.look.dark is (theme == "dark")
    assert desk.store.get_setting("theme") == theme


def test_larger_type_is_remembered_and_folds_the_panes(visit: MainWindow, desk: Workbench, press: Press) -> None:
    for _ in range(5):
        press(visit, K.Key_Plus, CONTROL)
    assert desk.store.get_setting("scale") == "2.0"
    assert [p.isVisible() for p in (visit.live, visit.checklist, visit.record)].count(True) == 1
    press(visit, K.Key_F6)
    press(visit, K.Key_F6)
    assert visit.record.isVisible()


def test_pane_sizes_are_remembered(qtbot: QtBot, visit: MainWindow, desk: Workbench) -> None:
    visit.panes.setSizes([500, 400, 340])
    visit.panes.remember()
    desk.desk.settle()
    sizes = [int(s) for s in desk.store.get_setting("panes").split(",")]
    again = MainWindow(desk.desk, "dark", Sound({}))
    again.stop_clock()
    qtbot.addWidget(again)
    again.resize(1280, 720)
    again.show()
    again.tick()
    assert again.panes.sizes() == pytest.approx(sizes, abs=3)


@pytest.mark.parametrize("size", [(1280, 720), (960, 540), (640, 400)], ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("scale", ["1.0", "2.0"])
def test_no_word_is_cut_off_in_a_button_or_a_line(
    qtbot: QtBot, desk: Workbench, size: tuple[int, int], scale: str
) -> None:
    from PySide6.QtWidgets import QPushButton

    scenes.left_shoulder(desk)
    desk.store.set_setting("scale", scale)
    window = MainWindow(desk.desk, "light", Sound({}))
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


def test_the_window_closes_its_desk(visit: MainWindow, desk: Workbench) -> None:
    visit.close()
    with pytest.raises(RecordError):
        desk.store.units()


def test_a_check_that_is_done_says_what_it_cannot_see(visit: MainWindow, desk: Workbench) -> None:
    desk.go_to("rest", "left_stick")
    desk.settle(visit)
    assert "Flick" in visit.checklist.card.hint.text() or "flick" in visit.checklist.card.hint.text()
    desk.rest_at("left_stick", 0.4)
    desk.go_to("rest", "left_stick")
    desk.settle(visit)
    said = visit.checklist.card.hint.text()
    assert said.startswith(
        "Cannot be seen: an offset behind a dead zone of the firmware; noise faster than the reports"
    )
