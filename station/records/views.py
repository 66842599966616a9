"""The rules of the trade as SQL views, for whoever asks the file with another program (docs/records.md).

The program itself does not read them: it asks `station.judgement`, and a test demands that both answer alike. They hold
nothing, so they are no part of the schema's version: opening the file for writing puts them right.
"""

from __future__ import annotations

from collections.abc import Iterator
from sqlite3 import Connection

from station.checks.looks import LOOKS
from station.checks.strengths import CHECK_OF, STRENGTHS
from station.records.counted import counting
from station.words import records as words

_VERDICTS = "('pass', 'borderline', 'fail')"
_LIGHTEST, *_HARDER = (CHECK_OF[strength] for strength in STRENGTHS)
_LOOKS = ", ".join(f"'{name}'" for name in sorted(LOOKS))
"""checks of a first look: they show of nothing that it is sound"""
_ALONE = "alone"
"""the check of a unit that was left alone: no test by a hand"""
_HARDER_SQL = ", ".join(f"'{name}'" for name in _HARDER)

WITHDRAWN_FROM = ("lots", "units", "visits", "treatments", "notes", "shelf_parts", "shelf_moves", "comebacks")
"""tables of which a view has the rows that count; of results there is `counting_results`"""

VIEWS = {
    "counting_results": f"""
        SELECT r.*, r.outcome IN {_VERDICTS} AS verdict FROM results r
        WHERE (r.by_hand = 1 OR (r.outcome IN {_VERDICTS} AND r.again = '')) AND {counting("results", "r")}""",
    "standing_results": f"""
        SELECT unit_id, check_name, control, outcome, verdict, result_id, visit_id, at FROM (
            SELECT v.unit_id, c.check_name, c.control, c.outcome, c.verdict, c.id AS result_id, c.visit_id, c.at,
                row_number() OVER (
                    PARTITION BY v.unit_id, c.check_name, c.control ORDER BY v.number DESC, c.seq DESC
                ) AS place
            FROM counting_results c JOIN visits v ON v.id = c.visit_id
            WHERE c.check_name NOT IN ({_LOOKS}) AND (c.check_name NOT IN ({_HARDER_SQL}) OR v.number >= coalesce((
                SELECT max(w.number) FROM counting_results l JOIN visits w ON w.id = l.visit_id
                WHERE w.unit_id = v.unit_id AND l.control = c.control AND l.check_name = '{_LIGHTEST}' AND l.verdict
            ), 0))
        ) WHERE place = 1""",
    "visit_totals": f"""
        SELECT v.id AS visit_id, v.unit_id, v.number, v.kind,
            count(CASE t.outcome WHEN 'pass' THEN 1 END) AS passed,
            count(CASE t.outcome WHEN 'borderline' THEN 1 END) AS borderline,
            count(CASE t.outcome WHEN 'fail' THEN 1 END) AS failed,
            count(CASE WHEN t.outcome NOT IN ('pass', 'borderline', 'fail') THEN 1 END) AS not_done
        FROM visits v LEFT JOIN (
            SELECT r.visit_id, coalesce((
                SELECT c.outcome FROM counting_results c
                WHERE c.visit_id = r.visit_id AND c.check_name = r.check_name AND c.control = r.control
                ORDER BY c.seq DESC LIMIT 1
            ), 'not done') AS outcome
            FROM results r WHERE {counting("results", "r")} GROUP BY r.visit_id, r.check_name, r.control
        ) t ON t.visit_id = v.id WHERE {counting("visits", "v")} GROUP BY v.id""",
    "second_tests": f"""
        SELECT unit_id, visit_id, started_at FROM (
            SELECT u.id AS unit_id, v.id AS visit_id, v.started_at,
                row_number() OVER (PARTITION BY u.id ORDER BY v.number DESC) AS place
            FROM units u JOIN visits v ON v.unit_id = u.id
            WHERE v.kind IN ('after rest', 'final') AND v.finished_at <> ''
            AND substr(v.started_at, 1, 10) >= u.rest_until
            AND EXISTS (SELECT 1 FROM counting_results c WHERE c.visit_id = v.id AND c.verdict
                AND NOT c.by_hand AND c.check_name NOT IN ({_LOOKS}, '{_ALONE}'))
        ) WHERE place = 1""",
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
