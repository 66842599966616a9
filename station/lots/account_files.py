"""Accounts as files: a CSV in the style of numbers of the person, and a workbook with typed cells and formulas.

Amounts are numbers; what is a sum of them is a formula, so that a spreadsheet comes to it by itself. Sums by name
compare cells as they are: a criterion would take “>3”, “A*” or “2026-11” for something else.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from station.lots.accounts import KINDS, Entry, Kind, UnitAccount
from station.lots.incoming.tables import letters_of
from station.records.export import cell
from station.words import accounts as words
from station.words import common, figures

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

_OF_UNIT: tuple[Kind | str, ...] = (
    "price", "postage", "parts", "minutes", "labour", "sale", "fees", "shipping", "refund", "return",
)  # fmt: skip
"""the columns of figures of a unit, in their order"""
_FIRST_FIGURE = 10
"""the column of the first of them, from 1"""
_CURRENCY, _MINUTES, _LABOUR, _PROFIT = 9, 13, 14, 20
_FORMAT, _FORMAT_WHOLE, _DAY = "#,##0.00", "#,##0", "yyyy-mm-dd"


@dataclass(frozen=True, slots=True)
class Accounts:
    """All that is written: the units, and every amount."""

    units: tuple[UnitAccount, ...]
    entries: tuple[Entry, ...]

    @property
    def currencies(self) -> tuple[str, ...]:
        return tuple(sorted({account.sums.currency for account in self.units}))


# --- CSV ---------------------------------------------------------------------------------------------------


def units_csv(accounts: Accounts, style: figures.Style) -> bytes:
    """One row for each unit: UTF-8 with a byte order mark, lines end as in RFC 4180; amounts without groups, with the
    decimal sign of the style, and semicolons between cells where that is a comma."""
    rows: list[Sequence[object]] = [words.UNIT_HEADS]
    for account in accounts.units:
        sums, currency = account.sums, account.sums.currency
        amounts = [
            str(sums.minutes) if name == "minutes" else plain_amount(sums.of(name), currency, style)  # type: ignore[arg-type]
            for name in _OF_UNIT
        ]
        per_hour = plain_amount(sums.per_hour, currency, style) if sums.per_hour is not None else ""
        rows.append(
            (*_facts(account, style), *amounts, plain_amount(sums.profit, currency, style), per_hour, *_others(account))
        )
    return _csv(rows, style)


def entries_csv(accounts: Accounts, style: figures.Style) -> bytes:
    """One row for each amount, in order of the days."""
    rows: list[Sequence[object]] = [words.ACCOUNT_HEADS]
    for e in in_order(accounts.entries):
        day, amount = figures.day(e.day, style), plain_amount(e.minor, e.currency, style)
        rows.append((e.day[:7] or words.NO_MONTH, day, words.KINDS[e.kind], amount, e.currency, *_named(e)))
    return _csv(rows, style)


def plain_amount(minor: int, currency: str, style: figures.Style) -> str:
    """−1250 → "-12,50": for a program to read, so with a hyphen and without groups."""
    if currency in figures.NO_MINOR_UNIT:
        return str(minor)
    sign = "-" if minor < 0 else ""
    return f"{sign}{abs(minor) // 100}{style.decimal}{abs(minor) % 100:02d}"


def _named(entry: Entry) -> tuple[str, ...]:
    lot, source = (entry.lot.name, entry.lot.source) if entry.lot is not None else ("", "")
    return str(entry.minutes or ""), lot, entry.tag or words.TO_COME, source, entry.note


def _csv(rows: Iterable[Sequence[object]], style: figures.Style) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=";" if style.decimal == "," else ",")
    for row in rows:
        writer.writerow([value if _is_amount(value) else cell(value) for value in row])
    return out.getvalue().encode("utf-8-sig")


def _is_amount(value: object) -> bool:
    """A figure below nought begins as a formula would, and is none."""
    return (
        isinstance(value, str) and value[:1] == "-" and value[1:2].isdigit() and set(value[1:]) <= set("0123456789.,")
    )


def in_order(entries: Iterable[Entry]) -> list[Entry]:
    """By day, then by lot, unit and kind."""
    return sorted(entries, key=lambda e: (e.day, e.lot.name if e.lot else "", e.tag, KINDS.index(e.kind)))


# --- the workbook ---------------------------------------------------------------------------------------------


def workbook(accounts: Accounts) -> bytes:
    """Four sheets: units, lots and months with formulas, and every amount."""
    import openpyxl  # slow to load, and wanted for a workbook only

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = words.UNITS
    _units(sheet, accounts)
    _by_name(book.create_sheet(words.LOTS), accounts)
    listed = in_order(accounts.entries)
    _months(book.create_sheet(words.MONTHS), listed)
    _entries(book.create_sheet(words.ACCOUNTS), listed)
    book.calculation.fullCalcOnLoad = True
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _put(sheet: Worksheet, row: int, column: int, value: object, number_format: str = "") -> None:
    """A text stays one, whatever it begins with; nothing is no cell."""
    if value == "":
        return
    target: Any = sheet.cell(row, column)
    target.value = value
    if isinstance(value, str) and not number_format:
        target.data_type = "s"
    elif number_format:
        target.number_format = number_format


def _head(sheet: Worksheet, heads: Sequence[str]) -> None:
    from openpyxl.styles import Font

    for column, head in enumerate(heads, 1):
        _put(sheet, 1, column, head)
        sheet.cell(1, column).font = Font(bold=True)
        sheet.column_dimensions[letters_of(column)].width = max(12, len(head) + 2)
    sheet.freeze_panes = "A2"


def _amount(minor: int, currency: str) -> Decimal:
    return Decimal(minor) if currency in figures.NO_MINOR_UNIT else Decimal(minor).scaleb(-2)


def _format(currency: str) -> str:
    return _FORMAT_WHOLE if currency in figures.NO_MINOR_UNIT else _FORMAT


def _day(text: str) -> date | str:
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return ""


def _put_day(sheet: Worksheet, row: int, column: int, text: str) -> None:
    if found := _day(text):
        _put(sheet, row, column, found, _DAY)


def _units(sheet: Worksheet, accounts: Accounts) -> None:
    _head(sheet, words.UNIT_HEADS)
    last = len(accounts.units) + 1
    for row, account in enumerate(accounts.units, 2):
        unit, lot, sums = account.unit, account.lot, account.sums
        for column, text in enumerate(_names(account), 1):
            _put(sheet, row, column, text)
        _put_day(sheet, row, 6, lot.bought_on if lot is not None else "")
        _put_day(sheet, row, 7, unit.sold_on)
        _put(sheet, row, 8, unit.channel)
        _put(sheet, row, _CURRENCY, sums.currency)
        for column, name in enumerate(_OF_UNIT, _FIRST_FIGURE):
            if name == "minutes":
                _put(sheet, row, column, sums.minutes, "0")
            else:
                _put(sheet, row, column, _amount(sums.of(name), sums.currency), _format(sums.currency))  # type: ignore[arg-type]
        for column, formula in _results(row, sums.currency):
            _put(sheet, row, column, formula, _format(sums.currency))
        _put(sheet, row, _PROFIT + 2, *_others(account))
    for below, currency in enumerate(accounts.currencies, 2):
        row = last + below
        _put(sheet, row, 1, words.SUM.format(currency=currency))
        _put(sheet, row, _CURRENCY, currency)
        for column in range(_FIRST_FIGURE, _PROFIT + 1):
            letter, key = letters_of(column), letters_of(_CURRENCY)
            sum_of = f'=SUMIF(${key}$2:${key}${last},"{currency}",{letter}$2:{letter}${last})'
            _put(sheet, row, column, sum_of, "0" if column == _MINUTES else _format(currency))
        _put(sheet, row, _PROFIT + 1, _hour(row, currency), _format(currency))


def _results(row: int, currency: str) -> tuple[tuple[int, str], ...]:
    first, minutes, labour = (letters_of(k) for k in (_FIRST_FIGURE, _MINUTES, _LABOUR))
    last = letters_of(_PROFIT - 1)
    before = letters_of(_MINUTES - 1)
    assert minutes != labour
    profit = f"=SUM({first}{row}:{before}{row})+SUM({labour}{row}:{last}{row})"
    return (_PROFIT, profit), (_PROFIT + 1, _hour(row, currency))


def _hour(row: int, currency: str) -> str:
    """What an hour of work brought, to the cent or what is the least of the currency; nothing where nobody worked."""
    places = 0 if currency in figures.NO_MINOR_UNIT else 2
    minutes, labour, profit = (f"{letters_of(k)}{row}" for k in (_MINUTES, _LABOUR, _PROFIT))
    return f'=IF({minutes}=0,"",ROUND(({profit}-{labour})*60/{minutes},{places}))'


def _by_name(sheet: Worksheet, accounts: Accounts) -> None:
    """Each lot, summed over its rows of amounts: with what units that are still to come have to bear."""
    lots = {(e.lot.name if e.lot else "", e.currency) for e in accounts.entries}
    _sums(sheet, words.ACCOUNT_HEADS[6:7], sorted(lots), len(accounts.entries), "G")


def _months(sheet: Worksheet, entries: Sequence[Entry]) -> None:
    months = sorted({(e.day[:7] or words.NO_MONTH, e.currency) for e in entries})
    _sums(sheet, words.MONTH_HEADS[:1], months, len(entries), "A")


def _sums(sheet: Worksheet, heads: Sequence[str], keys: Sequence[tuple[str, str]], count: int, column: str) -> None:
    """A row for each key and currency: by kind what the amounts of that key come to, and the profit."""
    _head(sheet, (*heads, words.MONTH_HEADS[1], *(words.KINDS[kind] for kind in KINDS), words.PROFIT))
    rows = f"$2:${{column}}${count + 1}"

    def listed(name: str) -> str:
        return f"{words.ACCOUNTS}!${name}" + rows.format(column=name)

    for row, (key, currency) in enumerate(keys, 2):
        _put(sheet, row, 1, key)
        _put(sheet, row, 2, currency)
        for k, _ in enumerate(KINDS, 3):
            same = ((listed(column), f"$A{row}"), (listed("E"), f"$B{row}"), (listed("C"), f"{letters_of(k)}$1"))
            formula = "=SUMPRODUCT(" + "*".join(f"({cells}={key})" for cells, key in same) + f"*{listed('D')})"
            _put(sheet, row, k, formula, _format(currency))
        first, last = letters_of(3), letters_of(2 + len(KINDS))
        _put(sheet, row, 3 + len(KINDS), f"=SUM({first}{row}:{last}{row})", _format(currency))


def _entries(sheet: Worksheet, entries: Sequence[Entry]) -> None:
    _head(sheet, words.ACCOUNT_HEADS)
    for row, e in enumerate(entries, 2):
        _put(sheet, row, 1, e.day[:7] or words.NO_MONTH)
        _put_day(sheet, row, 2, e.day)
        _put(sheet, row, 3, words.KINDS[e.kind])
        _put(sheet, row, 4, _amount(e.minor, e.currency), _format(e.currency))
        _put(sheet, row, 5, e.currency)
        if e.minutes:
            _put(sheet, row, 6, e.minutes, "0")
        for column, text in enumerate(_named(e)[1:], 7):
            _put(sheet, row, column, text)


# --- a unit ------------------------------------------------------------------------------------------------------


def _names(account: UnitAccount) -> tuple[str, ...]:
    unit, lot = account.unit, account.lot
    name, source = (lot.name, lot.source or lot.seller) if lot is not None else ("", "")
    return unit.tag, unit.model, name, source, common.BECOMES[unit.becomes]


def _facts(account: UnitAccount, style: figures.Style) -> tuple[str, ...]:
    bought = account.lot.bought_on if account.lot is not None else ""
    days = (figures.day(bought, style), figures.day(account.unit.sold_on, style))
    return (*_names(account), *days, account.unit.channel, account.sums.currency)


def _others(account: UnitAccount) -> tuple[str]:
    return (" ".join(account.others),)
