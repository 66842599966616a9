"""`restpoint merge OTHER`: join the records of another bench into these."""

from __future__ import annotations

import argparse

from station.app import paths
from station.records.store import open_store


def run(args: argparse.Namespace) -> int:
    """Merge and say what came in; a second time nothing does."""
    with open_store(paths.records_folder()) as store:
        store.daily_backup()
        print(store.merge(args.other).sentence())
    return 0
