"""`restpoint devices`: what is plugged in, what it is, which sheet fits, and why it cannot be opened."""

from __future__ import annotations

import argparse

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.errors import StationError
from station.hid.usages import usage_name
from station.sources.devices import list_devices
from station.sources.port import DeviceInfo


def run(args: argparse.Namespace) -> int:
    """Print a paragraph for each device."""
    shelf = SheetShelf(paths.sheets_folder())
    found = list_devices(include_private=args.all, also=shelf.also())
    if not found:
        print("No game controller is plugged in. Plug one in, or see “restpoint devices --all”.")
    for info in found:
        print("\n".join(lines(info, shelf)))
    return 0


def lines(info: DeviceInfo, shelf: SheetShelf) -> list[str]:
    """The paragraph of one device."""
    what = ", ".join(usage_name(u) for u in info.usages) or "no usage given"
    head = f"{info.product or 'nameless device'}  {info.vendor_id:04x}:{info.product_id:04x}  {info.bus}"
    said = [head, f"  is: {what}" + (f"; serial {info.serial}" if info.serial else "; no serial number")]
    if info.problem:
        return [*said, f"  cannot be opened: {info.problem}"]
    try:
        known = shelf.know(info)
    except StationError as error:
        return [*said, f"  cannot be tested: {error}"]
    source = "drawn up from its descriptor" if known.sheet.drawn_up else "fits"
    said.append(f"  sheet: {known.sheet.name} ({source}), {len(known.sheet.controls)} controls")
    if known.remark:
        said.append(f"  note: {known.remark}")
    return said
