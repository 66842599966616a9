"""What is written, one function for each thing that can be recorded. Each runs inside the caller's transaction."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from sqlite3 import Connection
from typing import Any

from station.capture.text import visible
from station.errors import InputError
from station.records import chain, queries
from station.records.chain import Logged
from station.records.clock import day_of
from station.records.counted import counting
from station.records.entered import MOST_KIND, MOST_NUMBER, NAMES_IN_SETTINGS, check_texts, is_day, is_kind
from station.records.money import CURRENCY
from station.records.rows import (
    as_kept,
    cleaned,
    digest,
    insert,
    plain,
    read_plain,
    result_rows,
    row_of,
    shown,
    update,
)
from station.records.rules import ALONE_KEY, RestRule, check_rest_setting, rest_days
from station.records.search import search_text
from station.records.types import (
    BECOMES,
    BOXES,
    CLAIM_STATES,
    GONE,
    VISIT_KINDS,
    Lot,
    Note,
    Result,
    ShelfPart,
    Treatment,
    Unit,
    Visit,
)
from station.words import grammar
from station.words import records as words


@dataclass(frozen=True, slots=True)
class Entry:
    """A transaction being filled: the connection, the time of it, the bench, an id, and the rule of rest in force."""

    db: Connection
    at: str
    bench_id: str
    new_id: str
    """an id for the one row that this transaction adds"""
    rule: RestRule

    def log(self, what: Logged, row_id: str, **content: Any) -> None:
        """Add a row to the bench's log."""
        chain.append(self.db, self.bench_id, self.at, {"what": what, "id": row_id, **content})


def _differing(value: Lot | Unit, before: Lot | Unit) -> dict[str, Any]:
    """The fields that were changed: what was there already is taken as it is."""
    old = row_of(before)
    return {name: now for name, now in row_of(value).items() if now != old[name]}


def one_of(value: str, allowed: tuple[str, ...], refusal: str) -> None:
    """InputError unless it is one of these; so below of what is no day and no amount."""
    if value not in allowed:
        raise InputError(refusal.format(value=value, allowed=grammar.COMMA.join(allowed)))


def check_day(text: str, refusal: str, *, may_be_empty: bool = False) -> None:
    if not text and may_be_empty:
        return
    try:
        if not is_day(text):
            raise ValueError(text)
        day_of(text)
    except ValueError as fault:
        raise InputError(refusal.format(value=visible(text[:40]))) from fault


def not_negative(number: int, refusal: str) -> None:
    if not isinstance(number, int) or not 0 <= number <= MOST_NUMBER:
        raise InputError(refusal.format(value=number, most=MOST_NUMBER))


def get_unit(db: Connection, unit_id: str) -> Unit:
    """The unit of that id; InputError if there is none."""
    found = read_plain(db, Unit, "id = ?", (unit_id,))
    if not found:
        raise InputError(words.NO_SUCH_UNIT)
    return found[0]


# --- lots and units ---------------------------------------------------------------------------------


def add_lot(entry: Entry, lot: Lot) -> Lot:
    lot = cleaned(replace(lot, id=lot.id or entry.new_id))
    check_lot(lot)
    check_texts(**row_of(lot))
    row = row_of(lot)
    insert(entry.db, "lots", {**row, "changed_at": entry.at})
    entry.log(Logged.LOT_ADDED, lot.id, now=row)
    return lot


def change_lot(entry: Entry, lot: Lot) -> Lot:
    before = read_plain(entry.db, Lot, "id = ?", (lot.id,))
    lot = cleaned(lot)
    check_lot(lot)
    if before:
        check_texts(**_differing(lot, shown(before[0])))
        lot = as_kept(lot, before[0])
    row = row_of(lot)
    if not update(entry.db, "lots", lot.id, {**row, "changed_at": entry.at}):
        raise InputError(words.NO_SUCH_LOT)
    entry.log(Logged.LOT_CHANGED, lot.id, now=row)
    return lot


