"""The shared-memory ring: its form in memory, how it is made, and its one writer.

A memory-mapped file and not `multiprocessing.shared_memory`, whose resource tracker (before Python 3.13)
deletes a block when any process that attached to it ends. The file lies in /dev/shm where there is one; it
is deleted as soon as both sides have mapped it (POSIX), so that a kill leaves nothing behind.

Only the standard library, because the reader process imports this and must start fast. The reading side
stands in `sources.ring_view`.

Form (native byte order, both sides run on the same machine): one page of 64-bit words, then the columns
`t_ns` int64[capacity], `size` uint16[capacity], `raw` uint8[capacity × width]. The writer fills the slot,
then publishes it by raising `SEQ`; the slot of report n is n modulo the capacity. Words are written by one
aligned 8-byte store, so a reader sees the old or the new one.
"""

from __future__ import annotations

import contextlib
import mmap
import os
import platform
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path

PAGE = 4096
MAGIC = 0x52505F52494E4701
BUDGET = 8 << 20
MAX_CAPACITY, MIN_CAPACITY = 1 << 16, 1 << 12
# words of the first page
W_MAGIC, W_CAPACITY, W_WIDTH, W_SEQ, W_LOST, W_BEAT_NS, W_ERROR_NS, W_CUT, W_DROPPED = range(9)


def _no_fence() -> None:
    """x86 keeps the order of stores and of loads; nothing to do."""


_fence_lock = threading.Lock()


def _lock_fence() -> None:
    """Elsewhere (Arm): two uncontended lock rounds, whose release and acquire no store or load may cross."""
    with _fence_lock:
        pass
    with _fence_lock:
        pass


_X86 = {"x86_64", "amd64", "i386", "i486", "i586", "i686", "x86"}
fence: Callable[[], None] = _no_fence if platform.machine().lower() in _X86 else _lock_fence
"""order what was written (read) before it before what is written (read) after it"""


def capacity_for(width: int) -> int:
    """Reports that fit the memory budget: a power of two from 4096 to 65536 (8 s at 8 kHz)."""
    capacity = MAX_CAPACITY
    while capacity > MIN_CAPACITY and capacity * (width + 10) > BUDGET:
        capacity //= 2
    return capacity


def ring_bytes(width: int, capacity: int) -> int:
    """Size of the file."""
    return PAGE + capacity * (8 + 2 + width)


def create_ring(width: int, capacity: int | None = None) -> str:
    """Make the file for reports of up to `width` bytes and return its path. OSError when there is no room."""
    capacity = capacity or capacity_for(width)
    size = ring_bytes(width, capacity)
    if os.name == "nt":
        _sweep()
    if os.path.isdir("/dev/shm"):
        try:
            return _create("/dev/shm", width, capacity, size)
        except OSError:  # a small /dev/shm, as containers have it: an ordinary file serves as well
            pass
    return _create(tempfile.gettempdir(), width, capacity, size)


def _sweep() -> None:
    """Windows keeps a mapped file: delete those of sessions that have ended (the others refuse to go)."""
    for old in Path(tempfile.gettempdir()).glob("restpoint-ring-*"):
        with contextlib.suppress(OSError):
            old.unlink()


def _create(folder: str, width: int, capacity: int, size: int) -> str:
    handle, path = tempfile.mkstemp(prefix="restpoint-ring-", dir=folder)
    try:
        if hasattr(os, "posix_fallocate"):
            os.posix_fallocate(handle, 0, size)  # or a full /dev/shm would show as SIGBUS at the first write
        else:
            os.ftruncate(handle, size)
        with mmap.mmap(handle, size) as memory:
            words = memoryview(memory)[:PAGE].cast("Q")
            words[W_CAPACITY], words[W_WIDTH], words[W_MAGIC] = capacity, width, MAGIC
            words.release()
    except BaseException:
        os.close(handle)
        os.unlink(path)
        raise
    os.close(handle)
    return path


def map_ring(path: str) -> mmap.mmap:
    """Map an existing ring; ValueError when the file is none."""
    handle = os.open(path, os.O_RDWR | getattr(os, "O_BINARY", 0))
    try:
        memory = mmap.mmap(handle, 0)
    finally:
        os.close(handle)
    with memoryview(memory)[:PAGE] as page, page.cast("Q") as words:
        right = words[W_MAGIC] == MAGIC and len(memory) == ring_bytes(words[W_WIDTH], words[W_CAPACITY])
    if not right:
        raise ValueError("not a ring")
    return memory


class RingWriter:
    """The one writer. Not for more than one thread, except `set_word`."""

    def __init__(self, memory: mmap.mmap) -> None:
        view = memoryview(memory)
        self._words = view[:PAGE].cast("Q")
        self.capacity, self.width = self._words[W_CAPACITY], self._words[W_WIDTH]
        sizes = PAGE + 8 * self.capacity
        rows = sizes + 2 * self.capacity
        self._t = view[PAGE:sizes].cast("q")
        self._size = view[sizes:rows].cast("H")
        self._raw = view[rows:]
        self._blank = bytes(self.width)
        self._seq = 0

    def write(self, t_ns: int, report: bytes) -> bool:
        """Publish one report; False when it was longer than the rows and had to be cut."""
        slot, width, n = self._seq % self.capacity, self.width, len(report)
        whole = n <= width
        if not whole:
            report, n = report[:width], width
            self._words[W_CUT] += 1
        at = slot * width
        self._raw[at : at + n] = report
        if n < width:
            self._raw[at + n : at + width] = self._blank[n:]
        self._size[slot] = n
        self._t[slot] = t_ns
        fence()
        self._seq += 1
        self._words[W_SEQ] = self._seq
        return whole

    def set_word(self, word: int, value: int) -> None:
        """Set one of the counters of the first page."""
        self._words[word] = value
