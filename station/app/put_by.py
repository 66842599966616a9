"""Results that the records could not take when their visit ended: put by in files, and stored at the next start.

A file is JSON: the rows of the result and its evidence. It goes beside the records, or, when that disk has no room, to
the folder of the log or that of temporary files.
"""

from __future__ import annotations

import base64
import json
import logging
import os
import stat
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

from station.app import paths
from station.bench.outbox import Outgoing, instead
from station.capture.regular import read_regular
from station.errors import InputError, RecordRefused, StationError
from station.records.clock import system_clock, unix_ms
from station.records.files import put_in_place
from station.records.ids import IdMaker
from station.records.rows import result_of_rows, result_rows
from station.records.store import Store
from station.records.types import Result
from station.ui.ports import DeskEvent, RecordChanged, Said
from station.words import desk as words
from station.words import grammar

_log = logging.getLogger(__name__)
FOLDER = "waiting"
MOST_BYTES = 2_000_000_000
"""a recording of the largest size, written as base64"""


def waiting_folders(records: Path) -> tuple[Path, ...]:
    """Where results are put by, the first that takes them."""
    whose = os.getuid() if hasattr(os, "getuid") else "waiting"
    return records / FOLDER, paths.log_folder() / FOLDER, Path(tempfile.gettempdir()) / f"restpoint-{whose}"


class PutBy:
    """See above. `tell` gets a sentence when a result was put by, or could not be."""

    def __init__(self, store: Store, tell: Callable[[DeskEvent], None], folders: Sequence[Path] = ()) -> None:
        self._store, self._tell = store, tell
        self._folders = tuple(folders) or waiting_folders(store.folder)
        self._ids = IdMaker()

    def put_by(self, left: Sequence[Outgoing]) -> str:
        """Write each of these to a file; why that failed, empty when all are safe. Again for the same ones: no harm."""
        failed = [one for one in left if not self._put(one)]
        if failed:
            said = words.NOT_PUT_BY.format(results=grammar.count_of(len(failed), words.RESULTS))
            self._tell(Said(said, bad=True))
            return said
        if left:
            self._tell(Said(words.PUT_BY.format(results=grammar.count_of(len(left), words.RESULTS)), bad=True))
        return ""

    def _put(self, one: Outgoing) -> bool:
        if not one.result.id:
            one.result = replace(one.result, id=self._ids.new(unix_ms(system_clock())))
        content = _content(one)
        for folder in self._folders:
            try:
                folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                if not self._is_ours(folder):
                    continue
                put_in_place(content, folder / f"{one.result.id}.json")
            except OSError as error:
                _log.warning("a result could not be put by in %s: %s", folder, error)
            else:
                return True
        return False

    def take_up(self) -> Iterable[DeskEvent]:
        """Store what was put by. For the worker."""
        stored = 0
        said: list[DeskEvent] = []
        for path in self._files():
            try:
                stored += self._take(path)
            except RecordRefused as error:
                _log.warning("%s is of a visit that is not in these records: %s", path, error)
            except StationError as error:
                said.append(Said(words.STILL_PUT_BY.format(error=error, file=path), bad=True))
            except OSError as error:
                said.append(Said(words.PUT_BY_UNREADABLE.format(file=path, reason=error.strerror), bad=True))
            except (LookupError, TypeError, ValueError) as error:
                said.append(Said(words.PUT_BY_UNREADABLE.format(file=path, reason=type(error).__name__), bad=True))
        if stored:
            said = [
                RecordChanged(""),
                Said(words.TAKEN_UP.format(results=grammar.count_of(stored, words.RESULTS))),
                *said,
            ]
        return said

    def _files(self) -> Iterator[Path]:
        for folder in self._folders:
            try:
                if self._is_ours(folder):
                    yield from sorted(folder.glob("*.json"))
            except OSError:
                continue  # it is not there

    def _is_ours(self, folder: Path) -> bool:
        """Whether this user made it: a folder for temporary files may be anybody's, and a link there lead anywhere.
        Outside the folder of the records nobody else may write into it or look. OSError if there is none."""
        there = folder.lstat()
        if not stat.S_ISDIR(there.st_mode):
            return False
        if not hasattr(os, "getuid"):
            return True
        within = folder.parent == self._store.folder  # whoever may write there may write the records
        return there.st_uid == os.getuid() and (within or not there.st_mode & (stat.S_IRWXG | stat.S_IRWXO))

    def _take(self, path: Path) -> int:
        """Store it and remove the file; 1 if the records did not have it yet. What they have otherwise stays."""
        result, npz = _read(path)
        known = next((r for r in self._store.results_of_visit(result.visit_id) if r.id == result.id), None)
        if known is None:
            if npz:
                result = replace(result, capture_sha256=self._store.keep_capture(npz))
            self._store.add_result(result)
        elif _told(known) != _told(result) or (npz and sha256(npz).hexdigest() != known.capture_sha256):
            raise ValueError("the records have another result of that name")
        path.unlink(missing_ok=True)
        return int(known is None)


def _content(one: Outgoing) -> bytes:
    try:
        text = _text(one.result, one.npz)
    except Exception as error:  # noqa: BLE001 - whatever the records would not take either
        _log.exception("a result cannot be written down")
        text = _text(instead(one.result, error), one.npz)
    return text.encode()


def _text(result: Result, npz: bytes | None) -> str:
    head, readings, findings = result_rows(result)
    evidence = base64.b64encode(npz or b"").decode()
    return json.dumps({"result": head, "readings": readings, "findings": findings, "evidence": evidence})


def _read(path: Path) -> tuple[Result, bytes]:
    try:
        there = path.lstat()
        if not stat.S_ISREG(there.st_mode) or (hasattr(os, "getuid") and there.st_uid != os.getuid()):
            raise ValueError("a link, or a file of somebody else")
        said = json.loads(read_regular(path, MOST_BYTES))
        result = result_of_rows(said["result"], said["readings"], said["findings"])
        if result.id != path.stem:
            raise ValueError("it was put by under another name")
        return result, base64.b64decode(said["evidence"], validate=True)
    except RecursionError as error:
        raise InputError(words.PUT_BY_UNREADABLE.format(file=path, reason=type(error).__name__)) from error


def _told(result: Result) -> tuple[object, ...]:
    """What a result says, without what the records add."""
    return result.visit_id, result.check, result.control, result.at, result.by_hand, result.assessment
