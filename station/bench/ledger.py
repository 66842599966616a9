"""What is kept of a unit that is left alone, on disk: a crash costs what came since the last time it was saved."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, fields, replace
from itertools import pairwise, starmap
from pathlib import Path
from typing import Any
from uuid import UUID

from station.capture.journal import JournalWriter, join_captures, journal_header, note_mark, read_journal
from station.capture.regular import read_regular
from station.capture.types import MAX_DESCRIPTOR, Capture, CaptureMeta, Mark, check_meta
from station.checks.alone import Alone
from station.errors import CaptureError
from station.hid.types import ReportBlock
from station.records.clock import parse_time
from station.records.files import put_in_place
from station.sources.devices import same_device
from station.sources.port import DeviceInfo
from station.sources.sockets import socket_of

_log = logging.getLogger(__name__)
MOST_S = 36 * 3600.0
"""a day and a night: then it ends by itself"""
MOST_BYTES = 256 * 1024
EARLIEST_YEAR = 2000
"""from so long ago on a count of ns has room"""


@dataclass(frozen=True, slots=True)
class Asked:
    """Which unit is left alone, from when on, for how long, and by what it is known again.

    `begun_at`: UTC, time zero of its recording. `seconds` 0: until it is ended. `socket`: where it is plugged in.
    """

    id: str
    unit_id: str
    tag: str
    visit_id: str
    begun_at: str
    seconds: float
    socket: str
    descriptor: bytes
    meta: CaptureMeta


class Ledger:
    """The files of one unit: what was asked, and a journal for each time that the program ran.

    Nothing is given up while the disk takes nothing: it waits in memory (at most what a night amounts to) and goes
    out with the next `save`. For one thread.
    """

    def __init__(self, folder: Path, asked: Asked) -> None:
        self._folder, self.asked = folder, asked
        self._journal: JournalWriter | None = None
        self._waiting: list[ReportBlock | Mark] = []
        self._told = False

    def add(self, block: ReportBlock) -> None:
        """Reports that are kept."""
        if len(block):
            self._waiting.append(block)

    def mark(self, mark: Mark) -> None:
        self._waiting.append(mark)

    def save(self) -> str:
        """Put everything on the disk; the system's word for why it would not go, else empty."""
        try:
            self._tell()
            journal = self._open()
        except OSError as error:
            return error.strerror or type(error).__name__
        for one in self._waiting:
            if isinstance(one, Mark):
                note_mark(journal, one)
            else:
                for t_ns, size, raw in zip(one.t_ns.tolist(), one.size.tolist(), one.raw, strict=True):
                    journal.append(t_ns, raw[:size].tobytes())
        self._waiting = []
        journal.flush(sync=True)
        return journal.problem

    def close(self) -> str:
        """Save and let go of the file, to go on later."""
        problem = self.save()
        if self._journal is not None:
            self._journal.close()
            self._journal = None
        return problem

    def remove(self) -> None:
        """Its result is in the records: the files are not needed any more."""
        if self._journal is not None:
            self._journal.close()
            self._journal = None
        for path in (*_journals(self._folder, self.asked.id), self._folder / f"{self.asked.id}.json"):
            path.unlink(missing_ok=True)

    def _tell(self) -> None:
        if not self._told:
            self._folder.mkdir(parents=True, exist_ok=True)
            put_in_place(_asked_text(self.asked).encode(), self._folder / f"{self.asked.id}.json")
            self._told = True

    def _open(self) -> JournalWriter:
        if self._journal is None:
            number = len(_journals(self._folder, self.asked.id))
            path = self._folder / f"{self.asked.id}-{number:03d}.journal"
            self._journal = JournalWriter(path, journal_header(self.asked.meta, self.asked.descriptor))
        return self._journal


def known_again(asked: Asked, info: DeviceInfo, key: str) -> bool:
    """Whether a device is that unit come back: of its kind, and with its serial number or, without one, in its socket.

    `key`: what it was opened by before, "" if that is not known.
    """
    meta = asked.meta
    was = DeviceInfo("", meta.vendor_id, meta.product_id, meta.product, meta.serial, meta.bus, asked.descriptor)
    if not same_device(was, info):
        return False
    return bool(info.serial) or (asked.socket or key) in (socket_of(info.key) or info.key, "")


def kept_in(folder: Path, unusable: Callable[[Path], None] | None = None) -> Iterator[tuple[Asked, Capture | None]]:
    """What was under way when the program ended, oldest first; None: nothing that was kept of it can be read.

    A file that tells of no such unit is put aside under another name, logged, and told to `unusable`.
    """
    for path in sorted(folder.glob("*.json")) if folder.is_dir() else ():
        try:
            asked = _read_asked(json.loads(read_regular(path, MOST_BYTES)), path.stem)
            parts = [part for journal in _journals(folder, asked.id) if (part := _part(journal)) is not None]
            kept = join_captures([*starmap(_left_off, pairwise(parts)), parts[-1]]) if parts else None
        except (OSError, CaptureError, LookupError, TypeError, ValueError, ArithmeticError, RecursionError) as error:
            _log.warning("%s tells of no unit that was left alone: %s", path, error)
            if unusable is not None:
                unusable(_put_aside(path))
        else:
            yield asked, kept


def _put_aside(path: Path) -> Path:
    """It is not looked at again; nothing is deleted. Where it is now."""
    aside = path.with_name(f"{path.name}.aside")
    try:
        path.replace(aside)
    except OSError:
        return path
    return aside


def _left_off(part: Capture, after: Capture) -> Capture:
    """A part as it was left off; what is lost between it and the part `after` was not watched."""
    known = max([0, *part.block.t_ns[-1:].tolist(), *(m.time_ns for m in part.marks)])
    told = bool(after.marks) and after.marks[0].event == "unwatched" and after.marks[0].time_ns <= known
    if told or (part.marks and part.marks[-1].event in ("away", "unwatched")):
        return part
    return replace(part, marks=(*part.marks, Mark(known, "unwatched", Alone.name, "")))


def _part(path: Path) -> Capture | None:
    try:
        return read_journal(path)
    except CaptureError as error:
        _log.warning("a journal was left out: %s", error)
        return None


def _journals(folder: Path, name: str) -> list[Path]:
    return sorted(folder.glob(f"{name}-*.journal"))


def _asked_text(asked: Asked) -> str:
    return json.dumps({**asdict(asked), "descriptor": asked.descriptor.hex()})


def _read_asked(found: dict[str, Any], name: str) -> Asked:
    """ValueError and its like for whatever this program does not write. `name`: of the file."""
    given = {field.name: found[field.name] for field in fields(Asked)}
    given["descriptor"] = bytes.fromhex(given["descriptor"])
    given["meta"] = check_meta(CaptureMeta(**given["meta"]))
    texts = ("id", "unit_id", "tag", "visit_id", "begun_at", "socket")
    if not all(isinstance(given[text], str) for text in texts) or len(given["descriptor"]) > MAX_DESCRIPTOR:
        raise ValueError("not what was written")
    if given["id"] != name or str(UUID(name)) != name:
        raise ValueError("the name of the file is not that of what it tells of")
    if parse_time(given["begun_at"]).year < EARLIEST_YEAR:
        raise ValueError("it began too early")
    given["seconds"] = float(given["seconds"])
    if not 0.0 <= given["seconds"] <= MOST_S:  # nor what is no number
        raise ValueError("nobody asks for so long")
    return Asked(**given)
