"""The parent's account of what it gave the reader process to do: what waits, for how long, and who asked.

The reader tells the end of each command, in order.
"""

from __future__ import annotations

import itertools
import threading
from collections import deque
from typing import Any

from station.capture.text import plain_text
from station.sources.port import Answer, Request
from station.words import devices as words

HANGS_AFTER_NS = 3_000_000_000
"""a command that takes longer than this is told; Linux gives one up after five seconds"""


class Commands:
    """The commands that the reader has not told the end of, and the requests among them. For several threads."""

    def __init__(self) -> None:
        self.lock = threading.RLock()
        self._waiting: deque[tuple[int, int]] = deque()
        """size and time of each"""
        self._requests: dict[int, Request] = {}
        self._numbers = itertools.count()
        self._done_ns = 0

    def outstanding(self) -> int:
        """Bytes that wait."""
        return sum(size for size, _ in self._waiting)

    def given(self, size: int, at_ns: int) -> None:
        with self.lock:
            self._waiting.append((size, at_ns))

    def done(self, at_ns: int) -> None:
        """The oldest one came to its end."""
        with self.lock:
            if self._waiting:
                self._waiting.popleft()
            self._done_ns = at_ns

    def stuck(self, now_ns: int) -> int:
        """How many wait, when the oldest has been under way for too long; else 0."""
        with self.lock:
            if not self._waiting or now_ns - max(self._waiting[0][1], self._done_ns) < HANGS_AFTER_NS:
                return 0
            return len(self._waiting)

    def ticket(self) -> tuple[int, Request]:
        """A request under a number of its own."""
        with self.lock:
            number = next(self._numbers)
            self._requests[number] = request = Request()
        return number, request

    def answer(self, ticket: int, answer: Answer) -> None:
        with self.lock:
            request = self._requests.pop(ticket, None)
        if request is not None:
            request.answer = answer

    def give_up(self) -> int:
        """Nobody executes them any more: every request is told so. How many commands were left."""
        with self.lock:
            tickets, left = list(self._requests), len(self._waiting)
            self._waiting.clear()
        for ticket in tickets:
            self.answer(ticket, Answer(problem=words.GONE_MEANWHILE))
        return left


def answer_of(message: dict[str, Any]) -> Answer:
    """What the reader says of a request; words of drivers are untrusted."""
    system = {str(k): plain_text(str(v), 64) for k, v in message.get("system", {}).items()}
    return Answer(bytes.fromhex(message.get("report", "")), system, plain_text(message.get("problem", ""), 200))
