"""A scanner beside the bench: a tag is a tag in every view, in every panel and in the middle of a visit."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

import pytest
from conftest import UNIT
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from scanner import Keyboard
from workbench import Workbench

from station.bench.types import Go
from station.checks.types import Outcome
from station.records.types import Lot
from station.ui.panels.incoming import QuickPanel
from station.ui.panels.keys import KeysPanel
from station.ui.panels.record import NotePanel
from station.ui.panels.shop import ShopPanel
from station.ui.panels.stock import NewUnitPanel
from station.ui.panels.treatment import TreatmentPanel
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
Write = Callable[..., None]
OTHER = replace(UNIT, id="u9", tag="SRF-MN-09", serial="")
"""its letters are commands: skip, again, finish, mark, note"""


@pytest.fixture
def scanner(window: MainWindow) -> Keyboard:
    return Keyboard(window)


def nothing_done(desk: Workbench) -> bool:
    return desk.commands == [] and [c for c in desk.calls if c[0] != "add"] == []


@pytest.mark.parametrize("view", [K.Key_F1, K.Key_F2, K.Key_F3, K.Key_F4])
@pytest.mark.parametrize(("before", "after"), [("", "\r"), ("\t", "\t"), ("\r", "\r\r"), ("", "\r\n")])
def test_a_scan_opens_the_unit_from_every_view(
    window: MainWindow, desk: Workbench, press: Press, scanner: Keyboard, view: K, before: str, after: str
) -> None:
    desk.store.add_unit(OTHER)
    press(window, view)
    scanner.scan(OTHER.tag, before=before, after=after)
    desk.settle(window)
    assert window.shown.unit is not None
    assert window.shown.unit.tag == OTHER.tag
    assert window.view_name() == "bench"
    assert window.panel is None
    assert nothing_done(desk)


@pytest.mark.parametrize("gap_ms", [1.0, 12.0, 30.0])
def test_a_scan_in_small_letters_and_at_any_speed_finds_the_unit(
    window: MainWindow, desk: Workbench, scanner: Keyboard, gap_ms: float
) -> None:
    desk.store.add_unit(OTHER)
    scanner.scan(OTHER.tag.lower(), gap_ms)
    assert window.header.tag.text() == OTHER.tag


@pytest.mark.parametrize("running", [False, True])
def test_a_scan_in_a_visit_shows_the_unit_and_leaves_the_visit_as_it_is(
    visit: MainWindow, desk: Workbench, press: Press, scanner: Keyboard, running: bool
) -> None:
    desk.store.add_unit(OTHER)
    if running:
        press(visit, K.Key_Space)
    before = (desk.session().current, desk.session().running)
    desk.commands.clear()
    scanner.scan(OTHER.tag)
    desk.settle(visit)
    assert nothing_done(desk)
    assert (desk.session().current, desk.session().running) == before
    assert desk.session().running is running
    assert visit.shown.unit is not None
    assert visit.shown.unit.tag == OTHER.tag
    assert OTHER.tag in visit.foot.message.text()
    scanner.scan(UNIT.tag)
    assert visit.shown.unit.tag == UNIT.tag
    assert nothing_done(desk)


def test_an_unknown_tag_during_a_check_is_refused_with_one_sentence(
    visit: MainWindow, desk: Workbench, press: Press, scanner: Keyboard
) -> None:
    press(visit, K.Key_Space)
    desk.commands.clear()
    scanner.scan("NEW-01")
    assert visit.panel is None
    assert "NEW-01" in visit.foot.message.text()
    assert "End the check" in visit.foot.message.text()
    assert desk.session().running
    assert nothing_done(desk)


def test_a_check_that_was_about_to_begin_waits_for_the_unit_that_was_scanned(
    visit: MainWindow, desk: Workbench, scanner: Keyboard
) -> None:
    desk.store.add_unit(OTHER)
    desk.mark(Outcome.PASS)
    visit.tick()
    assert desk.session().begins
    desk.commands.clear()
    scanner.scan(OTHER.tag)
    desk.advance(3000)
    assert desk.commands == [Go()], "the key that makes it wait"
    assert not desk.session().running


def test_a_scan_does_not_get_into_a_note_and_the_note_stays(
    window: MainWindow, desk: Workbench, press: Press, write: Write, scanner: Keyboard
) -> None:
    desk.store.add_unit(UNIT)
    desk.store.add_unit(OTHER)
    scanner.scan(UNIT.tag)
    press(window, K.Key_N)
    panel = window.panel
    assert isinstance(panel, NotePanel)
    write(window, "smells of")
    scanner.scan(OTHER.tag)
    assert window.panel is panel
    assert panel.text.toPlainText() == "smells of"
    assert any("scan it again" in text for text in panel.labels())
    press(window, K.Key_Return)
    assert [n.text for n in desk.store.history(UNIT.id).notes] == ["smells of"]
    assert desk.store.history(OTHER.id).notes == ()


@pytest.mark.parametrize("key", [K.Key_N, K.Key_T, K.Key_F12, K.Key_U, K.Key_E, K.Key_D])
def test_a_panel_in_which_nothing_was_typed_gives_way(
    window: MainWindow, desk: Workbench, press: Press, scanner: Keyboard, key: K
) -> None:
    desk.store.add_unit(UNIT)
    desk.store.add_unit(OTHER)
    scanner.scan(UNIT.tag)
    press(window, key)
    assert window.panel is not None
    scanner.scan(OTHER.tag)
    assert window.panel is None
    assert window.header.tag.text() == OTHER.tag
    assert nothing_done(desk)


def test_a_tag_that_nobody_has_is_offered_to_be_taken_in_into_the_lot_of_its_series(
    window: MainWindow, desk: Workbench, press: Press, write: Write, scanner: Keyboard
) -> None:
    lot = desk.store.add_lot(Lot("", "Spring", "2026-11-01", "", 0, "EUR", ""))
    desk.store.add_lot(Lot("", "Autumn", "2026-11-02", "", 0, "EUR", ""))
    desk.store.add_unit(replace(UNIT, lot_id=lot.id))
    scanner.scan("SM-07-05")
    panel = window.panel
    assert isinstance(panel, NewUnitPanel)
    assert panel.tag.text() == "SM-07-05"
    assert panel.claim.hasFocus()
    assert [u.tag for u in desk.store.units()] == [UNIT.tag], "nothing is written before Enter"
    write(window, "drifts")
    press(window, K.Key_Return)
    made = desk.store.units("SM-07-05")[0]
    assert (made.claim, made.lot_id) == ("drifts", lot.id)
    assert window.header.tag.text() == "SM-07-05", "and it is open"


def test_a_scan_is_what_the_field_for_a_tag_wants(
    window: MainWindow, desk: Workbench, press: Press, scanner: Keyboard
) -> None:
    desk.store.add_lot(Lot("", "Spring", "2026-11-01", "", 0, "EUR", ""))
    press(window, K.Key_F2)
    press(window, K.Key_I)
    panel = window.panel
    assert isinstance(panel, QuickPanel)
    panel.claim.setFocus()
    scanner.scan("SPR-31")
    assert window.panel is panel
    assert (panel.tag.text(), panel.claim.text()) == ("SPR-31", "")
    assert panel.claim.hasFocus(), "the claim is what is typed next"
    assert desk.store.units() == ()


@pytest.mark.parametrize("known", [True, False])
def test_a_scan_says_whose_unit_the_device_is_that_was_plugged_in(
    window: MainWindow, desk: Workbench, press: Press, scanner: Keyboard, known: bool
) -> None:
    if known:
        desk.store.add_unit(OTHER)
    desk.plug_in()
    desk.settle(window)
    scanner.scan(OTHER.tag)
    assert window.arrival.device is not None, "the scan begins nothing"
    assert nothing_done(desk)
    press(window, K.Key_Return)
    assert desk.session().unit.tag == OTHER.tag


def test_a_scan_without_an_enter_opens_a_known_unit_and_takes_in_nobody(
    window: MainWindow, qtbot: QtBot, desk: Workbench, scanner: Keyboard
) -> None:
    desk.store.add_unit(OTHER)
    scanner.scan(OTHER.tag, after="")
    qtbot.waitUntil(lambda: window.header.tag.text() == OTHER.tag, timeout=20_000)
    scanner.scan("NOBODYS", after="")
    qtbot.waitUntil(lambda: "NOBODYS" in window.foot.message.text(), timeout=20_000)
    assert window.panel is None


@pytest.mark.parametrize("running", [False, True])
@pytest.mark.parametrize("separator", ["\x1c", "\x1d", "\x1e", "\x1f"])
@pytest.mark.parametrize("tag", ["SM{}07", "21SM07{}10XF{}R"])
def test_control_signs_in_a_tag_begin_nothing_and_end_nothing(
    visit: MainWindow, desk: Workbench, press: Press, scanner: Keyboard, tag: str, separator: str, running: bool
) -> None:
    desk.store.add_unit(replace(OTHER, tag=tag.format("", "")))
    if running:
        press(visit, K.Key_Space)
    desk.commands.clear()
    scanner.scan(tag.format(separator, separator))
    desk.settle(visit)
    assert visit.panel is None
    assert visit.shown.unit is not None
    assert visit.shown.unit.tag == tag.format("", "")
    assert desk.session().running is running
    assert nothing_done(desk)


def test_a_letter_with_control_is_no_sign_of_a_tag(window: MainWindow, desk: Workbench, scanner: Keyboard) -> None:
    desk.store.add_unit(OTHER)
    scanner.at_ms += 1000
    scanner.with_control("B", 8.0)
    scanner.type(OTHER.tag, 8.0)
    scanner.with_control("C", 8.0)
    scanner.type("\r", 8.0)
    assert window.header.tag.text() == OTHER.tag
    assert nothing_done(desk)


@pytest.mark.parametrize(("at", "gap_ms"), [(3, 55), (6, 60), (9, 60), (9, 200)])
def test_a_scan_that_stumbles_once_is_still_one_tag(
    visit: MainWindow, qtbot: QtBot, desk: Workbench, scanner: Keyboard, at: int, gap_ms: int
) -> None:
    """Between two signs, or before the Enter, which would begin a check."""
    desk.store.add_unit(OTHER)
    desk.commands.clear()
    scanner.at_ms += 1000
    signs = OTHER.tag + "\r"
    scanner.type(signs[:at], 8.0)
    qtbot.wait(gap_ms)
    scanner.type(signs[at], gap_ms)
    scanner.type(signs[at + 1 :], 8.0)
    desk.settle(visit)
    assert visit.panel is None
    assert visit.shown.unit is not None
    assert visit.shown.unit.tag == OTHER.tag
    assert not desk.session().running
    assert nothing_done(desk)


def test_a_late_enter_of_a_scan_of_the_unit_on_the_bench_begins_no_check(
    visit: MainWindow, qtbot: QtBot, desk: Workbench, scanner: Keyboard
) -> None:
    desk.commands.clear()
    scanner.scan(UNIT.tag, after="")
    qtbot.wait(200)
    scanner.stroke("\r", 200)
    desk.settle(visit)
    assert UNIT.tag in visit.foot.message.text()
    assert not desk.session().running
    assert nothing_done(desk)


@pytest.mark.parametrize("field", ["shop", "person"])
@pytest.mark.parametrize("ended", ["\r", ""])
def test_a_scan_leaves_what_is_typed_about_the_shop_as_it_was(
    window: MainWindow, qtbot: QtBot, desk: Workbench, write: Write, scanner: Keyboard, field: str, ended: str
) -> None:
    desk.store.add_unit(OTHER)
    window.open_panel(lambda look, over: ShopPanel(desk.desk.options, lambda: None, look, over))
    panel = window.panel
    assert isinstance(panel, ShopPanel)
    line = panel.fields[field]
    line.setFocus()
    line.clear()
    write(window, "Bench by the river")
    assert panel.unsaved()
    scanner.scan(OTHER.tag, after=ended)
    qtbot.waitUntil(lambda: any("scan it again" in text for text in panel.labels()), timeout=20_000)
    assert window.panel is panel
    assert line.text() == "Bench by the river"
    assert line.hasFocus()


# --- hands -------------------------------------------------------------------------------------------------


def test_a_letter_is_a_command_after_a_moment_that_nobody_feels(
    window: MainWindow, qtbot: QtBot, desk: Workbench
) -> None:
    keys = Keyboard(window)
    keys.stroke("?", 500)
    assert window.panel is None, "a scanner may have begun"
    began = time.monotonic()
    qtbot.waitUntil(lambda: isinstance(window.panel, KeysPanel), timeout=20_000)
    assert window._gate._wait.interval() <= 60
    assert time.monotonic() - began >= 0.04


def test_space_does_not_wait(visit: MainWindow, desk: Workbench) -> None:
    Keyboard(visit).stroke(" ", 500)
    assert desk.commands == [Go()]


def test_a_letter_and_a_digit_typed_by_a_hand_reach_the_panel_in_order(
    visit: MainWindow, qtbot: QtBot, desk: Workbench
) -> None:
    keys = Keyboard(visit)
    keys.stroke("t", 500)
    keys.stroke("3", 70)  # the letter before it is played first, whatever the timer did
    qtbot.waitUntil(lambda: isinstance(visit.panel, TreatmentPanel) and visit.panel.kind.chosen == 2, timeout=20_000)


def test_what_a_hand_types_into_a_field_stands_there(window: MainWindow, qtbot: QtBot, desk: Workbench) -> None:
    desk.store.add_unit(UNIT)
    keys = Keyboard(window)
    keys.scan(UNIT.tag)
    keys.stroke("n", 500)
    qtbot.waitUntil(lambda: isinstance(window.panel, NotePanel), timeout=20_000)
    panel = window.panel
    assert isinstance(panel, NotePanel)
    keys.at_ms += 300
    keys.type("Left one sticks", 55)
    qtbot.waitUntil(lambda: panel.text.toPlainText() == "Left one sticks", timeout=20_000)


def test_a_line_feed_ends_a_tag_too(window: MainWindow, desk: Workbench) -> None:
    """As X11 tells of a key for it: no key that Qt knows by name, but a sign."""
    desk.store.add_unit(OTHER)
    keys = Keyboard(window)
    keys.scan(OTHER.tag, after="")
    keys.line_feed(8.0)
    assert window.header.tag.text() == OTHER.tag
    assert nothing_done(desk)
