"""A device as a source: the parent's side of the reader process.

Nothing here waits: the constructor starts the process, `take` copies from the ring, `status` looks at what the
process last said and at its signs of life. All stamps count from `origin_ns` on `time.perf_counter_ns`, which is the
same monotonic clock in all processes of a machine: setting the wall clock does not touch it, and it
stands still (Linux, macOS) or goes on (Windows) while the machine sleeps, never back.
"""

from __future__ import annotations

import contextlib
import logging
import os
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from station.capture.journal import journal_header
from station.capture.text import plain_text
from station.capture.types import CaptureMeta
from station.errors import DeviceBusy, DeviceDenied, DeviceError, DeviceLost
from station.hid.types import ReportBlock
from station.sources import child, ours
from station.sources.commands import Commands, answer_of
from station.sources.conversation import NOTHING, Conversation, as_values
from station.sources.port import Answer, DeviceInfo, Request, SourceStatus
from station.sources.privacy import feature_width, private_report_ids, records_keys, report_width, sent_as_feature
from station.sources.problems import device_error
from station.sources.ring import W_BEAT_NS, W_ERROR_NS, W_LOST, create_ring
from station.sources.ring_view import RingView
from station.sources.vendor_class import RECEIVER
from station.words import devices as words
from station.words import grammar

__all__ = ["UsbSource"]

log = logging.getLogger(__name__)

READER = "station.sources.reader"
MAX_OUTSTANDING = 16_384
"""bytes of commands the device has not taken yet; below the size of a pipe, so that a write never waits"""
SMALL = 24
"""what a command counts for at least: its frame takes room in the pipe too"""
START_PATIENCE_S = 10.0


@dataclass(slots=True)
class _Said:
    """What the reader process said last. Written by the listening thread, read by everybody."""

    ready: bool = False
    ready_ns: int = 0
    gone: bool = False
    error: DeviceError | None = None
    journal: str = ""
    long: int = 0
    send: str = ""
    opening: str = ""
    opened: bool = False
    there: bool = False
    """whether the pad of a receiver's interface is switched on"""
    talk: dict[str, str] = field(default_factory=dict)
    """what is said by itself (`answers`, `keep_alive`) → why it was refused last, or empty"""
    descriptor: bytes = b""
    settled: threading.Event = field(default_factory=threading.Event)


