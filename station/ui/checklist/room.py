"""The keys of a visit: start, end, go on, answer, mark, skip."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

from station.bench.types import Again, Answer, ByItself, Choose, Command, Go, LongForm, NotSeen, StepView, TakeBack
from station.checks.ask import LOOK
from station.errors import InputError
from station.ui.arrival import ArrivalStrip
from station.ui.checklist.pane import ChecklistPane
from station.ui.frame import Frame, Shown
from station.ui.one_key import space_means, space_words
from station.ui.painting.hazards import Cautions
from station.ui.panels.bench import FinishPanel, MarkPanel, SkipPanel, StrengthPanel
from station.ui.panels.look import LookPanel
from station.ui.ports import VisitPort
from station.words import checks, space
from station.words import window as words

ANSWER_S = 5.0
"""for so long after it was asked the same key is the answer"""


class VisitRoom:
    """Forwards to the visit on the bench. `look_over`: the answer to the look at a unit before it is plugged in, False
    where that is not asked."""

    def __init__(
        self,
        visit: VisitPort,
        frame: Frame,
        shown: Shown,
        pane: ChecklistPane,
        arrival: ArrivalStrip,
        look_over: Callable[[bool], bool],
        cautions: Cautions,
    ) -> None:
        self._look_over, self._cautions = look_over, cautions
        self._visit, self._frame, self._shown = visit, frame, shown
        self._pane, self._arrival = pane, arrival
        self._leaves = ("", -math.inf)
        """what was asked to leave the running check, and when, on the monotonic clock"""
        pane.chosen.connect(self.choose)

    def _do(self, command: Command) -> None:
        if self._shown.session is not None:
            self._visit.do(command)

    def go(self) -> None:
        """What `space_means` says."""
        match space_means(self._shown, self._arrival):
            case "visit":
                self._arrival.accept()
            case "whose":
                self._arrival.attend()
            case "answer":
                self._frame.say(words.ANSWER_FIRST)
            case "end":
                self._do(Go())
            case "nothing":
                return
            case _:
                if not self._shown.just_ended():
                    self._do(Go())

    def by_itself(self) -> None:
        session = self._shown.session
        if session is not None and not session.finished:
            self._do(ByItself(not session.by_itself))
            self._frame.say(words.WAITS_FOR_THE_KEY if session.by_itself else words.BEGINS_BY_ITSELF)

    def take_back(self) -> None:
        self._do(TakeBack())

    def again(self) -> None:
        if self._may_leave("again"):
            self._do(Again())

    def choose(self, index: int) -> None:
        session = self._shown.session
        if session is None or session.finished or not 0 <= index < len(session.steps):
            return
        if index in (session.current, *session.together) or self._may_leave("choose"):
            self._do(Choose(index))

    def _may_leave(self, key: str) -> bool:
        """Whether a key may interrupt what runs: nothing was done of it yet, or the person was asked and struck the
        same key again. A key that is held down, or struck twice in haste, does not answer."""
        if not _something_done(self._shown):
            return True
        asked, since = self._leaves
        now = time.monotonic()
        if asked == key and self._shown.late_key_s <= now - since < ANSWER_S:
            self._leaves = ("", -math.inf)
            return True
        self._leaves = (key, now)
        self._frame.say(space.LEAVES_CHECK)
        return False

    def previous(self) -> None:
        if self._shown.session is not None:
            self.choose(self._shown.session.current - 1)

    def following(self) -> None:
        if self._shown.session is not None:
            self.choose(self._shown.session.current + 1)

    def answer_yes(self) -> None:
        self._answer(good=True)

    def answer_no(self) -> None:
        self._answer(good=False)

    def _answer(self, good: bool) -> None:
        if self._shown.asked() is None:
            if not good and self._shown.looks():
                self._do(NotSeen())
            elif not self._look_over(good):
                session = self._shown.session
                runs = session is not None and session.running  # then Space would end it
                self._frame.say(words.NOTHING_ASKED_RUNNING if runs else self._nothing_asked())
            return
        if self._shown.just_ended():
            return  # the second stroke of a key that answered the question before
        if not good and self._shown.comes_late():
            self._frame.say(words.LOOK_HAS_ENDED)
            return
        try:
            figures = self._pane.card.figures()
        except InputError as error:
            self._frame.say(str(error), bad=True)
            return
        view = self._step()
        if not good and view is not None and view.step.check == LOOK.name:
            self._ask_what(view)
            return
        self._do(Answer("pass" if good else "fail", figures, of=view.step.check if view is not None else ""))
        self._frame.take_focus()

    def _ask_what(self, view: StepView) -> None:
        """A look that is not good: what was seen?"""
        unit = self._shown.visit_unit()
        tag = unit.tag if unit is not None else ""

        def seen(sign: str) -> None:
            self._do(Answer("fail", {}, sign, view.step.check))
            if sign:
                self._frame.say(words.STOPPED.format(tag=tag, sign=checks.LOOK_SIGNS[sign]), bad=True)

        self._frame.open_panel(lambda look, over: LookPanel(tag, self._cautions, seen, look, over, worn=True))

    def mark(self) -> None:
        view = self._step()
        if view is not None:
            self.hold_on()
            self._frame.open_panel(lambda look, over: MarkPanel(self._visit, view, look, over))

    def _nothing_asked(self) -> str:
        """With what Space does now, as the foot says it: begin a check, make it wait or finish the visit."""
        does = space_words(self._shown, self._arrival)
        return words.NOTHING_ASKED.format(space=does) if does else words.NOTHING_ASKED_AT_ALL

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
        if session is not None and self._step() is not None and self._may_leave("strength"):
            self._frame.open_panel(lambda look, over: StrengthPanel(self._visit, session, look, over))

    def long_form(self) -> None:
        if self._may_leave("long"):
            self._do(LongForm())

    def finish(self) -> None:
        session = self._shown.session
        if session is not None and not session.finished:
            self._frame.open_panel(lambda look, over: FinishPanel(self._visit, session, look, over))


def _something_done(shown: Shown) -> bool:
    """Whether a check runs of which something was done already. One that asks a question loses nothing."""
    session = shown.session
    if session is None or not session.running or shown.asked() is not None:
        return False
    under_way = (session.progress, *session.along.values())
    return any(p is not None and p.share > 0 for p in under_way)
