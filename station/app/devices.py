"""Opening a real unit: reader process, one steady clock over re-plugs, and a journal for each time it is plugged in."""

from __future__ import annotations

import logging
from datetime import UTC, datetime
from pathlib import Path

from station.sheets.model import Sheet
from station.sources.port import DeviceInfo
from station.sources.steady import SteadySource
from station.sources.usb import UsbSource

KEPT_JOURNALS = 20
"""journals are the evidence of a try that a crash cut short; results keep their own captures"""
_log = logging.getLogger(__name__)


def open_device(info: DeviceInfo, sheet: Sheet, journals: Path) -> SteadySource:
    """Open a device and wait until it reads. DeviceError says why it cannot be opened."""
    stamp = f"{datetime.now(UTC):%Y%m%dT%H%M%S%f}"

    def piece(info: DeviceInfo, origin_ns: int, number: int) -> UsbSource:
        path = _journal(journals, f"{stamp}-{number}")
        source = UsbSource(info, sheet.open, path, origin_ns=origin_ns, sheet=sheet.name)
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
