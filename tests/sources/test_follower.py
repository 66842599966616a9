"""A consumer's place in the stream: it begins at the present, and what it comes too late for is its own affair.

The same moves on every kind of source that forgets: a device's ring, a steady source, a simulated unit's store.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
import pytest

from station.hid.types import ReportBlock
from station.sources import usb as usb_module
from station.sources.follower import Follower
from station.sources.port import PRESENT, DeviceInfo, Source, SourceStatus
from station.sources.ring import RingWriter, create_ring, map_ring
from station.sources.ring_view import RingView
from station.sources.simulated.design import PadDesign
from station.sources.simulated.hand import SimulatedHand
from station.sources.simulated.source import SimulatedSource
from station.sources.simulated.spec import UnitSpec
from station.sources.simulated.store import ReportStore
from station.sources.steady import SteadySource
from station.sources.usb import UsbSource
from tests.rig import pad
from tests.rig.fakehid import Rig
from tests.sources.test_steady import INFO, Piece

RATE_HZ = 1000
KEPT = 64
"""reports that the small rings here keep at least"""


@dataclass(frozen=True, slots=True)
class Kind:
    """A source, and how `n` more reports come on it."""

    source: Source
    come: Callable[[int], object]


class _Ring(Piece):
    """The reading side of a ring without the process that fills it."""

    def __init__(self, info: DeviceInfo, number: int) -> None:
        super().__init__(info, number)
        path = create_ring(4, KEPT)
        self.writer, self.view = RingWriter(map_ring(path)), RingView(path)
        os.unlink(path)

    def written(self) -> int:
        return self.view.written()

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        return self.view.take(cursor, limit)

    def come(self, n: int) -> None:
        for _ in range(n):
            self.writer.write(1000 * self.written(), b"\x01")


def ring() -> Kind:
    made = _Ring(INFO, 0)
    return Kind(made, made.come)


def steady() -> Kind:
    """Re-plugged once already."""
    pieces: list[_Ring] = []

    def opened(info: DeviceInfo, origin_ns: int, number: int) -> _Ring:
        pieces.append(_Ring(info, number))
        return pieces[-1]

    made = SteadySource(INFO, opened)
    pieces[-1].come(10)
    made.reopen(replace(INFO, key="b"))
    return Kind(made, lambda n: pieces[-1].come(n))


def simulated() -> Kind:
    made = SimulatedSource(UnitSpec(PadDesign("8bit", RATE_HZ), 3), SimulatedHand(0.8, 2), realtime=False)
    made._store = ReportStore(made._store._raw.shape[1], most=10_000)
    return Kind(made, lambda n: [made.advance(1.0) for _ in range(n * 12_000 // KEPT // RATE_HZ)])


EVERY_KIND = pytest.mark.parametrize("kind", [ring, steady, simulated], ids=["a ring", "re-plugs", "a simulated unit"])


@EVERY_KIND
def test_it_begins_at_the_present_however_long_the_source_runs_already(kind: Callable[[], Kind]) -> None:
    made = kind()
    made.come(3 * KEPT)
    follower = Follower(made.source)
    assert [(len(block), missed) for block, missed in [follower.take()]] == [(0, 0)]
    made.come(KEPT // 4)
    block, missed = follower.take()
    assert (len(block) > 0, missed, block.lost) == (True, 0, 0)
    assert len(follower.take()[0]) == 0


@EVERY_KIND
def test_what_it_looks_back_on_and_is_gone_was_not_missed(kind: Callable[[], Kind]) -> None:
    made = kind()
    made.come(3 * KEPT)
    follower, end = Follower(made.source, look_back=1_000_000), made.source.take(PRESENT, 0)[1]
    took = [follower.take() for _ in range(3)]
    assert 0 < sum(len(block) for block, _ in took) < end, "some is there, and some is gone"
    assert [missed for _, missed in took] == [0, 0, 0]
    assert len(Follower(made.source, look_back=5).take()[0]) == 5


@EVERY_KIND
def test_a_late_consumer_alone_has_missed_something(kind: Callable[[], Kind]) -> None:
    made = kind()
    prompt, late = Follower(made.source), Follower(made.source)
    came = prompt.take()[0].seq0
    late.take()
    seen = missed = 0
    for _ in range(12):
        made.come(KEPT // 4)
        block, gone = prompt.take()
        seen, missed = seen + len(block), missed + gone
    late_seen = late_missed = 0
    while len((took := late.take())[0]):
        late_seen, late_missed = late_seen + len(took[0]), late_missed + took[1]
    assert missed == 0
    assert late_missed > 0
    assert late_seen + late_missed == seen, "what one missed and what it had is what the other one had"
    assert (made.source.take(came)[0].lost, made.source.status().lost) == (0, 0)
    assert prompt.take()[1] == 0


class _Hidden:
    """A source of which more is overwritten between the look at its end and the reading."""

    def __init__(self) -> None:
        self.ring = _Ring(INFO, 0)

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        took = self.ring.take(cursor, limit)
        self.ring.come(KEPT // 2)
        return took

    def status(self) -> SourceStatus:
        return self.ring.status()


def test_a_writer_that_is_faster_than_the_reading_costs_only_what_came_after_the_beginning() -> None:
    hidden = _Hidden()
    hidden.ring.come(2 * KEPT)
    follower = Follower(hidden, look_back=KEPT)  # type: ignore[arg-type]
    first, missed = follower.take()
    assert missed == 0
    second, missed = follower.take()
    assert second.seq0 == first.seq0 + len(first) + missed


@pytest.fixture
def small_ring(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(usb_module, "create_ring", lambda width: create_ring(width, 512))


@pytest.fixture
def device_source(rig: Rig, small_ring: None) -> Iterator[tuple[object, UsbSource]]:
    device = rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL)
    info = DeviceInfo("/dev/hidraw0", *device.ids, device.name, device.serial, "usb", device.descriptor, (0x10005,))
    source = UsbSource(info)
    source.wait_open()
    yield device, source
    source.close()
    assert source.join()


def test_through_the_reader_process_too(device_source, until: Callable[[Callable[[], object]], None]) -> None:  # type: ignore[no-untyped-def]
    device, source = device_source
    prompt, late = Follower(source), Follower(source)
    prompt.take(), late.take()
    numbers: list[int] = []
    for begin in range(0, 600, 100):
        device.feed_patiently(map(pad.numbered, range(begin, begin + 100)))
        until(lambda end=begin + 100: source.written() == end)
        block, missed = prompt.take()
        assert missed == 0
        raw = block.raw.astype(np.uint32)
        numbers += (raw[:, 3] | raw[:, 4] << 8).tolist()
    assert numbers == list(range(600))
    block, missed = late.take()
    assert (len(block), missed) == (511, 89)
    assert (source.status().lost, prompt.take()[0].lost) == (0, 0)
