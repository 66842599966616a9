"""Where a row stands after the clock was set back: as the plain rule says, and without looking at every set-back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.records.clock import time_text
from station.records.order import SetBacks

BEGAN = datetime(2026, 3, 1, tzinfo=UTC)


def _time(hours: float) -> str:
    return time_text(BEGAN + timedelta(hours=hours))


def _plain(set_backs: list[tuple[int, str]], entry: int, at: str) -> str:
    """The rule as it is meant: one set-back after the other."""
    key = at
    for number, now in set_backs:
        if entry < number and key > now:
            key = f"{now[:-1]} {key}"
    return key


def _of(set_backs: list[tuple[int, str]]) -> SetBacks:
    made = SetBacks()
    for number, now in set_backs:
        made.append(number, now)
    return made


_SET_BACKS = st.lists(st.tuples(st.integers(1, 60), st.integers(0, 40).map(_time)), max_size=70)


@given(_SET_BACKS, st.booleans(), st.integers(0, 61), st.integers(-2, 42).map(_time))
def test_a_row_stands_where_one_set_back_after_the_other_puts_it(
    set_backs: list[tuple[int, str]], rising: bool, entry: int, at: str
):
    """Also where benches that were merged bring entries out of their order."""
    found = sorted(set_backs) if rising else set_backs
    made = _of(found)
    assert made.place(entry, at) == _plain(found, entry, at)
    assert made.earliest == min((now for _, now in found), default="~")


@given(_SET_BACKS, _SET_BACKS, st.integers(0, 61), st.integers(-2, 42).map(_time))
def test_more_may_come_after_a_row_was_placed(
    first: list[tuple[int, str]], more: list[tuple[int, str]], entry: int, at: str
):
    made = _of(first)
    made.place(entry, at)
    for number, now in more:
        made.append(number, now)
    assert made.place(entry, at) == _plain(first + more, entry, at)


class _Counted(int):
    """The number of an entry that counts how often one is looked at."""

    looked_at = 0

    def __le__(self, other: int) -> bool:
        _Counted.looked_at += 1
        return int.__le__(self, other)


@pytest.mark.parametrize("entry", [0, 1, 50_000, 99_995, 200_000])
def test_of_ten_thousand_set_backs_few_are_looked_at(entry: int):
    """A clock that runs ahead by two hours each day and is set right each evening."""
    set_backs = [(_Counted(10 * (k + 1)), _time(24.0 * k)) for k in range(10_000)]
    made = SetBacks()
    for number, now in set_backs:
        made.append(number, now)
    at = _time(24.0 * (entry // 10) + 1.0)
    _Counted.looked_at = 0
    placed = made.place(entry, at)
    assert 0 < _Counted.looked_at <= 400
    assert placed == _plain([(int(n), now) for n, now in set_backs], entry, at)
