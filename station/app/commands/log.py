"""`restpoint log verify`: is the records' log whole?"""

from __future__ import annotations

import argparse
import sys

from station.app import paths
from station.records.store import open_store


def run(args: argparse.Namespace) -> int:
    """Check every row of every bench's chain; 1 when one does not follow from the row before."""
    del args  # "verify" is the only action
    with open_store(paths.records_folder(), read_only=True) as store:
        report = store.verify_log()
    if report.problem:
        sys.stderr.write(f"restpoint: {report.problem}\n")
        return 1
    print(f"The log is whole: {report.rows} rows of {report.benches} bench{'es' if report.benches != 1 else ''}.")
    return 0
