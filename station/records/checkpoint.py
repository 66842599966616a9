"""Folding the write-ahead log into the file beside the work, so that no commit has to wait for it.

A passive check-point neither blocks nor waits for readers and writers
(https://www.sqlite.org/pragma.html#pragma_wal_checkpoint).
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing

EVERY = 64
"""commits between two check-points: some 4 MB of log"""


class Checkpointer:
    """A thread of its own, started by the first commits and ended by `close`. `connect` opens a connection for it."""

    def __init__(self, connect: Callable[[], sqlite3.Connection]) -> None:
        self._connect = connect
        self._wanted = threading.Event()
        self._ends = False
        self._commits = 0
        self._thread: threading.Thread | None = None

    def committed(self) -> None:
        """Tell of a commit."""
        self._commits += 1
        if self._commits % EVERY:
            return
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="restpoint-checkpoint", daemon=True)
            self._thread.start()
        self._wanted.set()

    def _run(self) -> None:
        with closing(self._connect()) as connection:
            while True:
                self._wanted.wait()
                self._wanted.clear()
                if self._ends:
                    return
                try:
                    connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchall()
                except sqlite3.Error:
                    continue  # the log keeps everything; SQLite does it itself when the log gets long

    def close(self) -> None:
        """End the thread."""
        self._ends = True
        self._wanted.set()
        if self._thread is not None:
            self._thread.join()
