"""The one rule of digits, and how numbers, dates and money are written.

A value with an uncertainty: the uncertainty to two significant digits, the value to the same place (JCGM 100:2008,
7.2.6). In a sentence the value stands alone, to the first of those digits. A style says how a language or a system
writes them; the screen has the system's, paper has the certificate's.
"""

from __future__ import annotations

import decimal
import math
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal

MINUS = "\N{MINUS SIGN}"
PLUS_MINUS = "\N{PLUS-MINUS SIGN}"
NO_BREAK = "\N{NO-BREAK SPACE}"
DEGREE = "\N{DEGREE SIGN}"
SIGNIFICANT = 2
"""digits of an uncertainty"""
NO_NUMBER = "—"
"""for what is no number"""
FINEST = 15
"""decimal digits that a float carries for certain (IEEE 754 binary64): an uncertainty finer than that says nothing"""
_EXACT = decimal.Context(prec=700)
"""for every finite float, whatever its size"""
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
TIME_THIS_WEEK = "{weekday} {time}"
TIME_THIS_YEAR = "{day} {month} {time}"
SIGNS = {"EUR": "€", "GBP": "£", "USD": "$"}
"""ISO 4217 code → the sign of the till; any other currency is written by its code"""
NO_MINOR_UNIT = frozenset({"JPY", "KRW", "ISK", "VND", "CLP"})
"""currencies without a minor unit (ISO 4217, list one)"""


@dataclass(frozen=True, slots=True)
class Style:
    """How numbers, dates and money are written. `date` has the fields yyyy, yy, MM, M, dd and d (Unicode TR 35)."""

    decimal: str = "."
    group: str = ","
    date: str = "yyyy-MM-dd"
    money: str = "{sign} {amount}"


PAPER = Style()
"""of the certificate's language, English; its dates are ISO 8601, which every reader takes for the same day"""


class _Screen:
    """The style of the screen; the window takes over the system's when it starts."""

    style = Style()


def set_screen_style(style: Style) -> None:
    """Write everything on the screen in this style from now on."""
    _Screen.style = style


def screen_style() -> Style:
    """The style in force on the screen."""
    return _Screen.style


def places(uncertainty: float) -> int:
    """Decimal places that an uncertainty > 0 carries: 0.28 → 2, 2.3 → 1, 120 → −1 (tens)."""
    places = SIGNIFICANT - 1 - math.floor(math.log10(uncertainty))
    rounded = _rounded(uncertainty, places)
    return places - 1 if rounded >= Decimal(1).scaleb(SIGNIFICANT - places) else places


def tells(value: float, uncertainty: float) -> bool:
    """Whether an uncertainty says to which place its value holds: not one that is missing, endless, or finer than a
    float is."""
    if not (math.isfinite(value) and math.isfinite(uncertainty)) or uncertainty <= 0:
        return False
    return uncertainty >= 10.0**-FINEST * max(abs(value), 1.0)


def number(value: float, decimals: int, style: Style | None = None) -> str:
    """A number with so many decimals (negative: rounded to tens, hundreds, …), grouped, with a real minus sign."""
    style = style or _Screen.style
    if not math.isfinite(value):
        return NO_NUMBER
    exact = _rounded(value, decimals)
    plain = f"{exact.copy_abs():,.{max(decimals, 0)}f}"
    text = plain.translate({ord(","): style.group, ord("."): style.decimal})
    return f"{MINUS}{text}" if exact < 0 else text  # nought is not less: no "−0.0"


def figure(value: float, uncertainty: float = 0.0, decimals: int = 0, style: Style | None = None) -> str:
    """A value as it is shown: "95.13 ± 0.28"; one without uncertainty with `decimals`. Units are the caller's."""
    text = bare(value, uncertainty, decimals, style)
    if not tells(value, uncertainty):
        return text
    return f"{text} {PLUS_MINUS} {number(uncertainty, places(uncertainty), style)}"


def bare(value: float, uncertainty: float = 0.0, decimals: int = 0, style: Style | None = None) -> str:
    """The value of a `figure` alone, to the same place."""
    return number(value, places(uncertainty) if tells(value, uncertainty) else decimals, style)


def spoken(value: float, uncertainty: float = 0.0, decimals: int = 0, style: Style | None = None) -> str:
    """The value alone for a sentence that a person reads: to the first digit of its uncertainty, "6.2" of 6.20 ± 0.40,
    since the one after it tells nobody anything. Where the whole figure stands, it is a `figure`."""
    if not tells(value, uncertainty):
        return number(value, decimals, style)
    return number(value, places(uncertainty) - (SIGNIFICANT - 1), style)


def plain(value: float, style: Style | None = None) -> str:
    """A number with just the digits that it was written with: a limit 5, 1.5, 4.4."""
    if not math.isfinite(value):
        return NO_NUMBER
    text = format(Decimal(f"{value:.10g}").normalize(), "f")
    decimals = len(text.partition(".")[2])
    return number(value, decimals, style)


