"""How values, times and amounts are said in the window. Pure."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime

from station.errors import InputError
from station.records.money import amount_text, parse_money


def when(utc: str, now: datetime | None = None) -> str:
    """A UTC time of the records in local words: "10:41" today, "Tue 10:41" this week, else with the date."""
    try:
        at = datetime.fromisoformat(utc)
    except ValueError:
        return utc
    if at.tzinfo is None:
        at = at.replace(tzinfo=UTC)
    local = at.astimezone()
    today = (now or datetime.now(UTC)).astimezone()
    if local.date() == today.date():
        return f"{local:%H:%M}"
    if 0 < (today.date() - local.date()).days < 7:
        return f"{local:%a %H:%M}"
    if local.year == today.year:
        return f"{local.day} {local:%b %H:%M}"
    return f"{local.day} {local:%b %Y}"


def no_break(text: str) -> str:
    """The text with figures and their units kept on one line: "4 min", "€ 0.20", "12 %"."""
    text = re.sub(r"(?<=\d) (?=(?:%|min|ms|V|A|s|Hz)\b|%)", "\N{NO-BREAK SPACE}", text)
    return re.sub(r"(?<=[€£$]) (?=\d)", "\N{NO-BREAK SPACE}", text)


def amount(text: str, currency: str = "EUR") -> int:
    """Minor units of what was typed ("2.10", "2,1", "€ 2"); 0 for nothing. InputError if it is no amount of it."""
    bare = re.sub(r"[€£$\s]", "", text)
    if not bare:
        return 0
    minor = parse_money(bare, currency)
    if minor is None:
        raise InputError(f"“{text}” is not an amount; write it like {amount_text(210, currency)}.")
    return minor


def parse_date(text: str, today: date) -> str:
    """YYYY-MM-DD of what was typed; "+3" is three days from today; empty stays empty. InputError otherwise."""
    text = text.strip()
    if not text:
        return ""
    if re.fullmatch(r"\+\d{1,3}", text):
        return date.fromordinal(today.toordinal() + int(text)).isoformat()
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise InputError(f"“{text}” is not a date; write it like 2026-11-25, or +3 for in three days.") from error


def count_of(n: int, one: str, many: str = "") -> str:
    """ "1 unit", "3 units"."""
    return f"{n} {one if n == 1 else many or one + 's'}"


TREATMENT_DONE = {
    "clean from outside": "cleaned",
    "open and clean": "opened",
    "clean the sensor": "sensor clean",
    "replace sensor": "new sensor",
    "replace module": "new module",
    "replace board": "new board",
    "replace cap or paddle": "new cap",
    "swap with donor part": "donor part",
    "adjust": "adjusted",
    "other": "treated",
}
"""short words for the column of the visit after a treatment"""


def name_of(control: str) -> str:
    """A control's id as words, for where no sheet is at hand: "left_stick" → "Left stick"."""
    words = control.replace("_", " ")
    return words[:1].upper() + words[1:]