def check_lot(lot: Lot) -> None:
    """InputError for a lot that cannot be; the same below, for whatever a row is made of."""
    if not lot.name.strip():
        raise InputError(words.NO_LOT_NAME)
    check_day(lot.bought_on, words.NO_PURCHASE_DATE)
    not_negative(lot.cost_minor, words.LOT_COST_BELOW_NOUGHT)
    not_negative(lot.postage_minor, words.LOT_POSTAGE_BELOW_NOUGHT)
    not_negative(lot.expected, words.LOT_EXPECTED_BELOW_NOUGHT)


def add_unit(entry: Entry, unit: Unit) -> Unit:
    unit = cleaned(replace(unit, id=unit.id or entry.new_id, created_at=unit.created_at or entry.at))
    check_unit(unit)
    check_texts(**row_of(unit))
    tag_is_free(entry.db, unit)
    row = row_of(unit)
    insert(entry.db, "units", {**row, "changed_at": entry.at, "search_text": search_text(unit)})
    entry.log(Logged.UNIT_ADDED, unit.id, now=row)
    return unit


def change_unit(entry: Entry, unit: Unit, reason: str) -> Unit:
    """Replace what is recorded of the unit. Without a reason its rest date only moves on (an older copy of the unit
    may be what is handed in), and it becomes ready only after its second test; with one it does, and that is kept."""
    before = get_unit(entry.db, unit.id)
    reason = plain(reason)
    until = unit.rest_until if reason else max(unit.rest_until, before.rest_until)
    sold_on = unit.sold_on or (entry.at[:10] if unit.becomes == "sold" != before.becomes else "")
    unit = cleaned(replace(unit, created_at=before.created_at, rest_until=until, sold_on=sold_on))
    check_unit(unit)
    check_texts(reason=reason, **_differing(unit, shown(before)))
    unit = as_kept(unit, before)
    tag_is_free(entry.db, unit)
    row = row_of(unit)
    update(entry.db, "units", unit.id, {**row, "changed_at": entry.at, "search_text": search_text(unit)})
    entry.log(Logged.UNIT_CHANGED, unit.id, now=row, **({"reason": reason} if reason else {}))
    becomes_ready = unit.becomes == "ready" and before.becomes != "ready"
    why_not = why_not_ready(entry, unit) if becomes_ready else ""
    if why_not and not reason:
        raise InputError(why_not)
    if why_not or until < before.rest_until:
        _override(entry, unit, reason)
    elif before.becomes == "ready" and unit.becomes not in ("ready", "sold"):
        _opened_again(entry, unit)
    return unit


def why_not_ready(entry: Entry, unit: Unit) -> str:
    """Why the unit may not be called ready, one sentence; empty when it may."""
    history = queries.history(entry.db, unit, entry.rule)
    why_not = entry.rule.why_not_ready(history, entry.at[:10])
    if why_not or queries.setting(entry.db, ALONE_KEY, "off") != "on":
        return why_not
    return entry.rule.why_not_alone(history)


def _opened_again(entry: Entry, unit: Unit) -> None:
    """It is not called ready any more: why it was called so early no longer holds, and an empty reason says that. Why
    its rest was cut short stays true."""
    treatments = queries.treatments_of(entry.db, unit.id)
    if queries.override(entry.db, unit.id) and not queries.rest_cut_short(entry.db, unit, treatments, entry.rule):
        _override(entry, unit, "")


def _override(entry: Entry, unit: Unit, reason: str) -> None:
    """Keep why the rest was cut short or the unit called ready early; the certificate prints it while it holds."""
    row = {"id": entry.new_id, "unit_id": unit.id, "at": entry.at, "reason": reason}
    insert(entry.db, "overrides", row)
    entry.log(Logged.OVERRIDE_ADDED, entry.new_id, digest=digest({"overrides": row}))


def check_unit(unit: Unit) -> None:
    if not unit.tag.strip():
        raise InputError(words.NO_TAG)
    one_of(unit.claim_state, CLAIM_STATES, words.NO_CLAIM_STATE)
    one_of(unit.becomes, BECOMES, words.NO_BECOMES)
    check_day(unit.rest_until, words.NO_REST_DATE, may_be_empty=True)
    not_negative(unit.sold_minor, words.UNIT_PRICE_BELOW_NOUGHT)
    not_negative(unit.cost_minor, words.UNIT_COST_BELOW_NOUGHT)
    one_of(unit.box, BOXES, words.NO_BOX)
    check_day(unit.sold_on, words.NO_SALE_DATE, may_be_empty=True)
    not_negative(unit.fees_minor, words.FEES_BELOW_NOUGHT)
    not_negative(unit.shipping_minor, words.SHIPPING_BELOW_NOUGHT)


