"""Mistakes taken back. Nothing is deleted: a withdrawal is a row of its own that names another, with who, when and why;
what it names counts no more (`station.records.counted`). Each function runs inside the caller's transaction.

A unit keeps what stands in it now, not how that came about. So where its values are taken back (a sale, a wrong tag)
the unit is changed, and the withdrawal says what stood there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, replace
from json import loads
from sqlite3 import Connection
from typing import Any

from station.errors import InputError
from station.records import entries, queries
from station.records.canonical import canonical_json
from station.records.chain import Logged
from station.records.counted import counting, in_force
from station.records.entered import check_texts
from station.records.entries import Entry, get_unit
from station.records.rows import digest, insert, plain, read_plain, row_of, update
from station.records.rules import RestRule, rest_asked
from station.records.search import search_text
from station.records.types import WITHDRAWABLE, Treatment, Unit, Withdrawal
from station.words import records as words

NewId = Callable[[], str]
CORRECTED = ("tag", "model", "sheet", "lot_id", "vendor_id", "product_id", "serial")
"""columns of a unit that say what it is: changed as a correction, with a reason"""
SALE = ("becomes", "sold_minor", "sold_on", "channel", "fees_minor", "shipping_minor")
_TABLES = {
    "result": "results",
    "treatment": "treatments",
    "note": "notes",
    "override": "overrides",
    "part": "shelf_parts",
    "move": "shelf_moves",
    "unit": "units",
    "lot": "lots",
    "comeback": "comebacks",
    "certificate": "certificates",
    "withdrawal": "withdrawals",
}
_WITH_IT = {"treatment": ("override", "move")}
"""what the commit of a row of the first kind may have added under the same id"""

# --- rows ---------------------------------------------------------------------------------------------


def withdraw(entry: Entry, new_id: NewId, what: str, row_id: str, reason: str, person: str) -> Withdrawal:
    """Take back a row that was recorded, with what was recorded along with it. InputError without a reason, for what is
    not there or was withdrawn already, and where something else builds on it."""
    reason = reason_given(reason)
    table = _TABLES.get(what)
    if table is None or what == "withdrawal" or not _is_there(entry.db, table, row_id):
        raise InputError(words.NOTHING_TO_WITHDRAW)
    unit = _unit_of(entry.db, what, row_id)
    if what == "unit":
        _nothing_builds_on(entry.db, row_id)
    elif what == "lot":
        _is_empty(entry.db, row_id)
    elif what == "part":
        _no_piece_was_taken(entry.db, row_id)
    before = queries.treatments_of(entry.db, unit.id) if unit is not None and what == "treatment" else ()
    done = add(entry, new_id, what, row_id, reason, person)
    for other in _WITH_IT.get(what, ()):
        if _is_there(entry.db, _TABLES[other], row_id):
            add(entry, new_id, other, row_id, reason, person)
    if unit is None or what not in ("treatment", "result"):
        return done
    if what == "treatment":
        unit = put(entry, unit, _untreated(entry, unit, row_id, before))
    _keep_ready_only_if_it_may(entry, unit)
    return done


def take_back(entry: Entry, new_id: NewId, withdrawal_id: str, reason: str, person: str) -> Withdrawal:
    """Take back a withdrawal: what it named counts again. InputError as above, and where that cannot be any more: the
    tag is on another unit, the piece was taken."""
    reason = reason_given(reason)
    found = read_plain(entry.db, Withdrawal, f"id = ? AND what <> 'withdrawal' AND {in_force()}", (withdrawal_id,))
    if not found:
        raise InputError(words.NOTHING_TO_WITHDRAW)
    first = found[0]
    if first.what == "values":
        unit = get_unit(entry.db, first.row_id)
        check_values(first.was)
        done = add(entry, new_id, "withdrawal", first.id, reason, person)
        put(entry, unit, first.values)
        return done
    done = first
    same = read_plain(entry.db, Withdrawal, f"row_id = ? AND what <> 'values' AND {in_force()}", (first.row_id,))
    for one in same:
        added = add(entry, new_id, "withdrawal", one.id, reason, person)
        done = added if one.id == first.id else done
    _counts_again(entry, first)
    return done


def in_force_of(db: Connection, withdrawal_id: str) -> Withdrawal | None:
    """The withdrawal of that id, if it was not taken back."""
    found = read_plain(db, Withdrawal, f"id = ? AND {in_force()}", (withdrawal_id,))
    return found[0] if found else None


def _counts_again(entry: Entry, withdrawal: Withdrawal) -> None:
    unit = _unit_of(entry.db, withdrawal.what, withdrawal.row_id)
    if withdrawal.what == "unit" and unit is not None:
        entries.tag_is_free(entry.db, unit)
    elif withdrawal.what == "treatment" and unit is not None:
        (treatment,) = read_plain(entry.db, Treatment, "id = ?", (withdrawal.row_id,))
        entries.bear_on_unit(entry, unit, treatment)
    for part_id, name, left in entry.db.execute(
        "SELECT p.id, p.name, coalesce(sum(m.delta), 0) FROM shelf_parts p JOIN shelf_moves m ON m.part_id = p.id AND "
        f"{counting('shelf_moves', 'm')} WHERE p.id IN (SELECT part_id FROM shelf_moves WHERE id = ?) GROUP BY p.id",
        (withdrawal.row_id,),
    ):
        if left < 0:
            raise InputError(words.NO_PART_LEFT.format(part=name or part_id))


def add(
    entry: Entry, new_id: NewId, what: str, row_id: str, reason: str, person: str, was: Mapping[str, Any] | None = None
) -> Withdrawal:
    """Add a withdrawal, whatever it is of: who calls it has seen that it may be. InputError without a reason."""
    row = Withdrawal(new_id(), what, row_id, entry.at, reason_given(reason), plain(person), _text(was))
    check_texts(reason=row.reason, person=row.person)
    insert(entry.db, "withdrawals", row_of(row))
    entry.log(Logged.WITHDRAWN, row.id, digest=digest({"withdrawals": row_of(row)}))
    return row


def _text(was: Mapping[str, Any] | None) -> str:
    return canonical_json(was) if was else ""


def reason_given(reason: str) -> str:
    if not (said := plain(reason)):
        raise InputError(words.NO_REASON_TO_WITHDRAW)
    return said


def _is_there(db: Connection, table: str, row_id: str) -> bool:
    """Whether there is such a row, and it was not withdrawn."""
    where = counting(table) if table != "withdrawals" else in_force()
    return db.execute(f"SELECT 1 FROM {table} WHERE id = ? AND {where}", (row_id,)).fetchone() is not None


_UNIT_OF = {
    "result": "SELECT unit_id FROM visits WHERE id = (SELECT visit_id FROM results WHERE id = ?)",
    "treatment": "SELECT unit_id FROM treatments WHERE id = ?",
    "note": "SELECT unit_id FROM notes WHERE id = ?",
    "comeback": "SELECT unit_id FROM comebacks WHERE id = ?",
    "certificate": "SELECT unit_id FROM certificates WHERE id = ?",
    "unit": "SELECT id FROM units WHERE id = ?",
}


def _unit_of(db: Connection, what: str, row_id: str) -> Unit | None:
    asked = _UNIT_OF.get(what)
    found = db.execute(asked, (row_id,)).fetchone() if asked else None
    return get_unit(db, found[0]) if found else None


def _nothing_builds_on(db: Connection, unit_id: str) -> None:
    """A unit whose parts lie on the shelf or went into another was there."""
    for table, column in (("shelf_parts", "source_unit_id"), ("treatments", "donor_unit_id")):
        asked = f"SELECT 1 FROM {table} WHERE {column} = ? AND {counting(table)} LIMIT 1"
        if db.execute(asked, (unit_id,)).fetchone():
            raise InputError(words.UNIT_GAVE_PARTS)


def _is_empty(db: Connection, lot_id: str) -> None:
    if db.execute(f"SELECT 1 FROM units WHERE lot_id = ? AND {counting('units')} LIMIT 1", (lot_id,)).fetchone():
        raise InputError(words.LOT_HAS_UNITS)


def _no_piece_was_taken(db: Connection, part_id: str) -> None:
    asked = f"SELECT 1 FROM shelf_moves WHERE part_id = ? AND delta < 0 AND {counting('shelf_moves')} LIMIT 1"
    if db.execute(asked, (part_id,)).fetchone():
        raise InputError(words.PIECES_WERE_TAKEN)


# --- what it does to the unit ---------------------------------------------------------------------------


def _untreated(entry: Entry, unit: Unit, treatment_id: str, before: Sequence[Treatment]) -> dict[str, Any]:
    """The unit's rest date without the treatment; and ready, if it was that until then and nothing was done since."""
    left = queries.treatments_of(entry.db, unit.id)
    at = next((t.at for t in before if t.id == treatment_id), "")
    rest = rest_without(entry.db, unit, before, left, entry.rule)
    was_ready = not any(t.at >= at for t in left) and _opened_by(entry.db, unit.id, treatment_id)
    return {"rest_until": rest, "becomes": "ready"} if was_ready else {"rest_until": rest}


