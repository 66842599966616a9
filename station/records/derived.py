"""The rules of the trade as SQL, each worked out for some units or all: what is kept for the views (`station.records.
kept`), which only look it up.

The program itself does not read them: it asks `station.judgement`, and a test demands that both answer alike. `{units}`
in a rule is a condition on the id of a unit.
"""

from __future__ import annotations

from station.checks.looks import LOOKS
from station.checks.strengths import CHECK_OF, STRENGTHS
from station.records.counted import counting
from station.records.money import OF_SHOP

VERDICTS = "('pass', 'borderline', 'fail')"
_LIGHTEST, *_HARDER = (CHECK_OF[strength] for strength in STRENGTHS)
_LOOKS = ", ".join(f"'{name}'" for name in sorted(LOOKS))
"""checks of a first look: they show of nothing that it is sound"""
_ALONE = "alone"
"""the check of a unit that was left alone: no test by a hand"""
_HARDER_SQL = ", ".join(f"'{name}'" for name in _HARDER)


def counted_try(alias: str) -> str:
    """A condition on a result: it counts, like the rows of the view `counting_results`."""
    counted = f"({alias}.by_hand = 1 OR ({alias}.outcome IN {VERDICTS} AND {alias}.again = ''))"
    return f"{counted} AND {counting('results', alias)}"


def _verdict(alias: str) -> str:
    """A condition on a result: it counts as a verdict, like `verdict` of `counting_results`."""
    counted = f"{alias}.outcome IN {VERDICTS} AND ({alias}.by_hand = 1 OR {alias}.again = '')"
    return f"{counted} AND {counting('results', alias)}"


_CURES = f"""
    SELECT t.seq AS treatment, coalesce(a.passed, 0) AS passed, coalesce(a.failed, 0) AS failed
    FROM treatments t LEFT JOIN (
        SELECT seq, sum(before = 'fail' AND after = 'pass') AS passed, sum(before = 'fail' AND after = 'fail') AS failed
        FROM (
            SELECT seq, max(iif(since, NULL, outcome)) AS before, max(iif(since, outcome, NULL)) AS after FROM (
                SELECT t.seq, b.check_name, b.control, b.outcome, b.at > t.at AS since, row_number() OVER (
                    PARTITION BY t.seq, b.check_name, b.control, b.at > t.at ORDER BY b.at DESC, b.seq DESC
                ) AS place
                FROM (
                    SELECT *, lead(at, 1, '9') OVER (PARTITION BY unit_id ORDER BY at, seq) AS next_at
                    FROM treatments t WHERE t.unit_id {{units}} AND {counting("treatments", "t")}
                ) t CROSS JOIN visits v ON v.unit_id = t.unit_id CROSS JOIN results b ON b.visit_id = v.id
                WHERE b.at <= t.next_at AND b.check_name NOT IN ({_LOOKS}) AND {_verdict("b")}
            ) WHERE place = 1 GROUP BY seq, check_name, control
        ) GROUP BY seq
    ) a ON a.seq = t.seq WHERE t.unit_id {{units}} AND {counting("treatments", "t")}"""
"""each treatment, and what of that which had failed before it passes or fails by the last try before the next one"""

_STANDING = f"""
    SELECT result, visit FROM (
        SELECT c.seq AS result, v.seq AS visit, row_number() OVER (
            PARTITION BY v.unit_id, c.check_name, c.control ORDER BY v.number DESC, c.seq DESC
        ) AS place
        FROM visits v CROSS JOIN results c ON c.visit_id = v.id
        WHERE v.unit_id {{units}} AND {counted_try("c")} AND c.check_name NOT IN ({_LOOKS})
        AND (c.check_name NOT IN ({_HARDER_SQL}) OR v.number >= coalesce((
            SELECT max(w.number) FROM visits w CROSS JOIN results l ON l.visit_id = w.id
            WHERE w.unit_id = v.unit_id AND l.control = c.control AND l.check_name = '{_LIGHTEST}' AND {_verdict("l")}
        ), 0))
    ) WHERE place = 1"""
"""what stands for each check of a unit: the last try that counts over all its visits; a harder press from before the
visit of the newest light press is left out"""

