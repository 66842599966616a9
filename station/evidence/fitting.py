"""Which layout and which model sheet a recording is read with."""

from __future__ import annotations

from pathlib import Path

from station import RESOURCES, SAMPLE_UNITS
from station.capture.types import Capture
from station.checks.registry import answered_by
from station.errors import CaptureError, DescriptorError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout
from station.sheets.drawup import draw_up
from station.sheets.library import match, sheets_in
from station.sheets.load import load_sheet
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo
from station.words import evidence as words

NO_LAYOUT = Layout((), (), False)


def layout_of(capture: Capture) -> Layout:
    """The layout of the recording's own descriptor; an empty one where there is none or it cannot be read (a sheet's
    explicit fields can still be)."""
    try:
        return parse_descriptor(capture.descriptor) if capture.descriptor else NO_LAYOUT
    except DescriptorError:
        return NO_LAYOUT


def _no_layout_because(capture: Capture) -> str:
    try:
        parse_descriptor(capture.descriptor)
    except DescriptorError as error:
        return str(error) if capture.descriptor else words.NO_DESCRIPTOR
    return words.NO_INPUTS


def find_sheet(capture: Capture, folder: Path, layout: Layout, sheet_path: Path | None = None) -> Sheet:
    """The sheet for a recording: the one given, else the one it names, else one that matches its ids, else drawn up.

    Sheets are looked for beside the recording, then among those that ship.
    """
    if sheet_path is not None:
        return load_sheet(sheet_path, answered_by())
    meta = capture.meta
    sheets = sheets_in(folder, RESOURCES / "sheets", SAMPLE_UNITS, checks=answered_by())
    named = next((sheet for sheet in sheets if meta.sheet is not None and sheet.name == meta.sheet), None)
    found = named or match(sheets, meta.vendor_id, meta.product_id, meta.product)
    if found is not None:
        return found
    if not layout.input_fields():
        raise CaptureError(words.NO_SHEET_FITS.format(why=_no_layout_because(capture)))
    info = DeviceInfo("", meta.vendor_id, meta.product_id, meta.product, meta.serial, meta.bus, capture.descriptor)
    return draw_up(layout, info)
