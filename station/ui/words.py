"""How values, times and amounts are said in the window. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime

from station.checks.decide import base_name
from station.checks.types import Reading
from station.errors import InputError
from station.records.money import amount_text, parse_money

READING_NAMES = {
    "registered": "registered",
    "released": "released",
    "others": "others that moved",
    "faulty_rate": "faulty presses",
    "miss_rate_upper": "faulty presses, at most",
    "shortest": "shortest press",
    "force": "force of the mass",
    "dropouts": "dropouts",
    "longest_dropout": "longest dropout",
    "offset": "off centre",
    "offset_angle": "bearing",
    "noise_pp": "noise, peak to peak",
    "noise_rms": "noise, rms",
    "settle_offset": "off centre, let go",
    "repeatability": "repeatability",
    "settle_time": "settle time",
    "reach": "reach",
    "creep": "creep",
    "sectors": "sectors covered",
    "least_reach": "least reach",
    "least_reach_bearing": "at bearing",
    "two_way_difference": "two ways differ by",
    "circle_radius": "circle, radius",
    "spikes": "spikes",
    "largest_spike": "largest spike",
    "reversals": "reversals",
    "gap": "widest gap",
    "full": "full pull",
    "directions": "directions seen",
    "null_returns": "returns to null",
    "gaps": "gaps",
    "disconnects": "disconnects",
    "interval_median": "report interval, median",
    "interval_p99": "report interval, p99",
    "battery": "battery, by its own word",
    "charging": "says it charges",
    "fully_charged": "says it is full",
    "powered": "says it has outside power",
    "vbus_low": "supply, lower end",
    "vbus_high": "supply, upper end",
}
AXIS_WORDS = {"x": "horizontal", "y": "vertical"}
SHORTER = (("horizontal", "horiz."), ("vertical", "vert."), ("peak to peak", "p-p"))
"""what gives way first where the room is short"""


def reading_name(name: str) -> str:
    """A reading's name in words: `noise_pp_x` → "noise, peak to peak, horizontal"."""
    base = base_name(name)
    words = READING_NAMES.get(base, base.replace("_", " "))
    tail = name.removeprefix(base).lstrip("_")
    return f"{words}, {AXIS_WORDS.get(tail, tail)}" if tail else words


def figure(value: float, unit: str = "") -> str:
    """A value with as many digits as a bench needs: counts whole, % below 20 and other small values with one digit."""
    if unit in ("", "count", "of 72", "of 8") and abs(value - round(value)) < 1e-9:
        text = f"{round(value):,}"
    elif unit in ("V", "A", "N"):
        text = f"{value:.2f}"
    elif abs(value) >= 20:
        text = f"{value:,.0f}"
    else:
        text = f"{value:.1f}"
    return text.replace("-", "−")


def with_unit(text: str, unit: str) -> str:
    return text if unit in ("", "count") else f"{text} {unit}"


def value_words(reading: Reading) -> str:
    """ "10.2 ± 0.3 %", or the reason why there is no value."""
    if reading.value is None:
        return reading.reason or "no value"
    text = figure(reading.value, reading.unit)
    if reading.uncertainty > 0:
        shown = f"{reading.uncertainty:.1f}" if reading.uncertainty >= 0.05 else f"{reading.uncertainty:.2f}"
        text += f" ± {shown}"
    return with_unit(text, reading.unit)


def faulty_presses(readings: Sequence[Reading]) -> tuple[int, int] | None:
    """(faulty presses, beats) of a check with beats; None for any other."""
    found = {r.name: r.value for r in readings}
    beats = found.get("beats")
    if beats is None:
        return None
    return round(sum(found.get(name) or 0.0 for name in ("missed", "split", "short"))), round(beats)


def limit_words(reading: Reading) -> str:
    """ "≤ 5" or "≥ 95"; empty for a value that is only reported."""
    if reading.limit is None:
        return ""
    lead = "≤" if reading.rule == "<=" else "≥"
    return f"{lead}\N{NO-BREAK SPACE}{limit_figure(reading.limit)}"


def limit_figure(limit: float) -> str:
    """A limit with the digits it was written with: 5, 1.5, 4.4."""
    return f"{limit:g}"


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


CHECK_WORDS = {
    "contact": "contact",
    "light": "light press",
    "normal_press": "normal press",
    "firm_press": "firm press",
    "hold": "steady hold",
    "rest": "at rest",
    "letgo": "let go",
    "travel": "full travel",
    "rim": "round the rim",
    "sweep": "slow sweep",
    "trigger": "trigger pull",
    "hat": "hat",
    "link": "link",
    "rumble": "rumble",
    "charge": "charge",
    "look": "look",
}
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


def check_words(check: str) -> str:
    return CHECK_WORDS.get(check, check.replace("_", " "))


def name_of(control: str) -> str:
    """A control's id as words, for where no sheet is at hand: "left_stick" → "Left stick"."""
    words = control.replace("_", " ")
    return words[:1].upper() + words[1:]
