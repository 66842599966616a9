"""Rows that another bench hands over, looked at one by one before any of them is used.

Each value has its bounds (`_COLUMNS`), and each row has to be what the program itself would have written: it is made
into the value that it stands for and asked by the same functions. A row that these records have already is not looked
at, but must say the same. Time: some 20 µs a row; memory: a few hundred rows at once.
"""

from __future__ import annotations

import math
import re
import sqlite3
import unicodedata
from collections import defaultdict
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import closing, suppress
from datetime import timedelta
from itertools import islice
from json import loads
from typing import Any, TypeVar

from station.capture.text import visible
from station.checks.types import Outcome
from station.errors import InputError
from station.records import entries, issuing, selling, states, withdrawing
from station.records.canonical import canonical_json
from station.records.chain import Logged
from station.records.clock import day_of, parse_time, time_text
from station.records.entered import is_kind
from station.records.rows import Row, kept_names, result_of_rows, result_rows
from station.records.rules import MOST_REST_DAYS
from station.records.types import (
    BECOMES,
    BOXES,
    CLAIM_STATES,
    FOUND,
    VISIT_KINDS,
    WITHDRAWABLE,
    Comeback,
    Lot,
    ShelfPart,
    Treatment,
    Unit,
    Withdrawal,
)
from station.words import records as words

AHEAD = timedelta(hours=1)
"""so far the clock of another bench may be before ours"""
MOST_BYTES = 1_000_000
"""of one value, the events of the log among them"""
MOST_TEXT, MOST_LABEL = 100_000, 1_000
MOST_BELOW = 1_000
"""readings or findings of one result"""
_MOST_MONEY, _MOST_COUNT, _MOST_VALUE = 10**12, 10**6, 1e15
_EXACT = 2**53
_AT_ONCE = 500

_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_SHA256 = re.compile(r"[0-9a-f]{64}")
_PLACE = re.compile(r"[0-9a-f]{32}")
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_CURRENCY = re.compile(r"[A-Z]{3}")
_Value = TypeVar("_Value", Lot, Unit, Treatment, Comeback, Withdrawal)


class _RefusedError(Exception):
    """What is wrong with a value, in a few words."""


Check = Callable[[Any, str], None]
"""Looks at a value; the second argument is the latest time that is believed"""

# --- one value ------------------------------------------------------------------------------------------


def _text(value: Any, latest: str, *, most: int = MOST_TEXT) -> None:
    if not isinstance(value, str):
        raise _RefusedError(words.NO_TEXT)
    if len(value) > most:
        raise _RefusedError(words.VALUE_TOO_LONG.format(most=most))
    if value != value.strip() or any(c not in "\n\t" and unicodedata.category(c) == "Cc" for c in value):
        raise _RefusedError(words.HIDDEN_CHARACTERS)


