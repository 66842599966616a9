"""Values to rows and back. Numbers are made plain here: SQLite would keep a NumPy scalar as bytes and NaN as NULL."""

from __future__ import annotations

import json
import math
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, fields, replace
from sqlite3 import Connection
from typing import Any, TypeVar, cast

import numpy as np

from station.capture.text import unseen, visible
from station.checks.said import sentence
from station.checks.types import Assessment, Finding, Outcome, Params, Reading
from station.errors import InputError
from station.records.canonical import canonical_json, sha256_text
from station.records.types import Comeback, Issued, Lot, Note, Result, ShelfPart, Treatment, Unit, Visit, Withdrawal
from station.words import figures
from station.words import records as words

Row = dict[str, Any]
_Plain = TypeVar("_Plain", Lot, Unit, Visit, Treatment, Note, Comeback, Withdrawal)
_Shown = TypeVar("_Shown", Lot, Unit, Visit, Treatment, Note, Comeback, Withdrawal, Issued, ShelfPart, Reading)
_RESULT_COLUMNS = (
    "id", "visit_id", "check_name", "control", "attempt", "at", "outcome", "again", "capture_sha256", "by_hand",
    "reason", "replaces", "clock", "stamp_error_p99_us", "lost",
)  # fmt: skip


def plain(text: str) -> str:
    """Text as the records keep it: no control characters but line feeds and tabs, nothing UTF-8 cannot hold."""
    return "".join(c for c in text if c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs")).strip()


def cleaned(value: _Plain) -> _Plain:
    """The value with its texts as the records keep them."""
    texts: dict[str, Any] = {f.name: plain(v) for f in fields(value) if isinstance(v := getattr(value, f.name), str)}
    return replace(value, **texts)


def shown(value: _Shown) -> _Shown:
    """The value as whoever reads the records gets it: signs that cannot be seen are made visible in its texts."""
    changed: dict[str, Any] = {name: visible(text) for name, text in _hiding(value)}
    return replace(value, **changed) if changed else value


def as_kept(value: _Plain, before: _Plain) -> _Plain:
    """The value with those texts of `before` that were handed out made visible and came back as they were shown."""
    same: dict[str, Any] = {name: text for name, text in _hiding(before) if getattr(value, name) == visible(text)}
    return replace(value, **same) if same else value


def _hiding(value: Any) -> Iterator[tuple[str, str]]:
    """Names and texts of the fields that hold signs that cannot be seen."""
    kind = type(value)
    if kind not in _names:
        _names[kind] = tuple(field.name for field in fields(value))
    for name in _names[kind]:
        text = getattr(value, name)
        if isinstance(text, str) and unseen(text):
            yield name, text


def row_of(value: Lot | Unit | Visit | Treatment | Note | Comeback | Withdrawal | Issued) -> Row:
    """Columns of a flat value."""
    return {name: one for name, one in asdict(value).items() if name in kept_names(type(value))}


def columns_of(cls: type[Any], prefix: str = "") -> str:
    """The columns of a flat value in the order of its fields."""
    return ", ".join(prefix + name for name in kept_names(cls))


def kept_names(cls: type[Any]) -> tuple[str, ...]:
    """The fields of a flat value that stand in its table."""
    if cls not in _kept_names:
        _kept_names[cls] = tuple(f.name for f in fields(cls) if f.metadata.get("kept", True))
    return _kept_names[cls]


_kept_names: dict[type[Any], tuple[str, ...]] = {}
_names: dict[type[Any], tuple[str, ...]] = {}
"""looked up once for a kind: a long history asks for them a million times"""


def read_plain(db: Connection, cls: type[_Plain], where: str, args: Iterable[Any] = ()) -> tuple[_Plain, ...]:
    """Flat values from the table of their kind; `where` may go on with ORDER BY and LIMIT."""
    table = cls.__name__.lower() + "s"
    found = db.execute(f"SELECT {columns_of(cls)} FROM {table} WHERE {where}", tuple(args))
    return tuple(cls(*row) for row in found)


def read_shown(db: Connection, cls: type[_Plain], where: str, args: Iterable[Any] = ()) -> tuple[_Plain, ...]:
    """The same for whoever reads (`shown`)."""
    return tuple(shown(value) for value in read_plain(db, cls, where, args))


def insert(db: Connection, table: str, row: Row) -> None:
    """Insert into an existing table; a misspelt table or column is an error, not a new table."""
    names = ", ".join(row)
    marks = ", ".join(f":{name}" for name in row)
    db.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", row)


def update(db: Connection, table: str, key: str, row: Row) -> int:
    """Set columns of the row whose `id` is `key`; returns how many rows there were (0 or 1)."""
    names = ", ".join(f"{name} = :{name}" for name in row)
    return int(db.execute(f"UPDATE {table} SET {names} WHERE id = :id", {**row, "id": key}).rowcount)


def digest(content: Mapping[str, Any]) -> str:
    """SHA-256 of the canonical JSON of a row and the rows below it."""
    return sha256_text(canonical_json(content))


def _finite(value: float | None, refusal: str) -> float | None:
    if value is None:
        return None
    number = float(value)
    if not math.isfinite(number):
        raise InputError(refusal)
    return number


def result_rows(result: Result) -> tuple[Row, list[Row], list[Row]]:
    """A result as its row, its readings' and its findings'. InputError for a number that is not finite."""
    done = result.assessment
    head: Row = {
        "id": result.id, "visit_id": result.visit_id, "check_name": result.check, "control": result.control,
        "attempt": int(result.attempt), "at": result.at, "outcome": done.outcome.value, "again": plain(done.again),
        "capture_sha256": result.capture_sha256, "by_hand": int(result.by_hand), "reason": plain(result.reason),
        "replaces": result.replaces, "clock": result.clock,
        "stamp_error_p99_us": _finite(result.stamp_error_p99_us, words.STAMP_ERROR_NOT_FINITE),
        "lost": int(result.lost),
    }  # fmt: skip
    readings = [_reading_row(result.id, i, r) for i, r in enumerate(done.readings)]
    findings = [_finding_row(result, i, f) for i, f in enumerate(done.findings)]
    return head, readings, findings


def _reading_row(result_id: str, position: int, r: Reading) -> Row:
    return {
        "result_id": result_id, "position": position, "name": r.name, "unit": r.unit,
        "value": _finite(r.value, words.READING_NOT_FINITE.format(name=r.name)),
        "uncertainty": _finite(r.uncertainty, words.UNCERTAINTY_NOT_FINITE.format(name=r.name)),
        "pass_limit": _finite(r.limit, words.LIMIT_NOT_FINITE.format(name=r.name)),
        "fail_beyond": _finite(r.fail_beyond, words.FAIL_LIMIT_NOT_FINITE.format(name=r.name)),
        "rule": r.rule, "n": int(r.n), "reason": plain(r.reason),
    }  # fmt: skip


def _finding_row(result: Result, position: int, f: Finding) -> Row:
    """Code and parameters, and beside them the sentence as it is said today, its numbers in one style whatever the
    screen's is. One that came without parameters has no such column, so that its digest is that of a row from before
    there was one."""
    named = f.direction if isinstance(f.direction, str) else None
    bearing = None if named is not None or f.direction is None else float(f.direction)
    row: Row = {
        "result_id": result.id, "position": position, "code": f.code,
        "text": plain(sentence(result.check, f, figures.PAPER)),
        "axis": f.axis, "direction": named,
        "bearing_deg": _finite(bearing, words.BEARING_NOT_FINITE.format(code=f.code)),
    }  # fmt: skip
    return {**row, "params": _params_text(f)} if f.params else row


def _params_text(f: Finding) -> str:
    """Canonical JSON of a finding's parameters."""
    what = words.PARAMETER_NOT_FINITE.format(code=f.code)
    usual = {k: v.item() if isinstance(v, np.generic) else v for k, v in f.params.items()}
    finite = {k: _finite(v, what) if isinstance(v, float) else v for k, v in usual.items()}
    return canonical_json({k: plain(v) if isinstance(v, str) else v for k, v in finite.items()})


def _params(text: str | None) -> Params:
    """The parameters as they were written; none of a finding from before there were any."""
    if not text:
        return {}
    return {k: tuple(v) if isinstance(v, list) else v for k, v in json.loads(text).items()}


def read_results(db: Connection, where: str, args: Iterable[Any] = ()) -> tuple[Result, ...]:
    """Results with their readings and findings; `where` is about `results` and may go on with ORDER BY."""
    heads = db.execute(f"SELECT {', '.join(_RESULT_COLUMNS)} FROM results WHERE {where}", tuple(args)).fetchall()
    readings: dict[str, list[Reading]] = defaultdict(list)
    findings: dict[str, list[Finding]] = defaultdict(list)
    ids = [h[0] for h in heads]
    for chunk in (ids[i : i + 500] for i in range(0, len(ids), 500)):
        marks = ", ".join("?" * len(chunk))
        for rid, *rest in db.execute(
            "SELECT result_id, name, value, unit, uncertainty, pass_limit, fail_beyond, rule, n, reason "
            f"FROM readings WHERE result_id IN ({marks}) ORDER BY result_id, position", chunk
        ):  # fmt: skip
            readings[rid].append(shown(Reading(*rest)))
        for rid, code, text, axis, direction, bearing, params in db.execute(
            "SELECT result_id, code, text, axis, direction, bearing_deg, params "
            f"FROM findings WHERE result_id IN ({marks}) ORDER BY result_id, position", chunk
        ):  # fmt: skip
            where = direction if direction is not None else bearing
            findings[rid].append(Finding(code, visible(text), axis, where, _params(visible(params or ""))))
    return tuple(_result(h, readings[h[0]], findings[h[0]]) for h in heads)


def read_issued(db: Connection, where: str, args: Iterable[Any] = ()) -> tuple[Issued, ...]:
    """Certificates, for whoever reads (`shown`); `where` may go on with ORDER BY."""
    found = db.execute(f"SELECT {columns_of(Issued)} FROM certificates WHERE {where}", tuple(args))
    return tuple(shown(Issued(*row)) for row in found)


def result_of_rows(head: Row, readings: Iterable[Row], findings: Iterable[Row]) -> Result:
    """The result that `result_rows` gave these rows for. LookupError, TypeError or ValueError for any others."""
    measured = [
        Reading(
            r["name"], r["value"], r["unit"], r["uncertainty"], r["pass_limit"], r["fail_beyond"], r["rule"], r["n"],
            r["reason"],
        )
        for r in readings
    ]  # fmt: skip
    said = [
        Finding(
            f["code"], f["text"], f["axis"], f["bearing_deg"] if f["direction"] is None else f["direction"],
            _params(f.get("params")),
        )
        for f in findings
    ]  # fmt: skip
    return _result([head[name] for name in _RESULT_COLUMNS], measured, said)


def read_tries(db: Connection, where: str, args: Iterable[Any] = ()) -> Iterator[Result]:
    """The same without readings and findings, one by one: for who only asks how the tries ended."""
    for head in db.execute(f"SELECT {', '.join(_RESULT_COLUMNS)} FROM results WHERE {where}", tuple(args)):
        yield _result(head, [], [])


def _result(head: Any, readings: list[Reading], findings: list[Finding]) -> Result:
    (rid, visit, check, control, attempt, at, outcome, again, capture, by_hand, reason, replaces, clock, p99, lost) = (
        head
    )
    control, again, reason = visible(control), visible(again), visible(reason)
    done = Assessment(Outcome(outcome), tuple(readings), tuple(findings), again)
    return Result(
        rid, visit, check, control, attempt, at, done, capture, bool(by_hand), reason, replaces, clock,
        cast("float | None", p99), lost,
    )  # fmt: skip
