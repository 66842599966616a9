"""Report descriptor → layout, by the rules of HID 1.11 (USB-IF, 27 June 2001), with explicit caps.

How the cases are decided that the standard leaves open, or that devices get wrong:

- Extents are read as signed numbers of their own size; a maximum below a minimum ≥ 0 is read again as unsigned
  (the common `25 FF`). A data item whose range is still upside down is an error; padding may say what it likes.
- A data item without any logical extents gets the full unsigned range of its width.
- A unit exponent of 0…15 is the nibble of §6.2.2.7; any other value is taken as it stands (host practice).
- Data wider than 32 bits is read by no host (Linux hid-core.c stops at 32): its bits are kept as one opaque constant.
- Zero bytes behind a closed descriptor are padding. An unfinished one, an item of a reserved type or tag, data
  outside a collection, and data before the first Report ID are errors.
- Long items are skipped. A Push that is never popped, and a Report Count of 0, do no harm.
"""

from __future__ import annotations

from dataclasses import replace

from station.hid.items import GLOBAL, LOCAL, MAIN, Item, malformed, read_items
from station.hid.locals import LocalState, Span
from station.hid.types import Collection, Field, Layout, ReportKind, ReportLayout
from station.words import hid as words

MAX_DESCRIPTOR_BYTES = 4096
MAX_REPORT_BITS = 8 * 8192
MAX_FIELDS = 16_384
MAX_USAGES = 131_072
MAX_PUSH_DEPTH = 32
MAX_COLLECTION_DEPTH = 32
MAX_FIELD_BITS = 32

_INPUT, _OUTPUT, _COLLECTION, _FEATURE, _END_COLLECTION = 0x8, 0x9, 0xA, 0xB, 0xC
_KINDS: dict[int, ReportKind] = {_INPUT: "input", _OUTPUT: "output", _FEATURE: "feature"}
_ORDER: dict[ReportKind, int] = {"input": 0, "output": 1, "feature": 2}
_PAGE, _LOG_MIN, _LOG_MAX, _PHY_MIN, _PHY_MAX, _EXPONENT, _UNIT, _SIZE, _ID, _COUNT, _PUSH, _POP = range(12)
_CONSTANT, _VARIABLE, _RELATIVE, _NULL = 0x01, 0x02, 0x04, 0x40
_APPLICATION = 1
_STATE = frozenset((_PAGE, _LOG_MIN, _LOG_MAX, _PHY_MIN, _PHY_MAX, _EXPONENT, _UNIT, _SIZE, _ID, _COUNT))

_Key = tuple[ReportKind, int]
"""kind and id of a report"""


def parse_descriptor(data: bytes) -> Layout:
    """The layout that the report descriptor `data` describes.

    Time and memory are bounded for any input: see the caps at the head of this module.

    Raises:
        DescriptorError: `data` breaks a rule of HID 1.11 or a cap; carries the byte offset.
    """
    if not data:
        raise malformed(words.EMPTY, 0)
    if len(data) > MAX_DESCRIPTOR_BYTES:
        raise malformed(words.TOO_LONG.format(most=MAX_DESCRIPTOR_BYTES), MAX_DESCRIPTOR_BYTES)
    parser = _Parser(len(data.rstrip(b"\0")))
    for item in read_items(data):
        if parser.at_padding(item.offset):
            break
        parser.feed(item)
    return parser.layout(len(data))


