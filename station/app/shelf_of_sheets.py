"""Which model sheet fits a device: the shop's own folder first, then those that ship, else one is drawn up."""

from __future__ import annotations

import logging
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from station import RESOURCES, SAMPLE_UNITS
from station.checks.registry import answered_by
from station.errors import DescriptorError, DeviceUnknown, SheetError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout
from station.records.types import Unit
from station.sheets.bind import Binding, bind
from station.sheets.drawup import draw_up
from station.sheets.library import fitting, sheets_in
from station.sheets.load import load_sheet, parse_sheet
from station.sheets.model import Sheet
from station.sheets.shared import remark
from station.sheets.write import save_sheet, sheet_text
from station.sources.port import DeviceInfo
from station.words import desk as words
from station.words import devices, teaching

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Known:
    """A device that can be tested: its sheet bound to its layout. `remark`: what the person should know."""

    sheet: Sheet
    layout: Layout
    binding: Binding
    remark: str = ""


class SheetShelf:
    """Model sheets by device. The own folder is read again on every look-up: sheets are few, and may be edited."""

    def __init__(self, own: Path) -> None:
        self._own = own

    def sheets(self) -> tuple[Sheet, ...]:
        """All sheets, the shop's own first."""
        return sheets_in(self._own, RESOURCES / "sheets", SAMPLE_UNITS, checks=answered_by())

    def named(self, name: str) -> Sheet | None:
        """The sheet of that name."""
        return next((s for s in self.sheets() if s.name == name), None)

    def of_unit(self, unit: Unit) -> Sheet:
        """The sheet of a unit; one without controls where none is known any more."""
        return self.named(unit.sheet) or Sheet(unit.sheet or unit.model)

    def also(self) -> set[tuple[int, int]]:
        """Vendor and product ids that sheets name: opened although they are no game controllers by usage."""
        return {pair for sheet in self.sheets() for pair in sheet.match}

    def know(self, info: DeviceInfo) -> Known:
        """Sheet, layout and binding for a device.

        DeviceUnknown when nothing can be made of it: a descriptor that names no control, or none, and no sheet with
        explicit fields.
        """
        layout, problem = _layout(info)
        sheets = fitting(self.sheets(), info.vendor_id, info.product_id, info.product, info.interface)
        refused: list[tuple[Sheet, SheetError]] = []
        for sheet in sheets:  # one that names its ids may be for its mode as a HID device
            try:
                return Known(sheet, layout, bind(sheet, layout), "" if info.interface else problem)
            except SheetError as error:
                _log.warning("sheet %s does not fit: %s", sheet.name, error)
                refused.append((sheet, error))
        if refused:
            best, why = refused[0]
            if problem:
                said = words.SHEET_NEEDS_FIELDS.format(device=_called(info), problem=problem, sheet=best.name)
                raise DeviceUnknown(said) from why
            problem = words.SHEET_DOES_NOT_FIT.format(sheet=best.name, problem=why)
        drawn = draw_up(layout, info)
        if not drawn.controls:
            if problem:
                raise DeviceUnknown(words.TELLS_NOTHING_WHY.format(device=_called(info), problem=problem.rstrip(".")))
            raise DeviceUnknown(words.TELLS_NOTHING.format(device=_called(info)))
        said = " ".join(part for part in (problem, remark(drawn)) if part)
        return Known(drawn, layout, bind(drawn, layout), said)

    def blank(self, info: DeviceInfo) -> Known:
        """A device to be taught: what is known of it, else a sheet without controls."""
        try:
            return self.know(info)
        except DeviceUnknown:
            empty = Sheet(info.product or teaching.UNKNOWN_DEVICE, drawn_up=True)
            layout = _layout(info)[0]
            return Known(empty, layout, bind(empty, layout))

    def fitted(self, sheet: Sheet, info: DeviceInfo) -> Known:
        """This sheet for this device. SheetError when it does not fit."""
        layout = _layout(info)[0]
        return Known(sheet, layout, bind(sheet, layout))

    def save(self, sheet: Sheet, *, keep_old: bool = False) -> Path:
        """Keep a sheet in the shop's own folder; it counts from the next look-up on.

        `keep_old`: a file that it takes the place of is put aside, not lost.
        """
        sheet = replace(sheet, drawn_up=False)
        path = self._own / f"{_file_name(sheet.name)}.toml"
        parse_sheet(sheet_text(sheet), path.name, answered_by())  # what cannot be read back takes the place of nothing
        self._own.mkdir(parents=True, exist_ok=True)
        if keep_old and path.exists():
            path.replace(path.with_name(f"{path.name}.{datetime.now(UTC):%Y%m%dT%H%M%S}.old"))
        save_sheet(path, sheet)
        load_sheet(path, answered_by())  # what cannot be read back must not be called saved
        return path


def carried_over(learned: Sheet, before: Sheet) -> Sheet:
    """What was learned anew, with everything of the sheet before it that no walk can show: ids, checks that a person
    answers, parts of controls that are still there, limits, reports to send; and, where by its name it takes the place
    of the sheet of a whole class of interfaces, that class. Of a drawn-up sheet only the checks that a person answers:
    its ids are those of the device, its parts do not bear the learned names."""
    if before.drawn_up:
        return replace(learned, asks=before.asks)
    here = {c.id for c in learned.controls}
    parts = tuple(p for p in before.parts if all(s.split(".")[0] in here for s in p.serves))
    match = tuple(dict.fromkeys((*learned.match, *before.match)))
    interfaces = before.interfaces if learned.name == before.name else ()
    named = {place.usage for c in learned.controls for place in c.places}
    absent = tuple(dict.fromkeys((*learned.absent, *(usage for usage in before.absent if usage not in named))))
    return replace(
        learned, match=match, interfaces=interfaces, talk=before.talk, asks=before.asks, parts=parts,
        limits=before.limits, rumble=before.rumble, absent=absent,
    )  # fmt: skip


def _called(info: DeviceInfo) -> str:
    return info.called or devices.THIS_DEVICE


def _layout(info: DeviceInfo) -> tuple[Layout, str]:
    if not info.descriptor:
        return Layout((), (), False), words.NO_DESCRIPTOR
    try:
        return parse_descriptor(info.descriptor), ""
    except DescriptorError as error:
        return Layout((), (), False), words.DESCRIPTOR_UNREADABLE.format(problem=error)


def _file_name(name: str) -> str:
    """Lower-case letters, digits and underscores only, so that no name can leave the folder."""
    kept = "".join(c if c.isascii() and c.isalnum() else "_" for c in name.lower()).strip("_")
    return kept[:60] or "sheet"