def _label(value: Any, latest: str) -> None:
    """What people tell things apart by: nothing in it that is not seen."""
    _text(value, latest, most=MOST_LABEL)
    if any(unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp") for c in value):
        raise _RefusedError(words.HIDDEN_CHARACTERS)


def _like(pattern: re.Pattern[str], *, empty: bool = False, none: bool = False) -> Check:
    def check(value: Any, latest: str) -> None:
        if (none and value is None) or (empty and value == ""):
            return
        if not isinstance(value, str) or not pattern.fullmatch(value):
            raise _RefusedError(words.NOT_IN_FORM)

    return check


def _kind(value: Any, latest: str) -> None:
    """Of a treatment: one that ships, or the other shop's own."""
    if not isinstance(value, str) or not is_kind(value):
        raise _RefusedError(words.UNKNOWN_WORD)


def _one_of(allowed: Iterable[str], *, none: bool = False) -> Check:
    known = frozenset(allowed)

    def check(value: Any, latest: str) -> None:
        if not (none and value is None) and value not in known:
            raise _RefusedError(words.UNKNOWN_WORD)

    return check


def _whole(least: int, most: int) -> Check:
    def check(value: Any, latest: str) -> None:
        if type(value) is not int or not least <= value <= most:
            raise _RefusedError(words.NO_SUCH_NUMBER)

    return check


def _real(value: Any, latest: str) -> None:
    if value is not None and not (type(value) in (int, float) and math.isfinite(value) and abs(value) <= _MOST_VALUE):
        raise _RefusedError(words.NO_SUCH_NUMBER)


def _needed_real(value: Any, latest: str) -> None:
    _real(math.nan if value is None else value, latest)


def _time(value: Any, latest: str) -> None:
    if not isinstance(value, str) or not _TIME.fullmatch(value):
        raise _RefusedError(words.NO_TIME)
    with suppress(ValueError):
        parse_time(value)
        if value > latest:
            raise _RefusedError(words.IN_THE_FUTURE)
        return
    raise _RefusedError(words.NO_TIME)


def _day(value: Any, latest: str) -> None:
    with suppress(ValueError, TypeError):
        if _DAY.fullmatch(value) and day_of(value):
            return
    raise _RefusedError(words.NO_TIME)


def _day_or_none(value: Any, latest: str) -> None:
    if value != "":
        _day(value, latest)


def _time_or_none(value: Any, latest: str) -> None:
    if value != "":
        _time(value, latest)


def _time_or_day(value: Any, latest: str) -> None:
    """Of treatments: a person may have given the day alone."""
    if isinstance(value, str) and _DAY.fullmatch(value):
        _day(value, latest)
        if value > latest[:10]:
            raise _RefusedError(words.IN_THE_FUTURE)
    else:
        _time(value, latest)


def _rest(value: Any, latest: str) -> None:
    if value == "":
        return
    _day(value, latest)
    if value > (day_of(latest) + timedelta(days=MOST_REST_DAYS + 1)).isoformat():
        raise _RefusedError(words.IN_THE_FUTURE)


def _params(value: Any, latest: str) -> None:
    if value is None:
        return
    _text(value, latest)
    found = parsed(value)
    for given in found.values():
        if isinstance(given, list):
            if not all(isinstance(v, str) for v in given):
                raise _RefusedError(words.NOT_IN_FORM)
        elif not isinstance(given, str):
            _needed_real(given, latest)


def _event(value: Any, latest: str) -> None:
    if not isinstance(value, str) or len(value) > MOST_BYTES:
        raise _RefusedError(words.NOT_IN_FORM)
    found = parsed(value)
    if found.get("what") not in _KNOWN_EVENTS or not isinstance(found.get("id"), str):
        raise _RefusedError(words.UNKNOWN_WORD)


def parsed(text: str) -> dict[str, Any]:
    """The object of a canonical JSON text; refused in a few words if it is none."""
    try:
        found = loads(text)
        if isinstance(found, dict) and canonical_json(found) == text:
            return found
    except (ValueError, TypeError, RecursionError):
        pass
    raise _RefusedError(words.NOT_IN_FORM)


_KNOWN_EVENTS = frozenset(Logged)
_ID_HERE, _ID_OR_NONE, _SHA = _like(_ID), _like(_ID, none=True), _like(_SHA256, empty=True)
_COUNT, _MONEY = _whole(0, _MOST_COUNT), _whole(0, _MOST_MONEY)

_COLUMNS: Mapping[str, Mapping[str, Check]] = {
    "benches": {"id": _ID_HERE, "place": _like(_PLACE), "began_at": _time},
    "lots": {
        "id": _ID_HERE, "name": _label, "bought_on": _day, "seller": _text, "cost_minor": _MONEY,
        "currency": _like(_CURRENCY), "note": _text, "source": _label, "postage_minor": _MONEY, "expected": _COUNT,
        "changed_at": _time,
    },
    "units": {
        "id": _ID_HERE, "tag": _label, "model": _label, "lot_id": _ID_OR_NONE, "serial": _label,
        "vendor_id": _whole(0, 0xFFFF), "product_id": _whole(0, 0xFFFF), "sheet": _label, "claim": _text,
        "claim_state": _one_of(CLAIM_STATES), "condition": _text, "becomes": _one_of(BECOMES), "rest_until": _rest,
        "sold_minor": _MONEY, "accessories": _text, "box": _one_of(BOXES), "cost_minor": _MONEY,
        "sold_on": _day_or_none, "channel": _label, "fees_minor": _MONEY, "shipping_minor": _MONEY,
        "created_at": _time, "changed_at": _time, "search_text": _text,
    },
    "visits": {
        "id": _ID_HERE, "unit_id": _ID_HERE, "kind": _one_of(VISIT_KINDS), "number": _whole(1, _MOST_COUNT),
        "started_at": _time, "finished_at": _time_or_none, "person": _label, "bench": _label,
        "treatment_id": _ID_OR_NONE,
    },
    "results": {
        "id": _ID_HERE, "visit_id": _ID_HERE, "check_name": _label, "control": _label,
        "attempt": _whole(1, _MOST_COUNT), "at": _time, "outcome": _one_of(o.value for o in Outcome), "again": _text,
        "capture_sha256": _SHA, "by_hand": _whole(0, 1), "reason": _text, "replaces": _ID_OR_NONE, "clock": _label,
        "stamp_error_p99_us": _real, "lost": _whole(0, _EXACT),
    },
    "readings": {
        "result_id": _ID_HERE, "position": _COUNT, "name": _label, "value": _real, "unit": _label,
        "uncertainty": _needed_real, "pass_limit": _real, "fail_beyond": _real, "rule": _one_of(("<=", ">=")),
        "n": _whole(0, _EXACT), "reason": _text,
    },
    "findings": {
        "result_id": _ID_HERE, "position": _COUNT, "code": _label, "text": _text,
        "axis": _one_of(("x", "y"), none=True), "direction": _one_of(("up", "right", "down", "left"), none=True),
        "bearing_deg": _real, "params": _params,
    },
    "treatments": {
        "id": _ID_HERE, "unit_id": _ID_HERE, "kind": _kind, "at": _time_or_day, "part": _text,
        "minutes": _COUNT, "materials": _text, "cost_minor": _MONEY, "currency": _like(_CURRENCY), "person": _label,
        "note": _text, "donor_unit_id": _ID_OR_NONE,
    },
    "notes": {"id": _ID_HERE, "unit_id": _ID_HERE, "at": _time, "text": _text, "person": _label, "photo_sha256": _SHA},
    "overrides": {"id": _ID_HERE, "unit_id": _ID_HERE, "at": _time, "reason": _text},
    "shelf_parts": {
        "id": _ID_HERE, "name": _label, "model": _label, "source_unit_id": _ID_OR_NONE, "cost_minor": _MONEY,
        "currency": _like(_CURRENCY), "note": _text,
    },
    "shelf_moves": {
        "id": _ID_HERE, "part_id": _ID_HERE, "at": _time, "delta": _whole(-_MOST_COUNT, _MOST_COUNT),
        "unit_id": _ID_OR_NONE,
    },
    "comebacks": {
        "id": _ID_HERE, "unit_id": _ID_HERE, "at": _time_or_day, "reason": _text, "found": _one_of(FOUND),
        "refund_minor": _MONEY, "cost_minor": _MONEY, "sold_on": _day_or_none, "sold_minor": _MONEY, "channel": _label,
        "fees_minor": _MONEY, "shipping_minor": _MONEY, "treatment_id": _ID_OR_NONE,
        "certificate_id": _ID_OR_NONE, "person": _label,
    },
    "withdrawals": {
        "id": _ID_HERE, "what": _one_of(WITHDRAWABLE), "row_id": _ID_HERE, "at": _time, "reason": _text,
        "person": _label, "was": _text,
    },
    "certificates": {
        "id": _ID_HERE, "unit_id": _ID_HERE, "bench_id": _ID_HERE, "number": _whole(1, _MOST_COUNT), "name": _label,
        "at": _time, "person": _label, "file_sha256": _like(_SHA256), "content_sha256": _like(_SHA256),
        "fingerprint": _label,
    },
    "log": {
        "bench_id": _ID_HERE, "seq": _whole(1, _EXACT), "at": _time, "event": _event,
        "previous": _like(_SHA256), "hash": _like(_SHA256),
    },
}  # fmt: skip
"""what each column may hold; a column of a later version is bounded like any text or number"""


def _anything(value: Any, latest: str) -> None:
    if isinstance(value, str):
        _text(value, latest)
    elif type(value) is int:
        _whole(-_EXACT, _EXACT)(value, latest)
    else:
        _real(value, latest)


# --- one row ---------------------------------------------------------------------------------------------


def refuse_unsound(db: sqlite3.Connection, now: str) -> None:
    """Look at every row of `other` that `main` does not have. InputError names the first that cannot be believed.

    `now`: the time here. Both are attached; `other` is a copy of ours, whose tables are made as ours are.
    """
    latest = time_text(parse_time(now) + AHEAD)
    keep, db.text_factory = db.text_factory, _utf8
    try:
        for table in _COLUMNS:
            _look_at_table(db, table, latest)
        with closing(_new_rows(db, "results", "id", "rowid")) as rows:
            for results in _chunks(rows, _AT_ONCE):
                _look_at_results(db, results)
    finally:
        db.text_factory = keep


def refuse_uncounted(db: sqlite3.Connection) -> None:
    """InputError for a count that nobody counted up to: what follows on it here would be greater than may be."""
    for table, column, of, slack in (
        ("visits", "number", ("unit_id",), 0),
        ("results", "attempt", ("visit_id", "check_name", "control"), _TRIES_UNKEPT),
        ("certificates", "number", ("bench_id",), 0),
    ):
        found = db.execute(
            f"SELECT id FROM (SELECT id, max({column}) AS most, count(*) AS many FROM other.{table} "
            f"GROUP BY {', '.join(of)}) WHERE most > many + {slack} LIMIT 1"
        ).fetchone()
        if found:
            raise _refusal(table, {"id": found[0]}, column, words.NO_SUCH_NUMBER)


_TRIES_UNKEPT = 1_000


def _utf8(data: bytes) -> str:
    return data.decode("utf-8", "strict")


def _look_at_table(db: sqlite3.Connection, table: str, latest: str) -> None:
    checks = _COLUMNS[table]
    try:
        with closing(_new_rows(db, table, "result_id" if "result_id" in checks else "id", "rowid")) as rows:
            for row in rows:
                for column, value in row.items():
                    if column not in _LOCAL or (table, column) == ("log", "seq"):
                        _look_at_value(table, row, checks.get(column, _anything), column, value, latest)
                _look_at_row(table, row)
    except UnicodeDecodeError:
        raise InputError(words.OTHER_NOT_UTF8.format(table=table)) from None


def _look_at_value(table: str, row: Row, check: Check, column: str, value: Any, latest: str) -> None:
    try:
        check(value, latest)
    except _RefusedError as refused:
        raise _refusal(table, row, column, str(refused)) from None


_LOCAL = ("seq", "entry")
"""counters that mean nothing outside their file"""


def _look_at_row(table: str, row: Row) -> None:
    """Ask what is asked of a value before the program writes it."""
    try:
        if table == "lots":
            entries.check_lot(_value(Lot, row))
        elif table == "units":
            entries.check_unit(_value(Unit, row))
        elif table == "visits":
            entries.check_visit_kind(row["kind"])
        elif table == "treatments":
            entries.check_treatment(_value(Treatment, row))
        elif table == "comebacks":
            selling.check_comeback(_value(Comeback, row))
        elif table == "shelf_parts":
            entries.check_part(ShelfPart(row["id"], row["name"], row["model"], 0))
        elif table == "withdrawals":
            withdrawing.check_withdrawal(_value(Withdrawal, row))
        elif table == "certificates":
            issuing.check(row["bench_id"], row["number"], row["name"])
    except InputError as fault:
        raise InputError(words.ROW_REFUSED.format(table=table, row=row["id"], fault=fault)) from None


def _value(cls: type[_Value], row: Row) -> _Value:
    return cls(**{name: row[name] for name in kept_names(cls)})


def _look_at_results(db: sqlite3.Connection, heads: Sequence[Row]) -> None:
    """A result with its readings and findings has to be what the program makes of it when it writes it."""
    ids = [str(head["id"]) for head in heads]
    readings, findings = (_below(db, table, ids) for table in ("readings", "findings"))
    for head in heads:
        mine, said = readings[head["id"]], findings[head["id"]]
        if max(len(mine), len(said)) > MOST_BELOW or head["replaces"] == head["id"]:
            raise _refusal("results", head, "id", words.NOT_IN_FORM)
        try:
            result = result_of_rows(head, mine, said)
            again = result_rows(result)
        except (InputError, LookupError, TypeError, ValueError, ArithmeticError):
            raise _refusal("results", head, "id", words.NOT_IN_FORM) from None
        if not _same(({**head, "seq": 0}, mine, said), ({**again[0], "seq": 0}, again[1], again[2])):
            raise _refusal("results", head, "id", words.NOT_IN_FORM)


_Rows = tuple[Row, list[Row], list[Row]]


def _same(given: _Rows, made: _Rows) -> bool:
    """Whether both are the same result. The sentence of a finding is said anew in the language of the day, and signs
    that cannot be seen come out made visible."""
    return _plain_rows(given) == _plain_rows(made)


def _plain_rows(rows: _Rows) -> list[Row]:
    flat = [rows[0], *rows[1], *rows[2]]
    return [
        {k: visible(v) if isinstance(v, str) else v for k, v in row.items() if v is not None and k != "text"}
        for row in flat
    ]


def _below(db: sqlite3.Connection, table: str, ids: Sequence[str]) -> dict[str, list[Row]]:
    marks = ", ".join("?" * len(ids))
    found: dict[str, list[Row]] = defaultdict(list)
    for row in _rows(
        db, f"SELECT * FROM other.{table} WHERE result_id IN ({marks}) ORDER BY result_id, position", tuple(ids)
    ):
        found[row["result_id"]].append(row)
    return found


def _refusal(table: str, row: Row, column: str, why: str) -> InputError:
    name = row.get("id") or row.get("result_id") or row.get("entry") or ""
    said = words.ROW_VALUE.format(column=column, why=why)
    return InputError(words.ROW_REFUSED.format(table=table, row=_visible(str(name)), fault=said))


def _visible(text: str) -> str:
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text[:80])


