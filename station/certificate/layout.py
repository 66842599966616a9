"""The rows that a certificate is set from: each is a piece that is not broken over pages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum

from station.certificate import paper as pp
from station.certificate.paper import DIM, HEAD, LEFT, LINE, RIGHT, TEXT, Face, Paper

WIDE = RIGHT - LEFT


class Keep(IntEnum):
    """How firmly a piece stays with the next one: where a block is higher than a page, what keeps it together gives way
    first, and what belongs to one check of it last."""

    NOT = 0
    BLOCK = 1
    FIRM = 2


@dataclass(frozen=True, slots=True)
class Piece:
    """Something that is not broken over pages. `keep`: how firmly it stays with the next piece; `new_page`: begins one;
    `space`: is left out where a page begins."""

    height: float
    draw: Callable[[Paper, float], None]
    keep: Keep = Keep.NOT
    new_page: bool = False
    space: bool = False


def one_line(paper: Paper, x: float, y: float, text: str, face: Face, width: float) -> None:
    """One line with its baseline at y, set smaller if it would be wider than `width` mm."""
    paper.text(x, y, text, pp.fitted(text, face, width))


def pair_row(a: str, va: str, b: str, vb: str) -> Piece:
    """Two facts side by side, each with its name."""
    half = WIDE / 2
    height = max(pp.block_height(half - 28, v, TEXT) for v in (va, vb)) + 1.2

    def draw(paper: Paper, y: float) -> None:
        for x, name, value in ((LEFT, a, va), (LEFT + half, b, vb)):
            paper.block(x, y, 25, name, Face(9, color=DIM))
            paper.block(x + 26, y, half - 28, value, TEXT)

    return Piece(height, draw)


def wide_row(name: str, value: str) -> Piece:
    """One fact across the page."""

    def draw(paper: Paper, y: float) -> None:
        paper.block(LEFT, y, 25, name, Face(9, color=DIM))
        paper.block(LEFT + 26, y, WIDE - 26, value, TEXT)

    return Piece(pp.block_height(WIDE - 26, value, TEXT) + 1.2, draw)


def log_row(date: str, what: str, result: str, *, wide: bool = False) -> Piece:
    """A line of a log: when, what, and what came of it. `wide`: without a date."""
    x = LEFT if wide else LEFT + 22
    width = 92.0 if wide else 72.0
    rest = RIGHT - x - width - 2
    height = max(pp.block_height(width, what, TEXT), pp.block_height(rest, result, TEXT)) + 0.8

    def draw(paper: Paper, y: float) -> None:
        paper.block(LEFT, y, 22, date, Face(9, color=DIM))
        paper.block(x, y, width, what, TEXT)
        paper.block(x + width + 2, y, rest, result, TEXT)

    return Piece(height, draw)


def head(text: str) -> Piece:
    """The heading of a section; stays with what follows."""

    def draw(paper: Paper, y: float) -> None:
        paper.text(LEFT, y + 7, text, HEAD)
        paper.line(LEFT, y + 8.6, RIGHT, y + 8.6, LINE)

    return Piece(11, draw, keep=Keep.FIRM)


def paragraph(text: str, face: Face) -> Piece:
    """Flowing text across the page."""
    height = pp.block_height(WIDE, text, face) + 1.6
    return Piece(height, lambda paper, y: nothing(paper.block(LEFT, y, WIDE, text, face)))


def gap(height: float) -> Piece:
    """Empty space."""
    return Piece(height, lambda paper, y: None, space=True)


def nothing(_: object) -> None:
    """Drawing functions return sizes that nobody needs here."""
