"""A spreadsheet read as rows of cells, within bounds: CSV of any usual separator and encoding, XLSX with or without
macros (which nobody runs). Numbers of rows are those that the spreadsheet program shows.
"""

from __future__ import annotations

import csv
import io
import re
import warnings
import zipfile
import zlib
from collections import Counter
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date, datetime, time
from itertools import islice
from pathlib import Path
from typing import Any

from station.capture.regular import read_regular
from station.capture.text import visible_line
from station.errors import InputError
from station.words import grammar
from station.words import incoming as words

MOST_BYTES = 20 * 1024 * 1024
MOST_UNFOLDED = 48 * 1024 * 1024
"""of all parts of an XLSX file together: 10,000 rows of a dozen columns come to a sixth of it"""
MOST_PARTS = 500
MOST_ROWS = 10_000
MOST_LINES = 50_000
"""rows that are gone through, empty ones among them"""
MOST_COLUMNS = 60
MOST_CELL = 20_000
"""signs of one cell"""
_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
"""begins a compound file (MS-CFB 2.2): workbooks before XLSX, and those with a password"""
_SNIFFED = 50
"""lines by which the separator is known"""
FORMULA = "formula"
"""what is wrong with a formula whose result is not in the file"""

CellValue = str | int | float | bool | None


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell holds. `wrong`: "formula" without a result, or the error that it shows ("#REF!"). `is_date`: it is a
    day or a time to the spreadsheet, whatever was typed."""

    value: CellValue = None
    number_format: str = ""
    wrong: str = ""
    is_date: bool = False

    @property
    def empty(self) -> bool:
        return not self.wrong and (self.value is None or self.value == "")


@dataclass(frozen=True, slots=True)
class Merged:
    """Cells that are one: rows and columns from 1, both ends among them."""

    first_row: int
    last_row: int
    first_column: int
    last_column: int


@dataclass(frozen=True, slots=True)
class Table:
    """Rows as (number, cells), the empty ones left out. `notes`: what to know of how it was read, a sentence each.
    `parted`: its cells were told apart by a sign between them, so that one too many shifts those after it."""

    name: str
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]
    merged: tuple[Merged, ...] = ()
    notes: tuple[str, ...] = field(default=())
    parted: bool = False


def read_table(path: Path) -> Table:
    """The rows of a CSV or XLSX file. InputError in a sentence for what is none, or is larger than a list of units."""
    name = visible_line(path.name, 80)
    try:
        data = read_regular(path, MOST_BYTES + 1)
    except OSError as fault:
        raise InputError(words.FILE_UNREADABLE.format(file=name, reason=fault.strerror or fault)) from fault
    if len(data) > MOST_BYTES:
        raise InputError(words.FILE_TOO_LARGE.format(file=name, most=MOST_BYTES // 1024**2))
    if not data.strip():
        raise InputError(words.FILE_EMPTY.format(file=name))
    if data.startswith(_OLD):
        raise InputError(words.OLD_FORM.format(file=name))
    if data.startswith(b"PK"):
        return _workbook(data, name)
    if data.lstrip().startswith((b"<", b"%PDF", b"{\\rtf")):  # a page, which some shops' sites call a workbook
        raise InputError(words.OTHER_FORM.format(file=name))
    return _csv(data, name)


# --- CSV ---------------------------------------------------------------------------------------------------


def _csv(data: bytes, name: str) -> Table:
    text, notes = _decoded(data, name)
    first, _, rest = text.partition("\n")
    told = re.fullmatch(r"sep=(.)\r?", first)  # a line by which some programs tell the separator
    separator = told[1] if told else _separator(text)
    rows = []
    # strict, since a quotation mark that is never closed takes the rows below it into its cell
    reader = csv.reader(io.StringIO(rest if told else text, newline=""), delimiter=separator, strict=True)
    number = 1 if told else 0
    try:
        for cells in reader:
            number += 1
            _check_row(cells, number, name)
            if any(cell.strip() for cell in cells):
                rows.append((number, tuple(Cell(cell.strip()) for cell in cells[:MOST_COLUMNS])))
            if len(rows) > MOST_ROWS:
                raise InputError(words.TOO_MANY_ROWS.format(file=name, most=MOST_ROWS))
    except csv.Error:
        raise InputError(words.NOT_CSV.format(file=name, row=number + 1)) from None
    return Table(name, tuple(rows), (), notes, parted=True)


def _check_row(cells: Sequence[str], number: int, name: str) -> None:
    if any(len(cell) > MOST_CELL for cell in cells):
        raise InputError(words.CELL_TOO_LONG.format(file=name, row=number, most=MOST_CELL))
    if any(cell.strip() for cell in cells[MOST_COLUMNS:]):
        raise InputError(words.TOO_MANY_COLUMNS.format(file=name, most=MOST_COLUMNS))


def _decoded(data: bytes, name: str) -> tuple[str, tuple[str, ...]]:
    """The text and what to know of its encoding. A byte order mark says which; else UTF-8, else Windows-1252."""
    marks = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
    marked = next((encoding for mark, encoding in marks if data.startswith(mark)), "")
    for encoding in (marked,) if marked else ("utf-8", "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        return text, (words.OLD_ENCODING,) if encoding == "cp1252" else ()
    raise InputError(words.NOT_TEXT.format(file=name))


def _separator(text: str) -> str:
    """The sign that parts the first lines into the same number of cells most often, outside quotes."""
    lines = [re.sub(r'"[^"]*"', "", line) for line in text.splitlines()[:_SNIFFED] if line.strip()]

    def score(sign: str) -> tuple[int, int]:
        counts = Counter(n for line in lines if (n := line.count(sign)))
        (most, times) = max(counts.items(), key=lambda one: (one[1], one[0]), default=(0, 0))
        return times, most

    best = max("\t;,|", key=score)
    return best if score(best) > (0, 0) else ","


# --- XLSX --------------------------------------------------------------------------------------------------

_MERGED = re.compile(rb'<(?:\w+:)?mergeCell\s[^>]{0,200}?ref="([A-Z]{1,3})(\d{1,7}):([A-Z]{1,3})(\d{1,7})"')
_ROW = re.compile(rb'<(?:\w+:)?row\s[^>]{0,400}?\br="(\d{1,9})"')
_HIDDEN = re.compile(rb'<(?:\w+:)?row\s[^>]{0,400}?\bhidden="(?:1|true)"')
_ENTITY = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_UTF16 = (b"\xff\xfe", b"\xfe\xff")
"""marks of an encoding in which a search for the name of an entity finds nothing; no spreadsheet program writes it"""


@dataclass(frozen=True, slots=True)
class _Looks:
    """What is known of a workbook before it is read. `merged`: name of a part → its merged cells; `hidden`: → how many
    of its rows are hidden."""

    macros: bool
    merged: dict[str, tuple[Merged, ...]]
    hidden: dict[str, int]


def _workbook(data: bytes, name: str) -> Table:
    """The first sheet with a cell in it. Before the reader of workbooks is let near, it is seen how large the file
    unfolds and whether its parts define entities."""
    looks = _looked_at(data, name)
    import openpyxl  # slow to load, and wanted for a workbook only

    try:
        with warnings.catch_warnings(action="ignore"):  # it warns of what it leaves out: styles, extensions
            # twice, since one reading gives a formula or its result, never both
            shown = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
            typed = openpyxl.load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
            with closing(shown), closing(typed):
                return _first_sheet(shown, typed, looks, name)
    except InputError:
        raise
    except MemoryError:
        raise
    except Exception as fault:
        reason = visible_line(str(fault) or type(fault).__name__, 120)
        raise InputError(words.DAMAGED.format(file=name, reason=reason)) from fault


def _looked_at(data: bytes, name: str) -> _Looks:
    """InputError for a file that is no workbook, unfolds too far, or has what no spreadsheet has."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as file:
            parts = file.infolist()
            names = {part.filename for part in parts}
            if "mimetype" in names or "[Content_Types].xml" not in names or "xl/workbook.xml" not in names:
                raise InputError(words.OTHER_FORM.format(file=name))
            if len(parts) > MOST_PARTS:
                raise ValueError(words.TOO_MANY_PARTS.format(most=MOST_PARTS))
            # the reader takes no more of a part than is said here, so this is a bound
            if sum(part.file_size for part in parts) > MOST_UNFOLDED:
                raise InputError(words.UNFOLDS.format(file=name, most=MOST_UNFOLDED // 1024**2))
            merged, hidden = {}, {}
            for part in parts:
                text = file.read(part)
                if not part.filename.endswith((".xml", ".rels", ".vml")) and not text.lstrip().startswith(b"<"):
                    continue
                if text.startswith(_UTF16) or b"\0" in text[:64] or _ENTITY.search(text):
                    raise ValueError(words.HAS_ENTITIES)
                if part.filename.startswith("xl/worksheets/"):
                    merged[part.filename] = _merged_in(text)
                    hidden[part.filename] = len(_HIDDEN.findall(text))
                    last = text.rfind(b"<row ")
                    row = _ROW.match(text, last) if last >= 0 else None
                    if row is not None and int(row[1]) > MOST_LINES:
                        raise InputError(words.TOO_MANY_ROWS.format(file=name, most=MOST_ROWS))
    except (ValueError, zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as fault:
        reason = visible_line(str(fault), 120)
        raise InputError(words.DAMAGED.format(file=name, reason=reason)) from fault
    return _Looks(any(part.endswith("vbaProject.bin") for part in names), merged, hidden)


def _merged_in(part: bytes) -> tuple[Merged, ...]:
    found = (
        Merged(int(first), int(last), _column(left), _column(right))
        for left, first, right, last in _MERGED.findall(part)
    )
    return tuple(islice(found, MOST_ROWS))


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + letter - ord("A") + 1
    return number


def _first_sheet(shown: Any, typed: Any, looks: _Looks, name: str) -> Table:
    """The rows of the first sheet that has any, one that is seen before those that are hidden."""
    both = sorted(zip(shown.worksheets, typed.worksheets, strict=True), key=lambda pair: _is_hidden(pair[0]))
    for sheet, formulas in both:
        rows = _rows_of(sheet, formulas, name)
        if not rows:
            continue
        notes = []
        title, part = visible_line(sheet.title, 31), str(getattr(sheet, "_worksheet_path", "")).lstrip("/")
        if looks.macros:
            notes.append(words.HAS_MACROS)
        if others := [other.title for other in shown.worksheets if other is not sheet]:
            told = grammar.COMMA.join(visible_line(other, 31) for other in others[:9])
            notes.append(words.OTHER_SHEETS.format(sheet=title, others=told))
        if _is_hidden(sheet):
            notes.append(words.HIDDEN_SHEET.format(sheet=title))
        if count := looks.hidden.get(part, 0):
            notes.append(grammar.plural(count, words.HIDDEN_ROWS).format(count=count))
        return Table(name, rows, looks.merged.get(part, ()), tuple(notes))
    raise InputError(words.FILE_EMPTY.format(file=name))


def _is_hidden(sheet: Any) -> bool:
    return bool(sheet.sheet_state != "visible")


def _rows_of(sheet: Any, formulas: Any, name: str) -> tuple[tuple[int, tuple[Cell, ...]], ...]:
    found: list[tuple[int, tuple[Cell, ...]]] = []
    # one more of each than is taken, so that what is beyond is told
    both = (one.iter_rows(max_row=MOST_LINES + 1, max_col=MOST_COLUMNS + 1) for one in (sheet, formulas))
    for number, (values, typed) in enumerate(zip(*both, strict=False), 1):
        cells = tuple(_cell(value, formula, name) for value, formula in zip(values, typed, strict=False))
        if any(not cell.empty for cell in cells):
            found.append((number, cells[:MOST_COLUMNS]))
        if any(not cell.empty for cell in cells[MOST_COLUMNS:]):
            raise InputError(words.TOO_MANY_COLUMNS.format(file=name, most=MOST_COLUMNS))
        if len(found) > MOST_ROWS or number > MOST_LINES:
            raise InputError(words.TOO_MANY_ROWS.format(file=name, most=MOST_ROWS))
    return tuple(found)


def _cell(shown: Any, typed: Any, name: str) -> Cell:
    value = shown.value
    if value is None:
        return Cell(wrong=FORMULA) if typed.data_type == "f" else _EMPTY
    number_format = str(shown.number_format or "")
    if shown.data_type == "e":
        return Cell(wrong=visible_line(str(value), 12))
    is_date = isinstance(value, date | time)  # a datetime is a date
    if isinstance(value, datetime):
        value = value.date().isoformat() if value.time() == time() else value.isoformat(" ")
    elif isinstance(value, date | time):
        value = value.isoformat()
    elif isinstance(value, str):
        value = value.strip()
        if len(value) > MOST_CELL:
            raise InputError(words.CELL_TOO_LONG.format(file=name, row=shown.row, most=MOST_CELL))
    elif not isinstance(value, bool | int | float):
        value = str(value)
    return Cell(value, number_format, is_date=is_date)


_EMPTY = Cell()


def letters_of(column: int) -> str:
    """The letters of a column from 1."""
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