# --- reading them ------------------------------------------------------------------------------------------


def _new_rows(db: sqlite3.Connection, table: str, key: str, order: str) -> Generator[Row, None, None]:
    """Rows that `main` does not have, or has in another way where it may be changed."""
    if table == "log":
        new = (
            "NOT EXISTS (SELECT 1 FROM main.log m WHERE m.bench_id = o.bench_id AND m.seq = o.seq AND m.hash = o.hash)"
        )
    elif key == "result_id":
        new, order = "o.result_id NOT IN (SELECT id FROM main.results)", f"{key}, position"
    elif table in ("lots", "units"):
        new = f"NOT EXISTS (SELECT 1 FROM main.{table} m WHERE m.id = o.id AND {_equal(db, table)})"
    elif table == "visits":
        new = "NOT EXISTS (SELECT 1 FROM main.visits m WHERE m.id = o.id AND m.finished_at = o.finished_at)"
    else:
        new = f"o.{key} NOT IN (SELECT {key} FROM main.{table})"
    return _rows(db, f"SELECT o.* FROM other.{table} o WHERE {new} ORDER BY {order}", ())


def _equal(db: sqlite3.Connection, table: str) -> str:
    columns = [r[1] for r in db.execute(f"PRAGMA main.table_info({table})") if r[1] not in (*_LOCAL, "search_text")]
    return " AND ".join(" IS ".join((f"m.{column}", f"o.{column}")) for column in columns)


