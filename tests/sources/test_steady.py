"""One stream over re-plugs: cursors, numbers, clock and losses go on."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from station.errors import DeviceLost, InputError
from station.hid.types import ReportBlock
from station.sources.port import Answer, DeviceInfo, Request, SourceStatus
from station.sources.steady import KEEP, SteadySource
from station.sources.usb import UsbSource
from tests.rig import pad
from tests.rig.fakehid import Rig

INFO = DeviceInfo("a", 1, 2, "Pad", "S1", "usb", b"\x05")


class Piece:
    """A source fed by hand: its stamps count from the common origin, as the contract says."""

    def __init__(self, info: DeviceInfo, number: int) -> None:
        self.info, self.number = info, number
        self.t_ns: list[int] = []
        self.lost = 0
        self.kept_from = 0
        """the ring has gone over what came before"""
        self.state = "live"
        self.closed = self.failing = False
        self.sent: list[bytes] = []

    def now_ns(self) -> int:
        return 0

    def written(self) -> int:
        return len(self.t_ns)

    def failed(self) -> bool:
        return self.failing and not self.closed

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        cursor = max(self.kept_from, min(cursor, len(self.t_ns)))
        t_ns = np.array(self.t_ns[cursor : cursor + limit], np.int64)
        raw = np.full((len(t_ns), 1), self.number, np.uint8)
        return ReportBlock(cursor, t_ns, np.ones(len(t_ns), np.uint16), raw, self.lost), cursor + len(t_ns)

    def status(self) -> SourceStatus:
        return SourceStatus(self.state, self.lost, "process", None, "gone")  # type: ignore[arg-type]

    def send(self, report: bytes, *, feature: bool = False) -> None:
        self.sent.append(report)

    def at_end(self, reports: Sequence[tuple[bytes, bool]]) -> None:
        self.sent.extend(report for report, _ in reports)

    def ask_feature(self, report_id: int) -> Request:
        return Request(Answer(bytes((report_id, self.number))))

    def ask_system(self) -> Request:
        return Request(Answer(system={"capacity": str(self.number)}))

    def close(self) -> None:
        self.closed = True


class Bench:
    """A steady source and the pieces it opened."""

    def __init__(self) -> None:
        self.now = 1000
        self.pieces: list[Piece] = []
        self.origins: list[int] = []
        self.source = SteadySource(INFO, self.open, clock_ns=lambda: self.now)

    def open(self, info: DeviceInfo, origin_ns: int, number: int) -> Piece:
        self.pieces.append(Piece(info, number))
        self.origins.append(origin_ns)
        return self.pieces[-1]


def drain(source: SteadySource, cursor: int = 0) -> tuple[list[tuple[int, int, int]], int]:
    """All (seq, t, piece) from the cursor on, and the next cursor."""
    out = []
    while True:
        block, after = source.take(cursor)
        rows = zip(block.t_ns.tolist(), block.raw[:, 0].tolist(), strict=True)
        out += [(block.seq0 + i, t, n) for i, (t, n) in enumerate(rows)]
        if after == cursor:
            return out, cursor
        cursor = after


def test_a_cursor_goes_on_through_a_replug() -> None:
    bench = Bench()
    bench.pieces[0].t_ns += [1, 2, 3]
    _, cursor = bench.source.take(0, limit=2)
    bench.pieces[0].state = "lost"
    assert bench.source.status().state == "lost"
    bench.source.reopen(replace(INFO, key="b"))
    bench.pieces[1].t_ns += [50, 60]
    assert bench.source.status().state == "live"
    assert bench.source.info.key == "b"
    assert drain(bench.source, cursor) == ([(2, 3, 0), (3, 50, 1), (4, 60, 1)], 5)
    assert drain(bench.source)[0] == [(0, 1, 0), (1, 2, 0), (2, 3, 0), (3, 50, 1), (4, 60, 1)]


def test_all_pieces_share_one_clock() -> None:
    bench = Bench()
    bench.now = 5000
    bench.source.reopen(INFO)
    assert bench.origins == [1000, 1000]
    assert bench.source.now_ns() == 4000
    assert [piece.number for piece in bench.pieces] == [0, 1]


def test_losses_add_up() -> None:
    bench = Bench()
    bench.pieces[0].t_ns += [1]
    bench.pieces[0].lost = 2
    bench.source.reopen(INFO)
    bench.pieces[1].t_ns += [2]
    bench.pieces[1].lost = 3
    assert bench.source.take(0)[0].lost == 2
    assert bench.source.take(1)[0].lost == 5
    assert bench.source.status().lost == 5


def test_what_an_ended_reader_still_writes_does_not_shift_the_numbers() -> None:
    bench = Bench()
    bench.pieces[0].t_ns += [1, 2]
    bench.source.reopen(INFO)
    bench.pieces[0].t_ns += [3]
    bench.pieces[1].t_ns += [9]
    assert drain(bench.source)[0] == [(0, 1, 0), (1, 2, 0), (2, 9, 1)]


def test_nor_for_a_consumer_that_the_ended_ring_has_overtaken() -> None:
    bench = Bench()
    bench.pieces[0].t_ns += [1, 2, 3, 4]
    bench.pieces[0].kept_from = 2
    bench.source.reopen(INFO)
    bench.pieces[0].t_ns += [5]
    bench.pieces[1].t_ns += [9, 10]
    assert drain(bench.source)[0] == [(2, 3, 0), (3, 4, 0), (4, 9, 1), (5, 10, 1)]


def test_a_consumer_far_behind_gets_the_oldest_kept_and_nothing_counts_as_lost() -> None:
    bench = Bench()
    for n in range(KEEP + 3):
        bench.pieces[-1].t_ns += [10 * n, 10 * n + 1]
        bench.source.reopen(INFO)
    rows, _ = drain(bench.source)
    assert rows[0] == (8, 40, 4)
    assert bench.source.status().lost == 0


def test_another_unit_is_refused_and_the_old_one_kept() -> None:
    bench = Bench()
    with pytest.raises(InputError, match="not the unit"):
        bench.source.reopen(replace(INFO, serial="S2"))
    assert len(bench.pieces) == 1
    assert not bench.pieces[0].closed


def test_commands_go_to_the_present_piece() -> None:
    bench = Bench()
    bench.source.reopen(INFO)
    bench.source.send(b"\x02")
    assert [piece.sent for piece in bench.pieces] == [[], [b"\x02"]]
    bench.source.at_end([(b"\x03", False)])
    assert [piece.sent for piece in bench.pieces] == [[], [b"\x02", b"\x03"]]
    assert bench.source.ask_feature(7).answer == Answer(b"\x07\x01")
    assert bench.source.ask_system().answer == Answer(system={"capacity": "1"})


def test_a_reader_that_failed_is_replaced_once_it_had_read_something(
    until: Callable[[Callable[[], object]], None],
) -> None:
    bench = Bench()
    bench.pieces[0].state, bench.pieces[0].failing = "lost", True
    assert bench.source.status().state == "lost"
    assert len(bench.pieces) == 1, "a reader that never read would fail again"
    bench.pieces[0].t_ns += [1]
    assert bench.source.status().state == "lost"
    until(lambda: bench.source.status().state == "live")
    bench.pieces[1].t_ns += [2]
    assert drain(bench.source)[0] == [(0, 1, 0), (1, 2, 1)]
    assert len(bench.pieces) == 2


def test_a_closed_source_ends_and_is_not_opened_again() -> None:
    bench = Bench()
    bench.source.close()
    assert bench.pieces[0].closed
    assert bench.source.status().state == "ended"
    with pytest.raises(DeviceLost):
        bench.source.reopen(INFO)


def test_a_real_unit_goes_on_after_an_unplug_and_after_its_reader_was_killed(
    rig: Rig, until: Callable[[Callable[[], object]], None]
) -> None:
    ids = (pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL)
    device = rig.plug(*ids)
    info = DeviceInfo("/dev/hidraw0", pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL, "usb", pad.DESCRIPTOR, (0x10005,))

    opened: list[UsbSource] = []

    def open_usb(info: DeviceInfo, origin_ns: int, number: int) -> UsbSource:
        opened.append(UsbSource(info, origin_ns=origin_ns))
        opened[-1].wait_open()
        return opened[-1]

    source = SteadySource(info, open_usb)
    device.feed_patiently(map(pad.numbered, range(30)))
    until(lambda: len(drain(source)[0]) == 30)
    device.unplug()
    until(lambda: source.status().state == "lost")
    device = rig.plug(*ids)
    source.reopen(info)
    device.feed_patiently(map(pad.numbered, range(30, 50)))
    until(lambda: len(drain(source)[0]) == 50)
    rows, _ = drain(source)
    assert [seq for seq, _, _ in rows] == list(range(50))
    t_ns = [t for _, t, _ in rows]
    assert t_ns == sorted(t_ns)
    assert t_ns[-1] <= source.now_ns()
    os.kill(opened[-1].pid, signal.SIGKILL)
    until(lambda: source.status().state == "live" and len(opened) == 3)
    device.feed_patiently(map(pad.numbered, range(50, 60)))
    until(lambda: len(drain(source)[0]) == 60)
    source.close()
    assert all(piece.join() for piece in opened)
