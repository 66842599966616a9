"""The tables (documented in docs/records.md) and the steps that bring an older file up to date."""

from __future__ import annotations

from collections.abc import Callable
from sqlite3 import Connection
from typing import Any, Protocol

from station.words import records as words

APPLICATION_ID = 0x52505431
"""marks the file as ours (PRAGMA application_id)"""

_APPEND_ONLY_FROM_THE_START = (
    "results", "readings", "findings", "treatments", "notes", "overrides", "shelf_moves", "log",
)  # fmt: skip
APPEND_ONLY = (*_APPEND_ONLY_FROM_THE_START, "withdrawals", "certificates", "comebacks")
"""tables whose rows are never changed: triggers refuse it"""

NEVER_REMOVED = ("benches", "lots", "units", "visits", "shelf_parts")
"""tables whose rows stay, though they may change"""

_TABLES = """
CREATE TABLE benches (
    id TEXT PRIMARY KEY, place TEXT NOT NULL, began_at TEXT NOT NULL
) STRICT;
CREATE TABLE lots (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, name TEXT NOT NULL, bought_on TEXT NOT NULL, seller TEXT NOT NULL,
    cost_minor INTEGER NOT NULL, currency TEXT NOT NULL, note TEXT NOT NULL, changed_at TEXT NOT NULL
) STRICT;
CREATE TABLE units (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, tag TEXT NOT NULL, model TEXT NOT NULL,
    lot_id TEXT REFERENCES lots(id), serial TEXT NOT NULL, vendor_id INTEGER NOT NULL, product_id INTEGER NOT NULL,
    sheet TEXT NOT NULL, claim TEXT NOT NULL, claim_state TEXT NOT NULL, condition TEXT NOT NULL, becomes TEXT NOT NULL,
    rest_until TEXT NOT NULL, sold_minor INTEGER NOT NULL, created_at TEXT NOT NULL, changed_at TEXT NOT NULL,
    search_text TEXT NOT NULL
) STRICT;
CREATE INDEX units_by_lot ON units(lot_id);
CREATE INDEX units_by_tag ON units(tag COLLATE NOCASE);
CREATE INDEX units_by_model ON units(model);
CREATE INDEX units_by_serial ON units(vendor_id, product_id, serial) WHERE serial <> '';
CREATE INDEX units_at_rest ON units(rest_until) WHERE rest_until <> '' AND becomes = 'open';
CREATE TABLE visits (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, unit_id TEXT NOT NULL REFERENCES units(id), kind TEXT NOT NULL,
    number INTEGER NOT NULL, started_at TEXT NOT NULL, finished_at TEXT NOT NULL, person TEXT NOT NULL,
    bench TEXT NOT NULL, treatment_id TEXT REFERENCES treatments(id)
) STRICT;
CREATE INDEX visits_by_unit ON visits(unit_id, number);
CREATE INDEX visits_unfinished ON visits(seq) WHERE finished_at = '';
CREATE TABLE results (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, visit_id TEXT NOT NULL REFERENCES visits(id),
    check_name TEXT NOT NULL, control TEXT NOT NULL, attempt INTEGER NOT NULL, at TEXT NOT NULL, outcome TEXT NOT NULL,
    again TEXT NOT NULL, capture_sha256 TEXT NOT NULL, by_hand INTEGER NOT NULL, reason TEXT NOT NULL,
    replaces TEXT REFERENCES results(id), clock TEXT NOT NULL, stamp_error_p99_us REAL, lost INTEGER NOT NULL
) STRICT;
CREATE INDEX results_by_visit ON results(visit_id);
CREATE TABLE readings (
    result_id TEXT NOT NULL REFERENCES results(id), position INTEGER NOT NULL, name TEXT NOT NULL, value REAL,
    unit TEXT NOT NULL, uncertainty REAL NOT NULL, pass_limit REAL, fail_beyond REAL, rule TEXT NOT NULL,
    n INTEGER NOT NULL, reason TEXT NOT NULL, PRIMARY KEY (result_id, position)
) STRICT, WITHOUT ROWID;
CREATE TABLE findings (
    result_id TEXT NOT NULL REFERENCES results(id), position INTEGER NOT NULL, code TEXT NOT NULL, text TEXT NOT NULL,
    axis TEXT, direction TEXT, bearing_deg REAL, PRIMARY KEY (result_id, position)
) STRICT, WITHOUT ROWID;
CREATE TABLE treatments (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, unit_id TEXT NOT NULL REFERENCES units(id), kind TEXT NOT NULL,
    at TEXT NOT NULL, part TEXT NOT NULL, minutes INTEGER NOT NULL, materials TEXT NOT NULL,
    cost_minor INTEGER NOT NULL, currency TEXT NOT NULL, person TEXT NOT NULL, note TEXT NOT NULL,
    donor_unit_id TEXT REFERENCES units(id)
) STRICT;
CREATE INDEX treatments_by_unit ON treatments(unit_id);
CREATE TABLE notes (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, unit_id TEXT NOT NULL REFERENCES units(id), at TEXT NOT NULL,
    text TEXT NOT NULL, person TEXT NOT NULL, photo_sha256 TEXT NOT NULL
) STRICT;
CREATE INDEX notes_by_unit ON notes(unit_id);
CREATE TABLE overrides (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, unit_id TEXT NOT NULL REFERENCES units(id), at TEXT NOT NULL,
    reason TEXT NOT NULL
) STRICT;
CREATE INDEX overrides_by_unit ON overrides(unit_id);
CREATE TABLE shelf_parts (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, name TEXT NOT NULL, model TEXT NOT NULL,
    source_unit_id TEXT REFERENCES units(id), cost_minor INTEGER NOT NULL, currency TEXT NOT NULL, note TEXT NOT NULL
) STRICT;
CREATE TABLE shelf_moves (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, part_id TEXT NOT NULL REFERENCES shelf_parts(id),
    at TEXT NOT NULL, delta INTEGER NOT NULL, unit_id TEXT REFERENCES units(id)
) STRICT;
CREATE INDEX shelf_moves_by_part ON shelf_moves(part_id);
CREATE TABLE settings (
    key TEXT PRIMARY KEY, value TEXT NOT NULL, changed_at TEXT NOT NULL
) STRICT;
CREATE TABLE log (
    entry INTEGER PRIMARY KEY, bench_id TEXT NOT NULL REFERENCES benches(id), seq INTEGER NOT NULL, at TEXT NOT NULL,
    event TEXT NOT NULL, previous TEXT NOT NULL, hash TEXT NOT NULL
) STRICT;
CREATE INDEX log_by_bench ON log(bench_id, seq);
"""

