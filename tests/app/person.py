"""A person at the keyboard of the real window, and time that the test moves."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from station.app.desk import StationDesk
from station.ui.window import MainWindow


class Person:
    """Presses keys and lets time pass."""

    def __init__(self, qtbot: QtBot, window: MainWindow, desk: StationDesk) -> None:
        self.qtbot, self.window, self.desk = qtbot, window, desk
        window.shown.late_key_s = 0.0  # time is the test's: its keys come in no time

    def press(self, *keys: Qt.Key) -> None:
        for key in keys:
            self.qtbot.keyClick(self.window.focusWidget() or self.window, key)
            self.settle()

    def type(self, text: str) -> None:
        self.qtbot.keyClicks(self.window.focusWidget(), text)
        self.settle()

    def settle(self) -> None:
        self.desk.settle()
        self.desk.advance(0.02)
        self.window.tick()

    def until(self, done: Callable[[], bool], longest_s: float = 120.0) -> None:
        for step in range(int(longest_s / 0.02)):
            self.desk.advance(0.02)
            if step % 10 == 0 or self.desk.visit.session() is None:
                self.window.tick()
            else:
                self.desk.live.follow()
            if done():
                self.settle()
                return
        view = self.desk.visit.session()
        raise AssertionError(f"not done after {longest_s} s: {view and (view.current, view.message, view.again)}")

    def whole_check_instead(self) -> None:
        """End the first look that has begun, for the whole check."""
        self.press(Qt.Key.Key_F, Qt.Key.Key_Return, Qt.Key.Key_V, Qt.Key.Key_Return)
        for _ in range(10):
            self.settle()

    def work_through(self, until: Callable[[], bool] = lambda: False) -> None:
        """Space for every check, Y for every question, until the visit is finished (or `until` says so)."""
        for _ in range(400):
            view = self.desk.visit.session()
            assert view is not None
            if view.finished or until():
                return
            current = view.steps[view.current]
            if current.step.person_answers and current.state != "done":
                if current.step.meter:
                    self.type("5.02")
                self.press(Qt.Key.Key_Y)
            elif not (view.running or view.begins):
                self.press(Qt.Key.Key_Space)
            self.until(lambda before=view.current: self._left(before))
        raise AssertionError("the visit never ended")

    def _left(self, step: int) -> bool:
        """The step is over: another one is current, or it waits to be done again."""
        view = self.desk.visit.session()
        assert view is not None
        over = view.steps[step].state == "done" or bool(view.again or view.message)
        return view.finished or view.current != step or (not view.running and over)
