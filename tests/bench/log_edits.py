"""Does `log verify` find whatever is changed past the program?

    python tests/bench/log_edits.py --edits 2000

Records with everything in them (two benches merged, a back-up put back, treatments, parts, photos, settings) are
changed by one random edit after another, each on a fresh copy, as somebody with a tool for SQLite and the captures
would: a cell, a row removed, doubled or put in, two rows that swap what they belong to, a capture or photo altered or
removed, tables, guards and views changed; guards are taken off for it and put back. Then the log is verified, first as
it stands, and where that finds nothing once more with the head of the log that a certificate written before holds:
entries cut off at the end that no row belongs to, and a chain written anew as a whole, show only so.

What no edit touches: `search_text`'s index (made anew from the units), the times in `_sqlite_migrations`. Peak memory
and the slowest verification are stated. One JSON line last; status 1 unless all was found.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import secrets
import shutil
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from station.records import chain  # noqa: E402
from station.records.canonical import canonical_json, sha256_text  # noqa: E402
from station.records.store import FILE_NAME, Store  # noqa: E402
from station.records.types import Issued, Lot, Note, ShelfPart, Treatment  # noqa: E402
from station.records.verify import Noted  # noqa: E402
from tests.records.records_kit import PASSED, a_result, a_unit, open_store  # noqa: E402

TABLES = (
    "benches", "lots", "units", "visits", "results", "readings", "findings", "treatments", "notes", "overrides",
    "shelf_parts", "shelf_moves", "withdrawals", "certificates", "settings", "log",
)  # fmt: skip
Edit = Callable[[sqlite3.Connection, Path, random.Random], bool]
"""changes something; False if there was nothing to change"""


# --- the records --------------------------------------------------------------------------------------------------


def work_on(store: Store, tag: str) -> None:
    lot = store.add_lot(Lot("", f"lot of {tag}", "2026-03-02", "a seller", 9600))
    unit = store.add_unit(replace(a_unit(tag), lot_id=lot.id, claim="left stick"))
    visit = store.start_visit(unit.id, "intake", "Ines", "bench 1")
    first = store.add_result(a_result(visit.id, capture_sha256=store.keep_capture(f"one {tag}".encode())))
    store.add_result(a_result(visit.id, assessment=PASSED, replaces=first.id, stamp_error_p99_us=14.0, clock="process"))
    store.finish_visit(visit.id)
    treatment = store.add_treatment(Treatment("", unit.id, "clean the sensor", "", minutes=9, cost_minor=40))
    again = store.start_visit(unit.id, "after treatment", treatment_id=treatment.id)
    store.add_result(a_result(again.id, "travel", PASSED, capture_sha256=store.keep_capture(f"two {tag}".encode())))
    photo = store.keep_photo(b"\xff\xd8\xff" + tag.encode())
    store.add_note(Note("", unit.id, "", f"grip of {tag}", "Ines", photo))
    part = store.add_shelf_part(ShelfPart("", "Left stick sensor", "Plover T2", 2))
    store.take_shelf_part(part.id, unit_id=unit.id)
    store.change_unit(replace(store.unit(unit.id), becomes="ready"), reason="the buyer waits")
    mistaken = store.add_note(Note("", unit.id, "", f"note of another than {tag}"))
    store.withdraw("note", mistaken.id, "of another unit", "Ines")
    wrong = store.add_result(a_result(again.id, "rim", PASSED))
    store.take_back(store.withdraw("result", wrong.id, "wrong unit in hand", "Ines").id, "it was the right one")
    store.withdraw("treatment", store.add_treatment(Treatment("", unit.id, "adjust", "")).id, "not done", "Ines")
    store.correct_unit(replace(store.unit(unit.id), model="Plover T3"), "another model", "Ines")
    for sha256 in (sha256_text(tag), sha256_text(f"again {tag}")):
        number, name = store.next_certificate()
        issued = store.add_certificate(Issued("", unit.id, "", number, name, "", "Ines", sha256, sha256, "a key"))
        assert issued is not None
    store.withdraw("certificate", issued.id, "the wrong serial number", "Ines")
    store.set_setting(f"setting of {tag}", "on")


def make_records(folder: Path) -> None:
    with open_store(folder / "other") as other:
        for n in range(2):
            work_on(other, f"B-{n}")
    with open_store(folder / "records") as store:
        work_on(store, "A-0")
        made = store.daily_backup()
        work_on(store, "A-1")
        aside = store.restore_backup(made)
        assert aside is not None
        store.merge(folder / "other")
        store.merge(aside)
        unit = next(u for u in store.units() if u.tag == "B-0")
        store.change_unit(replace(unit, condition="worn"))
        for n in range(2, 5):
            work_on(store, f"A-{n}")
        report = store.verify_log()
        assert report.sound, report.faults
    shutil.copytree(folder / "records", folder / "copy")
    with open_store(folder / "copy", read_only=True) as copy:  # or every edit of a copy would be found
        report = copy.verify_log()
        assert report.sound, report.faults
    shutil.rmtree(folder / "copy")


# --- the edits ----------------------------------------------------------------------------------------------------


def columns_of(db: sqlite3.Connection, table: str) -> list[tuple[str, str]]:
    return [(r[1], r[2]) for r in db.execute(f"PRAGMA table_info({table})")]


def a_row(db: sqlite3.Connection, table: str, rng: random.Random) -> tuple[str, tuple[object, ...]]:
    """A condition that names one row, and its values."""
    keys = [r[1] for r in db.execute(f"PRAGMA table_info({table})") if r[5]]
    rows = db.execute(f"SELECT {', '.join(keys)} FROM {table}").fetchall()
    return " AND ".join(f"{key} = ?" for key in keys), rng.choice(rows)


def other_value(value: object, kind: str, others: list[object], rng: random.Random) -> object:
    if rng.random() < 0.4 and others:
        return rng.choice(others)
    if kind == "TEXT":
        text = str(value or "")
        choices = [
            text + " ",
            text + "\u200b",
            text[:-1],
            text.upper(),
            "",
            secrets.token_hex(4),
            text.replace("1", "2"),
        ]
        return rng.choice(choices)
    if kind == "INTEGER":
        return int(value or 0) + rng.choice((-1000, -1, 1, 1, 7, 100_000))  # type: ignore[call-overload]
    return float(value or 0.0) * rng.choice((1.0000000001, 1.01, -1.0, 0.5)) + rng.choice((0.0, 1e-9, 1.0))  # type: ignore[arg-type]


def cell(db: sqlite3.Connection, root: Path, rng: random.Random) -> bool:
    table = rng.choice(TABLES)
    where, key = a_row(db, table, rng)
    column, kind = rng.choice(columns_of(db, table))
    before = db.execute(f"SELECT {column} FROM {table} WHERE {where}", key).fetchone()[0]
    others = [r[0] for r in db.execute(f"SELECT DISTINCT {column} FROM {table}")]
    value = other_value(before, kind, [*others, None], rng)
    if value == before:
        return False
    return db.execute(f"UPDATE {table} SET {column} = ? WHERE {where}", (value, *key)).rowcount == 1


def row_removed(db: sqlite3.Connection, root: Path, rng: random.Random) -> bool:
    table = rng.choice(TABLES)
    where, key = a_row(db, table, rng)
    return db.execute(f"DELETE FROM {table} WHERE {where}", key).rowcount == 1


def row_put_in(db: sqlite3.Connection, root: Path, rng: random.Random) -> bool:
    """A row as there is one, under another name."""
    table = rng.choice(TABLES)
    where, key = a_row(db, table, rng)
    columns = [name for name, _ in columns_of(db, table) if name not in ("seq", "entry") or table == "log"]
    columns = [name for name in columns if name != "entry"]
    row = dict(
        zip(columns, db.execute(f"SELECT {', '.join(columns)} FROM {table} WHERE {where}", key).fetchone(), strict=True)
    )
    if "id" in row:
        row["id"] = secrets.token_hex(16)
    elif "position" in row:
        row["position"] += 1000
    elif "key" in row:
        row["key"] += " too"
    marks = ", ".join("?" * len(row))
    return db.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})", tuple(row.values())).rowcount == 1


SWAPS = (
    ("visits", "unit_id"), ("results", "visit_id"), ("treatments", "unit_id"), ("notes", "unit_id"),
    ("units", "lot_id"), ("units", "serial"), ("visits", "number"), ("readings", "value"),
    ("results", "capture_sha256"),
    ("lots", "cost_minor"), ("shelf_moves", "part_id"), ("withdrawals", "row_id"), ("results", "seq"), ("log", "entry"),
    ("certificates", "file_sha256"),
)  # fmt: skip


def swapped(db: sqlite3.Connection, root: Path, rng: random.Random) -> bool:
    """Two rows swap what stands in one column. Counters are swapped within one bench: between two they mean nothing."""
    table, column = rng.choice(SWAPS)
    keys = "result_id || '/' || position" if table == "readings" else "entry" if table == "log" else "id"
    rows = db.execute(f"SELECT {keys}, {column} FROM {table}").fetchall()
    if column in ("seq", "entry"):
        benches = (
            "bench_id"
            if table == "log"
            else ("(SELECT bench_id FROM log WHERE instr(event, results.id) AND instr(event, 'result added') LIMIT 1)")
        )
        of = dict(db.execute(f"SELECT {column}, {benches} FROM {table}"))
        bench = rng.choice(list(of.values()))
        rows = [row for row in rows if of[row[1]] == bench]
    (one, first), (two, second) = rng.sample(rows, 2)
    if first == second:
        return False
    spare = -1 if column in ("seq", "entry") else first
    names = keys if column != "entry" else "entry"
    db.execute(f"UPDATE {table} SET {column} = ? WHERE {names} = ?", (spare, one))
    db.execute(f"UPDATE {table} SET {column} = ? WHERE {names} = ?", (first, two))
    db.execute(f"UPDATE {table} SET {column} = ? WHERE {names} = ?", (second, spare if column == "entry" else one))
    return True


def kept_file(db: sqlite3.Connection, root: Path, rng: random.Random) -> bool:
    """A capture or photo altered, emptied, cut, taken for another, or removed."""
    found = sorted(p for folder in ("captures", "photos") for p in (root / folder).glob("*/*/*"))
    path = rng.choice(found)
    content = path.read_bytes()
    at = rng.randrange(len(content))
    match rng.randrange(5):
        case 0:
            path.unlink()
        case 1:
            path.write_bytes(content[:at] + bytes([content[at] ^ (1 << rng.randrange(8))]) + content[at + 1 :])
        case 2:
            path.write_bytes(content[:-1])
        case 3:
            path.write_bytes(content + b"\0")
        case _:
            path.write_bytes(rng.choice([p for p in found if p != path]).read_bytes())
    return True


def built(db: sqlite3.Connection, root: Path, rng: random.Random) -> bool:
    """Something of the schema."""
    triggers, views, indexes = (
        [r[0] for r in db.execute("SELECT name FROM sqlite_master WHERE type = ? AND sql IS NOT NULL", (kind,))]
        for kind in ("trigger", "view", "index")
    )
    table, name = rng.choice(TABLES), f"x_{secrets.token_hex(3)}"
    statements = [
        f"DROP TRIGGER {rng.choice(triggers)}",
        f"DROP VIEW {rng.choice(views)}",
        f"DROP INDEX {rng.choice(indexes)}",
        f"CREATE TRIGGER {name} BEFORE INSERT ON {table} BEGIN SELECT RAISE(IGNORE); END",
        f"CREATE TRIGGER units_search_{name} AFTER UPDATE ON {table} BEGIN DELETE FROM unit_text; END",
        f"CREATE VIEW {name} AS SELECT 1",
        f"CREATE TABLE {name} (a TEXT)",
        f"CREATE UNIQUE INDEX {name} ON log (entry)",
        f"ALTER TABLE {table} ADD COLUMN {name} TEXT",
        "UPDATE _sqlite_migrations SET name = 'none' WHERE name = 'first_tables'",
        f"DELETE FROM _sqlite_migrations WHERE rowid = {rng.randrange(1, 3)}",
    ]
    guard = rng.choice([t for t in triggers if "_no_" in t])
    on, event = guard.rsplit("_no_", 1)
    said = "SELECT RAISE(IGNORE)"
    weaker = (f"DROP TRIGGER {guard}", f"CREATE TRIGGER {guard} BEFORE {event.upper()} ON {on} BEGIN {said}; END")
    for statement in rng.choice([*((s,) for s in statements), weaker, weaker]):
        db.execute(statement)
    return True


def cut_off(db: sqlite3.Connection, root: Path, rng: random.Random) -> bool:
    """The last entries; half the time only one, with the row that it tells of."""
    entry, event = db.execute("SELECT entry, event FROM log ORDER BY entry DESC LIMIT 1").fetchone()
    told = json.loads(event)
    if rng.random() < 0.5 and told["what"] == "setting changed":
        db.execute("DELETE FROM settings WHERE key = ?", (told["id"],))
        return db.execute("DELETE FROM log WHERE entry = ?", (entry,)).rowcount == 1
    last = db.execute("SELECT max(entry) FROM log").fetchone()[0]
    return db.execute("DELETE FROM log WHERE entry > ?", (last - rng.randrange(1, 6),)).rowcount > 0


def written_anew(db: sqlite3.Connection, root: Path, rng: random.Random) -> bool:
    """A lot's price changed, in the table and in every entry about it, and all chains linked anew from there."""
    lot, cost = rng.choice(db.execute("SELECT id, cost_minor FROM lots").fetchall())
    db.execute("UPDATE lots SET cost_minor = ? WHERE id = ?", (cost + 1, lot))
    last: dict[str, str] = {}
    for row in list(chain.log_rows(db)):
        event = json.loads(row.event)
        if event.get("id") == lot and "now" in event:
            event["now"]["cost_minor"] = cost + 1
        text = canonical_json(event)
        previous = last.get(row.bench_id, chain.GENESIS)
        linked = chain.link(previous, row.bench_id, row.seq, row.at, text)
        values = (text, previous, linked, row.entry)
        db.execute("UPDATE log SET event = ?, previous = ?, hash = ? WHERE entry = ?", values)
        last[row.bench_id] = linked
    return True