_SEARCH = """
CREATE VIRTUAL TABLE unit_text USING fts5(search_text, content='units', content_rowid='seq', tokenize='trigram');
"""


def _search_trigger(event: str, drop: bool, put: bool) -> str:
    """A trigger that keeps the search index in step with `units` (FTS5 documentation, section 4.4.3)."""
    steps = []
    if drop:
        steps.append(
            "INSERT INTO unit_text(unit_text, rowid, search_text) VALUES ('delete', old.seq, old.search_text);"
        )
    if put:
        steps.append("INSERT INTO unit_text(rowid, search_text) VALUES (new.seq, new.search_text);")
    on = "UPDATE OF search_text" if drop and put else event
    return f"CREATE TRIGGER units_search_{event.lower()} AFTER {on} ON units BEGIN {' '.join(steps)} END;"


def _guard_trigger(table: str, event: str) -> str:
    told = words.APPEND_ONLY.format(table=table).replace("'", "''")
    return (
        f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} BEGIN SELECT RAISE(ABORT, '{told}'); END;"
    )


class Maker(Protocol):
    """What a step is made with: `sqlite_utils.Database`, or a plain connection to a file that is thrown away."""

    def execute(self, sql: str, /) -> Any: ...

    def executescript(self, sql: str, /) -> Any: ...


