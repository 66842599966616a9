"""Saying a `Conversation` to a device, in the reader process: the thread that executes commands speaks, the one that
reads tells what came."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from station.sources.conversation import Conversation, Step

MOST_WAITING = 8
"""answers that wait to be sent; a device that asks faster than it takes answers gets no more than these"""
Send = Callable[[bytes, bool], str]
"""report, whether it is a feature report → why it was refused, or empty"""


@dataclass(frozen=True, slots=True)
class Failed:
    """A step of opening (from 1); `reason` empty: what was waited for did not come."""

    step: int
    reason: str = ""


class Talker:
    """One conversation. `saw` belongs to the thread that reads; everything else to the one that executes commands."""

    def __init__(self, said: Conversation, send: Send, answer: Callable[[bytes], None]) -> None:
        self._said, self._send, self._answer = said, send, answer
        self._expected = b""
        self._came, self._over = threading.Event(), threading.Event()
        self._asked = self._answered = 0
        """one counter for each thread"""
        self._due = 0.0
        self.listens = bool(said.replies) or any(step.expect for step in said.steps)

    # --- the thread that reads ---------------------------------------------------------------------

    def saw(self, report: bytes) -> None:
        """A report came: it may be what is waited for, and may want an answer."""
        if self._expected and report.startswith(self._expected):
            self._came.set()
        for reply in self._said.replies:
            if report.startswith(reply.to) and self._asked - self._answered < MOST_WAITING:
                self._asked += 1
                self._answer(reply.to_report(report))

    # --- the thread that executes commands -----------------------------------------------------------

    def open(self) -> Failed | None:
        """All steps; the first that failed. With `go_on` silence is none, and a refusal stops nothing."""
        first: Failed | None = None
        for number, step in enumerate(self._said.steps, 1):
            reason = self._take(step)
            if self._over.is_set():
                return None
            if reason is not None and not (step.go_on and not reason):
                first = first or Failed(number, reason)
            if first is not None and not step.go_on:
                break
        return first

    def answered(self) -> None:
        """An answer of `saw` was sent."""
        self._answered += 1

    def pause_s(self) -> float | None:
        """Until the next word that keeps the device awake; None where it needs none."""
        alive = self._said.keep_alive
        if alive is None:
            return None
        self._due = self._due or time.monotonic() + alive.every_ms / 1000
        return max(0.0, self._due - time.monotonic())

    def keep_alive(self) -> str:
        """Say it; why it was refused, or empty."""
        assert self._said.keep_alive is not None
        refused = self._send(self._said.keep_alive.send, False)
        self._due = time.monotonic() + self._said.keep_alive.every_ms / 1000  # after it: commands want their turn, too
        return refused

    def numbered(self, report: bytes, number: int) -> bytes:
        """An output report as it goes out: with its running number, where the device wants one."""
        at = self._said.counter
        if at is None or at >= len(report):
            return report
        return report[:at] + bytes((number % 256,)) + report[at + 1 :]

    # --- any thread ----------------------------------------------------------------------------------

    def end(self) -> None:
        """Wait for nothing any more."""
        self._over.set()
        self._came.set()

    def _take(self, step: Step) -> str | None:
        """None when it went well, else why not (empty: silence)."""
        why = ""
        for _ in range(step.tries):
            self._came.clear()
            self._expected = step.expect  # before it is sent: the answer may come at once
            if self._over.is_set():
                break
            why = self._send(step.send, bool(step.feature)) if step.send else ""
            if not why and (not step.expect or self._came.wait(step.within_ms / 1000)):
                self._expected = b""
                return None
        self._expected = b""
        return why
