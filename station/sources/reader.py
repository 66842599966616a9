"""The reader process: one open device, stamped where its reports arrive.

Run as `python -m station.sources.reader` by `sources.usb`; its first line of input is the configuration, the
following ones are commands. A process and not a thread, because a window that paints at 60 frames a second
makes a thread stamp reports milliseconds late, and the kernel's queue holds 8 ms at 8 kHz (docs/architecture.md,
"Reading devices").

Five threads, all short: the main one waits for reports, stamps and stores them; one takes commands, one executes
them in order (a feature report may take seconds and must delay neither a stamp nor the end), after what the device has
to be told on opening; one writes the journal (a disk may stall); one measures how late this process wakes. Ends when
its input ends, that is with its parent. An interface that it takes from a kernel's driver has a keeper (`usb_node`).

Imports no NumPy, so that it reads within a tenth of a second of being started.

Commands: `send` (bytes, `feature`), `last` (a list of such, sent at the end), `get` (id of a feature report, `size`,
`bare`, `ticket`), `system` (`ticket`).
Messages: `ready` (with the descriptor), `failed` (kind, detail), `lost`, `opened` (the step that failed and why, or 0),
`talk` (which of what is said by itself, problem or ""), `sent` (problem), `answer` (ticket, report or the system's
words, problem), `journal` (problem or ""), `long`, `overflow`, `ended`. Each command gets one `sent` or `answer`.
"""

from __future__ import annotations

import os
import queue
import threading
import time
from dataclasses import dataclass, field
from typing import Any

from station.capture.journal_writer import FLUSH_EVERY_S, SYNC_EVERY_S, JournalWriter
from station.sources.child import Lines
from station.sources.conversation import from_values
from station.sources.favour import favour_this_process, hold_in_memory
from station.sources.hidapi_port import Port, PortError
from station.sources.lateness import LIBRARY_QUEUE, QUEUE, LatenessMeter, OverflowGuess
from station.sources.ring import W_BEAT_NS, W_DROPPED, W_ERROR_NS, W_LOST, RingWriter, map_ring
from station.sources.system_power import battery_of
from station.sources.talking import Talker
from station.sources.usb_node import keep
from station.sources.vendor_class import RECEIVER, interface, pad_is_there
from station.words import devices as words

READ_TIMEOUT_MS = 50
HEARTBEAT_S = 0.01
PATIENCE_S = 4.0


@dataclass(frozen=True, slots=True)
class Config:
    """What the parent wants. `drop` lists report ids of keyboards and mice, which are never stored; `interface` is the
    protocol of one that no HID driver presents, whose device has the vendor and product id `ids`."""

    path: str
    ring: str
    origin_ns: int
    descriptor: str = ""
    serial: str = ""
    journal: str | None = None
    header: dict[str, Any] | None = None
    talk: dict[str, Any] = field(default_factory=dict)
    drop: tuple[int, ...] = ()
    interface: str = ""
    ids: tuple[int, ...] = ()
    priority: bool = True