def first_tables(db: Maker) -> None:
    """Version 1."""
    db.executescript(_TABLES + _SEARCH)
    for event, drop, put in (("INSERT", False, True), ("DELETE", True, False), ("UPDATE", True, True)):
        db.execute(_search_trigger(event, drop, put))
    for table in _APPEND_ONLY_FROM_THE_START:
        for event in ("UPDATE", "DELETE"):
            db.execute(_guard_trigger(table, event))


def parameters_of_findings(db: Maker) -> None:
    """Version 2: what the sentence of a finding is made of; NULL in rows from before, which have their text alone."""
    db.execute("ALTER TABLE findings ADD COLUMN params TEXT")


def nothing_vanishes(db: Maker) -> None:
    """Version 3: rows that may change cannot be removed, nor a part on the shelf changed. From here on the log holds
    the state of every row (`station.records.states`)."""
    for table in NEVER_REMOVED:
        db.execute(_guard_trigger(table, "DELETE"))
    db.execute(_guard_trigger("shelf_parts", "UPDATE"))


def mistakes_taken_back(db: Maker) -> None:
    """Version 4: what was withdrawn, with a reason (`station.records.counted`)."""
    db.execute(
        "CREATE TABLE withdrawals (seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, what TEXT NOT NULL, "
        "row_id TEXT NOT NULL, at TEXT NOT NULL, reason TEXT NOT NULL, person TEXT NOT NULL, was TEXT NOT NULL) STRICT"
    )
    db.execute("CREATE INDEX withdrawals_by_row ON withdrawals(what, row_id)")
    for event in ("UPDATE", "DELETE"):
        db.execute(_guard_trigger("withdrawals", event))


def certificates_numbered(db: Maker) -> None:
    """Version 5: the certificates that each bench wrote, by their numbers (`station.records.issuing`)."""
    db.execute(
        "CREATE TABLE certificates (seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, unit_id TEXT NOT NULL REFERENCES "
        "units(id), bench_id TEXT NOT NULL REFERENCES benches(id), number INTEGER NOT NULL, name TEXT NOT NULL, "
        "at TEXT NOT NULL, person TEXT NOT NULL, file_sha256 TEXT NOT NULL, content_sha256 TEXT NOT NULL, "
        "fingerprint TEXT NOT NULL) STRICT"
    )
    db.execute("CREATE INDEX certificates_by_bench ON certificates(bench_id, number)")
    db.execute("CREATE INDEX certificates_by_unit ON certificates(unit_id)")
    for event in ("UPDATE", "DELETE"):
        db.execute(_guard_trigger("certificates", event))


_OF_A_LOT = """
ALTER TABLE lots ADD COLUMN source TEXT NOT NULL DEFAULT '';
ALTER TABLE lots ADD COLUMN postage_minor INTEGER NOT NULL DEFAULT 0;
ALTER TABLE lots ADD COLUMN expected INTEGER NOT NULL DEFAULT 0;
ALTER TABLE units ADD COLUMN accessories TEXT NOT NULL DEFAULT '';
ALTER TABLE units ADD COLUMN box TEXT NOT NULL DEFAULT '';
ALTER TABLE units ADD COLUMN cost_minor INTEGER NOT NULL DEFAULT 0;
"""


def lots_as_they_come(db: Maker) -> None:
    """Version 6: where a lot is from, its postage, how many units should come, and what came with each."""
    for statement in _OF_A_LOT.split(";\n"):
        if statement.strip():
            db.execute(statement)


_OF_A_SALE = """
ALTER TABLE units ADD COLUMN sold_on TEXT NOT NULL DEFAULT '';
ALTER TABLE units ADD COLUMN channel TEXT NOT NULL DEFAULT '';
ALTER TABLE units ADD COLUMN fees_minor INTEGER NOT NULL DEFAULT 0;
ALTER TABLE units ADD COLUMN shipping_minor INTEGER NOT NULL DEFAULT 0;
CREATE TABLE comebacks (
    seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, unit_id TEXT NOT NULL REFERENCES units(id), at TEXT NOT NULL,
    reason TEXT NOT NULL, found TEXT NOT NULL, refund_minor INTEGER NOT NULL, cost_minor INTEGER NOT NULL,
    sold_on TEXT NOT NULL, sold_minor INTEGER NOT NULL, channel TEXT NOT NULL, fees_minor INTEGER NOT NULL,
    shipping_minor INTEGER NOT NULL, treatment_id TEXT REFERENCES treatments(id),
    certificate_id TEXT REFERENCES certificates(id), person TEXT NOT NULL
) STRICT;
CREATE INDEX comebacks_by_unit ON comebacks(unit_id);
CREATE INDEX units_by_share ON units(lot_id, id, cost_minor);
"""


