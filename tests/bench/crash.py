"""Does anything that was acknowledged get lost when the program is killed?

    python tests/bench/crash.py --kills 500

Children work on one folder of records and are killed with SIGKILL at a random moment, one after the other. Every second
one works through automatic visits of a simulated unit (the real session, going on where the one before was killed)
with a journal of a report each millisecond beside it; the others write results, captures, photos, treatments and visits
as fast as they can. Each tells the parent through a pipe what was acknowledged to it. After every kill the parent opens
the records as the program does and looks for all of it.

With `--upkeep` (a fifth of the kills by default) a merge, the sharing of records, a restore, a migration and the
writing of certificates are killed too, each on records of its own: all of it is there afterwards, or nothing, and the
log holds (`crash_upkeep.py`).

A kill leaves what the system was given; it does not show what a power failure would take. That rests on SQLite's
synchronous=FULL and on fsync before the row that names a capture. One JSON line last.
"""

from __future__ import annotations

import argparse
import itertools
import json
import os
import random
import secrets
import shutil
import signal
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from station.app.samples import demo_unit  # noqa: E402
from station.app.shelf_of_sheets import SheetShelf  # noqa: E402
from station.bench.auto import run_visit  # noqa: E402
from station.bench.session import Session  # noqa: E402
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan  # noqa: E402
from station.bench.types import Event, ResultCommitted  # noqa: E402
from station.capture.journal import JournalWriter, journal_header, read_journal  # noqa: E402
from station.capture.types import CaptureMeta  # noqa: E402
from station.checks.types import Assessment, Finding, Outcome, Reading  # noqa: E402
from station.errors import CaptureError, StationError  # noqa: E402
from station.records.files import sha256_of  # noqa: E402
from station.records.rows import digest, result_rows  # noqa: E402
from station.records.store import Store  # noqa: E402
from station.records.types import Note, Result, Treatment, Unit  # noqa: E402
from station.sources.simulated.samples import SAMPLES, sample, sample_hand  # noqa: E402
from station.sources.simulated.source import SimulatedSource  # noqa: E402
from tests.bench.crash_upkeep import KINDS  # noqa: E402
from tests.records.records_kit import open_store  # noqa: E402

FLUSH_S = 0.1
EVIDENCE_LIMIT_S = 1.0
Tell = Callable[[str], None]


def fingerprint(result: Result) -> str:
    head, readings, findings = result_rows(result)
    return digest({"head": head, "readings": readings, "findings": findings})


def acknowledged(result: Result) -> str:
    return f"R {result.id} {result.visit_id} {fingerprint(result)} {result.capture_sha256 or '-'}"


# --- the children -------------------------------------------------------------------------------------------------


def work_fast(store: Store, tell: Tell) -> None:
    """Every kind of entry, as fast as the disk takes them."""
    unit = store.add_unit(Unit("", f"F-{secrets.token_hex(6)}", "Plover T2"))
    tell(f"U {unit.id}")
    n = 0
    while True:
        visit = store.start_visit(unit.id, "intake", "Ines", "bench 1")
        tell(f"V {visit.id} {unit.id}")
        for _ in range(8):
            n += 1
            capture = store.keep_capture(secrets.token_bytes(random.randrange(200, 20_000)))
            readings = tuple(Reading(f"reading {i}", random.gauss(3, 1), "%", 0.3, 5.0, 10.0) for i in range(3))
            found = (Finding("offset", "off centre", "x", "left"),) if n % 3 == 0 else ()
            done = Assessment(Outcome.FAIL if found else Outcome.PASS, readings, found)
            tell(acknowledged(store.add_result(Result("", visit.id, "rest", "left_stick", 0, "", done, capture))))
        store.finish_visit(visit.id)
        tell(f"E {visit.id} {unit.id}")
        treatment = store.add_treatment(Treatment("", unit.id, "clean the sensor", "", minutes=9, cost_minor=40))
        tell(f"T {treatment.id} {unit.id}")
        photo = store.keep_photo(b"\xff\xd8\xff" + secrets.token_bytes(500))
        note = store.add_note(Note("", unit.id, "", "a photo", photo_sha256=photo))
        tell(f"N {note.id} {unit.id} {photo}")
        mistaken = store.add_note(Note("", unit.id, "", "a mistake"))
        tell(f"W {store.withdraw('note', mistaken.id, 'undone').row_id} {unit.id}")


