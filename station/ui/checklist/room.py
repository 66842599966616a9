"""The keys of a visit: start, end, go on, answer, mark, skip."""

from __future__ import annotations

from collections.abc import Callable

from station.bench.types import Again, Answer, ByItself, Choose, Command, Go, LongForm, StepView, TakeBack
from station.errors import InputError
from station.ui.arrival import ArrivalStrip
from station.ui.checklist.pane import ChecklistPane
from station.ui.frame import Frame, Shown
from station.ui.panels.bench import FinishPanel, MarkPanel, SkipPanel, StrengthPanel
from station.ui.ports import VisitPort
from station.words import window as words


class VisitRoom:
    """Forwards to the visit on the bench. `write_note`: what N does where nothing is asked."""

    def __init__(
        self,
        visit: VisitPort,
        frame: Frame,
        shown: Shown,
        pane: ChecklistPane,
        arrival: ArrivalStrip,
        write_note: Callable[[], None],
    ) -> None:
        self._visit, self._frame, self._shown = visit, frame, shown
        self._pane, self._arrival, self._write_note = pane, arrival, write_note
        pane.chosen.connect(self.choose)

    def _do(self, command: Command) -> None:
        if self._shown.session is not None:
            self._visit.do(command)

    def go(self) -> None:
        device = self._arrival.device
        if device is not None and self._shown.visit_unit() is None:
            if self._arrival.unit is not None:
                self._arrival.accept()
            else:
                self._arrival.attend()
        elif self._shown.asked() is not None:
            self._frame.say(words.ANSWER_FIRST)
        elif self._shown.checking or not self._shown.just_ended():
            self._do(Go())

    def by_itself(self) -> None:
        session = self._shown.session
        if session is not None and not session.finished:
            self._do(ByItself(not session.by_itself))
            self._frame.say(words.WAITS_FOR_THE_KEY if session.by_itself else words.BEGINS_BY_ITSELF)

    def take_back(self) -> None:
        self._do(TakeBack())

    def again(self) -> None:
        self._do(Again())

    def choose(self, index: int) -> None:
        session = self._shown.session
        if session is not None and 0 <= index < len(session.steps) and not session.finished:
            self._do(Choose(index))

    def previous(self) -> None:
        if self._shown.session is not None:
            self.choose(self._shown.session.current - 1)

    def following(self) -> None:
        if self._shown.session is not None:
            self.choose(self._shown.session.current + 1)

    def answer_yes(self) -> None:
        self._answer(good=True)

    def no_or_note(self) -> None:
        if self._shown.asked() is None:
            self._write_note()
        else:
            self._answer(good=False)

    def _answer(self, good: bool) -> None:
        if self._shown.asked() is None:
            self._frame.say(words.NOTHING_ASKED)
            return
        if self._shown.just_ended():
            return  # the second stroke of a key that answered the question before
        try:
            figures = self._pane.card.figures()
        except InputError as error:
            self._frame.say(str(error), bad=True)
            return
        self._do(Answer("pass" if good else "fail", figures))
        self._frame.take_focus()

    def mark(self) -> None:
        view = self._step()
        if view is not None:
            self.hold_on()
            self._frame.open_panel(lambda look, over: MarkPanel(self._visit, view, look, over))

    def skip(self) -> None:
        view = self._step()
        if view is not None:
            self.hold_on()
            self._frame.open_panel(lambda look, over: SkipPanel(self._visit, view, look, over))

    def hold_on(self) -> None:
        """Nothing begins by itself behind a panel, or while another unit is looked at."""
        if self._shown.session is not None and self._shown.session.begins:
            self._do(Go())

    def _step(self) -> StepView | None:
        at = self._shown.current()
        return self._shown.session.steps[at] if self._shown.session is not None and at is not None else None

    def strength(self) -> None:
        session = self._shown.session
        if session is not None and self._step() is not None:
            self._frame.open_panel(lambda look, over: StrengthPanel(self._visit, session, look, over))

    def long_form(self) -> None:
        self._do(LongForm())

    def finish(self) -> None:
        session = self._shown.session
        if session is not None and not session.finished:
            self._frame.open_panel(lambda look, over: FinishPanel(self._visit, session, look, over))
