"""How values, times and amounts are said in the window. Pure."""

from __future__ import annotations

import re
from datetime import UTC, datetime


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