def keep_journal(folder: Path, tell: Tell) -> None:
    """What the reader process does with a device at 1 kHz: append at once, hand to the system every 100 ms."""
    meta = CaptureMeta(0x1209, 0x0001, "Plover T2", "crash", "simulated", "2026-03-06T10:00:00Z")
    journal = JournalWriter(folder / f"{os.getpid()}.journal", journal_header(meta, b""))
    begin = time.perf_counter_ns()

    def append() -> None:
        n = 0
        while True:
            n += 1
            now = time.perf_counter_ns() - begin
            journal.append(now, bytes(8))
            if n % 10 == 0:
                tell(f"J {now}")
            time.sleep(0.001)

    def flush() -> None:
        while True:
            time.sleep(FLUSH_S)
            journal.flush()

    for work in (append, flush):
        threading.Thread(target=work, daemon=True).start()


def work_visits(store: Store, folder: Path, tell: Tell, resumed: Callable[[], None]) -> None:
    """Automatic visits of a sample unit, going on with the one that was cut short."""
    keep_journal(folder, tell)
    tag = SAMPLES[0].tag
    unit = next((u for u in store.units(tag) if u.tag == tag), None) or store.add_unit(demo_unit(tag))

    def watch(event: Event) -> None:
        if isinstance(event, ResultCommitted):
            tell(acknowledged(event.result))

    while True:
        found = sample(tag)
        hand = sample_hand(found)
        source = SimulatedSource(found.spec, hand, realtime=False)
        known = SheetShelf(folder / "sheets").know(source.info)
        cut_short = next((v for v in store.unfinished_visits() if v.unit_id == unit.id), None)
        if cut_short:
            resumed()
        session = Session(UnitOnBench(unit, source, known.binding), VisitPlan(resume=cut_short), BenchSetup(store))
        run_visit(session, source, hand, 0.02, watch=watch)
        source.close()


def child(folder: Path, automatic: bool, pipe: int) -> None:
    """Runs until it is killed."""

    def tell(line: str) -> None:
        os.write(pipe, f"{line}\n".encode())  # shorter than PIPE_BUF: never torn

    try:
        store = open_store(folder / "records")
        tell("O")
        if automatic:
            work_visits(store, folder, tell, lambda: tell("G"))
        else:
            work_fast(store, tell)
    except StationError as fault:
        tell(f"! {type(fault).__name__} {fault}".replace("\n", " "))
    except BaseException as fault:  # noqa: BLE001
        tell(f"! {fault!r}".replace("\n", " ")[:400])
    finally:
        os._exit(1)


# --- the parent ---------------------------------------------------------------------------------------------------


