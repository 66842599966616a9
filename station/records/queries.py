"""What is read: of every table that which counts (`station.records.counted`). Each function runs inside the caller's
read transaction."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from sqlite3 import Connection

from station.capture.text import visible
from station.records.counted import counting, in_force, withdrawn
from station.records.money import OF_SHOP
from station.records.order import in_order
from station.records.rows import columns_of, read_issued, read_results, read_shown, read_tries, shown
from station.records.rules import RestRule, ResultsOf, rest_asked
from station.records.search import search_terms
from station.records.types import (
    GONE,
    SAME_FAULT,
    Comeback,
    Issued,
    Lot,
    Note,
    Result,
    ShelfPart,
    Treatment,
    Unit,
    UnitHistory,
    Visit,
    Withdrawal,
    Withdrawn,
)

MAX_FOUND = 200
_UNITS = counting("units")
_RESULTS = counting("results")


def units(db: Connection, search: str, limit: int = MAX_FOUND) -> tuple[Unit, ...]:
    """Newest first; every word of `search` must be in the tag, model, serial number or claim (1–2 letters: begin a
    word there)."""
    wanted = search_terms(search)
    if not wanted:
        return read_shown(db, Unit, f"{_UNITS} ORDER BY seq DESC LIMIT ?", (limit,))
    most = limit + int(db.execute(f"SELECT count(*) FROM ({withdrawn('units')})").fetchone()[0])
    where = f"seq IN (SELECT rowid FROM unit_text WHERE unit_text MATCH ? ORDER BY rowid DESC LIMIT ?) AND {_UNITS}"
    return read_shown(db, Unit, f"{where} ORDER BY seq DESC LIMIT ?", (wanted, most, limit))


def unit_by_serial(db: Connection, vendor_id: int, product_id: int, serial: str) -> Unit | None:
    """The newest unit with that serial number; None without one (many devices share an empty one)."""
    if not serial:
        return None
    where = f"serial = ? AND serial <> '' AND vendor_id = ? AND product_id = ? AND {_UNITS} ORDER BY seq DESC LIMIT 1"
    found = read_shown(db, Unit, where, (serial, vendor_id, product_id))
    return found[0] if found else None


def units_of_lot(db: Connection, lot_id: str) -> tuple[Unit, ...]:
    """The units of a lot; with "" those that belong to none."""
    return read_shown(db, Unit, f"coalesce(lot_id, '') = ? AND {_UNITS} ORDER BY tag, seq", (lot_id,))


def units_of_model(db: Connection, model: str, limit: int) -> tuple[Unit, ...]:
    """The newest units that are called by this model."""
    return read_shown(db, Unit, f"model = ? AND {_UNITS} ORDER BY seq DESC LIMIT ?", (model, limit))


def tries_of(db: Connection, unit_id: str) -> tuple[Result, ...]:
    """All results of a unit without readings and findings, oldest first."""
    where = f"visit_id IN (SELECT id FROM visits WHERE unit_id = ? AND {counting('visits')}) AND {_RESULTS}"
    return tuple(read_tries(db, f"{where} ORDER BY seq", (unit_id,)))


def listed_units(db: Connection) -> list[tuple[str, str, str, str, str, str]]:
    """(id, tag, model, id of the lot or "", what it became, when its row changed) of every unit, oldest first."""
    asked = f"SELECT id, tag, model, coalesce(lot_id, ''), becomes, changed_at FROM units WHERE {_UNITS} ORDER BY seq"
    return db.execute(asked).fetchall()


def came_back(db: Connection) -> set[str]:
    """Ids of the units that came back at least once."""
    return {row[0] for row in db.execute(f"SELECT unit_id FROM comebacks WHERE {counting('comebacks')}")}


def tags_here(db: Connection) -> tuple[str, ...]:
    """The tags of all units that are still here: no other may have one of them."""
    marks = ", ".join("?" * len(GONE))
    return tuple(
        row[0] for row in db.execute(f"SELECT tag FROM units WHERE becomes NOT IN ({marks}) AND {_UNITS}", GONE)
    )


def lot_states(db: Connection) -> dict[str, dict[str, int]]:
    """Lot id → what its units became → how many; "" stands for those that belong to no lot."""
    found: dict[str, dict[str, int]] = {}
    rows = db.execute(f"SELECT coalesce(lot_id, ''), becomes, count(*) FROM units WHERE {_UNITS} GROUP BY 1, 2")
    for lot_id, becomes, count in rows:
        found.setdefault(lot_id, {})[becomes] = count
    return found


def lots(db: Connection) -> tuple[Lot, ...]:
    """Newest first."""
    return read_shown(db, Lot, f"{counting('lots')} ORDER BY seq DESC")


def visits(db: Connection, unit_id: str) -> tuple[Visit, ...]:
    return in_order(db, read_shown(db, Visit, f"unit_id = ? AND {counting('visits')} ORDER BY number, seq", (unit_id,)))


def results_of_visit(db: Connection, visit_id: str) -> tuple[Result, ...]:
    """In the order in which they were recorded."""
    return in_order(db, read_results(db, f"visit_id = ? AND {_RESULTS} ORDER BY seq", (visit_id,)))


def unit_of_result(db: Connection, result_id: str) -> str | None:
    """The id of the unit of a result that counts; None where there is none."""
    asked = f"SELECT unit_id FROM visits WHERE id = (SELECT visit_id FROM results WHERE id = ? AND {_RESULTS})"
    found = db.execute(asked, (result_id,)).fetchone()
    return None if found is None else str(found[0])


def tries_in(db: Connection) -> ResultsOf:
    """Visit id → its results without readings and findings: enough to say which of them count."""
    return lambda visit_id: read_tries(db, f"visit_id = ? AND {_RESULTS} ORDER BY seq", (visit_id,))


def mark_of_lot(db: Connection, lot_id: str) -> tuple[object, ...]:
    """The last rows that bear on the units of a lot, and how many units it has."""
    mine = "SELECT id FROM units WHERE lot_id = ?1"
    of_visits = f"SELECT id FROM visits WHERE unit_id IN ({mine})"
    asked = (
        f"SELECT count(*), max(changed_at), (SELECT max(seq) FROM results WHERE visit_id IN ({of_visits})), "
        f"(SELECT max(seq) FROM treatments WHERE unit_id IN ({mine})), (SELECT max(seq) FROM withdrawals) "
        "FROM units WHERE lot_id = ?1"
    )
    return tuple(db.execute(asked, (lot_id,)).fetchone())


def kept_of_lot(db: Connection, lot_id: str) -> list[tuple[Unit, tuple[Treatment, ...], tuple[Comeback, ...]]]:
    """What of each unit of a lot ("": of those of none) bears on money, by its tag."""
    mine = f"unit_id IN (SELECT id FROM units WHERE coalesce(lot_id, '') = ? AND {_UNITS})"
    treatments: dict[str, list[Treatment]] = defaultdict(list)
    for treatment in read_shown(db, Treatment, f"{mine} AND {counting('treatments')} ORDER BY at, seq", (lot_id,)):
        treatments[treatment.unit_id].append(treatment)
    comebacks: dict[str, list[Comeback]] = defaultdict(list)
    for comeback in read_shown(db, Comeback, f"{mine} AND {counting('comebacks')} ORDER BY at, seq", (lot_id,)):
        comebacks[comeback.unit_id].append(comeback)
    return [(u, tuple(treatments[u.id]), tuple(comebacks[u.id])) for u in units_of_lot(db, lot_id)]


def sales(db: Connection) -> list[tuple[str, str, int, int, int]]:
    """(model, currency, how many were sold, how many of those came back, what those cost) of each model and currency:
    a unit that was sold twice counts twice."""
    lost = "c.fees_minor + c.shipping_minor + c.cost_minor - (c.sold_minor - c.refund_minor)"
    rows = db.execute(
        f"SELECT model, coalesce(currency, {OF_SHOP}), count(*), count(lost), coalesce(sum(lost), 0) FROM ("
        f"SELECT model, lot_id, NULL AS lost FROM units WHERE becomes = 'sold' AND {_UNITS} UNION ALL "
        f"SELECT u.model, u.lot_id, {lost} FROM comebacks c JOIN units u ON u.id = c.unit_id "
        f"WHERE {counting('comebacks', 'c')}) s LEFT JOIN lots l ON l.id = s.lot_id GROUP BY 1, 2"
    )
    return rows.fetchall()


def held(db: Connection, kind: str) -> tuple[int, tuple[int, ...]]:
    """How many units were sold after a treatment of this kind, and after how many days those of which it did not hold
    came back, fewest first."""
    mine = f"SELECT t.id, t.unit_id, t.at FROM treatments t WHERE t.kind = ? AND {counting('treatments', 't')}"
    sold = db.execute(
        f"SELECT count(DISTINCT m.unit_id) FROM ({mine}) m JOIN units u ON u.id = m.unit_id WHERE u.becomes = 'sold' "
        f"OR u.id IN (SELECT unit_id FROM comebacks WHERE {counting('comebacks')})",
        (kind,),
    ).fetchone()[0]
    days = db.execute(
        f"SELECT CAST(julianday(substr(c.at, 1, 10)) - julianday(substr(m.at, 1, 10)) AS INTEGER) FROM ({mine}) m "
        f"JOIN comebacks c ON c.treatment_id = m.id WHERE c.found = '{SAME_FAULT}' AND {counting('comebacks', 'c')} "
        "ORDER BY 1",
        (kind,),
    )
    return int(sold), tuple(max(int(row[0]), 0) for row in days)


def channels(db: Connection) -> tuple[str, ...]:
    """Where units were sold, the newest sale first."""
    sold = f"SELECT channel FROM units WHERE channel <> '' AND {_UNITS} GROUP BY channel"
    rows = db.execute(f"{sold} ORDER BY max(sold_on) DESC LIMIT 20")
    return tuple(visible(row[0]) for row in rows)


def unfinished_visits(db: Connection) -> tuple[Visit, ...]:
    """Visits that were started and not ended, newest first."""
    return read_shown(db, Visit, f"finished_at = '' AND {counting('visits')} ORDER BY seq DESC")


def treatments_of(db: Connection, unit_id: str) -> tuple[Treatment, ...]:
    """Oldest first, by the log where the clock was set back since."""
    found = read_shown(db, Treatment, f"unit_id = ? AND {counting('treatments')} ORDER BY at, seq", (unit_id,))
    return tuple(sorted(in_order(db, found), key=lambda treatment: treatment.order))


def history(db: Connection, unit: Unit, rule: RestRule) -> UnitHistory:
    """Everything about the unit, oldest first."""
    found = visits(db, unit.id)
    order = {v.id: v.number for v in found}
    results = in_order(db, read_results(db, f"{_OF_ITS_VISITS} AND {_RESULTS} ORDER BY seq", (unit.id,)))
    treatments = treatments_of(db, unit.id)
    return UnitHistory(
        unit,
        next(iter(read_shown(db, Lot, "id = ?", (unit.lot_id,))), None) if unit.lot_id else None,
        found,
        tuple(sorted(results, key=lambda r: order[r.visit_id])),
        treatments,
        read_shown(db, Note, f"unit_id = ? AND {counting('notes')} ORDER BY at, seq", (unit.id,)),
        _extra(db, unit, treatments, rule),
        tuple(_withdrawn(db, unit.id)),
        read_issued(db, f"unit_id = ? AND {counting('certificates')} ORDER BY at, id", (unit.id,)),
        read_shown(db, Comeback, f"unit_id = ? AND {counting('comebacks')} ORDER BY at, seq", (unit.id,)),
        currency(db),
    )


_OF_ITS_VISITS = "visit_id IN (SELECT id FROM visits WHERE unit_id = ?)"


def withdrawals(db: Connection, what: str, row_ids: str, args: Sequence[str]) -> tuple[Withdrawal, ...]:
    """Those in force of the rows that the query `row_ids` names, oldest first; of one row the first."""
    asked = f"what = ? AND row_id IN ({row_ids}) AND {in_force()} ORDER BY at, id"
    found = read_shown(db, Withdrawal, asked, (what, *args))
    return found if what == "values" else tuple({w.row_id: w for w in reversed(found)}.values())[::-1]


def _withdrawn(db: Connection, unit_id: str) -> Iterator[Withdrawn]:
    """What was withdrawn of a unit, by the time of the withdrawal."""
    of_unit = (unit_id,)
    found = [
        *(Withdrawn(w) for what in ("unit", "values") for w in withdrawals(db, what, "?", of_unit)),
        *_entries(db, "result", f"SELECT id FROM results WHERE {_OF_ITS_VISITS}", of_unit),
        *_entries(db, "treatment", "SELECT id FROM treatments WHERE unit_id = ?", of_unit),
        *_entries(db, "note", "SELECT id FROM notes WHERE unit_id = ?", of_unit),
        *_entries(db, "comeback", "SELECT id FROM comebacks WHERE unit_id = ?", of_unit),
        *_entries(db, "certificate", "SELECT id FROM certificates WHERE unit_id = ?", of_unit),
    ]
    yield from sorted(found, key=lambda w: (w.by.at, w.by.id))


def _entries(db: Connection, what: str, row_ids: str, args: Sequence[str]) -> Iterator[Withdrawn]:
    by = {w.row_id: w for w in withdrawals(db, what, row_ids, args)}
    for chunk in (list(by)[i : i + 500] for i in range(0, len(by), 500)):
        named = f"id IN ({', '.join('?' * len(chunk))}) ORDER BY seq"
        rows: Sequence[Result | Treatment | Note | Issued | Comeback]
        if what == "result":
            rows = read_results(db, named, chunk)
        elif what == "treatment":
            rows = read_shown(db, Treatment, named, chunk)
        elif what == "comeback":
            rows = read_shown(db, Comeback, named, chunk)
        elif what == "certificate":
            rows = read_issued(db, named, chunk)
        else:
            rows = read_shown(db, Note, named, chunk)
        yield from (Withdrawn(by[row.id], row) for row in rows)


def override(db: Connection, unit_id: str) -> str:
    """Why the rest was cut short or the unit called ready early; empty: nothing was, or that no longer holds."""
    asked = f"SELECT reason FROM overrides WHERE unit_id = ? AND {counting('overrides')} ORDER BY seq DESC LIMIT 1"
    row = db.execute(asked, (unit_id,)).fetchone()
    return visible(str(row[0])) if row else ""


def rest_cut_short(db: Connection, unit: Unit, treatments: Sequence[Treatment], rule: RestRule) -> str:
    """The rest date that its treatments ask for, where the unit's own was put before that; else empty."""
    asked = rest_asked(db, treatments, rule)
    return asked if unit.rest_until < asked else ""


