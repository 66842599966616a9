"""What is plugged in, for the window: devices, sample units, devices that do not say what they are, their sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial

from station.app.device_room import DeviceRoom
from station.app.devices import Hardware
from station.app.errands import Errands
from station.app.shelf_of_sheets import SheetShelf
from station.app.work import Worker
from station.checks.house import House
from station.checks.types import Limits, Reading
from station.judgement.limits import Origin, came_from, in_force
from station.sheets.model import Sheet
from station.sources.devices import is_silent
from station.sources.port import DeviceInfo, Source
from station.ui.ports import DeskEvent, Said, SilentListed
from station.words import desk as words


class Silent:
    """Which devices are shown besides those that say that they are game controllers: what sheets name and what the
    person chose."""

    def __init__(self, hardware: Hardware, shelf: SheetShelf) -> None:
        self._hardware, self._shelf = hardware, shelf
        self._chosen: set[tuple[int, int]] = set()

    def also(self) -> set[tuple[int, int]]:
        """(vendor id, product id) of each."""
        return self._shelf.also() | self._chosen

    def choose(self, device: DeviceInfo) -> None:
        self._chosen.add((device.vendor_id, device.product_id))
        self.show()

    def show(self) -> None:
        """A sheet came, or the person chose: what is plugged in and named now appears."""
        self._hardware.name_also(self.also())

    def list(self) -> tuple[DeviceInfo, ...]:
        """Devices that are there and do not say what they are. May take a tenth of a second; DeviceError."""
        return tuple(d for d in self._hardware.list_others(self.also()) if is_silent(d))


class Devices:
    """The `DevicePort`. `open_sample` plugs in a simulated unit by its tag."""

    def __init__(
        self,
        room: DeviceRoom,
        errands: Errands,
        worker: Worker,
        silent: Silent,
        open_sample: Callable[[str], Source],
    ) -> None:
        self._room, self._errands, self._worker, self._silent = room, errands, worker, silent
        self._open_sample = open_sample

    def devices(self) -> Sequence[DeviceInfo]:
        return self._room.devices()

    def to_front(self, device: DeviceInfo) -> None:
        self._errands.begin(self._room.to_front(device))

    def samples(self) -> Sequence[str]:
        from station.app.samples import sample_tags  # the simulation is loaded only when it is wanted

        return sample_tags()

    def plug_in_sample(self, tag: str) -> None:
        self._errands.begin(self._room.plug_in(partial(self._open_sample, tag)))

    def list_silent(self) -> int:
        def job() -> Iterable[DeskEvent]:
            return (SilentListed(self._silent.list()),)

        return self._worker.submit(job)

    def open_silent(self, device: DeviceInfo) -> None:
        self._silent.choose(device)


class Sheets:
    """The `SheetPort`."""

    def __init__(self, room: DeviceRoom, shelf: SheetShelf, worker: Worker, house: Callable[[], House]) -> None:
        self._room, self._shelf, self._worker, self._house = room, shelf, worker, house

    def sheet(self) -> Sheet | None:
        active = self._room.active
        return active.sheet if active is not None else None

    def limits(self) -> Limits:
        return in_force(self.sheet(), self._house())

    def limits_problem(self) -> str:
        return self._house().problem

    def limit_origin(self, check: str, reading: Reading) -> Origin | None:
        return came_from(check, reading, self.sheet() or Sheet(""), self._house())

    def save_sheet(self, sheet: Sheet) -> None:
        def job() -> Iterable[DeskEvent]:
            return (Said(words.SHEET_SAVED.format(path=self._shelf.save(sheet))),)

        self._worker.submit(job)
