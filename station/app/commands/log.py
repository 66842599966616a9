"""`restpoint log verify`: is the records' log whole?"""

from __future__ import annotations

import argparse
import sys

from station.app.opening import open_records


def run(args: argparse.Namespace) -> int:
    """Check every row of every bench's chain; 1, with one line each, when something was changed past the log."""
    del args  # "verify" is the only action
    with open_records(read_only=True) as store:
        report = store.verify_log()
    for fault in report.faults:
        sys.stderr.write(f"restpoint: {fault}\n")
    for note in report.notes:
        print(note)
    if not report.sound:
        return 1
    print(f"The log is whole: {report.entries} entries.")
    for bench, number, digest in report.heads:
        print(f"bench {bench}: entry {number}, {digest}")
    return 0
