"""The items of a report descriptor: bytes cut into prefix and data, nothing interpreted (HID 1.11 §6.2.2.1–6.2.2.3)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from station.errors import DescriptorError
from station.words import hid as words

MAIN, GLOBAL, LOCAL, LONG = 0, 1, 2, 3
"""item types; 3 is reserved by HID 1.11 except for the prefix of long items"""

_LONG_PREFIX = 0xFE
_SIZES = (0, 1, 2, 4)


class Item(NamedTuple):
    """One item. `offset` is that of its prefix byte; a long item has type `LONG` and its long tag."""

    offset: int
    type: int
    tag: int
    data: bytes

    @property
    def unsigned(self) -> int:
        """The data as an unsigned little-endian number (§5.8); 0 where the item has no data."""
        return int.from_bytes(self.data, "little")

    @property
    def signed(self) -> int:
        """The data as a two's complement number of its own size; 0 where the item has no data."""
        return int.from_bytes(self.data, "little", signed=True)


def malformed(what: str, offset: int) -> DescriptorError:
    """The error to raise: what is wrong at that byte, and the way round it."""
    return DescriptorError(words.MALFORMED.format(what=what), offset)


def read_items(data: bytes) -> Iterator[Item]:
    """Cut `data` into items.

    Raises:
        DescriptorError: an item that reaches beyond the end, or a reserved item type.
    """
    offset = 0
    while offset < len(data):
        item, size = _long_item(data, offset) if data[offset] == _LONG_PREFIX else _short_item(data, offset)
        if offset + size > len(data):
            raise malformed(words.CUT_SHORT, offset)
        yield item
        offset += size


def _short_item(data: bytes, offset: int) -> tuple[Item, int]:
    prefix = data[offset]
    size = _SIZES[prefix & 3]
    kind = prefix >> 2 & 3
    if kind == LONG:
        raise malformed(words.RESERVED_TYPE.format(prefix=prefix), offset)
    return Item(offset, kind, prefix >> 4, data[offset + 1 : offset + 1 + size]), 1 + size


def _long_item(data: bytes, offset: int) -> tuple[Item, int]:
    if offset + 3 > len(data):
        raise malformed(words.CUT_SHORT, offset)
    size = data[offset + 1]
    return Item(offset, LONG, data[offset + 2], data[offset + 3 : offset + 3 + size]), 3 + size
