"""How the system of the person writes numbers, dates and money: for the window, and for what a command prints.

A system that is set to no country at all (the locale "C") gets the style that paper has.
"""

from __future__ import annotations

import locale
import re
import sys
from collections.abc import Mapping
from dataclasses import replace

from station.words import figures
from station.words.figures import Style

_NO_COUNTRY = ("", "C", "POSIX")
_STRFTIME = {"%d": "dd", "%e": "d", "%m": "MM", "%y": "yyyy", "%Y": "yyyy", "%b": "MMM", "%F": "yyyy-MM-dd"}
"""what a system's short date is made of, in the letters of a Style; the year always whole"""
_SIGN = "¤"
"""stands for any currency (CLDR)"""
_SPACE = "[ \N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}]"


def of_command_line() -> Style:
    """The style that the environment sets (LC_ALL, LC_NUMERIC, …), without loading Qt."""
    asked = (locale.LC_NUMERIC, locale.LC_TIME, locale.LC_MONETARY)
    before = [locale.setlocale(category) for category in asked]
    try:
        names = [locale.setlocale(category, "") for category in asked]
        pattern = _short_date_pattern()
        number, date, money = (name.partition(".")[0] not in _NO_COUNTRY for name in names)
        return of_conventions(locale.localeconv(), pattern, number=number, date=date, money=money)
    except locale.Error:  # the environment names a locale that is not installed
        return figures.PAPER
    finally:  # what reads and writes files must go on as it began
        for category, name in zip(asked, before, strict=True):
            locale.setlocale(category, name)


def _short_date_pattern() -> str:
    """The system's short date as `time.strftime` wants it; empty where the system does not say it that way."""
    pattern = ""
    if sys.platform != "win32":
        pattern = locale.nl_langinfo(locale.D_FMT)
    return pattern


def of_conventions(found: Mapping[str, object], pattern: str, *, number: bool, date: bool, money: bool) -> Style:
    """The style of what `locale.localeconv` gives and of a short date as `time.strftime` wants it; for what no country
    is set, as on paper."""
    style = figures.PAPER
    if number:
        style = replace(style, decimal=str(found["decimal_point"]), group=str(found["thousands_sep"]))
    dated = re.sub(r"%-?([A-Za-z])", lambda m: _STRFTIME.get(f"%{m[1]}", m[0]), pattern)
    if date and dated and "%" not in dated:
        style = replace(style, date=dated)
    if money and found["p_cs_precedes"] in (0, 1):
        style = replace(style, money=_money(found["p_cs_precedes"] == 1, found["p_sep_by_space"] in (1, 2)))
    return style


def of_window() -> Style:
    """The style of the desktop's settings, for the screen."""
    from PySide6.QtCore import QLocale

    system = QLocale.system()
    if system.language() == QLocale.Language.C:
        return figures.PAPER
    return of_country(
        system.decimalPoint(),
        system.groupSeparator(),
        system.dateFormat(QLocale.FormatType.ShortFormat),
        system.toCurrencyString(1.0, _SIGN),
    )


def of_country(decimal: str, group: str, short_date: str, price: str) -> Style:
    """The style of a desktop's settings; `price` is 1 in the currency ¤, as it is written there."""
    date = re.sub("y+", "yyyy", re.sub("'[^']*'", "", short_date).strip())
    price = price.strip()
    return Style(decimal, group, date, _money(price.startswith(_SIGN), bool(re.search(_SPACE, price))))


def _money(sign_first: bool, space: bool) -> str:
    between = " " if space else ""
    return f"{{sign}}{between}{{amount}}" if sign_first else f"{{amount}}{between}{{sign}}"
