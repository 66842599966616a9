"""The ring: order, cursors, readers that fall behind, and no torn rows while another process writes."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from station.sources import ring as ring_module
from station.sources.ring import W_CUT, W_LOST, RingWriter, capacity_for, create_ring, map_ring, ring_bytes
from station.sources.ring_view import RingView

ROOT = Path(__file__).parents[2]


@pytest.fixture
def path() -> Iterator[str]:
    """A ring of 8 reports of 4 bytes."""
    made = create_ring(4, 8)
    yield made
    if os.path.exists(made):
        os.unlink(made)


def fill(writer: RingWriter, begin: int, end: int) -> None:
    """Reports begin…end−1: stamp 10 n, three bytes n."""
    for n in range(begin, end):
        writer.write(10 * n, bytes([n & 255] * 3))


def test_what_is_written_is_read_in_order_and_padded(path: str) -> None:
    writer, view = RingWriter(map_ring(path)), RingView(path)
    fill(writer, 0, 5)
    block, cursor = view.take(0)
    assert (block.seq0, cursor, block.lost) == (0, 5, 0)
    assert block.t_ns.tolist() == [0, 10, 20, 30, 40]
    assert block.size.tolist() == [3] * 5
    assert block.raw[4].tolist() == [4, 4, 4, 0]
    assert (block.t_ns.dtype, block.size.dtype, block.raw.dtype) == (np.int64, np.uint16, np.uint8)


def test_each_reader_keeps_its_own_cursor(path: str) -> None:
    writer, one, two = RingWriter(map_ring(path)), RingView(path), RingView(path)
    fill(writer, 0, 4)
    _, cursor = one.take(0, limit=3)
    fill(writer, 4, 6)
    assert one.take(cursor)[0].t_ns.tolist() == [30, 40, 50]
    assert two.take(0)[0].t_ns.tolist() == [0, 10, 20, 30, 40, 50]
    assert len(one.take(6)[0]) == 0


def test_a_reader_that_fell_behind_gets_the_oldest_and_sees_it_by_the_numbers(path: str) -> None:
    writer, view = RingWriter(map_ring(path)), RingView(path)
    fill(writer, 0, 20)
    block, cursor = view.take(2)
    assert (block.seq0, cursor, block.lost) == (13, 20, 0)  # 7 of 8 slots are safe: the next one may be being filled
    assert block.t_ns.tolist() == [10 * n for n in range(13, 20)]


def test_rows_overwritten_while_they_were_copied_are_left_out(path: str, monkeypatch: pytest.MonkeyPatch) -> None:
    writer, view = RingWriter(map_ring(path)), RingView(path)
    fill(writer, 0, 6)
    heads = iter([6, 12])  # the writer goes on from 6 to 12 between the copy and the second look
    monkeypatch.setattr(view, "written", lambda: next(heads))
    block, cursor = view.take(0)
    assert (block.seq0, cursor) == (5, 6)
    assert block.t_ns.tolist() == [50]


def test_a_cursor_from_the_future_gets_nothing(path: str) -> None:
    RingWriter(map_ring(path))
    block, cursor = RingView(path).take(99)
    assert (len(block), cursor) == (0, 0)


def test_a_report_longer_than_the_rows_is_cut_and_counted(path: str) -> None:
    writer, view = RingWriter(map_ring(path)), RingView(path)
    assert writer.write(0, b"abcd")
    assert not writer.write(1, b"abcdef")
    block, _ = view.take(0)
    assert block.size.tolist() == [4, 4]
    assert view.word(W_CUT) == 1


def test_the_devices_own_losses_are_passed_on(path: str) -> None:
    writer, view = RingWriter(map_ring(path)), RingView(path)
    writer.set_word(W_LOST, 3)
    assert view.take(0)[0].lost == 3


def test_what_was_taken_stays_when_the_writer_goes_on(path: str) -> None:
    writer, view = RingWriter(map_ring(path)), RingView(path)
    fill(writer, 0, 4)
    block, _ = view.take(0)
    fill(writer, 4, 40)
    assert block.t_ns.tolist() == [0, 10, 20, 30]
    assert block.raw[3].tolist() == [3, 3, 3, 0]


def test_no_row_is_torn_while_another_process_writes() -> None:
    path = create_ring(16, 64)
    code = (
        "import sys\n"
        "from station.sources.ring import RingWriter, map_ring\n"
        "writer = RingWriter(map_ring(sys.argv[1]))\n"
        "for n in range(60000): writer.write(n, n.to_bytes(4, 'little') * 4)\n"
    )
    with subprocess.Popen([sys.executable, "-c", code, path], cwd=ROOT) as process:
        view = RingView(path)
        cursor = seen = overwritten = 0
        while cursor < 60_000:
            running = process.poll() is None
            begin = cursor
            block, cursor = view.take(begin)
            numbers = np.ascontiguousarray(block.raw).view("<u4")
            assert (numbers == numbers[:, :1]).all()
            assert np.array_equal(numbers[:, 0], block.t_ns)
            assert np.array_equal(block.t_ns, np.arange(block.seq0, block.seq0 + len(block)))
            seen, overwritten = seen + len(block), overwritten + block.seq0 - begin
            assert running or cursor == 60_000, "the writer ended early"
    os.unlink(path)
    assert seen + overwritten == 60_000


@pytest.mark.parametrize(("width", "capacity"), [(13, 65536), (64, 65536), (1024, 4096), (4096, 4096)])
def test_the_ring_holds_seconds_within_its_memory(width: int, capacity: int) -> None:
    assert capacity_for(width) == capacity
    assert ring_bytes(width, capacity) <= 17 << 20


def test_a_small_shared_memory_folder_is_no_obstacle(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = []
    create = ring_module._create

    def no_room_at_first(folder: str, *rest: int) -> str:
        tried.append(folder)
        if len(tried) == 1:
            raise OSError(28, "No space left on device")
        return create(folder, *rest)

    monkeypatch.setattr(ring_module, "_create", no_room_at_first)
    monkeypatch.setattr(ring_module.os.path, "isdir", lambda _: True)
    path = create_ring(4, 8)
    assert len(tried) == 2
    assert RingView(path).capacity == 8
    os.unlink(path)


def test_a_foreign_file_is_no_ring(tmp_path: Path) -> None:
    (tmp_path / "x").write_bytes(bytes(8192))
    with pytest.raises(ValueError, match="not a ring"):
        map_ring(str(tmp_path / "x"))
