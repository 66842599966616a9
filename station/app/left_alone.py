"""The units that are left alone: followed by a thread of their own, their results recorded, gone on with at a start."""

from __future__ import annotations

import logging
import threading
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import cast

from station.app.device_room import DeviceRoom, Opened, Taker
from station.app.devices import Hardware
from station.app.errands import Ask, Errand, Errands
from station.app.shelf_of_sheets import Known, SheetShelf
from station.app.visits import Visits
from station.app.work import Worker
from station.bench.alone import Ended, LeftAlone, held_by
from station.bench.alone_view import AloneView
from station.bench.auto import VirtualSource
from station.bench.bugs import tell_crash_hook
from station.bench.ledger import Asked, Ledger, kept_in, known_again
from station.bench.timekeeping import Clocks, system_clocks
from station.capture.file import Capture, write_capture
from station.capture.text import visible
from station.capture.types import CaptureMeta
from station.checks.alone import Alone
from station.checks.house import House
from station.checks.types import Assessment
from station.errors import DeviceUnknown, InputError, StationError
from station.judgement.limits import in_force
from station.records.clock import Clock, parse_time, time_text, unix_ms
from station.records.ids import IdMaker
from station.records.store import Store
from station.records.types import Result
from station.sources.follower import A_RING, Follower
from station.sources.port import DeviceInfo, Source
from station.sources.sockets import socket_of
from station.ui.ports import AloneEnded, DeskEvent, RecordChanged, Said
from station.words import alone as words
from station.words import common
from station.words import desk as desk_words
from station.words import devices as device_words

_log = logging.getLogger(__name__)
MOST = 8
PERIOD_S = 0.25
NS = 1_000_000_000


@dataclass(slots=True)
class _One:
    """One unit. `info`: the device as it is plugged in, or was last. `ended`: its result waits to be stored."""

    left: LeftAlone
    known: Known
    info: DeviceInfo
    asked: Asked
    by_hand: bool = False
    is_over: bool = False
    why: str = ""
    """it ended early"""
    ended: Ended | None = None
    told: bool = False
    """that its result could not be stored yet"""