def _extra(db: Connection, unit: Unit, treatments: tuple[Treatment, ...], rule: RestRule) -> dict[str, str]:
    """`override`: why it was called ready early or the rest cut short; `rest_asked`: the date that it was cut short of.
    `tag:<id>`: tags of donors."""
    extra: dict[str, str] = {}
    if unit.becomes in ("ready", "sold") and (reason := override(db, unit.id)):
        extra["override"] = reason.rstrip(".")
        if asked := rest_cut_short(db, unit, treatments, rule):
            extra["rest_asked"] = asked
    for donor in {t.donor_unit_id for t in treatments if t.donor_unit_id}:
        for (tag,) in db.execute("SELECT tag FROM units WHERE id = ?", (donor,)):
            extra[f"tag:{donor}"] = visible(tag)
    return extra


def treated(db: Connection, model: str, limit: int, rule: RestRule) -> tuple[UnitHistory, ...]:
    """Histories of the last `limit` treated units of a model ("": of any): what the diagnosis learns from."""
    done = f"SELECT unit_id FROM treatments WHERE {counting('treatments')}"
    where = f"id IN ({done}) AND {_UNITS} AND (? = '' OR model = ?) ORDER BY seq DESC LIMIT ?"
    return tuple(history(db, unit, rule) for unit in read_shown(db, Unit, where, (model, model, limit)))


