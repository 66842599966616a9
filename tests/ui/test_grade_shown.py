"""Grade, where limits come from and what readings say, in the window."""

from __future__ import annotations

import scenes
from workbench import Workbench

from station.app import paths
from station.ui.window import MainWindow


def test_the_record_names_the_grade_and_what_keeps_the_unit_from_a_better_one(window: MainWindow, desk: Workbench):
    scenes.graded(desk)
    desk.settle(window)
    said = [text.replace("\N{NO-BREAK SPACE}", " ") for text in window.record.texts()]
    assert "Grade: for parts" in said
    better = "Not “shop-tested”: left stick, let go: off its usual place, let go 5.80 ± 0.40 %, should be at most 6 %"
    assert f"{better} (borderline)" in said
    assert said.index("Grade: for parts") < said.index("Log · Z: withdraw an entry")


def test_the_record_says_what_readings_say(window: MainWindow, desk: Workbench):
    scenes.graded(desk)
    desk.settle(window)
    said = [text.replace("\N{NO-BREAK SPACE}", " ") for text in window.record.texts()]
    assert "Left stick, let go: least dead zone 6.2 %: still within it; most games hide that much by default " \
        "(common practice, no source)" in said  # fmt: skip


def test_the_card_says_them_beneath_the_readings(window: MainWindow, desk: Workbench):
    scenes.graded(desk)
    desk.settle(window)
    desk.go_to("letgo", "left_stick")
    desk.settle(window)
    card = window.checklist.card
    lines = card.remarks.text().replace("\N{NO-BREAK SPACE}", " ").split("\n")
    assert [line.partition(" %")[0] for line in lines] == ["Least dead zone 6.2", "Hidden by firmware 2.4"]
    assert card.remarks.isVisibleTo(card)
    assert card.remarks.wordWrap()
    desk.go_to("travel", "left_stick")
    desk.settle(window)
    assert not card.remarks.isVisibleTo(card)


def test_a_limit_of_the_shop_is_marked_on_the_card_and_under_the_dial(window: MainWindow, desk: Workbench):
    scenes.graded(desk)
    desk.settle(window)
    desk.go_to("rest", "left_stick")
    desk.settle(window)
    readings = window.checklist.card.readings
    assert [readings.origin("rest", r) for r in readings.readings] == ["shop"]
    assert window.live.dials["left_stick"].accessibleDescription().endswith("≤\u00a04 · shop")


def test_limits_that_cannot_be_used_are_said_with_the_device_and_nothing_is_graded(window: MainWindow, desk: Workbench):
    scenes.graded(desk)
    (paths.records_folder() / "limits.toml").write_text("[rest]\noffset = 4", "utf-8")
    desk.store.add_note(scenes.Note("", "unit-10", "", "looked at"))
    desk.desk.advice.forget("unit-10")
    desk.settle(window)
    assert "offset: two numbers are expected" in window.foot.message.text()
    assert "the limits that ship are in force" in window.foot.message.text()
    assert "Not graded: the shop's limits cannot be used" in window.record.texts()