def sales_and_comebacks(db: Maker) -> None:
    """Version 7: day, channel, fees and shipping of a sale, and sold units that come back."""
    for statement in _OF_A_SALE.split(";\n"):
        if statement.strip():
            db.execute(statement)
    for event in ("UPDATE", "DELETE"):
        db.execute(_guard_trigger("comebacks", event))


_KEPT = """
CREATE TABLE kept_money (
    unit INTEGER PRIMARY KEY, lot INTEGER, price_minor INTEGER NOT NULL, postage_minor INTEGER NOT NULL,
    parts_minor INTEGER NOT NULL, minutes INTEGER NOT NULL, sales_minor INTEGER NOT NULL, fees_minor INTEGER NOT NULL,
    shipping_minor INTEGER NOT NULL, refund_minor INTEGER NOT NULL, return_minor INTEGER NOT NULL
) STRICT;
CREATE TABLE kept_cures (
    treatment INTEGER PRIMARY KEY, passed INTEGER NOT NULL, failed INTEGER NOT NULL
) STRICT;
CREATE TABLE kept_visits (
    visit INTEGER PRIMARY KEY, passed INTEGER NOT NULL, borderline INTEGER NOT NULL, failed INTEGER NOT NULL,
    not_done INTEGER NOT NULL, second INTEGER NOT NULL
) STRICT;
CREATE TABLE kept_standing (
    result INTEGER PRIMARY KEY, visit INTEGER NOT NULL
) STRICT;
CREATE TABLE kept_first (
    result INTEGER PRIMARY KEY, visit INTEGER NOT NULL, model TEXT NOT NULL, check_name TEXT NOT NULL,
    outcome TEXT NOT NULL
) STRICT;
CREATE INDEX kept_first_by_model ON kept_first(model, check_name, outcome);
CREATE TABLE kept_failing (
    result INTEGER NOT NULL, position INTEGER NOT NULL, model TEXT NOT NULL, check_name TEXT NOT NULL,
    name TEXT NOT NULL, PRIMARY KEY (result, position)
) STRICT, WITHOUT ROWID;
CREATE INDEX kept_failing_by_model ON kept_failing(model, check_name, name);
CREATE TABLE kept_stale (
    what TEXT NOT NULL, id TEXT NOT NULL, PRIMARY KEY (what, id)
) STRICT, WITHOUT ROWID;
CREATE TABLE kept_rule (
    rule TEXT NOT NULL
) STRICT;
"""

