"""What a sheet sends to a device when it is opened. A sheet may come from anybody, and a report can change a device for
good: those of a sheet that does not ship are shown, and sent only after they were allowed, once for the same reports.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from station import RESOURCES, SAMPLE_UNITS
from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.capture.regular import read_regular
from station.errors import DeviceDenied, InputError
from station.records.files import put_in_place
from station.sheets.library import sheets_in
from station.sheets.model import Sheet
from station.words import devices as words
from station.words import grammar

FILE = "allowed-reports.txt"
_MOST_BYTES = 100_000


def refuse_unasked(sheet: Sheet) -> None:
    """DeviceDenied, with what it would send and how to allow it, for a sheet whose reports nobody looked at."""
    if not sheet.open or _digest(sheet) in _allowed() or any(sheet.open == one.open for one in _shipped()):
        return
    raise DeviceDenied(words.REPORTS_UNASKED.format(sheet=sheet.name, reports=shown(sheet)))


def allow(name: str) -> Sheet:
    """Let the sheet of this name send its reports from now on. InputError if there is none, or nothing to allow."""
    sheet = SheetShelf(paths.sheets_folder()).named(name)
    if sheet is None or not sheet.open:
        raise InputError(words.NOTHING_TO_ALLOW.format(sheet=name))
    lines = sorted({*_allowed(), _digest(sheet)})
    paths.records_folder().mkdir(parents=True, exist_ok=True)
    put_in_place("".join(f"{line}\n" for line in lines).encode(), _file())
    return sheet


def shown(sheet: Sheet) -> str:
    """The reports in hexadecimal, as a sheet gives them."""
    return grammar.COMMA.join(report.hex(" ") for report in sheet.open)


def _shipped() -> tuple[Sheet, ...]:
    return sheets_in(RESOURCES / "sheets", SAMPLE_UNITS)


def _digest(sheet: Sheet) -> str:
    return hashlib.sha256("\n".join(report.hex() for report in sheet.open).encode()).hexdigest()


def _file() -> Path:
    return paths.records_folder() / FILE


def _allowed() -> set[str]:
    try:
        return set(read_regular(_file(), _MOST_BYTES).decode("ascii", "replace").split())
    except OSError:
        return set()
