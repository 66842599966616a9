"""The shop in figures, for the window: worked out by a thread of its own. What is known of each unit is kept in a file
beside the records, so that only units that changed are read again; the file can be thrown away.
"""

from __future__ import annotations

import json
import logging
import threading
import time
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from station import __version__
from station.app import paths
from station.app.accounts import accounts_of
from station.app.prices import with_prices
from station.app.shelf_of_sheets import SheetShelf
from station.app.whole_file import write_whole
from station.app.work import Worker
from station.diagnosis.guide import Guide, guide_for
from station.records.changed import Listing, Seen
from station.records.store import Store
from station.records.types import Lot
from station.sheets.model import Sheet
from station.sheets.write import sheet_text
from station.ui.ports import DeskEvent, FiguresReading, FiguresReady, Said
from station.words import shop as words

if TYPE_CHECKING:
    from station.lots.accounts import Sums
    from station.lots.shop.columns import Columns
    from station.lots.shop.facts import UnitFacts
    from station.lots.shop.figures import ShopFigures, Units

_log = logging.getLogger(__name__)
FILE_NAME = "figures.npz"
BREATH_UNITS, BREATH_S = 8, 0.004
"""so often it pauses while it reads units, and for so long, in which the window draws"""
TOLD_S = 0.25
"""so often it says how far it is"""
KEPT_UNITS = 10_000
"""after so many units what was read is kept, so that a crash costs no more than these"""


