"""Money as integer minor units with a currency code: how an amount is typed. `words.figures.money` shows one."""

from __future__ import annotations

from station.words import figures


def parse_money(text: str, currency: str = "EUR") -> int | None:
    """Minor units of "12", "12.5", "12,50" or as the screen writes it; None if it is no amount of that currency."""
    cleaned = text.strip().replace(figures.screen_style().decimal, ".").replace(",", ".")
    whole, _, cents = cleaned.partition(".")
    if not (whole + cents).isdigit() or len(cents) > (0 if currency in figures.NO_MINOR_UNIT else 2):
        return None
    if currency in figures.NO_MINOR_UNIT:
        return int(whole)
    return int(whole or 0) * 100 + int(cents.ljust(2, "0") or 0)


def amount_text(minor: int, currency: str = "EUR") -> str:
    """The amount alone, as the screen writes it and `parse_money` reads it: 210 → "2.10"; empty for nothing."""
    if not minor:
        return ""
    if currency in figures.NO_MINOR_UNIT:
        return str(minor)
    return f"{minor // 100}{figures.screen_style().decimal}{minor % 100:02d}"
