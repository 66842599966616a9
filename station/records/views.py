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


def _verdict(alias: str) -> str:
    """A condition on a result: it counts as a verdict, like `verdict` of `counting_results`."""
    counted = f"{alias}.outcome IN {_VERDICTS} AND ({alias}.by_hand = 1 OR {alias}.again = '')"
    return f"{counted} AND {counting('results', alias)}"


_TRIED = f"""
                        SELECT b.outcome FROM visits w CROSS JOIN results b ON b.visit_id = w.id
                        WHERE w.unit_id = t.unit_id AND b.check_name = f.check_name AND b.control = f.control
                        AND {_verdict("b")}"""
"""the verdicts of the check that failed before a treatment, in `cures`"""

_BELONGS = "u.tag, u.model, l.name AS lot, l.source"
"""whose it is, in the views for questions"""
_OF_LOT = "LEFT JOIN lots l ON l.id = u.lot_id"
_SHARES = f"""
                SELECT s.*, rest / slots AS price_each, abs(rest % slots) AS price_over,
                    postage_minor / places AS postage_each, postage_minor % places AS postage_over
                FROM (
                    SELECT w.*, iif(shared, without + to_come, many) AS slots, many + to_come AS places
                    FROM (
                        SELECT n.*, l.*, l.cost_minor - n.own AS rest, max(l.expected - n.many, 0) AS to_come,
                            l.cost_minor >= n.own AND n.without + max(l.expected - n.many, 0) > 0 AS shared
                        FROM (
                            SELECT lot_id, count(*) AS many, sum(cost_minor) AS own, sum(cost_minor = 0) AS without
                            FROM units WHERE {counting("units")} GROUP BY lot_id
                        ) n LEFT JOIN lots l ON l.id = n.lot_id
                    ) w
                ) s"""
"""each lot, and the units that are in none, with what they share price and postage by: the rule of
`station.lots.accounts.price_shares`. What does not come out even goes to the first of them by id, a cent each: to so
many as `price_over` and `postage_over` say"""


def _last_of(over: str, units: str) -> str:
    """The last unit of a lot of `shares` that bears a cent more, its units in the order of their ids. '' is before all
    ids; '~' is after them, where units that are still to come bear some too."""
    return f"""iif(s.{over} > 0, coalesce((
                SELECT id FROM (
                    SELECT u.id, row_number() OVER (ORDER BY u.id) AS k FROM units u
                    WHERE u.lot_id = s.lot_id AND {units} AND {counting("units", "u")}
                ) WHERE k = s.{over}
            ), '~'), '')"""


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
                coalesce(a.passed, 0) AS passed, coalesce(a.failed, 0) AS failed
            FROM treatments t LEFT JOIN (
                SELECT id, sum(after = 'pass') AS passed, sum(after = 'fail') AS failed FROM (
                    SELECT t.id, ({_TRIED} AND b.at > t.at AND b.at <= t.next_at
                            ORDER BY b.at DESC, b.seq DESC LIMIT 1
                        ) AS after
                    FROM (
                        SELECT *, lead(at, 1, '9') OVER (PARTITION BY unit_id ORDER BY at, seq) AS next_at
                        FROM treatments t WHERE {counting("treatments", "t")}
                    ) t CROSS JOIN visits v ON v.unit_id = t.unit_id CROSS JOIN results f ON f.visit_id = v.id
                    WHERE f.outcome = 'fail' AND f.at <= t.at AND f.check_name NOT IN ({_LOOKS}) AND {_verdict("f")}
                    AND NOT EXISTS ({_TRIED} AND b.at <= t.at AND (b.at, b.seq) > (f.at, f.seq))
                ) GROUP BY id
            ) a ON a.id = t.id WHERE {counting("treatments", "t")}
        ) w JOIN units u ON u.id = w.unit_id {_OF_LOT}""",
    "unit_money": f"""
        WITH shares AS MATERIALIZED ({_SHARES}
        ), borne AS MATERIALIZED (
            SELECT s.*, {_last_of("price_over", "(NOT s.shared OR u.cost_minor = 0)")} AS price_to,
                {_last_of("postage_over", "1")} AS postage_to
            FROM shares s
        )
        SELECT m.*, m.sales_minor - m.price_minor - m.postage_minor - m.parts_minor - m.fees_minor - m.shipping_minor
            - m.refund_minor - m.return_minor AS profit_minor
        FROM (
            SELECT u.id AS unit_id, u.tag, u.model, s.name AS lot, s.source, u.lot_id, u.becomes, u.sold_on, u.channel,
                s.bought_on, coalesce(s.currency, 'EUR') AS currency,
                u.cost_minor + CASE
                    WHEN s.lot_id IS NULL OR (s.shared AND u.cost_minor > 0) THEN 0
                    WHEN u.id <= s.price_to THEN s.price_each + iif(s.rest < 0, -1, 1)
                    ELSE s.price_each
                END AS price_minor,
                coalesce(s.postage_each + (u.id <= s.postage_to), 0) AS postage_minor,
                coalesce((
                    SELECT sum(t.cost_minor) FROM treatments t WHERE t.unit_id = u.id
                    AND t.currency = coalesce(s.currency, 'EUR') AND {counting("treatments", "t")}
                ), 0) AS parts_minor,
                coalesce((
                    SELECT sum(t.minutes) FROM treatments t WHERE t.unit_id = u.id AND {counting("treatments", "t")}
                ), 0) AS minutes,
                iif(u.becomes = 'sold', u.sold_minor, 0) + coalesce(c.sold, 0) AS sales_minor,
                iif(u.becomes = 'sold', u.fees_minor, 0) + coalesce(c.fees, 0) AS fees_minor,
                iif(u.becomes = 'sold', u.shipping_minor, 0) + coalesce(c.shipping, 0) AS shipping_minor,
                coalesce(c.refund, 0) AS refund_minor, coalesce(c.back, 0) AS return_minor
            FROM borne s CROSS JOIN units u ON u.lot_id IS s.lot_id LEFT JOIN (
                SELECT unit_id, sum(sold_minor) AS sold, sum(fees_minor) AS fees, sum(shipping_minor) AS shipping,
                    sum(refund_minor) AS refund, sum(cost_minor) AS back
                FROM comebacks c WHERE {counting("comebacks", "c")} GROUP BY unit_id
            ) c ON c.unit_id = u.id
            WHERE {counting("units", "u")}
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
