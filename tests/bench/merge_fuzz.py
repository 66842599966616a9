"""Can the records of another bench do harm?

    python tests/bench/merge_fuzz.py --cases 2000

A live record and another that began as a copy of it and went on. Each case alters the other one, merges it and looks:
did any row that was here before change without its being said, and does whatever comes afterwards still work (history,
lot, certificate's text, log verify, export, back-up, new entries, and a merge into a third bench)?

What is altered: cells with values that no program writes (infinite, 2⁶³−1, no UTF-8, the year 9999, zero-width and
bidirectional characters, control characters, very long), most of them with the whole log written anew so that it
agrees, its digests and its chains; rows that only the log knows; the schema (triggers, views, guards, tables); the log;
captures and photos (altered, a pipe, a folder, another kind of file); the bytes of the file, and what lies beside it.

Bounds, held for each case: SECONDS of wall time and MEGABYTES of peak memory of the whole run. One JSON line last;
status 1 if anything was found.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import random
import resource
import secrets
import shutil
import sqlite3
import sys
import tempfile
import time
import traceback
import uuid
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from station.checks.said import sentence, value_text  # noqa: E402
from station.diagnosis.guide import load_guide  # noqa: E402
from station.errors import StationError  # noqa: E402
from station.judgement.tries import standing, verdicts  # noqa: E402
from station.lots.outlook import outlook_of  # noqa: E402
from station.lots.view import lot_view  # noqa: E402
from station.records import chain  # noqa: E402
from station.records.canonical import canonical_json  # noqa: E402
from station.records.counted import counting, in_force, table_of, withdrawn  # noqa: E402
from station.records.merge import MergePreview, MergeReport  # noqa: E402
from station.records.rows import digest, insert  # noqa: E402
from station.records.store import FILE_NAME, Store  # noqa: E402
from station.sheets.model import Sheet  # noqa: E402
from tests.bench.log_edits import TABLES, a_row, columns_of, edit, work_on  # noqa: E402
from tests.records.records_kit import a_result, open_store  # noqa: E402

SECONDS = 20.0
MEGABYTES = 400
THIRD = 10
"""every so many cases what came of it is merged into a third bench"""

# --- what is altered ------------------------------------------------------------------------------------------------

_DIGEST_OF = {"result added": "results", "treatment added": "treatments", "note added": "notes",
              "override added": "overrides", "part moved": "shelf_moves", "withdrawn": "withdrawals",
              "certificate added": "certificates"}  # fmt: skip
_TABLE_OF = {"lot added": "lots", "lot changed": "lots", "unit added": "units", "unit changed": "units",
             "visit started": "visits", "visit finished": "visits", "part added": "shelf_parts",
             "bench begun": "benches", "setting changed": "settings"}  # fmt: skip
NO_TEXT = object()
"""stands for bytes that are no UTF-8"""


def odd_value(kind: str, value: object, ids: list[str], rng: random.Random) -> object:
    """A value that a column of this kind can hold and no bench would write."""
    if kind == "INTEGER":
        more = value + 1 if isinstance(value, int) else 1
        return rng.choice([2**63 - 1, -(2**63), -1, 0, 2**53 + 1, 10**9, 65_536, more])
    if kind == "REAL":
        return rng.choice([9e999, -9e999, None, 1e308, -1.0, 5e-324, 1e15])
    text = str(value or "")
    return rng.choice([
        "", text + "\u202e10", text + "\u200b", "\u2066" + text, text + "\x1b[31m", text + "\0", "x" * 3_000,
        "y" * 300_000, "9999-12-31T23:59:59.999Z", "9999-12-31", "2026-13-45", "pass", "excellent", "../../../etc/x",
        "=1+1", "<img src=x>", "[" * 50_000, '{"who":1e999}', "NaN", secrets.token_hex(32), rng.choice(ids), NO_TEXT,
        text.upper(), text + " ", "\ud7ff\ue000",
    ])  # fmt: skip


def an_odd_cell(db: sqlite3.Connection, rng: random.Random, tables: tuple[str, ...] = TABLES) -> bool:
    table = rng.choice(tables)
    where, key = a_row(db, table, rng)
    column, kind = rng.choice(columns_of(db, table))
    before = db.execute(f"SELECT {column} FROM {table} WHERE {where}", key).fetchone()[0]
    value = odd_value(kind, before, [r[0] for r in db.execute("SELECT id FROM units")], rng)
    if value is NO_TEXT:
        set_to, args = rng.choice(("CAST(X'61FF62' AS TEXT)", "CAST(X'EDA080' AS TEXT)")), key
    else:
        set_to, args = "?", (value, *key)
    return db.execute(f"UPDATE {table} SET {column} = {set_to} WHERE {where}", args).rowcount == 1


def odd_cells(db: sqlite3.Connection, rng: random.Random, many: int, tables: tuple[str, ...] = TABLES) -> bool:
    done = [an_odd_cell(db, rng, tables) for _ in range(many)]
    return any(done)


def agree(db: sqlite3.Connection) -> None:
    """Write the log anew, so that it says what the tables hold: digests, states, chains."""
    last: dict[str, str] = {}
    for row in list(chain.log_rows(db)):
        try:
            event = _agreeing(db, json.loads(row.event))
            text = canonical_json(event)
        except (ValueError, TypeError, KeyError, RecursionError):
            text = row.event
        previous = last.get(row.bench_id, chain.GENESIS)
        try:
            linked = chain.link(previous, row.bench_id, row.seq, row.at, text)
        except UnicodeEncodeError:
            linked = row.hash
        db.execute(
            "UPDATE log SET event = ?, previous = ?, hash = ? WHERE entry = ?", (text, previous, linked, row.entry)
        )
        last[row.bench_id] = linked


def _agreeing(db: sqlite3.Connection, event: dict[str, Any]) -> dict[str, Any]:
    what, row_id = event["what"], event["id"]
    if what in _DIGEST_OF:
        content: dict[str, Any] = {_DIGEST_OF[what]: _row(db, _DIGEST_OF[what], row_id)}
        for below in ("readings", "findings") if what == "result added" else ():
            cursor = db.execute(f"SELECT * FROM {below} WHERE result_id = ? ORDER BY position", (row_id,))
            names = [d[0] for d in cursor.description]
            content[below] = [dict(zip(names, r, strict=True)) for r in cursor]
            content[below] = [{k: v for k, v in r.items() if (k, v) != ("params", None)} for r in content[below]]
        if what == "result added":
            content["results"] = content.pop("results")
        return {**event, "digest": digest(content)}
    table = event.get("table") if what == "state found" else _TABLE_OF.get(what)
    if table and isinstance(event.get("now"), dict):
        now = _row(db, table, row_id, "key" if table == "settings" else "id")
        return {**event, "now": {k: now.get(k, v) for k, v in event["now"].items()}} if now else event
    return event


def _row(db: sqlite3.Connection, table: str, row_id: str, key: str = "id") -> dict[str, Any]:
    cursor = db.execute(f"SELECT * FROM {table} WHERE {key} = ?", (row_id,))
    names, row = [d[0] for d in cursor.description], cursor.fetchone()
    return {k: v for k, v in zip(names, row, strict=True) if k not in ("seq", "search_text")} if row else {}


def unguarded(folder: Path, change: Callable[[sqlite3.Connection], bool]) -> bool:
    """Run a change with the guards off; they are put back as they were."""
    with closing(sqlite3.connect(folder / FILE_NAME, isolation_level=None)) as db:
        db.text_factory = lambda data: data.decode("utf-8", "surrogateescape")
        db.execute("BEGIN")
        guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        try:
            for name, _ in guards:
                db.execute(f"DROP TRIGGER {name}")
            done = change(db)
            for _, sql in guards:
                db.execute(sql)
        except (sqlite3.Error, UnicodeError, OverflowError):
            done = False
        db.execute("COMMIT" if done else "ROLLBACK")
        return done


def cells(folder: Path, rng: random.Random) -> bool:
    """Some odd cells, the log as it was."""
    return unguarded(folder, lambda db: odd_cells(db, rng, rng.choice((1, 1, 3))))


def agreed_cells(folder: Path, rng: random.Random) -> bool:
    """Odd cells that the log agrees with."""

    def change(db: sqlite3.Connection) -> bool:
        tables = tuple(table for table in TABLES if table != "log")
        done = odd_cells(db, rng, rng.choice((1, 1, 1, 2)), tables)
        agree(db)
        return done

    return unguarded(folder, change)


def changed_units(folder: Path, rng: random.Random) -> bool:
    """A unit that both have, changed past the program in a way that can be, with the log in agreement or not."""

    def change(db: sqlite3.Connection) -> bool:
        soon = time.strftime("%Y-%m-%dT%H:%M:%S.000Z", time.gmtime(time.time() + 30))
        now = rng.choice(("2026-11-01T00:00:00.000Z", "2999-01-01T00:00:00.000Z", soon, soon))
        becomes = rng.choice(("sold", "scrap", "donor", "open", "ready"))
        known = db.execute('SELECT entry, event FROM log WHERE instr(event, \'"what":"unit changed"\')').fetchall()
        last = {json.loads(event)["id"]: event for _, event in known}
        unit, event = rng.choice(list(last.items()))
        values = (becomes, now, unit)
        db.execute("UPDATE units SET becomes = ?, condition = 'swapped', changed_at = ? WHERE id = ?", values)
        if rng.random() < 0.3:
            rest = rng.choice(("9999-12-31", "2026-12-24"))
            db.execute("UPDATE units SET rest_until = ? WHERE id = ?", (rest, unit))
        if rng.random() < 0.8:
            (there,) = db.execute("SELECT bench_id FROM log ORDER BY entry DESC LIMIT 1").fetchone()
            state = {k: v for k, v in _row(db, "units", unit).items() if k in json.loads(event)["now"]}
            chain.append(db, there, now, {**json.loads(event), "now": state})
        return True

    return unguarded(folder, change)


def taken_back(folder: Path, rng: random.Random) -> bool:
    """Withdrawals that a bench can make, of rows that both have or that nobody has, and withdrawals of withdrawals."""
    with open_store(folder) as store:
        with store._connections.reading() as db:
            rows = {
                what: [r[0] for r in db.execute(f"SELECT id FROM {table_of(what)} WHERE {counting(table_of(what))}")]
                for what in ("result", "treatment", "note", "part", "unit")
            }
            made = [r[0] for r in db.execute(f"SELECT id FROM withdrawals WHERE {in_force()}")]
        for _ in range(rng.choice((1, 2, 5))):
            what = rng.choice(sorted(rows))
            with contextlib.suppress(StationError):  # a unit that gave parts, what went with its unit
                if made and rng.random() < 0.3:
                    store.take_back(made.pop(), "it was right", "Ines")
                else:
                    made.append(store.withdraw(what, rng.choice(rows[what]), "a mistake", "Ines").id)

    def dangling(db: sqlite3.Connection) -> bool:
        """One of a row that is not there, or of a kind that it is not."""
        there = db.execute("SELECT id FROM results").fetchall()
        (bench,) = db.execute("SELECT bench_id FROM log ORDER BY entry DESC LIMIT 1").fetchone()
        row = {
            "id": str(uuid.uuid4()), "what": rng.choice(("result", "note", "override", "withdrawal")),
            "row_id": rng.choice((str(uuid.uuid4()), rng.choice(there)[0])), "at": "2026-03-06T10:00:00.000Z",
            "reason": "not ours", "person": "", "was": "",
        }  # fmt: skip
        insert(db, "withdrawals", row)
        event = {"what": "withdrawn", "id": row["id"], "digest": digest({"withdrawals": row})}
        chain.append(db, bench, row["at"], event)
        return True

    return unguarded(folder, dangling) if rng.random() < 0.5 else True


def log_rows(folder: Path, rng: random.Random) -> bool:
    """Entries that nobody wrote: odd events, forks of the chains of both, a log that goes on alone."""

    def change(db: sqlite3.Connection) -> bool:
        bench, seq, head = rng.choice(db.execute("SELECT bench_id, seq, hash FROM log").fetchall())
        rows = [r[0] for r in db.execute("SELECT id FROM results")]
        units = [r[0] for r in db.execute("SELECT id FROM units")]
        event = rng.choice([
            canonical_json({"what": "result added", "id": rng.choice(rows), "digest": "0" * 64}),
            canonical_json({"what": "unit changed", "id": rng.choice(units), "now": {"becomes": "scrap"}}),
            canonical_json({"what": "state found", "table": "units", "id": rng.choice(units), "now": None}),
            canonical_json({"what": "state found", "table": "../x", "id": 3, "now": {}}),
            canonical_json({"what": "merged", "id": "x", "missing": 5}),
            canonical_json({"what": "note of a later version", "id": "x"}),
            "[" * 100_000, "{}", "null", '"x"', '{"what":"merged","id":"x","rows":NaN}', "x" * 2_000_000, "",
        ])  # fmt: skip
        at = rng.choice(("2026-03-06T10:00:00.000Z", "9999-12-31T23:59:59.999Z", "never"))
        at_seq = rng.choice((seq + 1, seq + 1, seq, 2**63 - 1, 1))
        linked = chain.link(head, bench, at_seq, at, event)
        db.execute(
            "INSERT INTO log (bench_id, seq, at, event, previous, hash) VALUES (?, ?, ?, ?, ?, ?)",
            (bench, at_seq, at, event, head, linked),
        )
        return True

    return unguarded(folder, change)


def benches(folder: Path, rng: random.Random) -> bool:
    """A bench at the place of the live one, or at none."""

    def change(db: sqlite3.Connection) -> bool:
        place = rng.choice([r[0] for r in db.execute("SELECT place FROM benches")] + ["", "x" * 32])
        bench = rng.choice((str(secrets.token_hex(16)), "01900000-0000-7000-8000-00000000000a"))
        db.execute("INSERT INTO benches VALUES (?, ?, ?)", (bench, place, "2026-03-06T10:00:00.000Z"))
        return True

    return unguarded(folder, change)


def schema(folder: Path, rng: random.Random) -> bool:
    with closing(sqlite3.connect(folder / FILE_NAME, isolation_level=None)) as db:
        statements = rng.choice([
            ("CREATE TRIGGER swallow BEFORE INSERT ON results BEGIN SELECT RAISE(IGNORE); END",),
            ("CREATE TEMP TABLE t (a)", "CREATE TRIGGER t AFTER INSERT ON log BEGIN DELETE FROM lots; END"),
            ("ALTER TABLE units RENAME TO others", "CREATE VIEW units AS SELECT * FROM others"),
            ("DROP TRIGGER results_no_update",), ("DROP TABLE settings",), ("CREATE VIEW extra AS SELECT 1",),
            ("CREATE UNIQUE INDEX extra ON visits(kind)",), ("ALTER TABLE lots ADD COLUMN extra TEXT",),
            ("PRAGMA user_version = 1",), ("PRAGMA user_version = 0",), ("PRAGMA user_version = -5",),
            ("PRAGMA application_id = 7",), ("PRAGMA journal_mode = WAL",),
            ("PRAGMA writable_schema = 1", "UPDATE sqlite_master SET sql = sql || ' ' WHERE name = 'lots'"),
            ("PRAGMA writable_schema = 1", "UPDATE sqlite_master SET type = 'view' WHERE name = 'lots'"),
            ("PRAGMA writable_schema = 1", "UPDATE sqlite_master SET rootpage = 3 WHERE name = 'visits'"),
            ("PRAGMA writable_schema = 1", "DELETE FROM sqlite_master WHERE name LIKE 'unit_text%'"),
        ])  # fmt: skip
        try:
            for statement in statements:
                db.execute(statement)
        except sqlite3.Error:
            return False
    return True


def file_bytes(folder: Path, rng: random.Random) -> bool:
    path = folder / FILE_NAME
    data = bytearray(path.read_bytes())
    match rng.randrange(6):
        case 0:
            for _ in range(rng.choice((1, 8, 200))):
                data[rng.randrange(len(data))] = rng.randrange(256)
        case 1:
            data = data[: rng.randrange(len(data))]
        case 2:
            for _ in range(4):
                data[rng.randrange(100)] = rng.randrange(256)
        case 3:
            at = rng.randrange(len(data) // 4096) * 4096
            data[at : at + 4096] = rng.randbytes(4096)
        case 4:
            path.with_name(FILE_NAME + rng.choice(("-wal", "-journal", "-shm"))).write_bytes(rng.randbytes(5_000))
        case _:
            one, other = (rng.randrange(1, len(data) // 4096) * 4096 for _ in range(2))
            data[one : one + 4096], data[other : other + 4096] = data[other : other + 4096], data[one : one + 4096]
    path.write_bytes(data)
    return True


def kept_files(folder: Path, rng: random.Random) -> bool:
    found = sorted(p for kind in ("captures", "photos") for p in (folder / kind).glob("*/*/*"))
    path = rng.choice(found)
    content = path.read_bytes()
    path.unlink()
    match rng.randrange(8):
        case 0:
            os.mkfifo(path)
        case 1:
            path.mkdir()
        case 2:
            path.symlink_to("/dev/zero")
        case 3:
            path.with_suffix(".exe").write_bytes(content)
        case 4:
            with path.open("wb") as file:
                file.truncate(3_000_000_000)
        case 5:
            path.write_bytes(content + b"x")
        case 6:
            path.write_bytes(b"")
        case _:
            path.symlink_to(path)
    return True


def beside(folder: Path, rng: random.Random) -> bool:
    """A pipe, a device or a folder where the file is, or beside it."""
    path = folder / (FILE_NAME + rng.choice(("", "-wal", "-shm", "-journal")))
    path.unlink(missing_ok=True)
    match rng.randrange(3):
        case 0:
            os.mkfifo(path)
        case 1:
            path.mkdir()
        case _:
            path.symlink_to(rng.choice(("/dev/zero", "/dev/stdin", str(path), "/nowhere")))
    return True


def edits(folder: Path, rng: random.Random) -> bool:
    """What `log_edits` does."""
    edit(folder, rng.choice(("cell", "row removed", "row put in", "swapped", "cut off", "written anew", "schema")), rng)
    return True


def nothing(folder: Path, rng: random.Random) -> bool:
    return True


ALTERED: dict[str, tuple[Callable[[Path, random.Random], bool], int]] = {
    "agreed cells": (agreed_cells, 30), "taken back": (taken_back, 5), "cells": (cells, 10),
    "changed units": (changed_units, 10), "log": (log_rows, 10), "benches": (benches, 3), "schema": (schema, 8),
    "bytes": (file_bytes, 8), "captures": (kept_files, 5), "beside": (beside, 3), "edits": (edits, 6),
    "nothing": (nothing, 2),
}  # fmt: skip
"""what → how, and how often of a hundred"""

# --- what is looked at ------------------------------------------------------------------------------------------------


def all_rows(store: Store) -> dict[str, dict[Any, tuple[Any, ...]]]:
    """table → key → the row, without local counters."""
    found: dict[str, dict[Any, tuple[Any, ...]]] = {}
    with store._connections.reading_apart() as db:
        for table in TABLES:
            columns = [r[1] for r in db.execute(f"PRAGMA table_info({table})") if r[1] not in ("search_text", "entry")]
            columns = [c for c in columns if c != "seq" or table == "log"]
            keys = {"settings": 1, "readings": 2, "findings": 2, "log": len(columns)}.get(table, 1)
            rows = db.execute(f"SELECT {', '.join(columns)} FROM {table}")
            found[table] = {row[:keys]: row for row in rows}
            found[table + " columns"] = {None: tuple(columns)}
    return found


def unsaid(before: dict[str, dict[Any, tuple[Any, ...]]], after: dict[str, dict[Any, tuple[Any, ...]]],
           report: MergeReport | None) -> list[str]:  # fmt: skip
    """Rows that were here before and are gone, or are otherwise in a column that nobody spoke of."""
    said = {(c.table, c.row_id, c.column) for c in report.changes} if report else set()
    found = []
    for table in TABLES:
        columns = before[table + " columns"][None]
        for key, row in before[table].items():
            now = after[table].get(key)
            if now is None:
                found.append(f"{table} {key}: gone")
                continue
            for column, had, has in zip(columns, row, now, strict=True):
                told = (table, key[0], column) in said or (
                    column == "changed_at" and any(one[:2] == (table, key[0]) for one in said)
                )
                if had != has and not told:
                    found.append(f"{table} {key}.{column}: {had!r} became {has!r}, and nobody said so")
    return found


WITHDRAWN = ("results", "treatments", "notes", "shelf_parts", "shelf_moves", "overrides", "units")


def withdrawn_rows(store: Store) -> set[tuple[str, str]]:
    """(table, id) of the rows that were withdrawn, each by itself."""
    with store._connections.reading_apart() as db:
        return {
            (table, row[0])
            for table in WITHDRAWN
            for row in db.execute(f"SELECT id FROM {table} WHERE id IN ({withdrawn(table)})")
        }


def unsaid_withdrawals(before: set[tuple[str, str]], after: set[tuple[str, str]], rows: dict[str, dict[Any, Any]],
                       report: MergeReport | None) -> list[str]:  # fmt: skip
    """Rows that were here and count no more, or count again, of which nobody spoke."""
    said = {c.row_id for c in report.changes if c.table == "withdrawals"} if report else set()
    keys = {table: {key[0] for key in rows[table]} for table in WITHDRAWN}
    changed = {(table, row_id) for table, row_id in before ^ after if row_id in keys[table]}
    return [f"{table} {row_id} is withdrawn or not, and nobody said so" for table, row_id in changed
            if row_id not in said]  # fmt: skip


GUIDE = load_guide()


def use(store: Store, place: Path) -> None:
    """Whatever comes after a merge."""
    today = store.now()[:10]
    store.due(today)
    store.unfinished_visits()
    shelf = store.shelf()
    for unit in store.units():
        history = store.history(unit.id)
        standing(history.results)
        verdicts(history.results)
        outlook_of(history, Sheet(unit.model), GUIDE, (), shelf, today)
        for result in history.results:
            for reading in result.assessment.readings:
                value_text(result.check, reading)
            for finding in result.assessment.findings:
                sentence(result.check, finding)
        assert any(found.id == unit.id for found in store.units(unit.tag)), "the search does not find it"
    for lot in store.lots():
        outlooks = [
            outlook_of(history, Sheet(history.unit.model), GUIDE, (), shelf, today)
            for history in store.histories_of_lot(lot.id)
        ]
        lot_view(lot, outlooks, shelf, GUIDE)
    for unit in store.units():
        visit = store.start_visit(unit.id, "final")
        store.add_result(a_result(visit.id))
        store.finish_visit(visit.id)
    report = store.verify_log()
    assert report.sound, report.faults[:3]
    assert store.first_problem() == ""
    store.export(place / "export", with_files=False)
    json.loads((place / "export" / "records.json").read_text("utf-8"))
    store.daily_backup()


def make(folder: Path) -> None:
    """The live record, the other that began as a copy of it, and a third."""
    with open_store(folder / "live") as live:
        work_on(live, "A-0")
        live.start_visit(live.units()[0].id, "final")
    for name in ("other", "third"):
        shutil.copytree(folder / "live", folder / name)
    with open_store(folder / "other") as other:
        work_on(other, "B-0")
        unit = next(u for u in other.units() if u.tag == "A-0")
        other.finish_visit(other.unfinished_visits()[0].id)
        visit = other.start_visit(unit.id, "after rest")
        other.add_result(a_result(visit.id))
    with open_store(folder / "live") as live:
        work_on(live, "A-1")
        live.start_visit(next(u for u in live.units() if u.tag == "A-0").id, "after treatment")


def agreeing(seen: list[MergePreview]) -> Callable[[MergePreview], bool]:
    def agree(preview: MergePreview) -> bool:
        seen.append(preview)
        return all(preview.lines())  # each is a sentence

    return agree


def one_case(base: Path, place: Path, kind: str, rng: random.Random, third: bool) -> tuple[str, list[str]]:
    """(How it ended, what was found)."""
    for name in ("live", "other"):
        shutil.copytree(base / name, place / name)
    os.rename(place / "live", base / "at work")  # at one place, so that its bench is the same each time
    live = base / "at work"
    try:
        while not ALTERED[kind][0](place / "other", rng):
            pass
        with open_store(live) as store:
            before, struck = all_rows(store), withdrawn_rows(store)
            seen: list[MergePreview] = []
            report: MergeReport | None = None
            try:
                report = store.merge(place / "other", agreeing(seen))
                how = "merged" if report and not seen[0].nothing else "nothing new"
            except StationError as fault:
                how = "refused"
                if not str(fault).endswith(".") or len(str(fault)) > 2_000 or "\n" in str(fault):
                    return how, [f"no sentence: {str(fault)[:300]!r}"]
            found = unsaid(before, all_rows(store), report)
            found += unsaid_withdrawals(struck, withdrawn_rows(store), before, report)
            if how == "refused" and all_rows(store) != before:
                found.append("it was refused, and something came in")
            if report is not None and seen and report.changes != seen[0].changes:
                found.append("the preview said something else")
        with open_store(live) as store:
            use(store, place)
            if third:
                shutil.copytree(base / "third", place / "third")
                with open_store(place / "third") as other:
                    other.merge(live)
                    assert other.verify_log().sound
        return how, found
    except BaseException:  # noqa: BLE001
        return "failed", [traceback.format_exc(limit=-8)]
    finally:
        shutil.rmtree(live, ignore_errors=True)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("--kind", choices=tuple(ALTERED), default=None)
    args = parser.parse_args()
    seed = args.seed if args.seed is not None else secrets.randbits(31)
    outcomes: Counter[str] = Counter()
    by_kind: dict[str, Counter[str]] = {}
    found: list[str] = []
    slowest, began = 0.0, time.monotonic()
    with tempfile.TemporaryDirectory(prefix="merge-fuzz-") as name:
        base = Path(name)
        make_at = base / "base"
        make_at.mkdir()
        make(make_at)
        for n in range(args.cases):
            rng = random.Random(f"{seed} {n}")
            kind = args.kind or rng.choices(list(ALTERED), [often for _, often in ALTERED.values()])[0]
            place = base / "case"
            place.mkdir()
            at = time.monotonic()
            how, wrong = one_case(make_at, place, kind, rng, n % THIRD == 0)
            slowest = max(slowest, time.monotonic() - at)
            shutil.rmtree(place)
            outcomes[how] += 1
            by_kind.setdefault(kind, Counter())[how] += 1
            for one in wrong:
                found.append(f"case {n} ({kind}): {one}")
                print(found[-1], flush=True)
            if n % 100 == 99:
                print(f"{n + 1} cases: {dict(outcomes)}, {len(found)} found", flush=True)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    ok = not found and slowest <= SECONDS and peak <= MEGABYTES
    for kind, counted in sorted(by_kind.items()):
        print(f"{kind}: {dict(counted)}")
    told = {
        "bench": "merge_fuzz", "cases": args.cases, "seed": seed, "outcomes": dict(outcomes), "found": len(found),
        "slowest_s": round(slowest, 2), "peak_mb": peak, "seconds": round(time.monotonic() - began, 1), "ok": ok,
    }  # fmt: skip
    print(json.dumps(told))
    return 0 if ok else 1


if __name__ == "__main__":
    sys.exit(main())
