"""The window's one partner: one part for each port, over one worker, one thread that owns the devices, one store.

Calls from the window return at once: what touches a device, changes the records or takes long goes to the worker and
comes back as an event. Reads are short queries on a read connection.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable

from station.app import paths
from station.app.advice import Adviser
from station.app.certificates import Certificates
from station.app.changes import Changes
from station.app.device_room import DeviceRoom
from station.app.devices import Hardware, NoHardware, RealHardware
from station.app.errands import Errands
from station.app.evidence import EvidenceReader
from station.app.house import HouseFile, HouseWatch
from station.app.hub import Hub
from station.app.instead import next_to_plug_in
from station.app.labels import Labels
from station.app.left_alone import AloneKeeper
from station.app.lessons import Lessons
from station.app.live import Live
from station.app.lots import LotAdviser
from station.app.plan import Planner
from station.app.plugged import Devices, Sheets, Silent
from station.app.put_by import PutBy
from station.app.settings import Settings
from station.app.shelf_of_sheets import SheetShelf
from station.app.shop_figures import ShopReader
from station.app.shop_settings import ShopSettings
from station.app.stock import Stock
from station.app.teacher import Teacher
from station.app.undo import Undo
from station.app.units import Units
from station.app.upkeep import Upkeep
from station.app.visits import Visits
from station.app.work import Worker
from station.app.works import Works
from station.bench.types import PlannedVisit
from station.records.clock import Clock, system_clock
from station.records.store import Store
from station.records.types import UnitHistory
from station.sheets.model import Sheet
from station.sources.port import Source
from station.ui.ports import DeskEvent, RecordChanged
from station.ui.visit_kind import proposed_kind


class StationDesk:
    """See station.ui.ports.Desk. `watch` looks for devices plugged in; the demo leaves it out. `hardware` stands in the
    place of the devices of this machine.

    `plug_in_sample` opens a simulated unit by its tag (default: in real time, as the demo does).
    """

    def __init__(
        self,
        store: Store,
        *,
        watch: bool = True,
        now: Clock = system_clock,
        plug_in_sample: Callable[[str], Source] | None = None,
        hardware: Hardware | None = None,
    ) -> None:
        self._store = store
        self._told: deque[DeskEvent] = deque()
        tell = self._told.append
        self._worker = worker = Worker(tell)
        self._errands = errands = Errands(worker.submit, tell)
        shelf, house = SheetShelf(paths.sheets_folder()), HouseFile(store.folder)
        self._hardware = hardware or (RealHardware(shelf.also()) if watch else NoHardware())
        self._teacher = teacher = Teacher(shelf, paths.walks_folder(), worker.submit)
        put_by = PutBy(store, tell)
        self._room = room = DeviceRoom(
            self._hardware,
            errands,
            shelf,
            whose=lambda info: store.unit_by_serial(info.vendor_id, info.product_id, info.serial),
            instead=lambda held, but: next_to_plug_in(store, held, now().date().isoformat(), but),
            busy=lambda: teacher.busy,
            later=worker.submit,
            tell=tell,
            put_by=put_by.put_by,
        )
        worker.submit(put_by.take_up)  # before anything that asks how a visit stands
        self.watch_house = HouseWatch(house.now, worker.submit)
        self.watch_house.look_now()
        silent = Silent(self._hardware, shelf)
        self.advice = Adviser(store, shelf, self._advise_later, house.now, self._plan_of)
        self._lots = LotAdviser(
            store, shelf, self.advice.learned_guide, lambda: now().date().isoformat(), tell, house.now
        )
        self._planner = Planner(self._lots.problem, tell)
        changes = Changes(worker, self.advice, self._lots)
        self.settings = Settings(store, worker)
        self.undo = undo = Undo(store, changes, self.settings, room, shelf, tell)
        self.options = ShopSettings(store, worker, changes, undo, house.now, tell)
        self.units = Units(store, now, changes, undo, tell)
        self.work = Works(store, now, changes, undo)
        self.stock = Stock(store, self._lots, changes, undo, tell, worker, shelf, now, self._planner)
        self.certificates = Certificates(store, worker, shelf, room, now, house.now)
        self.labels = Labels(store, worker)
        self.upkeep = Upkeep(store, worker, errands, room, changes)
        self.evidence = EvidenceReader(store, shelf, house.now, tell, lambda: room.active)
        self.figures = ShopReader(store, shelf, tell)
        open_sample = plug_in_sample or _in_real_time
        self.devices = Devices(room, errands, worker, silent, open_sample)
        self.sheets = Sheets(room, shelf, worker, house.now)
        self.visit = Visits(store, now, errands, room, self.settings, house.now, changes, shelf, undo)
        self.alone = AloneKeeper(
            store, paths.alone_folder(), now, room, errands, worker, shelf, self._hardware, self.visit, tell,
            changes.happened, house.now, open_sample,
        )  # fmt: skip
        worker.submit(self.alone.take_up)
        self.teaching = Lessons(teacher, errands, room, shelf, silent, tell)
        self._hub = Hub(room, errands, worker.submit, tell)
        beside = (self.alone.follow, self._hub.follow, self.watch_house.follow)
        self.live = Live(self._told, room, errands, teacher, beside, changes.happened, undo)
        self._closed = False

    def advance(self, seconds: float) -> None:
        """Move the clock of a simulated unit that does not run in real time (tests)."""
        if (active := self._room.active) is not None:
            active.advance(seconds)
        self.alone.advance(seconds)

    def settle(self) -> None:
        """Wait until everything asked for so far is done (tests; the window never waits)."""
        self._worker.settle()
        while self._errands.tend():
            self._worker.settle()
        self._lots.settle()
        self._planner.settle()
        self.evidence.settle()
        self.figures.settle()

    def close(self) -> None:
        """Stop the visit, finish what is queued, close device and records."""
        if self._closed:
            return
        self._closed = True
        self._hardware.close()
        self._teacher.press("stop")
        self._planner.stop()
        self._lots.close()
        self._planner.close()
        self.evidence.close()
        self.figures.close()
        self._errands.close()
        self._worker.close()
        self.alone.close()
        self._hub.close()
        self._room.close()
        self._store.close()

    def _plan_of(self, history: UnitHistory, sheet: Sheet) -> PlannedVisit:
        return self.visit.planned(history.unit.id, proposed_kind(history, self.units.today(), sheet), sheet)

    def _advise_later(self, unit_id: str, work: Callable[[], None]) -> None:
        def job() -> Iterable[DeskEvent]:
            work()
            return (RecordChanged(unit_id),)

        self._worker.submit(job)


def _in_real_time(tag: str) -> Source:
    from station.app.samples import open_sample  # the simulation is loaded only when it is wanted

    return open_sample(tag)