def with_unit(text: str, unit: str) -> str:
    """The figure and its unit, which no line break tears apart; a count has none. The sign of a plane angle stands
    close to its figure (SI Brochure, 9th edition, 5.4.3)."""
    if not unit:
        return text
    return f"{text}{unit}" if unit == DEGREE else f"{text}{NO_BREAK}{unit}"


def no_break(text: str) -> str:
    """A sentence whose figures stay on one line with their units: "4 min", "12 %"."""
    return re.sub(r"(?<=\d) (?=(?:%|min|ms|V|A|s|Hz)\b|%)", NO_BREAK, text)


def day(text: str, style: Style | None = None) -> str:
    """A date of the records (YYYY-MM-DD, or a time that begins so) in the style; what is none stays as it is."""
    style = style or _Screen.style
    try:
        found = date.fromisoformat(text[:10])
    except ValueError:
        return text
    return _dated(found, style.date)


def read_day(text: str, style: Style | None = None) -> date | None:
    """The reverse of `day`: a date typed in the order of the style, or as ISO 8601; None if it is none. Any of
    ". / - ," and blanks part the fields; a year of two digits is of this century."""
    style = style or _Screen.style
    text = text.strip()
    try:
        return date.fromisoformat(text)
    except ValueError:
        pass
    found = re.fullmatch(_typed_form(style.date), text, re.IGNORECASE | re.ASCII)
    if found is None:
        return None
    year, month, day_of_month = found["year"], found["month"], int(found["day"])
    named = next((k for k, name in enumerate(MONTHS, start=1) if name.casefold() == month.casefold()), 0)
    try:
        return date(int(year) + (2000 if len(year) == 2 else 0), named or int(month), day_of_month)
    except ValueError:
        return None


def when(utc: str, now: datetime | None = None, style: Style | None = None) -> str:
    """A UTC time of the records in local words: "10:41" today, "Tue 10:41" this week, "6 Mar 10:41" this year; one of
    another year is the `day` alone."""
    try:
        at = datetime.fromisoformat(utc)
    except ValueError:
        return utc
    local = (at if at.tzinfo else at.replace(tzinfo=UTC)).astimezone()
    today = (now or datetime.now(UTC)).astimezone()
    time = f"{local:%H:%M}"
    if local.date() == today.date():
        return time
    if 0 < (today.date() - local.date()).days < 7:
        return TIME_THIS_WEEK.format(weekday=DAYS[local.weekday()], time=time)
    if local.year == today.year:
        return TIME_THIS_YEAR.format(day=local.day, month=MONTHS[local.month - 1], time=time)
    return day(f"{local:%Y-%m-%d}", style)


def money(minor: int, currency: str, style: Style | None = None) -> str:
    """An amount of minor units, on one line: (40, "EUR") → "€ 0.40", (−1250, "CHF") → "−CHF 12.50"."""
    style = style or _Screen.style
    text = number(abs(minor) / (1 if currency in NO_MINOR_UNIT else 100), 0 if currency in NO_MINOR_UNIT else 2, style)
    sign = SIGNS.get(currency, currency)
    pattern = style.money.replace("}{", "} {") if sign.isalpha() else style.money  # "CHF 12", where "$12" has no space
    whole = pattern.format(sign=sign, amount=text).replace(" ", NO_BREAK)
    return f"{MINUS}{whole}" if minor < 0 else whole


def amount(minor: int, currency: str, style: Style | None = None) -> str:
    """An amount without the sign of its currency, where that stands above: a narrow table has no room for it in each
    cell."""
    places = 0 if currency in NO_MINOR_UNIT else 2
    return number(minor / 10**places, places, style)


def _typed_form(pattern: str) -> str:
    """The regular expression of dates in a pattern of Unicode TR 35: its fields in their order, whatever parts them."""
    kinds = {"y": r"(?P<year>\d{4}|\d{2})", "d": r"(?P<day>\d{1,2})"}
    kinds["M"] = rf"(?P<month>\d{{1,2}}|{'|'.join(MONTHS)})"
    order = "".join(dict.fromkeys(re.sub("[^yMd]", "", pattern)))
    if len(order) < len(kinds):  # a style without a year, say: only ISO 8601 is read
        return "(?!)"
    return r"[\s./,-]+".join(kinds[field] for field in order) + r"[\s./,-]*"


def _rounded(value: float, decimals: int) -> Decimal:
    """A finite number to so many decimals, half to even."""
    exact = Decimal(repr(float(value)))
    return exact.quantize(Decimal(1).scaleb(-decimals), decimal.ROUND_HALF_EVEN, context=_EXACT)


def _dated(found: date, pattern: str) -> str:
    """The date in a pattern of Unicode TR 35: the fields replaced once, longest first, other letters kept."""
    fields = {
        "yyyy": f"{found.year:04d}",
        "MMM": MONTHS[found.month - 1],
        "yy": f"{found.year % 100:02d}",
        "MM": f"{found.month:02d}",
        "dd": f"{found.day:02d}",
        "y": str(found.year),
        "M": str(found.month),
        "d": str(found.day),
    }
    out, rest = "", pattern
    while rest:
        token = next((t for t in fields if rest.startswith(t)), None)
        out += fields[token] if token else rest[0]
        rest = rest[len(token) if token else 1 :]
    return out