def due(db: Connection, today: str, rule: RestRule) -> list[tuple[Unit, str, bool]]:
    """Units at rest that have not had their second test: (unit, when the rest began, whether the date has come).

    By date, so those that are ready come first.
    """
    resting = f"rest_until <> '' AND becomes = 'open' AND {_UNITS}"
    last = f"SELECT max(at) FROM treatments t WHERE t.unit_id = units.id AND {counting('treatments', 't')}"
    rows = db.execute(
        f"SELECT {columns_of(Unit, 'units.')}, ({last}) FROM units WHERE {resting} ORDER BY rest_until, seq"
    ).fetchall()
    made: dict[str, list[Visit]] = defaultdict(list)
    every = read_shown(db, Visit, f"unit_id IN (SELECT id FROM units WHERE {resting}) ORDER BY number, seq")
    for visit in in_order(db, every):
        made[visit.unit_id].append(visit)
    units = [(shown(Unit(*row[:-1])), row[-1]) for row in rows]
    waiting = [(u, since) for u, since in units if rule.second_test(u, made[u.id], tries_in(db)) is None]
    return [(unit, since or unit.created_at, rule.rest_over(unit, today)) for unit, since in waiting]


def shelf(db: Connection) -> tuple[ShelfPart, ...]:
    """All parts with how many are left, those that ran out last."""
    rows = db.execute(
        "SELECT p.id, p.name, p.model, coalesce(sum(m.delta), 0) AS left_over, p.source_unit_id, p.cost_minor, "
        f"p.currency, p.note FROM shelf_parts p LEFT JOIN shelf_moves m ON m.part_id = p.id "
        f"AND {counting('shelf_moves', 'm')} WHERE {counting('shelf_parts', 'p')} "
        "GROUP BY p.id ORDER BY left_over = 0, p.model, p.name, p.seq"
    )
    return tuple(shown(ShelfPart(*row)) for row in rows)


def setting(db: Connection, key: str, default: str) -> str:
    row = db.execute("SELECT value FROM settings WHERE key = ?", (key,)).fetchone()
    return str(row[0]) if row else default


def loose_with_money(db: Connection) -> int:
    """How many units that belong to no lot have an amount, which is of the shop's currency."""
    back = f"SELECT unit_id FROM comebacks WHERE {counting('comebacks')}"
    found = db.execute(
        f"SELECT count(*) FROM units WHERE lot_id IS NULL AND {_UNITS} "
        f"AND ((cost_minor | sold_minor | fees_minor | shipping_minor) <> 0 OR id IN ({back}))"
    )
    return int(found.fetchone()[0])


def currency(db: Connection) -> str:
    """The shop's, in which units are reckoned that belong to no lot."""
    return str(db.execute(f"SELECT {OF_SHOP}").fetchone()[0])