class UsbSource:
    """The Source port on a HID device (USB or Bluetooth), or on an interface that no HID driver presents, read by a
    process of its own.

    `talk` is what is said to it on opening and after (a sheet's `open` and what belongs to it). `journal_path` must
    not exist yet. `origin_ns` lets several sources share one clock. Reports of keyboard and mouse collections are
    dropped before they are stored unless `allow_private`. `stuck_after_s`: without a sign of life for so long the
    reader counts as stuck.

    Errors of opening show in `status()` (state lost) and are raised by `wait_open`.
    """

    def __init__(
        self,
        info: DeviceInfo,
        talk: Conversation = NOTHING,
        journal_path: str | os.PathLike[str] | None = None,
        *,
        origin_ns: int | None = None,
        sheet: str | None = None,
        allow_private: bool = False,
        stuck_after_s: float = 2.0,
        priority: bool = True,
    ) -> None:
        if not allow_private and records_keys(info.descriptor, info.usages):
            raise DeviceDenied(words.PRIVATE_REFUSED.format(name=info.product or words.THIS_DEVICE))
        self._info = info
        self._origin_ns = time.perf_counter_ns() if origin_ns is None else origin_ns
        self._stuck_after_ns = int(stuck_after_s * 1e9)
        self._said = _Said()
        self._closed = False
        self._commands = Commands()
        self._born_ns = self.now_ns()
        self._ring_path = self._make_ring()
        self._view = RingView(self._ring_path)
        self._steps = talk.steps
        self._process = self._start(talk, journal_path, sheet, allow_private, priority)
        self._listener = child.listen(self._process, self._hear)

    @property
    def info(self) -> DeviceInfo:
        return self._info

    @property
    def descriptor(self) -> bytes:
        """The report descriptor that the open device gave, or else the one it was chosen by."""
        return self._said.descriptor or self._info.descriptor

    @property
    def pid(self) -> int:
        """The reader's process id."""
        return self._process.pid

    def now_ns(self) -> int:
        return time.perf_counter_ns() - self._origin_ns

    def written(self) -> int:
        """Reports that arrived so far."""
        return self._view.written()

    def failed(self) -> bool:
        """Whether the reader died or hangs although the device may still be there."""
        return not self._closed and self._said.error is None and self._said.ready and bool(self._trouble())

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        return self._view.take(cursor, limit)

    def status(self) -> SourceStatus:
        lost = self._view.word(W_LOST)
        error_ns = self._view.word(W_ERROR_NS)
        error_us = error_ns / 1000 if error_ns else None
        if self._closed:
            return SourceStatus("ended", lost, "process", error_us, words.CLOSED)
        if trouble := self._trouble():
            return SourceStatus("lost", lost, "process", error_us, trouble)
        return SourceStatus("live", lost, "process", error_us, self._remark())

    def wait_open(self, timeout_s: float = START_PATIENCE_S) -> None:
        """Wait until the device is open. Raises DeviceDenied, DeviceBusy, DeviceLost or DeviceError."""
        opened = self._said.settled.wait(timeout_s)
        if self._said.error is not None and not self._said.ready:
            raise self._said.error
        if not opened or not self._said.ready:
            raise DeviceError(self._trouble() or words.NOT_OPEN_IN_TIME.format(name=self._name()))

    def send(self, report: bytes, *, feature: bool = False) -> None:
        """Queue a report. DeviceLost when the device is gone, DeviceBusy when it takes nothing any more."""
        self._command({"send": report.hex(), "feature": feature}, len(report))

    def at_end(self, reports: Sequence[tuple[bytes, bool]]) -> None:
        """The reader process sends these when it ends, whatever ended the program."""
        last = [{"send": report.hex(), "feature": feature} for report, feature in reports]
        self._command({"last": last}, sum(len(report) + SMALL for report, _ in reports))

    def ask_feature(self, report_id: int) -> Request:
        """Ask for a feature report. The answer comes by itself, or says why not; errors as `send`."""
        bare = sys.platform.startswith("linux") and self._info.bus == "bluetooth"
        return self._ask({"get": report_id, "size": feature_width(self.descriptor, report_id), "bare": bare})

    def ask_system(self) -> Request:
        """Ask what the system keeps of the battery, in the reader process: it may have to ask the device."""
        return self._ask({"system": True})

    def close(self) -> None:
        """End the reader process. Returns at once; what was taken and the ring stay readable."""
        self._closed = True
        child.end(self._process)
        self._remove_ring()

    def join(self, timeout_s: float = 5.0) -> bool:
        """Wait until the reader process has ended and its journal is whole; False when it has not."""
        try:
            self._process.wait(timeout_s)
        except subprocess.TimeoutExpired:
            return False
        self._listener.join(timeout_s)
        return not self._listener.is_alive()

    # --- within ------------------------------------------------------------------------------------

    def _ask(self, command: dict[str, object]) -> Request:
        ticket, request = self._commands.ticket()
        try:
            self._command(command | {"ticket": ticket}, 0)
        except DeviceError:
            self._commands.answer(ticket, Answer(problem=words.NOT_ASKED))
            raise
        return request

    def _command(self, command: dict[str, object], size: int) -> None:
        """Hand a command to the reader, which executes them in order. Never waits."""
        with self._commands.lock:
            if self._commands.outstanding() + max(size, SMALL) > MAX_OUTSTANDING:
                raise DeviceBusy(words.TAKES_NO_COMMANDS.format(name=self._name()))
            if self._closed or not child.write_line(self._process, command):
                raise DeviceLost(self._trouble() or words.IS_CLOSED.format(name=self._name()))
            self._commands.given(max(size, SMALL), self.now_ns())

    def _name(self) -> str:
        return self._info.called or words.NAMED_DEVICE

    def _make_ring(self) -> str:
        try:
            return create_ring(report_width(self._info.descriptor))
        except OSError as error:
            reason = error.strerror or words.NO_REASON
            raise DeviceError(words.NO_MEMORY.format(name=self._name(), reason=reason)) from error

    def _start(
        self,
        talk: Conversation,
        journal_path: str | os.PathLike[str] | None,
        sheet: str | None,
        allow_private: bool,
        priority: bool,
    ) -> subprocess.Popen[bytes]:
        info = self._info
        began = datetime.now(UTC)
        meta = CaptureMeta(
            info.vendor_id, info.product_id, info.product, info.serial, info.bus, began.isoformat(), sheet
        )
        said = talk.settled(lambda report: sent_as_feature(info.descriptor, report))
        config: dict[str, object] = {
            "path": info.key,
            "ring": self._ring_path,
            "origin_ns": self._origin_ns,
            "descriptor": info.descriptor.hex(),
            "serial": info.serial,
            "journal": None if journal_path is None else os.fspath(journal_path),
            "header": journal_header(meta, info.descriptor),
            "talk": as_values(said),
            "interface": info.interface,
            "ids": [info.vendor_id, info.product_id],
            "drop": [] if allow_private else sorted(private_report_ids(info.descriptor)),
            "priority": priority,
        }
        try:
            process = child.spawn(READER, config)
        except OSError as error:
            self._remove_ring()
            raise DeviceError(words.READER_CANNOT_START.format(reason=error.strerror or words.NO_REASON)) from error
        if info.interface:
            ours.begin(info.key)
        return process

    def _remove_ring(self) -> None:
        """The reader deletes the file as soon as it has mapped it; this is for one that never came so far."""
        with contextlib.suppress(OSError):
            os.unlink(self._ring_path)

    def _hear(self, message: dict[str, Any]) -> None:
        said = self._said
        match message.get("event"):
            case "ready":
                said.descriptor = bytes.fromhex(message["descriptor"])
                said.ready_ns = self.now_ns()
                said.ready = True
                said.settled.set()
            case "failed":
                said.error = device_error(message["kind"], self._info.called, message.get("detail", ""))
                said.settled.set()
            case "lost":
                said.error = device_error("gone", self._info.called)
            case "journal":
                said.journal = message["problem"]
            case "long":
                said.long = message["size"]
            case "opened":
                said.opening = self._opening(message["step"], message["reason"])
                said.opened = True
            case "pad":
                said.there = message["there"]
            case "talk":
                said.talk[message["what"]] = message["problem"]
            case "sent":
                self._commands.done(self.now_ns())
                said.send = message["problem"]
            case "answer":
                self._commands.done(self.now_ns())
                self._commands.answer(message["ticket"], answer_of(message))
            case "gone":  # everything it said has been heard
                said.gone = True
                if self._info.interface:
                    ours.end(self._info.key)
                if left := self._commands.give_up():
                    log.warning("%s: %d commands were not carried out", self._name(), left)
                said.settled.set()

    def _opening(self, number: int, reason: str) -> str:
        """Which step of opening failed, and how; empty where none did."""
        if not number:
            return ""
        if reason:
            reason = plain_text(reason, 200)
            return words.OPENING_REFUSED.format(name=self._name(), step=number, reason=reason)
        step = self._steps[number - 1]
        tries, expected = grammar.times(step.tries), step.expect.hex(" ")
        return words.OPENING_SILENT.format(
            name=self._name(), step=number, expected=expected, wait_ms=step.within_ms, tries=tries
        )

    def _trouble(self) -> str:
        """Why no reports can be expected; empty when all is well."""
        if self._said.error is not None:
            return str(self._said.error)
        if self._said.gone:
            return words.READER_ENDED.format(name=self._name(), status=self._process.poll())
        beat_ns = max(self._view.word(W_BEAT_NS), self._said.ready_ns or self._born_ns)
        patience_ns = self._stuck_after_ns if self._said.ready else int(START_PATIENCE_S * 1e9)
        if self.now_ns() - beat_ns > patience_ns:
            return words.STOPPED_ANSWERING.format(name=self._name())
        return ""

    def _remark(self) -> str:
        """What the person should know although reports arrive."""
        if self._said.journal:
            return words.CANNOT_SAVE.format(reason=self._said.journal)
        if self._said.long:
            return words.LONGER_REPORTS.format(name=self._name(), size=self._said.long)
        if self._said.opening:
            return self._said.opening
        if self._info.interface == RECEIVER and self._steps and self._said.opened and not self._said.there:
            return words.PAD_IS_OFF.format(name=self._name())
        for what, sentence in words.TALK_REFUSED.items():
            if problem := self._said.talk.get(what):
                return sentence.format(name=self._name(), reason=plain_text(problem, 200))
        if waiting := self._commands.stuck(self.now_ns()):
            if waiting == 1:
                return words.COMMAND_HANGS.format(name=self._name())
            more = grammar.count_of(waiting - 1, words.MORE_WAITING)
            return words.COMMANDS_HANG.format(name=self._name(), waiting=more)
        if self._said.send:
            return words.COMMAND_REFUSED.format(name=self._name(), reason=self._said.send)
        return ""