def rest_without(
    db: Connection, unit: Unit, before: Sequence[Treatment], left: Sequence[Treatment], rule: RestRule
) -> str:
    """The rest date once only the treatments `left` count. One that was cut short stays at most what it is, one that
    somebody set further stays."""
    asked, now = rest_asked(db, before, rule), rest_asked(db, left, rule)
    if unit.rest_until > asked:
        return unit.rest_until
    return now if unit.rest_until == asked else min(unit.rest_until, now)


def _opened_by(db: Connection, unit_id: str, treatment_id: str) -> bool:
    """Whether the unit was ready until this treatment, and nothing was said since of what it becomes."""
    asked = "SELECT at, event FROM log WHERE instr(event, ?) OR instr(event, ?) ORDER BY at, entry"
    told = [(at, loads(event)) for at, event in db.execute(asked, (unit_id, treatment_id))]
    treated = [at for at, e in told if (e["what"], e["id"]) == (Logged.TREATMENT_ADDED, treatment_id)]
    became = [(at, e["now"].get("becomes")) for at, e in told if e["id"] == unit_id and isinstance(e.get("now"), dict)]
    if not treated:
        return False
    before = [becomes for at, becomes in became if at < treated[0]]
    since = [becomes for at, becomes in became if at >= treated[0]]
    return before[-1:] == ["ready"] and all(becomes == "open" for becomes in since)


