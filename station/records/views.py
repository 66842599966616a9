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
from station.records.types import SAME_FAULT
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

_BELONGS = "u.tag, u.model, l.name AS lot, l.source"
"""whose it is, in the views for questions"""
_OF_LOT = "LEFT JOIN lots l ON l.id = u.lot_id"
_SHARES = f"""
                SELECT n.*, iif(n.shared, n.without + n.to_come, n.many) AS slots, n.many + n.to_come AS places
                FROM (
                    SELECT w.*, l.cost_minor - w.own AS rest, max(l.expected - w.many, 0) AS to_come,
                        l.cost_minor >= w.own AND w.without + max(l.expected - w.many, 0) > 0 AS shared
                    FROM (
                        SELECT u.id, u.lot_id, count(*) OVER lot AS many, sum(u.cost_minor) OVER lot AS own,
                            sum(u.cost_minor = 0) OVER lot AS without, row_number() OVER (lot ORDER BY u.id) AS k,
                            sum(u.cost_minor = 0) OVER (lot ORDER BY u.id) AS k_without
                        FROM units u WHERE {counting("units", "u")} WINDOW lot AS (PARTITION BY u.lot_id)
                    ) w LEFT JOIN lots l ON l.id = w.lot_id
                ) n"""
"""each unit with what it shares its lot's price by: the rule of `station.lots.accounts.price_shares`"""

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
    "counted_results": f"""
        SELECT c.id AS result_id, c.check_name, c.control, c.outcome, c.verdict, c.by_hand, c.at, c.visit_id,
            v.kind AS visit_kind, v.number, v.person, v.unit_id, {_BELONGS}
        FROM counting_results c JOIN visits v ON v.id = c.visit_id JOIN units u ON u.id = v.unit_id {_OF_LOT}""",
    "returns": f"""
        SELECT c.id, c.unit_id, {_BELONGS}, c.at, c.reason, c.found, c.sold_on, c.channel,
            CAST(julianday(substr(c.at, 1, 10)) - julianday(nullif(c.sold_on, '')) AS INTEGER) AS days,
            coalesce(l.currency, 'EUR') AS currency, c.sold_minor, c.refund_minor, c.cost_minor, c.fees_minor,
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
                ) AS came_back,
                count(CASE WHEN a.outcome = 'pass' THEN 1 END) AS passed,
                count(CASE WHEN a.outcome = 'fail' THEN 1 END) AS failed
            FROM (
                SELECT *, lead(at, 1, '9') OVER (PARTITION BY unit_id ORDER BY at, seq) AS next_at
                FROM treatments t WHERE {counting("treatments", "t")}
            ) t LEFT JOIN (
                SELECT v.unit_id, c.check_name, c.control, c.at, c.outcome,
                    lead(c.at, 1, '~') OVER same AS until
                FROM counting_results c JOIN visits v ON v.id = c.visit_id
                WHERE c.verdict AND c.check_name NOT IN ({_LOOKS})
                WINDOW same AS (PARTITION BY v.unit_id, c.check_name, c.control ORDER BY c.at, c.seq)
            ) a ON a.unit_id = t.unit_id AND a.at > t.at AND a.at <= t.next_at AND a.until > t.next_at
                AND (
                    SELECT b.outcome FROM counting_results b JOIN visits w ON w.id = b.visit_id
                    WHERE w.unit_id = t.unit_id AND b.check_name = a.check_name AND b.control = a.control
                    AND b.verdict AND b.at <= t.at ORDER BY b.at DESC, b.seq DESC LIMIT 1
                ) = 'fail'
            GROUP BY t.id
        ) w JOIN units u ON u.id = w.unit_id {_OF_LOT}""",
    "unit_money": f"""
        SELECT m.*, m.sales_minor - m.price_minor - m.postage_minor - m.parts_minor - m.fees_minor - m.shipping_minor
            - m.refund_minor - m.return_minor AS profit_minor
        FROM (
            SELECT u.id AS unit_id, {_BELONGS}, s.lot_id, u.becomes, u.sold_on, u.channel, l.bought_on,
                coalesce(l.currency, 'EUR') AS currency,
                u.cost_minor + CASE
                    WHEN u.lot_id IS NULL OR (s.shared AND u.cost_minor > 0) THEN 0
                    ELSE s.rest / s.slots + CASE
                        WHEN CASE WHEN s.shared THEN s.k_without ELSE s.k END <= abs(s.rest % s.slots)
                        THEN CASE WHEN s.rest < 0 THEN -1 ELSE 1 END ELSE 0
                    END
                END AS price_minor,
                coalesce(l.postage_minor / s.places + (s.k <= l.postage_minor % s.places), 0) AS postage_minor,
                coalesce(t.parts, 0) AS parts_minor, coalesce(t.minutes, 0) AS minutes,
                iif(u.becomes = 'sold', u.sold_minor, 0) + coalesce(c.sold, 0) AS sales_minor,
                iif(u.becomes = 'sold', u.fees_minor, 0) + coalesce(c.fees, 0) AS fees_minor,
                iif(u.becomes = 'sold', u.shipping_minor, 0) + coalesce(c.shipping, 0) AS shipping_minor,
                coalesce(c.refund, 0) AS refund_minor, coalesce(c.back, 0) AS return_minor
            FROM ({_SHARES}) s JOIN units u ON u.id = s.id {_OF_LOT} LEFT JOIN (
                SELECT t.unit_id, sum(t.minutes) AS minutes,
                    sum(iif(t.currency = coalesce(l.currency, 'EUR'), t.cost_minor, 0)) AS parts
                FROM treatments t JOIN units u ON u.id = t.unit_id {_OF_LOT}
                WHERE {counting("treatments", "t")} GROUP BY t.unit_id
            ) t ON t.unit_id = u.id LEFT JOIN (
                SELECT unit_id, sum(sold_minor) AS sold, sum(fees_minor) AS fees, sum(shipping_minor) AS shipping,
                    sum(refund_minor) AS refund, sum(cost_minor) AS back
                FROM comebacks c WHERE {counting("comebacks", "c")} GROUP BY unit_id
            ) c ON c.unit_id = u.id
        ) m""",
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
