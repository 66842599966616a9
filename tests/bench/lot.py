"""How long does the picture of a large lot take, and does the window go on drawing meanwhile?

    python tests/bench/lot.py --units 200

Writes an invented lot into a folder of its own (two thirds of the units with faults, some cleaned and tested again),
works its picture out from nothing, again without a change, and after one unit changed; then once more beside a thread
that wants to draw every 16 ms, and says how late that was. One JSON line last.
"""

from __future__ import annotations

import argparse
import json
import random
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from station.app.lots import LotAdviser  # noqa: E402
from station.app.shelf_of_sheets import SheetShelf  # noqa: E402
from station.bench.plan import plan  # noqa: E402
from station.checks.registry import describe  # noqa: E402
from station.checks.types import Assessment, Finding, Outcome  # noqa: E402
from station.diagnosis.evidence import codes_of  # noqa: E402
from station.diagnosis.guide import load_guide  # noqa: E402
from station.records.store import Store  # noqa: E402
from station.records.types import Lot, Result, Treatment, Unit  # noqa: E402
from tests.records.records_kit import open_store  # noqa: E402

MODELS = ("Plover T2", "Plover T2 Compact", "Plover T2 Wide")
FRAME_S = 0.016
LIMITS = {"again_s": 2.0, "late_p99_ms": 50.0}
"""a tenth of a second is felt as a wait (common practice, from memory); half of that is asked for"""


def fill(store: Store, sheets: SheetShelf, units: int, rng: random.Random) -> str:
    """The lot; returns its id. Without the sync of every commit, as nothing here could not be made again."""
    with store._connections.outside() as db:
        db.execute("PRAGMA synchronous = OFF")
    lot = store.add_lot(Lot("", "SM-70", "2026-03-02", cost_minor=8 * 100 * units))
    for n in range(units):
        model = rng.choice(MODELS)
        unit = store.add_unit(Unit("", f"SM-70-{n:03d}", model, lot.id, sheet=model))
        sheet = sheets.named(model)
        assert sheet is not None
        steps = [(s.check, s.control) for s in plan(sheet) if not describe(s.check).person_answers]
        bad = rng.sample(steps, rng.choice((0, 0, 1, 1, 2, 3)))
        visit(store, unit.id, "intake", steps, bad, rng)
        if bad and rng.random() < 0.3:
            store.add_treatment(Treatment("", unit.id, "open and clean", "", minutes=8, cost_minor=30))
            visit(store, unit.id, "after treatment", bad, bad[: rng.randrange(len(bad) + 1)], rng)
    return lot.id


def visit(
    store: Store, unit_id: str, kind: str, steps: list[tuple[str, str]], bad: list[tuple[str, str]], rng: random.Random
) -> None:
    begun = store.start_visit(unit_id, kind)
    for check, control in steps:
        code = rng.choice(codes_of(check) or ("",))
        found = (Finding(code, code, rng.choice(("x", "y"))),) if (check, control) in bad and code else ()
        outcome = Outcome.FAIL if found else Outcome.PASS
        store.add_result(Result("", begun.id, check, control, 0, "", Assessment(outcome, (), found)))
    store.finish_visit(begun.id)


def timed(adviser: LotAdviser, lot_id: str) -> float:
    began = time.perf_counter()
    assert adviser.view(lot_id) is not None
    return time.perf_counter() - began


def lateness(work: Callable[[], object]) -> list[float]:
    """How late, in ms, a thread is that wants to draw every 16 ms while the work is done in another one."""
    thread = threading.Thread(target=work)
    thread.start()
    late = []
    while thread.is_alive():
        due = time.perf_counter() + FRAME_S
        time.sleep(FRAME_S)
        for _ in range(20_000):  # as a frame holds the interpreter
            pass
        late.append((time.perf_counter() - due) * 1e3)
    return late


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7)
    args = parser.parse_args()
    guide = load_guide()
    with tempfile.TemporaryDirectory() as folder, open_store(Path(folder)) as store:
        sheets = SheetShelf(Path(folder) / "sheets")
        lot_id = fill(store, sheets, args.units, random.Random(args.seed))

        def adviser() -> LotAdviser:
            return LotAdviser(store, sheets, lambda: guide, lambda: "2026-11-26", lambda event: None)

        first = adviser()
        found = {"bench": "lot", "units": args.units, "first_s": timed(first, lot_id)}
        found["again_s"] = timed(first, lot_id)
        unit = store.units_of_lot(lot_id)[0]
        store.change_unit(replace(unit, condition="worn"))
        found["one_changed_s"] = timed(first, lot_id)
        for name, work in (("idle", lambda: time.sleep(3)), ("late", lambda: adviser().view(lot_id))):
            late = lateness(work)
            found[f"{name}_median_ms"], found[f"{name}_max_ms"] = statistics.median(late), max(late)
            found[f"{name}_p99_ms"] = statistics.quantiles(late, n=100, method="inclusive")[98]
        view = first.view(lot_id)
        assert view is not None
        found |= {"work_rows": len(view.work), "donors": len(view.donors), "parts": len(view.parts)}
        first.close()
    found["ok"] = all(found[k] <= limit for k, limit in LIMITS.items())
    print(json.dumps({k: round(v, 3) if isinstance(v, float) else v for k, v in found.items()}))
    return 0 if found["ok"] else 1


if __name__ == "__main__":
    sys.exit(main())
