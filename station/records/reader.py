"""Reading the records: every question the rest of the program asks of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager
from datetime import date
from pathlib import Path
from sqlite3 import Connection

from station.records import arriving, changed, entries, files, order, queries, rules
from station.records.arriving import Arrival
from station.records.changed import Listing, Seen
from station.records.connection import Connections
from station.records.rows import plain, read_issued, shown
from station.records.rules import RestRule
from station.records.types import (
    Comeback,
    Issued,
    Lot,
    Result,
    ShelfPart,
    Treatment,
    Unit,
    UnitHistory,
    Visit,
    Withdrawal,
)
from station.records.verify import changed_of_unit


class Reader:
    """Questions to the records, from any thread; they do not wait for who writes."""

    def __init__(self, folder: Path, connections: Connections, rule: RestRule) -> None:
        self.folder = folder
        self._connections = connections
        self._rule = rule

    def _reading(self) -> AbstractContextManager[Connection]:
        return self._connections.reading()

    def get_setting(self, key: str, default: str = "") -> str:
        with self._reading() as db:
            return queries.setting(db, key, default)

    def loose_with_money(self) -> int:
        """How many units that belong to no lot have an amount, which is of the shop's currency."""
        with self._reading() as db:
            return queries.loose_with_money(db)

    def currency(self) -> str:
        """The shop's, in which units are reckoned that belong to no lot."""
        with self._reading() as db:
            return queries.currency(db)

    def rest_days(self, kind: str) -> int:
        """Days of rest after this kind of treatment, as they are in force."""
        with self._reading() as db:
            return rules.rest_days(db, kind, self._rule)

    def lots(self) -> tuple[Lot, ...]:
        """Newest first."""
        with self._reading() as db:
            return queries.lots(db)

    def units(self, search: str = "", limit: int = queries.MAX_FOUND) -> tuple[Unit, ...]:
        """Units with every word of `search` in tag, model, serial number or claim; newest first."""
        with self._reading() as db:
            return queries.units(db, plain(search), limit)

    def units_of_lot(self, lot_id: str) -> tuple[Unit, ...]:
        with self._reading() as db:
            return queries.units_of_lot(db, lot_id)

    def units_of_model(self, model: str, limit: int) -> tuple[Unit, ...]:
        """The newest units that are called by this model."""
        with self._reading() as db:
            return queries.units_of_model(db, model, limit)

    def tries_of(self, unit_id: str) -> tuple[Result, ...]:
        """All results of a unit without readings and findings, oldest first."""
        with self._reading() as db:
            return queries.tries_of(db, unit_id)

    def listing(self) -> Listing:
        """All units that count, and how far the records go, in one picture of them."""
        with self._connections.reading_apart() as db:
            return Listing(queries.listed_units(db), queries.came_back(db), queries.lots(db), changed.seen_now(db))

    def touched_since(self, seen: Seen) -> set[str] | None:
        """Ids of the units of which something was added or withdrawn since; None where these are other records."""
        with self._connections.reading_apart() as db:
            return changed.touched_since(db, seen) if changed.goes_on_from(db, seen) else None

    def histories(self, unit_ids: Iterable[str]) -> Iterator[UnitHistory]:
        """Histories of these units, one after the other, on a connection of its own."""
        with self._connections.reading_apart() as db:
            for unit_id in unit_ids:
                yield queries.history(db, shown(entries.get_unit(db, unit_id)), self._rule)

    def lot_states(self) -> dict[str, dict[str, int]]:
        """Lot id → what its units became → how many."""
        with self._reading() as db:
            return queries.lot_states(db)

    def arrivals(self, lot: Lot) -> tuple[Arrival, ...]:
        """What came into the lot together, newest first."""
        with self._reading() as db:
            return arriving.arrivals(db, lot, queries.units_of_lot(db, lot.id))

    def tags_here(self) -> tuple[str, ...]:
        """The tags of all units that are still here."""
        with self._reading() as db:
            return queries.tags_here(db)

    def unit(self, unit_id: str) -> Unit:
        """The unit of that id. InputError if there is none."""
        with self._reading() as db:
            return shown(entries.get_unit(db, unit_id))

    def unit_by_serial(self, vendor_id: int, product_id: int, serial: str) -> Unit | None:
        with self._reading() as db:
            return queries.unit_by_serial(db, vendor_id, product_id, serial)

    def visits(self, unit_id: str) -> tuple[Visit, ...]:
        with self._reading() as db:
            return queries.visits(db, unit_id)

    def results_of_visit(self, visit_id: str) -> tuple[Result, ...]:
        with self._reading() as db:
            return queries.results_of_visit(db, visit_id)

    def unit_of_result(self, result_id: str) -> str | None:
        """The id of the unit that a result belongs to; None where there is no such result."""
        with self._reading() as db:
            return queries.unit_of_result(db, result_id)

    def unfinished_visits(self) -> tuple[Visit, ...]:
        """Visits that can go on, newest first."""
        with self._reading() as db:
            return queries.unfinished_visits(db)

    def read_order(self) -> None:
        """Read what the log says of its clocks, so that who asks for a history later does not wait for it."""
        with self._connections.reading_apart() as db:
            order.read(db)

    def history(self, unit_id: str) -> UnitHistory:
        """Everything about a unit, oldest first. InputError if there is none."""
        with self._reading() as db:
            return queries.history(db, shown(entries.get_unit(db, unit_id)), self._rule)

    def histories_of_lot(self, lot_id: str) -> tuple[UnitHistory, ...]:
        """Histories of all units of a lot, by tag; on a connection of its own, as that takes a while."""
        with self._connections.reading_apart() as db:
            return tuple(queries.history(db, unit, self._rule) for unit in queries.units_of_lot(db, lot_id))

    def mark_of_lot(self, lot_id: str) -> tuple[object, ...]:
        """What is another once anything is recorded of a unit of the lot: to know whether it has to be read again."""
        with self._reading() as db:
            return queries.mark_of_lot(db, lot_id)

    def kept_of_lot(self, lot_id: str) -> list[tuple[Unit, tuple[Treatment, ...], tuple[Comeback, ...]]]:
        """What of each unit of a lot ("": of those of none) bears on money: its treatments and returns."""
        with self._reading() as db:
            return queries.kept_of_lot(db, lot_id)

    def sales(self) -> list[tuple[str, str, int, int, int]]:
        """(model, currency, how many were sold, how many of those came back, what those cost in minor units)."""
        with self._reading() as db:
            return queries.sales(db)

    def held(self, kind: str) -> tuple[int, tuple[int, ...]]:
        """How many units were sold after a treatment of this kind, and after how many days those came back of which it
        did not hold."""
        with self._reading() as db:
            return queries.held(db, kind)

    def channels(self) -> tuple[str, ...]:
        """Where units were sold, the newest sale first."""
        with self._reading() as db:
            return queries.channels(db)

    def treatments_of(self, unit_id: str) -> tuple[Treatment, ...]:
        with self._reading() as db:
            return queries.treatments_of(db, unit_id)

    def treated(self, model: str = "", limit: int = 300) -> tuple[UnitHistory, ...]:
        """Histories of the last treated units (of a model): what the diagnosis learns from."""
        with self._connections.reading_apart() as db:
            return queries.treated(db, model, limit, self._rule)

    def due(self, today: date | str) -> list[tuple[Unit, str, bool]]:
        """Units that await their second test: (unit, when the rest began, whether the rest date has come)."""
        with self._reading() as db:
            return queries.due(db, str(today), self._rule)

    def shelf(self) -> tuple[ShelfPart, ...]:
        with self._reading() as db:
            return queries.shelf(db)

    def certificates(self, unit_id: str = "") -> tuple[Issued, ...]:
        """All that were written (of a unit), those of withdrawn units and withdrawn ones among them, bench by bench."""
        where, args = ("unit_id = ?", (unit_id,)) if unit_id else ("1", ())
        with self._reading() as db:
            return read_issued(db, f"{where} ORDER BY bench_id, number, at, id", args)

    def withdrawn_certificates(self, unit_id: str = "") -> dict[str, Withdrawal]:
        """Id of a certificate (of a unit) → the withdrawal, in force, of it or of its unit."""
        where, args = (" WHERE unit_id = ?", (unit_id,)) if unit_id else ("", ())
        with self._reading() as db:
            units, own = (
                {w.row_id: w for w in queries.withdrawals(db, what, f"SELECT {named} FROM certificates{where}", args)}
                for what, named in (("unit", "unit_id"), ("certificate", "id"))
            )
            found = db.execute(f"SELECT id, unit_id FROM certificates{where}", args).fetchall()
        told = {row: own.get(row) or units.get(unit) for row, unit in found}
        return {row: by for row, by in told.items() if by is not None}

    def once_withdrawn(self) -> frozenset[str]:
        """Ids of the certificates that were ever withdrawn, by themselves or with their unit, whatever became of it."""
        own = "SELECT 1 FROM withdrawals w WHERE w.what = 'certificate' AND w.row_id = c.id"
        unit = "SELECT 1 FROM withdrawals w WHERE w.what = 'unit' AND w.row_id = c.unit_id"
        asked = f"SELECT c.id FROM certificates c WHERE EXISTS ({own}) OR EXISTS ({unit})"
        with self._reading() as db:
            return frozenset(str(row[0]) for row in db.execute(asked))

    def changed_past_log(self, unit_id: str) -> tuple[str, ...]:
        """A sentence for each result, treatment, override or withdrawal of a unit that is not as the log has it."""
        with self._reading() as db:
            return changed_of_unit(db, unit_id)

    def capture_path(self, sha256: str) -> Path:
        """Where a capture lies (it need not be there). InputError if that is no SHA-256."""
        return files.path_for(self.folder / "captures", sha256, ".npz")

    def photo_path(self, sha256: str) -> Path | None:
        """Where a photo lies; None if it is not here."""
        stem = files.path_for(self.folder / "photos", sha256, "")
        return next(iter(sorted(stem.parent.glob(stem.name + ".*"))), None)