_SECOND = f"""
    SELECT visit FROM (
        SELECT v.seq AS visit, row_number() OVER (PARTITION BY u.id ORDER BY v.number DESC) AS place
        FROM units u CROSS JOIN visits v ON v.unit_id = u.id
        WHERE u.id {{units}} AND v.kind IN ('after rest', 'final') AND v.finished_at <> ''
        AND substr(v.started_at, 1, 10) >= u.rest_until
        AND EXISTS (SELECT 1 FROM results c WHERE c.visit_id = v.id AND {_verdict("c")}
            AND NOT c.by_hand AND c.check_name NOT IN ({_LOOKS}, '{_ALONE}'))
    ) WHERE place = 1"""
"""the visits that are a unit's test after the rest"""

_VISITS = f"""
    SELECT v.seq AS visit,
        count(CASE t.outcome WHEN 'pass' THEN 1 END) AS passed,
        count(CASE t.outcome WHEN 'borderline' THEN 1 END) AS borderline,
        count(CASE t.outcome WHEN 'fail' THEN 1 END) AS failed,
        count(CASE WHEN t.outcome NOT IN {VERDICTS} THEN 1 END) AS not_done,
        v.seq IN ({_SECOND}) AS second
    FROM visits v LEFT JOIN (
        SELECT v.seq AS visit, coalesce((
            SELECT c.outcome FROM results c
            WHERE c.visit_id = r.visit_id AND c.check_name = r.check_name AND c.control = r.control
            AND {counted_try("c")} ORDER BY c.seq DESC LIMIT 1
        ), 'not done') AS outcome
        FROM visits v CROSS JOIN results r ON r.visit_id = v.id
        WHERE v.unit_id {{units}} AND {counting("results", "r")} GROUP BY v.seq, r.check_name, r.control
    ) t ON t.visit = v.seq WHERE v.unit_id {{units}} AND {counting("visits", "v")} GROUP BY v.seq"""
"""what each visit comes to: every check that was tried in it, by the try that counts; and whether it is the second test
of its unit"""

_FIRST = f"""
    SELECT result, visit, model, check_name, outcome FROM (
        SELECT c.seq AS result, v.seq AS visit, u.model, c.check_name, c.outcome, row_number() OVER (
            PARTITION BY u.id, c.check_name, c.control ORDER BY v.number, c.at, c.seq
        ) AS place
        FROM units u CROSS JOIN visits v ON v.unit_id = u.id CROSS JOIN results c ON c.visit_id = v.id
        WHERE u.id {{units}} AND {_verdict("c")}
    ) WHERE place = 1"""
"""the first verdict of each check of a unit"""

_FAILING = f"""
    SELECT c.seq AS result, d.position, u.model, c.check_name, d.name
    FROM units u CROSS JOIN visits v ON v.unit_id = u.id CROSS JOIN results c ON c.visit_id = v.id
    CROSS JOIN readings d ON d.result_id = c.id
    WHERE u.id {{units}} AND {counted_try("c")} AND d.value IS NOT NULL AND d.fail_beyond IS NOT NULL
    AND ((d.rule = '<=' AND d.value > d.fail_beyond) OR (d.rule = '>=' AND d.value < d.fail_beyond))"""
"""readings beyond what fails whatever their uncertainty, of tries that count"""

_SHARES = f"""
            SELECT s.*, rest / slots AS price_each, abs(rest % slots) AS price_over,
                postage_minor / places AS postage_each, postage_minor % places AS postage_over
            FROM (
                SELECT w.*, iif(shared, without + to_come, many) AS slots, many + to_come AS places
                FROM (
                    SELECT n.*, l.seq, l.currency, l.postage_minor, l.cost_minor - n.own AS rest,
                        max(l.expected - n.many, 0) AS to_come,
                        l.cost_minor >= n.own AND n.without + max(l.expected - n.many, 0) > 0 AS shared
                    FROM (
                        SELECT lot_id, count(*) AS many, sum(cost_minor) AS own, sum(cost_minor = 0) AS without
                        FROM units WHERE lot_id IN (SELECT lot_id FROM units WHERE id {{units}})
                        AND {counting("units")} GROUP BY lot_id
                    ) n JOIN lots l ON l.id = n.lot_id
                ) w
            ) s"""
"""each lot with what its units share price and postage by: the rule of `station.lots.accounts.price_shares`. What does
not come out even goes to the first of them by id, a cent each: to so many as `price_over` and `postage_over` say"""


