"""The rig as a fixture: child processes of these tests see its devices through the unmodified hidapi."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator

import pytest

from tests.rig import fakehid


@pytest.fixture
def rig(monkeypatch: pytest.MonkeyPatch) -> Iterator[fakehid.Rig]:
    """A machine without devices; plug some in."""
    if reason := fakehid.unavailable():
        pytest.skip(reason)
    with fakehid.Rig() as made:
        for name, value in made.variables().items():
            monkeypatch.setenv(name, value)
        yield made


@pytest.fixture
def until() -> Callable[[Callable[[], object]], None]:
    """Wait for what another process does; fails after 20 s, which no machine should need."""

    def wait(condition: Callable[[], object], timeout_s: float = 20.0) -> None:
        end = time.monotonic() + timeout_s
        pause = threading.Event()
        while not condition():
            assert time.monotonic() < end, "it did not happen"
            pause.wait(0.002)

    return wait
