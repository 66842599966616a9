"""What was typed into a panel, read as an amount or a date. Pure."""

from __future__ import annotations

import re
from datetime import date, timedelta

from station.errors import InputError
from station.records.money import amount_text, parse_money
from station.words import panels as words
from station.words.figures import day, read_day


def amount(text: str, currency: str = "EUR") -> int:
    """Minor units of what was typed ("2.10", "2,1", "€ 2"); 0 for nothing. InputError if it is no amount of it."""
    bare = re.sub(r"[€£$\s]", "", text)
    if not bare:
        return 0
    minor = parse_money(bare, currency)
    if minor is None:
        raise InputError(words.NO_AMOUNT.format(text=text, example=amount_text(210, currency)))
    return minor


def parse_date(text: str, today: date) -> str:
    """YYYY-MM-DD of a date typed as the screen writes dates, or as ISO 8601; empty stays empty. InputError otherwise;
    the example in it is today."""
    return _date(text, words.NO_DATE.format(text=text.strip(), example=day(today.isoformat())))


def parse_later(text: str, today: date) -> str:
    """The same for a day to come: "+3" is three days from today."""
    short = re.fullmatch(r"\+(\d{1,3})", text.strip())
    if short:
        return (today + timedelta(days=int(short[1]))).isoformat()
    return _date(text, words.NO_LATER_DATE.format(text=text.strip(), example=later_example(today)))


def later_example(today: date) -> str:
    """How a day to come is typed: three days from today, as the screen writes it."""
    return day((today + timedelta(days=3)).isoformat())


def _date(text: str, problem: str) -> str:
    if not text.strip():
        return ""
    found = read_day(text)
    if found is None:
        raise InputError(problem)
    return found.isoformat()
