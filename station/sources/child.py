"""Child processes: `station.sources.child MODULE`, started apart (`apart`), spoken to in JSON lines.

So the language is chosen, from the same environment as the parent's, before the module is imported.

Started afresh (never forked: the window's process has threads and Qt in it), with the pipes as life line:
a child ends when its standard input ends, so it cannot outlive its parent whatever kills that. What a
child prints that is no JSON (a traceback, a word of the C library) goes to the log.
"""

from __future__ import annotations

import contextlib
import json
import logging
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping
from typing import Any

from station.sources import apart
from station.words import language

log = logging.getLogger(__name__)


def spawn(module: str, config: Mapping[str, object]) -> subprocess.Popen[bytes]:
    """Start `module` and hand it `config` as its first line. OSError when it cannot be started."""
    process = subprocess.Popen(
        apart.command("station.sources.child", module),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        env=apart.environment(),
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        bufsize=0,
    )
    write_line(process, config)
    return process


def write_line(process: subprocess.Popen[bytes], message: Mapping[str, object]) -> bool:
    """One line to the child; False when it is gone."""
    assert process.stdin is not None
    try:
        process.stdin.write(json.dumps(dict(message)).encode() + b"\n")
    except (OSError, ValueError):
        return False
    return True


def listen(process: subprocess.Popen[bytes], on_message: Callable[[dict[str, Any]], None]) -> threading.Thread:
    """Call `on_message` for each line of the child, in a thread of its own; the last is the event `gone`."""

    def loop() -> None:
        assert process.stdout is not None
        with process.stdout as lines:
            for line in iter(lines.readline, b""):
                if (message := parse(line)) is None:
                    log.warning("child %d: %s", process.pid, line.decode("utf-8", "replace").rstrip())
                else:
                    on_message(message)
        process.wait()
        on_message({"event": "gone"})

    thread = threading.Thread(target=loop, name=f"listen-{process.pid}", daemon=True)
    thread.start()
    return thread


def parse(line: bytes) -> dict[str, Any] | None:
    """The JSON object of a line, or None."""
    try:
        found = json.loads(line)
    except ValueError:
        return None
    return found if isinstance(found, dict) else None


def end(process: subprocess.Popen[bytes], patience_s: float = 6.0) -> None:
    """Ask the child to end by closing its input; after `patience_s` it is killed. Returns at once."""

    def reap() -> None:
        try:
            process.wait(patience_s)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()

    if process.stdin is not None:
        with contextlib.suppress(OSError):
            process.stdin.close()
    if process.poll() is None:
        threading.Thread(target=reap, name=f"end {process.pid}", daemon=True).start()


# --- the child's side ------------------------------------------------------------------------------


class Lines:
    """The child's two pipes. Reads the file descriptor itself: a thread that waits in a buffered
    standard input would stop the interpreter from ending."""

    def __init__(self) -> None:
        self._rest = b""
        self._lock = threading.Lock()

    def read(self) -> dict[str, Any] | None:
        """The next message of the parent; None when the parent is gone or done."""
        while b"\n" not in self._rest:
            piece = os.read(0, 65536)
            if not piece:
                return None
            self._rest += piece
        line, self._rest = self._rest.split(b"\n", 1)
        return parse(line) or {}

    def say(self, **message: object) -> None:
        """One message to the parent; silence when it is gone."""
        data = json.dumps(message).encode() + b"\n"
        with self._lock:
            try:
                while data:
                    data = data[os.write(1, data) :]
            except OSError:
                pass


if __name__ == "__main__":
    import runpy

    language.speak(language.chosen(os.environ))
    runpy.run_module(sys.argv[1], run_name="__main__", alter_sys=True)