def _last_of(over: str, units: str) -> str:
    """The last unit of a lot of `shares` that bears a cent more, its units in the order of their ids. '' is before all
    ids; '~' is after them, where units that are still to come bear some too."""
    return f"""iif(s.{over} > 0, coalesce((
            SELECT id FROM (
                SELECT u.id, row_number() OVER (ORDER BY u.id) AS k FROM units u
                WHERE u.lot_id = s.lot_id AND {units} AND {counting("units", "u")}
            ) WHERE k = s.{over}
        ), '~'), '')"""


_MONEY = f"""
    WITH shares AS MATERIALIZED ({_SHARES}
    ), borne AS MATERIALIZED (
        SELECT s.*, {_last_of("price_over", "(NOT s.shared OR u.cost_minor = 0)")} AS price_to,
            {_last_of("postage_over", "1")} AS postage_to
        FROM shares s
    )
    SELECT u.unit, u.lot, u.price_minor, u.postage_minor,
        coalesce((
            SELECT sum(t.cost_minor) FROM treatments t WHERE t.unit_id = u.id
            AND t.currency = u.currency AND {counting("treatments", "t")}
        ), 0) AS parts_minor,
        coalesce((
            SELECT sum(t.minutes) FROM treatments t WHERE t.unit_id = u.id AND {counting("treatments", "t")}
        ), 0) AS minutes,
        iif(u.becomes = 'sold', u.sold_minor, 0) + coalesce(c.sold, 0) AS sales_minor,
        iif(u.becomes = 'sold', u.fees_minor, 0) + coalesce(c.fees, 0) AS fees_minor,
        iif(u.becomes = 'sold', u.shipping_minor, 0) + coalesce(c.shipping, 0) AS shipping_minor,
        coalesce(c.refund, 0) AS refund_minor, coalesce(c.back, 0) AS return_minor
    FROM (
        SELECT u.seq AS unit, u.id, u.becomes, u.sold_minor, u.fees_minor, u.shipping_minor, s.seq AS lot, s.currency,
            u.cost_minor + CASE
                WHEN s.shared AND u.cost_minor > 0 THEN 0
                WHEN u.id <= s.price_to THEN s.price_each + iif(s.rest < 0, -1, 1)
                ELSE s.price_each
            END AS price_minor,
            s.postage_each + (u.id <= s.postage_to) AS postage_minor
        FROM borne s CROSS JOIN units u ON u.lot_id = s.lot_id WHERE u.id {{units}} AND {counting("units", "u")}
        UNION ALL
        SELECT seq, id, becomes, sold_minor, fees_minor, shipping_minor, NULL, {OF_SHOP}, cost_minor, 0
        FROM units WHERE id {{units}} AND +lot_id IS NULL AND {counting("units")}
    ) u LEFT JOIN (
        SELECT unit_id, sum(sold_minor) AS sold, sum(fees_minor) AS fees, sum(shipping_minor) AS shipping,
            sum(refund_minor) AS refund, sum(cost_minor) AS back
        FROM comebacks c WHERE c.unit_id {{units}} AND {counting("comebacks", "c")} GROUP BY unit_id
    ) c ON c.unit_id = u.id"""
"""what each unit cost and brought"""

_OF_RESULT = "result IN (SELECT r.seq FROM visits v CROSS JOIN results r ON r.visit_id = v.id WHERE v.unit_id {units})"
RULES: dict[str, dict[str, tuple[str, str]]] = {
    "money": {"kept_money": (_MONEY, "unit IN (SELECT seq FROM units WHERE id {units})")},
    "cures": {"kept_cures": (_CURES, "treatment IN (SELECT seq FROM treatments WHERE unit_id {units})")},
    "visits": {"kept_visits": (_VISITS, "visit IN (SELECT seq FROM visits WHERE unit_id {units})")},
    "tries": {
        "kept_standing": (_STANDING, _OF_RESULT),
        "kept_first": (_FIRST, _OF_RESULT),
        "kept_failing": (_FAILING, _OF_RESULT),
    },
}
"""what is out of date (`what` of `kept_stale`; money also of a whole lot) → table → (the rule, as a query for all its
columns in their order; which of its rows are of these units)"""