def _rows(db: sqlite3.Connection, sql: str, args: Sequence[Any]) -> Generator[Row, None, None]:
    """To be closed by who does not read to the end: an open cursor keeps `other` from being let go."""
    cursor = db.execute(sql, args)
    names = [d[0] for d in cursor.description]
    try:
        for row in cursor:
            yield dict(zip(names, row, strict=True))
    finally:
        cursor.close()


def _chunks(rows: Iterable[Row], size: int) -> Iterator[list[Row]]:
    iterator = iter(rows)
    while chunk := list(islice(iterator, size)):
        yield chunk


# --- what both have, and what the log says of it ----------------------------------------------------------------

_NEVER_CHANGED = (
    "results", "readings", "findings", "treatments", "notes", "overrides", "shelf_parts", "shelf_moves", "comebacks",
    "withdrawals", "certificates",
)  # fmt: skip


def refuse_contradiction(db: sqlite3.Connection) -> None:
    """InputError when `other` has a row of `main` that never changes, and says something else in it."""
    for table in (*_NEVER_CHANGED, "visits", "benches"):
        key = "result_id" if table in ("readings", "findings") else "id"
        ours = "results" if key == "result_id" else table
        columns = [r[1] for r in db.execute(f"PRAGMA main.table_info({table})") if r[1] not in _LOCAL]
        if table == "visits":
            columns = ["id", *states.OF_A_VISIT]
        listed = ", ".join(columns)
        both = f"{key} IN (SELECT id FROM main.{ours}) AND {key} IN (SELECT id FROM other.{ours})"
        for left, right in (("other", "main"), ("main", "other")):
            found = db.execute(
                f"SELECT {key} FROM (SELECT {listed} FROM {left}.{table} WHERE {both} "
                f"EXCEPT SELECT {listed} FROM {right}.{table}) LIMIT 1"
            ).fetchone()
            if found:
                raise InputError(words.CONTRADICTION.format(table=table, row=_visible(str(found[0]))))


