"""Where pages end."""

from __future__ import annotations

import pytest

from station.certificate.breaks import paginate
from station.certificate.layout import Keep, Piece

ROOM = 200.0


def piece(height: float, keep: Keep = Keep.NOT, **more: bool) -> Piece:
    return Piece(height, lambda paper, y: None, keep, **more)


BLOCK = [piece(10, Keep.FIRM), piece(30, Keep.BLOCK), piece(40)]


@pytest.mark.parametrize(
    ("pieces", "pages"),
    [
        pytest.param([piece(90), piece(90), piece(90)], [[90, 90], [90]], id="as many as fit"),
        pytest.param([piece(150), *BLOCK], [[150], [10, 30, 40]], id="a block goes to the next page whole"),
        pytest.param(
            [piece(150), piece(10, Keep.FIRM), piece(80, Keep.BLOCK), piece(10, Keep.FIRM), piece(120)],
            [[150], [10, 80], [10, 120]],
            id="one that is higher than a page is broken between its checks",
        ),
        pytest.param(
            [piece(90, Keep.FIRM), piece(90, Keep.FIRM), piece(90)], [[90, 90], [90]], id="else where it has to be"
        ),
        pytest.param([piece(300)], [[300]], id="what is higher than a page stands alone"),
        pytest.param([piece(10), piece(80, new_page=True)], [[10], [80]], id="a part of its own begins a page"),
        pytest.param([piece(150), piece(60, space=True), piece(80)], [[150], [80]], id="no space where a page begins"),
        pytest.param([*[piece(50)] * 4, piece(5)], [[50, 50, 50], [50, 5]], id="no page is begun for a line"),
        pytest.param([piece(190), piece(5, new_page=True)], [[190], [5]], id="unless the line has to begin it"),
    ],
)
def test_pages_end_where_nothing_is_torn(pieces: list[Piece], pages: list[list[float]]) -> None:
    assert [[one.height for one in page] for page in paginate(pieces, ROOM)] == pages
