"""`restpoint devices`: what is plugged in, what it is, which sheet fits, and why it cannot be opened."""

from __future__ import annotations

import argparse

from station.app import paths
from station.app.shelf_of_sheets import Known, SheetShelf
from station.errors import StationError
from station.hid.usages import usage_name
from station.sheets.power import cell_reports
from station.sheets.vibration import Way, vibration_of
from station.sources.devices import list_devices
from station.sources.port import DeviceInfo
from station.sources.system_power import supplies_of

_NONE = "No game controller is plugged in. Plug one in, or see “restpoint devices --all”."
_NONE_AT_ALL = (
    "The system lists no HID device at all. Plug one in; a unit with a mode switch may be in a mode that is not HID."
)
_WAYS: dict[Way | None, str] = {
    "sheet": "by the reports in its sheet",
    "haptics": "by the haptics page of HID",
    "PID": "by effects, as HID's physical input devices do (PID)",
    None: "in no way that is known; write the reports of its motors into a sheet (rumble) if it does",
}


def run(args: argparse.Namespace) -> int:
    """Print a paragraph for each device."""
    shelf = SheetShelf(paths.sheets_folder())
    found = list_devices(args.all, shelf.also(), include_others=args.all)
    if not found:
        print(_NONE_AT_ALL if args.all else _NONE)
    for info in found:
        print("\n".join(lines(info, shelf)))
    return 0


def lines(info: DeviceInfo, shelf: SheetShelf) -> list[str]:
    """The paragraph of one device."""
    what = ", ".join(usage_name(u) for u in info.usages) or "no usage given"
    head = f"{info.product or 'nameless device'}  {info.vendor_id:04x}:{info.product_id:04x}  {info.bus}"
    said = [head, f"  is: {what}" + (f"; serial {info.serial}" if info.serial else "; no serial number")]
    if info.problem:
        return [*said, f"  not opened: {info.problem}"]
    try:
        known = shelf.know(info)
    except StationError as error:
        return [*said, f"  cannot be tested: {error}"]
    source = "drawn up from its descriptor" if known.sheet.drawn_up else "fits"
    said.append(f"  sheet: {known.sheet.name} ({source}), {len(known.sheet.controls)} controls")
    said += [f"  vibrates: {_vibrates(info, known)}", f"  tells its cell: {_tells_cell(info, known)}"]
    if known.remark:
        said.append(f"  note: {known.remark}")
    return said


def _vibrates(info: DeviceInfo, known: Known) -> str:
    found = vibration_of(known.sheet, known.layout, info.descriptor)
    return _WAYS[found.way if found else None]


def _tells_cell(info: DeviceInfo, known: Known) -> str:
    """Where the link check will find something; nothing is asked for it here."""
    ways = {
        "in its reports": any(control.kind == "battery" for control in known.sheet.controls),
        "when it is asked": bool(cell_reports(known.layout)),
        "through the system": bool(supplies_of(info.key)),
    }
    return ", ".join(way for way, there in ways.items() if there) or "no"
