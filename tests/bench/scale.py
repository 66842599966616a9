"""Do the records stay quick when a shop has used them for years?

    python tests/bench/scale.py --units 100000

Fills a folder with that many units and twenty results for each (their readings, findings and log entries too), then
measures in a process of its own: opening and the first pictures of the window, searches, commits. The folder is removed
at the end unless --keep names one. One JSON line last.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from station.checks.types import Assessment, Finding, Outcome, Reading  # noqa: E402
from station.records import chain  # noqa: E402
from station.records.canonical import canonical_json  # noqa: E402
from station.records.clock import time_text  # noqa: E402
from station.records.ids import uuid7_from  # noqa: E402
from station.records.rows import digest, result_rows  # noqa: E402
from station.records.search import search_text  # noqa: E402
from station.records.store import Store  # noqa: E402
from station.records.types import Result, Unit  # noqa: E402
from tests.records.records_kit import HandClock, open_store  # noqa: E402

RESULTS_PER_UNIT = 20
LIMITS = {"open_s": 2.0, "search_ms": 50.0, "commit_p99_ms": 10.0}
MODELS = ("Plover T2", "Heron 4", "Sandpiper Mini", "Curlew Pro")
CLAIMS = (
    "left stick goes by itself", "right stick bad", "shoulder does not click", "no claim", "does not charge",
    "buttons stick", "trigger half way", "light drop damage", "works sometimes", "untested",
)  # fmt: skip
CHECKS = ("rest", "letgo", "travel", "rim", "sweep", "contact", "light", "hold", "trigger", "link")
BEGIN = datetime(2020, 1, 1, tzinfo=UTC)
END = datetime(9999, 1, 1, tzinfo=UTC)
SECOND_AFTER = timedelta(days=4, minutes=10)
"""between two units that come in, so that nothing is recorded at the same time"""


class Ids:
    """Repeatable ids in the order of time."""

    def __init__(self, rng: random.Random) -> None:
        self._rng = rng

    def at(self, moment: datetime) -> str:
        return uuid7_from(int(moment.timestamp() * 1000), self._rng.getrandbits(74))


def an_assessment(rng: random.Random) -> Assessment:
    bad = rng.random() < 0.15
    readings = tuple(
        Reading(name, round(rng.gauss(4, 1), 3), "%", 0.31, 5.0, 10.0, "<=", 300)
        for name in ("offset", "p2p_x", "p2p_y")
    )
    if bad:
        readings = (replace(readings[0], value=12.0 + readings[0].value / 10), *readings[1:])
    found = (Finding("offset", "left stick: off centre to the left", "x", "left"),) if bad else ()
    return Assessment(Outcome.FAIL if bad else Outcome.PASS, readings, found)


class Filler:
    """Writes rows in bulk, with the log that belongs to them."""

    def __init__(
        self, store: Store, rng: random.Random, units_of_lot: int = 0, results: int = RESULTS_PER_UNIT
    ) -> None:
        """`units_of_lot`: so many units belong to a lot; 0: to none. `results`: of each unit."""
        self._results = results
        self._units_of_lot = units_of_lot
        self._lot_id: str | None = None
        self._bench = store.bench_id
        self._rng = rng
        self._ids = Ids(rng)
        self._seq, self._previous = 0, chain.GENESIS
        self._waiting: deque[tuple[datetime, str, str]] = deque()
        self.rows: dict[str, list[tuple[Any, ...]]] = {}
        self.columns: dict[str, tuple[str, ...]] = {}

    def _put(self, table: str, row: dict[str, Any]) -> None:
        self.columns.setdefault(table, tuple(row))
        self.rows.setdefault(table, []).append(tuple(row.values()))

    def _log(self, at: str, event: dict[str, Any]) -> None:
        self._seq += 1
        text = canonical_json(event)
        row_hash = chain.link(self._previous, self._bench, self._seq, at, text)
        self._put(
            "log",
            {"bench_id": self._bench, "seq": self._seq, "at": at, "event": text, "previous": self._previous,
             "hash": row_hash},
        )  # fmt: skip
        self._previous = row_hash

    def unit(self, number: int) -> None:
        """One unit, where asked for in a lot, with two visits, their results, and for every third a treatment between
        them. Its second visit waits until its time has come (`finish`): the log of a shop goes forward."""
        rng = self._rng
        moment = BEGIN + timedelta(minutes=25 * number)
        self.finish(moment)
        at, unit_id = time_text(moment), self._ids.at(moment)
        if self._units_of_lot and number % self._units_of_lot == 0:
            self._lot(number, moment)
        treated = number % 3 == 0
        fresh = number % 500 == 0
        row = {
            "id": unit_id, "tag": f"SM-{number // 1000:03d}-{number % 1000:03d}", "model": rng.choice(MODELS),
            "lot_id": self._lot_id, "serial": f"{rng.getrandbits(48):012X}", "vendor_id": 0x1209,
            "product_id": 1, "sheet": "",
            "claim": rng.choice(CLAIMS), "claim_state": "open", "condition": "",
            "becomes": "open" if fresh else rng.choice(("sold", "ready", "scrap")),
            "rest_until": time_text(moment + timedelta(days=3))[:10] if treated else "", "sold_minor": 0,
            "created_at": at,
        }  # fmt: skip
        self._put("units", {**row, "changed_at": at, "search_text": search_text(Unit(**row))})
        self._log(at, {"what": "unit added", "id": unit_id, "now": row})
        self._visit(unit_id, 1, "intake", moment)
        if treated:
            self._treatment(unit_id, moment + timedelta(minutes=12))
        kind = "after treatment" if fresh else "after rest"
        self._waiting.append((moment + SECOND_AFTER, unit_id, kind))

    def finish(self, until: datetime = END) -> None:
        """The second visits up to a time; of all of them at the end."""
        while self._waiting and self._waiting[0][0] < until:
            moment, unit_id, kind = self._waiting.popleft()
            self._visit(unit_id, 2, kind, moment)

    def _lot(self, number: int, moment: datetime) -> None:
        self._lot_id, at = self._ids.at(moment), time_text(moment)
        row = {
            "id": self._lot_id, "name": f"Lot {number // self._units_of_lot + 1}", "bought_on": at[:10], "seller": "",
            "cost_minor": 900 * self._units_of_lot, "currency": "EUR", "note": "",
            "source": self._rng.choice(("market", "wholesaler", "house clearance")), "postage_minor": 1200,
        }  # fmt: skip
        self._put("lots", {**row, "changed_at": at})
        self._log(at, {"what": "lot added", "id": self._lot_id, "now": row})

    def _treatment(self, unit_id: str, moment: datetime) -> None:
        row = {
            "id": self._ids.at(moment), "unit_id": unit_id, "kind": "clean the sensor", "at": time_text(moment),
            "part": "Left stick sensor, horizontal", "minutes": 9, "materials": "", "cost_minor": 40,
            "currency": "EUR", "person": "Ines", "note": "", "donor_unit_id": None,
        }  # fmt: skip
        self._put("treatments", row)
        event = {"what": "treatment added", "id": row["id"], "digest": digest({"treatments": row})}
        self._log(time_text(moment), event)

    def _visit(self, unit_id: str, number: int, kind: str, moment: datetime) -> None:
        visit_id, at = self._ids.at(moment), time_text(moment)
        row = {
            "id": visit_id, "unit_id": unit_id, "kind": kind, "number": number, "started_at": at,
            "finished_at": time_text(moment + timedelta(minutes=10)), "person": "Ines", "bench": "bench 1",
            "treatment_id": None,
        }  # fmt: skip
        self._put("visits", row)
        self._log(at, {"what": "visit started", "id": visit_id, "now": row})
        for i in range(self._results // 2):
            when = moment + timedelta(seconds=20 * i)
            result = Result(
                self._ids.at(when), visit_id, CHECKS[i % len(CHECKS)], "left_stick", 1, time_text(when),
                an_assessment(self._rng), clock="process", stamp_error_p99_us=60.0,
            )  # fmt: skip
            head, readings, findings = result_rows(result)
            self._put("results", head)
            for r in readings:
                self._put("readings", r)
            for f in findings:
                self._put("findings", f)
            content = {"results": head, "readings": readings, "findings": findings}
            self._log(result.at, {"what": "result added", "id": result.id, "digest": digest(content)})

    def flush(self, store: Store) -> None:
        order = ("lots", "units", "treatments", "visits", "results", "readings", "findings", "log")
        with store._connections.writing() as db:
            for table in order:
                if rows := self.rows.pop(table, []):
                    names = self.columns[table]
                    marks = ", ".join("?" * len(names))
                    db.executemany(f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})", rows)


def fill(folder: Path, units: int, seed: int, units_of_lot: int = 0, results: int = RESULTS_PER_UNIT) -> None:
    """Bulk: without the sync of every commit, as nothing here could not be made again."""
    with open_store(folder, clock=HandClock(time_text(BEGIN))) as store:  # its log begins with the first unit
        with store._connections.outside() as db:
            db.execute("PRAGMA synchronous = OFF")
            db.execute("PRAGMA cache_size = -400000")
        filler = Filler(store, random.Random(seed), units_of_lot, results)
        began = time.monotonic()
        for number in range(units):
            filler.unit(number)
            if number == units - 1:
                filler.finish()
            if number % 1000 == 999 or number == units - 1:
                filler.flush(store)
                if number % 10_000 == 9_999:
                    print(f"  {number + 1} units after {time.monotonic() - began:.0f} s", flush=True)


def timed(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def searches(rng: random.Random, units: int) -> Iterator[str]:
    """What people type: tags, ends of serial numbers, words that all or none have, few letters, several words."""
    for _ in range(12):
        n = rng.randrange(units)
        yield f"SM-{n // 1000:03d}-{n % 1000:03d}"
        yield f"{rng.getrandbits(16):04X}"
        yield f"{n % 1000:03d}"
    yield from ("plover", "stick", "left stick", "SM-", "sm", "s", "l", "no such thing", "zzzz", "qx", "plover t2")
    yield from ("heron left goes", "pl st", "le plover", "right stick bad 77", "t2 0", "un", "un sm", "click curlew 1")


def bare_syncs(path: Path) -> list[float]:
    """For comparison, on this disk at this time: append 16 kB to a file and sync it."""

    def once() -> None:
        os.write(handle, bytes(16_384))
        os.fsync(handle)

    handle = os.open(path, os.O_WRONLY | os.O_CREAT, 0o600)
    try:
        return [timed(once) for _ in range(2000)]
    finally:
        os.close(handle)
        path.unlink()


def measure(folder: Path, units: int, seed: int) -> dict[str, float]:
    """In a process of its own: nothing is warm but the disk's cache."""
    rng = random.Random(seed + 1)
    began = time.perf_counter()
    store = open_store(folder)
    opened = time.perf_counter() - began
    newest = store.units()
    first = {"units": timed(store.units), "lots": timed(store.lots), "unfinished": timed(store.unfinished_visits)}
    today = time_text(BEGIN + timedelta(minutes=25 * units))[:10]
    first["due"] = timed(lambda: store.due(today))
    first["history"] = timed(lambda: store.history(newest[1].id))
    window = time.perf_counter() - began
    found = {text: timed(lambda text=text: store.units(text)) for text in searches(rng, units)}
    slowest = max(found, key=lambda t: found[t])
    visit = store.start_visit(newest[0].id, "final")
    commits = [
        timed(lambda: store.add_result(Result("", visit.id, "rest", "left_stick", 0, "", an_assessment(rng))))
        for _ in range(2000)
    ]
    bare = bare_syncs(folder / "bare-sync")
    learning = timed(lambda: store.treated(newest[0].model))
    store.close()
    return {
        "open_s": window,
        "store_open_s": opened,
        **{f"{k}_ms": v * 1000 for k, v in first.items()},
        "search_ms": found[slowest] * 1000,
        "search_median_ms": statistics.median(found.values()) * 1000,
        "searches": len(found),
        "slowest_search": slowest,  # type: ignore[dict-item]
        "commit_p99_ms": statistics.quantiles(commits, n=100)[98] * 1000,
        "commit_median_ms": statistics.median(commits) * 1000,
        "commit_max_ms": max(commits) * 1000,
        "bare_sync_p99_ms": statistics.quantiles(bare, n=100)[98] * 1000,
        "treated_s": learning,
    }


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--keep", type=Path, help="folder for the records; used again if it is there")
    parser.add_argument("--verify", action="store_true", help="also go through the whole log")
    parser.add_argument("--measure", type=Path, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.measure:
        print(json.dumps(measure(args.measure, args.units, args.seed)))
        return 0
    folder = args.keep or Path(tempfile.mkdtemp(prefix="scale-"))
    try:
        began = time.monotonic()
        if not (folder / "restpoint.db").exists():
            print(f"filling {folder} with {args.units} units and {args.units * RESULTS_PER_UNIT} results", flush=True)
            fill(folder, args.units, args.seed)
        filled = time.monotonic() - began
        child = [
            sys.executable,
            __file__,
            "--units",
            str(args.units),
            "--seed",
            str(args.seed),
            "--measure",
            str(folder),
        ]
        found = json.loads(subprocess.run(child, check=True, capture_output=True, text=True).stdout.splitlines()[-1])
        found |= {"bench": "scale", "units": args.units, "results": args.units * RESULTS_PER_UNIT, "fill_s": filled}
        found["file_mb"] = (folder / "restpoint.db").stat().st_size / 1e6
        if args.verify:
            with open_store(folder, read_only=True) as store:
                began = time.monotonic()
                report = store.verify_log()
                found |= {
                    "verify_s": time.monotonic() - began,
                    "log_entries": report.entries,
                    "log_sound": report.sound,
                }
    finally:
        if not args.keep:
            shutil.rmtree(folder, ignore_errors=True)
    found["ok"] = all(found[k] <= limit for k, limit in LIMITS.items()) and found.get("log_sound", True)
    rounded = {k: round(v, 3) if isinstance(v, float) else v for k, v in found.items()}
    for name, limit in LIMITS.items():
        print(f"{name:>14} {rounded[name]:>9} (at most {limit})")
    print(json.dumps(rounded))
    return 0 if found["ok"] else 1


if __name__ == "__main__":
    sys.exit(main())
