"""What a sheet sends to a device when it is opened. A sheet may come from anybody, and a report can change a device for
good: those of a sheet that does not ship are shown, and sent only after they were allowed, once for the same reports.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from station import RESOURCES, SAMPLE_UNITS
from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.capture.regular import read_regular
from station.errors import DeviceDenied, InputError
from station.records.files import put_in_place
from station.sheets.library import sheets_in
from station.sheets.model import Sheet
from station.sources.conversation import as_values, plain
from station.words import devices as words
from station.words import grammar

FILE = "allowed-reports.txt"
_MOST_BYTES = 100_000
MOST_SHOWN, MOST_SHOWN_BYTES = 16, 64
"""of what a sheet sends, in a message"""


def refuse_unasked(sheet: Sheet) -> None:
    """DeviceDenied, with what it would send and how to allow it, for a sheet whose reports nobody looked at."""
    if not sheet.talk or _digest(sheet) in _allowed() or any(sheet.talk == one.talk for one in _shipped()):
        return
    raise DeviceDenied(words.REPORTS_UNASKED.format(sheet=sheet.name, reports=shown(sheet)))


def allow(name: str) -> Sheet:
    """Let the sheet of this name send its reports from now on. InputError if there is none, or nothing to allow."""
    sheet = SheetShelf(paths.sheets_folder()).named(name)
    if sheet is None or not sheet.talk:
        raise InputError(words.NOTHING_TO_ALLOW.format(sheet=name))
    lines = sorted({*_allowed(), _digest(sheet)})
    paths.records_folder().mkdir(parents=True, exist_ok=True)
    put_in_place("".join(f"{line}\n" for line in lines).encode(), _file())
    return sheet


def shown(sheet: Sheet) -> str:
    """The reports in hexadecimal, as a sheet gives them; of many, and of long ones, the first, and how much more."""
    reports = tuple(sheet.talk.sends())
    said = [_in_hex(report) for report in reports[:MOST_SHOWN]]
    if more := len(reports) - len(said):
        said.append(grammar.plural(more, words.MORE_REPORTS).format(number=more))
    return grammar.COMMA.join(said)


def _in_hex(report: bytes) -> str:
    if len(report) <= MOST_SHOWN_BYTES:
        return report.hex(" ")
    return words.MORE_BYTES.format(begin=report[:MOST_SHOWN_BYTES].hex(" "), size=len(report))


def _shipped() -> tuple[Sheet, ...]:
    return sheets_in(RESOURCES / "sheets", SAMPLE_UNITS)


def _digest(sheet: Sheet) -> str:
    """Of all that is sent, and when. Of reports that are only sent one after the other it is what it always was, so
    that what was allowed once stays so."""
    reports = [step.send for step in sheet.talk.steps]
    only = sheet.talk == plain(*reports)
    text = "\n".join(r.hex() for r in reports) if only else json.dumps(as_values(sheet.talk), sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def _file() -> Path:
    return paths.records_folder() / FILE


def _allowed() -> set[str]:
    try:
        return set(read_regular(_file(), _MOST_BYTES).decode("ascii", "replace").split())
    except OSError:
        return set()
