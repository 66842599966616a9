"""What the first picture does without and every visit needs: loaded beside the window before anybody waits for it.

Loading holds up every other thread for some hundredths of a second at a time; in the middle of a check that is seen.
"""

from __future__ import annotations

import threading
from importlib import import_module

SOON = ("scipy.special", "scipy.ndimage")
"""what measures and advice ask for single functions of"""
AFTER_MS = 800


def load_beside() -> threading.Thread:
    """Begin to load; returns the thread. The program waits for it when it ends meanwhile."""
    thread = threading.Thread(target=_load, name="restpoint-warm")
    thread.start()
    return thread


def _load() -> None:
    for name in SOON:
        import_module(name)
