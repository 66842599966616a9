"""Which interfaces the readers of this program have taken from the kernel's drivers, or are about to.

The system tells that a program has claimed an interface, not which one. So what would be "held by another program" is
asked here: of one of ours it is not said, whoever else may have a look at the same device meanwhile.
"""

from __future__ import annotations

import threading
from collections import Counter

_lock = threading.Lock()
_readers: Counter[str] = Counter()
"""name of the interface → readers of it that have not ended; two where one takes the place of the other"""


def begin(interface: str) -> None:
    """A reader of it was started."""
    with _lock:
        _readers[interface] += 1


def end(interface: str) -> None:
    """A reader of it has ended, and holds nothing any more."""
    with _lock:
        _readers[interface] -= 1


def is_ours(interface: str) -> bool:
    """Whether a reader of this program has it."""
    with _lock:
        return _readers[interface] > 0
