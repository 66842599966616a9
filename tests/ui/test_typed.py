"""Amounts and dates as people type them."""

from __future__ import annotations

from datetime import date

import pytest

from station.errors import InputError
from station.ui.panels.typed import amount, parse_date


@pytest.mark.parametrize(("typed", "minor"), [("", 0), ("2", 200), ("€ 2,10", 210), ("0.40", 40)])
def test_an_amount_is_read_as_it_is_written_in_a_shop(typed: str, minor: int) -> None:
    assert amount(typed) == minor


@pytest.mark.parametrize("typed", ["two", "-3", "1.234", "1.2.3"])
def test_what_is_no_amount_is_refused_with_an_example(typed: str) -> None:
    with pytest.raises(InputError, match=r"write it like 2\.10"):
        amount(typed)


@pytest.mark.parametrize(("typed", "day"), [("+3", "2026-11-28"), ("2026-12-01", "2026-12-01"), (" ", "")])
def test_a_rest_date_can_be_typed_in_short(typed: str, day: str) -> None:
    assert parse_date(typed, date(2026, 11, 25)) == day


def test_what_is_no_date_is_refused_with_an_example() -> None:
    with pytest.raises(InputError, match=r"\+3"):
        parse_date("soon", date(2026, 11, 25))
