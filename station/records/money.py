"""Money as integer minor units with a currency code, and how it is written."""

from __future__ import annotations

_SIGNS = {"EUR": "€", "GBP": "£", "USD": "$"}
_WITHOUT_CENTS = {"JPY", "KRW", "ISK"}  # no minor unit in the exception lists of ISO 4217


def format_money(minor: int, currency: str) -> str:
    """Amount in words of the till: (40, "EUR") → "€ 0.40", (-1250, "CHF") → "−CHF 12.50"."""
    sign = _SIGNS.get(currency, currency)
    minus = "−" if minor < 0 else ""
    if currency in _WITHOUT_CENTS:
        return f"{minus}{sign} {abs(minor)}"
    return f"{minus}{sign} {abs(minor) // 100}.{abs(minor) % 100:02d}"


def parse_money(text: str, currency: str = "EUR") -> int | None:
    """Minor units of "12", "12.5" or "12,50"; None if it is no amount of that currency."""
    cleaned = text.strip().replace(",", ".")
    whole, _, cents = cleaned.partition(".")
    if not (whole + cents).isdigit() or len(cents) > (0 if currency in _WITHOUT_CENTS else 2):
        return None
    if currency in _WITHOUT_CENTS:
        return int(whole)
    return int(whole or 0) * 100 + int(cents.ljust(2, "0") or 0)


def amount_text(minor: int, currency: str = "EUR") -> str:
    """The amount alone, as `parse_money` reads it: 210 → "2.10"; empty for nothing."""
    if not minor:
        return ""
    return str(minor) if currency in _WITHOUT_CENTS else f"{minor // 100}.{minor % 100:02d}"
