"""The guest's end of the line to the host, and small things that every scenario needs."""

from __future__ import annotations

import json
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

_lock = threading.Lock()
_answers: dict[int, str] = {}
_asked = 0


def send(**message: object) -> None:
    """One message to the host."""
    with _lock:
        sys.stdout.write(json.dumps(message) + "\n")
        sys.stdout.flush()


def say(text: str) -> None:
    """A line for the person."""
    send(say=text)


def ask(what: str, **how: object) -> int:
    """Have the host do something; returns at once with the number of the question."""
    global _asked
    _asked += 1
    send(ask=what, number=_asked, **{"with": how})
    return _asked


def done(number: int) -> bool:
    """Whether it is done. RuntimeError when the host could not do it."""
    answer = _answers.get(number)
    if answer not in (None, "done"):
        raise RuntimeError(f"the host could not do it: {answer}")
    return answer is not None


def do(what: str, **how: object) -> None:
    """Have the host do something and wait for it."""
    number = ask(what, **how)
    until(lambda: done(number), f"the host to {what}")


def until(condition: Callable[[], object], what: str, timeout_s: float = 30.0) -> float:
    """Wait for what happens elsewhere; the seconds it took. TimeoutError names `what`."""
    began = time.perf_counter()
    while not condition():
        if time.perf_counter() - began > timeout_s:
            raise TimeoutError(f"waited {timeout_s:.0f} s in vain for {what}")
        time.sleep(0.002)
    return time.perf_counter() - began


def listen() -> None:
    """Take the host's answers from now on."""

    def loop() -> None:
        for line in sys.stdin:
            message: dict[str, Any] = json.loads(line)
            _answers[message["number"]] = message["answer"]

    threading.Thread(target=loop, daemon=True).start()
