"""Times of the records: UTC, ISO 8601, from a clock that is given (tests move it)."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

Clock = Callable[[], datetime]
"""Returns an aware time"""
_TICK = timedelta(milliseconds=1)
_AT_ONCE = timedelta(milliseconds=100)
"""entries that a program writes one after the other without a pause may run ahead of the clock by so much"""


def system_clock() -> datetime:
    """The computer's clock."""
    return datetime.now(UTC)


def after(moment: datetime, last: str) -> datetime:
    """The moment, or 1 ms after `last` where the clock gives that very millisecond, or a little less, again: of two
    entries one is always the later. A clock that was set back stays so."""
    earliest = parse_time(last) + _TICK if last else moment
    return earliest if timedelta(0) < earliest - moment < _AT_ONCE else moment


def time_text(moment: datetime) -> str:
    """2026-03-06T10:12:00.123Z: fixed width, so that text sorts as time does."""
    utc = moment.astimezone(UTC)
    return f"{utc:%Y-%m-%dT%H:%M:%S}.{utc.microsecond // 1000:03d}Z"


def unix_ms(moment: datetime) -> int:
    """Milliseconds since 1970."""
    return int(moment.timestamp() * 1000)


def day_of(text: str) -> date:
    """The date in a time text. ValueError if it begins with none."""
    return date.fromisoformat(text[:10])


def days_later(text: str, days: int) -> str:
    """The date `days` after the date in `text`."""
    return (day_of(text) + timedelta(days=days)).isoformat()


def parse_time(text: str) -> datetime:
    """The time in a text of `time_text`. ValueError if it is none."""
    return datetime.fromisoformat(text).astimezone(UTC)