EDITS: dict[str, tuple[Edit, int]] = {
    "cell": (cell, 50),
    "row removed": (row_removed, 10),
    "row put in": (row_put_in, 10),
    "swapped": (swapped, 10),
    "capture or photo": (kept_file, 12),
    "schema": (built, 12),
    "cut off": (cut_off, 3),
    "written anew": (written_anew, 3),
}
"""kind → how, and how often of a hundred"""


def edit(root: Path, kind: str, rng: random.Random) -> None:
    """One edit of this kind, with the guards off; they are put back as they were."""
    how = EDITS[kind][0]
    with closing(sqlite3.connect(root / FILE_NAME, isolation_level=None)) as db:
        while True:
            db.execute("BEGIN")
            guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
            try:
                if kind != "schema":
                    for name, _ in guards:
                        db.execute(f"DROP TRIGGER {name}")
                done = how(db, root, rng)
                if kind != "schema":
                    for _, sql in guards:
                        db.execute(sql)
            except sqlite3.Error:
                done = False  # the file itself refuses that: another
            if done:
                db.execute("COMMIT")
                return
            db.execute("ROLLBACK")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--edits", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=None)
    args = parser.parse_args()
    seed = args.seed if args.seed is not None else secrets.randbits(31)
    rng, began = random.Random(seed), time.monotonic()
    folder = Path(tempfile.mkdtemp(prefix="log-edits-"))
    made, found, by_head, missed, slowest = Counter[str](), Counter[str](), Counter[str](), list[str](), 0.0
    try:
        make_records(folder)
        with open_store(folder / "records", read_only=True) as store:
            noted = Noted("a certificate", store.log_heads())
        for n in range(args.edits):
            (kind,) = rng.choices(list(EDITS), [weight for _, weight in EDITS.values()])
            copy = folder / "copy"
            shutil.rmtree(copy, ignore_errors=True)
            shutil.copytree(folder / "records", copy, ignore=shutil.ignore_patterns("backups"))
            edit(copy, kind, rng)
            made[kind] += 1
            at = time.perf_counter()
            said, head_said = looked_at(copy, noted)
            slowest = max(slowest, time.perf_counter() - at)
            found[kind] += said
            by_head[kind] += head_said
            if not said and not head_said:
                missed.append(f"{kind}, edit {n}: {difference(folder / 'records', copy)}")
            if (n + 1) % 500 == 0:
                print(f"{n + 1} edits, {len(missed)} not found", flush=True)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    for line in missed[:20]:
        print("not found:", line)
    for kind in made:
        print(f"{kind}: {made[kind]}, found {found[kind]}, by the head of a certificate {by_head[kind]} more")
    ok = not missed
    told = {
        "bench": "log_edits", "edits": args.edits, "seed": seed, "found": sum(found.values()),
        "found_by_head_only": sum(by_head.values()), "not_found": len(missed), "kinds": dict(made),
        "slowest_s": round(slowest, 3), "peak_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
        "seconds": round(time.monotonic() - began, 1), "ok": ok,
    }  # fmt: skip
    print(json.dumps(told))
    return 0 if ok else 1


def looked_at(root: Path, noted: Noted) -> tuple[bool, bool]:
    """Whether the edit is told of: by the records alone, and if not, by the head of the log in a certificate. Records
    that are refused when they are opened are told of."""
    from station.errors import RecordError

    try:
        with open_store(root, read_only=True) as store:
            if not store.verify_log().sound:
                return True, False
            return False, not store.verify_log([noted]).sound
    except RecordError:
        return True, False


def difference(one: Path, other: Path) -> str:
    """What an edit that was not found did."""
    with closing(sqlite3.connect(one / FILE_NAME)) as a, closing(sqlite3.connect(other / FILE_NAME)) as b:
        before, after = (set(db.iterdump()) for db in (a, b))
    return " | ".join([*("- " + s for s in before - after), *("+ " + s for s in after - before)])[:1500]


if __name__ == "__main__":
    sys.exit(main())
