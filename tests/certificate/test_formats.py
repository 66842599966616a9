"""The paper that a certificate is set for."""

from __future__ import annotations

import pytest

from station.certificate.formats import A4, LETTER, Format, format_of
from station.errors import InputError


@pytest.mark.parametrize(
    ("setting", "territory", "wanted"),
    [
        pytest.param("", "US", LETTER, id="usual in the United States"),
        pytest.param("", "CA", LETTER, id="usual in Canada"),
        pytest.param("", "DE", A4, id="usual in Germany"),
        pytest.param("", "", A4, id="a system that is set to no country"),
        pytest.param("A4", "US", A4, id="the shop chose A4"),
        pytest.param("letter", "DE", LETTER, id="the shop chose Letter"),
    ],
)
def test_the_shop_chooses_or_what_is_usual_there_holds(setting: str, territory: str, wanted: Format) -> None:
    assert format_of(setting, territory) is wanted


def test_a_paper_that_is_too_small_is_one_sentence_that_says_what_to_do() -> None:
    with pytest.raises(InputError, match="does not fit on the paper “A5”; choose A4 or Letter"):
        format_of("A5", "DE")


def test_the_sizes_are_those_of_the_standards() -> None:
    """ISO 216: A4 is 210 by 297 mm; ANSI/ASME Y14.1: size A is 8.5 by 11 inches."""
    assert (A4.width_mm, A4.height_mm) == (210, 297)
    assert (LETTER.width_mm, LETTER.height_mm) == pytest.approx((8.5 * 25.4, 11 * 25.4))