_NAMED = "(new.row_id, (SELECT row_id FROM withdrawals WHERE id = new.row_id))"
"""what a withdrawal names, and what is named by the withdrawal that it takes back"""
_UNIT_NAMED = f"SELECT id FROM units WHERE id IN {_NAMED}"
_TREATMENT_NAMED = f"SELECT unit_id AS id FROM treatments WHERE id IN {_NAMED}"
_COMEBACK_NAMED = f"SELECT unit_id AS id FROM comebacks WHERE id IN {_NAMED}"
_RESULT_NAMED = f"SELECT unit_id AS id FROM results r JOIN visits v ON v.id = r.visit_id WHERE r.id IN {_NAMED}"
_ITSELF = "SELECT new.id AS id"
_ITS_UNIT = "SELECT new.unit_id AS id"
_ITS_VISITS_UNIT = "SELECT unit_id AS id FROM visits WHERE id = new.visit_id"
_MARKS: dict[str, tuple[tuple[str, dict[str, str]], ...]] = {
    "results": (("INSERT", dict.fromkeys(("tries", "visits", "cures"), _ITS_VISITS_UNIT)),),
    "visits": (
        ("INSERT", {"visits": _ITS_UNIT}),
        ("UPDATE OF kind, started_at, finished_at", {"visits": _ITS_UNIT}),
        ("UPDATE OF number", {"tries": _ITS_UNIT, "visits": _ITS_UNIT}),
    ),
    "treatments": (("INSERT", {"cures": _ITS_UNIT, "money": _ITS_UNIT}),),
    "comebacks": (("INSERT", {"money": _ITS_UNIT}),),
    "lots": (("UPDATE OF cost_minor, currency, postage_minor, expected", {"lot": _ITSELF}),),
    "units": (
        ("INSERT", {"money": _ITSELF, "lot": "SELECT new.lot_id AS id"}),
        ("UPDATE OF model", {"tries": _ITSELF}),
        ("UPDATE OF rest_until", {"visits": _ITSELF}),
        ("UPDATE OF becomes, sold_minor, fees_minor, shipping_minor", {"money": _ITSELF}),
        (
            "UPDATE OF lot_id, cost_minor",
            {"money": _ITSELF, "lot": "SELECT old.lot_id AS id UNION SELECT new.lot_id"},
        ),
    ),
    "withdrawals": (
        (
            "INSERT",
            {
                "tries": " UNION ".join((_RESULT_NAMED, _UNIT_NAMED)),
                "visits": " UNION ".join((_RESULT_NAMED, _UNIT_NAMED)),
                "cures": " UNION ".join((_RESULT_NAMED, _TREATMENT_NAMED, _UNIT_NAMED)),
                "money": " UNION ".join((_TREATMENT_NAMED, _COMEBACK_NAMED, _UNIT_NAMED)),
                "lot": f"SELECT lot_id AS id FROM units WHERE id IN {_NAMED}",
            },
        ),
    ),
}
"""table → each change of it that bears on what is kept, and of which units or lots what is to be worked out anew"""


def _mark_trigger(table: str, number: int, event: str, marks: dict[str, str]) -> str:
    """A trigger that notes of what is kept which is out of date; the transaction itself puts that right at its end
    (`station.records.kept`)."""
    columns = event.partition(" OF ")[2]
    changed = " OR ".join(f"new.{name} IS NOT old.{name}" for name in columns.split(", ")) if columns else "1"
    steps = (
        f"INSERT OR IGNORE INTO kept_stale SELECT '{what}', m.id FROM ({rows}) m WHERE m.id IS NOT NULL;"
        for what, rows in marks.items()
    )
    return f"CREATE TRIGGER {table}_kept_{number} AFTER {event} ON {table} WHEN {changed} BEGIN {' '.join(steps)} END;"


def kept_for_views(db: Maker) -> None:
    """Version 8: what the views read, worked out when a row is recorded (`station.records.kept`)."""
    for statement in _KEPT.split(";\n"):
        if statement.strip():
            db.execute(statement)
    for table, changes in _MARKS.items():
        for number, (event, marks) in enumerate(changes, 1):
            db.execute(_mark_trigger(table, number, event, marks))


MIGRATIONS: tuple[Callable[[Maker], None], ...] = (
    first_tables,
    parameters_of_findings,
    nothing_vanishes,
    mistakes_taken_back,
    certificates_numbered,
    lots_as_they_come,
    sales_and_comebacks,
    kept_for_views,
)
"""the steps in their order; the name of each is kept in `_sqlite_migrations`, so it stays as it is"""


STATES_SINCE = MIGRATIONS.index(nothing_vanishes) + 1
"""version from which on the log holds the state of every row"""


def newest_version() -> int:
    """The number of migrations this program knows, kept in PRAGMA user_version."""
    return len(MIGRATIONS)


def migrate(connection: Connection) -> None:
    """Make the tables, or bring older ones up to date; steps that were made before are left. Raises sqlite3.Error."""
    from sqlite_utils import Database, Migrations  # slow to load, and wanted for a new or an older file only

    migrations = Migrations("restpoint")
    for step in MIGRATIONS:
        migrations()(step)
    migrations.apply(Database(connection))
