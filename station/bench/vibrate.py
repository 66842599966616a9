"""Drives the talk that readies a unit's motors, then the motors: sends, asks, and waits without waiting.

Nothing is left running: `stop` sends what stops the motors and gives back what was taken from the device; a talk that
is stopped half-way is brought to its end first, because only then it is known what to give back. Should the program be
killed meanwhile, the source stops them.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable

from station.bench.motors import Motors
from station.errors import DeviceError, StationError
from station.sheets.vibration import Ask, Send, Talk, Vibration
from station.sources.port import Request, Source
from station.words import bench as words

PATIENCE_NS = 6_000_000_000
"""for one answer; Linux gives up a request after five seconds"""
WIND_UP_S, LOOK_S = 1.0, 0.01


class Vibrator:
    """The motors of one unit, for the thread that ticks."""

    def __init__(self, source: Source, vibration: Vibration | None) -> None:
        self._source = source
        self._vibration = vibration
        self._wanted = False
        self._talk: Talk | None = None
        self._request: Request | None = None
        self._asked_ns = 0
        self._motors: Motors | None = None
        self._looked_ns: int | None = None
        self.ran_ns = 0
        """how long motors ran so far"""

    def begin(self) -> None:
        """Start from the first motor, from the next tick on. Does nothing for a unit that cannot be made to vibrate."""
        self._wanted = self._vibration is not None

    def tick(self, now_ns: int, *, live: bool) -> None:
        """Do what is due. A device that went away has stopped its motors itself.

        Raises:
            StationError: it cannot be made to vibrate; said once, all is over then.
        """
        runs = live and self._motors is not None and not self._motors.over
        if runs and self._looked_ns is not None:
            self.ran_ns += now_ns - self._looked_ns
        self._looked_ns = now_ns if runs else None
        if not live:
            self._forget()
            return
        try:
            if self._talk is not None:
                self._go_on(self._talk, now_ns)
            elif self._wanted and self._motors is None and self._vibration is not None:
                self._talk = self._vibration.talk()
                self._advance(self._talk, lambda talk: next(talk), now_ns)
            if self._motors is not None:
                self._send(self._motors.due(now_ns))
        except StationError:
            self._forget()
            raise

    def stop(self, *, live: bool) -> None:
        """Stop what runs and give back what was taken. Raises StationError when the device takes no commands."""
        self._wanted = False
        motors, self._motors = self._motors, None
        if motors is not None and live:
            self._send((*motors.end(), *motors.release))
            self._source.at_end(())

    def wind_up(self, now_ns: Callable[[], int], *, live: bool) -> None:
        """Nobody will tick any more: bring a talk that is under way to its end, for a second at most, so that what was
        taken is given back. Raises StationError as `tick` does."""
        for _ in range(round(WIND_UP_S / LOOK_S)):
            if self._talk is None:
                return
            time.sleep(LOOK_S)
            self.tick(now_ns(), live=live)

    def said(self) -> str:
        """What the hand should feel now; empty for a unit that cannot be made to vibrate."""
        if self._vibration is None:
            return ""
        if self._motors is not None and not self._motors.over:
            return self._motors.said()
        return words.MOTORS_READYING if self._wanted and self._motors is None else words.MOTORS_STOPPED

    def _forget(self) -> None:
        self._wanted = False
        self._talk = self._request = self._motors = None

    def _go_on(self, talk: Talk, now_ns: int) -> None:
        """Hand the answer on that the talk waits for, or tell it that there is none."""
        answer = self._request.answer if self._request is not None else None
        if answer is None and now_ns - self._asked_ns < PATIENCE_NS:
            return
        if answer is None or answer.problem:
            why = answer.problem if answer is not None else words.DOES_NOT_ANSWER
            error = DeviceError(words.NOT_TOLD_HOW_IT_VIBRATES.format(why=why))
            self._advance(talk, lambda talk: talk.throw(error), now_ns)
        else:
            report = answer.report
            self._advance(talk, lambda talk: talk.send(report), now_ns)

    def _advance(self, talk: Talk, move: Callable[[Talk], Send | Ask], now_ns: int) -> None:
        """Go on with the talk until it asks for something or ends."""
        try:
            step = move(talk)
            while isinstance(step, Send):
                self._send((step,))
                step = talk.send(b"")
            self._request, self._asked_ns = self._source.ask_feature(step.report_id), now_ns
        except StopIteration as done:
            self._talk = self._request = None
            self._motors = Motors(done.value, now_ns)
            if self._wanted:
                last = (*self._motors.stopping, *self._motors.release)
                self._source.at_end([(send.report, send.feature) for send in last])
            else:
                self.stop(live=True)

    def _send(self, reports: Iterable[Send]) -> None:
        """Send all of them, whatever becomes of one; the first trouble is raised at the end."""
        trouble: StationError | None = None
        for send in reports:
            try:
                self._source.send(send.report, feature=send.feature)
            except StationError as error:
                trouble = trouble or error
        if trouble is not None:
            raise trouble