class Tally:
    """What was acknowledged, and what was found missing."""

    def __init__(self) -> None:
        self.results: dict[str, tuple[str, str, str]] = {}
        self.fresh: list[str] = []
        self.lines: dict[str, list[list[str]]] = {}
        self.lost: list[str] = []
        self.faults: list[str] = []
        self.evidence_s: list[float] = []
        self.resumed = 0

    def take(self, text: str) -> float | None:
        """Read what a child told; returns the time of its last acknowledged report."""
        told = [line.split(" ") for line in text.splitlines()]
        self.fresh, self.lines, journal = [], {}, None
        for kind, *rest in told:
            if kind == "R":
                self.results[rest[0]] = (rest[1], rest[2], rest[3])
                self.fresh.append(rest[0])
            elif kind == "J":
                journal = int(rest[0]) / 1e9
            elif kind == "G":
                self.resumed += 1
            elif kind == "!":
                self.faults.append(" ".join(rest))
            self.lines.setdefault(kind, []).append(rest)
        return journal

    def look(self, store: Store, ids: list[str]) -> None:
        """Are these results there, with the same content and their captures?"""
        by_visit: dict[str, dict[str, Result]] = {}
        for rid in ids:
            visit, wanted, capture = self.results[rid]
            if visit not in by_visit:
                by_visit[visit] = {r.id: r for r in store.results_of_visit(visit)}
            found = by_visit[visit].get(rid)
            if found is None or fingerprint(found) != wanted:
                self.lost.append(rid)
            elif capture != "-":
                path = store.capture_path(capture)
                if not path.exists() or sha256_of(path) != capture:
                    self.lost.append(f"capture of {rid}")

    def look_around(self, store: Store) -> None:
        """The other entries of the last child."""
        for visit, unit in self.lines.get("V", []):
            if not any(v.id == visit for v in store.visits(unit)):
                self.lost.append(f"visit {visit}")
        for visit, unit in self.lines.get("E", []):
            if not any(v.id == visit and v.finished_at for v in store.visits(unit)):
                self.lost.append(f"end of visit {visit}")
        for treatment, unit in self.lines.get("T", []):
            if not any(t.id == treatment for t in store.treatments_of(unit)):
                self.lost.append(f"treatment {treatment}")
        for note, unit, photo in self.lines.get("N", []):
            path = store.photo_path(photo)
            if not any(n.id == note for n in store.history(unit).notes) or path is None or sha256_of(path) != photo:
                self.lost.append(f"note {note}")
        for note, unit in self.lines.get("W", []):
            history = store.history(unit)
            if any(n.id == note for n in history.notes) or all(w.by.row_id != note for w in history.withdrawn):
                self.lost.append(f"withdrawal of note {note}")