def tag_is_free(db: Connection, unit: Unit) -> None:
    """InputError when the tag is on another unit that is still here."""
    if unit.becomes in GONE:
        return
    marks = ", ".join("?" * len(GONE))
    taken = db.execute(
        f"SELECT model FROM units WHERE tag = ? COLLATE NOCASE AND id <> ? AND becomes NOT IN ({marks}) "
        f"AND {counting('units')}",
        (unit.tag, unit.id, *GONE),
    ).fetchone()
    if taken:
        raise InputError(words.TAG_TAKEN.format(tag=unit.tag, model=taken[0]))


# --- visits and results -----------------------------------------------------------------------------


def check_visit_kind(kind: str) -> None:
    one_of(kind, VISIT_KINDS, words.NO_VISIT_KIND)


def start_visit(
    entry: Entry, unit_id: str, kind: str, person: str, bench: str, treatment_id: str | None = None
) -> Visit:
    check_visit_kind(kind)
    get_unit(entry.db, unit_id)
    number = entry.db.execute("SELECT coalesce(max(number), 0) + 1 FROM visits WHERE unit_id = ?", (unit_id,))
    visit = Visit(
        entry.new_id, unit_id, kind, number.fetchone()[0], entry.at, "", plain(person), plain(bench), treatment_id
    )
    row = row_of(visit)
    insert(entry.db, "visits", row)
    entry.log(Logged.VISIT_STARTED, visit.id, now=row)
    return visit


def finish_visit(entry: Entry, visit_id: str) -> Visit:
    """Set the end of the visit; one that has ended stays as it is."""
    found = read_plain(entry.db, Visit, "id = ?", (visit_id,))
    if not found:
        raise InputError(words.NO_SUCH_VISIT)
    if found[0].finished_at:
        return found[0]
    visit = replace(found[0], finished_at=entry.at)
    update(entry.db, "visits", visit_id, {"finished_at": entry.at})
    entry.log(Logged.VISIT_FINISHED, visit_id, now=row_of(visit))
    return visit


def add_result(entry: Entry, result: Result) -> Result:
    """Add a try at a check. `id`, `at` and an `attempt` of 0 are filled in."""
    attempt = result.attempt
    if attempt <= 0:
        attempt = entry.db.execute(
            "SELECT coalesce(max(attempt), 0) + 1 FROM results WHERE visit_id = ? AND check_name = ? AND control = ?",
            (result.visit_id, result.check, result.control),
        ).fetchone()[0]
    result = replace(result, id=result.id or entry.new_id, at=result.at or entry.at, attempt=attempt)
    head, readings, findings = result_rows(result)
    insert(entry.db, "results", head)
    for row in readings:
        insert(entry.db, "readings", row)
    for row in findings:
        insert(entry.db, "findings", row)
    content = {"results": head, "readings": readings, "findings": findings}
    entry.log(Logged.RESULT_ADDED, result.id, digest=digest(content))
    return result


# --- treatments, notes, shelf, settings -------------------------------------------------------------


def check_treatment(treatment: Treatment) -> None:
    if not is_kind(treatment.kind):
        raise InputError(words.NO_TREATMENT_KIND.format(value=visible(treatment.kind[:40]), most=MOST_KIND))
    not_negative(treatment.minutes, words.MINUTES_BELOW_NOUGHT)
    not_negative(treatment.cost_minor, words.TREATMENT_COST_BELOW_NOUGHT)
    check_day(treatment.at, words.NO_TREATMENT_TIME)


def add_treatment(entry: Entry, treatment: Treatment) -> Treatment:
    """Add a treatment, move the unit's rest date by the days its kind asks for, and open again what was ready."""
    unit = get_unit(entry.db, treatment.unit_id)
    treatment = cleaned(replace(treatment, id=treatment.id or entry.new_id, at=treatment.at or entry.at))
    check_treatment(treatment)
    check_texts(**row_of(treatment))
    row = row_of(treatment)
    insert(entry.db, "treatments", row)
    entry.log(Logged.TREATMENT_ADDED, treatment.id, digest=digest({"treatments": row}))
    bear_on_unit(entry, unit, treatment)
    return treatment


