"""The journal: what was flushed survives anything; what was not is the only loss."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from station.capture.file import CaptureMeta
from station.capture.journal import JournalWriter, join_captures, journal_header, read_journal
from station.errors import CaptureError

META = CaptureMeta(0x1209, 1, "Plover T2", "SM07-01", "usb", "2025-03-04T10:00:00+00:00")
HEADER = journal_header(META, b"\x05\x01\xc0")


def filled(path: Path, batches: int = 3) -> Path:
    """A journal of `batches` flushes with two reports each (sizes 3 and 2)."""
    journal = JournalWriter(path, HEADER)
    for i in range(batches):
        journal.append(10 * i, bytes([1, i, 7]))
        journal.append(10 * i + 5, bytes([2, i]))
        journal.flush()
    journal.close()
    return path


def test_a_journal_comes_back_as_a_capture(tmp_path: Path) -> None:
    capture = read_journal(filled(tmp_path / "a.journal"))
    assert (capture.descriptor, capture.meta, capture.marks) == (b"\x05\x01\xc0", META, ())
    assert capture.block.t_ns.tolist() == [0, 5, 10, 15, 20, 25]
    assert capture.block.size.tolist() == [3, 2] * 3
    assert capture.block.raw[:4].tolist() == [[1, 0, 7], [2, 0, 0], [1, 1, 7], [2, 1, 0]]


def test_wherever_the_tail_is_torn_the_whole_frames_before_it_are_read(tmp_path: Path) -> None:
    whole = filled(tmp_path / "a.journal").read_bytes()
    seen = set()
    header_end = whole.index(b"REPT")
    for cut in range(header_end, len(whole) + 1):
        torn = tmp_path / "torn.journal"
        torn.write_bytes(whole[:cut])
        seen.add(len(read_journal(torn).block))
    assert seen == {0, 2, 4, 6}


def test_a_damaged_frame_ends_the_reading_there(tmp_path: Path) -> None:
    path = filled(tmp_path / "a.journal")
    data = bytearray(path.read_bytes())
    data[-1] ^= 1
    path.write_bytes(bytes(data))
    assert len(read_journal(path).block) == 4


def test_an_earlier_recording_is_never_overwritten(tmp_path: Path) -> None:
    path = filled(tmp_path / "a.journal")
    with pytest.raises(FileExistsError):
        JournalWriter(path, HEADER)
    assert len(read_journal(path).block) == 6


def test_a_full_disk_costs_nothing_once_there_is_room(tmp_path: Path) -> None:
    room = [10_000]

    def disk(file: int, data: bytes) -> int:
        if room[0] <= 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        part = data[: room[0]]
        room[0] -= len(part)
        return os.write(file, part)

    journal = JournalWriter(tmp_path / "a.journal", HEADER, write=disk)
    journal.append(0, b"\x01")
    assert journal.flush()
    room[0] = 7  # the next frame is cut in its middle
    for i in range(1, 20):
        journal.append(i, bytes([i]))
        assert not journal.flush()
    assert journal.problem == os.strerror(errno.ENOSPC)
    assert len(read_journal(tmp_path / "a.journal").block) == 1
    room[0] = 10_000
    assert journal.flush()
    assert journal.problem == ""
    journal.close()
    assert read_journal(tmp_path / "a.journal").block.t_ns.tolist() == list(range(20))


def test_what_was_flushed_survives_a_kill(tmp_path: Path) -> None:
    path = tmp_path / "a.journal"
    code = (
        "import sys, json\n"
        "from station.capture.journal_writer import JournalWriter\n"
        "journal = JournalWriter(sys.argv[1], json.loads(sys.argv[2]))\n"
        "for i in range(1000): journal.append(i, bytes([i & 255] * 13))\n"
        "journal.flush()\n"
        "journal.append(1000, b'not flushed')\n"
        "print('ready', flush=True)\n"
        "sys.stdin.read()\n"
    )
    root = Path(__file__).parents[2]
    with subprocess.Popen(
        [sys.executable, "-c", code, str(path), json.dumps(HEADER)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=root,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline().strip() == b"ready"
        process.send_signal(getattr(signal, "SIGKILL", signal.SIGTERM))
    block = read_journal(path).block
    assert np.array_equal(block.t_ns, np.arange(1000))
    assert np.array_equal(block.raw[:, 12], np.arange(1000) & 255)


def test_lost_reports_are_noted(tmp_path: Path) -> None:
    journal = JournalWriter(tmp_path / "a.journal", HEADER)
    journal.append(1, b"\x01")
    journal.note(lost=4)
    journal.close()
    capture = read_journal(tmp_path / "a.journal")
    assert capture.meta.lost == capture.block.lost == 4


def test_the_journals_of_an_unplugged_unit_join(tmp_path: Path) -> None:
    parts = []
    for i, name in enumerate("ab"):
        journal = JournalWriter(tmp_path / name, HEADER)
        journal.append(100 * i, bytes([i]) * (i + 1))
        journal.note(lost=1)
        journal.close()
        parts.append(read_journal(tmp_path / name))
    joined = join_captures(parts)
    assert joined.block.t_ns.tolist() == [0, 100]
    assert joined.block.raw.tolist() == [[0, 0], [1, 1]]
    assert joined.meta.lost == 2
    with pytest.raises(CaptureError, match="run backwards"):
        join_captures(parts[::-1])
    with pytest.raises(CaptureError, match="nothing to join"):
        join_captures([])


@pytest.mark.parametrize(
    ("data", "says"),
    [
        pytest.param(b"", "not a journal", id="an empty file"),
        pytest.param(b"PK\x03\x04" * 9, "not a journal", id="a foreign file"),
        pytest.param(b"RPJRNL\r\n", "nothing in it", id="a journal cut in its first line"),
    ],
)
def test_a_bad_journal_gets_one_sentence(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "bad.journal"
    path.write_bytes(data)
    with pytest.raises(CaptureError, match=says):
        read_journal(path)


def test_a_missing_journal_names_the_path(tmp_path: Path) -> None:
    with pytest.raises(CaptureError, match=r"none\.journal.*check the path"):
        read_journal(tmp_path / "none.journal")
