"""Money as integer minor units with a currency code: how an amount is typed. `words.figures.money` shows one."""

from __future__ import annotations

from station.words import figures


def parse_money(text: str, currency: str = "EUR") -> int | None:
    """Minor units of "12", "12.5" or "12,50"; None if it is no amount of that currency."""
    cleaned = text.strip().replace(",", ".")
    whole, _, cents = cleaned.partition(".")
    if not (whole + cents).isdigit() or len(cents) > (0 if currency in figures.NO_MINOR_UNIT else 2):
        return None
    if currency in figures.NO_MINOR_UNIT:
        return int(whole)
    return int(whole or 0) * 100 + int(cents.ljust(2, "0") or 0)


def amount_text(minor: int, currency: str = "EUR") -> str:
    """The amount alone, as `parse_money` reads it: 210 → "2.10"; empty for nothing."""
    if not minor:
        return ""
    return str(minor) if currency in figures.NO_MINOR_UNIT else f"{minor // 100}.{minor % 100:02d}"
