"""How far the records were read, and which units were touched since: for who keeps what was worked out of them."""

from __future__ import annotations

from dataclasses import dataclass
from sqlite3 import Connection

from station.records.chain import Logged
from station.records.types import Lot

_TABLES = ("results", "treatments", "comebacks", "withdrawals")
_WITHDRAWN = """
    SELECT row_id FROM withdrawals WHERE seq > :withdrawals UNION
    SELECT w.row_id FROM withdrawals w JOIN withdrawals x ON x.row_id = w.id
    WHERE x.seq > :withdrawals AND x.what = 'withdrawal'
"""
"""the rows that count otherwise since; where a withdrawal was withdrawn, what that one had named"""


@dataclass(frozen=True, slots=True)
class Seen:
    """The last row of each table that is only added to, and of the log, with its hash: by that one knows the file
    again."""

    results: int = 0
    treatments: int = 0
    comebacks: int = 0
    withdrawals: int = 0
    entry: int = 0
    hash: str = ""


@dataclass(frozen=True, slots=True)
class Listing:
    """`units`: of each (id, tag, model, id of the lot or "", what it became, when its row changed), oldest first;
    `back`: ids of those that came back at least once."""

    units: list[tuple[str, str, str, str, str, str]]
    back: set[str]
    lots: tuple[Lot, ...]
    seen: Seen


def seen_now(db: Connection) -> Seen:
    last = [db.execute(f"SELECT coalesce(max(seq), 0) FROM {table}").fetchone()[0] for table in _TABLES]
    entry = db.execute("SELECT entry, hash FROM log ORDER BY entry DESC LIMIT 1").fetchone()
    return Seen(*last, *(entry or (0, "")))


def goes_on_from(db: Connection, seen: Seen) -> bool:
    """Whether the file is the one that was read so far, with more behind it or nothing; not so where a back-up was put
    in its place."""
    found = db.execute("SELECT hash FROM log WHERE entry = ?", (seen.entry,)).fetchone()
    return seen.entry == 0 or (found is not None and found[0] == seen.hash)


def touched_since(db: Connection, seen: Seen) -> set[str]:
    """Ids of the units of which something was added or withdrawn since; of all of them where the clock was set back,
    since that changes which of their rows are newer (`order`). A row of a unit that changed is told by its own time
    (`queries.listed_units`)."""
    asked = f"""
        SELECT unit_id FROM visits WHERE id IN (SELECT visit_id FROM results WHERE seq > :results)
        UNION SELECT unit_id FROM treatments WHERE seq > :treatments
        UNION SELECT unit_id FROM comebacks WHERE seq > :comebacks
        UNION SELECT unit_id FROM visits WHERE id IN (SELECT visit_id FROM results WHERE id IN ({_WITHDRAWN}))
        UNION SELECT unit_id FROM treatments WHERE id IN ({_WITHDRAWN})
        UNION SELECT unit_id FROM comebacks WHERE id IN ({_WITHDRAWN})
        UNION SELECT id FROM units WHERE id IN ({_WITHDRAWN})
        UNION SELECT id FROM units WHERE EXISTS (
            SELECT 1 FROM log WHERE entry > :entry AND event LIKE '%"what":"{Logged.CLOCK_SET_BACK}"%'
        )
    """
    marks = {name: getattr(seen, name) for name in (*_TABLES, "entry")}
    return {row[0] for row in db.execute(asked, marks)}
