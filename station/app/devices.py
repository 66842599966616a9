"""The edge where real units are: seen, listed, and opened with a reader process, one steady clock over re-plugs, and a
journal for each time they are plugged in.
"""

from __future__ import annotations

import logging
from collections.abc import Collection, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from station.app import paths
from station.app.sent_reports import refuse_unasked
from station.errors import DeviceLost
from station.sheets.model import Sheet
from station.sources.devices import Appeared, DeviceWatcher, Gone, list_devices
from station.sources.port import DeviceInfo, Source
from station.sources.steady import SteadySource
from station.sources.usb import UsbSource
from station.words import desk as words
from station.words import devices

KEPT_JOURNALS = 20
"""journals are the evidence of a try that a crash cut short; results keep their own captures"""
_log = logging.getLogger(__name__)


Ids = tuple[int, int]


class Hardware(Protocol):
    """Who sees devices come and go, and opens them. `also`: vendor and product ids that are shown besides those of
    what says that it is a game controller."""

    def take_events(self) -> Sequence[Appeared | Gone]: ...
    def name_also(self, also: Collection[Ids]) -> None: ...
    def list_others(self, also: Collection[Ids]) -> Sequence[DeviceInfo]:
        """What is there, also what does not say what it is. May take a tenth of a second; DeviceError."""
        ...

    def open(self, info: DeviceInfo, sheet: Sheet) -> Source:
        """Open it and wait until it reads. DeviceError says why it cannot be opened."""
        ...

    def follow(self, info: DeviceInfo, sheet: Sheet) -> Source:
        """As `open`, for one that is read for a night: no journal of all its reports is written."""
        ...

    def close(self) -> None: ...


class RealHardware:
    """The devices of this machine."""

    def __init__(self, also: Collection[Ids]) -> None:
        self.watcher = DeviceWatcher(also=also)

    def take_events(self) -> Sequence[Appeared | Gone]:
        return self.watcher.take_events()

    def name_also(self, also: Collection[Ids]) -> None:
        self.watcher.name_also(also)

    def list_others(self, also: Collection[Ids]) -> Sequence[DeviceInfo]:
        return list_devices(also=also, include_others=True)

    def open(self, info: DeviceInfo, sheet: Sheet) -> Source:
        return open_device(info, sheet, paths.records_folder() / "journal")

    def follow(self, info: DeviceInfo, sheet: Sheet) -> Source:
        return open_device(info, sheet, None)

    def close(self) -> None:
        self.watcher.close()


class NoHardware:
    """None at all: only simulated units can be plugged in."""

    def take_events(self) -> Sequence[Appeared | Gone]:
        return ()

    def name_also(self, also: Collection[Ids]) -> None:
        """Nothing shows."""

    def list_others(self, also: Collection[Ids]) -> Sequence[DeviceInfo]:
        return ()

    def open(self, info: DeviceInfo, sheet: Sheet) -> Source:
        raise DeviceLost(words.NOT_PLUGGED_IN.format(device=info.called or devices.THIS_DEVICE))

    def follow(self, info: DeviceInfo, sheet: Sheet) -> Source:
        return self.open(info, sheet)

    def close(self) -> None:
        """Nothing to let go of."""


def open_device(info: DeviceInfo, sheet: Sheet, journals: Path | None) -> SteadySource:
    """Open a device and wait until it reads. DeviceError says why it cannot be opened. `journals` None: none."""
    refuse_unasked(sheet)
    stamp = f"{datetime.now(UTC):%Y%m%dT%H%M%S%f}"

    def piece(info: DeviceInfo, origin_ns: int, number: int) -> UsbSource:
        path = _journal(journals, f"{stamp}-{number}") if journals is not None else None
        source = UsbSource(info, sheet.talk, path, origin_ns=origin_ns, sheet=sheet.name)
        try:
            source.wait_open()
        except Exception:
            source.close()
            raise
        return source

    return SteadySource(info, piece)


def _journal(folder: Path, stem: str) -> Path | None:
    """Where the journal goes; None (reading goes on without) when the folder cannot be written."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for old in sorted(folder.glob("*.journal"))[: -KEPT_JOURNALS + 1]:
            old.unlink(missing_ok=True)
    except OSError as error:
        _log.warning("no journal: %s", error)
        return None
    return folder / f"{stem}.journal"
