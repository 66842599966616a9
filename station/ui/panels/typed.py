"""What was typed into a panel, read as an amount or a date. Pure."""

from __future__ import annotations

import re
from datetime import date

from station.errors import InputError
from station.records.money import amount_text, parse_money
from station.words import panels as words


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
    """YYYY-MM-DD of what was typed; "+3" is three days from today; empty stays empty. InputError otherwise."""
    text = text.strip()
    if not text:
        return ""
    if re.fullmatch(r"\+\d{1,3}", text):
        return date.fromordinal(today.toordinal() + int(text)).isoformat()
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise InputError(words.NO_DATE.format(text=text)) from error