class ShopReader:
    """The `FiguresPort`. Only what was asked for last is worked out."""

    def __init__(self, store: Store, sheets: SheetShelf, tell: Callable[[DeskEvent], None]) -> None:
        self._store, self._sheets, self._tell = store, sheets, tell
        self._lock = threading.Lock()
        self._worker: Worker | None = None
        self._last, self._closed, self._stopped = 0, False, False
        self._columns: Columns | None = None
        self._notes: dict[str, str] = {}

    def ask(self, unit_id: str = "") -> None:
        with self._lock:
            self._last += 1
            self._stopped = False
            asked = self._last
            if self._worker is None:
                self._worker = Worker(self._tell, "restpoint-figures")
        self._worker.submit(lambda: self._work_out(unit_id, asked))

    def stop(self) -> None:
        """Stop after the unit that is being read; `ask` goes on from there."""
        self._stopped = True

    def keep_table(self, name: str, content: bytes) -> None:
        if self._worker is not None:  # the table is shown, so it was worked out
            self._worker.submit(lambda: self._keep(name, content))

    def settle(self) -> None:
        """Wait for what was asked (tests)."""
        if self._worker is not None:
            self._worker.settle()

    def close(self) -> None:
        """Stop after the unit that is being read."""
        self._closed = True
        if self._worker is not None:
            self._worker.close()

    def _work_out(self, unit_id: str, asked: int) -> Iterable[DeskEvent]:
        from station.lots.shop.figures import standing_of

        with self._lock:
            if asked != self._last:
                return
        found = self.figures()
        if found is None:
            return
        shop, changed = found
        yield FiguresReady(shop, unit_id, standing_of(shop, unit_id) if unit_id else ())
        if changed:
            self._remember()

    def _keep(self, name: str, content: bytes) -> Iterable[DeskEvent]:
        place = paths.pictures_folder() / f"{name}.csv"
        try:
            write_whole(place, content)
        except OSError as error:
            yield Said(words.NOT_WRITTEN.format(folder=place.parent, reason=error.strerror or error), bad=True)
            return
        yield Said(words.WRITTEN.format(path=place))

    # --- working it out ------------------------------------------------------------------------------------

    def figures(self) -> tuple[ShopFigures, bool] | None:
        """All of it now, in the calling thread, and whether anything was read anew; None where it is stopped or the
        program ends meanwhile. What was read until then is kept."""
        from station.lots.shop.columns import in_order, marks_of, no_columns, with_money
        from station.lots.shop.figures import figures_of

        listing, guide = self._store.listing(), guide_for(self._store.folder)
        sheets = {sheet.name: sheet for sheet in reversed(self._sheets.sheets())}
        basis = self._basis(sheets)
        if self._columns is None:
            self._recall()
        touched = self._store.touched_since(_seen_in(self._notes)) if self._notes.get("basis") == basis else None
        columns = self._columns if touched is not None and self._columns is not None else no_columns()
        marks = marks_of(columns)
        known = touched or set[str]()
        now_marks = {unit[0]: unit[5] for unit in listing.units}
        stale = [unit[0] for unit in listing.units if marks.get(unit[0]) != unit[5] or unit[0] in known]
        seen = json.dumps(asdict(listing.seen))
        # what is not read yet is still stale with these: it has no mark, or was touched since
        partly = {"basis": basis, "seen": self._notes["seen"] if touched is not None else seen}
        before = json.loads(self._notes.get("lots", "{}")) if len(columns) else {}
        columns, read = self._read(columns, stale, now_marks, partly, lambda: self._facts(stale, sheets, guide))
        if read < len(stale):
            self._tell(FiguresReading(len(now_marks) - len(stale) + read, len(now_marks), stopped=True))
            return None
        of_shop = self._store.currency()
        priced = with_prices(guide, self._store.get_setting)
        lots = _marks_of_lots(listing, f"{of_shop} {priced.hour_minor} {priced.currency}")
        renewed = set(stale)
        anew = {unit[3] for unit in listing.units if unit[0] in renewed} if renewed else set()
        anew |= {lot for lot, mark in lots.items() if before.get(lot) != mark}
        columns = with_money(columns, self._money(listing, anew))
        changed = bool(stale) or bool(anew)
        self._columns = columns
        self._notes = {"basis": basis, "seen": seen, "lots": json.dumps(lots)}
        units = _units_of(listing)
        names = {name: {c.id: c.name for c in sheet.controls} for name, sheet in sheets.items()}
        return figures_of(units, listing.lots, in_order(columns, units.ids), names, of_shop), changed

    def _read(
        self,
        columns: Columns,
        stale: list[str],
        marks: Mapping[str, str],
        notes: dict[str, str],
        facts: Callable[[], Iterable[tuple[str, UnitFacts]]],
    ) -> tuple[Columns, int]:
        """The columns with the stale units read, and how many of these were; meanwhile it says how far it is."""
        from station.lots.shop.columns import with_facts

        chunk: dict[str, tuple[str, UnitFacts]] = {}
        read, told = 0, time.monotonic()

        def take() -> None:
            nonlocal columns
            columns = with_facts(columns, chunk)
            self._columns, self._notes = columns, notes
            chunk.clear()

        for read, (unit_id, known) in enumerate(facts(), start=1):
            chunk[unit_id] = marks[unit_id], known
            if time.monotonic() - told > TOLD_S:
                self._tell(FiguresReading(len(marks) - len(stale) + read, len(marks)))
                told = time.monotonic()
            if len(chunk) == KEPT_UNITS:
                take()
                self._remember()
        if chunk:
            take()
        if read < len(stale):
            self._remember()
        return columns, read

    def _facts(self, stale: list[str], sheets: Mapping[str, Sheet], guide: Guide) -> Iterator[tuple[str, UnitFacts]]:
        """(id, facts) of one unit after the other, until it is stopped or the program ends."""
        from station.lots.shop.facts import facts_of

        for number, history in enumerate(self._store.histories(stale), start=1):
            if self._closed or self._stopped:
                return
            unit = history.unit
            sheet = sheets.get(unit.sheet) or Sheet(unit.sheet or unit.model)
            yield unit.id, facts_of(history, sheet, guide)
            if number % BREATH_UNITS == 0:
                time.sleep(BREATH_S)

    def _money(self, listing: Listing, lot_ids: set[str]) -> dict[str, Sums]:
        """Id of a unit → what it comes to, of all units of these lots."""
        wanted: list[Lot | None] = [lot for lot in listing.lots if lot.id in lot_ids]
        wanted += [None] if "" in lot_ids else []
        return {account.unit.id: account.sums for account in accounts_of(self._store, wanted).units} if wanted else {}

    def _basis(self, sheets: Mapping[str, Sheet]) -> str:
        """What the facts rest on besides the records: this version, the sheets, the guide of the shop."""
        from station.lots.shop.facts import RULE

        guide = self._store.folder / "fault_guide.toml"
        own = guide.read_bytes() if guide.is_file() else b""
        texts = "".join(sheet_text(sheets[name]) for name in sorted(sheets))
        return f"{__version__} {RULE} {zlib.crc32(texts.encode()):08x} {zlib.crc32(own):08x}"

    # --- what is kept --------------------------------------------------------------------------------------

    def _file(self) -> Path:
        return self._store.folder / FILE_NAME

    def _recall(self) -> None:
        from station.lots.shop.columns import from_bytes

        try:
            found = from_bytes(self._file().read_bytes())
        except OSError:
            return
        if found is not None:
            self._columns, self._notes = found

    def _remember(self) -> None:
        """A file that cannot be written is no loss: it only saves time."""
        from station.lots.shop.columns import to_bytes

        if self._columns is None:
            return
        try:
            write_whole(self._file(), to_bytes(self._columns, self._notes))
        except OSError as error:
            _log.info("the figures are not kept: %s", error)


def _seen_in(notes: Mapping[str, str]) -> Seen:
    try:
        return Seen(**json.loads(notes["seen"]))
    except (KeyError, TypeError, ValueError):
        return Seen(hash="-")


def _marks_of_lots(listing: Listing, prices: str) -> dict[str, str]:
    """Id of a lot ("": units of none) → what is another once the lot or what belongs to it is another, or the prices
    by which work is reckoned."""
    members: dict[str, list[str]] = {"": []}
    for unit in listing.units:
        members.setdefault(unit[3], []).append(unit[0])
    rows = {lot.id: repr(lot) for lot in listing.lots}
    said = {lot: prices + rows.get(lot, "") + "".join(ids) for lot, ids in members.items()}
    return {lot: f"{zlib.crc32(text.encode()):08x}" for lot, text in said.items()}


def _units_of(listing: Listing) -> Units:
    import numpy as np

    from station.lots.shop.figures import Units

    ids, tags, models, lots, becomes, _ = map(list, zip(*listing.units, strict=True)) if listing.units else ([],) * 6
    return Units(ids, tags, models, lots, becomes, np.fromiter((i in listing.back for i in ids), np.bool_, len(ids)))
