"""How long do the views of the records take to answer when a shop has used them for years?

    python tests/bench/views.py --units 100000

Fills a folder with that many units in lots of twelve, a treatment for every third, sales with odd cents, and some that
came back; then asks each question of docs/records.md, as time of the processor: median and best of some runs. The
bar holds for these. Told beside it is the work of each view for every column of all of its rows, inside SQLite, and
what it takes to hand all rows to another program; so it is of the plain table `results`, to compare with. It opens the
file as another program would, with SQLite's own settings. The sales and comebacks are written past the log, so the
records of it are for nothing else. One JSON line last.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
import sqlite3
import statistics
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from scale import fill  # noqa: E402

from station.records.views import VIEWS  # noqa: E402
from tests.records.records_kit import open_store  # noqa: E402

BAR_MS = 200.0
UNITS_OF_LOT = 12
SALES = """
UPDATE lots SET cost_minor = cost_minor + 7 * (seq % 12), postage_minor = 1200 + seq % 13, expected = 12 + seq % 3;
UPDATE units SET cost_minor = 100 + seq % 900 WHERE seq % 10 = 0;
UPDATE units SET sold_minor = 1500 + seq % 2000, fees_minor = seq % 300, shipping_minor = 430,
    sold_on = substr(created_at, 1, 10), channel = iif(seq % 3, 'market', 'fair') WHERE becomes = 'sold';
INSERT INTO comebacks (id, unit_id, at, reason, found, refund_minor, cost_minor, sold_on, sold_minor, channel,
    fees_minor, shipping_minor, treatment_id, certificate_id, person)
SELECT 'back-' || u.seq, u.id, u.created_at, 'drifts', 'same fault', 1800, 500, substr(u.created_at, 1, 10), 1800,
    'market', 150, 430, (SELECT id FROM treatments t WHERE t.unit_id = u.id), NULL, 'Ines' FROM units u
WHERE u.seq % 50 = 0;
"""


def questions() -> dict[str, str]:
    """The line above each query of docs/records.md → the query."""
    text = (ROOT / "docs" / "records.md").read_text("utf-8").split("## Questions you can ask")[1]
    return dict(re.findall(r"^([^\n]+):\n\n```sql\n(.*?)```", text, re.DOTALL | re.MULTILINE))


def inside(db: sqlite3.Connection, view: str) -> str:
    """A query for which every column of every row of the view is worked out, and none handed over."""
    columns = [row[1] for row in db.execute(f"PRAGMA table_info({view})")]
    return f"SELECT {', '.join(f'max({column})' for column in columns)} FROM {view}"


def make(folder: Path, units: int, seed: int, results: int) -> None:
    """The records, with so many results for each unit."""
    fill(folder, units, seed, UNITS_OF_LOT, results)
    with open_store(folder) as store, store._connections.writing() as db:
        for statement in SALES.split(";\n"):
            if statement.strip():
                db.execute(statement)


def asked_ms(db: sqlite3.Connection, query: str, runs: int) -> list[float]:
    """Time of the processor of each run, ms."""
    taken = []
    for _ in range(runs):
        began = time.process_time()
        answer = db.execute(query)
        while answer.fetchmany(1000):
            pass
        taken.append((time.process_time() - began) * 1000)
    return taken


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=100_000)
    parser.add_argument("--results", type=int, default=6, help="of each unit")
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--keep", type=Path, help="folder for the records; used again if it is there")
    args = parser.parse_args()
    folder = args.keep or Path(tempfile.mkdtemp(prefix="views-"))
    try:
        if not (folder / "restpoint.db").exists():
            make(folder, args.units, args.seed, args.results)
        open_store(folder).close()  # puts views of another version right
        db = sqlite3.connect(f"{(folder / 'restpoint.db').as_uri()}?mode=ro", uri=True)
        views = [name for name in VIEWS if not name.startswith("counting_")]
        wanted = (
            questions()
            | {f"{name}, inside": inside(db, name) for name in ("results", *views)}
            | {f"{name}, all rows handed over": f"SELECT * FROM {name}" for name in ("results", *views)}
        )
        took = {name: asked_ms(db, query, args.runs) for name, query in wanted.items()}
        db.close()
    finally:
        if not args.keep:
            shutil.rmtree(folder, ignore_errors=True)
    medians = {name: round(statistics.median(runs)) for name, runs in took.items()}
    for name, ms in medians.items():
        beyond = name in questions() and ms > BAR_MS
        print(f"{ms:>7} ms (best {min(took[name]):.0f})  {name}{'  beyond the bar' if beyond else ''}")
    over = sorted(name for name in questions() if medians[name] > BAR_MS)
    print(json.dumps({"bench": "views", "units": args.units, "results": args.units * args.results,
                      "median_ms": medians, "beyond": over, "ok": not over}))  # fmt: skip
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