def _keep_ready_only_if_it_may(entry: Entry, unit: Unit) -> None:
    """A unit that was called ready for what was withdrawn is open again; a reason that was given for it still holds."""
    if unit.becomes == "ready" and not queries.override(entry.db, unit.id) and entries.why_not_ready(entry, unit):
        put(entry, unit, {"becomes": "open"})


def put(entry: Entry, unit: Unit, values: Mapping[str, Any]) -> Unit:
    """Set columns of the unit; the log has the whole row, as after each change."""
    changed = replace(unit, **values)
    if changed == unit:
        return unit
    entries.check_unit(changed)
    check_texts(**{name: value for name, value in values.items() if value != getattr(unit, name)})
    if (changed.tag, changed.becomes) != (unit.tag, unit.becomes):
        entries.tag_is_free(entry.db, changed)
    row = row_of(changed)
    update(entry.db, "units", unit.id, {**row, "changed_at": entry.at, "search_text": search_text(changed)})
    entry.log(Logged.UNIT_CHANGED, unit.id, now=row)
    return changed


# --- values of a unit -------------------------------------------------------------------------------------


def correct_unit(entry: Entry, new_id: NewId, unit: Unit, reason: str, person: str) -> tuple[Unit, Withdrawal | None]:
    """Put right what a unit is (CORRECTED): what stood there is withdrawn, with the reason. None: nothing differs.
    InputError when the tag is on another unit, or there is no such lot."""
    before = get_unit(entry.db, unit.id)
    now = {name: _plain(getattr(unit, name)) for name in CORRECTED}
    was = {name: getattr(before, name) for name in CORRECTED if now[name] != getattr(before, name)}
    if not was:
        return before, None
    reason = reason_given(reason)
    if (lot := now["lot_id"]) and not entry.db.execute("SELECT 1 FROM lots WHERE id = ?", (lot,)).fetchone():
        raise InputError(words.NO_SUCH_LOT)
    done = add(entry, new_id, "values", unit.id, reason, person, was)
    return put(entry, before, {name: now[name] for name in was}), done