_STATED = {
    "lots": (Logged.LOT_ADDED, Logged.LOT_CHANGED),
    "units": (Logged.UNIT_ADDED, Logged.UNIT_CHANGED),
    "visits": (Logged.VISIT_STARTED, Logged.VISIT_FINISHED),
    "shelf_parts": (Logged.PART_ADDED,),
}
"""tables whose rows stand in the log as they came to be (`now`)"""
_JOINED = {"units": "rest_until", "visits": "finished_at"}
"""what a merge takes from either side: it need not stand in the same entry as the rest"""
_LEFT_OUT = {"visits": ("number",)}
"""a merge gives a visit another number"""


def refuse_unlogged(db: sqlite3.Connection) -> None:
    """InputError when a lot, unit, visit or part comes in, or comes in changed, and no entry of `other`'s log says so.

    An entry of the same moment as the row has to have the row as it is.
    """
    db.execute("CREATE TEMP TABLE stated (what TEXT, id TEXT, at TEXT, event TEXT)")
    try:
        db.executemany("INSERT INTO stated VALUES (?, ?, ?, ?)", _statements(db))
        db.execute("CREATE INDEX temp.stated_by_id ON stated(id)")
        for table, events in _STATED.items():
            with closing(_new_rows(db, table, "id", "seq")) as rows:
                for row in rows:
                    if not _is_stated(table, row, _stated(db, row["id"], events)):
                        raise InputError(words.NOT_IN_THEIR_LOG.format(table=table, row=_visible(str(row["id"]))))
    finally:
        db.execute("DROP TABLE temp.stated")


