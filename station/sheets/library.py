"""The model sheets at hand, and which of them fits a device."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable
from pathlib import Path

from station.errors import SheetError
from station.sheets.load import CheckNames, load_sheet
from station.sheets.model import Sheet

_log = logging.getLogger(__name__)


def _log_it(error: SheetError) -> None:
    _log.warning("%s", error)


def sheets_in(
    *folders: Path, checks: CheckNames | None = None, report: Callable[[SheetError], None] = _log_it
) -> tuple[Sheet, ...]:
    """All sheets (`*.toml`) of the folders, in the order of folders and file names.

    Of several with the same name the first counts, so put the shop's own folder before the one that ships. A sheet
    that cannot be used is handed to `report` (by default: logged) and hides none of the others. `checks`: those there
    are.
    """
    found: dict[str, Sheet] = {}
    for folder in folders:
        for path in sorted(folder.glob("*.toml")) if folder.is_dir() else []:
            try:
                sheet = load_sheet(path, checks)
            except SheetError as error:
                report(error)
            else:
                found.setdefault(sheet.name, sheet)
    return tuple(found.values())


def match(
    sheets: Iterable[Sheet], vendor_id: int, product_id: int, product: str = "", interface: str = ""
) -> Sheet | None:
    """The sheet for a device, None if none names its ids, nor the protocol of its interface.

    Ids go before the protocol. Among several, the one with the longest name that stands in the device's product string,
    else the first.
    """
    return next(iter(fitting(sheets, vendor_id, product_id, product, interface)), None)


def fitting(
    sheets: Iterable[Sheet], vendor_id: int, product_id: int, product: str = "", interface: str = ""
) -> tuple[Sheet, ...]:
    """The sheet that names the ids of a device, and that of its interface's protocol, as far as there are such."""
    known = tuple(sheets)
    by_ids = [sheet for sheet in known if (vendor_id, product_id) in sheet.match]
    by_class = [sheet for sheet in known if interface and interface in sheet.interfaces]
    of_ids, of_class = _by_name(by_ids, product), _by_name(by_class, product)
    return (*of_ids, *(sheet for sheet in of_class if sheet not in of_ids))


def is_of_class(sheet: Sheet, vendor_id: int, product_id: int, interface: str) -> bool:
    """Whether the sheet is for a device because of its interface's protocol only: for its class, not its model."""
    return interface in sheet.interfaces and (vendor_id, product_id) not in sheet.match


def _by_name(sheets: list[Sheet], product: str) -> list[Sheet]:
    """The one with the longest name that stands in the product string, else the first; none of none."""
    named = [sheet for sheet in sheets if sheet.name.casefold() in product.casefold()]
    return [max(named, key=lambda sheet: len(sheet.name))] if named else sheets[:1]