def withdraw_sale(entry: Entry, new_id: NewId, unit_id: str, reason: str, person: str) -> Withdrawal:
    """The unit was not sold after all: it is again what it was before. InputError when it is not sold."""
    unit = get_unit(entry.db, unit_id)
    reason = reason_given(reason)
    if unit.becomes != "sold":
        raise InputError(words.NOT_SOLD.format(tag=unit.tag))
    done = add(entry, new_id, "values", unit_id, reason, person, _sale_of(unit))
    unsold = {"sold_minor": 0, "sold_on": "", "channel": "", "fees_minor": 0, "shipping_minor": 0}
    put(entry, unit, {"becomes": _before_sale(entry.db, unit_id), **unsold})
    return done


def _sale_of(unit: Unit) -> dict[str, Any]:
    """What stands of the sale; of day, channel and costs those that somebody wrote down."""
    values = {name: getattr(unit, name) for name in SALE}
    return {name: value for name, value in values.items() if value or name == "sold_minor"}


def _before_sale(db: Connection, unit_id: str) -> str:
    """What the unit was before it was sold, by the log; open where it does not say."""
    found = "open"
    for (text,) in db.execute("SELECT event FROM log WHERE instr(event, ?) ORDER BY at, entry", (unit_id,)):
        event = loads(text)
        now = event.get("now")
        if event.get("id") == unit_id and isinstance(now, dict) and now.get("becomes", "sold") != "sold":
            found = now["becomes"]
    return str(found)


def undo_change(entry: Entry, new_id: NewId, before: Unit, after: Unit, reason: str, person: str) -> Withdrawal | None:
    """Take back one change of a unit: what it put there is `before`'s again, where nobody changed it since; with why it
    was called ready early and the parts that went on the shelf, if it was the last change. None: nothing was left."""
    now = get_unit(entry.db, after.id)
    mine = [f.name for f in fields(Unit) if getattr(before, f.name) != getattr(after, f.name)]
    was = {name: getattr(now, name) for name in mine if getattr(now, name) == getattr(after, name)}
    if not was:
        return None
    along = {
        what: [row[0] for row in entry.db.execute(f"{asked} AND {counting(_TABLES[what])}", (after.id,))]
        for what, asked in _ALONG.items()
    }
    done = add(entry, new_id, "values", after.id, reason_given(reason), person, was)
    for what, rows in along.items():
        for row_id in rows:
            withdraw(entry, new_id, what, row_id, reason, person)
    put(entry, now, {name: getattr(before, name) for name in was})
    return done


_LAST_CHANGE = "(SELECT changed_at FROM units WHERE id = ?1)"
_ALONG = {
    "override": f"SELECT id FROM overrides WHERE unit_id = ?1 AND at = {_LAST_CHANGE}",
    "part": "SELECT id FROM shelf_parts WHERE source_unit_id = ?1 AND id IN "
    f"(SELECT part_id FROM shelf_moves WHERE at = {_LAST_CHANGE})",
}
"""what the last change of a unit added besides"""


def _plain(value: Any) -> Any:
    return plain(value) if isinstance(value, str) else value


# --- rows of another bench ----------------------------------------------------------------------------------


def check_withdrawal(row: Withdrawal) -> None:
    """InputError for a withdrawal that cannot be."""
    if row.what not in WITHDRAWABLE:
        raise InputError(words.NOTHING_TO_WITHDRAW)
    reason_given(row.reason)
    if (row.what == "values") != bool(row.was):
        raise InputError(words.NO_VALUES_WITHDRAWN)
    if row.was:
        check_values(row.was)


def check_values(text: str) -> None:
    """InputError unless it holds columns of a unit with values of their kind."""
    try:
        found = loads(text)
        known = {f.name for f in fields(Unit)} - {"id", "created_at"}
        whole = {f.name for f in fields(Unit) if f.type == "int"}
        good = (
            isinstance(found, dict)
            and canonical_json(found) == text
            and found.keys() <= known
            and all(
                type(v) is int if name in whole else isinstance(v, str) or (name == "lot_id" and v is None)
                for name, v in found.items()
            )
        )
    except (ValueError, TypeError, RecursionError):
        good = False
    if not good:
        raise InputError(words.NO_VALUES_WITHDRAWN)
