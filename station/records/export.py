"""The records for other programs: CSV and JSON of every table, and the captures and photos as files."""

from __future__ import annotations

import csv
import json
import re
import shutil
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from sqlite3 import Connection
from typing import Any

from station.errors import InputError
from station.records import chain
from station.records.counted import counting
from station.words import records as words

TABLES = (
    "benches", "lots", "units", "visits", "results", "readings", "findings", "treatments", "notes", "overrides",
    "comebacks", "shelf_parts", "shelf_moves", "withdrawals", "certificates", "log",
)  # fmt: skip
_FORMULA = re.compile(r"[\s\x00-\x1f\x7f]*[=+\-@＝＋－＠]|[\t\r]")
"""what a spreadsheet may take for the beginning of a formula, full-width signs and what hides behind blanks among them
(OWASP, CSV injection)"""
_SEPARATORS = re.compile(r"[;\t|]")
"""a spreadsheet of another locale begins a new cell there; a comma or the end of a line stands in quotes"""


@dataclass(frozen=True, slots=True)
class ExportReport:
    """Where it is, and how many rows there are in all (in the JSON) and files."""

    folder: Path
    rows: int
    files: int


def export(db: Connection, folder: Path, target: Path, *, with_files: bool = True) -> ExportReport:
    """Write into the new or empty folder `target`: <table>.csv each, records.json, captures/ and photos/.

    The CSV files hold what counts, so that a sum over them is right; what was withdrawn stands in the JSON, and why in
    withdrawals.csv. Text that a spreadsheet would take for a formula gets an apostrophe in front in the CSV files; the
    JSON is exact.
    InputError if the folder is not empty. Raises OSError.
    """
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise InputError(words.EXPORT_NOT_EMPTY.format(folder=target))
    target.mkdir(parents=True, exist_ok=True)
    for table in TABLES:
        _csv(db, table, target / f"{table}.csv")
    rows = _json(db, target / "records.json")
    copied = _files(folder, target) if with_files else 0
    return ExportReport(target, rows, copied)


def _select(db: Connection, table: str, where: str = "1") -> tuple[list[str], Iterator[tuple[Any, ...]]]:
    columns = [r[1] for r in db.execute(f"PRAGMA table_info({table})")]
    order = ("result_id", "position") if "position" in columns else ("rowid",)
    asked = f"SELECT {', '.join(columns)} FROM {table} WHERE {where} ORDER BY {', '.join(order)}"
    return columns, iter(db.execute(asked))


def cell(value: Any) -> Any:
    """What stands in a cell: text that a spreadsheet would take for a formula gets an apostrophe in front."""
    return _guarded(value) if isinstance(value, str) else value


def _csv(db: Connection, table: str, path: Path) -> None:
    """UTF-8 with a byte order mark (spreadsheets look for it), lines end as in RFC 4180; an empty cell is NULL."""
    columns, rows = _select(db, table, counting(table))
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        for row in rows:
            writer.writerow([cell(value) for value in row])


def _guarded(text: str) -> str:
    """The text so that no cell that a spreadsheet makes of it, by its own separator or that of another locale, begins
    as a formula: an apostrophe stands before each such beginning."""
    parts = _SEPARATORS.split(text)
    if not any(map(_FORMULA.match, parts)) and not _FORMULA.match(text):
        return text
    marks = ["", *_SEPARATORS.findall(text)]
    guarded = [mark + ("'" if _FORMULA.match(part) else "") + part for mark, part in zip(marks, parts, strict=True)]
    whole = "".join(guarded)
    return f"'{whole}" if _FORMULA.match(whole) else whole


def _json(db: Connection, path: Path) -> int:
    """One object, a row a line, written as it is read: {"format", "version", "heads", "tables": {table: [rows]}}.
    The heads of the log stand on the first line, so that they can be read without the rest."""
    heads = json.dumps([asdict(head) for head in chain.heads(db)])
    count = 0
    with path.open("w", encoding="utf-8") as file:
        file.write(f'{{"format": "restpoint-export", "version": 1, "heads": {heads}, "tables": {{')
        for t, table in enumerate(TABLES):
            columns, rows = _select(db, table)
            file.write(f'{"," if t else ""}\n"{table}": [')
            for i, row in enumerate(rows):
                line = json.dumps(dict(zip(columns, row, strict=True)), ensure_ascii=False, allow_nan=False)
                file.write(("," if i else "") + "\n" + line)
                count += 1
            file.write("]")
        file.write("\n}}\n")
    return count


def _files(folder: Path, target: Path) -> int:
    count = 0
    for kind in ("captures", "photos"):
        for file in sorted((folder / kind).glob("*/*/*")):
            if not file.name.startswith("."):
                (target / kind).mkdir(exist_ok=True)
                shutil.copyfile(file, target / kind / file.name)
                count += 1
    return count
