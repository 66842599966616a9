"""The rules of the trade as SQL views, for whoever asks the file with another program (docs/records.md).

The program itself does not read them: it asks `station.judgement`, and a test demands that both answer alike. What they
read was worked out when it was recorded (`station.records.kept`). They hold nothing, so they are no part of the
schema's version: opening the file for writing puts them right.
"""

from __future__ import annotations

from collections.abc import Iterator
from sqlite3 import Connection

from station.records.counted import counting
from station.records.derived import VERDICTS, counted_try
from station.records.money import OF_SHOP
from station.records.types import SAME_FAULT
from station.words import records as words

WITHDRAWN_FROM = ("lots", "units", "visits", "treatments", "notes", "shelf_parts", "shelf_moves", "comebacks")
"""tables of which a view has the rows that count; of results there is `counting_results`"""


_BELONGS = "u.tag, u.model, l.name AS lot, l.source"
"""whose it is, in the views for questions"""
_OF_LOT = "LEFT JOIN lots l ON l.id = u.lot_id"

# What is asked of some rows alone stands in the two views that are there to be counted as a query of its own, not as a
# join: SQLite leaves out one that is not asked for, while it makes every join of a query that groups.
VIEWS = {
    "counting_results": f"""
        SELECT r.*, r.outcome IN {VERDICTS} AS verdict FROM results r WHERE {counted_try("r")}""",
    "standing_results": f"""
        SELECT v.unit_id, r.check_name, r.control, r.outcome, r.outcome IN {VERDICTS} AS verdict, r.id AS result_id,
            r.visit_id, r.at
        FROM kept_standing k JOIN results r ON r.seq = k.result JOIN visits v ON v.seq = k.visit
        WHERE r.visit_id = v.id""",
    "visit_totals": """
        SELECT v.id AS visit_id, v.unit_id, v.number, v.kind, k.passed, k.borderline, k.failed, k.not_done
        FROM kept_visits k JOIN visits v ON v.seq = k.visit""",
    "second_tests": """
        SELECT v.unit_id, v.id AS visit_id, v.started_at
        FROM kept_visits k JOIN visits v ON v.seq = k.visit WHERE k.second""",
    "counted_results": f"""
        SELECT c.id AS result_id, c.check_name, c.control, c.outcome, c.verdict, c.by_hand, c.at, c.visit_id,
            v.kind AS visit_kind, v.number, v.person, v.unit_id, {_BELONGS}
        FROM counting_results c JOIN visits v ON v.id = c.visit_id JOIN units u ON u.id = v.unit_id {_OF_LOT}""",
    "first_tries": """
        SELECT (SELECT unit_id FROM visits WHERE seq = k.visit) AS unit_id, k.model, k.check_name,
            (SELECT control FROM results WHERE seq = k.result) AS control, k.outcome,
            (SELECT id FROM results WHERE seq = k.result) AS result_id,
            (SELECT at FROM results WHERE seq = k.result) AS at
        FROM kept_first k""",
    "failing_readings": """
        SELECT (SELECT id FROM results WHERE seq = k.result) AS result_id, k.position, k.model, k.check_name,
            (SELECT control FROM results WHERE seq = k.result) AS control, k.name
        FROM kept_failing k""",
    "returns": f"""
        SELECT c.id, c.unit_id, {_BELONGS}, c.at, c.reason, c.found, c.sold_on, c.channel,
            CAST(julianday(substr(c.at, 1, 10)) - julianday(nullif(c.sold_on, '')) AS INTEGER) AS days,
            coalesce(l.currency, {OF_SHOP}) AS currency, c.sold_minor, c.refund_minor, c.cost_minor, c.fees_minor,
            c.shipping_minor,
            c.fees_minor + c.shipping_minor + c.cost_minor - (c.sold_minor - c.refund_minor) AS lost_minor,
            c.treatment_id, t.kind AS treatment
        FROM comebacks c JOIN units u ON u.id = c.unit_id {_OF_LOT} LEFT JOIN treatments t ON t.id = c.treatment_id
        WHERE {counting("comebacks", "c")}""",
    "cures": f"""
        SELECT w.treatment_id, w.unit_id, {_BELONGS}, w.kind, w.part, w.at, w.minutes, w.cost_minor, w.currency,
            w.passed, w.failed, w.came_back,
            CASE WHEN w.came_back OR (w.failed > 0 AND w.passed = 0) THEN 0 WHEN w.passed > 0 THEN 1 END AS cured
        FROM (
            SELECT t.id AS treatment_id, t.unit_id, t.kind, t.part, t.at, t.minutes, t.cost_minor, t.currency,
                t.id IN (
                    SELECT treatment_id FROM comebacks c WHERE found = '{SAME_FAULT}' AND {counting("comebacks", "c")}
                ) AS came_back, k.passed, k.failed
            FROM kept_cures k JOIN treatments t ON t.seq = k.treatment
        ) w JOIN units u ON u.id = w.unit_id {_OF_LOT}""",
    "unit_money": f"""
        SELECT u.id AS unit_id, u.tag, u.model, l.name AS lot, l.source, u.lot_id, u.becomes, u.sold_on, u.channel,
            l.bought_on, coalesce(l.currency, {OF_SHOP}) AS currency, k.price_minor, k.postage_minor, k.parts_minor,
            k.minutes, k.sales_minor, k.fees_minor, k.shipping_minor, k.refund_minor, k.return_minor,
            k.sales_minor - k.price_minor - k.postage_minor - k.parts_minor - k.fees_minor - k.shipping_minor
            - k.refund_minor - k.return_minor AS profit_minor
        FROM units u JOIN kept_money k ON k.unit = u.seq LEFT JOIN lots l ON l.seq = k.lot""",
    **{f"counting_{table}": f" SELECT * FROM {table} WHERE {counting(table)}" for table in WITHDRAWN_FROM},
}


def wrong_views(db: Connection) -> Iterator[str]:
    """Those that are missing or not as they should be, a few words each."""
    there = dict(db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'view'").fetchall())
    for name, sql in _wanted().items():
        if there.get(name) != sql:
            said = words.SCHEMA_CHANGED if name in there else words.SCHEMA_MISSING
            yield said.format(kind=words.SCHEMA_KINDS["view"], name=name)


def put_views(db: Connection) -> None:
    """Make the views, or put right those that another version left; inside the caller's transaction."""
    if not any(wrong_views(db)):
        return
    drop_views(db)
    for sql in _wanted().values():
        db.execute(sql)


def _wanted() -> dict[str, str]:
    return {name: f"CREATE VIEW {name} AS{body}" for name, body in VIEWS.items()}


def drop_views(db: Connection) -> None:
    """Take them away: a table that a view speaks of cannot be rebuilt."""
    for name in VIEWS:
        db.execute(f"DROP VIEW IF EXISTS {name}")
