"""The local items in front of a main item: which usages it gets (HID 1.11 §6.2.2.8)."""

from __future__ import annotations

from typing import NamedTuple

from station.hid.items import Item, malformed
from station.words import hid as words

_USAGE, _USAGE_MIN, _USAGE_MAX, _DELIMITER = 0x0, 0x1, 0x2, 0xA
_LOCAL_TAGS = frozenset((0, 1, 2, 3, 4, 5, 7, 8, 9, 10))
"""§6.2.2.8; designators (3–5) and strings (7–9) are allowed and say nothing that we need"""

_EXTENDED = 4
"""bytes of a usage that carries its own page"""


class Span(NamedTuple):
    """Usages `first`…`last` of one page. `page` is None while no page is known, `own` where they carried it."""

    page: int | None
    first: int
    last: int
    own: bool
    offset: int


class LocalState:
    """Collects the local items up to the next main item."""

    def __init__(self) -> None:
        self._spans: list[Span] = []
        self._low: Item | None = None
        self._high: Item | None = None
        self._open = False
        self._alternative_taken = False

    def feed(self, item: Item, page: int | None) -> None:
        """Take one local item; `page` is the Usage Page in force.

        Raises:
            DescriptorError: reserved tag, broken usage range or delimiter.
        """
        if item.tag not in _LOCAL_TAGS:
            raise malformed(words.RESERVED_LOCAL.format(tag=item.tag), item.offset)
        if item.tag == _USAGE:
            self._add(item, item, page)
        elif item.tag == _USAGE_MIN:
            self._low = item
            self._close_range(page)
        elif item.tag == _USAGE_MAX:
            self._high = item
            self._close_range(page)
        elif item.tag == _DELIMITER:
            self._delimit(item)

    def finish(self, page: int | None, offset: int) -> list[Span]:
        """The spans for the main item at `offset`, each with its page.

        §6.2.2.8 joins a usage with the page last declared before the main item. Makers also list usages of
        several pages before one item, so a page that a later usage already took is left alone with what
        stands before it (host practice, no source).

        Raises:
            DescriptorError: an unpaired usage range, an open delimiter, or a usage without any page.
        """
        if self._open:
            raise malformed(words.DELIMITER_OPEN, offset)
        unpaired = self._low or self._high
        if unpaired is not None:
            raise malformed(words.RANGE_ALONE, unpaired.offset)
        spans = self._spans
        for i in range(len(spans) - 1, -1, -1):
            if spans[i].own:
                continue
            if spans[i].page == page:
                break
            spans[i] = spans[i]._replace(page=page)
        for span in spans:
            if span.page is None:
                raise malformed(words.USAGE_BEFORE_PAGE, span.offset)
        return spans

    def _close_range(self, page: int | None) -> None:
        if self._low is not None and self._high is not None:
            low, high, self._low, self._high = self._low, self._high, None, None
            self._add(low, high, page)

    def _add(self, low: Item, high: Item, page: int | None) -> None:
        if self._open and self._alternative_taken:
            return
        self._alternative_taken = True
        own = len(low.data) == _EXTENDED
        if own != (len(high.data) == _EXTENDED) or (own and low.unsigned >> 16 != high.unsigned >> 16):
            raise malformed(words.RANGE_TWO_PAGES, low.offset)
        first, last = low.unsigned & 0xFFFF, high.unsigned & 0xFFFF
        if last < first:
            raise malformed(words.RANGE_UPSIDE_DOWN, high.offset)
        self._spans.append(Span(low.unsigned >> 16 if own else page, first, last, own, low.offset))

    def _delimit(self, item: Item) -> None:
        opens = item.unsigned == 1
        if item.unsigned > 1 or opens == self._open:
            raise malformed(words.DELIMITER_TURN, item.offset)
        if not opens and not self._alternative_taken:
            raise malformed(words.DELIMITER_EMPTY, item.offset)
        self._open = opens
        self._alternative_taken = False
