"""Amounts and dates as people type them."""

from __future__ import annotations

from datetime import date

import pytest

from station.errors import InputError
from station.ui.panels.typed import amount, parse_date, parse_later, whole


@pytest.mark.parametrize(("typed", "minor"), [("", 0), ("2", 200), ("€ 2,10", 210), ("0.40", 40)])
def test_an_amount_is_read_as_it_is_written_in_a_shop(typed: str, minor: int) -> None:
    assert amount(typed) == minor


@pytest.mark.parametrize("typed", ["two", "-3", "1.234", "1.2.3", "12²", ".", "1_0"])
def test_what_is_no_amount_is_refused_with_an_example(typed: str) -> None:
    with pytest.raises(InputError, match=r"write it like 2\.10"):
        amount(typed)


@pytest.mark.parametrize(("typed", "day"), [("+3", "2026-11-28"), ("2026-12-01", "2026-12-01"), (" ", "")])
def test_a_rest_date_can_be_typed_in_short(typed: str, day: str) -> None:
    assert parse_later(typed, date(2026, 11, 25)) == day


def test_a_day_to_come_that_is_no_date_is_refused_with_an_example() -> None:
    with pytest.raises(InputError, match=r"like 2026-11-28, or \+3"):
        parse_later("soon", date(2026, 11, 25))


@pytest.mark.usefixtures("german_screen")
@pytest.mark.parametrize("typed", ["28.11.2026", "28.11.26", "28-11-2026", "2026-11-28"])
def test_a_date_is_read_as_the_screen_writes_it(typed: str) -> None:
    assert parse_date(typed, date(2026, 11, 25)) == "2026-11-28"


@pytest.mark.usefixtures("german_screen")
@pytest.mark.parametrize("typed", ["+3", "11/28/2026", "soon"])
def test_a_day_gone_by_is_asked_for_in_the_form_of_the_screen(typed: str) -> None:
    with pytest.raises(InputError, match=r"like 25\.11\.2026\.$"):
        parse_date(typed, date(2026, 11, 25))


@pytest.mark.usefixtures("german_screen")
def test_the_example_of_an_amount_is_as_the_screen_writes_it() -> None:
    with pytest.raises(InputError, match=r"write it like 2,10"):
        amount("two")
    assert amount("2,10") == amount("2.10") == 210


@pytest.mark.parametrize("typed", ["10000000.01", "1" + "0" * 20, str(2**60), "9" * 5000])
def test_an_amount_that_no_record_holds_is_refused_with_the_greatest(typed: str) -> None:
    with pytest.raises(InputError, match=r"at most €\s10,000,000\.00"):
        amount(typed)
    assert amount("10000000") == 1_000_000_000


@pytest.mark.parametrize("typed", ["0", "12²", "-3", "1.5", "10000", "1" + "0" * 20, str(2**60), "9" * 5000])
def test_a_count_is_a_whole_number_in_its_bounds(typed: str) -> None:
    with pytest.raises(InputError, match="whole number from 1 to 9,999") as error:
        whole(typed, 1, 9999)
    assert len(str(error.value)) < 120
    assert whole(" 9999 ", 1, 9999) == 9999
    assert whole("", 1, 9999) == 1