def _statements(db: sqlite3.Connection) -> Iterator[tuple[str, str, str, str]]:
    known = {event for events in _STATED.values() for event in events}
    for at, event in db.execute("SELECT at, event FROM other.log"):
        content = parsed(event)
        if content.get("what") in known and isinstance(content.get("now"), dict) and isinstance(content.get("id"), str):
            yield content["what"], content["id"], at, event


def _stated(db: sqlite3.Connection, row_id: str, events: Sequence[Logged]) -> list[tuple[str, Mapping[str, Any]]]:
    """(When, the row as it was) of each entry about it."""
    marks = ", ".join("?" * len(events))
    found = db.execute(f"SELECT at, event FROM temp.stated WHERE id = ? AND what IN ({marks})", (row_id, *events))
    return [(at, loads(event)["now"]) for at, event in found]


def _is_stated(table: str, row: Row, states: Sequence[tuple[str, Mapping[str, Any]]]) -> bool:
    joined = _JOINED.get(table, "")
    if joined and row[joined] not in ("", *(now.get(joined) for _, now in states)):
        return False
    left_out = (joined, *_LEFT_OUT.get(table, ()))
    return any(
        row.get("changed_at", at) == at
        and all(row.get(name) == value for name, value in now.items() if name not in left_out)
        for at, now in states
    )
