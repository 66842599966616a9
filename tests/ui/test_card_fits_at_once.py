"""The card has the room that its words need before anything is painted, however late the event loop comes to it."""

from __future__ import annotations

import pytest
import scenes
from PySide6.QtWidgets import QLabel
from workbench import Workbench

from station.ui.window import MainWindow


def cut(window: MainWindow) -> list[str]:
    """The labels of the card that have less height than their words need, as they would be painted now."""
    card = window.checklist.card
    shown = [label for label in card.findChildren(QLabel) if label.isVisible() and label.text()]
    return [label.text() for label in shown if label.height() < label.heightForWidth(label.width())]


@pytest.fixture
def at_work(window: MainWindow, desk: Workbench) -> MainWindow:
    scenes.third_visit(desk)
    desk.settle(window)
    return window


@pytest.mark.parametrize("check", ["rest", "letgo", "sweep"])
def test_another_step_stands_whole_in_the_frame_that_brings_it(
    check: str, at_work: MainWindow, desk: Workbench
) -> None:
    desk.go_to("charge")
    desk.settle(at_work)
    before = at_work.checklist.card.height()
    desk.go_to(check, "left_stick")
    at_work.checklist.set_session(desk.session())  # and no turn of the event loop
    assert at_work.checklist.card.title.text() != "Charge"
    assert cut(at_work) == []
    assert at_work.checklist.card.height() >= at_work.checklist.card.heightForWidth(at_work.checklist.card.width())
    assert at_work.checklist.card.height() != before


def test_a_message_that_takes_more_lines_stands_whole_at_once(at_work: MainWindow, desk: Workbench) -> None:
    desk.unplug()
    desk.advance(50)
    at_work.checklist.set_session(desk.session())
    assert cut(at_work) == []
