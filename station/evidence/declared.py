"""What the devices in recordings declared to have, by their own descriptors."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

from station.capture.file import read_descriptor
from station.errors import CaptureError, DescriptorError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout

_KNOWN = 4096
"""recordings whose descriptor is remembered: one that is kept never changes"""


def layouts_in(paths: Iterable[Path]) -> tuple[Layout, ...]:
    """The layouts of these recordings, each once. One that is gone or cannot be read declares nothing."""
    return tuple(layout for one in dict.fromkeys(map(_declared, paths)) if (layout := _layout(one)) is not None)


def _declared(path: Path) -> bytes:
    try:
        return _descriptor(path)
    except CaptureError:
        return b""


@lru_cache(maxsize=_KNOWN)
def _descriptor(path: Path) -> bytes:
    return read_descriptor(path)


@lru_cache(maxsize=64)
def _layout(descriptor: bytes) -> Layout | None:
    try:
        return parse_descriptor(descriptor) if descriptor else None
    except DescriptorError:
        return None