class Reader:
    """The parts of the process and how they end."""

    def __init__(self, config: Config, lines: Lines) -> None:
        self._config = config
        self._lines = lines
        self._stop = threading.Event()
        self._todo: queue.SimpleQueue[dict[str, Any] | None] = queue.SimpleQueue()
        self._worker = threading.Thread(target=self._work_loop, name="work", daemon=True)
        memory = map_ring(config.ring)
        if os.name == "posix":
            os.unlink(config.ring)
        self._hangs = False
        self._last: list[dict[str, Any]] = []
        self._sent = 0
        self._refused: dict[str, str] = {}
        self._talker = Talker(from_values(config.talk), self._hand_over, lambda a: self._todo.put({"reply": a}))
        self._ring = RingWriter(memory)
        self._port = open_port(config)
        self._journal = self._open_journal()

    def run(self) -> None:
        """Read until the device or the parent is gone."""
        flusher = threading.Thread(target=self._flush_loop, name="journal", daemon=True)
        commands = threading.Thread(target=self._command_loop, name="commands", daemon=True)
        heartbeat = threading.Thread(target=self._heartbeat, name="heartbeat", daemon=True)
        for thread in (flusher, commands, self._worker, heartbeat):
            thread.start()
        hold_in_memory()
        self._lines.say(event="ready", descriptor=self._port.descriptor().hex())
        lost = self._read_loop()
        self._stop.set()
        self._talker.end()
        if lost:
            self._lines.say(event="lost", detail=lost)
        flusher.join(PATIENCE_S)
        self._todo.put(None)
        self._worker.join(0.1 if self._hangs else PATIENCE_S)
        if not self._worker.is_alive():  # hidapi would free what a request that hangs still uses
            self._port.close()
        self._lines.say(event="ended")

    def _read_loop(self) -> str:
        """Store reports; returns why the device is gone ("" when asked to stop)."""
        ring, journal, port, now = self._ring, self._journal, self._port, time.perf_counter_ns
        origin, drop = self._config.origin_ns, frozenset(self._config.drop)
        overflow = OverflowGuess(LIBRARY_QUEUE if self._config.interface else QUEUE)
        saw = self._talker.saw if self._talker.listens else None
        told_long, there = False, False
        is_received = self._config.interface == RECEIVER
        while not self._stop.is_set():
            try:
                report = port.read(READ_TIMEOUT_MS)
            except (OSError, ValueError) as error:
                return str(error) or words.READ_ERROR
            t_ns = now() - origin
            ring.set_word(W_BEAT_NS, t_ns)
            if not report:
                continue
            if drop and report[0] in drop:
                ring.set_word(W_DROPPED, 1)
                continue
            if not ring.write(t_ns, report) and not told_long:
                told_long = True
                self._lines.say(event="long", size=len(report))
            if journal is not None:
                journal.append(t_ns, report)
            if saw is not None:
                saw(report)
            if is_received and (now_there := pad_is_there(report)) not in (None, there):
                there = bool(now_there)
                self._lines.say(event="pad", there=there)
            if overflow.saw(t_ns):
                self._overflowed(overflow.lost)
        return ""

    def _overflowed(self, lost: int) -> None:
        self._ring.set_word(W_LOST, lost)
        if self._journal is not None:
            self._journal.note(lost=lost)
        self._lines.say(event="overflow", lost=lost)

    def _open_journal(self) -> JournalWriter | None:
        if self._config.journal is None:
            return None
        try:
            journal = JournalWriter(self._config.journal, self._config.header or {})
        except OSError as error:
            self._lines.say(event="journal", problem=error.strerror or words.UNKNOWN_REASON)
            return None
        return journal

    def _flush_loop(self) -> None:
        """Hand the journal to the system ten times a second and to the disk every second."""
        journal, told, synced = self._journal, "", time.monotonic()
        if journal is None:
            return
        while not self._stop.wait(FLUSH_EVERY_S):
            sync = time.monotonic() - synced >= SYNC_EVERY_S
            journal.flush(sync=sync)
            if sync:
                synced = time.monotonic()
            if journal.problem != told:
                told = journal.problem
                self._lines.say(event="journal", problem=told)
        journal.close()

    def _command_loop(self) -> None:
        """What the parent sends; ends the process when the parent is gone.

        What came before the end is still done (it may be what stops a motor), unless the device hangs.
        """
        while (message := self._lines.read()) is not None:
            self._todo.put(message)
        self._talker.end()
        self._todo.put(None)
        self._worker.join(PATIENCE_S)
        self._hangs = self._worker.is_alive()
        self._stop.set()
        time.sleep(2 * PATIENCE_S)
        os._exit(3)  # the main thread hangs in the driver: nobody is left to wait for it

    def _work_loop(self) -> None:
        failed = self._talker.open()
        self._lines.say(event="opened", step=failed.step if failed else 0, reason=failed.reason if failed else "")
        while (command := self._next()) is not None:
            if "send" in command:
                self._send(command)
            elif "reply" in command:
                self._tell_talk("answers", self._hand_over(command["reply"], False, numbered=False))
                self._talker.answered()
            elif "last" in command:
                self._last = command["last"]
                self._lines.say(event="sent", problem="")
            elif "get" in command:
                self._get(command)
            elif "system" in command:
                self._lines.say(event="answer", ticket=command["ticket"], system=battery_of(self._config.path))
        for command in self._last:
            self._send(command)

    def _next(self) -> dict[str, Any] | None:
        """The next command; what keeps the device awake is said meanwhile."""
        while True:
            pause_s = self._talker.pause_s()
            try:
                if pause_s != 0:
                    return self._todo.get(timeout=pause_s)
            except queue.Empty:
                pass
            self._tell_talk("keep_alive", self._talker.keep_alive())

    def _tell_talk(self, what: str, problem: str) -> None:
        """What is said by itself and was refused: once, and once when it is taken again."""
        if problem != self._refused.get(what, ""):
            self._refused[what] = problem
            self._lines.say(event="talk", what=what, problem=problem)

    def _send(self, command: dict[str, Any]) -> None:
        problem = self._hand_over(bytes.fromhex(command["send"]), bool(command.get("feature")))
        self._lines.say(event="sent", problem=problem)

    def _hand_over(self, report: bytes, feature: bool, numbered: bool = True) -> str:
        """Send one report; why it was refused, or empty. An answer bears the number of what it answers, if any."""
        if numbered and not feature:
            report = self._talker.numbered(report, self._sent)
            self._sent += 1
        try:
            self._port.send(report, feature)
        except PortError as error:
            return str(error) or words.NO_REASON
        return ""

    def _get(self, command: dict[str, Any]) -> None:
        report, problem = b"", ""
        try:
            report = self._port.get_feature(command["get"], command["size"], command["bare"])
        except PortError as error:
            problem = str(error) or words.NO_REASON
        self._lines.say(event="answer", ticket=command["ticket"], report=report.hex(), problem=problem)

    def _heartbeat(self) -> None:
        """Sleep to deadlines and publish how late this process wakes."""
        meter, due, beats = LatenessMeter(), time.perf_counter(), 0
        while not self._stop.is_set():
            due += HEARTBEAT_S
            time.sleep(max(0.0, due - time.perf_counter()))
            late = time.perf_counter() - due
            meter.add(int(late * 1e9))
            due += late if late > HEARTBEAT_S else 0.0
            beats += 1
            if beats % 64 == 0 and (p99_ns := meter.p99_ns()) is not None:
                self._ring.set_word(W_ERROR_NS, max(1, p99_ns))


def open_port(config: Config) -> Port:
    """Open the node and make sure that it is still the device that was chosen."""
    if config.interface:
        one = interface(config.path)
        if one is not None and [one.protocol, one.vendor_id, one.product_id] != [config.interface, *config.ids]:
            raise PortError("replaced", "")
    port = Port(os.fsencode(config.path))
    same = not config.serial or port.serial() in ("", config.serial)
    if not same or (config.descriptor and port.descriptor() not in (b"", bytes.fromhex(config.descriptor))):
        port.close()
        raise PortError("replaced", "")
    return port


def main() -> int:
    """The process. Exit status 0 after an orderly end, 1 when the device could not be opened."""
    lines = Lines()
    config = Config(**(lines.read() or {}))
    if config.interface and (one := interface(config.path)) is not None:
        keep(one.node, one.number)
    if config.priority:
        favour_this_process()
    try:
        reader = Reader(config, lines)
    except PortError as error:
        lines.say(event="failed", kind=error.kind, detail=str(error))
        return 1
    reader.run()
    return 0


if __name__ == "__main__":
    status = main()
    os._exit(status)  # the command thread waits in a read that nothing would wake
