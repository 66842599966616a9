"""Where pages end: pieces that belong together stay together, and no page is begun for two lines. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from station.certificate.layout import Keep, Piece

LEAST_LAST_MM = 50.0
"""so much stands on the last page at least, if the one before can give it"""
_Chain = list[Piece]


def paginate(pieces: Sequence[Piece], room: float) -> list[list[Piece]]:
    """The pieces page by page; `room`: mm of height on a page. What is higher than a page has one of its own."""
    pages: list[list[_Chain]] = [[]]
    for chain in _chains(pieces, room):
        full = sum(map(_height, pages[-1])) + _height(chain) > room
        if pages[-1] and (full or chain[0].new_page):
            pages.append([])
        if pages[-1] or not all(piece.space for piece in chain):
            pages[-1].append(chain)
    _fill_last(pages)
    return [[piece for chain in page for piece in chain] for page in pages]


def _chains(pieces: Sequence[Piece], room: float, keep: Keep = Keep.BLOCK) -> Iterator[_Chain]:
    """What is not broken over pages: the pieces that stay together, or where they are too high those that do so more
    firmly."""
    chain: _Chain = []
    for number, piece in enumerate(pieces, 1):
        chain.append(piece)
        if piece.keep >= keep and number < len(pieces):
            continue
        if _height(chain) <= room or len(chain) == 1:
            yield chain
        elif keep < Keep.FIRM:
            yield from _chains(chain, room, Keep.FIRM)
        else:
            yield from ([one] for one in chain)
        chain = []


def _fill_last(pages: list[list[_Chain]]) -> None:
    """Give the last page some of the one before, so that it is not begun for a line or two."""
    if len(pages) < 2:
        return
    before, last = pages[-2:]
    while sum(map(_height, last)) < LEAST_LAST_MM and len(before) > 1 and not last[0][0].new_page:
        last.insert(0, before.pop())


def _height(chain: _Chain) -> float:
    return sum(piece.height for piece in chain)
