"""Canonical JSON and ids: properties beside the published vectors."""

from __future__ import annotations

import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from station.records.canonical import canonical_json, number_text
from station.records.clock import after, days_later, parse_time, time_text, unix_ms
from station.records.ids import IdMaker, unix_ms_of
from tests.records.records_kit import HandClock

_NUMBER = re.compile(r"-?(0|[1-9]\d*)(\.\d*[1-9])?(e[+-][1-9]\d*)?")
_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=12,
)


@given(st.floats(allow_nan=False, allow_infinity=False))
@settings(max_examples=400, deadline=None)
def test_a_number_reads_back_exactly_and_has_one_form(value: float):
    text = number_text(value)
    assert float(text) == value
    assert _NUMBER.fullmatch(text)


@given(_values)
@settings(max_examples=200, deadline=None)
def test_a_value_reads_back_and_its_text_does_not_depend_on_order(value: object):
    text = canonical_json(value)
    again = json.loads(text, parse_int=lambda digits: int(digits) if abs(int(digits)) <= 2**53 else float(digits))
    assert canonical_json(again) == text
    if isinstance(value, dict):
        assert canonical_json(dict(reversed(value.items()))) == text


@pytest.mark.parametrize("value", [2**53 + 1, float("nan"), float("inf"), b"bytes", {1: 2}, object()])
def test_what_has_no_exact_form_is_refused(value: object):
    with pytest.raises((TypeError, ValueError)):
        canonical_json(value)


def test_ids_of_one_millisecond_grow_and_never_repeat():
    maker = IdMaker()
    ids = [maker.new(1_700_000_000_000) for _ in range(2000)]
    assert ids == sorted(ids)
    assert len(set(ids)) == len(ids)
    assert {unix_ms_of(i) for i in ids} == {1_700_000_000_000}


def test_ids_stay_unique_when_the_clock_is_set_back():
    maker = IdMaker()
    ids = [maker.new(ms) for ms in (5, 5, 4, 4, 5, 5)]
    assert len(set(ids)) == 6


def test_times_are_written_with_a_fixed_width_so_that_text_sorts_as_time_does():
    clock = HandClock("2026-03-06T10:00:00+02:00")
    first, second = clock(), clock()
    assert time_text(first) == "2026-03-06T08:00:00.001Z"
    assert time_text(first) < time_text(second)
    assert parse_time(time_text(second)) == second
    assert unix_ms(second) - unix_ms(first) == 1
    assert days_later("2026-02-27T23:59:00.000Z", 3) == "2026-03-02"


MOMENT = "2026-03-06T10:00:00.{:03d}Z"


@pytest.mark.parametrize(
    ("clock", "last", "given"),
    [
        (500, None, 500),
        (500, 400, 500),
        (500, 500, 501),
        (500, 503, 504),
        (500, 650, 500),  # set back, and that must show
    ],
)
def test_of_two_entries_one_is_always_the_later(clock: int, last: int | None, given: int):
    before = "" if last is None else MOMENT.format(last)
    assert time_text(after(parse_time(MOMENT.format(clock)), before)) == MOMENT.format(given)
