"""What was typed into a panel, read as an amount or a date. Pure."""

from __future__ import annotations

import re
from datetime import date, timedelta

from station.errors import InputError
from station.records.money import MOST_MINOR, amount_text, parse_money
from station.words import panels as words
from station.words.figures import day, money, number, read_day

MOST_QUOTED = 24
"""letters of what was typed that a sentence repeats"""


def amount(text: str, currency: str = "EUR") -> int:
    """Minor units of what was typed ("2.10", "2,1", "€ 2"); 0 for nothing. InputError if it is no amount of it."""
    bare = re.sub(r"[€£$\s]", "", text)
    if not bare:
        return 0
    minor = parse_money(bare, currency)
    if minor is None:
        raise InputError(words.NO_AMOUNT.format(text=_shortened(text), example=amount_text(210, currency)))
    if minor > MOST_MINOR:
        raise InputError(words.AMOUNT_TOO_LARGE.format(most=money(MOST_MINOR, currency)))
    return minor


def whole(text: str, least: int, most: int) -> int:
    """The whole number that was typed, `least` for nothing. InputError if it is none from least to most."""
    text = text.strip()
    if not text:
        return least
    if not text.isdecimal() or len(text) > len(str(most)) or not least <= int(text) <= most:
        raise InputError(words.NO_COUNT.format(text=_shortened(text), least=number(least, 0), most=number(most, 0)))
    return int(text)


def parse_date(text: str, today: date) -> str:
    """YYYY-MM-DD of a date typed as the screen writes dates, or as ISO 8601; empty stays empty. InputError otherwise;
    the example in it is today."""
    return _date(text, words.NO_DATE.format(text=_shortened(text.strip()), example=day(today.isoformat())))


def parse_later(text: str, today: date) -> str:
    """The same for a day to come: "+3" is three days from today."""
    short = re.fullmatch(r"\+(\d{1,3})", text.strip())
    if short:
        return (today + timedelta(days=int(short[1]))).isoformat()
    return _date(text, words.NO_LATER_DATE.format(text=_shortened(text.strip()), example=later_example(today)))


def later_example(today: date) -> str:
    """How a day to come is typed: three days from today, as the screen writes it."""
    return day((today + timedelta(days=3)).isoformat())


def _shortened(text: str) -> str:
    return text if len(text) <= MOST_QUOTED else text[:MOST_QUOTED] + "…"


def _date(text: str, problem: str) -> str:
    if not text.strip():
        return ""
    found = read_day(text)
    if found is None:
        raise InputError(problem)
    return found.isoformat()
