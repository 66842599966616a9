"""What one thread wants done and must not wait for: it asks, the worker works, and the answer comes back to it.

An errand is a generator that runs in the thread of its owner and yields what is slow as an `Ask`. The worker does that
and nothing else: it is given what it needs and touches no state of the owner. The answer is handed on by `tend`, if
what it was asked for still `holds`: the answer to a question about a device that was unplugged meanwhile is undone.
Errands go one after the other, so that none sees the state in the middle of another.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable
from dataclasses import dataclass
from typing import Any

from station.app.work import Job
from station.errors import StationError
from station.ui.ports import DeskEvent, Said


def _always() -> bool:
    return True


def _leave(answer: Any) -> None:
    """Nothing has to be undone."""


@dataclass(frozen=True, slots=True)
class Ask:
    """Slow work for the worker. `holds` is asked in the owner's thread when the answer is there; if it says no, `undo`
    gets the answer, the errand ends, and the person is told `regret` (nothing when it is empty)."""

    work: Callable[[], Any]
    holds: Callable[[], bool] = _always
    undo: Callable[[Any], None] = _leave
    regret: str = ""


Errand = Generator[Ask, Any, Iterable[DeskEvent]]
"""Gets each answer where it yielded, or the StationError that came instead; returns the events to tell. A StationError
that it lets pass is told as one sentence."""


@dataclass(frozen=True, slots=True)
class _Answer:
    ask: Ask
    value: Any = None
    error: StationError | None = None
    broken: bool = False
    """the work ended in a bug, which was reported where it happened"""


class Errands:
    """The errands of one thread. All but the work that is asked for belongs to it."""

    def __init__(self, submit: Callable[[Job], object], tell: Callable[[DeskEvent], None]) -> None:
        self._submit, self._tell = submit, tell
        self._waiting: deque[Errand] = deque()
        self._current: Errand | None = None
        self._answers: deque[_Answer] = deque()
        self._lock = threading.Lock()
        self._closed = threading.Event()

    def begin(self, errand: Errand) -> None:
        """Do this as soon as the errands before it are done."""
        self._waiting.append(errand)
        self._next()

    def tend(self) -> bool:
        """Hand on the answers that came; False when there was none. Never waits."""
        moved = False
        while self._answers:
            moved = True
            self._hear(self._answers.popleft())
            self._next()
        return moved

    def close(self) -> None:
        """Nothing is begun or handed on any more; what still comes is undone."""
        with self._lock:
            self._closed.set()
            late = list(self._answers)
            self._answers.clear()
        for answer in late:
            _undo(answer)
        if self._current is not None:
            self._current.close()
        self._current = None
        self._waiting.clear()

    def _next(self) -> None:
        while self._current is None and self._waiting and not self._closed.is_set():
            self._current = self._waiting.popleft()
            self._step(self._current, next)

    def _hear(self, answer: _Answer) -> None:
        errand, ask, error = self._current, answer.ask, answer.error
        if errand is None:
            return
        if not ask.holds():
            self._current = None
            errand.close()
            _undo(answer)
            if ask.regret:
                self._tell(Said(ask.regret, bad=True))
        elif answer.broken:
            self._current = None
            errand.close()
        elif error is not None:
            self._step(errand, lambda errand: errand.throw(error))
        else:
            self._step(errand, lambda errand: errand.send(answer.value))

    def _step(self, errand: Errand, move: Callable[[Errand], Ask]) -> None:
        """Let the errand go on until it asks for something or ends."""
        self._current = None  # whatever comes now, a bug too, must not keep the next one waiting
        try:
            ask = move(errand)
        except StopIteration as done:
            for event in done.value or ():
                self._tell(event)
        except StationError as error:
            self._tell(Said(str(error), bad=True))
        else:
            self._current = errand
            self._submit(lambda: self._do(ask))

    def _do(self, ask: Ask) -> Iterable[DeskEvent]:
        """In the worker."""
        if self._closed.is_set():
            return ()
        try:
            answer = _Answer(ask, ask.work())
        except StationError as error:
            answer = _Answer(ask, error=error)
        except BaseException:
            self._answers.append(_Answer(ask, broken=True))
            raise
        with self._lock:
            closed = self._closed.is_set()
            if not closed:
                self._answers.append(answer)
        if closed:
            _undo(answer)
        return ()


def _undo(answer: _Answer) -> None:
    if answer.error is None and not answer.broken:
        answer.ask.undo(answer.value)