class _Parser:
    """The state of a descriptor being read: global table and stack, local items, collections, bit cursors."""

    def __init__(self, padding_from: int) -> None:
        self._padding_from = padding_from
        self._table: dict[int, Item] = {}
        self._stack: list[dict[int, Item]] = []
        self._local = LocalState()
        self._path: tuple[Collection, ...] = ()
        self._closed = False
        self._numbered = False
        self._applications: list[int] = []
        self._fields: dict[_Key, list[Field]] = {}
        self._bits: dict[_Key, int] = {}
        self._field_count = 0
        self._usage_count = 0
        self._usages: dict[tuple[tuple[int, int], ...], tuple[int, ...]] = {}

    def at_padding(self, offset: int) -> bool:
        """True where nothing but zero bytes follows a closed descriptor."""
        return offset >= self._padding_from and self._closed and not self._path

    def feed(self, item: Item) -> None:
        if item.type == MAIN:
            self._main(item)
            self._local = LocalState()
        elif item.type == GLOBAL:
            self._global(item)
        elif item.type == LOCAL:
            self._local.feed(item, self._number(_PAGE))

    def layout(self, end: int) -> Layout:
        if self._path:
            raise malformed(words.COLLECTION_OPEN, end)
        if not self._closed:
            raise malformed(words.COLLECTION_MISSING, end)
        keys = sorted(self._bits, key=lambda key: (_ORDER[key[0]], key[1]))
        reports = tuple(
            ReportLayout(kind, report_id, (self._bits[kind, report_id] + 7) // 8, tuple(self._fields[kind, report_id]))
            for kind, report_id in keys
        )
        return Layout(reports, tuple(self._applications), self._numbered)

    # --- global items: the item state table (§6.2.2.7) holds the last item of each tag

    def _global(self, item: Item) -> None:
        if item.tag == _PUSH:
            if len(self._stack) >= MAX_PUSH_DEPTH:
                raise malformed(words.TOO_MANY_PUSHES.format(most=MAX_PUSH_DEPTH), item.offset)
            self._stack.append(dict(self._table))
        elif item.tag == _POP:
            if not self._stack:
                raise malformed(words.POP_ALONE, item.offset)
            self._table = self._stack.pop()
        elif item.tag in _STATE:
            self._check(item)
            self._table[item.tag] = item
        else:
            raise malformed(words.RESERVED_GLOBAL.format(tag=item.tag), item.offset)

    def _check(self, item: Item) -> None:
        if item.tag == _PAGE and item.unsigned > 0xFFFF:
            raise malformed(words.PAGE_TOO_LARGE, item.offset)
        if item.tag == _ID:
            if not 1 <= item.unsigned <= 255:
                raise malformed(words.REPORT_ID_OUTSIDE.format(report=item.unsigned), item.offset)
            if self._bits and not self._numbered:
                raise malformed(words.DATA_BEFORE_ID, item.offset)
            self._numbered = True

    def _number(self, tag: int) -> int | None:
        item = self._table.get(tag)
        return None if item is None else item.unsigned

    def _extents(self, low_tag: int, high_tag: int) -> tuple[int, int] | None:
        """Minimum and maximum by the sign rules, one of them 0 where not given; None where neither is."""
        low, high = self._table.get(low_tag), self._table.get(high_tag)
        if low is None and high is None:
            return None
        minimum = low.signed if low else 0
        maximum = high.signed if high else 0
        return minimum, high.unsigned if high and maximum < minimum and minimum >= 0 else maximum

    # --- main items

    def _main(self, item: Item) -> None:
        spans = self._local.finish(self._number(_PAGE), item.offset)
        if item.tag in _KINDS:
            self._data(_KINDS[item.tag], item, spans)
        elif item.tag == _COLLECTION:
            self._open(item, spans)
        elif item.tag == _END_COLLECTION:
            if not self._path:
                raise malformed(words.COLLECTION_NOT_OPEN, item.offset)
            self._path = self._path[:-1]
            self._closed = True
        else:
            raise malformed(words.RESERVED_MAIN.format(tag=item.tag), item.offset)

    def _open(self, item: Item, spans: list[Span]) -> None:
        if len(self._path) >= MAX_COLLECTION_DEPTH:
            raise malformed(words.COLLECTIONS_TOO_DEEP.format(most=MAX_COLLECTION_DEPTH), item.offset)
        if item.unsigned > 255:
            raise malformed(words.COLLECTION_TYPE, item.offset)
        usage = self._expand(spans, 1, item.offset)[0] if spans else 0
        if not self._path and item.unsigned == _APPLICATION:
            self._applications.append(usage)
        self._path = (*self._path, Collection(item.unsigned, usage))

    def _data(self, kind: ReportKind, item: Item, spans: list[Span]) -> None:
        key, size, count = self._placement(kind, item)
        if count == 0:
            return
        start = self._bits.get(key, 8 if self._numbered else 0)
        end = start + size * count
        if end > MAX_REPORT_BITS:
            raise malformed(words.REPORT_TOO_LONG.format(most=MAX_REPORT_BITS // 8), item.offset)
        self._bits[key] = end
        flags = item.unsigned
        padding = size > MAX_FIELD_BITS or (flags & _CONSTANT and not (flags & _VARIABLE and spans))
        if padding:
            size, count = size * count, 1
        self._field_count += count
        if self._field_count > MAX_FIELDS:
            raise malformed(words.TOO_MANY_FIELDS.format(most=MAX_FIELDS), item.offset)
        like = self._template(key, item, size, padding=bool(padding))
        if like.is_array:
            like = replace(like, usages=self._expand(spans, like.logical_max - like.logical_min + 1, item.offset))
        usages = (0,) * count if like.is_array else self._one_each(spans, count, item.offset)
        self._fields.setdefault(key, []).extend(
            replace(like, bit_offset=start + i * size, usage=usage) for i, usage in enumerate(usages)
        )

    def _placement(self, kind: ReportKind, item: Item) -> tuple[_Key, int, int]:
        """Which report, and the Report Size and Count of a data item."""
        size, count, report_id = self._number(_SIZE), self._number(_COUNT), self._number(_ID) or 0
        if not self._path:
            raise malformed(words.DATA_OUTSIDE, item.offset)
        if size is None or count is None:
            raise malformed(words.DATA_BEFORE_SIZE, item.offset)
        if size == 0 and count:
            raise malformed(words.SIZE_ZERO, item.offset)
        if self._numbered and not report_id:
            raise malformed(words.DATA_WITHOUT_ID, item.offset)
        return (kind, report_id), size, count

    def _template(self, key: _Key, item: Item, width: int, *, padding: bool) -> Field:
        """The field that a data item describes, still without place and usage."""
        flags = item.unsigned
        constant = padding or bool(flags & _CONSTANT)
        low, high = self._extents(_LOG_MIN, _LOG_MAX) or (0, 0 if constant else (1 << width) - 1)
        if high < low and not constant:
            raise malformed(words.UPSIDE_DOWN.format(high=high, low=low), item.offset)
        physical = self._extents(_PHY_MIN, _PHY_MAX) or (0, 0)
        exponent = self._table.get(_EXPONENT)
        return Field(
            kind=key[0],
            report_id=key[1],
            usage=0,
            bit_offset=0,
            bit_width=width,
            signed=low < 0 or high < 0,
            logical_min=low,
            logical_max=high,
            physical_min=low if physical == (0, 0) else physical[0],
            physical_max=high if physical == (0, 0) else physical[1],
            unit=self._number(_UNIT) or 0,
            unit_exponent=_exponent(exponent) if exponent else 0,
            is_array=not padding and not flags & _VARIABLE,
            is_constant=constant,
            is_relative=bool(flags & _RELATIVE),
            has_null=bool(flags & _NULL),
            collections=self._path,
        )

    def _one_each(self, spans: list[Span], count: int, offset: int) -> tuple[int, ...]:
        """A usage for each of `count` fields: where there are fewer, the last one repeats (§6.2.2.8)."""
        given = self._expand(spans, count, offset) or (0,)
        return given + given[-1:] * (count - len(given))

    def _expand(self, spans: list[Span], need: int, offset: int) -> tuple[int, ...]:
        """The first `need` usages of the spans, or all there are. The same list is made, and counted, once."""
        runs: list[tuple[int, int]] = []
        for span in spans:
            take = min(span.last - span.first + 1, need)
            need -= take
            runs.append(((span.page or 0) << 16 | span.first, take))
        key = tuple(runs)
        if key not in self._usages:
            self._usage_count += sum(take for _, take in runs)
            if self._usage_count > MAX_USAGES:
                raise malformed(words.TOO_MANY_USAGES.format(most=MAX_USAGES), offset)
            self._usages[key] = tuple(usage for first, take in runs for usage in range(first, first + take))
        return self._usages[key]


def _exponent(item: Item) -> int:
    """The unit exponent: a two's complement nibble (§6.2.2.7), or what makers write as a full byte.

    Of more than a byte says, which no float could hold, the nibble counts.
    """
    if item.unsigned > 15 and -128 <= item.signed <= 127:
        return item.signed
    nibble = item.unsigned & 15
    return nibble - 16 if nibble > 7 else nibble
