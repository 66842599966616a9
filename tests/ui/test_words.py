"""How values, times and amounts are said."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from station.errors import InputError
from station.records.types import TREATMENT_KINDS, Unit
from station.ui.panels.typed import amount, parse_date
from station.ui.tags import lot_of, next_tag
from station.ui.words import (
    TREATMENT_DONE,
    when,
)


def test_every_kind_of_treatment_has_a_short_word() -> None:
    assert set(TREATMENT_DONE) == set(TREATMENT_KINDS)


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


@pytest.mark.parametrize(
    ("tags", "following"),
    [
        (["SM-07-03", "SM-07-04"], "SM-07-05"),
        (["SM-07-09"], "SM-07-10"),
        (["B12", "shelf"], "B13"),
        (["A-10", "A-2"], "A-11"),
        ([], ""),
    ],
)
def test_the_next_tag_goes_on_with_the_series(tags: list[str], following: str) -> None:
    assert next_tag(tags) == following


def test_a_new_unit_belongs_to_the_lot_of_its_series() -> None:
    units = [Unit("1", "SM-07-01", "m", "lot-7"), Unit("2", "B-3", "m", "lot-b"), Unit("3", "shelf", "m", None)]
    assert lot_of("SM-07-02", units) == "lot-7"
    assert lot_of("B-4", units) == "lot-b"
    assert lot_of("C-1", units) is None
    assert lot_of("no number", units) is None


def test_a_time_is_said_shorter_the_nearer_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    now = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
    assert when("2026-11-25T11:58:00+00:00", now).count(":") == 1
    assert when("2026-11-24T10:12:00+00:00", now).split()[0].isalpha()
    assert when("2024-01-05T10:12:00+00:00", now).endswith("2024")
    assert when("not a time", now) == "not a time"