def kill_one(folder: Path, automatic: bool, after_s: float) -> tuple[int, str]:
    """Start a child and kill it `after_s` after it opened the records; (its pid, what it told)."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(reading)
        child(folder, automatic, writing)
    os.close(writing)
    told: list[bytes] = []

    def drain() -> None:
        while block := os.read(reading, 1 << 16):
            told.append(block)

    reader = threading.Thread(target=drain)
    reader.start()
    time.sleep(after_s)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    reader.join()
    os.close(reading)
    return pid, b"".join(told).decode()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument(
        "--upkeep", type=int, default=None, help="kills of merge, sync, restore, migration, certificate"
    )
    parser.add_argument("--seed", type=int, default=None)
    args = parser.parse_args()
    upkeep = args.kills // 5 if args.upkeep is None else args.upkeep
    seed = args.seed if args.seed is not None else secrets.randbits(31)
    rng = random.Random(seed)
    folder = Path(tempfile.mkdtemp(prefix="crash-"))
    os.environ["RESTPOINT_DATA"] = str(folder / "records")
    open_store(folder / "records").close()
    tally, began, opened = Tally(), time.monotonic(), 0.0
    try:
        for n in range(1, args.kills + 1):
            automatic = n % 2 == 0
            pid, told = kill_one(folder, automatic, rng.uniform(0.0, 2.5 if automatic else 0.8))
            last_report = tally.take(told)
            at = time.perf_counter()
            with open_store(folder / "records") as store:
                opened = max(opened, time.perf_counter() - at)
                tally.look(store, tally.fresh)
                tally.look_around(store)
                if n % 25 == 0 or n == args.kills:
                    check_all(store, tally)
            if last_report is not None:
                tally.evidence_s.append(evidence_lost(folder / f"{pid}.journal", last_report))
            if n % 50 == 0:
                print(f"{n} kills, {len(tally.results)} results acknowledged, {len(tally.lost)} lost", flush=True)
        tally.faults += kill_upkeep(folder / "upkeep", upkeep, rng, done := Counter[str]())
        left = len(list((folder / "records").rglob("*.part")))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    worst = max(tally.evidence_s, default=0.0)
    ok = not tally.lost and not tally.faults and worst <= EVIDENCE_LIMIT_S and len(tally.results) > args.kills
    for fault in tally.faults[:5]:
        print("fault:", fault)
    print(f"{args.kills} kills: {len(tally.results)} results acknowledged, {len(tally.lost)} lost")
    print(f"evidence lost: at most {worst:.2f} s")
    found = {
        "bench": "crash", "kills": args.kills, "seed": seed, "acknowledged_results": len(tally.results),
        "upkeep": dict(done), "lost": len(tally.lost), "faults": len(tally.faults),
        "visits_gone_on_with": tally.resumed,
        "worst_evidence_lost_s": round(worst, 3), "journals": len(tally.evidence_s), "half_files_left": left,
        "slowest_open_s": round(opened, 3), "seconds": round(time.monotonic() - began, 1), "ok": ok,
    }  # fmt: skip
    print(json.dumps(found))
    return 0 if ok else 1


def kill_upkeep(folder: Path, kills: int, rng: random.Random, done: Counter[str]) -> list[str]:
    """Kill each kind of upkeep in turn, each time on a copy of what was made for it; what did not hold afterwards.
    `done` counts the kills of each kind, and as "finished" those that came too late."""
    faults: list[str] = []
    lasts: dict[str, float] = {}
    for n, kind in zip(range(kills), itertools.cycle(KINDS), strict=False):
        make, step, check = KINDS[kind]
        made, here = folder / kind, folder / "here"
        if not made.exists():
            made.mkdir(parents=True)
            make(made)
            shutil.copytree(made, here, dirs_exist_ok=True)
            lasts[kind] = how_long(step, here)
        shutil.rmtree(here, ignore_errors=True)
        shutil.copytree(made, here)
        finished = kill_step(step, here, rng.uniform(0.0, 1.1 * lasts[kind]))
        done[kind] += 1
        done["finished"] += finished
        try:
            faults += [f"{kind}, kill {n}: {fault}" for fault in check(here)]
        except Exception as fault:  # noqa: BLE001
            faults.append(f"{kind}, kill {n}: {fault!r}")
        if (n + 1) % 50 == 0:
            print(f"{n + 1} kills of upkeep, {len(faults)} faults", flush=True)
    return faults


def how_long(step: Callable[[Path], None], here: Path) -> float:
    """Seconds that the step takes in a child that is left alone."""
    began = time.monotonic()
    pid = os.fork()
    if pid == 0:
        try:
            step(here)
        finally:
            os._exit(1 if sys.exc_info()[0] else 0)  # whatever happens, the child never comes back as the parent
    if os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]):
        raise RuntimeError("a step of upkeep fails when it is left alone")
    return time.monotonic() - began


def kill_step(step: Callable[[Path], None], here: Path, after_s: float) -> bool:
    """Run the step in a child and kill it; True if it was done before."""
    pid = os.fork()
    if pid == 0:
        try:
            step(here)
            os._exit(0)
        except BaseException as fault:  # noqa: BLE001
            os.write(2, f"{fault!r}\n".encode())
            os._exit(1)
    time.sleep(after_s)
    os.kill(pid, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0


def check_all(store: Store, tally: Tally) -> None:
    """The whole database, the whole log, and every result ever acknowledged."""
    if problem := store.first_problem():
        tally.faults.append(problem)
    report = store.verify_log()
    tally.faults += report.faults
    tally.look(store, list(tally.results))


def evidence_lost(path: Path, last_report_s: float) -> float:
    """Seconds between the last report that the child had and the last one in its journal."""
    try:
        kept = read_journal(path).block.t_ns
    except CaptureError:
        return last_report_s
    return max(last_report_s - (float(kept[-1]) / 1e9 if len(kept) else 0.0), 0.0)


if __name__ == "__main__":
    sys.exit(main())
