"""`restpoint log verify`: is the records' log whole, and does it still say what others hold of it?"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from station.app import paths
from station.app.commands.verify import check_file
from station.app.opening import open_records
from station.certificate.keys import known_keys
from station.certificate.verify import Verdict
from station.errors import InputError, RecordError
from station.records.noted import heads_in_backup, heads_in_export, is_database
from station.records.verify import Noted
from station.words import command_line as words
from station.words import grammar


def run(args: argparse.Namespace) -> int:
    """Check every row of every bench's chain, the tables, the captures, and what certificates, exports and back-ups
    (`--against`) hold of the log; 1, with one line each, when something was changed past the log. What the
    views read is worked out anew where it was changed."""
    noted = [noted_in(path) for path in args.against]
    with open_records(read_only=True) as store:
        report = store.verify_log(noted)
    for fault in report.faults:
        sys.stderr.write(f"restpoint: {fault}\n")
    for note in report.notes:
        print(note)
    if report.kept_differs:
        _put_right()
    if not report.sound:
        return 1
    print(words.LOG_WHOLE.format(entries=grammar.count_of(report.entries, words.ENTRIES)))
    for bench, number, digest in report.heads:
        print(words.BENCH_HEAD.format(bench=bench, entry=number, digest=digest))
    for one in noted:
        print(words.AGREES_WITH.format(where=one.where))
    return 0


def _put_right() -> None:
    try:
        with open_records() as store:
            store.make_kept_anew()
    except RecordError as fault:
        sys.stderr.write(f"restpoint: {fault}\n")
    else:
        print(words.KEPT_MADE_ANEW)


def noted_in(path: Path) -> Noted:
    """The heads of the log that a certificate, an export or a back-up holds. InputError where there are none to rely
    on: a certificate that was altered or never signed says nothing."""
    try:
        if path.is_dir() or path.suffix == ".json":
            heads = heads_in_export(path)
        elif is_database(path):
            heads = heads_in_backup(path)
        else:
            checked = check_file(path, known_keys(paths.keys_folder()))
            if checked.verdict not in (Verdict.GENUINE, Verdict.UNKNOWN_KEY):
                verdict = words.VERDICTS[checked.verdict.value]
                raise InputError(words.NOT_TO_COMPARE_WITH.format(path=path, verdict=verdict))
            heads = checked.log
    except OSError as error:
        raise InputError(words.CANNOT_READ.format(path=path, reason=error.strerror)) from error
    if not heads:
        raise InputError(words.HOLDS_NO_HEAD.format(path=path))
    return Noted(str(path), heads)
