"""`restpoint log verify`: is the records' log whole?"""

from __future__ import annotations

import argparse
import sys

from station.app.opening import open_records
from station.words import command_line as words
from station.words import grammar


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
    print(words.LOG_WHOLE.format(entries=grammar.count_of(report.entries, words.ENTRIES)))
    for bench, number, digest in report.heads:
        print(words.BENCH_HEAD.format(bench=bench, entry=number, digest=digest))
    return 0