def bear_on_unit(entry: Entry, unit: Unit, treatment: Treatment) -> None:
    """Move the unit's rest date by the days that the treatment asks for, and open again what was ready."""
    until = entry.rule.rest_until(unit, treatment, rest_days(entry.db, treatment.kind, entry.rule))
    treated = replace(unit, rest_until=until, becomes=entry.rule.becomes_after_treatment(unit))
    if treated != unit:
        now = {"rest_until": treated.rest_until, "becomes": treated.becomes}
        update(entry.db, "units", unit.id, {**now, "changed_at": entry.at})
        entry.log(Logged.UNIT_CHANGED, unit.id, now=row_of(treated))
    if treated.becomes != unit.becomes:
        _opened_again(entry, treated)


def add_note(entry: Entry, note: Note) -> Note:
    note = cleaned(replace(note, id=note.id or entry.new_id, at=note.at or entry.at))
    check_texts(**row_of(note))
    row = row_of(note)
    insert(entry.db, "notes", row)
    entry.log(Logged.NOTE_ADDED, note.id, digest=digest({"notes": row}))
    return note


def check_part(part: ShelfPart) -> None:
    not_negative(part.count, words.PARTS_BELOW_NOUGHT)
    if not part.name.strip():
        raise InputError(words.NO_PART_NAME)


def add_shelf_part(entry: Entry, part: ShelfPart) -> ShelfPart:
    """Put good parts on the shelf; the count is kept as moves, so that the shelves of two benches can be joined."""
    check_part(part)
    check_texts(name=plain(part.name), model=plain(part.model), note=part.note)
    part = replace(part, id=part.id or entry.new_id)
    row: Mapping[str, Any] = {
        "id": part.id, "name": plain(part.name), "model": plain(part.model), "source_unit_id": part.source_unit_id,
        "cost_minor": part.cost_minor, "currency": part.currency, "note": plain(part.note),
    }  # fmt: skip
    insert(entry.db, "shelf_parts", dict(row))
    entry.log(Logged.PART_ADDED, part.id, now=row)
    move_part(entry, part.id, part.count, None)
    return part


def move_part(entry: Entry, part_id: str, delta: int, unit_id: str | None) -> None:
    """Add (or with a negative `delta` take) pieces of a part; InputError when there are not enough."""
    have = entry.db.execute(
        "SELECT p.name, coalesce((SELECT sum(delta) FROM shelf_moves WHERE part_id = p.id "
        f"AND {counting('shelf_moves')}), 0) FROM shelf_parts p WHERE p.id = ? AND {counting('shelf_parts', 'p')}",
        (part_id,),
    ).fetchone()
    if have is None:
        raise InputError(words.NO_SUCH_PART)
    if have[1] + delta < 0:
        raise InputError(words.NO_PART_LEFT.format(part=have[0]))
    row = {"id": entry.new_id, "part_id": part_id, "at": entry.at, "delta": delta, "unit_id": unit_id}
    insert(entry.db, "shelf_moves", row)
    entry.log(Logged.PART_MOVED, entry.new_id, digest=digest({"shelf_moves": row}))


def set_setting(entry: Entry, key: str, value: str) -> None:
    check_rest_setting(key, value)
    if key in NAMES_IN_SETTINGS:
        check_texts(**{key: value})
    row = {"key": key, "value": value, "changed_at": entry.at}
    entry.db.execute(
        "INSERT INTO settings (key, value, changed_at) VALUES (:key, :value, :changed_at) "
        "ON CONFLICT (key) DO UPDATE SET value = excluded.value, changed_at = excluded.changed_at",
        row,
    )
    if key == CURRENCY:  # what units of no lot come to is reckoned anew in it
        entry.db.execute("INSERT OR IGNORE INTO kept_stale SELECT 'money', id FROM units WHERE lot_id IS NULL")
    entry.log(Logged.SETTING_CHANGED, key, now=row)