class AloneKeeper:
    """The `AlonePort`. What concerns devices belongs to the window's thread, following them to a thread of its own;
    `_lock` guards what both touch."""

    def __init__(
        self,
        store: Store,
        folder: Path,
        now: Clock,
        room: DeviceRoom,
        errands: Errands,
        worker: Worker,
        shelf: SheetShelf,
        hardware: Hardware,
        visits: Visits,
        tell: Callable[[DeskEvent], None],
        changed: Callable[[str], None],
        house: Callable[[], House],
        open_sample: Callable[[str], Source],
    ) -> None:
        self._open_sample = open_sample
        self._store, self._folder, self._now = store, folder, now
        self._room, self._errands, self._worker, self._shelf = room, errands, worker, shelf
        self._hardware, self._visits, self._tell, self._changed = hardware, visits, tell, changed
        self._house = house
        self._clocks: Clocks = system_clocks()
        self._ids = IdMaker()
        self._ones: dict[str, _One] = {}
        self._returned: deque[_One] = deque()
        """done with, and their devices to be given back"""
        self._lock = threading.RLock()
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._taken_up = not any(folder.glob("*.json"))
        room.on_return(self._comes_back, lambda: self._taken_up)

    # --- the port -----------------------------------------------------------------------------------------

    def views(self) -> Sequence[AloneView]:
        return tuple(one.left.view() for one in list(self._ones.values()) if one.ended is None)

    def leave(self, unit_id: str, device: DeviceInfo, kind: str, seconds: float) -> None:
        self._errands.begin(self._leave(unit_id, device, kind, seconds))

    def end(self, alone_id: str) -> None:
        one = self._ones.get(alone_id)
        if one is None or one.ended is not None:
            raise InputError(words.NOT_ENDED)
        one.by_hand = one.is_over = True

    # --- leaving a unit alone -----------------------------------------------------------------------------

    def _leave(self, unit_id: str, device: DeviceInfo, kind: str, seconds: float) -> Errand:
        if len(self._ones) >= MOST:
            raise InputError(words.MOST_LEFT.format(most=MOST))
        self._visits.must_be(unit_id, device)
        opened = yield from self._room.opening(device)
        if not opened.known.sheet.controls:
            self._room.let_go(opened)
            raise DeviceUnknown(desk_words.NO_CONTROLS_SAID.format(device=device.called or device_words.THIS_DEVICE))
        active = self._room.active
        if opened.plug is None and active is not None:
            self._room.nothing_waits()
            yield Ask(active.stop)
        try:
            one = yield Ask(partial(self._begun, unit_id, opened, kind, seconds))
        except (StationError, GeneratorExit):
            self._room.let_go(opened)
            raise
        one.info = self._room.lend(opened)
        self._ones[one.asked.id] = one
        self._run()
        return (Said(words.LEFT.format(tag=one.asked.tag)), RecordChanged(unit_id))

    def _begun(self, unit_id: str, opened: Opened, kind: str, seconds: float) -> _One:
        """Its visit is begun or goes on, its files begin. For the worker."""
        source, known = opened.source, opened.known
        unit, visit = self._visits.visit_for(unit_id, source.info, known.sheet, kind)
        info, now = source.info, self._now()
        begun_at = time_text(now)
        meta = CaptureMeta(
            info.vendor_id, info.product_id, info.product, info.serial, info.bus, begun_at, known.sheet.name
        )
        name = self._ids.new(unix_ms(now))
        asked = Asked(name, unit.id, unit.tag, visit.id, begun_at, seconds, socket_of(info.key), info.descriptor, meta)
        left = LeftAlone(
            Ledger(self._folder, asked),
            known.binding,
            self._clock(source, 0),
            limits=in_force(known.sheet, self._house()),
        )
        if info.bus == "simulated":
            left.attach(source)
        else:
            held = held_by(Follower(source, A_RING), known.binding)
            source.close()
            left.attach(self._hardware.follow(info, known.sheet), held)
        return _One(left, known, info, asked)

    def _clock(self, source: Source | None, passed_ns: int) -> Callable[[], int]:
        """ns since it was left: goes on while the computer sleeps; that of a simulated unit is moved by hand."""
        clock = self._clocks.always if source is None or getattr(source, "realtime", True) else source.now_ns
        since = clock() - passed_ns
        return lambda: clock() - since

    # --- coming back --------------------------------------------------------------------------------------

    def _comes_back(self, info: DeviceInfo) -> Taker | None:
        """Who waits for this device. One in the place of another ends what was under way there."""
        socket = socket_of(info.key)
        ones = (one for one in list(self._ones.values()) if one.ended is None)
        waiting = [one for one in ones if not self._room.lends(one.info)]
        for one in waiting:
            if known_again(one.asked, info, one.info.key):
                return partial(self._take, one)
        for one in waiting:
            if (one.asked.socket or one.info.key) == (socket or info.key):
                one.why, one.is_over = words.ANOTHER_DEVICE, True
        return None

    def _take(self, one: _One, info: DeviceInfo) -> None:
        """For the worker."""
        reopen = getattr(one.left.source, "reopen", None)
        if reopen is not None:
            reopen(info)
        else:
            fresh = self._hardware.follow(info, one.known.sheet)
            with self._lock:
                one.left.attach(fresh)
        one.info = info

    def take_up(self) -> Iterable[DeskEvent]:
        """Go on with what was under way when the program ended. For the worker, once."""
        unusable: list[Path] = []
        try:
            for asked, before in kept_in(self._folder, unusable.append):
                yield from self._gone_on_with(asked, before)
        finally:
            self._taken_up = True
        for path in unusable:
            yield Said(words.UNUSABLE.format(file=visible(str(path))), bad=True)

    def _gone_on_with(self, asked: Asked, before: Capture | None) -> Iterable[DeskEvent]:
        """One that cannot go on ends none of the others."""
        try:
            one = self._resumed(asked, before)
        except StationError as error:
            _log.warning("%s cannot go on being left alone: %s", asked.tag, error)
            yield Said(words.NOT_TAKEN_UP.format(tag=visible(asked.tag), error=error), bad=True)
            return
        except Exception as error:  # noqa: BLE001 - a bug with one unit must not end the others
            tell_crash_hook(error)
            return
        if one is not None:
            self._plug_in_again(one)
            self._ones[asked.id] = one
            self._run()
            yield Said(words.TAKEN_UP.format(tag=visible(asked.tag)))

    def _plug_in_again(self, one: _One) -> None:
        """A simulated unit is nowhere while the program is closed, and nobody can plug it in but us."""
        if one.asked.meta.bus != "simulated":
            return
        try:
            source = self._open_sample(one.asked.meta.serial)
        except InputError:
            return  # no sample of this version: it stays away
        one.info = source.info
        one.left.attach(source)
        self._room.hold(source.info)

    def _resumed(self, asked: Asked, before: Capture | None) -> _One | None:
        ledger = Ledger(self._folder, asked)
        if any(r.id == asked.id for r in self._store.results_of_visit(asked.visit_id)):
            ledger.remove()
            return None
        meta = asked.meta
        info = DeviceInfo("", meta.vendor_id, meta.product_id, meta.product, meta.serial, meta.bus, asked.descriptor)
        sheet = self._shelf.named(meta.sheet or "")
        known = self._shelf.know(info) if sheet is None else self._shelf.fitted(sheet, info)
        passed = max(0, round((self._now() - parse_time(asked.begun_at)) / timedelta(microseconds=1)) * 1000)
        left = LeftAlone(
            ledger,
            known.binding,
            self._clock(None, passed),
            before=before,
            resumed=True,
            limits=in_force(known.sheet, self._house()),
        )
        return _One(left, known, info, asked)

    # --- the thread ---------------------------------------------------------------------------------------

    def _run(self) -> None:
        """Follow them; those whose clock is moved by hand are followed by `advance`."""
        if self._thread is None and any(not _by_hand(one) for one in self._ones.values()):
            self._thread = threading.Thread(target=self._follow, name="left-alone", daemon=True)
            self._thread.start()

    def _follow(self) -> None:
        while not self._stop.wait(PERIOD_S):
            self.tick()

    def advance(self, seconds: float) -> None:
        """Move the clocks of simulated units that do not run in real time (tests)."""
        for one in list(self._ones.values()):
            if _by_hand(one):
                cast("VirtualSource", one.left.source).advance(seconds)
        self.tick(by_hand=True)

    def tick(self, *, by_hand: bool = False) -> None:
        """One look at each."""
        for one in list(self._ones.values()):
            if _by_hand(one) is not by_hand:
                continue
            try:
                if one.ended is None:
                    with self._lock:
                        one.left.tick()
                    if one.is_over or one.left.over:
                        self._judge(one)
                else:
                    self._store_result(one, one.ended)
            except Exception as error:  # noqa: BLE001 - a bug with one unit must not end the others
                tell_crash_hook(error)

    # --- the end ------------------------------------------------------------------------------------------

    def _judge(self, one: _One) -> None:
        """What it came to."""
        with self._lock:
            one.ended = one.left.end(by_hand=one.by_hand)
        self._store_result(one, one.ended)

    def _store_result(self, one: _One, ended: Ended) -> None:
        try:
            self._stored(ended, one.why)
        except StationError as error:
            if not one.told:
                one.told = True
                self._tell(Said(words.NOT_STORED.format(tag=one.asked.tag, error=error), bad=True))
            return
        one.left.forget()
        del self._ones[one.asked.id]
        self._changed(one.asked.unit_id)
        self._tell(AloneEnded(one.asked.unit_id, _said(one, ended.assessment), bool(ended.assessment.again)))
        self._tell(RecordChanged(one.asked.unit_id))
        self._returned.append(one)

    def follow(self) -> None:
        """Give back the devices of those that are done with. For the window's thread, every frame."""
        while self._returned:
            one = self._returned.popleft()
            if one.left.source is not None:
                whose = partial(self._store.unit, one.asked.unit_id)
                self._errands.begin(self._room.give_back(one.info, one.left.source, one.known, whose))

    def _stored(self, ended: Ended, why: str) -> None:
        """Evidence first, then the row that names it; one that is there already is not added again."""
        asked = ended.asked
        tries = self._store.results_of_visit(asked.visit_id)
        if any(r.id == asked.id for r in tries):
            return
        sha256 = self._store.keep_capture(write_capture(ended.capture))
        self._store.add_result(
            Result(
                id=asked.id,
                visit_id=asked.visit_id,
                check=Alone.name,
                control="",
                attempt=1 + sum(r.check == Alone.name for r in tries),
                at=time_text(self._now()),
                assessment=ended.assessment,
                capture_sha256=sha256,
                lost=ended.capture.block.lost,
                reason=why,
            )
        )

    def close(self) -> None:
        """The program ends: what is under way goes on at the next start."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(20.0)
        with self._lock:
            for one in self._ones.values():
                if one.ended is None:
                    one.left.close()
                if one.left.source is not None:
                    one.left.source.close()
            self._ones.clear()


def _said(one: _One, assessment: Assessment) -> str:
    outcome = common.OUTCOMES[assessment.outcome.value]
    line = words.ENDED_WHY if one.why else words.ENDED_AGAIN if assessment.again else words.ENDED
    return line.format(tag=one.asked.tag, outcome=outcome, again=assessment.again, why=one.why)


def _by_hand(one: _One) -> bool:
    return not getattr(one.left.source, "realtime", True)
