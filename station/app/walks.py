"""Guided walks that are kept: each as a capture with its marks, in a folder beside the records."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from station.capture.file import read_capture, save_capture
from station.capture.types import CaptureMeta
from station.errors import DescriptorError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout
from station.sheets.learn import Observed
from station.sheets.learn.captured import as_capture, steps_in
from station.sources.port import DeviceInfo

KEPT_WALKS = 20
OPEN = "-open"
"""ends the name of a walk that led to no sheet yet"""


class WalkShelf:
    """The folder of walks. Names are time, vendor and product id; a walk that led to no sheet yet says so."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def new(self, info: DeviceInfo) -> Path:
        """Where a walk that begins now is kept."""
        ids = _ids(info.vendor_id, info.product_id)
        return self._folder / f"{datetime.now(UTC):%Y%m%dT%H%M%S%f}-{ids}{OPEN}.npz"

    def open_walk(self, info: DeviceInfo) -> Path | None:
        """The newest walk with this kind of device that led to no sheet."""
        return max(self._folder.glob(f"*-{_ids(info.vendor_id, info.product_id)}{OPEN}.npz"), default=None)

    def keep(
        self, path: Path, seen: Sequence[Observed], info: DeviceInfo, descriptor: bytes, sheet: str | None = None
    ) -> None:
        """Write the walk as far as it went; the oldest walks beyond `KEPT_WALKS` go."""
        self._folder.mkdir(parents=True, exist_ok=True)
        keep_walk(path, seen, info, descriptor, sheet)
        for old in sorted(self._folder.glob("*.npz"))[:-KEPT_WALKS]:
            old.unlink(missing_ok=True)

    def close(self, vendor_id: int, product_id: int) -> None:
        """There is a sheet now: the walks with this kind of device stay, and are not offered again."""
        for path in self._folder.glob(f"*-{_ids(vendor_id, product_id)}{OPEN}.npz"):
            path.replace(path.with_name(path.name.replace(f"{OPEN}.npz", ".npz")))


def keep_walk(
    path: Path, seen: Sequence[Observed], info: DeviceInfo, descriptor: bytes, sheet: str | None = None
) -> None:
    """The walk as a capture with its marks. `sheet`: the one that was in force, of which more than the controls is
    worth keeping."""
    now, lost = datetime.now(UTC).isoformat(), seen[-1].block.lost if seen else 0
    meta = CaptureMeta(info.vendor_id, info.product_id, info.product, info.serial, info.bus, now, sheet, lost=lost)
    save_capture(path, as_capture(seen, descriptor, meta))


def kept_steps(path: Path) -> tuple[Observed, ...]:
    """The steps of a kept walk. CaptureError when it holds none."""
    return steps_in(read_capture(path))


def layout_of(descriptor: bytes) -> Layout | None:
    """What the descriptor says, if it can be read: a second witness only."""
    try:
        return parse_descriptor(descriptor) if descriptor else None
    except DescriptorError:
        return None


def _ids(vendor_id: int, product_id: int) -> str:
    return f"{vendor_id:04x}-{product_id:04x}"
