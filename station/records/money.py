"""Money as integer minor units with a currency code: how an amount is typed. `words.figures.money` shows one."""

from __future__ import annotations

from decimal import MAX_EMAX, MAX_PREC, Context, Decimal

from station.words import figures

MOST_MINOR = 1_000_000_000
"""the greatest amount that is taken, in minor units: the sums of a lot stay far below what a record holds (2⁶³)"""
CURRENCY = "currency"
"""the setting that holds the shop's currency, in which units are reckoned that belong to no lot"""
UNLESS_SET = "EUR"
OF_SHOP = f"coalesce(nullif((SELECT value FROM settings WHERE key = '{CURRENCY}'), ''), '{UNLESS_SET}')"
"""the shop's currency, in SQL: for whoever asks, so that the views and the program go by one rule"""
_EXACT = Context(prec=MAX_PREC, Emax=MAX_EMAX)


def parse_money(text: str, currency: str = "EUR") -> int | None:
    """Minor units of "12", "12.5", "12,50" or as the screen writes it; None if it is no amount of that currency.
    More than MOST_MINOR comes as one more than that."""
    cleaned = text.strip().replace(figures.screen_style().decimal, ".").replace(",", ".")
    whole, _, cents = cleaned.partition(".")
    places = 0 if currency in figures.NO_MINOR_UNIT else 2
    if not (whole + cents).isdecimal() or len(cents) > places:
        return None
    return min(int(Decimal(cleaned).scaleb(places, _EXACT)), MOST_MINOR + 1)


def amount_text(minor: int, currency: str = "EUR") -> str:
    """The amount alone, as the screen writes it and `parse_money` reads it: 210 → "2.10"; empty for nothing."""
    if not minor:
        return ""
    if currency in figures.NO_MINOR_UNIT:
        return str(minor)
    return f"{minor // 100}{figures.screen_style().decimal}{minor % 100:02d}"
