"""`restpoint devices`: what is plugged in, what it is, which sheet fits, and why it cannot be opened."""

from __future__ import annotations

import argparse
import sys

from station.app import paths
from station.app.sent_reports import allow, refuse_unasked, shown
from station.app.shelf_of_sheets import Known, SheetShelf
from station.errors import DeviceDenied, StationError
from station.hid.usages import usage_name
from station.sheets.library import is_of_class
from station.sheets.power import cell_reports
from station.sheets.vibration import vibration_of
from station.sources.devices import list_devices
from station.sources.port import DeviceInfo
from station.sources.system_power import supplies_of
from station.words import command_line as words
from station.words import devices as device_words
from station.words import grammar


def run(args: argparse.Namespace) -> int:
    """Print a paragraph for each device; with `--allow` let a sheet send its reports."""
    if args.allow:
        sheet = allow(args.allow)
        print(device_words.REPORTS_ALLOWED.format(sheet=sheet.name, reports=shown(sheet)))
        return 0
    shelf = SheetShelf(paths.sheets_folder())
    found = list_devices(args.all, shelf.also(), include_others=args.all, ask_library=True)
    if not found:
        print(words.NO_DEVICE if args.all else words.NO_CONTROLLER)
    for info in found:
        print("\n".join(lines(info, shelf)))
    return 0


def lines(info: DeviceInfo, shelf: SheetShelf) -> list[str]:
    """The paragraph of one device."""
    name = info.called or device_words.NAMELESS_IN_LIST
    what = grammar.COMMA.join(usage_name(u) for u in info.usages) or words.NO_USAGE
    if info.interface:
        what = words.IS_INTERFACE.format(interface=bytes.fromhex(info.interface).hex(" ").upper())
    said = [
        words.DEVICE.format(name=name, vendor=info.vendor_id, product=info.product_id, bus=info.bus),
        words.IS_WITH_SERIAL.format(usages=what, serial=info.serial)
        if info.serial
        else words.IS_WITHOUT_SERIAL.format(usages=what),
    ]
    said.append(words.READ_THROUGH.format(way=words.BACK_ENDS[_back_end(info)]))
    if info.problem:
        return [*said, words.NOT_OPENED.format(problem=info.problem)]
    try:
        known = shelf.know(info)
    except StationError as error:
        return [*said, words.NOT_TESTABLE.format(problem=error)]
    controls = grammar.count_of(len(known.sheet.controls), words.CONTROLS)
    line = words.SHEET_DRAWN_UP if known.sheet.drawn_up else words.SHEET_FITS
    said += [
        line.format(sheet=known.sheet.name, controls=controls),
        words.VIBRATES.format(way=_vibrates(info, known)),
        words.TELLS_CELL.format(ways=_tells_cell(info, known)),
    ]
    try:
        refuse_unasked(known.sheet)
    except DeviceDenied as asked:
        said.append(words.NOTE.format(remark=asked))
    if is_of_class(known.sheet, info.vendor_id, info.product_id, info.interface):
        said.append(words.NOTE.format(remark=words.BY_CLASS))
    if known.remark:
        said.append(words.NOTE.format(remark=known.remark))
    return said


def _back_end(info: DeviceInfo) -> str:
    if info.interface:
        return "libusb"
    return "hidraw" if sys.platform.startswith("linux") else "hidapi"


def _vibrates(info: DeviceInfo, known: Known) -> str:
    found = vibration_of(known.sheet, known.layout, info.descriptor)
    return words.VIBRATION_WAYS[found.way] if found else words.VIBRATES_UNKNOWN


def _tells_cell(info: DeviceInfo, known: Known) -> str:
    """Where the link check will find something; nothing is asked for it here."""
    ways = {
        words.CELL_IN_REPORTS: any(control.kind == "battery" for control in known.sheet.controls),
        words.CELL_WHEN_ASKED: bool(cell_reports(known.layout)),
        words.CELL_BY_SYSTEM: bool(supplies_of(info.key)),
    }
    return grammar.COMMA.join(way for way, there in ways.items() if there) or words.CELL_NOT_TOLD
