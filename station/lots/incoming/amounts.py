"""An amount as a spreadsheet has it: a number, or a text with whatever signs its writer uses. Pure.

A text that can be read in two ways is not guessed at.
"""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation

from station.errors import InputError
from station.records.money import MOST_MINOR, amount_text
from station.words import figures
from station.words import incoming as words

_SPACES = re.compile(r"[\s'’ ]")
_CODE = re.compile(r"[A-Za-z]{3}")
_BARE = re.compile(r"[0-9.,]+")
_FORMAT_SIGN = re.compile(r"\[\$([^\]-]*)(?:-[^\]]*)?\]|\"([^\"]*)\"|([€£$])")
"""what a number format writes before or behind the number: "[$€-407]", a text in quotes, or the sign alone"""


def currency_in(text: str) -> str:
    """The currency that a text or number format names by sign or code; empty if it names none."""
    for sign in figures.SIGNS:
        if figures.SIGNS[sign] in text:
            return sign
    codes = [code.upper() for code in _CODE.findall(text)]
    return next((code for code in codes if code in figures.SIGNS or code in _KNOWN), "")


_KNOWN = frozenset(
    {"AUD", "BRL", "CAD", "CHF", "CNY", "CZK", "DKK", "HKD", "HUF", "INR", "JPY", "KRW", "MXN", "NOK", "NZD", "PLN"}
    | {"RON", "SEK", "SGD", "TRY", "ZAR", "ISK", "VND", "CLP"}
)
"""codes of ISO 4217 by which a price may be marked; another word of three letters is no currency"""


def currency_of_format(number_format: str) -> str:
    """The currency in which a spreadsheet shows the number of a cell; empty if it shows none."""
    parts = [next(filter(None, found), "") for found in _FORMAT_SIGN.findall(number_format)]
    return next((found for part in parts if (found := currency_in(part))), "")


def read_amount(value: object, currency: str, number_format: str = "") -> int:
    """Minor units of a cell: an int, float or text. 0 for an empty one. InputError says what is wrong with it."""
    text = str(value).strip() if value is not None else ""
    found = currency_in(text) or currency_of_format(number_format)
    if found and found != currency:
        raise InputError(words.OTHER_CURRENCY.format(text=_cut(text), found=found, currency=currency))
    if isinstance(value, bool):
        raise _no_amount(text, currency)
    amount = _of_number(value, currency) if isinstance(value, int | float) else _of_text(text, currency)
    places = _places(currency)
    minor = (amount.scaleb(places)).to_integral_value()
    if minor != amount.scaleb(places):
        raise InputError(words.TOO_FINE.format(text=_cut(text), places=places))
    if minor < 0:
        raise InputError(words.NEGATIVE.format(text=_cut(text)))
    if minor > MOST_MINOR:
        raise InputError(words.TOO_MUCH.format(text=_cut(text), most=figures.money(MOST_MINOR, currency)))
    return int(minor)


def _places(currency: str) -> int:
    return 0 if currency in figures.NO_MINOR_UNIT else 2


def _of_number(value: float, currency: str) -> Decimal:
    """The number that was typed: a cell holds it as binary64, of which fifteen digits are certain."""
    try:
        return Decimal(f"{value:.15g}")
    except InvalidOperation:
        raise _no_amount(str(value), currency) from None


def _of_text(text: str, currency: str) -> Decimal:
    bare = _SPACES.sub("", _CODE.sub("", text))
    for sign in figures.SIGNS.values():
        bare = bare.replace(sign, "")
    if not bare:
        if text:
            raise _no_amount(text, currency)
        return Decimal(0)
    negative = bare[0] in "-−–" or (bare[0] == "(" and bare[-1] == ")")
    bare = bare.strip("-−–()")
    if not _BARE.fullmatch(bare) or not any(c.isdigit() for c in bare):
        raise _no_amount(text, currency)
    amount = Decimal(_plain(bare, text, currency))
    return -amount if negative else amount


def _plain(bare: str, text: str, currency: str) -> str:
    """Digits with at most one point. With both signs the last is the decimal one; one sign alone that could be either
    is not guessed at."""
    signs = [c for c in bare if c in ".,"]
    kinds = set(signs)
    example = amount_text(125_000, currency)
    if not signs:
        return bare
    last = signs[-1]
    whole, _, cents = bare.rpartition(last)
    if len(kinds) == 2:
        group = (kinds - {last}).pop()
        if signs.count(last) > 1 or not _grouped(whole, group):
            raise InputError(words.TWO_SEPARATORS.format(text=_cut(text), example=example))
        return f"{whole.replace(group, '')}.{cents or '0'}"
    if len(signs) > 1:
        if not _grouped(bare, last):
            raise InputError(words.TWO_SEPARATORS.format(text=_cut(text), example=example))
        return bare.replace(last, "")
    if len(cents) == 3 and 0 < len(whole) <= 3 and whole.strip("0"):
        one, other = f"{whole}{cents}", f"{whole}.{cents}"
        raise InputError(words.AMBIGUOUS.format(text=_cut(text), one=one, other=other, example=example))
    return f"{whole or '0'}.{cents or '0'}"


def _grouped(digits: str, sign: str) -> bool:
    first, *rest = digits.split(sign)
    return 0 < len(first) <= 3 and all(len(part) == 3 for part in rest)


def _no_amount(text: str, currency: str) -> InputError:
    return InputError(words.NO_AMOUNT.format(text=_cut(text), example=amount_text(1250, currency)))


def _cut(text: str) -> str:
    return text if len(text) <= 24 else text[:24] + "…"
