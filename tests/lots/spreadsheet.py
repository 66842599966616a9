"""A reader of workbooks that shares nothing with what writes them: cells by openpyxl, formulas worked out here,
exactly, in decimals. It knows SUM, SUMIF, SUMPRODUCT, IF and ROUND, sums, products and comparisons."""

from __future__ import annotations

import io
import re
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import openpyxl
from openpyxl.utils import range_boundaries

Value = Decimal | str | bool | None
_TOKEN = re.compile(
    r"\s*(?:(?P<text>\"(?:[^\"]|\"\")*\")|(?P<range>(?:\w+!)?\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)(?![\w(])"
    r"|(?P<number>\d+(?:\.\d+)?)|(?P<name>[A-Z]+)(?=\()|(?P<sign>[-+*/(),=<>]))"
)


class Book:
    def __init__(self, data: bytes) -> None:
        self._book = openpyxl.load_workbook(io.BytesIO(data))
        self._areas: dict[tuple[str, str], list[Value]] = {}

    def sheet(self, name: str) -> Any:
        return self._book[name]

    def value(self, sheet: str, place: str) -> Value:
        """What the cell shows."""
        held = self._book[sheet][place]
        if held.data_type == "f":
            assert isinstance(held.value, str)
            return _Formula(self, sheet, held.value[1:]).result()
        found = held.value
        if isinstance(found, bool) or found is None or isinstance(found, str):
            return found
        return Decimal(str(found)) if isinstance(found, int | float | Decimal) else str(found)

    def cells(self, sheet: str, reference: str) -> list[Value]:
        where, _, area = reference.rpartition("!")
        sheet, area = where or sheet, area.replace("$", "")
        if (sheet, area) not in self._areas:
            self._areas[sheet, area] = self._cells(sheet, area)
        return self._areas[sheet, area]

    def _cells(self, sheet: str, area: str) -> list[Value]:
        left, top, right, bottom = range_boundaries(area)
        letter = openpyxl.utils.get_column_letter
        return [self.value(sheet, f"{letter(c)}{r}") for r in range(top, bottom + 1) for c in range(left, right + 1)]


def number(value: Any) -> Decimal:
    return value if isinstance(value, Decimal) else Decimal(int(value)) if isinstance(value, bool) else Decimal(0)


class _Formula:
    """Recursive descent over one formula."""

    def __init__(self, book: Book, sheet: str, text: str) -> None:
        self._book, self._sheet, self._tokens = book, sheet, []
        at = 0
        while at < len(text):
            found = _TOKEN.match(text, at)
            assert found, text[at:]
            self._tokens.append((found.lastgroup, found[found.lastgroup]))  # type: ignore[index]
            at = found.end()
        self._at = 0

    def result(self) -> Any:
        value = self._compared()
        assert self._at == len(self._tokens), self._tokens[self._at :]
        return value

    def _next(self, *signs: str) -> str:
        if self._at < len(self._tokens) and self._tokens[self._at] in [("sign", s) for s in signs]:
            self._at += 1
            return self._tokens[self._at - 1][1]
        return ""

    def _compared(self) -> Any:
        left = self._added()
        if self._next("="):
            return _each(left, self._added(), lambda a, b: _same(a, b))
        return left

    def _added(self) -> Any:
        left = self._product()
        while sign := self._next("+", "-"):
            right = self._product()
            left = _each(left, right, lambda a, b, s=sign: number(a) + number(b) if s == "+" else number(a) - number(b))
        return left

    def _product(self) -> Any:
        left = self._one()
        while sign := self._next("*", "/"):
            right = self._one()
            left = _each(left, right, lambda a, b, s=sign: number(a) * number(b) if s == "*" else number(a) / number(b))
        return left

    def _one(self) -> Any:
        if self._next("("):
            value = self._compared()
            assert self._next(")")
            return value
        if self._next("-"):
            return -number(self._one())
        kind, text = self._tokens[self._at]
        self._at += 1
        if kind == "number":
            return Decimal(text)
        if kind == "text":
            return text[1:-1].replace('""', '"')
        if kind == "range":
            cells = self._book.cells(self._sheet, text)
            return cells if ":" in text else cells[0]
        assert kind == "name", text
        assert self._next("(")
        if text == "IF":  # only the branch that is taken is worked out
            return self._if()
        given = [self._compared()]
        while self._next(","):
            given.append(self._compared())
        assert self._next(")")
        return getattr(self, f"_{text.casefold()}")(*given)

    def _if(self) -> Any:
        asked = self._compared()
        assert self._next(",")
        begin = self._at
        branches = []
        for taken in (True, False):
            if bool(asked) is taken:
                branches.append(self._compared())
            else:
                depth = 0
                while depth or self._tokens[self._at] not in (("sign", ","), ("sign", ")")):
                    depth += {"(": 1, ")": -1}.get(self._tokens[self._at][1], 0)
                    self._at += 1
            assert self._next(",", ")")
        assert begin < self._at
        return branches[0]

    def _round(self, value: Any, places: Any) -> Decimal:
        return number(value).quantize(Decimal(1).scaleb(-int(places)), ROUND_HALF_UP)

    def _sumproduct(self, cells: Any) -> Decimal:
        return sum(map(number, cells), Decimal(0))

    def _sumif(self, keys: list[Value], key: str, cells: list[Value]) -> Decimal:
        return sum((number(c) for k, c in zip(keys, cells, strict=True) if _same(k, key)), Decimal(0))

    def _sum(self, *given: Any) -> Decimal:
        flat = [v for one in given for v in (one if isinstance(one, list) else [one])]
        return sum(map(number, flat), Decimal(0))


def _same(a: Any, b: Any) -> bool:
    """As a spreadsheet compares: of one type, texts whatever their case."""
    if isinstance(a, str) or isinstance(b, str):
        return isinstance(a, str) and isinstance(b, str) and a.casefold() == b.casefold()
    return number(a) == number(b)


def _each(left: Any, right: Any, work: Any) -> Any:
    if not isinstance(left, list) and not isinstance(right, list):
        return work(left, right)
    count = len(left) if isinstance(left, list) else len(right)
    many = [one if isinstance(one, list) else [one] * count for one in (left, right)]
    return [work(a, b) for a, b in zip(*many, strict=True)]
