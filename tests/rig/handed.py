"""A simulated hand behind a made-up device: what the simulated unit reports goes to the device as time goes on."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Protocol

from station.sources.simulated import SimulatedHand, SimulatedSource


class Fed(Protocol):
    """A device of a rig."""

    def feed(self, report: bytes) -> bool: ...


class Feeder:
    """Hands what a simulated unit reports to the rig's device as time goes on; `packed` makes the device's reports."""

    def __init__(self, source: SimulatedSource, packed: Callable[[bytes], bytes]) -> None:
        self.device: Fed | None = None
        self._source, self._packed = source, packed
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._work, daemon=True)
        self._thread.start()

    def stop(self) -> None:
        self._stop.set()
        self._thread.join()

    def _work(self) -> None:
        cursor = 0
        while not self._stop.wait(0.002):
            block, cursor = self._source.take(cursor)
            for row, size in zip(block.raw, block.size, strict=True):
                if (device := self.device) is not None:
                    device.feed(self._packed(row[:size].tobytes()))


class ShiftedHand:
    """The simulated hand, asked on another clock."""

    def __init__(self, hand: SimulatedHand, shift_ns: int) -> None:
        self._hand = hand
        self._shift_ns = shift_ns

    def ask(
        self,
        check: str,
        control: str,
        twin: str | None,
        kind: str,
        beats_per_minute: int,
        at_ns: int,
        also: tuple[str, ...] = (),
    ) -> None:
        self._hand.ask(check, control, twin, kind, beats_per_minute, at_ns + self._shift_ns)

    def beat(self, t_ns: int) -> None:
        self._hand.beat(t_ns + self._shift_ns)

    def rest(self, at_ns: int) -> None:
        self._hand.rest(at_ns + self._shift_ns)
